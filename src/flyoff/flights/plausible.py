"""Whether the channels of a log agree with each other: a wrong unit in the mapping shows here.

A disagreement that no air and no instrument explains is a problem, and the
flight is not reduced; what is only unlikely is listed among the repairs. The
bounds are common practice, no source, where nothing else is said.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.constants import (
    AIR_GAS_CONSTANT_J_KG_K,
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_TEMPERATURE_K,
    STANDARD_GRAVITY_M_S2,
    TROPOSPHERE_LAPSE_K_M,
)
from flyoff.core.problems import Collector
from flyoff.core.sources import Place
from flyoff.core.typing import Array, Mask
from flyoff.core.units import Unit, celsius, find_unit, fpm, ft, kt, nmi, us_gal
from flyoff.flights.geodetic import radii_m
from flyoff.flights.log import Log, Repair, counted

FEWEST = 60
"""Readings in flight without which nothing is said."""
_SLOWEST_M_S = 15.0
SETTINGS_M = 650.0
"""Altimeter settings from 950 to 1050 hPa shift an altitude by up to 530 m, a geoid by up to 110 m."""
_AIR_SHARE = 0.15
"""How far the air's temperature stretches a pressure altitude: 43 °C from standard."""
_LEAST_SPAN_M = 300.0
_SPANS = (0.6, 1.7)
_OF_POSITIONS = (0.93, 1.07)
_SWAPPED_M_S = 3.0
_UNLIKELY, _IMPOSSIBLE = (0.9, 1.1), (0.72, 1.4)
"""Airspeed as a share of what ground speeds on opposite courses show."""
_MOST_WIND_M_S = 60 * kt
_COLD_F_K, _WARM_K, _TOO_WARM_K = 12.0, 25.0, 45.0
_DRY_LAPSE_K_M = 0.0105
"""Air that rises without cloud cools by 9.8 K/km and no flight's air by more; with room for scatter."""
_FLOWS = (("fuel_flow", "US gal/h", 60.0), ("fuel_mass_flow", "lb/h", 360.0))
"""The most that the median fuel flow of a light single is."""
_WAY_PER_FUEL = (3.6 * nmi / us_gal, 45 * nmi / us_gal)
"""[m/m³] Ground covered for fuel: between a heavy twin's and a motor glider's."""
_FUELS = (("fuel_remaining", "fuel_flow", "US gal"), ("fuel_mass", "fuel_mass_flow", "lb"))
_LEAST_USED = 0.15
"""The share of the fuel first recorded that a flight uses, from which the two are compared."""
_USED_SHARES, _USED_IMPOSSIBLE = (0.6, 1.6), (0.4, 2.5)
_OF_AMBIENT, _FITTING = (0.6, 1.2), (0.75, 1.06)
"""Manifold pressure over the air's at the most power of a flight: usual; usual without turbocharger."""
_OF_TRUE, _OF_TRUE_IMPOSSIBLE = (0.93, 1.07), (0.8, 1.25)
_MOST_LOST = 0.1
_FLAT_LAPSE_K_M = 0.0048
_SPEED_UNITS = ("kt", "km/h", "mph", "m/s")
_LENGTH_UNITS = ("ft", "m")
_FLOW_UNITS = ("US gal/h", "L/h")
_PRESSURE_UNITS = ("inHg", "psi")


@dataclass
class _Review:
    """A log, its rows in flight, and what was found."""

    log: Log
    place_of: Callable[[str], Place]
    units: Mapping[str, Unit]
    flying: Mask
    collector: Collector
    doubts: list[Repair]

    def get(self, *names: str) -> Array | None:
        """Return the first of the channels that the log has, in flight alone."""
        for name in names:
            values = self.log.get(name)
            if values is not None:
                return np.where(self.flying, values, np.nan)
        return None

    def stop(self, channel: str, found: str, expected: str) -> None:
        self.collector.add(self.place_of(channel), found, expected)

    def doubt(self, channel: str, found: str) -> None:
        log, place = self.log, self.place_of(channel)
        at = (float(log.time_s[0]), float(log.time_s[-1])), (int(log.lines[0]), int(log.lines[-1]))
        why = f"kept, but {found}: is its unit right ({place})?"
        self.doubts.append(Repair("unlikely reading", channel, *at[0], at[1], len(log), why))

    def would_fit(self, channel: str, ratio: float, labels: tuple[str, ...]) -> str:
        """Return which unit would bring a channel that reads `ratio` of the truth right, in words."""
        mapped = self.units.get(channel)
        for unit in (find_unit(label, mapped.dimension) for label in labels) if mapped else ():
            fits = mapped is not None and abs(mapped.factor - ratio * unit.factor) < 0.1 * ratio * unit.factor
            if mapped is not None and unit != mapped and fits:
                return f"; {unit.label} would fit better than {mapped.label}"
        return ""


