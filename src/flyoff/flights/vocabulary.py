"""Words by which recorders name their columns, in several languages, and their unit suffixes.

A header's text is cut into lower-case words. Each channel lists sets of words;
a set scores by how many of its words there are, if all are found. Words that
name something else rule a channel out. All of it is only ever proposed.
"""

import re

from flyoff.core.units import DIMENSIONS, Unit, UnknownUnit, find_unit
from flyoff.flights.channels import CHANNELS

# channel: (sets of words that name it, words that rule it out)
WORDS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "latitude": (
        ("latitude", "lat", "breite", "breitengrad", "latitud", "latitudine"),
        ("accel", "lin", "acc", "acceleration", "g"),
    ),
    "longitude": (
        ("longitude", "lon", "lng", "long", "laenge", "länge", "laengengrad", "längengrad", "longitud"),
        ("g", "accel", "lin", "acc", "acceleration"),
    ),
    "gps_altitude": (
        ("gps altitude", "gps alt", "gps height", "gnss height", "gnss altitude", "gnss alt", "gps hoehe",
         "gps höhe", "location altitude", "altitude gps", "altmsl", "alt msl", "altgps", "elevation", "ele",
         "msl altitude", "gps altitud", "hauteur gps"),
        ("pressure", "druck", "std", "baro", "relative", "accuracy"),
    ),
    "ground_speed": (
        ("ground speed", "groundspeed", "gs", "gnd spd", "gndspd", "gps speed", "gnss speed", "speed gps",
         "location speed", "geschw grund", "geschwindigkeit grund", "vitesse sol", "velocidad suelo", "sog",
         "sol vitesse"),
        ("air", "indicated", "true", "vertical", "accuracy"),
    ),
    "ground_track": (
        ("ground track", "track", "trk", "course", "cog", "kurs grund", "gnss course", "gps course",
         "location course", "route sol", "rumbo", "route", "gps track"),
        ("heading", "hdg", "magnetic", "accuracy", "selected", "desired", "crosstrack"),
    ),
    "indicated_airspeed": (
        ("indicated airspeed", "ias", "airspeed", "fahrt", "vitesse indiquee", "vitesse indiquée",
         "air speed", "indicated speed", "vi", "velocidad indicada"),
        ("true", "ground", "vertical", "boom", "selected"),
    ),
    "true_airspeed": (("true airspeed", "tas", "wahre fahrt", "vitesse vraie", "vv"), ()),
    "pressure_altitude": (
        ("pressure altitude", "palt", "pressure alt", "press alt", "pa", "std alt", "altp", "druckhoehe",
         "druckhöhe", "altitude pression", "altpress", "baro altitude", "altitude std", "alt press"),
        ("gps", "gnss", "relative"),
    ),
    "outside_air_temperature": (
        ("outside air temp", "outside air temperature", "oat", "aussentemp", "außentemp", "aussentemperatur",
         "außentemperatur", "temperature exterieure", "temp ext", "air temp", "temp exterior"),
        ("imu", "oil", "cyl", "egt", "cht"),
    ),
    "magnetic_heading": (
        ("magnetic heading", "mag heading", "hdg mag", "hdg", "mag hdg", "heading", "steuerkurs mag",
         "steuerkurs", "cap magnetique", "cap", "rumbo magnetico"),
        ("true", "track", "accuracy", "timestamp", "bug", "selected", "location"),
    ),
    "true_heading": (("true heading", "heading true", "thdg"), ("accuracy", "timestamp", "location")),
    "manifold_pressure": (
        ("manifold pressure", "map", "manifold", "manifold press", "ladedruck", "pression admission", "mp",
         "e1 map", "man press", "pa admission"),
        (),
    ),
    "rpm": (("rpm", "engine speed", "drehzahl", "regime", "régime", "prop rpm", "n prop", "tr min"), ()),
    "fuel_flow": (
        ("fuel flow", "fuelflow", "fflow", "f flow",
         "ff", "durchfluss", "fuel", "debit", "débit", "debit carburant",
         "fuel lph", "fuel gph", "consumo"),
        ("remaining", "qty", "quantity", "level", "pressure", "used", "total"),
    ),
    "fuel_remaining": (
        ("fuel remaining", "fuel qty", "fuel quantity", "kraftstoff", "tank", "carburant restant", "fuel",
         "fuel rem", "carburant", "tankinhalt"),
        ("flow", "durchfluss", "debit", "débit", "pressure", "used"),
    ),
    "vertical_speed": (
        ("vertical speed", "vs", "vspd", "vsi", "vario", "steigen", "climb rate", "rate of climb", "roc",
         "vitesse verticale", "vz"),
        (),
    ),
    "altimeter_setting": (
        ("altimeter setting", "qnh", "baro", "baroa", "baro setting", "calage"),
        ("altitude", "alt", "relative"),
    ),
    "noise_level": (("noise level", "environmental noise level"), ()),
    "power_percent": (("power percent", "percent power", "power", "leistung", "puissance"), ("volts",)),
}  # fmt: skip

