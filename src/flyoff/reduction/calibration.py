"""The airspeed system's correction, calibrated minus indicated airspeed, with its uncertainty.

A correction known beforehand is taken as given. Otherwise the correction is a
smooth curve of the indicated airspeed, estimated from all leg groups and continuous turns at once.
A line and a parabola are updated from what is believed before the flight
with what each group measured (Bayesian linear regression) and averaged with
the weights that their evidence gives them (J. A. Hoeting and others, Bayesian
model averaging, Statistical Science 14, 1999, from memory). Beyond the speeds
flown the correction stays what it was there, and its band widens by the slope
that it could have.

Before the flight the correction is taken as 0 with a 95 % interval of 5 kt,
the error that 14 CFR 23.1323(b) (amendment 23-62, from memory) allows; that it changes
by 0.05 kt for each knot, and that change by 0.0016 per knot, one standard
deviation each, is common practice, no source.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias, TypeVar

import numpy as np

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.draws import COVERAGE_95
from flyoff.core.typing import Array
from flyoff.core.units import kt
from flyoff.dossier.tables import Table
from flyoff.flights.card import Instruments
from flyoff.reduction.airdata import Probe, altimeter_u_of, at_static, calibrated_from_true, static_shift
from flyoff.reduction.groups import LegGroup
from flyoff.reduction.statistics import Estimate
from flyoff.reduction.turns import TurnWind

CalibrationBasis: TypeAlias = Literal["declared", "legs", "handbook", "assumed"]

PRIOR_U_M_S = 5 * kt / COVERAGE_95
PRIOR_SLOPE_U = 0.05
PRIOR_CURVE_U_S_M = 0.0008 / kt
BEYOND_SLOPE_U = 0.08
"""Standard deviation of the slope that the correction may have beyond the speeds flown."""
DECLARED_U95_M_S = 1 * kt
HANDBOOK_U95_M_S = 2 * kt
"""[m/s] Half-width for a handbook's calibration, of another example; common practice, no source."""
BEYOND_M_S = 5 * kt
"""How far from the speeds flown a correction is still not called an extrapolation."""
_ORDERS = (1, 2)
_Solved = TypeVar("_Solved", LegGroup, TurnWind)


@dataclass(frozen=True)
class Observation:
    """The correction that one leg group, or one turn, measured at its indicated airspeed.

    `shared_m_s` is what one standard uncertainty of altimeter, thermometer and recovery factor moves it by.
    """

    group: int
    indicated_m_s: float
    correction: Estimate
    shared_m_s: tuple[float, ...] = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Calibration:
    """The correction as ``a + b x + c x²`` of x = indicated airspeed − `centre_m_s`, or as a table.

    `covariance` is that of (a, b, c); `weights` those of the curves' orders. `shared` is
    what one standard uncertainty of altimeter, thermometer and recovery factor moves (a, b, c) by, columns in
    that order: points reduced with the same instruments share those errors. `observations` are
    the leg groups', `turns` the continuous turns'.
    """

    basis: CalibrationBasis
    centre_m_s: float
    coefficients: Array
    covariance: Array
    observations: tuple[Observation, ...] = ()
    table_m_s: tuple[tuple[float, float], ...] = ()
    weights: tuple[float, ...] = ()
    shared: Array = field(default_factory=lambda: np.zeros((3, 3)))
    turns: tuple[Observation, ...] = ()

    @property
    def seen(self) -> tuple[Observation, ...]:
        """What leg groups and turns measured."""
        return (*self.observations, *self.turns)

    @property
    def range_m_s(self) -> tuple[float, float] | None:
        """The indicated airspeeds that the correction is known for, with a margin; None for none."""
        known = [speed for speed, _ in self.table_m_s] or [o.indicated_m_s for o in self.seen]
        return (min(known) - BEYOND_M_S, max(known) + BEYOND_M_S) if known else None

    def terms(self, indicated_m_s: float) -> tuple[float, Array, float]:
        """Return the part given, the factors of (a, b, c), and the standard uncertainty beyond the range."""
        if self.table_m_s:
            speeds, adds = zip(*self.table_m_s, strict=True)
            given = float(np.interp(indicated_m_s, speeds, adds))
        else:
            given = 0.0
        known = self.range_m_s
        inside = indicated_m_s if known is None else min(max(indicated_m_s, known[0]), known[1])
        x = inside - self.centre_m_s
        return given, np.array([1.0, x, x * x]), BEYOND_SLOPE_U * abs(indicated_m_s - inside)

    def correction(self, indicated_m_s: float) -> Estimate:
        """Return what to add to an indicated airspeed, [m/s]."""
        given, terms, u_beyond = self.terms(indicated_m_s)
        u = math.sqrt(max(float(terms @ self.covariance @ terms), 0.0))
        return Estimate(given + float(terms @ self.coefficients), math.hypot(u, u_beyond))

    def is_extrapolated(self, indicated_m_s: float) -> bool:
        """Whether a speed lies outside those that the correction is known for."""
        known = self.range_m_s
        if known is None:
            return self.basis != "declared"
        return not known[0] <= indicated_m_s <= known[1]


