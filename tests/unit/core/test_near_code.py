"""A code's suggestion is one slip away, or there is none."""

import pytest

from flyoff.core.problems import near_code


@pytest.mark.parametrize(
    ("code", "known", "meant"),
    [
        ("EKRX", ["VEKR", "LEKR"], ""),
        ("EKRX", ["VEKR", "EKRK", "EERX"], "EKRK"),
        ("LFKB", ["LFBK", "LFKC"], "LFKC"),
        ("LFBK", ["LFKB"], "LFKB"),
        ("LFK", ["LFKB"], ""),
        ("", ["LFKB"], ""),
    ],
)
def test_suggests(code: str, known: list[str], meant: str) -> None:
    assert near_code(code, known) == (f" (did you mean '{meant}'?)" if meant else "")
