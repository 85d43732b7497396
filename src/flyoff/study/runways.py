"""The runways of a study, each at its airport."""

import math

from flyoff.comparison.places import find_spot, known_codes
from flyoff.comparison.runway import Field
from flyoff.comparison.runway_terms import Runway
from flyoff.core.figure import slug
from flyoff.core.problems import Collector, near_code
from flyoff.core.tomlfile import Document
from flyoff.study.records import StudyRecord

_HIGHEST_M = 5000.0


def read_runways(record: StudyRecord, document: Document, collector: Collector) -> tuple[Field, ...]:
    """Return each runway with its airport; faults go to `collector`."""
    found = []
    seen: dict[str, int] = {}
    for index, runway in enumerate(record.runways):
        key, place = slug(runway.name), document.place("runways", index, "name")
        if not key:
            collector.add(place, f"'{runway.name}' names nothing", "expected letters or digits in a name")
        if key in seen:
            expected = f"expected a name of its own, punctuation aside (see line {seen[key]})"
            collector.add(place, f"runway '{runway.name}' given twice", expected)
        seen.setdefault(key, place.line)
        spot = find_spot(runway.airport, record.airfields) if runway.airport else None
        if runway.airport and spot is None:
            hint = near_code(runway.airport, known_codes(record.airfields))
            expected = f"expected the ICAO code of an airport, or a place under [airfields]{hint}"
            where = document.place("runways", index, "airport")
            collector.add(where, f"unknown airport '{runway.airport}'", expected)
        field = Field(runway, spot)
        _check(field, index, document, collector)
        found.append(field)
    return tuple(found)


def _check(field: Field, index: int, document: Document, collector: Collector) -> None:
    """Check what the fields of one runway must agree on."""
    runway: Runway = field.runway
    place = document.place("runways", index)
    if runway.airport is None and runway.elevation is None:
        collector.add(place, "a runway without an elevation", "expected elevation, or the airport it is at")
    elsewhere = not -500.0 <= field.elevation_m <= _HIGHEST_M
    if runway.elevation is not None and elsewhere:
        expected = "expected a place on land, -1,640 ft to 16,400 ft"
        collector.add(runway.elevation.place, str(runway.elevation), expected)
    landing = runway.landing_length
    if landing is not None and landing.si > runway.length.si:
        expected = f"expected no more than its length, {runway.length}"
        collector.add(landing.place, str(landing), expected)
    if (runway.direction is None) != (runway.wind_from is None):
        lacking = "direction" if runway.direction is None else "wind_from"
        collector.add(place, f"no {lacking}", "expected direction and wind_from together, or neither")
    for name in ("direction", "wind_from"):
        angle = getattr(runway, name)
        if angle is not None and not 0 <= angle.si <= 2 * math.pi + 1e-9:
            collector.add(angle.place, str(angle), "expected 0 ° to 360 °")
    if runway.wind_from is not None and runway.wind is None:
        collector.add(place, "wind_from without a wind", "expected wind beside it")
    if runway.wind_from is not None and runway.wind is not None and runway.wind.si < 0:
        expected = "expected the wind's speed, for wind_from says where it comes from"
        collector.add(runway.wind.place, str(runway.wind), expected)
    if runway.wind is not None and abs(runway.wind.si) > 40:
        collector.add(runway.wind.place, str(runway.wind), "expected less than 78 kt")
