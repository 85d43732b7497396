"""The fitted airplane against a textbook, handbooks' tables and sheets, and facts of the trade."""

import itertools

import numpy as np
import pytest

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.draws import Draws
from flyoff.core.units import fpm, ft, hour, hp, inch, kt, lb, minute, nmi, rpm, us_gal
from flyoff.model import envelope, performance, propulsion
from flyoff.model.fit import fit_observations
from flyoff.model.handbook import Handbook
from flyoff.model.parameters import Known, Model, parameters_of
from flyoff.model.performance import standard_air
from flyoff.physics.drag import effective_span
from helpers.airplanes import KEYS, edited, handbook_fit
from helpers.invented import CHART, observe
from helpers.printed import Printed

GRAPH = "read off a graph by the source"
AREA_M2, SPAN_M, WEIGHT_N = 16.165, 10.912, 13127.5


def textbook():
    """Return the textbook's light single: without induced loss its propeller has the constant 0.8."""
    known = Known(
        "textbook", 1, 230 * hp, 45.0, "spark", False, None, "constant speed", 3, 1000.0, AREA_M2, SPAN_M,
        False, WEIGHT_N / STANDARD_GRAVITY_M_S2, 2.0025 / STANDARD_GRAVITY_M_S2 / (hp * hour),
    )  # fmt: skip
    values = {p.name: p.prior for p in parameters_of(known)}
    span_m = float(effective_span(SPAN_M, 0.8))
    values.update(drag_area_m2=0.025 * AREA_M2, effective_span_m=span_m, glide_drag_factor=1.0)
    values.update(figure_of_merit=0.8, blade_drag_ratio=0.0)
    values.update(low_power_consumption_factor=1.0, high_power_consumption_factor=1.0)
    return Model(known, values)


SEA_LEVEL = standard_air(0.0, WEIGHT_N / STANDARD_GRAVITY_M_S2)


@pytest.mark.source("aif", where="example 6.3, maximum speed at sea level", status="from memory")
def test_fastest(check):
    speed = float(performance.full_throttle_speed(textbook(), SEA_LEVEL))
    check("maximum speed, fitted form", speed / ft, Printed("265", "ft/s", within=4, reason=GRAPH))


@pytest.mark.source("aif", where="example 6.7, maximum rate of climb", status="from memory")
def test_climb(check):
    rate = float(envelope.best_rate_of_climb(textbook(), SEA_LEVEL).value) / fpm
    printed = Printed("1500", "ft/min", within=20, reason="the source says about")
    check("maximum rate of climb, fitted form", rate, printed)


@pytest.mark.source("aif", where="example 6.13, (L/D)max read from its graph")
def test_glide(check):
    ratio, _ = performance.best_glide(textbook(), SEA_LEVEL.mass_kg)
    check("best glide ratio, fitted form", ratio, Printed("13.62", within=0.02, reason=GRAPH))


@pytest.mark.source("carson", where="ratio of Carson speed to best glide speed, 3^(1/4)")
def test_carson(check):
    """With constant efficiency and consumption the speeds sought are those of the formulas."""
    glide = float(performance.best_glide(textbook(), SEA_LEVEL.mass_kg)[1])
    found = Printed("1.31607", within=0.005, reason="sought on a grid of 60 speeds with a parabola")
    check("best trade over best-glide speed", envelope.trade_speed(textbook(), SEA_LEVEL)[1] / glide, found)
    check(
        "range speed over best-glide speed",
        envelope.range_speed(textbook(), SEA_LEVEL)[1] / glide,
        Printed("1"),
    )
    least = envelope.endurance_speed(textbook(), SEA_LEVEL)[1] / glide
    check("endurance speed over best-glide speed", least, Printed("0.76"))


BLADES = [
    (beta, j, f"{eta:.3f}", cp)
    for beta, (advances, etas, coefficients) in CHART.items()
    for j, eta, cp in zip(advances, etas, coefficients, strict=True)
    if 0.45 <= j <= 1.3 and cp < 0.12 and j <= {15: 0.65, 20: 0.85, 25: 1.05, 30: 1.28, 35: 1.5}[beta]
]


