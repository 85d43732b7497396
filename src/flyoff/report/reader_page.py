"""The reader's page: one HTML file in which a reader asks which airplane does their trip; no network."""

import base64
import hashlib
import json
from collections.abc import Sequence
from importlib import resources
from typing import Any, TypeAlias

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from flyoff.comparison.case import Case
from flyoff.comparison.places import Spot, distance_m
from flyoff.comparison.results import Comparison
from flyoff.comparison.terms import Terms, Trip
from flyoff.core.caution import CAUTION
from flyoff.core.units import hour, kt, minute, nmi
from flyoff.report.html import dark_rules, marks_of
from flyoff.report.reader_table import reader_table

_Record: TypeAlias = dict[str, Any]
Routes: TypeAlias = Sequence[tuple[Trip, Spot, Spot]]
MOST_NMI, MOST_WIND_KT, MOST_RESERVE_MIN = 3000, 60, 180


def reader_page(comparison: Comparison, cases: Sequence[Case], routes: Routes) -> str:
    """Return the whole file; `routes` are the study's trips, offered as a start."""
    script = _asset("reader.js").strip()
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    data = {
        **reader_table(cases),
        "currency": comparison.money.currency,
        "start": _start(cases[0], routes),
        "trips": [_trip(trip, distance_m(start, end), cases[0].terms) for trip, start, end in routes],
    }
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
        terms=_terms_words(comparison.terms),
        data=data,
        json=Markup(_embedded(data)),
        marks=marks_of(comparison),
        limits={"trip": MOST_NMI, "wind": MOST_WIND_KT, "reserve": MOST_RESERVE_MIN},
        style=Markup(_asset("reader.css").replace("/* dark charts */", dark_rules())),
        script=Markup(script),
        script_digest=digest,
    )


def _embedded(data: _Record) -> str:
    """Return JSON that may stand inside a page: nothing in it can end its element."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def _start(case: Case, routes: Routes) -> _Record:
    """Return what the page asks at first: the study's terms, and its first trip."""
    terms = case.terms
    first = _trip(routes[0][0], distance_m(*routes[0][1:]), terms) if routes else None
    hours = case.ownership.hours.si / hour if case.ownership else 100.0
    return {
        "people": len(terms.occupants),
        "bags": terms.bags.number,
        "trip": first["trip"] if first else 300,
        "reserve": round(terms.reserve.si / minute),
        "wind": round(terms.wind.si / kt),
        "hours": round(hours),
    }


def _trip(trip: Trip, length_m: float, terms: Terms) -> _Record:
    bags = trip.bags or terms.bags
    return {
        "name": trip.name,
        "trip": round(length_m / nmi),
        "people": trip.occupants or len(terms.occupants),
        "bags": terms.bags.unit.from_si(bags.si),
    }


def _terms_words(terms: Terms) -> str:
    warmer = terms.isa_deviation
    air = "standard temperature" if not warmer.si else f"standard temperature and {warmer}"
    return f"{terms.power} power at {terms.altitude}, {air}"


def _asset(name: str) -> str:
    return resources.files("flyoff.report").joinpath("templates", name).read_text("utf-8")