# The same in Danish, Swedish, Norwegian, Finnish, Dutch, Spanish and Italian, some without their accents.
_MORE: dict[str, tuple[str, ...]] = {
    "latitude": (
        "bredde", "breddegrad", "bredd", "leveys", "leveysaste", "breedte", "breedtegraad",
    ),
    "longitude": (
        "længde", "laengde", "længdegrad", "lengde", "lengdegrad", "längd", "längdgrad", "pituus",
        "pituusaste", "lengte", "lengtegraad", "longitudine",
    ),
    "gps_altitude": (
        "gps højde", "gps hojde", "gps hoejde", "gpshøjde", "gps höjd", "gps høyde", "gps korkeus",
        "gps hoogte", "gps altitudine", "gps quota", "gps altura",
    ),
    "ground_speed": (
        "fart grund", "grundfart", "gps fart", "hastighed grund", "markhastighet", "fart mark",
        "hastighet mark", "bakkefart", "fart bakken", "gps hastighet", "gps hastighed", "maanopeus",
        "gps nopeus", "grondsnelheid", "snelheid grond", "gps snelheid", "gps velocidad",
        "velocidad tierra", "velocita suolo", "velocità suolo",
    ),
    "ground_track": (
        "kurs mark", "kurs bakken", "beholden kurs", "koers grond", "grondkoers", "suunta maa",
        "derrota", "rotta",
    ),
    "indicated_airspeed": (
        "vist fart", "indikeret fart", "flyvefart", "indikerad fart", "indikerad hastighet",
        "indikert fart", "mittarinopeus", "ilmanopeus", "aangewezen snelheid", "luchtsnelheid",
        "velocita indicata", "velocità indicata",
    ),
    "true_airspeed": (
        "sand fart", "sann fart", "sann hastighet", "tosi ilmanopeus", "ware snelheid",
        "ware luchtsnelheid", "velocidad verdadera", "velocita vera", "velocità vera",
    ),
    "pressure_altitude": (
        "trykhøjde", "trykhojde", "trykhoejde", "tryckhöjd", "tryckhojd", "trykkhøyde", "trykkhoyde",
        "painekorkeus", "drukhoogte", "altitud presion", "altitud presión", "quota pressione",
        "altitudine pressione",
    ),
    "outside_air_temperature": (
        "udetemp", "udetemperatur", "utetemp", "utetemperatur", "yttertemp", "yttertemperatur",
        "ulkolämpötila", "ulkolampotila", "buitentemp", "buitentemperatuur", "temperatura exterior",
        "temperatura esterna", "temp esterna",
    ),
    "magnetic_heading": (
        "styret kurs", "kompaskurs", "kompasskurs", "magnetisk kurs", "kompassisuunta", "stuurkoers",
        "magnetische koers", "rumbo magnético", "prua", "prua magnetica",
    ),
    "manifold_pressure": (
        "ladetryk", "laddtryck", "ladetrykk", "ahtopaine", "imupaine", "vuldruk", "inlaatdruk",
        "presion admision", "presión admisión", "pressione alimentazione", "pressione ammissione",
    ),
    "rpm": (
        "omdr", "omdrejninger", "omdrejningstal", "varvtal", "turtall", "kierrosluku", "toerental",
        "revoluciones", "giri",
    ),
    "fuel_flow": (
        "forbrug", "brændstofforbrug", "förbrukning", "bränsleförbrukning", "bränsleflöde", "forbruk",
        "drivstofforbruk", "kulutus", "polttoainevirtaus", "verbruik", "brandstofverbruik",
        "brandstofstroom", "flujo combustible", "flusso carburante",
    ),
    "fuel_remaining": (
        "brændstof", "bränsle", "drivstoff", "polttoaine", "brandstof", "combustible", "carburante",
    ),
    "vertical_speed": (
        "stig", "stigning", "stigehastighed", "stighastighet", "stigfart", "nousunopeus", "pystynopeus",
        "stijgsnelheid", "klimsnelheid", "velocidad vertical", "velocita verticale",
        "velocità verticale",
    ),
    "power_percent": (
        "ydelse", "effekt", "ytelse", "teho", "vermogen", "potencia", "potenza",
    ),
}  # fmt: skip
_MORE_EXCLUDED: dict[str, tuple[str, ...]] = {
    "indicated_airspeed": (
        "grund", "mark", "grond", "suelo", "suolo", "sol", "gps", "sand", "sann", "ware", "tosi",
        "vraie", "verdadera", "vera", "wahre",
    ),
    "fuel_remaining": (
        "consumo", "forbrug", "förbrukning", "forbruk", "kulutus", "verbruik", "flujo", "flusso",
        "pression", "presion", "presión", "pressione", "druck",
    ),
    "fuel_flow": (
        "pression", "presion", "presión", "pressione", "druck",
    ),
    "vertical_speed": (
        "accuracy",
    ),
}  # fmt: skip
for _channel, (_names, _excluded) in WORDS.items():
    WORDS[_channel] = (
        (*_names, *_MORE.get(_channel, ())),
        (*_excluded, *_MORE_EXCLUDED.get(_channel, ())),
    )
