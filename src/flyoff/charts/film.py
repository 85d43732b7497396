"""A chart built up step by step: numbered frames, and a film of them."""

import subprocess
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, TypeVar

from flyoff.charts import render
from flyoff.charts.chart import Chart
from flyoff.charts.export import LARGEST, SIZES, alt, grounds, screens
from flyoff.charts.house import FilmStyle, House
from flyoff.charts.spec import Spec
from flyoff.charts.style import DARK, LIGHT, Setting, Theme
from flyoff.core.files import TemporaryFolder, uninterrupted
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place

S = TypeVar("S")
_FINAL_HOLDS = 2
"""Holds that the finished chart stands for."""


def build_up(definition: Spec, theme: Theme) -> list[Spec]:
    """Return the steps of a definition, each with all of the one before; every mark keeps its place.

    First the axes and what belongs to no airplane, then one colour after the other;
    where there is but one, panel by panel.
    """
    order: dict[Any, int] = {}
    steps = _numbered(definition, theme, order)
    if len(order) < 2 and "concat" in definition:
        panels = range(len(definition["concat"]))
        return [_until(definition, [[n + 1 if s else 0 for s in steps[n]] for n in panels], n)
                for n in range(len(panels) + 1)]  # fmt: skip
    return [_until(definition, steps, number) for number in range(len(order) + 1)]


def _panels(definition: Spec) -> list[Spec]:
    panels: list[Spec] = definition.get("concat", [definition])
    return panels


def _numbered(definition: Spec, theme: Theme, order: dict[Any, int]) -> list[list[int]]:
    """Return the step at which each layer of each panel appears; `order` gathers the colours met."""
    numbers = []
    for panel in _panels(definition):
        found, last = [], 0
        for layer in panel["layer"]:
            mark = layer["mark"]
            own = [c for c in (mark.get("color"), mark.get("fill")) if c in theme.series]
            if own:
                last = order.setdefault(own[0], len(order) + 1)
                found.append(last)
            else:
                # A value's number in plain ink belongs to the mark before it; free words do not.
                follows = mark.get("color") == theme.ink and "encoding" in layer
                found.append(last if follows else 0)
        numbers.append(found)
    return numbers


def _until(definition: Spec, numbers: list[list[int]], step: int) -> Spec:
    shown = [
        {
            **panel,
            "layer": [
                layer if number <= step else {**layer, "mark": {**layer["mark"], "opacity": 0}}
                for layer, number in zip(panel["layer"], found, strict=True)
            ],
        }
        for panel, found in zip(_panels(definition), numbers, strict=True)
    ]
    return {**definition, "concat": shown} if "concat" in definition else {**definition, **shown[0]}


def frames(chart: Chart[S], subject: S, setting: Setting, scale: float = 1.0) -> list[bytes]:
    """Return the steps of a chart as PNG, `scale` times 1920 by 1080."""
    words = alt(chart, subject, setting)
    steps = build_up(chart.definition(subject, setting), setting.theme)
    return [render.png(render.svg(step, words, chart.name), scale) for step in steps]


def numbered_frames(chart: Chart[S], subject: S, house: House, name: str) -> Iterator[tuple[str, bytes]]:
    """Yield the steps as numbered frames, 3840 by 2160 on transparent ground, for dark and light pictures."""
    for ground, theme in grounds(house).items():
        for part, setting in screens(chart, subject, house, theme, name):
            for number, data in enumerate(frames(chart, subject, setting, SIZES[LARGEST])):
                yield f"{part}-{ground}-{number:02d}.png", data


def films(chart: Chart[S], subject: S, house: House, name: str) -> Iterator[tuple[str, bytes]]:
    """Yield the build-up as MP4 on dark and on light ground."""
    opaque = {"dark": house.film.over(str(DARK.ground)), "light": house.film_light.over(str(LIGHT.ground))}
    for ground, theme in opaque.items():
        for part, setting in screens(chart, subject, house, theme, name):
            yield f"{part}-{ground}.mp4", mp4(frames(chart, subject, setting), house.record.film)


def encoder() -> str:
    """Return the path of the ffmpeg that a package carries.

    Raises
    ------
    Problems
        If the package is not installed.
    """
    try:
        import imageio_ffmpeg
    except ImportError:
        expected = "expected the film's encoder: install flyoff[film], 170 MB"
        raise Problems([Problem(Place("imageio-ffmpeg"), "not installed", expected)]) from None
    return str(imageio_ffmpeg.get_ffmpeg_exe())


def _frames(style: FilmStyle) -> tuple[int, int]:
    rate = style.frames_per_second
    return round(style.hold_seconds * rate), max(1, round(style.wipe_seconds * rate))


def mp4(steps: Sequence[bytes], style: FilmStyle) -> bytes:
    """Return PNG steps as H.264 film, each wiping over the last from left to right; same bytes each time.

    Raises
    ------
    Problems
        If the encoder is not installed.
    """
    rate = str(style.frames_per_second)
    with TemporaryFolder() as folder:
        command = [encoder(), "-hide_banner", "-loglevel", "error"]
        for number, data in enumerate(steps):
            path = Path(folder) / f"{number:02d}.png"
            path.write_bytes(data)
            command += ["-framerate", rate, "-i", str(path)]
        film = Path(folder) / "film.mp4"
        # ITU-R BT.709 throughout; nothing of when or where it was made.
        colours = ("-x264-params", "colorprim=bt709:transfer=bt709:colormatrix=bt709")
        exact = ("-fflags", "+bitexact", "-flags:v", "+bitexact", "-map_metadata", "-1", "-threads", "2")
        quality = ("-c:v", "libx264", "-crf", "16", "-preset", "medium", "-tune", "animation")
        command += ["-filter_complex", ";".join(_scenes(len(steps), style)), "-map", "[film]"]
        command += [*quality, *colours, *exact, "-r", rate, "-movflags", "+faststart", str(film)]
        _run(command)
        return film.read_bytes()


def _run(command: Sequence[str]) -> None:
    """Run a program to its end; interrupted, see its end first: it writes into what is taken away."""
    pipe = subprocess.PIPE  # for both: with one alone, communicate() cannot be interrupted
    with subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=pipe, stderr=pipe) as process:
        try:
            said = process.communicate()[1]
        except BaseException:
            with uninterrupted():
                process.kill()
                process.wait()
            raise
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command, stderr=said)


def _scenes(steps: int, style: FilmStyle) -> Iterator[str]:
    """Yield the filters: each step stands, then the next wipes over it; the last stands longest."""
    hold, wipe = _frames(style)
    rate = style.frames_per_second
    clock = f"setpts=N/({rate}*TB),fps={rate}"
    last = steps - 1
    for n in range(steps):
        yield f"[{n}:v]format=gbrp,split=2[s{n}][t{n}]"
        stands = hold + wipe if n < last else _FINAL_HOLDS * hold
        yield f"[s{n}]loop=loop={stands - 1}:size=1,{clock}[from{n}]"
        yield f"[t{n}]loop=loop={wipe - 1}:size=1,{clock}[to{n}]" if n else f"[t{n}]nullsink"
    for n in range(last):
        timed = f"duration={wipe / rate:.6f}:offset={hold / rate:.6f}"
        yield f"[from{n}][to{n + 1}]xfade=transition=smoothright:{timed}[scene{n}]"
    scenes = "".join(f"[scene{n}]" for n in range(last)) + f"[from{last}]"
    yield f"{scenes}concat=n={steps},scale=out_color_matrix=bt709:out_range=tv,format=yuv420p[film]"
