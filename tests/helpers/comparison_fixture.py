"""Four invented airplanes compared: figures with draws, gaps, an extrapolation, a stop, a flown day."""

import re
from dataclasses import replace

import numpy as np

from flyoff.comparison.cabin import CabinMeasures, DoorMeasures, NoiseCell
from flyoff.comparison.evidence import KINDS, Kind
from flyoff.comparison.handling import Rating, Remark
from flyoff.comparison.inspection import Inspection
from flyoff.comparison.results import (
    BookVerdict,
    Comparison,
    Entry,
    FlownPoint,
    Headline,
    OptionCost,
    Row,
    SeatCell,
    SpeedCurve,
    TripLeg,
)
from flyoff.comparison.runway import RunwayUse
from flyoff.comparison.terms import FuelTerms, MoneyTerms, Occupant, Terms, Trip
from flyoff.core.draws import Draws
from flyoff.core.figure import Basis, Figure, Input, Trace, difference
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.sources import Place, Source
from flyoff.core.units import find_unit, ft, hour, kt, litre, nmi
from helpers import money_fixture as money
from helpers.curves import balances, payload_ranges
from helpers.rings import PLACES, RINGS

DRAWS = Draws(2000)
SOURCES = {
    "terms": Source("terms", "Terms agreed by the editors", 2026, kind="private"),
    "lomvi-handbook": Source(
        "lomvi-handbook", "Lomvi 4 handbook, issue 2", 2025, "Havnar Flyverk (invented)"
    ),
    "flown-day": Source("flown-day", "Flown day over the sounds", 2026, kind="private"),
}

ENTRIES = (
    Entry(
        "lomvi",
        "Lomvi 4",
        "Havnar Flyverk",
        "the old quay at Argir",
        2025,
        "Four seats, fixed gear, compression-ignition engine.",
        ("autopilot: standard", "ice protection: option weeping wing, 58 lb"),
        "handbook and one flown day",
        ("flown with the long-range tanks fitted",),
    ),
    Entry(
        "tjaldur",
        "Tjaldur Six",
        "Sundets Aero",
        "a hangar north of the fjord",
        2024,
        "Fixed gear, six cylinders, big cabin.",
        ("autopilot: option, 22 lb",),
        "handbook only",
    ),
    Entry(
        "rita",
        "Rita RG",
        "Vestvik",
        "an island strip",
        2019,
        "Light retractable, four cylinders.",
        ("autopilot: not offered",),
        "handbook only, with gaps: no cruise table above 8,000 ft and no price",
        ("the handbook has no endurance figures",),
    ),
    Entry(
        "lundi",
        "Lundi Turbo",
        "Holmgard Air",
        "an inland field",
        2025,
        "Turbocharged, oxygen aboard.",
        ("autopilot: standard",),
        "handbook only",
    ),
)

GROUPS = (
    ("useful_load", "Useful load", "Loading", "more", "lb", "mass"),
    ("payload_full_tanks", "Payload with full tanks", "Loading", "more", "lb", "mass"),
    ("fuel_seats_filled", "Fuel with the seats filled", "Loading", "more", "US gal", "volume"),
    ("cruise_speed", "Cruise true airspeed", "Cruise", "more", "kt", "speed"),
    ("cruise_fuel_flow", "Cruise fuel flow", "Cruise", "less", "US gal/h", "volume_flow"),
    ("specific_range", "Specific range", "Cruise", "more", "nmi/US gal", "distance_per_volume"),
    ("endurance_seats_filled", "Endurance with the seats filled", "Range", "more", "h", "time"),
    ("range", "Range with reserve, full tanks", "Range", "more", "nmi", "length"),
    ("endurance", "Endurance, full tanks", "Range", "more", "h", "time"),
    ("price_as_compared", "Price as compared", "Money", "less", "EUR", "money"),
)
# Value and standard uncertainty in the trade unit, one column an airplane; None is missing.
NUMBERS: dict[str, tuple[tuple[float, float] | None, ...]] = {
    "useful_load": ((1234, 6), (1292, 4), (1010, 4), (1178, 4)),
    "payload_full_tanks": ((902, 6.3), (764, 4.4), (622, 4.2), (592, 4.6)),
    "fuel_seats_filled": ((49.6, 0.9), (81.2, 0.9), (38.4, 0.7), (70.1, 1.0)),
    "cruise_speed": ((141.3, 1.1), (152.8, 2.0), (146.1, 2.6), (176.9, 2.4)),
    "cruise_fuel_flow": ((6.93, 0.09), (13.6, 0.31), (9.12, 0.25), (15.9, 0.4)),
    "specific_range": ((20.4, 0.31), (11.2, 0.27), (16.0, 0.5), (11.1, 0.3)),
    "endurance_seats_filled": ((6.63, 0.16), (5.44, 0.14), None, (3.88, 0.12)),
    "range": ((872, 15), (798, 21), (742, 30), (905, 27)),
    "endurance": ((6.3, 0.12), (5.3, 0.13), (5.2, 0.2), (5.2, 0.15)),
    "price_as_compared": ((489_000, 0), (562_400, 0), None, (815_000, 0)),
}
TRIPS = {
    "office-to-the-islands": ("Office to the islands", "EKCH", "EKVG", 704.0),
    "short-hop": ("Short hop", "EKCH", "ESSB", 282.0),
    "summer-south": ("Summer south", "EKCH", "LFMD", 620.0),
}
TRIP_TIMES = {
    "office-to-the-islands": (5.28, 4.95, 6.31, 4.22),
    "short-hop": (2.14, 1.98, 2.06, 1.74),
    "summer-south": (4.6, 4.28, None, 3.7),
}
FLOWS = (6.93, 13.6, 9.12, 15.9)


