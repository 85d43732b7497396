"""The reader's page: one HTML file in which a reader asks which airplane does their trip; no network."""

import base64
import hashlib
import json
from collections.abc import Sequence
from importlib import resources
from typing import Any, TypeAlias

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from flyoff.charts.house import PLAIN, House
from flyoff.charts.style import FONT
from flyoff.comparison.case import Case
from flyoff.comparison.places import Spot, distance_m
from flyoff.comparison.results import Comparison
from flyoff.comparison.terms import Terms, Trip
from flyoff.comparison.trip import Way
from flyoff.core.caution import CAUTION
from flyoff.core.units import find_unit, hour, kt, minute, nmi
from flyoff.core.wording import Wording, bound
from flyoff.report.html import dark_rules, marks_of
from flyoff.report.reader_table import reader_table

_Record: TypeAlias = dict[str, Any]
Routes: TypeAlias = Sequence[tuple[Trip, Spot, Spot]]
MOST_NMI, MOST_WIND_KT, MOST_RESERVE_MIN = 3000, 60, 180


def reader_page(comparison: Comparison, cases: Sequence[Case], routes: Routes, house: House = PLAIN) -> str:
    """Return the whole file as a house words it; `routes` are the study's trips, offered as a start."""
    wording = house.wording
    routes = [route for route in routes if not Way(*route).fault]
    script = _asset("reader.js").strip()
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    data = {
        **_worded(reader_table(cases, wording.unit(cases[0].terms.bags.unit.label)), wording),
        "currency": comparison.money.currency,
        "marks": [wording.decimal, wording.thousands],
        "units": {name: _scales(label, wording) for name, label in _UNITS.items()},
        "start": _start(cases[0], routes, wording),
        "trips": [
            _trip(trip, distance_m(start, end), cases[0].terms, wording) for trip, start, end in routes
        ],
    }
    most_trip, most_wind = (
        round(most * data["units"][name][0]["factor"], -1)
        for most, name in ((MOST_NMI, "trip"), (MOST_WIND_KT, "wind"))
    )
    environment = Environment(
        loader=PackageLoader("flyoff.report"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )
    return environment.get_template("reader.html.j2").render(
        comparison=comparison,
        caution=CAUTION,
        terms=bound(wording.text(_terms_words(comparison.terms))),
        data=data,
        json=Markup(_embedded(data)),
        marks=marks_of(comparison, house),
        number=wording.numerals,
        limits={"trip": int(most_trip), "wind": int(most_wind), "reserve": MOST_RESERVE_MIN},
        style=Markup(_style(house)),
        script=Markup(script),
        script_digest=digest,
    )


_UNITS = {"trip": "nmi", "wind": "kt", "fuel": "US gal"}
"""What the page's tables are in."""


def _scales(label: str, wording: Wording) -> list[_Record]:
    """Return the house's unit for one of the page's tables, and its factor; a second where both are."""
    first = wording.unit(label)
    own = find_unit(label)
    labels = (first, wording.second(first))
    return [
        {"unit": name, "factor": own.factor / find_unit(name, own.dimension).factor}
        for name in labels
        if name
    ]


def _worded(table: _Record, wording: Wording) -> _Record:
    """Return the page's tables with their reasons and remarks in the house's words."""
    for airplane in table["airplanes"]:
        airplane["missing"] = wording.text(airplane["missing"])
        airplane["remarks"] = [bound(wording.text(remark)) for remark in airplane["remarks"]]
        airplane["fits"]["reasons"] = [wording.text(reason) for reason in airplane["fits"]["reasons"]]
    return table


def _style(house: House) -> str:
    style = _asset("reader.css").replace("/* dark charts */", dark_rules(house))
    return (
        style if house.record.font == FONT else style.replace("--sans: ", f'--sans: "{house.record.font}", ')
    )


def _embedded(data: _Record) -> str:
    """Return JSON that may stand inside a page: nothing in it can end its element."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def _start(case: Case, routes: Routes, wording: Wording) -> _Record:
    """Return what the page asks at first: the study's terms, and its first trip."""
    terms = case.terms
    first = _trip(routes[0][0], distance_m(*routes[0][1:]), terms, wording) if routes else None
    hours = case.ownership.hours.si / hour if case.ownership else 100.0
    return {
        "people": len(terms.occupants),
        "bags": _bags(terms.bags.si, terms, wording),
        "trip": first["trip"] if first else round(300 * _scales("nmi", wording)[0]["factor"]),
        "reserve": round(terms.reserve.si / minute),
        "wind": round(terms.wind.si / kt * _scales("kt", wording)[0]["factor"]),
        "hours": round(hours),
    }


def _trip(trip: Trip, length_m: float, terms: Terms, wording: Wording) -> _Record:
    bags = trip.bags or terms.bags
    return {
        "name": trip.name,
        "trip": round(length_m / nmi * _scales("nmi", wording)[0]["factor"]),
        "people": trip.occupants or len(terms.occupants),
        "bags": _bags(bags.si, terms, wording),
    }


def _bags(mass_kg: float, terms: Terms, wording: Wording) -> float:
    unit = find_unit(wording.unit(terms.bags.unit.label), "mass")
    return float(f"{unit.from_si(mass_kg):.6g}")


def _terms_words(terms: Terms) -> str:
    warmer = terms.isa_deviation
    air = "standard temperature" if not warmer.si else f"standard temperature and {warmer}"
    return f"{terms.power} power at {terms.altitude}, {air}"


def _asset(name: str) -> str:
    return resources.files("flyoff.report").joinpath("templates", name).read_text("utf-8")
