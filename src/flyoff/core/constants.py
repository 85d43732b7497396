"""Physical constants, each with its source."""

STANDARD_GRAVITY_M_S2 = 9.80665
"""[m/s²] U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562), Table 2."""

AIR_GAS_CONSTANT_J_KG_K = 287.05287
"""[J/(kg K)] ICAO Doc 7488/3 (1993), Manual of the ICAO Standard Atmosphere, Table A."""

SEA_LEVEL_PRESSURE_PA = 101325.0
"""[Pa] U.S. Standard Atmosphere, 1976, Table 2."""

SEA_LEVEL_TEMPERATURE_K = 288.15
"""[K] U.S. Standard Atmosphere, 1976, Table 2."""

TROPOSPHERE_LAPSE_K_M = 0.0065
"""[K/m] Fall of temperature with geopotential height to 11 km. U.S. Standard Atmosphere, 1976, Table 4."""

TROPOPAUSE_M = 11000.0
"""[m] Geopotential height of the tropopause. U.S. Standard Atmosphere, 1976, Table 4."""

LOWER_STRATOSPHERE_TOP_M = 20000.0
"""[m] Geopotential height to which the isothermal layer reaches. U.S. Standard Atmosphere, 1976, Table 4."""

HEAT_CAPACITY_RATIO = 1.4
"""[-] Ratio of specific heats of air. U.S. Standard Atmosphere, 1976, 1.3.9."""

SEA_LEVEL_DENSITY_KG_M3 = SEA_LEVEL_PRESSURE_PA / (AIR_GAS_CONSTANT_J_KG_K * SEA_LEVEL_TEMPERATURE_K)
"""[kg/m³] From the gas law at sea level; 1.2250 as printed in the tables."""

SEA_LEVEL_SOUND_SPEED_M_S = (HEAT_CAPACITY_RATIO * AIR_GAS_CONSTANT_J_KG_K * SEA_LEVEL_TEMPERATURE_K) ** 0.5
"""[m/s] Speed of sound at sea level; 340.294 as printed in the tables."""

EARTH_RADIUS_M = 6356766.0
"""[m] Radius that relates geometric to geopotential height. U.S. Standard Atmosphere, 1976, 1.2.4."""

LOWEST_ALTITUDE_M = -2000.0
"""[m] Lowest geopotential altitude that the physics accepts; own limit, the table reaches −5 km."""

SUTHERLAND_BETA_KG_M_S_K05 = 1.458e-6
"""[kg/(m s K^½)] Viscosity law of air. U.S. Standard Atmosphere, 1976, Table 2 and eq. 51."""

SUTHERLAND_TEMPERATURE_K = 110.4
"""[K] Sutherland's constant of air. U.S. Standard Atmosphere, 1976, Table 2 and eq. 51."""

AIR_MOLAR_MASS_KG_MOL = 28.9644e-3
"""[kg/mol] Mean molar mass of dry air at sea level. U.S. Standard Atmosphere, 1976, Table 2 (from memory)."""

WATER_MOLAR_MASS_KG_MOL = 18.01528e-3
"""[kg/mol] Molar mass of water. IUPAC, Standard Atomic Weights, 1997, Table 1 (from memory)."""