@pytest.mark.source("n640", where="three blades 5868-9, advance ratios of climb and cruise up to the peaks")
@pytest.mark.parametrize(("beta", "advance", "printed", "cp"), BLADES)
def test_constant_speed_propeller(check, beta, advance, printed, cp):
    """Two numbers, 0.868 and 0.036, follow the blades through climb and cruise."""
    known = Known("blades", 1, 1.0, 1.0, "spark", False, None, "constant speed", 3, 1.0, 1.0, 1.0, False, 1.0)
    model = Model(known, {"figure_of_merit": 0.868, "blade_drag_ratio": 0.036})
    efficiency = float(propulsion.thrust_power(model, cp, 1.0, advance, 1.0)) / cp
    limit = Printed(printed, within=0.025, reason="two numbers for seven blade angles, read off a chart")
    check(f"efficiency at {beta}°, J {advance}", efficiency, limit)


@pytest.mark.source("n640", where="three blades 5868-9, power coefficient at 15° to 30°")
@pytest.mark.parametrize("beta", [15, 20, 25, 30])
def test_fixed_pitch_power_coefficient(check, beta):
    """The power coefficient falls with the cube of the advance ratio."""
    advances, _, coefficients = (np.array(column) for column in CHART[beta])
    terms = np.stack([np.ones_like(advances), -(advances**3)], axis=1)
    found = np.linalg.lstsq(terms, coefficients, rcond=None)[0]
    for advance, coefficient, fitted in zip(advances, coefficients, terms @ found, strict=True):
        printed = Printed(f"{coefficient:.4f}", within=0.002, reason="read off a chart to 0.002")
        check(f"power coefficient at {beta}°, J {advance}", fitted, printed)


# percent power, pressure altitude in feet, knots true
TABLE = [
    (75, 0, "112"), (75, 4000, "116"), (65, 0, "106"), (65, 8000, "112"), (55, 4000, "99"), (55, 8000, "102"),
]  # fmt: skip
POH_150 = Known(
    "poh-150", 1, 150 * hp, 2700 * rpm, "spark", False, None, "fixed pitch", 2, 74 * inch, 174 * ft**2,
    35.8 * ft, False, 2300 * lb,
)  # fmt: skip
SPANNING = [
    rows for rows in itertools.combinations(range(6), 4)
    if {75, 55} <= {TABLE[i][0] for i in rows}
]  # fmt: skip


def _row(row):
    percent, altitude_ft, speed = row
    air = standard_air(altitude_ft * ft, 2300 * lb)
    value = float(speed) * kt
    u = np.hypot(0.5 * kt / 3**0.5, 0.4 * value * 0.5 / percent / 3**0.5)
    where = (altitude_ft * ft, air.temperature_k)
    return observe("speed at power", value, u, where, 2300 * lb, "handbook", power_ratio=percent / 100)


@pytest.mark.source("poh-150", where="Figure 4-3, six of nine points; span and propeller from memory")
@pytest.mark.parametrize("rows", SPANNING)
def test_cruise_table_fitted_on_part_predicts_the_rest(check, rows):
    """Four rows that span the powers give the two others within 1 kt."""
    fit = fit_observations(POH_150, [_row(TABLE[i]) for i in rows], draws=Draws(50))
    for percent, altitude_ft, speed in (row for i, row in enumerate(TABLE) if i not in rows):
        air = standard_air(altitude_ft * ft, 2300 * lb)
        found = float(performance.level_speed(fit.nominal, percent / 100 * 150 * hp, air))
        printed = Printed(speed, "kt", within=1.0, reason="predicted from four other rows, each ± 0.5 kt")
        check(f"{percent} % at {altitude_ft:,} ft from rows {rows}", found / kt, printed)