def reviewed(log: Log, place_of: Callable[[str], Place], units: Mapping[str, Unit]) -> Log:
    """Return the log with its doubtful channels among its repairs.

    Parameters
    ----------
    log
        A repaired log.
    place_of
        Gives where the flight file says a channel's unit.
    units
        The unit of each channel that the flight file gives one.

    Raises
    ------
    Problems
        For each channel that contradicts another.
    """
    review = _Review(log, place_of, units, in_flight(log), Collector(), [])
    if int(review.flying.sum()) >= FEWEST:
        for check in (
            _altitudes, _speeds, _recorded_true, _temperature, _fuel_flow, _fuel_used, _manifold,
            _vertical_speed,
        ):  # fmt: skip
            with np.errstate(all="ignore"):
                check(review)
    _impossible(review)
    review.collector.raise_any()
    return replace(log, repairs=(*log.repairs, *review.doubts)) if review.doubts else log


def in_flight(log: Log) -> Mask:
    """Return the rows faster than half of the fast ones, whatever unit they are in."""
    for name in ("ground_speed", "indicated_airspeed", "true_airspeed"):
        values = log.get(name)
        if values is not None and np.nanpercentile(values, 95) > _SLOWEST_M_S:
            with np.errstate(invalid="ignore"):
                return np.asarray(values > 0.5 * np.nanpercentile(values, 95))
    return np.zeros(len(log), bool)


def _span(values: Array) -> float:
    low, high = np.percentile(values, (10, 90))
    return float(high - low)


def _altitudes(review: _Review) -> None:
    pressure, satellite = review.get("pressure_altitude"), review.get("gps_altitude")
    if pressure is None or satellite is None:
        return
    known = np.isfinite(pressure) & np.isfinite(satellite)
    if int(known.sum()) < FEWEST:
        return
    pressure, satellite = pressure[known], satellite[known]
    apart, height = float(np.median(pressure - satellite)), float(np.median(satellite))
    spans = _span(pressure), _span(satellite)
    ratio = spans[0] / spans[1] if spans[1] > 0 else np.inf
    hint = review.would_fit("pressure_altitude", ratio, _LENGTH_UNITS)
    if max(spans) > _LEAST_SPAN_M and not _SPANS[0] < ratio < _SPANS[1]:
        review.stop(
            "pressure_altitude",
            f"pressure altitude changes by {spans[0] / ft:,.0f} ft where GPS altitude changes by "
            f"{spans[1] / ft:,.0f} ft{hint}",
            "expected changes that agree; is the unit of one of them wrong?",
        )
    elif abs(apart) > SETTINGS_M + _AIR_SHARE * abs(height):
        review.stop(
            "pressure_altitude",
            f"pressure altitude lies {apart / ft:+,.0f} ft from GPS altitude",
            f"expected at most {(SETTINGS_M + _AIR_SHARE * abs(height)) / ft:,.0f} ft, which no altimeter "
            "setting exceeds; is the unit of one of them wrong?",
        )


def _speeds(review: _Review) -> None:
    _ground_speed(review)
    if not any(p.place == review.place_of("ground_speed") for p in review.collector.problems):
        _airspeeds(review)