def quantity(text: str, dimension: str, line: int, field: str) -> Quantity:
    return parse_quantity(text, dimension).at(Place("study.toml", line, field), "terms")


def the_terms(name: str = "Front left") -> Terms:
    return Terms(
        equipment=("autopilot",),
        power=quantity("65 %", "ratio", 12, "terms.power"),
        altitude=quantity("8,000 ft", "length", 13, "terms.altitude"),
        isa_deviation=quantity("0 °C", "temperature_difference", 14, "terms.isa_deviation"),
        occupants=tuple(
            Occupant(name=who, weight=quantity(weight, "mass", 20 + i, f"terms.occupants.{i}.weight"))
            for i, (who, weight) in enumerate(
                ((name, "185 lb"), ("Front right", "150 lb"), ("Child", "88 lb"), ("Child, small", "62 lb"))
            )
        ),
        bags=quantity("110 lb", "mass", 30, "terms.bags"),
        reserve=quantity("45 min", "time", 31, "terms.reserve"),
        reserve_rule="the editors' rule for day flying under visual rules over water",
        wind=quantity("10 kt", "speed", 32, "terms.wind"),
        fuels=(
            FuelTerms(
                kind="jet-a1",
                density=quantity("0.80 kg/L", "density", 35, "terms.fuels.0.density"),
                price=quantity("1.90 EUR", "money", 36, "terms.fuels.0.price"),
            ),
            FuelTerms(kind="avgas", density=quantity("0.72 kg/L", "density", 38, "terms.fuels.1.density")),
        ),
    )


def figure(
    key: str,
    label: str,
    unit: str,
    dimension: str,
    numbers: tuple[float, float] | None,
    basis: Basis = "handbook",
    missing: str = "",
    line: int = 10,
) -> Figure:
    aircraft = key.split(".")[0]
    trace = Trace(
        "linear interpolation between the printed values of the handbook's table",
        "RTO-AG-300-V11, 7 (from memory)"
        if basis == "fitted"
        else "SFTE Reference Handbook, 2013, 6 (from memory)",
        (
            Input(
                "as written",
                f"{numbers[0]:g} {unit}" if numbers else "—",
                Place(f"aircraft/{aircraft}.toml", line),
            ),
            Input("cruise power", "65 %", Place("study.toml", 12, "terms.power"), "terms"),
        ),
    )
    if numbers is None:
        return Figure(key, label, unit, dimension, None, basis, trace, missing=missing)
    scale = find_unit(unit, dimension)
    draws = None
    if numbers[1]:
        draws = scale.to_si(numbers[0] + numbers[1] * DRAWS.normal(key))
    return Figure(key, label, unit, dimension, scale.to_si(numbers[0]), basis, trace, draws)


def _table_figures() -> dict[str, Figure]:
    figures: dict[str, Figure] = {}
    for row, (quantity_name, label, _, _, unit, dimension) in enumerate(GROUPS):
        for entry, numbers in zip(ENTRIES, NUMBERS[quantity_name], strict=True):
            key = f"{entry.key}.{quantity_name}"
            basis: Basis = "fitted" if entry.key == "lomvi" and "cruise" in quantity_name else "handbook"
            why = (
                "the handbook gives no price"
                if "price" in key
                else "no fuel flow at this power in the handbook"
            )
            figures[key] = figure(
                key, f"{entry.name}: {label}", unit, dimension, numbers, basis, why, 10 + row
            )
    speed = figures["rita.cruise_speed"]
    figures["rita.cruise_speed"] = replace(
        speed,
        extrapolated=True,
        terms={"altitude": "8,000 ft is above the table's last row, 6,000 ft"},
        remarks=("carried on from the last two rows",),
    )
    for quantity_name in ("range", "specific_range"):
        key = f"lomvi.{quantity_name}"
        own = figures[key]
        inputs = tuple(
            Input(figures[f"lomvi.{n}"].label, str(figures[f"lomvi.{n}"]), figure=f"lomvi.{n}")
            for n in ("cruise_speed", "cruise_fuel_flow")
        )
        figures[key] = replace(
            own, trace=Trace("speed by fuel flow, draw by draw", "JCGM 101:2008, 7", inputs)
        )
    return figures


