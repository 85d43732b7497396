"""Evaluation flights of invented airplanes, flown by a general flight dynamics library, with their truth.

The equations of motion, the earth, the atmosphere, density altitude, pressure
altitude and calibrated airspeed are the library's; nothing here uses the
physics that the flights are meant to judge. A `Scenario` says what is flown in
which air with which instruments and faults; `fly` flies it; the result carries
the recorder's file, the flight file and what really happened.
"""