def _ground_speed(review: _Review) -> None:
    """Hold ground speed against positions, and see whether airspeed fits them better."""
    log, ground = review.log, review.get("ground_speed")
    latitude, longitude = log.get("latitude"), log.get("longitude")
    if (
        ground is None
        or latitude is None
        or longitude is None
        or any(r.kind == "derived" for r in log.repairs)
    ):
        return
    after = np.minimum(np.searchsorted(log.time_s, log.time_s + 10.0), len(log) - 1)
    seconds = log.time_s[after] - log.time_s
    meridian, parallel = radii_m(float(np.nanmedian(latitude)))
    way = np.hypot((latitude[after] - latitude) * meridian, (longitude[after] - longitude) * parallel)
    speed = np.where((seconds > 5) & (seconds < 20), way / seconds, np.nan)
    known = np.isfinite(speed) & np.isfinite(ground) & (speed > 0)
    if int(known.sum()) < FEWEST:
        return
    ratio = float(np.median(ground[known] / speed[known]))
    off = float(np.median(np.abs(ground - speed)[known]))
    fits = _OF_POSITIONS[0] < ratio < _OF_POSITIONS[1]
    hint = "" if fits else review.would_fit("ground_speed", ratio, _SPEED_UNITS)
    air = review.get("indicated_airspeed", "true_airspeed")
    both = known & np.isfinite(air) if air is not None else np.zeros(len(log), bool)
    by_air = float(np.median(np.abs(air - speed)[both])) if air is not None and both.any() else np.inf
    if not hint and off > _SWAPPED_M_S and by_air < 0.25 * off:
        review.stop(
            "ground_speed",
            f"ground speed lies {off / kt:.0f} kt from the speed of the positions, which the airspeed fits",
            "expected ground speed to fit; are the columns of airspeed and ground speed swapped?",
        )
    elif not fits:
        review.stop(
            "ground_speed",
            f"ground speed is {ratio:.2f} of the speed of the positions{hint}",
            f"expected {_OF_POSITIONS[0]} to {_OF_POSITIONS[1]}; is the unit right?",
        )


def _airspeeds(review: _Review) -> None:
    ground = review.get("ground_speed")
    for channel in ("indicated_airspeed", "true_airspeed") if ground is not None else ():
        air = review.get(channel)
        if air is None or ground is None:
            continue
        if channel == "indicated_airspeed":
            air = air / np.sqrt(_density_ratio(review.get("pressure_altitude", "gps_altitude")))
        known = np.isfinite(air) & np.isfinite(ground) & (air > 0) & (ground > 0)
        if int(known.sum()) < FEWEST:
            continue
        ratio = _on_opposite_courses(air, ground, review.get("ground_track"), known)
        if ratio is None:
            _against_wind(review, channel, air[known], ground[known])
            continue
        hint = review.would_fit(channel, ratio, _SPEED_UNITS)
        said = f"it is {ratio:.2f} of what ground speeds on opposite courses show{hint}"
        if not _IMPOSSIBLE[0] < ratio < _IMPOSSIBLE[1]:
            expected = f"expected {_IMPOSSIBLE[0]} to {_IMPOSSIBLE[1]}; is the unit right?"
            review.stop(channel, f"the airspeed cannot be: {said}", expected)
        elif not _UNLIKELY[0] < ratio < _UNLIKELY[1]:
            review.doubt(channel, said)


def _recorded_true(review: _Review) -> None:
    """Hold indicated airspeed against the true airspeed that the recorder worked out."""
    air, true = review.get("indicated_airspeed"), review.get("true_airspeed")
    altitude = review.get("pressure_altitude", "gps_altitude")
    if air is None or true is None or altitude is None:
        return
    ratio = air / np.sqrt(_density_ratio(altitude)) / true
    known = np.isfinite(ratio) & (true > _SLOWEST_M_S)
    if int(known.sum()) < FEWEST:
        return
    median = float(np.median(ratio[known]))
    said = f"it gives {median:.2f} of the true airspeed recorded"
    said += review.would_fit("indicated_airspeed", median, _SPEED_UNITS)
    if not _OF_TRUE_IMPOSSIBLE[0] < median < _OF_TRUE_IMPOSSIBLE[1]:
        expected = f"expected {_OF_TRUE_IMPOSSIBLE[0]} to {_OF_TRUE_IMPOSSIBLE[1]}; is the unit right?"
        review.stop("indicated_airspeed", f"the airspeed cannot be: {said}", expected)
    elif not _OF_TRUE[0] < median < _OF_TRUE[1]:
        review.doubt("indicated_airspeed", said)


def _density_ratio(altitude_m: Array | None) -> Array | float:
    """Return the standard atmosphere's density ratio (U.S. Standard Atmosphere, 1976, eq. 33a and 42)."""
    if altitude_m is None:
        return 1.0
    exponent = STANDARD_GRAVITY_M_S2 / (AIR_GAS_CONSTANT_J_KG_K * TROPOSPHERE_LAPSE_K_M) - 1
    base = 1 - TROPOSPHERE_LAPSE_K_M * np.clip(altitude_m, -1000, 11000) / SEA_LEVEL_TEMPERATURE_K
    return np.asarray(np.nan_to_num(base, nan=1.0) ** exponent)


