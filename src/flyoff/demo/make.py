"""The demo's generated files, made anew from its physics: ``python -m flyoff.demo.make``.

Tables and log are committed as a user gets them; after a change of the physics
or of a design, this writes them again, and the change is seen in the diff.
"""

import json
from pathlib import Path

from flyoff.core.files import write_text
from flyoff.demo.flight import fly
from flyoff.demo.handbook import HANDBOOKS, tables
from flyoff.demo.recorder import record, truth

TRUTH = "tests/data/demo_truth.json"


def made() -> dict[str, str]:
    """Return the text of every generated file by its path below the demo's ``files``."""
    found = {f"aircraft/{key}/{name}": text for key in HANDBOOKS for name, text in tables(key).items()}
    return {**found, "flights/2026-06-02.csv": record(fly())}


def made_truth() -> str:
    """Return what really happened on the demo's flight, as the tests keep it."""
    return json.dumps(truth(fly()), indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    """Write everything into the source tree that this module stands in."""
    here = Path(__file__).resolve().parent
    for path, text in made().items():
        write_text(here / "files" / path, text)
    write_text(here.parents[2] / TRUTH, made_truth())


if __name__ == "__main__":
    main()
