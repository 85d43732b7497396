"""The report as a document: parts and blocks, from a comparison alone."""

from collections.abc import Iterator, Mapping, Sequence

from flyoff.charts.catalogue import charts_of
from flyoff.comparison.evidence import Kind
from flyoff.comparison.results import Comparison, Entry
from flyoff.core.caution import CAUTION
from flyoff.core.sources import Source
from flyoff.report import comparing, flying, inspection, lifting
from flyoff.report.blocks import (
    Block,
    Card,
    Cards,
    Cell,
    Column,
    Document,
    Group,
    Items,
    Key,
    Part,
    Picture,
    Row,
    Table,
    Text,
)
from flyoff.report.flight import condition_anchor, flight_part
from flyoff.report.flown import FlownDay
from flyoff.report.money import money_part
from flyoff.report.terms import terms_table
from flyoff.report.traces import methods, sources_used, trace_index
from flyoff.report.verdicts import verdict_part

BASES = {
    "measured": ("M", "measured in flight"),
    "handbook": ("H", "from the handbook or dossier"),
    "fitted": ("F", "fitted to handbook, flight, or both"),
    "declared": ("D", "declared by the evaluator"),
}
"""Each basis: its mark and what it means."""

METHODS = "How the figures were worked out"
"""The caption of the table of methods."""

_DEMANDED: dict[Kind, str] = {
    "handbook": (
        "The terms demand the printed handbook: every speed, fuel flow, climb, range and trip rests on its"
        " tables, for all airplanes alike."
    ),
    "measured": (
        "The terms demand flight alone: every speed, fuel flow, climb, range and trip rests on a model fitted"
        " to the airplane's own flights. What an airplane that was not flown does in the air is missing."
    ),
    "fitted": (
        "The terms demand handbook and flight together: every speed, fuel flow, climb, range and trip rests"
        " on a model fitted to both. What an airplane that was not flown does in the air is missing."
    ),
}

_KEY = Key(
    (
        *BASES.values(),
        ("±", "half-width of the 95 % interval; no ± means exact as written"),
        ("extrapolated", "outside the evidence it rests on"),
        ("other terms", "its terms differ from the study's; its trace says how"),
    )
)


def build_document(
    comparison: Comparison, sources: Mapping[str, Source], flights: Sequence[FlownDay] = ()
) -> Document:
    """Return the document of a comparison, and of the flights it rests on."""
    drawn = {chart.name: Picture(chart.name, chart.subtitle(comparison)) for chart in charts_of(comparison)}
    parts = (
        verdict_part(comparison),
        _airplanes(comparison),
        Part("terms", "The terms", "Terms", (_terms_words(), terms_table(comparison, sources))),
        Part(
            "figures",
            "Side by side",
            "Figures",
            (Text(CAUTION, "caution"), comparing.main_table(comparison), _KEY),
        ),
        flying.speed_part(comparison, drawn),
        flying.range_part(comparison, drawn),
        _seats(comparison, drawn),
        _balance(comparison, drawn),
        flying.trips_part(comparison, drawn),
        inspection.runway_part(comparison),
        inspection.cabin_part(comparison, drawn),
        inspection.handling_part(comparison),
        _differences(comparison),
        money_part(comparison, drawn),
        _evidence(comparison),
        _flown(comparison, drawn),
        *(flight_part(day) for day in flights),
        _method(comparison),
        _sources(comparison, sources),
    )
    return Document(
        comparison.title,
        comparison.author,
        comparison.summary,
        CAUTION,
        tuple(part for part in parts if part.blocks),
        trace_index(comparison, sources, _seen(comparison, flights)),
    )


def _seen(comparison: Comparison, flights: Sequence[FlownDay]) -> dict[str, tuple[str, str]]:
    """Return where a flown figure's condition is shown: anchor and words."""
    days = {day.name: day for day in flights}
    return {
        key: (condition_anchor(days[p.flight], p.number), f"flight {p.flight}, condition {p.number}")
        for p in comparison.flown
        if p.flight in days and p.number is not None
        for key in (p.flown, p.difference)
    }


def _airplanes(comparison: Comparison) -> Part:
    blocks: list[Block] = [Cards(tuple(_card(entry) for entry in comparison.entries))]
    if comparison.remarks:
        blocks += [Text("What a reader should know first:"), Items(comparison.remarks)]
    return Part("airplanes", "The airplanes and the evidence", "Airplanes", tuple(blocks))


def _card(entry: Entry) -> Card:
    facts: list[tuple[str, tuple[str, ...]]] = [("Evidence", (entry.evidence,))]
    if entry.equipment:
        facts.append(("Equipment", entry.equipment))
    if entry.remarks:
        facts.append(("Remarks", entry.remarks))
    maker = ", ".join(part for part in (entry.maker, entry.place, str(entry.year)) if part)
    return Card(entry.key, entry.name, maker, entry.summary, tuple(facts))


def _terms_words() -> Text:
    return Text(
        "Every figure below holds on these terms. Where a figure's own terms differ, it is marked,"
        " and its trace says how."
    )


