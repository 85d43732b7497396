"""Run every benchmark here and print ratios against a general library or a physical limit.

Each file ``*_speed.py`` has ``measure() -> list[Ratio]``. Only ratios of one
run are compared: the machine differs, the ratio less so.
"""

import importlib
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent


@dataclass(frozen=True)
class Ratio:
    """How long ours takes beside something that anybody can run."""

    what: str
    ours_s: float
    reference: str
    reference_s: float

    def __str__(self) -> str:
        ratio = self.ours_s / self.reference_s
        return (
            f"{self.what:58} {self.ours_s:9.4f} s  {ratio:8.2f} × {self.reference} ({self.reference_s:.4f} s)"
        )


def best_of(run: Callable[[], object], times: int = 3) -> float:
    """Return the shortest of some runs, in seconds."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return min(taken)


def main() -> None:
    sys.path.insert(0, str(HERE))
    for file in sorted(HERE.glob("*_speed.py")):
        for ratio in importlib.import_module(file.stem).measure():
            print(ratio)


if __name__ == "__main__":
    main()
