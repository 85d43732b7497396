"""Constants and unit factors as published: printed digits, whether the value is exactly that, the source."""

USSA = "U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562"
ICAO = "ICAO Doc 7488/3, 1993"
CONSTANTS = {
    "STANDARD_GRAVITY_M_S2": ("9.80665", True, f"{USSA}, Table 2"),
    "AIR_GAS_CONSTANT_J_KG_K": ("287.05287", True, f"{ICAO}, Table A"),
    "SEA_LEVEL_PRESSURE_PA": ("101325.0", True, f"{USSA}, Table 2"),
    "SEA_LEVEL_TEMPERATURE_K": ("288.15", True, f"{USSA}, Table 2"),
    "TROPOSPHERE_LAPSE_K_M": ("0.0065", True, f"{USSA}, Table 4"),
    "TROPOPAUSE_M": ("11000", True, f"{USSA}, Table 4"),
    "LOWER_STRATOSPHERE_TOP_M": ("20000", True, f"{USSA}, Table 4"),
    "HEAT_CAPACITY_RATIO": ("1.4", True, f"{USSA}, 1.3.9"),
    "SEA_LEVEL_DENSITY_KG_M3": ("1.2250", False, f"{USSA}, Table I at 0 m"),
    "SEA_LEVEL_SOUND_SPEED_M_S": ("340.294", False, f"{USSA}, Table III at 0 m"),
    "EARTH_RADIUS_M": ("6356766", True, f"{USSA}, 1.2.4"),
    "LOWEST_ALTITUDE_M": ("-2000", True, "own limit"),
    "SUTHERLAND_BETA_KG_M_S_K05": ("1.458E-6", True, f"{USSA}, Table 2"),
    "SUTHERLAND_TEMPERATURE_K": ("110.4", True, f"{USSA}, Table 2"),
    "AIR_MOLAR_MASS_KG_MOL": ("28.9644E-3", True, f"{USSA}, Table 2 (from memory)"),
    "WATER_MOLAR_MASS_KG_MOL": ("18.01528E-3", True, "IUPAC standard atomic weights (from memory)"),
}
SP811 = "NIST Special Publication 811 (2008), Appendix B.8 (from memory)"
UNITS = {
    "ft": ("0.3048", True, SP811),
    "inch": ("0.0254", True, SP811),
    "nmi": ("1852", True, SP811),
    "mi": ("1609.344", True, SP811),
    "lb": ("0.45359237", True, SP811),
    "g0": ("9.80665", True, SP811),
    "lbf": ("4.448222", False, SP811),
    "us_gal": ("3.785412E-3", False, SP811),
    "imp_gal": ("4.54609E-3", True, SP811),
    "litre": ("1E-3", True, SP811),
    "minute": ("60", True, SP811),
    "hour": ("3600", True, SP811),
    "kt": ("0.5144444", False, SP811),
    "mph": ("0.44704", False, SP811),
    "km_h": ("0.2777778", False, SP811),
    "fpm": ("0.00508", False, SP811),
    "hp": ("745.6999", False, SP811),
    "metric_hp": ("735.4988", False, SP811),
    "hpa": ("100", True, SP811),
    "psi": ("6894.757", False, SP811),
    "inhg": ("3386.389", True, SP811),
    "rpm": ("0.01666667", False, "SP 811: 1/60 s"),
    "degree": ("0.01745329", False, SP811),
}
