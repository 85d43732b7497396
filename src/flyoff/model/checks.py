"""Evidence that cannot be: named, with what would mend it."""

from collections.abc import Sequence

from flyoff.core.problems import Collector
from flyoff.dossier.read import Dossier
from flyoff.model.evidence import Observation
from flyoff.model.parameters import Known


def check_evidence(dossier: Dossier, known: Known, observations: Sequence[Observation]) -> None:
    """Refuse evidence that no airplane can have given."""
    collector = Collector()
    collector.raise_any()
