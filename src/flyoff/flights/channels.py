"""What a recorder may have recorded: our name, dimension and sane range of each channel."""

from dataclasses import dataclass

from flyoff.core.units import celsius, degree, fpm, ft, hour, hpa, inhg, kt, litre, rpm


@dataclass(frozen=True)
class Channel:
    """One recorded quantity.

    `low` and `high` bound what a single reading can be (SI); readings outside
    are no readings. `median_low` and `median_high` bound what the median of a
    flight of a light airplane can be: outside, the unit in the mapping is
    wrong. The bounds are common practice, no source.
    """

    name: str
    dimension: str
    unit: str
    low: float
    high: float
    median_low: float
    median_high: float
    circular: bool = False


SATELLITE = ("latitude", "longitude", "gps_altitude", "ground_speed", "ground_track")
_TURN = 360 * degree

_ALL = (
    Channel("latitude", "angle", "deg", -90 * degree, 90 * degree, -90 * degree, 90 * degree),
    Channel("longitude", "angle", "deg", -180 * degree, 180 * degree, -180 * degree, 180 * degree),
    Channel("gps_altitude", "length", "ft", -1500 * ft, 60000 * ft, -1500 * ft, 30000 * ft),
    Channel("ground_speed", "speed", "kt", 0.0, 600 * kt, 0.0, 400 * kt),
    Channel("ground_track", "angle", "deg", 0.0, _TURN, 0.0, _TURN, circular=True),
    Channel("indicated_airspeed", "speed", "kt", 0.0, 500 * kt, 0.0, 400 * kt),
    Channel("true_airspeed", "speed", "kt", 0.0, 600 * kt, 0.0, 400 * kt),
    Channel("pressure_altitude", "length", "ft", -2500 * ft, 60000 * ft, -2000 * ft, 30000 * ft),
    Channel(
        "outside_air_temperature", "temperature", "degC", celsius(-80), celsius(60), celsius(-60), celsius(50)
    ),
    Channel("magnetic_heading", "angle", "deg", 0.0, _TURN, 0.0, _TURN, circular=True),
    Channel("true_heading", "angle", "deg", 0.0, _TURN, 0.0, _TURN, circular=True),
    Channel("manifold_pressure", "pressure", "inHg", 0.0, 100 * inhg, 9 * inhg, 80 * inhg),
    Channel("rpm", "rotation_speed", "rpm", 0.0, 8000 * rpm, 300 * rpm, 6500 * rpm),
    Channel(
        "fuel_flow", "volume_flow", "gal/h", 0.0, 400 * litre / hour, 0.5 * litre / hour, 300 * litre / hour
    ),
    Channel("fuel_mass_flow", "mass_flow", "kg/h", 0.0, 300 / hour, 0.3 / hour, 250 / hour),
    Channel("fuel_remaining", "volume", "gal", 0.0, 2000 * litre, 0.0, 1500 * litre),
    Channel("fuel_mass", "mass", "kg", 0.0, 1600.0, 0.0, 1200.0),
    Channel("vertical_speed", "speed", "ft/min", -20000 * fpm, 20000 * fpm, -2500 * fpm, 2500 * fpm),
    Channel("altimeter_setting", "pressure", "hPa", 900 * hpa, 1080 * hpa, 930 * hpa, 1060 * hpa),
    Channel("power_percent", "ratio", "%", 0.0, 1.3, 0.05, 1.2),
    Channel("noise_level", "ratio", "%", 0.0, 1.0, 0.0, 1.0),
)

CHANNELS = {channel.name: channel for channel in _ALL}
"""Every channel by our name for it."""