POH_160 = Known(
    "poh-160", 1, 160 * hp, 2700 * rpm, "spark", False, None, "fixed pitch", 2, 75 * inch, 174 * ft**2,
    35.8 * ft, False, 2300 * lb,
)  # fmt: skip
POH_195 = Known(
    "poh-195", 1, 195 * hp, 2600 * rpm, "spark", False, None, "constant speed", 2, 76 * inch, 174 * ft**2,
    35.8 * ft, False, 2550 * lb,
)  # fmt: skip
SHEETS = {
    "poh-160": (POH_160, {"speed": "125", "cruise": "122", "climb": "770", "ceiling": "14200"}, (0.75, 8000)),
    "poh-195": (POH_195, {"speed": "133", "cruise": "130", "climb": "870", "ceiling": "17000"}, (0.80, 6000)),
}


def _sheet_observations(known, sheet, cruise):
    mass, (share, cruise_ft) = known.takeoff_mass_kg, cruise

    def at(altitude_ft):
        air = standard_air(altitude_ft * ft, mass)
        return altitude_ft * ft, air.temperature_k

    knot, climb_step = 0.5 * kt / 3**0.5, 5 * fpm / 3**0.5
    book = (mass, "handbook")
    ceiling_ft = float(sheet["ceiling"])
    return {
        "speed": observe("full-throttle speed", float(sheet["speed"]) * kt, knot, at(0), *book),
        "cruise": observe(
            "speed at power", float(sheet["cruise"]) * kt, knot, at(cruise_ft), *book, power_ratio=share
        ),
        "climb": observe("rate of climb", float(sheet["climb"]) * fpm, climb_step, at(0), *book),
        "ceiling": observe("rate of climb", 100 * fpm, 5 * fpm, at(ceiling_ft), *book),
    }


def _sheet_values(fit, cruise):
    known, model = fit.known, fit.model
    mass, (share, cruise_ft) = known.takeoff_mass_kg, cruise
    level = standard_air(cruise_ft * ft, mass)
    return {
        "speed": performance.full_throttle_speed(model, standard_air(0.0, mass)) / kt,
        "cruise": performance.level_speed(model, share * known.rated_power_w, level) / kt,
        "climb": envelope.best_rate_of_climb(model, standard_air(0.0, mass)).value / fpm,
        "ceiling": np.asarray(envelope.ceilings(model, mass)[0]) / ft,
    }


UNITS = {"speed": "kt", "cruise": "kt", "climb": "ft/min", "ceiling": "ft"}
HALF_DIGIT = {"speed": 0.5, "cruise": 0.5, "climb": 5.0, "ceiling": 50.0}


def _compare_sheet(check, key):
    """The sheet fitted as a whole comes out; a value left out too, where the others determine it to 3 %."""
    known, sheet, cruise = SHEETS[key]
    observations = _sheet_observations(known, sheet, cruise)
    whole = _sheet_values(fit_observations(known, list(observations.values()), draws=Draws(50)), cruise)
    for name, text in sheet.items():
        near = HALF_DIGIT[name] + 0.03 * float(text)
        printed = Printed(text, UNITS[name], within=near, reason="rounding and 3 %")
        check(f"{key}: {name}, fitted with the others", whole[name][0], printed)
        others = [o for other, o in observations.items() if other != name]
        found = _sheet_values(fit_observations(known, others, draws=Draws(400)), cruise)[name]
        low, high = np.nanquantile(found[1:], [0.025, 0.975])
        if (high - low) / 2 < 0.03 * float(text):
            check(f"{key}: {name}, from the others alone", found[0], printed)
        else:  # the sheet does not determine it: the band must say so and hold the printed value
            half = max((high - low) / 2, HALF_DIGIT[name]) * 1.35
            wide = Printed(text, UNITS[name], within=half, reason="99 % of the model's own band")
            check(f"{key}: {name}, not determined by the others", found[0], wide)


@pytest.mark.source("poh-160", where="specification page; area and span from memory")
def test_sheet_with_fixed_pitch(check):
    _compare_sheet(check, "poh-160")


@pytest.mark.source("poh-195", where="specification page; area and span from memory")
def test_sheet_with_constant_speed(check):
    _compare_sheet(check, "poh-195")


