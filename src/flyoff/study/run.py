"""The whole path: records in, reduction, handbook, comparison, report out. Read this first."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from flyoff.charts.film import encoder
from flyoff.comparison.case import Case
from flyoff.comparison.compare import compare
from flyoff.comparison.equipment import equip
from flyoff.comparison.inspection import Inspected
from flyoff.comparison.results import Comparison
from flyoff.comparison.verdict import answered
from flyoff.core.draws import Draws
from flyoff.core.figure import Figure
from flyoff.dossier.read import Dossier
from flyoff.model.book import beside_handbook
from flyoff.model.statement import Book
from flyoff.reduction.run import Reduction, reduce_flight
from flyoff.report.reader_page import reader_page
from flyoff.report.tables import figure_record
from flyoff.report.write import write_report
from flyoff.study.evidence import evidence_findings, evidences_of
from flyoff.study.export import FILM, film_files, print_files
from flyoff.study.folder import Folder, read_folder
from flyoff.study.noted import noted_on
from flyoff.study.seen import flown_days

Progress = Callable[[str], None]
DRAW_COUNT = 10_000


@dataclass(frozen=True)
class Study:
    """A study: its folder as read, its flights as reduced, its comparison."""

    folder: Folder
    flights: Mapping[str, Reduction]
    comparison: Comparison
    cases: tuple[Case, ...]
    """The airplanes as compared, one by one."""

    def figures(self) -> dict[str, Figure]:
        """Return every figure by its key."""
        return self.comparison.figures

    def findings(self) -> list[str]:
        """Return what keeps a trip or an airplane from its figures while the rest stands."""
        return [
            *map(str, self.folder.unflyable),
            *(words for case in self.cases for words in evidence_findings(case)),
        ]


@dataclass(frozen=True)
class Build:
    """A study as built: where its report is, and its figures as published."""

    study: Study
    report: Path
    written: tuple[Path, ...]

    @property
    def comparison(self) -> Comparison:
        """The comparison that was built."""
        return self.study.comparison

    @property
    def figure_records(self) -> list[dict[str, Any]]:
        """Every figure with its stable JSON keys."""
        return [figure_record(figure) for figure in self.comparison.figures.values()]


def load(path: str | Path, progress: Progress = lambda _: None) -> Study:
    """Return a study: its files read, its flights reduced, its airplanes compared.

    Raises
    ------
    Problems
        Everything that is wrong in any of its files.
    """
    progress("reading the study")
    folder = read_folder(Path(path))
    flights = {}
    for flight in folder.flights:
        progress(f"reducing {flight.name}")
        flown = next((d for d in folder.dossiers if d.key == flight.card.aircraft), None)
        flights[Path(flight.name).stem] = reduce_flight(flight, dossier=flown)
    progress("comparing on equal terms")
    study = compared(folder, flights)
    record = folder.record
    comparison = answered(study.comparison, study.cases, folder.trips, record.questions, record.weights)
    return replace(study, comparison=comparison)


def compared(folder: Folder, flights: Mapping[str, Reduction]) -> Study:
    """Return a study compared under its folder's terms, its questions not answered yet."""
    draws = Draws(DRAW_COUNT)
    cases = [case_of(folder, dossier, draws, flights) for dossier in folder.dossiers]
    books = {case.key: _book(folder, case, flights, draws) for case in cases}
    record = folder.record
    heading = (record.title, record.author, record.summary)
    inspected = Inspected(folder.runways, record.runway_margin, noted_on(flights))
    comparison = compare(heading, record.terms, record.money, folder.trips, cases, books, inspected)
    return Study(folder, flights, comparison, tuple(cases))


def build(
    path: Path, progress: Progress = lambda _: None, *, film: bool = False, into: Path | None = None
) -> Build:
    """Build a study folder's report, charts and tables, with `film` film too.

    They go into the folder `into`; without one, into the study's own, ``out``.

    Raises
    ------
    Problems
        Everything that is wrong in any of its files; nothing is written then.
    """
    if film:
        encoder()
    study = load(path, progress)
    house = study.folder.house
    house = replace(house, language=house.language.sparing(_names(study)))
    flights = flown_days(study.flights, progress, house)
    progress("reader's page")
    page = reader_page(study.comparison, study.cases, study.folder.trips, house)
    pages = {"reader.html": page.encode(), **dict(print_files(study.flights, house))}
    if film:
        pages |= dict(film_files(study.comparison, study.flights, house, progress))
    out, dropped = into or path / "out", () if film else (FILM,)
    sources = study.folder.sources
    written = write_report(study.comparison, sources, out, progress, flights, pages, house, dropped)
    report = next(file for file in written if file.name == "report.html")
    return Build(study, report, written)


def _names(study: Study) -> set[str]:
    """Return the names that no language changes."""
    trips = (trip.name for trip, _, _ in study.folder.trips)
    return {*(entry.name for entry in study.comparison.entries), *trips}


def case_of(folder: Folder, dossier: Dossier, draws: Draws, flights: Mapping[str, Reduction]) -> Case:
    """Put one airplane under the terms; `flights` are all of the study's, by name."""
    terms = folder.record.terms
    fuel = terms.fuel(dossier.airplane.engine.fuel)
    assert fuel is not None  # read_folder has said otherwise
    own = {name: flown for name, flown in flights.items() if flown.flight.card.aircraft == dossier.key}
    evidences = evidences_of(dossier, own, fuel.density.si, draws)
    fit = equip(dossier, terms.equipment)
    return Case(
        fit, evidences, terms.evidence, terms, folder.record.money, fuel, draws, folder.record.ownership
    )


def _book(folder: Folder, case: Case, flights: Mapping[str, Reduction], draws: Draws) -> Book:
    """Set what was flown in one airplane beside its handbook."""
    own = [flights[Path(f.name).stem] for f in folder.flights if f.card.aircraft == case.key]
    return beside_handbook(case.evidences.handbook, own, case.masses_kg(case.loading.mass_kg)[1], draws)