WORDS["fuel_mass_flow"] = WORDS["fuel_flow"]
WORDS["fuel_mass"] = WORDS["fuel_remaining"]

TIME_WORDS = frozenset(
    [
        "time",
        "utc",
        "zeit",
        "clock",
        "date",
        "datum",
        "timestamp",
        "hour",
        "heure",
        "fecha",
        "hora",
        "uhrzeit",
        "tag",
        "temps",
        "stamp",
        "lcl",
        "since1970",
        "dato",
        "tid",
        "tidspunkt",
        "klokkeslæt",
        "klokkeslett",
        "klockslag",
        "aika",
        "kello",
        "kellonaika",
        "päivä",
        "päivämäärä",
        "tijd",
        "tijdstip",
        "data",
        "ora",
        "orario",
    ]
)

# Suffixes that are written otherwise than the unit itself.
_SUFFIXES = {
    "ms": "m/s", "mps": "m/s", "kmh": "km/h", "kph": "km/h", "kts": "kt", "knots": "kt", "kn": "kt",
    "fpm": "ft/min", "gph": "US gal/h", "lph": "L/h", "pph": "lb/h", "inhg": "inHg", "hg": "inHg",
    "hpa": "hPa", "kpa": "kPa", "mbar": "hPa", "mb": "hPa", "psi": "psi", "c": "°C", "degc": "°C", "f": "°F",
    "degf": "°F", "deg": "°", "rad": "rad", "rpm": "rpm", "gal": "US gal", "gals": "US gal", "usg": "US gal",
    "l": "L", "kg": "kg", "lb": "lb", "lbs": "lb", "m": "m", "ft": "ft", "feet": "ft", "km": "km",
    "mph": "mph", "kt": "kt", "k": "K", "pct": "%", "percent": "%", "hz": "Hz", "wgs84": "°", "ltr": "L",
}  # fmt: skip

