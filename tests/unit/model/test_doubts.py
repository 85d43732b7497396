"""Misprints planted in sound tables are found and named; sound tables are left alone."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flyoff.core.problems import Collector
from flyoff.dossier.airplane import TableFile
from flyoff.dossier.tables import read_table
from flyoff.model.doubts import table_doubts
from helpers.airplanes import KEYS, dossier_of, edited
from helpers.alpine_tables import PRINTS, tables
from helpers.invented import CHART

ENOUGH = 7
PLANTED = 250


def test_the_demo_s_handbooks_are_above_suspicion():
    assert [str(doubt) for key in KEYS for doubt in table_doubts(dossier_of(key))] == []


@pytest.mark.parametrize("key", sorted(PRINTS))
def test_steep_takeoff_tables_are_above_suspicion(tmp_path, key):
    """Total distance grows fourfold towards the hot and high corner, by no polynomial."""
    axes = ("pressure altitude", "ISA deviation")
    dossier = with_table(tmp_path, tables(key)["takeoff.csv"], "takeoff", axes)
    assert [str(doubt) for doubt in table_doubts(dossier)] == []


@pytest.mark.parametrize("off_ft", [-1400, 700])
def test_a_misprint_in_the_corner_of_a_steep_takeoff_table_is_named(tmp_path, off_ft):
    text = tables("brinjak")["takeoff.csv"].replace(",5890", f",{5890 + off_ft}")
    (doubt,) = table_doubts(with_table(tmp_path, text, "takeoff", ("pressure altitude", "ISA deviation")))
    assert str(doubt).startswith(f"t.csv:25: total distance: {5890 + off_ft:,} ft departs")


def with_table(tmp_path, text, kind="cruise", axes=("percent power", "pressure altitude")):
    path = Path(tmp_path) / "t.csv"
    path.write_text(text, "utf-8")
    record = TableFile.model_construct(
        kind=kind, file="t.csv", axes=axes, source=None, page="", weight=None, isa_deviation=None,
        mixture=None, note="",
    )  # fmt: skip
    collector = Collector()
    table = read_table(path, "t.csv", record, collector)
    collector.raise_any()
    return replace(dossier_of("kattun"), tables={kind: table})


def test_a_published_cruise_table_has_gaps_and_no_misprints(tmp_path):
    """POH-150, Figure 4-3: the six of its nine points that could be read."""
    rows = {(75, 0): 112, (75, 4000): 116, (65, 0): 106, (65, 8000): 112, (55, 4000): 99, (55, 8000): 102}
    text = "percent power [%],pressure altitude [ft],true airspeed [kt]\n" + "\n".join(
        f"{p},{h},{rows.get((p, h), '')}" for p in (55, 65, 75) for h in (0, 4000, 8000)
    )
    (gap,) = table_doubts(with_table(tmp_path, text))
    assert str(gap) == (
        "t.csv:6: true airspeed: empty between printed values; "
        "expected a value: is it missing from the handbook, or from this file?"
    )


@pytest.mark.parametrize("beta", sorted(CHART))
def test_a_published_propeller_chart_has_no_misprints(tmp_path, beta):
    """NACA Report 640 as digitised, power coefficient in thousandths in place of a rate of climb."""
    advances, _, coefficients = CHART[beta]
    rows = [f"{1000 * j:.0f},{1000 * c:.0f}" for j, c in zip(advances, coefficients, strict=True)]
    text = "pressure altitude [ft],rate of climb [ft/min]\n" + "\n".join(rows)
    assert table_doubts(with_table(tmp_path, text, "climb", ("pressure altitude",))) == ()


def test_exchanged_digits_are_named_with_file_line_column_value_and_what_is_likely():
    dossier = edited("damast", "cruise.csv", lambda text: text.replace(",123,13.9", ",132,13.9"))
    (doubt,) = table_doubts(dossier)
    assert str(doubt) == (
        "aircraft/damast/cruise.csv:3: true airspeed: 132 kt departs from the values around it by more than "
        "rounding explains; they suggest about 123 kt: a misprint?"
    )


def test_what_must_rise_is_named_where_it_falls():
    dossier = edited("kattun", "climb.csv", lambda text: text.replace(",13,3.6", ",8,3.6"))
    said = [str(doubt) for doubt in table_doubts(dossier)]
    assert any(text.startswith("aircraft/kattun/climb.csv:7: time: 8 min") for text in said)


def test_a_column_that_turns_twice_is_named(tmp_path):
    text = "pressure altitude [ft],rate of climb [ft/min]\n0,900\n2000,940\n4000,900\n6000,930\n"
    (doubt,) = table_doubts(with_table(tmp_path, text, "climb", ("pressure altitude",)))
    assert "940 ft/min, then 900 ft/min as pressure altitude grows" in str(doubt)
    assert "turn no more than once" in str(doubt)


@cache
def sound():
    """Return every column of the demo's tables with enough values to be judged."""
    return [
        (dossier_of(key), kind, name)
        for key in KEYS
        for kind, table in dossier_of(key).tables.items()
        for name, column in table.results.items()
        if np.count_nonzero(np.isfinite(column.si)) >= ENOUGH
    ]