def _trip_figures(figures: dict[str, Figure]) -> tuple[TripLeg, ...]:
    legs = []
    for slug, (title, _, _, distance) in TRIPS.items():
        for entry, hours, flow in zip(ENTRIES, TRIP_TIMES[slug], FLOWS, strict=True):
            stop = entry.key == "rita" and slug == "office-to-the-islands"
            missing = "no climb table, so no time to height"
            base = f"{entry.key}.trip.{slug}"
            name = f"{entry.name}: {title}"
            time = (hours, 0.015 * hours) if hours else None
            fuel = (hours * flow * 1.04, 0.03 * hours * flow) if hours else None
            figures[f"{base}.time"] = figure(
                f"{base}.time", f"{name}, time", "h", "time", time, "handbook", missing
            )
            figures[f"{base}.fuel"] = figure(
                f"{base}.fuel", f"{name}, fuel", "US gal", "volume", fuel, "handbook", missing
            )
            stops = (1.0 if stop else 0.0, 0.0) if hours else None
            figures[f"{base}.stops"] = figure(
                f"{base}.stops", f"{name}, stops", "", "count", stops, "handbook", missing
            )
            reason = missing if not hours else "fuel for 655 nmi with these people aboard" if stop else ""
            nonstop = None if not hours else not stop
            keys = (f"{base}.{part}" for part in ("time", "fuel", "stops"))
            legs.append(TripLeg(entry.key, title, distance * nmi, nonstop, reason, *keys))
    return tuple(legs)


def _options(figures: dict[str, Figure]) -> tuple[OptionCost, ...]:
    options = []
    for key, slug, words, weight, price in (
        ("lomvi", "weeping-wing", "weeping wing", 58.0, 42_500.0),
        ("lomvi", "air-conditioning", "air conditioning", 49.0, 28_900.0),
        ("tjaldur", "oxygen", "oxygen", 31.0, 12_400.0),
    ):
        base = f"{key}.option.{slug}"
        figures[f"{base}.payload"] = figure(
            f"{base}.payload", f"{words}: payload given up", "lb", "mass", (weight, 0.3)
        )
        figures[f"{base}.price"] = figure(f"{base}.price", f"{words}: price", "EUR", "money", (price, 0.0))
        options.append(OptionCost(key, words, f"{base}.payload", f"{base}.price", None))
    return tuple(options)


def _flown(figures: dict[str, Figure]) -> tuple[tuple[FlownPoint, ...], tuple[BookVerdict, ...]]:
    points, levels, every = [], [], []
    for number, (feet, power, flown, handbook) in enumerate(
        ((4000, 75, 143.9, 146.0), (8000, 65, 141.2, 142.0), (10000, 65, 143.1, 149.0)), 1
    ):
        condition = f"{feet:,} ft, {power} %"
        base = f"lomvi.flown.2026-05-14.{number}.cruise_speed"
        a = figure(f"{base}.corrected", f"Flown at {condition}", "kt", "speed", (flown, 0.5), "measured")
        b = figure(f"{base}.handbook", f"Handbook at {condition}", "kt", "speed", (handbook, 0.9))
        gap = difference(f"{base}.difference", f"Flown less handbook at {condition}", a, b)
        given = (Input(condition, "its difference", figure=gap.key),)
        every += given
        mean = replace(
            gap,
            key=f"lomvi.book.cruise_speed?altitude={feet}ft",
            terms={"altitude": f"{feet:,} ft"},
            trace=Trace("mean", "JCGM 101:2008", given),
        )
        figures |= {f.key: f for f in (a, b, gap, mean)}
        levels.append(mean.key)
        agrees = abs(gap.value or 0) <= (gap.u95 or 0)
        verdict = "agrees within the measurement" if agrees else "slower than the handbook"
        points.append(
            FlownPoint(
                "lomvi", "cruise_speed", "2026-05-14", number, condition, a.key, "weight: −0.4 kt", b.key,
                gap.key, verdict,
            )
        )  # fmt: skip
    key = "lomvi.book.cruise_speed"
    overall = figure(key, "Cruise speed, flown less handbook", "kt", "speed", (-2.97, 0.7))
    figures[key] = replace(overall, trace=Trace("mean", "JCGM 101:2008", tuple(every)))
    words = "3.0 ± 1.4 kt slower than the book over 3 conditions; it gets worse with altitude"
    missing = figure(
        "lomvi.book.glide_ratio", "Glide ratio", "", "count", None, "handbook", "no glide was flown"
    )
    figures[missing.key] = missing
    return tuple(points), (
        BookVerdict("lomvi", "cruise_speed", "Cruise speed at the fuel flow", key, words, 3, tuple(levels)),
        BookVerdict(
            "lomvi", "glide_ratio", "Glide ratio", missing.key, "cannot be said: no glide was flown", 0
        ),
    )