def _on_opposite_courses(air: Array, ground: Array, track: Array | None, known: Mask) -> float | None:
    """Return airspeed over ground speed, wind cancelled by opposite courses; None where there are none."""
    if track is None:
        return None
    known = known & np.isfinite(track)
    sector = np.where(known, np.floor(np.nan_to_num(track) / (np.pi / 4)), -1) % 8
    means = {}
    for i in range(8):
        inside = known & (sector == i)
        if int(inside.sum()) >= FEWEST // 2:
            means[i] = float(np.median(ground[inside] / air[inside]))
    pairs = [(means[i] + means[i + 4]) / 2 for i in range(4) if i in means and i + 4 in means]
    return 1 / float(np.mean(pairs)) if pairs else None


def _against_wind(review: _Review, channel: str, air: Array, ground: Array) -> None:
    """Judge airspeed and ground speed of one direction: what lies between them is wind, or a unit."""
    ratio, apart = float(np.median(air / ground)), float(np.median(air - ground))
    said = f"its median is {ratio:.2f} of ground speed, {abs(apart) / kt:.0f} kt apart"
    said += review.would_fit(channel, ratio, _SPEED_UNITS)
    if _IMPOSSIBLE[0] < ratio < _IMPOSSIBLE[1]:
        return
    if abs(apart) > _MOST_WIND_M_S:
        expected = f"expected a wind of at most {_MOST_WIND_M_S / kt:.0f} kt; is the unit right?"
        review.stop(channel, f"the airspeed cannot be: {said}", expected)
    else:
        review.doubt(channel, said)


def _temperature(review: _Review) -> None:
    air = review.get("outside_air_temperature")
    altitude = review.get("pressure_altitude", "gps_altitude")
    if air is None or altitude is None:
        return
    known = np.isfinite(air) & np.isfinite(altitude)
    if int(known.sum()) < FEWEST:
        return
    air, altitude = air[known], altitude[known]
    standard = SEA_LEVEL_TEMPERATURE_K - TROPOSPHERE_LAPSE_K_M * np.clip(altitude, -1000, 11000)
    above = float(np.median(air - standard))
    lapse = -float(np.polyfit(altitude, air, 1)[0]) if _span(altitude) > 2 * _LEAST_SPAN_M else 0.0
    said = f"its median is {above:+.0f} °C from the standard atmosphere"
    mapped = review.units.get("outside_air_temperature")
    if abs(above) > _TOO_WARM_K:
        expected = f"expected at most {_TOO_WARM_K:.0f} °C from it; is the unit right?"
        review.stop("outside_air_temperature", f"the temperature cannot be: {said}", expected)
    elif above > 0.8 * _WARM_K and lapse > _DRY_LAPSE_K_M:
        said += f" and it falls by {1000 * lapse:.1f} °C in 1,000 m"
        expected = "expected at most 9.8 °C, as in dry air that rises; are these °F?"
        review.stop("outside_air_temperature", f"the temperature cannot be: {said}", expected)
    elif abs(above) > _WARM_K:
        review.doubt("outside_air_temperature", said)
    elif mapped is not None and mapped.label == "°F" and above < -_COLD_F_K:
        as_celsius = float(np.median(celsius(mapped.from_si(air)) - standard))
        # read as °F, Celsius falls by 1.8 times less; where height does not tell, as °C must be far likelier
        if abs(as_celsius) < (-above if lapse else -above / 2) and lapse < _FLAT_LAPSE_K_M:
            review.doubt("outside_air_temperature", f"{said}, and {as_celsius:+.0f} °C read as °C")


def _fuel_flow(review: _Review) -> None:
    """Say where a fuel flow is no light airplane's."""
    for channel, unit, most in _FLOWS:
        values = review.get(channel)
        if values is not None and np.isfinite(values).any():
            median = find_unit(unit).from_si(float(np.nanmedian(values)))
            if median > most:
                review.doubt(channel, f"its median of {median:,.0f} {unit} is no light airplane's")
    if not review.doubts or review.doubts[-1].channel != "fuel_flow":
        _way_per_fuel(review)


def _way_per_fuel(review: _Review) -> None:
    """Say where the way that fuel lasts for is no light airplane's."""
    flow, speed = review.get("fuel_flow"), review.get("ground_speed", "true_airspeed", "indicated_airspeed")
    if flow is None or speed is None:
        return
    known = np.isfinite(flow) & np.isfinite(speed) & (flow > 0)
    if int(known.sum()) < FEWEST:
        return
    way = float(np.median(speed[known]) / np.median(flow[known]))
    if not _WAY_PER_FUEL[0] < way < _WAY_PER_FUEL[1]:
        said = f"{way * us_gal / nmi:.1f} nmi to the US gal are no light airplane's"
        ratio = 1 / 3.785 if way > _WAY_PER_FUEL[1] else 3.785
        review.doubt("fuel_flow", said + review.would_fit("fuel_flow", ratio, _FLOW_UNITS))