def planted(rng):
    """Return a dossier with one wrong or exchanged digit, its line, and by how many last digits it is off."""
    while True:
        dossier, kind, name = sound()[rng.integers(len(sound()))]
        table = dossier.tables[kind]
        column = table.results[name]
        row = int(rng.choice(np.flatnonzero(np.isfinite(column.si))))
        unit, half = column.unit, float(column.half_digit_si[row]) / column.unit.factor
        decimals = max(0, round(-np.log10(2 * half)))
        text = list(f"{unit.from_si(float(column.si[row])):.{decimals}f}")
        digits = [i for i, letter in enumerate(text) if letter.isdigit()]
        if rng.random() < 0.5 and len(digits) > 1:
            i = int(rng.integers(len(digits) - 1))
            a, b = digits[i : i + 2]
            text[a], text[b] = text[b], text[a]
        else:
            text[digits[rng.integers(len(digits))]] = str(rng.integers(10))
        wrong = unit.to_si(float("".join(text)))
        steps = abs(wrong - column.si[row]) / (2 * half * unit.factor)
        if steps < 0.5:
            continue
        values = column.si.copy()
        values[row] = wrong
        results = {name: replace(column, si=values)}
        changed = replace(dossier, tables={kind: replace(table, results=results)})
        return changed, int(table.lines[row]), coarse(column, steps)


def coarse(column, steps):
    """Return steps of the last digit as steps that the column is really printed in."""
    digits = np.round((column.si - column.unit.offset) / (2 * column.half_digit_si))
    known = digits[np.isfinite(digits)]
    return steps / next(s for s in (100, 50, 20, 10, 5, 2, 1) if np.all(known % s == 0))


def test_most_misprints_of_more_than_three_steps_are_found_and_nearly_none_but_them():
    rng = np.random.default_rng(20)
    found, innocent = {"3 to 6": [], "more": []}, 0
    while sum(len(each) for each in found.values()) < PLANTED:
        dossier, line, steps = planted(rng)
        if steps <= 3:
            continue
        lines = {doubt.place.line for doubt in table_doubts(dossier)}
        found["3 to 6" if steps <= 6 else "more"].append(line in lines)
        innocent += bool(lines - {line})
    rates = {name: round(float(np.mean(each)), 3) for name, each in found.items()}
    print(rates, innocent / PLANTED)  # noqa: T201
    assert rates["3 to 6"] > 0.75
    assert rates["more"] > 0.95
    assert innocent / PLANTED < 0.04


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 10_000), levels=st.integers(6, 9), powers=st.integers(2, 5),
    bend=st.floats(-2.0, 2.0), kink=st.booleans(),
)  # fmt: skip
def test_a_misprint_of_many_steps_in_any_smooth_or_kinked_table_is_found(seed, levels, powers, bend, kink):
    """And before it is planted the table is above suspicion."""
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.arange(levels), np.arange(powers), indexing="ij")
    values = 100 + 2.5 * x + bend * x**2 / levels + 9 * y - 0.5 * y**2 + 0.2 * x * y
    values = np.round(values + (-3.0 * np.maximum(x - levels // 2, 0) if kink else 0.0))
    dossier = synthetic(values)
    assert table_doubts(dossier) == ()
    i, j = (int(rng.integers(n)) for n in values.shape)
    values[i, j] += 40 * rng.choice([-1, 1])
    assert 2 + i * powers + j in {doubt.place.line for doubt in table_doubts(synthetic(values))}


def synthetic(values):
    levels, powers = values.shape
    table = dossier_of("kattun").tables["cruise"]
    axes = tuple(
        replace(table.axis(name), si=np.arange(n) * step + 0.0, half_digit_si=np.zeros(n))
        for name, n, step in (("pressure altitude", levels, 600.0), ("percent power", powers, 0.1))
    )
    speed = table.results["true airspeed"]
    column = replace(
        speed,
        si=speed.unit.to_si(values.ravel()),
        half_digit_si=np.full(values.size, 0.5 * speed.unit.factor),
    )
    made = replace(table, axes=axes, results={"true airspeed": column}, lines=np.arange(2.0, 2 + values.size))
    return replace(dossier_of("kattun"), tables={"cruise": made})
