"""Evidence that cannot be is refused with its place, what is there, and what would mend it."""

import numpy as np
import pytest

from flyoff.core.problems import Problems
from flyoff.core.units import kt
from flyoff.model.checks import check_evidence, handbook_faults
from flyoff.model.evidence import equivalent, handbook_observations
from flyoff.model.fit import fit_handbook
from flyoff.model.parameters import known_of
from helpers.airplanes import KEYS, dossier_of, edited, fuel_density


def refused(key, name, edit):
    dossier = edited(key, name, edit)
    with pytest.raises(Problems) as caught:
        fit_handbook(dossier, fuel_density_kg_m3=fuel_density(key))
    return str(caught.value)


def first_column(change):
    def edit(text):
        head, *rows = text.strip().split("\n")
        changed = [",".join([change(row.split(",")[0]), *row.split(",")[1:]]) for row in rows]
        return "\n".join([head, *changed]) + "\n"

    return edit


@pytest.mark.parametrize("key", KEYS)
def test_a_sound_handbook_passes(key):
    dossier, known = dossier_of(key), known_of(dossier_of(key))
    check_evidence(dossier, known, handbook_observations(dossier, known, fuel_density(key)))
    assert handbook_faults(dossier, fuel_density(key)) == ()


def test_a_handbook_that_is_only_read_is_held_to_the_same_and_a_few_values_of_it_are_no_fault():
    metres = edited("kattun", "cruise.csv", lambda t: t.replace("altitude [ft]", "altitude [m]"))
    assert "cruise.csv:29: true airspeed: 75 % power at 13,123 ft" in handbook_faults(metres, 720.0)[0]
    few = edited("kattun", "cruise.csv", lambda t: "\n".join(t.split("\n")[:3]) + "\n")
    assert handbook_faults(few, 720.0) == ()


def few(keep):
    dossier = dossier_of("kattun")
    known = known_of(dossier)
    speeds = [o for o in handbook_observations(dossier, known, 720.0) if o.kind == "speed at power"]
    with pytest.raises(Problems) as caught:
        check_evidence(dossier, known, keep(speeds))
    return str(caught.value)


def test_two_points():
    text = few(lambda speeds: speeds[:2])
    assert "2 values that tell of drag and power" in text
    assert "cruise.csv:2" in text
    assert (
        "level speeds at two powers and a climb or glide, for two points cannot tell drag from power" in text
    )


def test_points_all_at_one_speed():
    text = few(lambda speeds: sorted(speeds, key=lambda o: abs(equivalent(o) / kt - 118))[:6])
    assert "all values at one speed" in text
    assert "a slow level condition, a climb or a glide" in text


def test_exchanged_columns():
    swap = ("true airspeed [kt],fuel flow [gal/h]", "fuel flow [gal/h],true airspeed [kt]")
    text = refused("kattun", "cruise.csv", lambda t: t.replace(*swap))
    assert "aircraft/kattun/cruise.csv:2: fuel flow: 105 US gal/h at 45 %: 6.10 lb/hp/h" in text
    assert "are two columns exchanged" in text
    assert "more values like those before" in text


def test_feet_written_as_metres():
    text = refused("kattun", "cruise.csv", lambda t: t.replace("altitude [ft]", "altitude [m]"))
    assert "cruise.csv:29: true airspeed: 75 % power at 13,123 ft, where the engine gives 67 %" in text
    assert "(feet written as metres? 1,219 m would do)" in text


def test_metres_written_as_feet():
    text = refused("kattun", "cruise.csv", first_column(lambda feet: f"{float(feet) * 0.3048:.0f}"))
    assert "times what thin air can add" in text
    assert "metres written as feet?" in text


def test_impossible_efficiency():
    text = refused("kattun", "cruise.csv", lambda t: t.replace("airspeed [kt]", "airspeed [m/s]"))
    assert "204 kt on 104 hp needs a propeller efficiency of 2.00 or more" in text


def test_wrong_unit_of_fuel():
    text = refused("kattun", "cruise.csv", lambda t: t.replace("flow [gal/h]", "flow [L/h]"))
    assert "7.7 L/h at 45 %: 0.12 lb/hp/h; expected 0.25 to 0.75 lb/hp/h" in text


def test_less_speed_for_more_power():
    text = refused("kattun", "cruise.csv", lambda t: t.replace(",124,10.6", ",142,10.6", 1))
    assert (
        "cruise.csv:5: true airspeed: 132 kt at 75 %, 142 kt at 65 %; expected more power to give faster"
        in text
    )


def test_one_speed_at_every_power():
    def same(text):
        head, *rows = text.strip().split("\n")
        cells = [row.split(",") for row in rows]
        return "\n".join([head, *(",".join([*row[:5], row[5] and "118", row[6]]) for row in cells)]) + "\n"

    text = refused("kattun", "cruise.csv", same)
    assert "cruise.csv:5: true airspeed: 118 kt at 45 %, 118 kt at 75 %; expected so much more power" in text
    assert "is one value written in every row?" in text


def test_an_engine_chart_upside_down():
    heights = {"0": "12000", "4000": "8000", "8000": "4000", "12000": "0"}
    text = refused("kattun", "power.csv", first_column(heights.get))
    assert "23.0 inHg at 8,000 ft, where the air has 22.2" in text
    assert "is the altitude column upside down?" in text


def test_an_engine_chart_with_more_power_the_higher():
    def stronger(text):
        head, *rows = text.strip().split("\n")
        index = head.split(",").index("power [hp]")
        changed = []
        for row in rows:
            cells = row.split(",")
            if cells[index]:
                cells[index] = f"{float(cells[index]) * (1 + float(cells[0]) / 40_000):.0f}"
            changed.append(",".join(cells))
        return "\n".join([head, *changed]) + "\n"

    text = refused("kattun", "power.csv", stronger)
    assert "stands one altitude lower; expected power to fall as air thins" in text


@pytest.mark.parametrize("seed", range(12))
def test_any_column_scaled_by_much_is_refused_or_named(seed):
    """A whole column wrong by a factor of 2 or more never passes for an airplane."""
    rng = np.random.default_rng(seed)
    column = int(rng.choice([5, 6]))
    factor = float(np.exp(rng.uniform(0.75, 2.0) * rng.choice([-1, 1])))

    def edit(text):
        head, *rows = text.strip().split("\n")
        cells = [row.split(",") for row in rows]
        for row in cells:
            row[column] = f"{float(row[column]) * factor:.1f}" if row[column] else ""
        return "\n".join([head, *(",".join(row) for row in cells)]) + "\n"

    assert "expected" in refused("kattun", "cruise.csv", edit)
