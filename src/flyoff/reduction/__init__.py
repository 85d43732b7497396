"""From a day's readings to points: true airspeed, wind, air data and calibration, with their uncertainties."""