def _headlines(figures: dict[str, Figure]) -> tuple[Headline, ...]:
    base, label = "lomvi.cruise_speed?evidence=", "Cruise true airspeed"
    on: dict[Kind, str] = {kind: f"{base}{kind}" for kind in KINDS}
    for kind, value in zip(KINDS, ((142.0, 0.9), (140.1, 1.6), (141.2, 0.8)), strict=True):
        figures[on[kind]] = figure(on[kind], f"{label}, {kind}", "kt", "speed", value, kind)
    less: dict[Kind, str] = {kind: f"{base}{kind}-handbook" for kind in KINDS[1:]}
    for kind, key in less.items():
        figures[key] = difference(key, f"{label}, {kind} less", figures[on[kind]], figures[on["handbook"]])
    return (Headline("lomvi", "cruise_speed", label, on, less),)


def _speed_curves() -> tuple[SpeedCurve, ...]:
    curves = []
    for entry, at_sea_level, per_1000_ft, top, full, half in (
        (ENTRIES[0], 128.0, 1.65, 14_000, 14_000, 2.2),
        (ENTRIES[1], 141.5, 1.42, 14_000, 14_000, 4.0),
        (ENTRIES[2], 134.0, 1.5, 8_000, 8_000, 5.0),
        (ENTRIES[3], 150.5, 3.3, 20_000, 18_000, 4.7),
    ):
        altitude = np.arange(0.0, 20_001.0, 1000.0)
        speed = at_sea_level + per_1000_ft * altitude / 1000 - 0.03 * (altitude / 1000) ** 2
        speed = np.where(altitude > full, speed - 1.2 * ((altitude - full) / 1000) ** 2, speed)
        speed[altitude > top] = np.nan
        width = half * (0.7 + altitude / 40_000)
        curves.append(
            SpeedCurve(
                entry.key, altitude * ft, speed * kt, (speed - width) * kt, (speed + width) * kt,
                np.full_like(altitude, FLOWS[0]) * litre * 0.8 / hour,
            )
        )  # fmt: skip
    return tuple(curves)


def _seats(figures: dict[str, Figure]) -> tuple[SeatCell, ...]:
    """Range and fuel by people aboard, with 110 lb of bags; rita takes no fourth."""
    cells = []
    far = {"lomvi": (872, 870, 802, 655), "tjaldur": (798, 798, 798, 730), "rita": (742, 700, 512, None),
           "lundi": (905, 905, 820, 610)}  # fmt: skip
    for key, row in far.items():
        for people, distance in enumerate(row, 1):
            ends = f"?occupants={people}&bags=110lb"
            label = f", {people} aboard, 110 lb of bags"
            cell = SeatCell(key, people, "110 lb", f"{key}.range{ends}", f"{key}.fuel{ends}")
            why = "no seating and stowing keeps the balance"
            for name, words, unit, dimension, value in (
                (cell.range, f"Range{label}", "nmi", "length", distance),
                (cell.fuel, f"Fuel{label}", "US gal", "volume", None if distance is None else distance / 12),
            ):
                numbers = None if value is None else (float(value), 0.02 * value)
                figures[name] = figure(name, words, unit, dimension, numbers, missing=why)
            cells.append(cell)
    return tuple(cells)