USUAL: dict[str, tuple[str, ...]] = {
    "speed": ("kt", "km/h", "m/s", "mph"),
    "length": ("ft", "m"),
    "angle": ("°", "rad"),
    "temperature": ("°C", "°F", "K"),
    "pressure": ("inHg", "hPa", "kPa", "psi"),
    "rotation_speed": ("rpm",),
    "volume_flow": ("US gal/h", "L/h"),
    "mass_flow": ("kg/h", "lb/h"),
    "volume": ("US gal", "L"),
    "mass": ("kg", "lb"),
    "ratio": ("%",),
    "vertical_speed": ("ft/min", "m/s"),
    "altimeter_setting": ("hPa", "inHg"),
}
"""Units to try where a header names none, likeliest first; by channel where its dimension is too wide."""

_BRACKETS = re.compile(r"[\[(<]([^\])>]*)[\])>]")
_WORD = re.compile(r"[^\W_]+", re.UNICODE)
_CAMEL = re.compile(r"(?<=[a-zäöüéèæøå])(?=[A-ZÄÖÜÆØÅ])|(?<=[A-Z])(?=[A-Z][a-z])")


def words_of(header: str) -> list[str]:
    """Return a header's words in lower case, brackets left out, camel case parted.

    >>> words_of("locationSpeed(m/s)")
    ['location', 'speed']
    """
    plain = _CAMEL.sub(" ", _BRACKETS.sub(" ", header))
    return [word.lower() for word in _WORD.findall(plain)]


def score(header: str, channel: str) -> float:
    """Return how well a header names a channel: 0 not at all, more for longer names found whole."""
    words = words_of(header)
    joined = {*words, "".join(words)}
    names, excluded = WORDS[channel]
    if joined & set(excluded):
        return 0.0
    best = 0.0
    for name in names:
        parts = name.split()
        if all(part in joined for part in parts) or name.replace(" ", "") in joined:
            best = max(best, len(parts) + len(name) / 100 - 0.05 * max(len(words) - len(parts), 0))
    return best


def written_unit(header: str, unit_cell: str, dimension: str) -> Unit | None:
    """Return the unit that a header says of itself: in brackets, in a units line, or as its last word."""
    candidates = [unit_cell.strip(" []()#"), *_BRACKETS.findall(header)]
    words = words_of(header)
    if len(words) > 1 or words == ["rpm"]:
        candidates.append(words[-1])
    for candidate in candidates:
        unit = unit_named(candidate.strip(), dimension)
        if unit is not None:
            return unit
    return None


def names_other_unit(header: str, unit_cell: str, dimension: str) -> bool:
    """Whether a header says a unit, in brackets or as a last word, that is of another dimension."""
    candidates = [unit_cell.strip(" []()#"), *_BRACKETS.findall(header)]
    words = words_of(header)
    if len(words) > 1 and len(words[-1]) > 1:
        candidates.append(words[-1])
    others = DIMENSIONS if unit_named("deg", dimension) is None else ()
    return any(
        unit_named(c.strip(), d) is not None
        for c in candidates
        if c.strip()
        for d in others
        if d != dimension
    )


def unit_named(text: str, dimension: str) -> Unit | None:
    """Return the unit of a dimension by its label or a usual suffix, or None."""
    for spelling in (text, _SUFFIXES.get(text.lower(), "")):
        if spelling:
            try:
                return find_unit(spelling, dimension)
            except UnknownUnit:
                continue
    return None


def candidates_for(header: str) -> list[tuple[float, str]]:
    """Return the channels that a header may name, best first."""
    scored = [(score(header, channel), channel) for channel in CHANNELS]
    return sorted(((s, c) for s, c in scored if s > 0), key=lambda pair: -pair[0])
