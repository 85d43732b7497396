"""A chart's build-up: each step holds all of the last; a film of exactly so many frames."""

import itertools
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest

from flyoff.charts import film
from flyoff.charts.catalogue import CHARTS
from flyoff.charts.chart import Chart
from flyoff.charts.house import FilmStyle
from flyoff.charts.render import png, svg
from flyoff.charts.style import FILM, SCREEN, Setting
from flyoff.core.problems import Problems
from helpers import comparison_fixture


def marks(step: dict[str, Any]) -> list[dict[str, Any]]:
    return [layer["mark"] for panel in step.get("concat", [step]) for layer in panel["layer"]]


@pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.name)
def test_each_step_adds_and_the_last_is_the_whole(chart: Chart[Any]) -> None:
    setting = Setting(FILM, SCREEN)
    whole = chart.definition(comparison_fixture.comparison(), setting)
    steps = film.build_up(whole, FILM)
    assert len(steps) >= 2
    assert steps[-1] == whole
    shown = [{n for n, mark in enumerate(marks(step)) if mark.get("opacity") != 0} for step in steps]
    assert all(before < after for before, after in itertools.pairwise(shown))
    colours = {mark.get("color") for n, mark in enumerate(marks(steps[0])) if n in shown[0]}
    assert not colours & set(FILM.series)


def test_a_film_has_its_frames_its_size_and_the_same_bytes(tmp_path: Path) -> None:
    chart = CHARTS[0]
    style = FilmStyle(frames_per_second=24, hold_seconds=0.2, wipe_seconds=0.1)
    definition = chart.definition(comparison_fixture.comparison(), Setting(FILM.over("#12181f"), SCREEN))
    steps = [png(svg(step, "", "x")) for step in film.build_up(definition, FILM)[:3]]
    data = film.mp4(steps, style)
    assert film.mp4(steps, style) == data
    path = tmp_path / "film.mp4"
    path.write_bytes(data)
    probed = subprocess.run(
        [film.encoder(), "-hide_banner", "-i", path, "-map", "0:v", "-f", "null", "-"],
        capture_output=True,
        text=True,
        check=True,
    ).stderr
    assert re.search(r"Video: h264 .*yuv420p\(tv, bt709.*1920x1080.* 24 fps", probed)
    counts = [int(n) for n in re.findall(r"frame=\s*(\d+)", probed)]
    assert counts[-1] == 2 * (5 + 2) + 2 * 5
    assert "Duration: 00:00:01.00" in probed


def test_without_the_encoder_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "imageio_ffmpeg", None)
    with pytest.raises(Problems, match=r"imageio-ffmpeg: not installed; .*flyoff\[film\]"):
        film.encoder()
