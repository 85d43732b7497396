"""The harness refuses a check without a source, and half a digit is half a digit."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from helpers import validation
from helpers.printed import Printed


@pytest.mark.parametrize(
    ("text", "tolerance"),
    [
        ("0.9644", 5e-5),
        ("10,145", 0.5),
        ("8.9876e4", 0.5),
        ("1.572e-4", 5e-8),
        ("-6.72", 0.005),
        ("300", 0.5),
    ],
)
def test_tolerance_is_half_of_the_last_digit(text, tolerance):
    assert Printed(text).tolerance == pytest.approx(tolerance)


@pytest.mark.parametrize(
    ("computed", "holds"),
    [
        (0.96444, True),
        (0.96445, True),
        (0.96446, False),
        (0.96434, False),
        (float("nan"), False),
        (float("inf"), False),
    ],
)
def test_comparison(computed, holds):
    assert Printed("0.9644").compare(computed, "ratio").holds is holds


def test_a_wider_tolerance_needs_a_reason():
    with pytest.raises(ValueError, match="needs a reason"):
        Printed("0.9644", within=0.01)
    with pytest.raises(ValueError, match="needs a reason"):
        Printed("0.9644", reason="because")
    with pytest.raises(ValueError, match="narrower than half"):
        Printed("300", within=0.1, reason="wishful")
    with pytest.raises(ValueError, match="not a number as a source prints it"):
        Printed("about 300")


def item(
    mark: object, folder: Path = validation.FOLDER, fixtures: tuple[str, ...] = ("check",)
) -> SimpleNamespace:
    return SimpleNamespace(
        path=folder / "test_x.py",
        nodeid="test_x.py::test_y",
        fixturenames=fixtures,
        get_closest_marker=lambda _: mark,
    )


def mark(*args: str, **kwargs: str) -> SimpleNamespace:
    return SimpleNamespace(args=args, kwargs=kwargs)


@pytest.mark.parametrize(
    ("case", "message"),
    [
        (item(None), "has no @pytest.mark.source"),
        (item(mark("avf")), "needs one key and where="),
        (item(mark("nobody", where="p. 1")), "cites 'nobody', which is not in sources.toml"),
        (item(mark("avf", where="p. 1", status="guessed")), "has status 'guessed'"),
        (item(mark("avf", where="p. 1", page="2")), "has more in its source mark"),
        (item(mark("avf", where="p. 1"), fixtures=()), "compares nothing with a printed number"),
    ],
)
def test_collection_fails_without_a_source(case, message):
    with pytest.raises(pytest.UsageError, match=message):
        validation.pytest_collection_modifyitems(None, [case])


def test_other_tests_need_none():
    validation.pytest_collection_modifyitems(None, [item(None, Path("tests/unit"))])
    validation.pytest_collection_modifyitems(None, [item(mark("avf", where="p. 1"))])


def test_bibliography_must_be_complete(tmp_path):
    (tmp_path / "sources.toml").write_text('[a]\ntitle = "t"\n')
    with pytest.raises(pytest.UsageError, match="a lacks author, note, status, year"):
        validation.Bibliography(tmp_path / "sources.toml")


def test_report_is_sorted_and_the_same_each_time():
    rows = [
        ("wind", "B", "t2", Printed("2.0", "kt").compare(2.01, "b|c")),
        ("air", "A", "t1", Printed("1.0", within=1.0, reason="a rule").compare(1.5, "a")),
    ]
    text = validation.report(rows)
    assert text == validation.report(rows[::-1])
    assert text.index("## Air") < text.index("## Wind")
    assert "| b\\|c | B | 2.0 kt | 2.0100 | 0.0100 | 0.05 |" in text
    assert "1: a rule" in text
    assert text.startswith("# Validation report\n\n2 comparisons with published numbers, 2 within")
