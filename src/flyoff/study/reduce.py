"""One flight on its own: the flight file of a path, reduced, as JSON or as text."""

from pathlib import Path

from flyoff.core.problems import Collector, Problem, Problems
from flyoff.core.sources import Place
from flyoff.dossier.read import Dossier, read_dossier, read_sources
from flyoff.flights.propose import propose
from flyoff.flights.read import read_flight
from flyoff.reduction.output import reduction_data, reduction_text
from flyoff.reduction.run import Reduction, reduce_flight

__all__ = ["propose", "reduced", "reduction_data", "reduction_text"]


def reduced(path: Path) -> Reduction:
    """Return the reduction of a flight file, or of the one flight file in a folder.

    Raises
    ------
    Problems
        If there is no flight file there, or what is wrong in it and its logs.
    """
    file = _flight_file(path)
    flight = read_flight(file, str(file))
    return reduce_flight(flight, dossier=_dossier(file.parent.parent, flight.card.aircraft))


def _dossier(study: Path, aircraft: str | None) -> Dossier | None:
    """Return the dossier that stands in the flight's study; a flight reduces without one as far as it can."""
    name = f"aircraft/{aircraft}.toml"
    if aircraft is None or not (study / name).is_file():
        return None
    collector = Collector()
    sources = read_sources(study / "sources.toml", "sources.toml", collector)
    dossier = read_dossier(study / name, name, sources, collector)
    collector.raise_any()
    return dossier


def _flight_file(path: Path) -> Path:
    if path.is_dir():
        found = sorted([*path.glob("flights/*.toml")] or path.glob("*.toml"))
        if len(found) == 1:
            return found[0]
        listed = ", ".join(file.name for file in found)
        logs = ", ".join(file.name for file in sorted(path.glob("*.csv")))
        expected = f"expected one flight file; name one of {listed}" if found else _propose(logs)
        raise Problems([Problem(Place(str(path)), f"a folder with {len(found)} flight files", expected)])
    if path.suffix.lower() != ".toml":
        raise Problems([Problem(Place(str(path)), "not a flight file", _propose(path.name))])
    return path


def _propose(log: str) -> str:
    return f"expected a .toml; 'flyoff reduce LOG --propose' prints one for a log ({log or 'none here'})"