def _inspections(figures: dict[str, Figure]) -> tuple[Inspection, ...]:
    """One short runway, cabins of three, a flown airplane rated and listened to; the fourth not measured."""
    inspections = []
    for key, spare, width, height in (
        ("lomvi", 310.0, 1.21, 1.17), ("tjaldur", 20.0, 1.11, 1.22), ("rita", -240.0, 1.07, 1.12),
        ("lundi", None, None, None),
    ):  # fmt: skip
        keys = []
        for kind in ("takeoff", "landing"):
            name = f"{key}.runway.quay.{kind}_margin"
            numbers = None if spare is None else (spare, 90.0)
            figures[name] = figure(name, f"{kind} to spare", "ft", "length", numbers, missing="no table")
            keys.append(name)
        use = RunwayUse(key, "Quay", *keys, "long enough" if key == "lomvi" else "too close to call")
        doors = () if width is None else (DoorMeasures("left front", 0.88, 0.94, 0.61),)
        flown = _flown_inside(figures) if key == "lomvi" else ((), (), ())
        inspections.append(Inspection(key, (use,), CabinMeasures(key, width, height, doors), *flown))
    return tuple(inspections)


def _flown_inside(
    figures: dict[str, Figure],
) -> tuple[tuple[NoiseCell, ...], tuple[Rating, ...], tuple[Remark, ...]]:
    heard, apart = "lomvi.flown.2026-05-14.1.cabin_noise", "lomvi.flown.2026-05-14.1.cabin_noise_difference"
    figures[heard] = figure(heard, "Cabin noise", "dB(A)", "sound_level", (82.8, 0.8), "measured")
    figures[apart] = figure(apart, "Cabin noise, less", "dB(A)", "sound_level", (1.8, 0.9), "measured")
    place = Place("flights/2026-05-14.toml", 40, "handling.0.rating")
    rating = Rating("lomvi", "2026-05-14", "steep turn", 3, "fair: minimal compensation", "satisfactory",
                    "A pilot", "smooth air", "desired: 50 ft", "Light.", place, "NASA TN D-5153")  # fmt: skip
    key = f"lomvi.{rating.key}"
    figures[key] = figure(key, "Handling: steep turn", "", "count", (3.0, 0.0), "declared")
    cell = NoiseCell("lomvi", "level, 4,000 ft", "ear height", heard, apart)
    return (cell,), (rating,), (Remark("lomvi", "2026-05-14", "landing", "Sits down firmly.", "A pilot"),)


def comparison() -> Comparison:
    """Return the whole fixture."""
    figures = _table_figures()
    legs = _trip_figures(figures)
    options = _options(figures)
    flown, book = _flown(figures)
    headlines = _headlines(figures)
    inspections = _inspections(figures)
    swings = money.swings(figures, figure)
    answers = money.answers(figures, figure)
    for rival in ENTRIES[1:]:
        for quantity_name, label, *_ in GROUPS:
            key = f"lomvi-{rival.key}.{quantity_name}"
            a, b = figures[f"lomvi.{quantity_name}"], figures[f"{rival.key}.{quantity_name}"]
            figures[key] = difference(key, label, a, b)
    return Comparison(
        title="A first airplane for the islands",
        author="The island desk",
        summary="Which of four airplanes carries a family over the sounds, how fast, on how much fuel.",
        terms=the_terms(),
        money=MoneyTerms(currency="EUR", year=2026),
        trips=tuple(Trip(name=title, start=start, end=end) for title, start, end, _ in TRIPS.values()),
        entries=ENTRIES,
        rows=tuple(Row(q, label, group, better) for q, label, group, better, _, _ in GROUPS),
        figures=figures,
        speed_curves=_speed_curves(),
        payload_ranges=payload_ranges(),
        balances=balances(),
        trip_legs=legs,
        flown=flown,
        options=options,
        headlines=headlines,
        seats=_seats(figures),
        rings=RINGS,
        places=PLACES,
        book=book,
        swings=swings,
        ownership=money.OWNERSHIP,
        answers=answers,
        inspections=inspections,
        remarks=("Rita RG: the handbook's cruise table ends at 6,000 ft.",),
    )


def hostile() -> Comparison:
    """Return the fixture with markup in every name a user may write."""
    whole = comparison()
    bad = "<script>alert('x')</script>&\"</svg>"
    entries = (
        replace(whole.entries[0], name=bad, maker=bad, summary=bad, remarks=(bad,)),
        *whole.entries[1:],
    )
    figures = dict(whole.figures)
    key = "lomvi.useful_load"
    figures[key] = replace(
        figures[key],
        label=bad,
        remarks=(bad,),
        trace=Trace(bad, bad, (Input(bad, bad, Place(bad, 3), bad), Input("gone", "x", figure=f"no.{bad}"))),
    )
    return replace(
        whole,
        title=bad,
        author=bad,
        summary=bad,
        terms=the_terms(bad[:60]),
        entries=entries,
        figures=figures,
        remarks=(bad,),
    )


def plain(text: str) -> str:
    """Return text with its white space drawn together."""
    return re.sub(r"\s+", " ", text).strip()