def calibrate(
    instruments: Instruments,
    groups: list[LegGroup],
    temperatures: list[Estimate | None],
    probe: Probe,
    handbook: Table | None = None,
    turns: Sequence[TurnWind] = (),
) -> Calibration:
    """Return the correction from the flight file, from leg groups and turns, or else from the handbook.

    `temperatures` are the probe's, one for each group. [K]
    """
    observations = tuple(
        seen
        for index, (group, temperature) in enumerate(zip(groups, temperatures, strict=True))
        if (seen := _observed(index, group, temperature, probe, instruments)) is not None
    )
    turned = tuple(
        replace(seen, correction=seen.correction.widened(_loaded_u_m_s(turn)))
        for index, turn in enumerate(turns)
        if (seen := _observed(index, turn, turn.probe_temperature, probe, instruments)) is not None
    )
    declared = instruments.airspeed_correction
    if declared:
        u95 = instruments.airspeed_correction_u95
        table = tuple(sorted((row.indicated.si, row.add.si) for row in declared))
        given = _given("declared", table, DECLARED_U95_M_S if u95 is None else u95.si)
        return replace(given, observations=observations, turns=turned)
    rows = handbook_corrections(handbook)
    if not observations and not turned and rows:
        return _given("handbook", rows, HANDBOOK_U95_M_S)
    return replace(_fitted((*observations, *turned)), observations=observations, turns=turned)


def _loaded_u_m_s(turn: TurnWind) -> float:
    """Return how unsure it is that the correction of a banked wing is that of level flight, [m/s].

    A static source's error goes with the lift coefficient: at load factor n it is that of a speed
    lower by the root of n, which the correction's slope takes up (SFTE Reference Handbook, 2013, ch. 4, from
    memory).
    """
    tas = turn.solution.true_airspeed.value
    load = math.hypot(1.0, tas * turn.turn.rate / STANDARD_GRAVITY_M_S2)
    return PRIOR_SLOPE_U * tas * (1 - 1 / math.sqrt(load))


def with_instruments(
    groups: Sequence[_Solved], calibration: Calibration, instruments: Instruments
) -> tuple[_Solved, ...]:
    """Return leg groups or turns with the error of altimeter and static source in their altitudes.

    Those are of the instruments, and shared by all groups; what the calibration took in already.
    """
    stated = []
    for group in groups:
        altitude, indicated = group.pressure_altitude, group.indicated_airspeed
        if altitude is not None:
            altitude = altitude.widened(altimeter_u_of(instruments, altitude.value))
            if indicated is not None and indicated.value > 0:
                correction = calibration.correction(indicated.value)
                altitude = at_static(altitude, indicated, correction, instruments.static_source)
        stated.append(replace(group, pressure_altitude=altitude))
    return tuple(stated)


def handbook_corrections(table: Table | None) -> tuple[tuple[float, float], ...]:
    """Return a handbook's pairs of indicated airspeed and correction, [m/s]; none where it prints none."""
    if table is None or "calibrated airspeed" not in table.results or len(table.axes) != 1:
        return ()
    indicated, calibrated = table.axes[0].si, table.results["calibrated airspeed"].si
    return tuple(
        (float(i), float(c - i)) for i, c in zip(indicated, calibrated, strict=True) if np.isfinite(c)
    )


def _given(
    basis: CalibrationBasis,
    table_m_s: tuple[tuple[float, float], ...],
    u95_m_s: float,
) -> Calibration:
    covariance = np.diag([(u95_m_s / COVERAGE_95) ** 2, 0.0, 0.0])
    return Calibration(basis, 0.0, np.zeros(3), covariance, table_m_s=table_m_s)


