"""Light aircraft on equal terms: from handbooks and a flown day to figures that can be published."""

from pathlib import Path
from typing import TYPE_CHECKING

from flyoff.core.problems import Problems

if TYPE_CHECKING:
    from flyoff.study.run import Study

__all__ = ["Problems", "load"]


def load(path: str | Path) -> "Study":
    """Return a study folder read, reduced and compared.

    Raises
    ------
    Problems
        Everything that is wrong in any of its files.
    """
    # Imported here so that the physics alone does not wait for the whole path.
    from flyoff.study.run import load as load_study

    return load_study(path)
