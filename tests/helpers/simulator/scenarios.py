"""A dozen flights in different air, at different weights, with different errors and faults.

What stays wrong all flight long (altimeter, thermometer, recovery factor, lag) is drawn by the seed from just
the distribution that the crew's knowledge of it stands for, so that stated intervals can be held to their
coverage.
"""

from dataclasses import replace
from statistics import NormalDist

import numpy as np

from helpers.simulator.scenario import Fault, PositionError, Recorder, Scenario, Step, WindLayer

FIRST_SEED, ROUND = 11, 100
"""Seed of the first scenario, and from one round of all scenarios to the next."""

_CALM = (WindLayer(0, 190, 3), WindLayer(4000, 210, 6), WindLayer(9000, 230, 9))
_BREEZE = (WindLayer(0, 200, 7), WindLayer(3000, 220, 15), WindLayer(8000, 240, 26))
_SHEAR = (WindLayer(0, 150, 6), WindLayer(3000, 190, 18), WindLayer(5000, 230, 30), WindLayer(8000, 260, 40))
_STRONG = (WindLayer(0, 280, 22), WindLayer(4000, 300, 38), WindLayer(9000, 310, 50))
_NORTH = (WindLayer(0, 340, 8), WindLayer(4000, 350, 16), WindLayer(9000, 10, 20))

_READS_HIGH = PositionError("pitot", (60, 90, 140), (3.0, 1.0, -1.0))
_READS_LOW = PositionError("pitot", (60, 95, 150), (-2.5, -0.5, 1.5))
_STATIC = PositionError("static", (60, 90, 140), (2.0, 0.5, -2.0))
_STATIC_LOW = PositionError("static", (60, 100, 150), (-1.5, 0.5, 2.5))
_EXACT = PositionError("pitot", (60, 150), (0.0, 0.0))
_CURVED = PositionError("pitot", (60, 75, 95, 120, 150), (3.5, 1.8, 0.2, -0.6, -0.8))


def _group(name: str, ias_kt: float, altitude_ft: float, headings_deg: tuple[float, ...]) -> list[Step]:
    return [Step("level", ias_kt, heading, altitude_ft, group=name) for heading in headings_deg]


def _sawtooth(speeds_kt: tuple[float, ...], low_ft: float, heading_deg: float) -> list[Step]:
    return [
        Step("climb", speed, (heading_deg + turn) % 360, low_ft, low_ft + 1400)
        for speed in speeds_kt
        for turn in (0, 180)
    ]


def _glides(speeds_kt: tuple[float, ...], high_ft: float, heading_deg: float) -> list[Step]:
    return [
        Step("glide", speed, (heading_deg + 180 * i) % 360, high_ft, high_ft - 1100)
        for i, speed in enumerate(speeds_kt)
    ]


def _full(
    altitude_ft: float, speeds_kt: tuple[float, ...], first_deg: float, legs: int = 3
) -> tuple[Step, ...]:
    """Return a whole evaluation: groups from fast to slow, two level points, sawtooth climbs and glides."""
    headings = tuple((first_deg + 360 / legs * i) % 360 for i in range(legs))
    steps = [s for i, v in enumerate(speeds_kt) for s in _group("abc"[i], v, altitude_ft, headings)]
    steps += [Step("level", v, first_deg, altitude_ft + 1000) for v in (speeds_kt[0] - 5, speeds_kt[-1] + 6)]
    steps += _sawtooth((82.0, 95.0), altitude_ft, first_deg + 90)
    return tuple(steps + _glides((80.0, 95.0), altitude_ft + 1500, first_deg + 90))


_PLAIN = (
    Scenario("smooth", 11, "parabola", 700, 5, 1018, _CALM, _READS_HIGH, _full(3500, (125, 105, 88), 30),
             gust_kt=0.3, vertical_gust_kt=0.15, wander_kt=0.15),
    Scenario("breeze", 12, "parabola", 800, 10, 1008, _BREEZE, _READS_HIGH, _full(4000, (122, 105, 88), 60)),
    Scenario("bumpy", 13, "parabola", 620, 15, 1012, _BREEZE, _READS_LOW, _full(5000, (120, 104, 90), 100),
             gust_kt=1.4, vertical_gust_kt=0.8, wander_kt=0.4),
    Scenario("cold", 14, "table", 900, -15, 1030, _NORTH, _CURVED, _full(3000, (140, 115, 92), 20)),
    Scenario("shear", 15, "table", 760, 8, 1002, _SHEAR, _READS_LOW, _full(4500, (138, 116, 94), 45)),
    Scenario("static", 16, "parabola", 750, 0, 1013.25, _BREEZE, _STATIC, _full(4000, (125, 104, 86), 10)),
    Scenario("static low", 17, "table", 850, 12, 1021, _NORTH, _STATIC_LOW, _full(5500, (136, 114, 95), 75)),
    Scenario("strong", 18, "table", 820, 3, 995, _STRONG, _READS_HIGH,
             _full(3800, (140, 118, 96), 15, legs=4)),
    Scenario("high", 19, "parabola", 600, 18, 1016, _STRONG, _CURVED, _full(8000, (112, 100, 86), 120)),
    Scenario("exact", 20, "parabola", 880, -6, 1024, _CALM, _EXACT, _full(2500, (126, 106, 88), 200, legs=4)),
)  # fmt: skip


