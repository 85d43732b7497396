"""A reduced flight made ready for readers: its charts drawn, its facts and methods told."""

import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from flyoff.charts.catalogue import charts_of_flight
from flyoff.charts.house import PLAIN, House
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.core.units import fpm, kt
from flyoff.flights.card import FlightFile
from flyoff.flights.log import utc
from flyoff.reduction.output import reduction_data
from flyoff.reduction.run import Reduction
from flyoff.report.blocks import Drawing, Picture
from flyoff.report.flown import FlownDay
from flyoff.report.write import inline, write_flight

PAGE_ENDINGS = (".html", ".htm")


def check_page(path: Path) -> None:
    """Refuse to write a page over what does not call itself one.

    Raises
    ------
    Problems
        If the name has no ending of a page, or is a folder's.
    """
    if path.suffix.lower() not in PAGE_ENDINGS or path.is_dir():
        raise Problems([Problem(Place(str(path)), "no name for a page", "expected a file ending in .html")])


def write_page(reduction: Reduction, path: Path) -> None:
    """Write one self-contained HTML page of a reduced flight.

    Raises
    ------
    Problems
        If the name is not a page's.
    """
    check_page(path)
    write_flight(flown_day(reduction, Path(reduction.flight.name).stem), path)


def flown_days(
    flights: Mapping[str, Reduction], progress: Callable[[str], None], house: House = PLAIN
) -> tuple[FlownDay, ...]:
    """Return a study's flights for its report, their anchors apart."""
    days: list[FlownDay] = []
    for name, reduction in flights.items():
        progress(f"drawing {name}")
        key = _key(name)
        taken = {day.key for day in days}
        while key in taken:
            key += "_"
        days.append(flown_day(reduction, name, key, house))
    return tuple(days)


def flown_day(reduction: Reduction, name: str, key: str = "", house: House = PLAIN) -> FlownDay:
    """Return one flight for readers; `name` is its file's without the ending."""
    key = key or _key(name)
    pictures: list[Picture] = []
    drawings: dict[str, Drawing] = {}
    for chart in charts_of_flight(reduction):
        own = f"{key}-{chart.name}"
        pictures.append(Picture(own, chart.subtitle(reduction)))
        drawings[own] = inline(chart, reduction, own, house)
    card = reduction.flight.card
    return FlownDay(
        name,
        key,
        card.title or f"Flight {name}",
        tuple(_facts(reduction)),
        tuple(f"{note.at}: {note.text}" if note.at else note.text for note in card.notes),
        tuple(_methods(reduction)),
        reduction_data(reduction),
        tuple(pictures),
        drawings,
    )


def _key(name: str) -> str:
    """Return a name as part of an HTML id and of a link inside an SVG."""
    return re.sub(r"[^\w-]+", "_", name, flags=re.ASCII)


def _facts(reduction: Reduction) -> Iterator[tuple[str, str]]:
    flight, card = reduction.flight, reduction.flight.card
    yield "Flight file", Path(flight.name).name
    yield "Date", flight.date.isoformat() if flight.date_known else "not known"
    if card.aircraft:
        yield "Airplane", card.aircraft
    if card.crew:
        yield "Crew", "; ".join(card.crew)
    for log in flight.logs:
        span = f"{utc(float(log.time_s[0]))[11:19]} to {utc(float(log.time_s[-1]))[11:19]} UTC"
        yield "Log", f"{log.name}: {len(log):,} rows, {span}"
    yield from _loading(card)
    yield from _instruments(card)


def _loading(card: FlightFile) -> Iterator[tuple[str, str]]:
    loading = card.loading
    if loading.ramp_weight is not None:
        yield "Ramp weight", str(loading.ramp_weight)
    if loading.fuel_at_start is not None:
        yield "Fuel at start", str(loading.fuel_at_start)
    for occupant in loading.occupants:
        note = f" ({occupant.note})" if occupant.note else ""
        yield "Aboard", f"{occupant.weight}, {occupant.station}{note}"


def _instruments(card: FlightFile) -> Iterator[tuple[str, str]]:
    given = card.instruments
    for name, quantity in (
        ("Thermometer’s recovery factor", given.oat_recovery),
        ("Thermometer’s correction", given.oat_correction),
        ("Thermometer’s error, 95 %", given.oat_u95),
        ("Altimeter’s error, 95 %", given.pressure_altitude_u95),
        ("Fuel flow’s error, 95 %", given.fuel_flow_u95),
        ("Magnetic variation, east positive", given.magnetic_variation),
    ):
        if quantity is not None:
            yield name, str(quantity)


def _methods(reduction: Reduction) -> Iterator[tuple[str, str]]:
    criteria = reduction.criteria
    steady = (
        f"Steady conditions last {criteria.shortest_s:.0f} s or more; over each, the airspeed drifts by"
        f" less than {criteria.airspeed_drift_m_s2 * 60 / kt:.1f} kt in a minute, and level means less than"
        f" {criteria.level_rate_m_s / fpm:.0f} ft/min"
    )
    yield steady, "USNTPS-FTM-108, 1992, ch. 5; widths of the windows common practice, no source"
    yield (
        "True airspeed and wind: the tips of the legs’ ground velocities lie on a circle whose centre is the"
        " wind and whose radius is the true airspeed; weighted least squares",
        "D. Gray, 1998; SFTE Reference Handbook, 2013, ch. 4; JCGM 102:2011, 6",
    )
    yield (
        "Airspeed correction: a smooth curve of indicated airspeed, from all leg groups at once",
        "Bayesian linear regression; JCGM 101:2008, 6; 14 CFR 23.1323(b) for what is believed before",
    )
    yield (
        "Uncertainties: scatter with its memory, resolution, calibration and the instruments’ errors"
        " combined; intervals hold 95 %",
        "JCGM 100:2008",
    )
