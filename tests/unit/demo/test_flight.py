"""The demo's flight reads and reduces to what really happened."""

import json
from datetime import datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from flyoff.core.units import kt
from flyoff.flights.read import read_flight
from flyoff.reduction.output import reduction_data
from flyoff.reduction.run import Reduction, reduce_flight

FLIGHT = Path(str(files("flyoff.demo") / "files" / "flights" / "2026-06-02.toml"))
TRUTH = json.loads((Path(__file__).parents[2] / "data" / "demo_truth.json").read_text("utf-8"))
CONDITIONS: list[dict[str, Any]] = TRUTH["conditions"]


@pytest.fixture(scope="module")
def reduction() -> Reduction:
    return reduce_flight(read_flight(FLIGHT))


def seconds(text: str) -> float:
    return datetime.fromisoformat(text).timestamp()


def truth_of(start_s: float, end_s: float, kind: str) -> dict[str, Any] | None:
    for condition in CONDITIONS:
        begin, end = seconds(condition["start_utc"]), seconds(condition["end_utc"])
        if condition["kind"] == kind and min(end, end_s) - max(begin, start_s) > 0.5 * (end - begin):
            return condition
    return None


def test_every_flown_condition_is_found(reduction: Reduction) -> None:
    found = [truth_of(p.condition.start_s, p.condition.end_s, p.condition.kind) for p in reduction.points]
    names = {(c["name"], c["start_utc"]) for c in found if c}
    assert names == {(c["name"], c["start_utc"]) for c in CONDITIONS}


def test_level_points_are_as_flown(reduction: Reduction) -> None:
    compared = 0
    for point in reduction.points:
        happened = truth_of(point.condition.start_s, point.condition.end_s, point.condition.kind)
        speed = point.air.true_airspeed
        if point.condition.kind == "level" and happened:
            assert speed is not None
            assert speed.value / kt == pytest.approx(happened["tas_kt"], abs=0.8), happened["name"]
            compared += 1
    assert compared >= 12


def test_boxes_give_airspeed_and_wind(reduction: Reduction) -> None:
    groups = [group for group in reduction_data(reduction)["legs"] if not group["refused"]]
    assert len(groups) == 2
    for group in groups:
        last = reduction.points[group["members"][-1]].condition
        happened = truth_of(last.start_s, last.end_s, "level")
        assert happened is not None and happened["group"]
        assert group["tas_kt"] == pytest.approx(happened["tas_kt"], abs=0.8)
        assert group["wind_kt"] == pytest.approx(happened["wind_kt"], abs=2.0)
        assert group["wind_from_deg"] == pytest.approx(happened["wind_from_deg"], abs=4.0)


def test_planted_faults_are_listed(reduction: Reduction) -> None:
    kinds = {(repair.kind, repair.channel) for _, repair in reduction.repairs}
    assert ("spike", "indicated_airspeed") in kinds
    assert any(kind == "gap" for kind, _ in kinds)
    assert ("frozen position", "latitude") in kinds