CLIMB = """pressure altitude [ft],time [min],fuel [gal],distance [nmi]
0,0,0,0
2000,3,0.8,4
5500,9,2.0,11.5
"""


@pytest.mark.source("climb-page", where="2,000 to 5,500 ft; the start at sea level is 0 of each")
def test_climb_between_two_altitudes_of_a_table(check):
    """A table counts from sea level: the climb from an airport is what lies between two of its rows."""
    handbook = Handbook(edited("kattun", "climb.csv", lambda _: CLIMB), 720.0, Draws(50))
    found = handbook.climb(2000 * ft, 5500 * ft, 0.0, 3150 * lb)
    check("time", found.time.si / minute, Printed("6", "min"))
    check("fuel", found.fuel.si / 720.0 / us_gal, Printed("1.2", "US gal"))
    check("distance", found.distance.si / nmi, Printed("7.5", "nmi"))


CONSUMPTIONS = {
    "vadmel": ("0.37", 0.03),
    "kattun": ("0.43", 0.03),
    "musselin": ("0.42", 0.03),
    "damast": ("0.45", 0.03),
}


@pytest.mark.source("practice", where="specific consumption in cruise, lb/hp/h")
@pytest.mark.parametrize("key", KEYS)
def test_specific_consumption(check, key):
    """0.40 for an efficient injected engine, mid 0.4s for most, below for compression ignition."""
    fit = handbook_fit(key)
    found = float(performance.specific_consumption(fit.nominal, 0.65 * fit.known.rated_power_w))
    text, near = CONSUMPTIONS[key]
    check(f"{key} at 65 %", found / (lb / hp / hour), Printed(text, "lb/hp/h", within=near, reason="a range"))


@pytest.mark.source(
    "practice", where="a normally aspirated airplane gains little above about 8,000 ft at 75 %"
)
@pytest.mark.parametrize("key", ["kattun", "musselin"])
def test_where_cruise_speed_peaks(check, key):
    fit = handbook_fit(key)
    mass = fit.known.takeoff_mass_kg
    peak = envelope.peak_altitude(fit.model, 0.75, mass)
    printed = Printed("8000", "ft", within=1000, reason="the trade says about")
    check(f"{key}: altitude of the fastest 75 % cruise", peak.pressure_altitude_m[0] / ft, printed)
    higher = envelope.cruise_speed(fit.model, 0.75, np.array([[12_000 * ft]]), mass)[0, 0]
    gain = (higher - peak.true_airspeed_m_s[0]) / kt
    lost = Printed("-3", "kt", within=4, reason="the trade says it gains little, or loses")
    check(f"{key}: speed gained from there to 12,000 ft", gain, lost)


@pytest.mark.source(
    "practice", where="a turbocharged airplane is slower low down and ahead above 8,000 to 10,000 ft"
)
def test_where_a_turbocharged_airplane_pulls_ahead(check):
    """The same airframe and power, with 45 kg and 3 % of drag for turbocharger and intercooler."""
    fit = handbook_fit("kattun")
    plain, known, mass = fit.nominal, fit.known, 1350.0
    turbocharged = Known(**{**vars(known), "turbocharged": True, "critical_altitude_m": 5000.0})
    values = {**plain.values, "critical_altitude_m": 5000.0, "drag_area_m2": 1.03 * plain["drag_area_m2"]}
    boosted = Model(turbocharged, values)
    altitudes_ft = np.arange(0, 14_001, 250.0)
    ahead = [
        float(
            envelope.cruise_speed(boosted, 0.75, h * ft, mass + 45)
            - envelope.cruise_speed(plain, 0.75, h * ft, mass)
        )
        for h in altitudes_ft
    ]
    assert ahead[0] < 0
    crossing = altitudes_ft[next(i for i, gain in enumerate(ahead) if gain > 0)]
    check("where it pulls ahead", crossing, Printed("9000", "ft", within=1000, reason="8,000 to 10,000 ft"))
