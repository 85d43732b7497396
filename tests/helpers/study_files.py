"""A small study in a folder, plain enough to spoil one line at a time."""

from pathlib import Path

SOURCES = """[afm]
title = "Invented manual"
year = 2026
[us]
title = "This study"
"""

AIRCRAFT = """name = "Plain One"
maker = "Nobody"
year = 2026
source = "afm"
standard_equipment = ["radio"]

[weights]
empty = "700 kg"
empty_arm = "2.30 m"
takeoff = "1,100 kg"
zero_fuel = "1,040 kg"
includes = ["autopilot"]

[[tanks]]
name = "wings"
usable = "200 L"
arm = "2.40 m"
fuel = "avgas"

[[stations]]
name = "front"
arm = "2.20 m"
seats = 2
[[stations]]
name = "rear"
arm = "2.90 m"
seats = 2
limit = "180 kg"
[[stations]]
name = "baggage"
arm = "3.50 m"
limit = "50 kg"

[[envelopes]]
name = "normal"
points = [
  { weight = "600 kg", arm = "2.10 m" },
  { weight = "900 kg", arm = "2.10 m" },
  { weight = "1,100 kg", arm = "2.20 m" },
  { weight = "1,100 kg", arm = "2.60 m" },
  { weight = "600 kg", arm = "2.60 m" },
]

[[options]]
name = "autopilot"
weight = "8 kg"
arm = "2.0 m"
price = "10,000 EUR"
price_year = 2026
provides = ["autopilot"]
[[options]]
name = "cooler"
weight = "25 kg"
arm = "3.0 m"
price = "20,000 EUR"
price_year = 2025
speed = "-2 kt"
provides = ["air conditioning"]
excludes = ["big tank"]
[[options]]
name = "big tank"
weight = "6 kg"
arm = "2.4 m"

[engine]
rated_power = "150 hp"
rated_speed = "2,700 rpm"
fuel = "avgas"

[propeller]
kind = "constant speed"
diameter = "1.8 m"
blades = 2

[airframe]
wing_area = "16 m²"
span = "10 m"
gear = "fixed"

[price]
amount = "400,000 EUR"
year = 2026

[allowances]
taxi_fuel = "4 L"

[[tables]]
kind = "cruise"
file = "plain/cruise.csv"
axes = ["pressure altitude", "ISA deviation", "percent power"]
page = "5-9"
[[tables]]
kind = "climb"
file = "plain/climb.csv"
axes = ["pressure altitude"]
"""

CRUISE = """# invented
pressure altitude [ft], ISA deviation [°C], percent power [%], true airspeed [kt], fuel flow [L/h]
4000,0,65,120,30.0
4000,0,75,128,35.0
4000,20,65,122,30.0
4000,20,75,130,35.0
8000,0,65,124,30.0
8000,0,75,132,35.0
8000,20,65,126,30.0
8000,20,75,,
12000,0,65,128,30.0
12000,0,75,,
12000,20,65,130,30.0
12000,20,75,,
""".replace(", ", ",")

CLIMB = """pressure altitude [ft],time [min],fuel [L],distance [nmi]
0,0,0,0
4000,5,4.0,7
8000,11,8.0,17
12000,20,13.0,32
"""

STUDY = """title = "A plain study"
source = "us"
aircraft = ["plain"]

[terms]
equipment = ["radio", "air conditioning"]
power = "65 %"
altitude = "8,000 ft"
isa_deviation = "0 °C"
bags = "20 kg"
reserve = "45 min"
wind = "0 kt"
altitudes = ["4,000 ft", "8,000 ft", "12,000 ft"]
[[terms.occupants]]
name = "one"
weight = "80 kg"
[[terms.occupants]]
name = "two"
weight = "70 kg"
[[terms.fuels]]
kind = "avgas"
density = "0.72 kg/L"

[[trips]]
name = "Over the water"
start = "EETN"
end = "ESSA"

[money]
currency = "EUR"
year = 2026
yearly_increase = "3 %"
"""

FILES = {
    "study.toml": STUDY,
    "sources.toml": SOURCES,
    "aircraft/plain.toml": AIRCRAFT,
    "aircraft/plain/cruise.csv": CRUISE,
    "aircraft/plain/climb.csv": CLIMB,
}


def write_study(folder: Path, **changes: tuple[str, str]) -> Path:
    """Write the plain study with some text replaced; keys are file stems, ``study`` or ``plain``."""
    for name, text in FILES.items():
        old, new = changes.get(Path(name).stem, ("", ""))
        assert old in text
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text.replace(old, new, 1) if old else text, encoding="utf-8")
    return folder
