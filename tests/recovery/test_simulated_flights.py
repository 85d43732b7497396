"""What really happened in simulated flights comes back from their logs."""

import math

import numpy as np
import pytest

from flyoff.core.units import ft, kt
from flyoff.flights.log import utc
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from flyoff.physics.airspeed import true_airspeed
from flyoff.reduction.output import reduction_data
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER, NAMES, REAL, flight_of, reduction_of, scripted_of, seconds

TAS_WITHIN_KT = 0.6
WIND_WITHIN_KT = 1.5


def _matched(name):
    """Return pairs of a found point and the scripted condition that it overlaps by half or more."""
    pairs = []
    for point in reduction_data(reduction_of(name))["points"]:
        start, end = seconds(point["start_utc"]), seconds(point["end_utc"])
        best = max(scripted_of(name), key=lambda s: s.overlap_s(start, end))
        if best.overlap_s(start, end) >= 0.5 * (best.end_s - best.start_s) and best.kind == point["kind"]:
            pairs.append((point, best))
    return pairs


def _vector(speed, from_deg):
    return -speed * np.array([math.cos(math.radians(from_deg)), math.sin(math.radians(from_deg))])


@pytest.mark.parametrize("name", NAMES)
def test_true_airspeed_and_wind_of_every_leg_group(name):
    reduction = reduction_of(name)
    groups = reduction_data(reduction)["legs"]
    assert len(groups) == (2 if name.startswith("sample") else 1)
    for group in groups:
        assert group["refused"] is None
        truths = [
            s.truth
            for m in group["members"]
            for s in scripted_of(name)
            if s.overlap_s(
                reduction.points[m].condition.start_s, reduction.points[m].condition.end_s
            ) > 20
        ]  # fmt: skip
        tas = np.mean([t["tas_kt"] for t in truths])
        wind = np.mean([_vector(t["wind_kt"], t["wind_from_deg"]) for t in truths], axis=0)
        assert abs(group["tas_kt"] - tas) < TAS_WITHIN_KT
        assert abs(group["tas_kt"] - tas) < group["tas_kt_u95"]
        found = _vector(group["wind_kt"], group["wind_from_deg"])
        assert np.hypot(*(found - wind)) < WIND_WITHIN_KT
        assert abs(group["wind_kt"] - np.hypot(*wind)) < group["wind_kt_u95"]


@pytest.mark.parametrize("name", NAMES)
def test_scripted_conditions_are_found(name):
    scripted = scripted_of(name)
    found = {id(s) for _, s in _matched(name)}
    assert len(found) >= 0.9 * len(scripted)


@pytest.mark.parametrize("name", NAMES)
def test_no_condition_is_invented(name):
    """What matches nothing scripted is steady all the same, by the raw second readings of the whole of it."""
    log = flight_of(name).logs[0]
    scripted = {id(p) for p, _ in _matched(name)}
    for point in reduction_data(reduction_of(name))["points"]:
        if id(point) in scripted:
            continue
        inside = (log.time_s >= seconds(point["start_utc"])) & (log.time_s <= seconds(point["end_utc"]))
        t = log.time_s[inside]
        minutes = (t - t.mean()) / 60
        for channel, drift, scatter in (
            ("indicated_airspeed", 4 * kt, 2 * kt),
            ("pressure_altitude", None, 60 * ft),
        ):
            values = log.channels[channel][inside]
            known = ~np.isnan(values)
            slope, middle = np.polyfit(minutes[known], values[known], 1)
            residual = values[known] - slope * minutes[known] - middle
            assert residual.std() < scatter
            if drift:
                assert abs(slope) < drift
            elif point["kind"] == "level":
                assert abs(slope) < 100 * ft


@pytest.mark.parametrize(
    ("one", "twin"), [("sample.csv", "sample.metric.csv"), ("carded.csv", "carded.metric.csv")]
)
def test_the_metric_twin_gives_the_same_answers(one, twin):
    first, second = (reduction_data(reduction_of(name)) for name in (one, twin))
    assert len(first["points"]) == len(second["points"])
    for a, b in zip(first["points"], second["points"], strict=True):
        assert a["kind"] == b["kind"]
        # a climb's beginning is cut in steps of 2 s
        assert all(abs(seconds(a[end]) - seconds(b[end])) <= 2 for end in ("start_utc", "end_utc"))
        assert a["tas_kt"] == pytest.approx(b["tas_kt"], abs=0.2)
        height = 2 if a["kind"] == "level" else 15
        assert a["pressure_altitude_ft"] == pytest.approx(b["pressure_altitude_ft"], abs=height)
        assert a["rate_of_climb_fpm"] == pytest.approx(b["rate_of_climb_fpm"], abs=5)
    for a, b in zip(first["legs"], second["legs"], strict=True):
        assert a["members"] == b["members"]
        assert a["tas_kt"] == pytest.approx(b["tas_kt"], abs=0.1)
        assert a["wind_kt"] == pytest.approx(b["wind_kt"], abs=0.1)
    # one twin leaves cells blank where the other writes that they are blank
    kinds = [
        [(r["kind"], r["channel"]) for r in d["repairs"] if r["kind"] != "blank"] for d in (first, second)
    ]
    assert sorted(kinds[0]) == sorted(kinds[1])


