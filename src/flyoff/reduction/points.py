"""A reduced point: one steady condition with its air data and what the engine did."""

import math
from dataclasses import dataclass

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.quantity import Quantity
from flyoff.core.units import kt
from flyoff.flights.card import Kind, NotedPoint
from flyoff.flights.read import Flight
from flyoff.flights.steady import Condition
from flyoff.physics.altimetry import pressure_altitude
from flyoff.physics.atmosphere import temperature_at_altitude
from flyoff.reduction.airdata import AirData, Probe, altimeter_u_of, at_static, reduce_air
from flyoff.reduction.calibration import Calibration
from flyoff.reduction.readings import Readings
from flyoff.reduction.statistics import Estimate

_NOTED = (
    "pressure_altitude",
    "indicated_airspeed",
    "outside_air_temperature",
    "rpm",
    "manifold_pressure",
    "ground_speed",
    "ground_track",
    "fuel_flow",
    "power_percent",
)


AS_IF = "as if the air"
"""How the flag of a point flown in rising or sinking air begins."""


@dataclass(frozen=True)
class Point:
    """One condition reduced; None where the readings do not give a quantity, all in SI.

    `temperature` is the static temperature of the air, `probe_temperature`
    what was recorded. `rate_of_climb` is geometric (tapeline) and that of just this stretch. `mass_kg` is
    None where the flight file does not say the loading.
    """

    readings: Readings
    air: AirData
    pressure_altitude: Estimate | None
    probe_temperature: Estimate | None
    indicated_airspeed: Estimate | None
    rate_of_climb: Estimate | None
    fuel_flow: Estimate | None
    rpm: Estimate | None
    manifold_pressure: Estimate | None
    extrapolated: bool
    flags: tuple[str, ...]
    mass_kg: float | None = None
    mixture: str = ""

    @property
    def condition(self) -> Condition:
        """The steady condition."""
        return self.readings.condition

    @property
    def steady_rate(self) -> Estimate | None:
        """The rate of climb as that of a steady one: unsure, too, by what other ends would have changed."""
        rate = self.rate_of_climb
        return None if rate is None else rate.widened(self.readings.ends_u_m_s)

    @property
    def in_moving_air(self) -> bool:
        """Whether the other points show that the air rose or sank under this one."""
        return any(flag.startswith(AS_IF) for flag in self.flags)


def reduce_point(
    readings: Readings, calibration: Calibration, probe: Probe, flight: Flight, mass_kg: float | None
) -> Point:
    """Return the reduced point of one condition's readings."""
    instruments = flight.card.instruments
    indicated = readings.mean("indicated_airspeed")
    altitude, u_altimeter_m = readings.mean("pressure_altitude"), 0.0
    if altitude is not None:
        u_altimeter_m = altimeter_u_of(instruments, altitude.value)
        altitude = altitude.widened(u_altimeter_m)
    probe_temperature = readings.mean("outside_air_temperature")
    cas, flags, extrapolated = None, list(readings.condition.flags), False
    if indicated is not None and indicated.value > 0:
        correction = calibration.correction(indicated.value)
        cas = indicated.scaled(1.0, correction.value).widened(correction.u)
        extrapolated = calibration.is_extrapolated(indicated.value)
        if altitude is not None:
            altitude = at_static(altitude, indicated, correction, instruments.static_source)
    # in a turn the ground velocity changes without any wind's doing
    if readings.wind_shift_m_s and not any("turn" in flag for flag in flags):
        unused = ": not used as a leg" if readings.condition.kind == "level" else ""
        flags.append(f"the wind changed by {readings.wind_shift_m_s / kt:.1f} kt{unused}")
    if extrapolated:
        flags.append(
            "calibrated airspeed without a calibration: taken as indicated"
            if calibration.basis == "assumed"
            else "calibrated airspeed extrapolated beyond the speeds calibrated"
        )
    shown = probe_temperature
    if shown is not None and readings.condition.kind != "level":
        shown = probe.caught_up(shown, readings.temperature_rate_k_s)
    air = reduce_air(cas, altitude, shown, probe, _shared(calibration, indicated, u_altimeter_m, probe))
    return Point(
        readings,
        air,
        altitude,
        probe_temperature,
        indicated,
        _tapeline(readings.height_rate, altitude, air.temperature),
        _fuel_flow(readings, flight),
        readings.mean("rpm"),
        readings.mean("manifold_pressure"),
        extrapolated,
        tuple(flags),
        mass_kg,
        readings.mixture,
    )


