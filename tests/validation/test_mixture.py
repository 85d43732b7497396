"""The general chart of mixtures against the published points that it is drawn through."""

import pytest

from flyoff.physics import mixture
from helpers.printed import Printed


@pytest.mark.source("sparrow", where="conclusion 3, by the report's abstract")
def test_power_at_the_least_consumption(check):
    check("power at best economy over best power", mixture.power_ratio("best economy"), Printed("0.95"))


@pytest.mark.source("sparrow", where="conclusion 1: most power from 0.07 to 0.08")
def test_fuel_and_air_at_most_power(check):
    ratio = mixture.MIXTURES["best power"].fuel_air_ratio
    check(
        "fuel over air at best power", ratio, Printed("0.075", within=0.005, reason="a range of 0.07 to 0.08")
    )


@pytest.mark.source("sfte", where="ch. 10, fuel over air by weight")
@pytest.mark.parametrize(
    ("name", "printed", "within"), [("best power", "0.0775", 0.0025), ("best economy", "0.0625", 0.0)]
)
def test_fuel_and_air(check, name, printed, within):
    wider = {"within": within, "reason": "0.075 to 0.080"} if within else {}
    check(f"fuel over air, {name}", mixture.MIXTURES[name].fuel_air_ratio, Printed(printed, **wider))