def _moved(point, scripted, quantity):
    """Return what a quantity changes by because the stretch found on a slope lies higher."""
    apart = point["pressure_altitude_ft"] - scripted.truth["pressure_altitude_ft"]
    per_foot = {
        "density_altitude_ft": 1.2,
        "outside_air_temp_c": -0.00198,
        "tas_kt": 1.6e-5 * point["tas_kt"],
    }
    return apart * per_foot.get(quantity, 0.0) if point["kind"] != "level" else 0.0


@pytest.mark.parametrize("quantity", ["tas_kt", "cas_kt", "outside_air_temp_c", "density_altitude_ft"])
@pytest.mark.parametrize("name", ["sample.csv", "carded.csv"])
def test_intervals_hold_the_truth(name, quantity):
    held = [
        abs(point[quantity] - scripted.truth[quantity] - _moved(point, scripted, quantity))
        <= point[f"{quantity}_u95"]
        for point, scripted in _matched(name)
        if quantity in scripted.truth
    ]
    assert len(held) >= 6
    assert np.mean(held) >= 0.9


@pytest.mark.parametrize("name", ["sample.csv", "carded.csv"])
def test_at_the_scripted_ends_everything_measured_is_close(name):
    """With the ends moved by hand to those of the script, rates of climb can be compared too."""
    edits = "".join(
        f'[[conditions]]\nstart = "{utc(s.start_s)}"\nend = "{utc(s.end_s)}"\n'
        f'decision = "accept"\nkind = "{s.kind}"\n'
        for s in scripted_of(name)
    )
    data = reduction_data(reduce_flight(parse_flight(propose(FOLDER / name) + edits, name, FOLDER)))
    points = {p["start_utc"]: p for p in data["points"]}
    held = []
    for scripted in scripted_of(name):
        point = points[utc(scripted.start_s)]
        assert point["origin"] == "accepted by hand"
        for quantity, truth in scripted.truth.items():
            if quantity in point:
                held.append(abs(point[quantity] - truth) <= point[f"{quantity}_u95"])
        if "rate_of_climb_fpm" in scripted.truth:
            assert abs(point["rate_of_climb_fpm"] - scripted.truth["rate_of_climb_fpm"]) < 25
    assert np.mean(held) >= 0.92


@pytest.mark.parametrize("name", ["sample.csv", "carded.csv"])
def test_level_points_are_close(name):
    for point, scripted in _matched(name):
        if point["kind"] == "level" and not point["extrapolated"]:
            assert abs(point["tas_kt"] - scripted.truth["tas_kt"]) < 1.0
            if "density_altitude_ft" in scripted.truth:
                assert abs(point["density_altitude_ft"] - scripted.truth["density_altitude_ft"]) < 100


def test_known_calibration_brings_the_climbs_back():
    """With the briefing's calibration every condition's airspeed is close, climbs and glides too."""
    briefing = (
        "[instruments]\nairspeed_correction = [\n"
        '{ indicated = "63 kt", add = "-3 kt" }, { indicated = "91 kt", add = "-1 kt" },\n'
        '{ indicated = "129 kt", add = "1 kt" } ]\noat_recovery = "80 %"\n[[logs]]'
    )
    text = propose(FOLDER / "carded.csv").replace("[[logs]]", briefing)
    data = reduction_data(reduce_flight(parse_flight(text, "carded", FOLDER)))
    assert data["calibration"]["basis"] == "declared"
    for point in data["points"]:
        start, end = seconds(point["start_utc"]), seconds(point["end_utc"])
        for scripted in scripted_of("carded.csv"):
            if scripted.overlap_s(start, end) > 40 and scripted.kind == point["kind"]:
                assert abs(point["cas_kt"] - scripted.truth["cas_kt"]) < 1.0
                assert abs(point["tas_kt"] - scripted.truth["tas_kt"]) < 1.5


@pytest.mark.skipif(not REAL.is_dir(), reason="the real logs are not here")
def test_real_logs_reduce_without_a_hand():

    for path in sorted(REAL.glob("*.csv")):
        text = propose(path).replace('date = ""', 'date = "2026-01-01"')
        reduction = reduce_flight(parse_flight(text, path.name, REAL))
        assert all(not math.isnan(p.condition.drift_m_s2) for p in reduction.points)
        assert reduction.repairs


@pytest.mark.skipif(not REAL.is_dir(), reason="the real logs are not here")
def test_true_airspeed_of_a_real_log():
    """Indicated airspeed, temperature and pressure altitude give the airspeed that the recorder computed."""

    path = REAL / "light_decel_to_stall_50hz.csv"
    log = parse_flight(propose(path).replace('date = ""', 'date = "2026-01-01"'), path.name, REAL).logs[0]
    computed = true_airspeed(
        calibrated_airspeed_m_s=log.channels["indicated_airspeed"],
        pressure_altitude_m=log.channels["pressure_altitude"],
        temperature_k=log.channels["outside_air_temperature"],
    )
    apart = np.abs(computed - log.channels["true_airspeed"])
    assert np.median(apart) < 0.1 * kt
    assert apart.max() < 0.3 * kt