def _shared(
    calibration: Calibration, indicated: Estimate | None, u_altimeter_m: float, probe: Probe
) -> tuple[float, float, float]:
    """Return what a calibrated airspeed shares with altitude, temperature and recovery factor."""
    if indicated is None:
        return 0.0, 0.0, 0.0
    moved = calibration.terms(indicated.value)[1] @ calibration.shared
    return (
        float(moved[0]) * u_altimeter_m,
        float(moved[1]) * probe.u_correction_k,
        float(moved[2]) * probe.u_recovery,
    )


def _tapeline(
    pressure_rate: Estimate | None, altitude: Estimate | None, temperature: Estimate | None
) -> Estimate | None:
    """Return the geometric rate of climb: pressure altitudes lie further apart in warm air.

    dH/dt = (T / Ts) dHp/dt, absolute temperatures (SFTE Reference Handbook, 2013, ch. 12).
    """
    if pressure_rate is None or altitude is None or temperature is None:
        return pressure_rate
    standard = float(temperature_at_altitude(altitude.value))
    rate = pressure_rate.scaled(temperature.value / standard)
    return rate.widened(pressure_rate.value * temperature.u / standard)


def _fuel_flow(readings: Readings, flight: Flight) -> Estimate | None:
    flow = readings.mean("fuel_flow")
    by_mass, density = readings.mean("fuel_mass_flow"), flight.card.loading.fuel_density
    if flow is None and by_mass is not None and density is not None:
        flow = by_mass.scaled(1 / density.si)
    given = flight.card.instruments.fuel_flow_u95
    return flow if flow is None or given is None else flow.widened(given.si / COVERAGE_95 * flow.value)


def noted_readings(flight: Flight) -> list[Readings]:
    """Return the readings of the points written down by hand."""
    return [_noted(flight, point) for point in flight.card.points if point.kind != "stall"]


def _noted(flight: Flight, point: NotedPoint) -> Readings:
    means = {}
    for name in _NOTED:
        quantity: Quantity | None = getattr(point, name)
        if quantity is not None:
            means[name] = _written(quantity)
    if "pressure_altitude" not in means and point.indicated_altitude and point.altimeter_setting:
        means["pressure_altitude"] = _by_setting(point.indicated_altitude, point.altimeter_setting)
    lines = [q.place.line for name in _NOTED if (q := getattr(point, name)) is not None]
    kind: Kind = "level" if point.kind == "stall" else point.kind
    condition = Condition(kind, flight.time_s(point.start), flight.time_s(point.end), 0.0, "noted by hand")
    condition = condition.set_as(point)
    rate = None if point.rate_of_climb is None else _written(point.rate_of_climb)
    ground, covariance = None, None
    if "ground_speed" in means and "ground_track" in means:
        speed, track = means["ground_speed"], means["ground_track"]
        along = np.array([math.cos(track.value), math.sin(track.value)])
        across = np.array([-along[1], along[0]])
        ground = speed.value * along
        covariance = speed.u**2 * np.outer(along, along) + (track.u * speed.value) ** 2 * np.outer(
            across, across
        )
    span = (min(lines, default=0), max(lines, default=0))
    return Readings(
        condition, flight.name, span, means, rate, ground, covariance, math.inf, mixture=point.mixture or ""
    )


def _by_setting(altitude: Quantity, setting: Quantity) -> Estimate:
    """Return the pressure altitude of an altitude read at an altimeter setting."""
    shown, at = _written(altitude), _written(setting)
    value = float(pressure_altitude(shown.value, at.value))
    per_pa = float(pressure_altitude(shown.value, at.value + 100.0)) - value
    return Estimate(value, math.hypot(shown.u, per_pa / 100 * at.u))


def _written(quantity: Quantity) -> Estimate:
    """Return a written value: its own interval, else half of its last digit as rectangular."""
    if quantity.u95_si is not None:
        return Estimate(quantity.si, quantity.u95_si / COVERAGE_95)
    return Estimate(quantity.si, quantity.half_digit_si / math.sqrt(3))