def _observed(
    index: int,
    group: LegGroup | TurnWind,
    temperature: Estimate | None,
    probe: Probe,
    instruments: Instruments,
) -> Observation | None:
    altitude, indicated = group.pressure_altitude, group.indicated_airspeed
    if group.refused or altitude is None or indicated is None or temperature is None:
        return None
    tas = group.solution.true_airspeed
    u_altimeter_m = altimeter_u_of(instruments, altitude.value)
    altitude = altitude.widened(u_altimeter_m)
    cas = calibrated_from_true(tas, altitude, temperature, probe)
    if cas is not None and instruments.static_source is True:
        # the shift moves the airspeed by a thousandth: once is enough
        shift_m = static_shift(indicated.value, cas.value, altitude.value)
        altitude = altitude.scaled(1.0, shift_m)
        cas = calibrated_from_true(tas, altitude, temperature, probe)
    if cas is None:
        return None
    moved = (
        calibrated_from_true(tas, altitude.scaled(1.0, u_altimeter_m), temperature, probe),
        calibrated_from_true(tas, altitude, temperature.scaled(1.0, probe.u_correction_k), probe),
        calibrated_from_true(
            tas, altitude, temperature, replace(probe, recovery=probe.recovery + probe.u_recovery)
        ),
    )
    shared = tuple(0.0 if one is None else one.value - cas.value for one in moved)
    correction = cas.scaled(1.0, -indicated.value).widened(indicated.u)
    return Observation(index, indicated.value, correction, shared)


def _fitted(observations: tuple[Observation, ...]) -> Calibration:
    if not observations:
        return Calibration("assumed", 50.0, np.zeros(3), np.diag([PRIOR_U_M_S**2, 0, 0]))
    speeds = np.array([o.indicated_m_s for o in observations])
    seen = np.array([o.correction.value for o in observations])
    # a standard uncertainty from few degrees of freedom is widened to what Student's factor makes of it
    u = np.array([o.correction.u95 / COVERAGE_95 for o in observations])
    centre = float(np.average(speeds, weights=u**-2))
    moved = np.array([o.shared_m_s for o in observations])
    # what the groups share does not average out between them
    noise = np.diag(np.maximum(u**2 - (moved**2).sum(axis=1), (0.1 * u) ** 2)) + moved @ moved.T
    fits = [_of_order(order, speeds - centre, seen, noise) for order in _ORDERS]
    evidence = np.array([fit.log_evidence for fit in fits])
    weights = np.exp(evidence - evidence.max())
    weights /= weights.sum()
    gain = sum((w * fit.gain for w, fit in zip(weights, fits, strict=True)), np.zeros((3, len(u))))
    coefficients = gain @ seen
    covariance = np.zeros((3, 3))
    for weight, fit in zip(weights, fits, strict=True):
        apart = fit.gain @ seen - coefficients
        covariance += weight * (fit.covariance + np.outer(apart, apart))
    shares = tuple(float(w) for w in weights)
    return Calibration(
        "legs", centre, coefficients, covariance, observations, weights=shares, shared=gain @ moved
    )


@dataclass(frozen=True)
class _Fit:
    """One order's curve: coefficients are `gain` times what was seen; blank above its order."""

    gain: Array
    covariance: Array
    log_evidence: float


def _of_order(order: int, x: Array, seen: Array, noise: Array) -> _Fit:
    design = np.column_stack([x**power for power in range(order + 1)])
    prior = np.diag([PRIOR_U_M_S**2, PRIOR_SLOPE_U**2, PRIOR_CURVE_U_S_M**2][: order + 1])
    total = noise + design @ prior @ design.T
    own = prior @ design.T @ np.linalg.inv(total)
    gain, covariance = np.zeros((3, len(x))), np.zeros((3, 3))
    gain[: order + 1] = own
    covariance[: order + 1, : order + 1] = prior - own @ design @ prior
    log_evidence = -0.5 * float(seen @ np.linalg.solve(total, seen) + np.linalg.slogdet(total)[1])
    return _Fit(gain, covariance, log_evidence)


@dataclass(frozen=True)
class Beside:
    """A handbook's correction beside the one found, at one indicated airspeed; `agrees` within 95 %."""

    indicated_m_s: float
    handbook_m_s: float
    found: Estimate
    agrees: bool


def beside_handbook(calibration: Calibration, handbook: Table | None) -> tuple[Beside, ...]:
    """Return the handbook's calibration beside the legs', at the handbook's speeds within those flown."""
    rows = handbook_corrections(handbook)
    if handbook is None or not rows or not calibration.seen or calibration.basis == "handbook":
        return ()
    column = handbook.results["calibrated airspeed"]
    rounding = float(np.nanmax(column.half_digit_si)) / math.sqrt(3)
    speeds, adds = zip(*rows, strict=True)
    low, high = (f(o.indicated_m_s for o in calibration.seen) for f in (min, max))
    asked = [s for s in speeds if low <= s <= high] or [o.indicated_m_s for o in calibration.seen]
    found = []
    for speed in asked:
        own = calibration.correction(speed)
        printed = float(np.interp(speed, speeds, adds))
        agrees = abs(own.value - printed) <= own.widened(rounding).u95
        found.append(Beside(speed, printed, own, agrees))
    return tuple(found)
