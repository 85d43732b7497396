"""Engine power and fuel against published charts and test series."""

import pytest

from flyoff.core.units import ft, hour, hp, us_gal
from flyoff.physics import atmosphere, engine, fuel
from helpers.printed import Printed


@pytest.mark.source(
    "sfte", where="ch. 10, chart of full-throttle power, point A from 197 hp", status="opened chart"
)
def test_full_throttle_chart(check):
    altitude = 4600 * ft
    power = engine.full_throttle_power(197.0, altitude, atmosphere.temperature_at_altitude(altitude))
    printed = Printed("170", "hp", within=2.5, reason="1 hp and 150 ft of chart reading at each end")
    check("full-throttle power at 4,600 ft", power, printed)


@pytest.mark.source("sfte", where="Fig. 10.2a, operating point C", status="opened chart")
def test_chart_power(check):
    power = engine.chart_power(2500 * ft, 158.0, 170.0, 4600 * ft)
    check("part-throttle power at 2,500 ft", power, Printed("165", "hp"))


@pytest.mark.source("sfte", where="ch. 10.2, 1 % per 6 °C")
@pytest.mark.parametrize(
    ("deviation_k", "printed"), [(6, "0.99"), (12, "0.98"), (-6, "1.01"), (-20, "1.0333")]
)
def test_temperature_rule(check, deviation_k, printed):
    ratio = engine.power_at_temperature(1.0, 0.0, 288.15 + deviation_k)
    within = 0.0035 if abs(deviation_k) == 20 else 0.005
    reason = (
        "the rule and the root differ by 0.3 % at −20 °C"
        if abs(deviation_k) == 20
        else "a rule in whole per cent"
    )
    check(f"power ratio at {deviation_k:+d} °C", ratio, Printed(printed, within=within, reason=reason))


@pytest.mark.source("lop", where="power per fuel flow by compression ratio")
@pytest.mark.parametrize(("ratio", "printed"), [(8.5, "14.9"), (7.5, "13.7"), (7.3, "13.53"), (8.0, "14.3")])
def test_lean_of_peak_power(check, ratio, printed):
    power_hp = float(fuel.lean_of_peak_power(us_gal / hour, ratio)) / hp
    wider = (
        {"within": 0.04, "reason": "the straight line through the series leaves 0.03"} if ratio == 7.3 else {}
    )
    check(f"hp per US gal/h at {ratio}", power_hp, Printed(printed, "hp h/US gal", **wider))


@pytest.mark.source("gagg-farrar", where="the law as (σ − 0.117)/0.883 and 1.132 σ − 0.132")
@pytest.mark.parametrize("what", ["no power", "slope", "offset"])
def test_published_forms_of_the_law(check, what):
    slope = float(engine.gagg_farrar_ratio(1.0) - engine.gagg_farrar_ratio(0.5)) / 0.5
    offset = slope * 0.5 - float(engine.gagg_farrar_ratio(0.5))
    computed = {"no power": offset / slope, "slope": slope, "offset": offset}[what]
    printed = {"no power": "0.117", "slope": "1.132", "offset": "0.132"}[what]
    check(f"Gagg and Farrar, {what}", computed, Printed(printed))
    check("Gagg and Farrar, share at sea level", engine.gagg_farrar_ratio(1.0), Printed("1.000"))
