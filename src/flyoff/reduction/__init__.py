"""From a day's readings to points: true airspeed, wind, air data, calibration, and their uncertainties."""