def _fuel_used(review: _Review) -> None:
    """Hold the fuel that its flow says was used against what the tanks are recorded to have lost."""
    log = review.log
    for tank, channel, unit in _FUELS:
        left, flow = log.get(tank), log.get(channel)
        if left is None or flow is None:
            continue
        known = np.isfinite(left) & np.isfinite(flow)
        if int(known.sum()) < 10 * FEWEST:
            continue
        first, last = (float(np.median(part)) for part in (left[known][:FEWEST], left[known][-FEWEST:]))
        if first - last < _LEAST_USED * first:
            continue
        used = float(np.trapezoid(flow[known], log.time_s[known]))
        ratio, shown = used / (first - last), find_unit(unit)
        said = (
            f"by its flow {shown.from_si(used):.1f} {unit} were used, by the fuel recorded "
            f"{shown.from_si(first - last):.1f} {unit}"
        )
        if not _USED_IMPOSSIBLE[0] < ratio < _USED_IMPOSSIBLE[1]:
            review.stop(channel, said, "expected the two to agree; is the unit of one of them wrong?")
        elif not _USED_SHARES[0] < ratio < _USED_SHARES[1]:
            review.doubt(channel, said)


def _manifold(review: _Review) -> None:
    """Say where manifold pressure at the most power fits the air's in another unit and not in its own."""
    pressure, altitude = review.get("manifold_pressure"), review.get("pressure_altitude", "gps_altitude")
    mapped = review.units.get("manifold_pressure")
    if pressure is None or altitude is None or mapped is None:
        return
    share = pressure / _air_pressure(altitude)
    known = share[np.isfinite(share)]
    most = float(np.percentile(known, 95)) if len(known) >= FEWEST else 1.0
    if _OF_AMBIENT[0] < most < _OF_AMBIENT[1]:
        return
    for unit in (find_unit(label, mapped.dimension) for label in _PRESSURE_UNITS):
        if unit != mapped and _FITTING[0] < most * unit.factor / mapped.factor < _FITTING[1]:
            said = f"at the most power it is {most:.2f} of the air's pressure"
            review.doubt("manifold_pressure", f"{said}; {unit.label} would fit better than {mapped.label}")


def _air_pressure(altitude_m: Array) -> Array:
    """Return the standard atmosphere's pressure (U.S. Standard Atmosphere, 1976, eq. 33a)."""
    exponent = STANDARD_GRAVITY_M_S2 / (AIR_GAS_CONSTANT_J_KG_K * TROPOSPHERE_LAPSE_K_M)
    base = 1 - TROPOSPHERE_LAPSE_K_M * np.clip(altitude_m, -1000, 11000) / SEA_LEVEL_TEMPERATURE_K
    return np.asarray(SEA_LEVEL_PRESSURE_PA * base**exponent)


def _impossible(review: _Review) -> None:
    """Say of which channels so many readings were impossible that the unit may be wrong."""
    rows = int(review.log.lines[-1] - review.log.lines[0]) + 1
    for channel in review.log.channels:
        lost = sum(
            r.count for r in review.log.repairs if (r.kind, r.channel) == ("impossible value", channel)
        )
        if lost > _MOST_LOST * rows:
            review.doubt(channel, f"{counted(lost, 'reading')} of it cannot be")


def _vertical_speed(review: _Review) -> None:
    speed, altitude = review.get("vertical_speed"), review.get("pressure_altitude", "gps_altitude")
    if speed is None or altitude is None:
        return
    time_s = review.log.time_s
    after = np.minimum(np.searchsorted(time_s, time_s + 10.0), len(time_s) - 1)
    seconds = time_s[after] - time_s
    rate = np.where((seconds > 5) & (seconds < 20), (altitude[after] - altitude) / seconds, np.nan)
    known = np.isfinite(rate) & np.isfinite(speed)
    if int(known.sum()) < FEWEST:
        return
    spans = _span(speed[known]), _span(rate[known])
    if spans[1] > 1.0 and spans[0] > 0 and not 0.1 < spans[0] / spans[1] < 10:
        review.stop(
            "vertical_speed",
            f"vertical speed varies by {spans[0] / fpm:,.0f} ft/min where altitude says "
            f"{spans[1] / fpm:,.0f} ft/min",
            "expected the two to agree; is the unit right?",
        )
