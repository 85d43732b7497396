"""Airplanes invented at random, whose physics is not the model's: the truth of recovery tests.

The propeller is read off the charts of NACA Report 640 (three blades 5868-9)
through splines, the drag is a parabola or a table with a bucket and a rise,
the engine's law is one of three, the mixture enriches smoothly.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.interpolate import PchipInterpolator, RectBivariateSpline

from flyoff.core.sources import Place
from flyoff.core.units import ft, hour, hp, kt, lb, rpm
from flyoff.model.configuration import Configuration
from flyoff.model.evidence import Observation
from flyoff.model.parameters import Known

G, RHO0 = 9.80665, 1.225
PER_HP_H = lb / hp / hour
# blade angle: advance ratio, efficiency, power coefficient (NACA Report 640, as digitised)
CHART = {
    15: ([0.2, 0.3, 0.4, 0.5, 0.6, 0.7], [0.370, 0.521, 0.641, 0.720, 0.768, 0.755],
         [0.0569, 0.0541, 0.0498, 0.0437, 0.0338, 0.0210]),
    20: ([0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0],
         [0.456, 0.569, 0.661, 0.733, 0.793, 0.828, 0.824, 0.700],
         [0.0870, 0.0847, 0.0797, 0.0728, 0.0622, 0.0480, 0.0314, 0.0127]),
    25: ([0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2],
         [0.467, 0.582, 0.671, 0.730, 0.775, 0.814, 0.842, 0.838, 0.742],
         [0.1268, 0.1218, 0.1165, 0.1100, 0.0994, 0.0863, 0.0696, 0.0488, 0.0253]),
    30: ([0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4],
         [0.543, 0.638, 0.711, 0.762, 0.799, 0.829, 0.849, 0.850, 0.800],
         [0.1702, 0.1638, 0.1569, 0.1480, 0.1350, 0.1190, 0.0998, 0.0761, 0.0502]),
    35: ([0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6],
         [0.567, 0.646, 0.719, 0.773, 0.806, 0.828, 0.840, 0.845, 0.822],
         [0.2097, 0.2043, 0.1975, 0.1870, 0.1727, 0.1554, 0.1344, 0.1094, 0.0828]),
}  # fmt: skip


@cache
def chart():
    """Return efficiency over advance ratio and power coefficient, blade angle free, as a spline."""
    advances, coefficients = np.linspace(0.42, 1.3, 45), np.linspace(0.025, 0.125, 41)
    grid = np.empty((45, 41))
    for i, advance in enumerate(advances):
        found = []
        for js, etas, cps in CHART.values():
            if js[0] - 0.02 <= advance <= js[-1]:
                found.append(
                    (float(PchipInterpolator(js, cps)(advance)), float(PchipInterpolator(js, etas)(advance)))
                )
        cps, etas = np.array(sorted(found)).T
        grid[i] = PchipInterpolator(cps, etas)(np.clip(coefficients, cps[0], cps[-1]))
    return RectBivariateSpline(advances, coefficients, grid, kx=2, ky=2, s=45 * 41 * 0.003**2)


@dataclass(frozen=True)
class Invented:
    """One airplane as it really is."""

    known: Known
    zero_lift: float
    span_efficiency: float
    tabulated: bool
    bucket: float
    installation: float
    lapse: str
    lapse_loss: float
    power_factor: float
    consumption: tuple[float, float, float]
    windmill: float
    climb_factor: float
    climb_drag: float = 0.0
    """Extra drag in climbs at full power over that at no lift."""

    def drag_coefficient(self, lift):
        """Return the drag coefficient: a parabola, or with a bucket and a rise towards the stall."""
        lift = np.asarray(lift)
        aspect = self.known.span_m**2 / self.known.wing_area_m2
        parabola = self.zero_lift + lift**2 / (np.pi * aspect * self.span_efficiency)
        if not self.tabulated:
            return parabola
        knots = np.linspace(0.0, 1.8, 19)
        table = self.zero_lift + knots**2 / (np.pi * aspect * self.span_efficiency)
        table = table - self.bucket * np.exp(-(((knots - 0.35) / 0.18) ** 2))
        table = table + 0.05 * np.maximum(knots - 0.95, 0.0) ** 2
        return PchipInterpolator(knots, table)(np.clip(lift, 0, 1.8))

    def drag(self, speed, density, mass, extra=1.0):
        q = density / 2 * speed**2
        lift = mass * G / (q * self.known.wing_area_m2)
        added = (extra - 1) * self.zero_lift
        return q * self.known.wing_area_m2 * (self.drag_coefficient(lift) + added)

    def full_power(self, altitude, kelvin):
        standard = 288.15 - 0.0065 * altitude
        theta = standard / 288.15
        delta, sigma = theta**5.255876, theta**4.255876
        if self.known.turbocharged:
            top = (1 - 0.0065 * self.known.critical_altitude_m / 288.15) ** 4.255876
            sigma, delta = np.minimum(sigma / top, 1.0), np.minimum(sigma / top, 1.0)
        ratio = {
            "friction": (1 + self.lapse_loss) * sigma - self.lapse_loss,
            "root": np.sqrt(delta * sigma),
        }[self.lapse]
        return self.known.rated_power_w * self.power_factor * ratio * np.sqrt(standard / kelvin)

    def efficiency(self, power, density, speed, rotation):
        diameter = self.known.diameter_m
        advance = speed / (rotation * diameter)
        coefficient = power / (density * rotation**3 * diameter**5)
        return self.installation * chart().ev(np.clip(advance, 0.42, 1.3), np.clip(coefficient, 0.025, 0.125))

    def rotation(self, power):
        return self.known.rated_rotation_speed_hz * (0.8 + 0.2 * power / self.known.rated_power_w)

    def level_speed(self, power, density, mass):
        power, density, mass = np.broadcast_arrays(power, density, mass)
        low, high = np.full(power.shape, 42.0), np.full(power.shape, 130.0)
        for _ in range(24):
            middle = (low + high) / 2
            thrust = power * self.efficiency(power, density, middle, self.rotation(power))
            fast = self.drag(middle, density, mass) * middle > thrust
            low, high = np.where(fast, low, middle), np.where(fast, middle, high)
        return (low + high) / 2

    def rate_of_climb(self, speed, altitude, kelvin, density, mass):
        power = self.full_power(altitude, kelvin)
        thrust = power * self.efficiency(power, density, speed, self.known.rated_rotation_speed_hz)
        return (thrust - self.drag(speed, density, mass, 1 + self.climb_drag) * speed) / (mass * G)

    def specific_consumption(self, share):
        least, bend, rich = self.consumption
        return PER_HP_H * least * (1 + bend * (0.65 - share) ** 2 + rich * np.maximum(share - 0.66, 0) ** 1.5)


def invent(seed, *, tabulated=None):
    """Return an airplane drawn at random."""
    rng = np.random.default_rng(seed)
    turbo = rng.random() < 0.25
    power = rng.uniform(170, 310) * hp
    area, retractable = rng.uniform(14.5, 18.0), bool(rng.random() < 0.4)
    known = Known(
        f"invented-{seed}", 1, power, rng.uniform(2500, 2700) * rpm, "spark", turbo,
        rng.uniform(3500, 5500) if turbo else None, "constant speed", 3,
        1.9 * (power / (230 * hp)) ** 0.25, area, rng.uniform(10.2, 12.2), retractable,
        float(rng.uniform(1050, 1300) + 1.5 * power / 1000),
    )  # fmt: skip
    return Invented(
        known, (0.023 if retractable else 0.030) * np.exp(0.12 * rng.standard_normal()),
        rng.uniform(0.70, 0.84), bool(rng.random() < 0.5) if tabulated is None else tabulated,
        rng.uniform(0.0, 0.0016), rng.uniform(0.93, 1.0), str(rng.choice(["friction", "root"])),
        float(rng.normal(0.1324, 0.012)), float(rng.normal(1.0, 0.015)),
        (rng.uniform(0.40, 0.46), rng.uniform(0.3, 1.0), rng.uniform(0.2, 1.2)),
        rng.uniform(1.1, 1.35), float(rng.uniform(1.12, 1.32)),
    )  # fmt: skip


def standard(altitude_ft, deviation=0.0):
    """Return altitude, temperature and density of a level."""
    altitude = np.asarray(altitude_ft) * ft
    theta = 1 - 0.0065 * altitude / 288.15
    kelvin = 288.15 * theta + deviation
    return altitude, kelvin, RHO0 * theta**5.255876 * 288.15 / kelvin


def climb_speed(airplane, altitude_ft, mass):
    """Return the equivalent airspeed of best climb at sea level less a little with height."""
    v = np.linspace(32, 60, 120)
    rate = airplane.rate_of_climb(v, *standard(0.0), mass)
    return v[np.argmax(rate)] * (1 - 0.006 * altitude_ft / 1000)


def observe(kind, value, u, where, mass, evidence="flight", half_digit=0.0, **more):
    """Return one observation at (altitude, temperature)."""
    place = Place("invented", 0, kind)
    return Observation(
        kind, evidence, float(value), float(u), float(where[0]), float(where[1]), float(mass), place,
        half_digit=half_digit, **more,
    )  # fmt: skip


def printed(airplane, altitudes_ft, shares=(0.55, 0.65, 0.75), deviations=(-20.0, 0.0, 20.0)):
    """Return a handbook's rounded values at some altitudes: cruise, fuel flow, climb, glide."""
    known, found = airplane.known, []
    mass = known.takeoff_mass_kg * 0.95
    for altitude_ft in altitudes_ft:
        for deviation in deviations:
            altitude, kelvin, density = standard(altitude_ft, deviation)
            for share in shares:
                power = share * known.rated_power_w
                if power > airplane.full_power(altitude, kelvin):
                    continue
                speed = np.round(airplane.level_speed(power, density, mass) / kt) * kt
                where = (altitude, kelvin)
                more = {"power_ratio": share, "rotation_speed_hz": float(airplane.rotation(power))}
                found.append(
                    observe(
                        "speed at power", speed, 0.5 * kt / 3**0.5, where, mass, "handbook", 0.5 * kt, **more
                    )
                )
                step = 0.1 * 0.72 * 3.785411784 / 3600
                flow = np.round(power * airplane.specific_consumption(share) / step) * step
                found.append(
                    observe("fuel flow", flow, step / 12**0.5, where, mass, "handbook", step / 2, **more)
                )
        altitude, kelvin, density = standard(altitude_ft)
        eas = climb_speed(airplane, altitude_ft, known.takeoff_mass_kg)
        speed = eas / np.sqrt(density / RHO0)
        rate = airplane.rate_of_climb(speed, altitude, kelvin, density, known.takeoff_mass_kg)
        step = 10 * ft / 60
        found.append(
            observe("rate of climb", np.round(rate / step) * step, step / 12**0.5, (altitude, kelvin),
                    known.takeoff_mass_kg, "handbook", step / 2, true_airspeed_m_s=float(speed))
        )  # fmt: skip
    return found