def _seats(comparison: Comparison, drawn: Mapping[str, Picture]) -> Part:
    if not comparison.seats:
        return Part("seats", "", "", ())
    words = Text(
        "People sit and bags are stowed as balance needs; the first of the terms’ people flies, in front."
        " Beyond the terms’ people, others of their mean weight."
    )
    picture = [drawn["seat_table"]] if "seat_table" in drawn else []
    tables = (
        lifting.fits_table(comparison),
        lifting.seat_table(comparison),
        lifting.options_table(comparison),
    )
    told = (table for table in tables if table)
    blocks: tuple[Block, ...] = (Text(CAUTION, "caution"), words, *picture, *told)
    return Part("seats", "Who can go how far", "Seats", blocks)


def _balance(comparison: Comparison, drawn: Mapping[str, Picture]) -> Part:
    if not comparison.balances:
        return Part("balance", "", "", ())
    names = {entry.key: entry.name for entry in comparison.entries}
    rows = tuple(
        Row(names[t.aircraft], (Cell(t.envelope), Cell("inside" if t.inside else "outside"), Cell(t.remark)))
        for t in comparison.balances
    )
    heads = (Column("Envelope"), Column("The whole flight"), Column("Remark"))
    table = Table("Each loading against its envelope", "Airplane", heads, (Group("", rows),), figures=False)
    picture = [drawn["balance"]] if "balance" in drawn else []
    return Part(
        "balance", "Balance through the flight", "Balance", (Text(CAUTION, "caution"), *picture, table)
    )


def _differences(comparison: Comparison) -> Part:
    tables = tuple(comparing.difference_tables(comparison))
    words = Text(
        "First airplane less rival. Shared assumptions cancel: both are drawn together. Neither airplane is"
        " called better where the difference lies within its 95 % uncertainty."
    )
    return Part(
        "differences",
        "Differences between rivals",
        "Differences",
        (Text(CAUTION, "caution"), words, *tables) if tables else (),
    )


def _evidence(comparison: Comparison) -> Part:
    kind = comparison.terms.evidence
    blocks: list[Block] = [Text(_DEMANDED[kind])]
    table = comparing.evidence_table(comparison)
    if table is not None:
        blocks += [
            Text(CAUTION, "caution"),
            Text(
                "Each headline on every kind of evidence, and less the printed handbook. A model is fitted to"
                " the flights alone, and to handbook and flights together, each with its own doubt. Evidence"
                " is unequal across a row: its differences tell of one airplane, and favour no rival."
            ),
            table,
        ]
    best = comparing.best_speeds_table(comparison)
    if best is not None:
        blocks += [
            Text(
                "What no handbook prints: each airplane that was flown at its best, as it was flown, at the"
                " terms' weight, altitude and temperature, by the model fitted to handbook and flight. An"
                " equivalent airspeed is the calibrated but for compressibility."
            ),
            best,
        ]
    for entry in comparison.entries:
        if entry.fit_remarks:
            said = f"What the models of {entry.name} leave out, and what they cannot tell:"
            blocks += [Text(said), Items(entry.fit_remarks)]
    return Part("evidence", "What each figure rests on", "Evidence", tuple(blocks))


def _flown(comparison: Comparison, drawn: Mapping[str, Picture]) -> Part:
    if not comparison.book:
        return Part("flown", "", "", ())
    picture = [drawn["flown"]] if "flown" in drawn else []
    words = Text(
        "Flown less handbook, the flown value first brought to the weight, temperature and power that the"
        " handbook prints for; each correction stands beside its condition. The mean keeps what conditions of"
        " a flight share, its calibration and the scale of its fuel flow."
    )
    tables = (comparing.book_table(comparison), *comparing.flown_tables(comparison))
    blocks: tuple[Block, ...] = (Text(CAUTION, "caution"), words, *picture, *tables)
    return Part("flown", "Does it make book?", "Book", blocks)


def _method(comparison: Comparison) -> Part:
    rows = tuple(Row(_sentence(method), (Cell(source),)) for method, source in methods(comparison))
    table = Table(METHODS, "Method", (Column("Source"),), (Group("", rows),), False, folded=True)
    words = (
        Text(
            "Each figure's own method, terms and inputs, down to file and line, stand in its trace,"
            " under the figure's key at the end of the report."
        ),
        Text(
            "Uncertainty: every uncertain input is drawn many times, and each figure computed draw by draw"
            " (JCGM 101:2008). ± is half the 95 % interval."
        ),
        Text(
            "Differences are taken draw by draw too, so that what two figures share cancels and what they do"
            " not share remains."
        ),
        Text(
            "Gaps: what the records do not tell is missing, with the reason; what lies beyond them is called"
            " extrapolated."
        ),
        Text("Figures come from the records alone: the same records give the same report."),
    )
    return Part("methods", "Methods", "Methods", (*words, table))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sources(comparison: Comparison, sources: Mapping[str, Source]) -> Part:
    rows = tuple(_source_rows(comparison, sources))
    heads = (Column("Publisher"), Column("Year"), Column("Kind and note"))
    table = Table("What the records were taken from", "Source", heads, (Group("", rows),), figures=False)
    return Part("sources", "Sources", "Sources", (table,) if rows else ())


def _source_rows(comparison: Comparison, sources: Mapping[str, Source]) -> Iterator[Row]:
    for key, source in sources_used(comparison, sources):
        if source is None:
            yield Row(key, (Cell("—"), Cell("—"), Cell("named by a record, not described")))
            continue
        note = "; ".join(part for part in (source.kind, source.note) if part)
        yield Row(
            source.title,
            (Cell(source.publisher or "—"), Cell(str(source.year or "—")), Cell(note or "—")),
            key,
        )