def _with_faults(scenario: Scenario) -> Scenario:
    """Return a flight whose recorder has every fault, and a receiver frozen into a leg."""
    faults = (
        Fault("frozen", 1, -18, 34),
        Fault("frozen", 6, 55, 60),
        Fault("gap", 2, 30, 14),
        Fault("gap", 7, -9, 12),
        Fault("spike", 0, 40, 1, "indicated_airspeed_kt"),
        Fault("spike", 10, 20, 1, "indicated_airspeed_kt"),
        Fault("blank", 4, 20, 15, "outside_air_temp_c"),
        Fault("blank", 9, 10, 25, "fuel_flow_gph"),
        Fault("repeat", 3, 33),
        Fault("repeat", 8, 12),
        Fault("repeat", 11, 30),
    )
    recorder = replace(scenario.recorder, cut_last_line=True, blanks=120)
    return replace(scenario, faults=faults, recorder=recorder)


_WAVE = tuple(
    replace(step, wave_fpm=wave)
    for step, wave in zip(
        _full(4200, (122, 104, 88), 330),
        (0, 0, 0, 0, 0, 0, 0, 0, 0, -160, 0, 0, -250, 0, 0, 0, 250),
        strict=False,
    )
)
_EVEN = tuple(
    replace(step, rising_fpm=rising)
    for step, rising in zip(
        _full(4000, (123, 105, 89), 70),
        (0, 0, 0, 0, -180, 0, 0, 0, 0, 170, 0, 0, -170, 0, 0, 0, 180),
        strict=False,
    )
)
_FRONT = tuple(
    replace(step, wind_change_kt=change)
    for step, change in zip(
        _full(4000, (124, 106, 90), 50, legs=4),
        ((0, 0), (0, 0), (9, -7), (0, 0), *[(0, 0)] * 14),
        strict=False,
    )
)
_SPECIAL = (
    _with_faults(
        Scenario("faults", 21, "parabola", 780, 7, 1010, _BREEZE, _READS_HIGH,
                 _full(4500, (124, 105, 88), 80))
    ),
    Scenario("coarse", 22, "table", 870, 6, 1015, _BREEZE, _READS_LOW, _full(4000, (138, 116, 95), 5),
             recorder=Recorder(speed_step_kt=1.0, temperature_step_c=1.0, ias_noise_kt=0.3,
                               altitude_step_ft=20, says_instruments=False, probe_lag_s=25)),
    Scenario("wave", 23, "parabola", 740, 9, 1009, _BREEZE, _READS_HIGH, _WAVE),
    Scenario("sinking", 25, "parabola", 760, 6, 1011, _BREEZE, _READS_HIGH, _EVEN),
    Scenario("front", 24, "parabola", 760, 4, 1006, _NORTH, _READS_LOW, _FRONT),
)  # fmt: skip


def _chances(seed: int) -> tuple[float, float, float]:
    """Return chances of altimeter, thermometer and recovery factor, spread evenly over a round's flights.

    A flight has but one error of each: a Latin hypercube (M. D. McKay and others, Technometrics 21, 1979,
    from memory) over the scenarios lets few flights show whether their intervals hold.
    """
    count = len(_PLAIN) + len(_SPECIAL)
    number, of_round = (seed - FIRST_SEED) % ROUND, (seed - FIRST_SEED) // ROUND
    rng = np.random.default_rng((of_round, 3))
    order = rng.permuted(np.tile(np.arange(count), (3, 1)), axis=1)
    altimeter, thermometer, recovery = ((order + rng.uniform(size=order.shape)) / count)[:, number % count]
    return float(altimeter), float(thermometer), float(recovery)


def seeded(scenario: Scenario, seed: int | None = None) -> Scenario:
    """Return a scenario with the errors that stay drawn by its seed, or by another `ROUND` further on."""
    seed = scenario.seed if seed is None else seed
    altimeter, thermometer, recovery = _chances(seed)
    rng = np.random.default_rng((seed, 3))
    recorder, normal = scenario.recorder, NormalDist().inv_cdf
    if recorder.says_instruments:
        altimeter, thermometer = 15.3 * normal(altimeter), 0.306 * normal(thermometer)
        recovery = 0.8 + 0.03 * normal(recovery)
    else:
        altimeter, thermometer, recovery = (
            70 * altimeter - 35,
            0.51 * normal(thermometer),
            0.6 + 0.4 * recovery,
        )
    drawn = replace(
        recorder,
        altimeter_error_ft=round(altimeter, 1),
        temperature_error_c=round(thermometer, 2),
        recovery=round(recovery, 3),
        probe_lag_s=round(float(recorder.probe_lag_s * rng.uniform(0.3, 1.9)), 1),
    )
    return replace(scenario, seed=seed, recorder=drawn)


SCENARIOS = tuple(seeded(scenario) for scenario in (*_PLAIN, *_SPECIAL))
"""Every flight, by the seed it is known for."""