POWERED = ((0.63, (0.72, 0.63)), (0.74, (0.7, 0.7)))


def accelerating(speed, kelvin):
    """Return what one equivalent airspeed takes of a rate."""
    return speed**2 * (G / 287.05287 - 0.0065) / kelvin / (2 * G)


def still_propeller(airplane, seed):
    """Return what a feathered propeller makes of the drag at no lift."""
    known, spread = airplane.known, np.random.default_rng((seed, 2)).normal()
    area = 0.01 * known.diameter_m**2 * float(np.exp(0.25 * spread))
    return 1 + area / (airplane.zero_lift * known.wing_area_m2)


def flown(airplane, altitudes_ft, seed, *, powered=True, runs=2, feathered=False):
    """Return a flight's reduced points at some levels, with the noise of a good day.

    `feathered` glides have the propeller feathered. Level speeds ± 0.5 kt of their own
    and ± 0.4 kt shared, fuel flows ± 1 %, rates ± 20 ft/min.
    """
    rng = np.random.default_rng((seed, 1))
    known, found = airplane.known, []
    glide = still_propeller(airplane, seed) if feathered else airplane.windmill
    shared = rng.normal(0, 0.4 * kt)
    for altitude_ft in altitudes_ft:
        altitude, kelvin, density = standard(altitude_ft, rng.uniform(-8, 12))
        where, mass = (altitude, kelvin), known.takeoff_mass_kg * rng.uniform(0.88, 0.97)
        for share in (0.42, 0.52, 0.63, 0.74):
            power = share * known.rated_power_w
            if power > airplane.full_power(altitude, kelvin):
                continue
            speed = airplane.level_speed(power, density, mass) + rng.normal(0, 0.5 * kt) + shared
            flow = power * airplane.specific_consumption(share)
            read = flow * (1 + rng.normal(0, 0.01))
            u = np.hypot(0.5 * kt, 0.4 * speed * 0.01)
            more = {"fuel_flow_kg_s": float(read), "rotation_speed_hz": float(airplane.rotation(power))}
            found.append(
                observe("speed at fuel flow", speed, u, where, mass, shared=(("airspeed", 0.4 * kt),), **more)
            )
        for factor in runs * (0.95, 1.2):
            speed = factor * climb_speed(airplane, altitude_ft, mass) / np.sqrt(density / RHO0)
            rate = airplane.rate_of_climb(speed, altitude, kelvin, density, mass)
            rate = rate / (1 + accelerating(speed, kelvin)) + rng.normal(0, 20 * ft / 60)
            found.append(
                observe("rate of climb", rate, 20 * ft / 60, where, mass, true_airspeed_m_s=float(speed))
            )
        for share, slow in runs * POWERED if powered else ():
            if share * known.rated_power_w > airplane.full_power(altitude, kelvin):
                continue
            speed = float(airplane.level_speed(share * known.rated_power_w, density, mass)) * slow[0]
            power = slow[1] * known.rated_power_w
            thrust = power * airplane.efficiency(power, density, speed, airplane.rotation(power))
            rate = (thrust - airplane.drag(speed, density, mass) * speed) / (mass * G)
            rate = rate / (1 + accelerating(speed, kelvin)) + rng.normal(0, 20 * ft / 60)
            flow = power * airplane.specific_consumption(slow[1]) * (1 + rng.normal(0, 0.01))
            u = np.hypot(20 * ft / 60, 0.01 * thrust / (mass * G))
            more = {"fuel_flow_kg_s": float(flow), "rotation_speed_hz": float(airplane.rotation(power))}
            found.append(
                observe("rate at fuel flow", rate, u, where, mass, true_airspeed_m_s=float(speed), **more)
            )
        for eas in runs * (36.0, 46.0):
            speed = eas / np.sqrt(density / RHO0)
            sink = airplane.drag(speed, density, mass, glide) * speed / (mass * G)
            sink = sink / (1 + accelerating(speed, kelvin)) + rng.normal(0, 20 * ft / 60)
            found.append(
                observe("sink rate", sink, 20 * ft / 60, where, mass, true_airspeed_m_s=float(speed),
                        configuration=Configuration(feathered=feathered))
            )  # fmt: skip
    return found
