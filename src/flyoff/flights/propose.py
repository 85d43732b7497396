"""A flight file proposed for a log: the mapping read from the log's own header, for a person to check."""

import json
import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from flyoff.core.units import Unit, find_unit
from flyoff.flights.channels import CHANNELS, Channel
from flyoff.flights.gpx import read_gpx_log
from flyoff.flights.igc import USUAL_COLUMNS, igc_date, read_igc_log
from flyoff.flights.layout import FoundClock, Layout, guess_clock, guess_layout
from flyoff.flights.log import utc
from flyoff.flights.table import read_log_bytes
from flyoff.flights.vocabulary import USUAL, candidates_for, names_other_unit, written_unit

_ZONE_SAID = re.compile(r"\b(?:UTC|GMT) ?([+\-−]) ?(\d{1,2})(?::?(\d{2}))?\b")
_FIX_RECORD = re.compile(rb"^B\d{13}[NS]\d{8}[EW][AV]", re.MULTILINE)


@dataclass(frozen=True)
class Guess:
    """One column taken for a channel: its unit, and what speaks for it."""

    channel: str
    column: str
    unit: str
    why: str
    example: str


def propose(path: Path) -> str:
    """Return a commented flight file for a recorder log.

    What the header says is taken from it and said; what is only likely is
    marked ``GUESS``; columns that mean nothing to flyoff are listed.

    Raises
    ------
    Problems
        If the log cannot be read as a table or a track.
    """
    data = read_log_bytes(path, path.name)
    if path.suffix.lower() == ".igc" or _FIX_RECORD.search(data[:65536]):
        return _proposed_igc(path, data)
    if path.suffix.lower() == ".gpx" or data.lstrip()[:5] == b"<?xml":
        log = read_gpx_log(data, path.name)
        day = utc(float(log.time_s[0]))[:10]
        found = ", ".join(log.channels)
        return "\n".join([*_head(path, day, True), f"# The track has: {found}.", *_file(path, "gpx"), ""])
    layout = guess_layout(data, path.name)
    clock = guess_clock(layout)
    guesses = guess_columns(layout, set(clock.columns) if clock else set())
    day = clock.day.isoformat() if clock and clock.day else ""
    lines = [
        *_head(path, day, bool(clock and clock.sure)),
        *_layout_lines(path, layout),
        *_clock_lines(clock, layout.preamble),
    ]
    return "\n".join([*lines, *_column_lines(layout, guesses, clock), ""])


def _proposed_igc(path: Path, data: bytes) -> str:
    said = igc_date(data)
    log = read_igc_log(data, path.name, said or date(1970, 1, 1))
    day = said.isoformat() if said else ""
    lines = [*_head(path, day, True), f"# The file has: {', '.join(log.channels)}.", *_file(path, "igc")]
    usual = [(name, spec) for name, spec in USUAL_COLUMNS.items() if name in log.channels]
    if usual:
        lines += ["", "[logs.columns]  # optional fields: our channel = their code and its unit"]
    for name, spec in usual:
        lines.append(
            f"{name} = {{ column = {_quoted(spec.column)}, unit = {_quoted(spec.unit)} }}"
            "  # GUESS: the format does not say the unit"
        )
    return "\n".join([*lines, ""])


def guess_columns(layout: Layout, taken: set[str]) -> list[Guess]:
    """Return the columns that seem to be channels, each column and channel at most once, best names first."""
    ranked = []
    for index, column in enumerate(layout.header):
        if column and column not in taken:
            ranked += [(score, index, channel) for score, channel in candidates_for(column)]
    ranked.sort(key=lambda entry: (-entry[0], entry[1]))
    used, guesses = set(taken), {}
    for _, index, channel in ranked:
        column = layout.header[index]
        if column in used or channel in guesses:
            continue
        guess = _guess(layout, index, CHANNELS[channel])
        if guess is not None:
            used.add(column)
            guesses[channel] = guess
    return [guesses[channel] for channel in CHANNELS if channel in guesses]


def _guess(layout: Layout, index: int, channel: Channel) -> Guess | None:
    column = layout.header[index]
    numbers = layout.numbers(index)
    known = numbers[np.isfinite(numbers)]
    if not len(known):
        return None
    example = next(cell for cell, n in zip(layout.column(index), numbers, strict=True) if np.isfinite(n))
    unit = written_unit(column, layout.units[index], channel.dimension)
    if unit is not None:
        if not _plausible(known, unit, channel):
            return None
        return Guess(channel.name, column, unit.label, "unit as the header says", example)
    if names_other_unit(column, layout.units[index], channel.dimension):
        return None
    usual = USUAL.get(channel.name) or USUAL.get(channel.dimension, ())
    fits = [u for u in usual if _plausible(known, find_unit(u, channel.dimension), channel)]
    if not fits or channel.dimension in {"mass", "mass_flow"}:
        return None
    if channel.dimension == "angle":
        fits = ["°"] if np.abs(known).max() > 2 * np.pi else fits
    if len(fits) == 1:
        return Guess(
            channel.name,
            column,
            fits[0],
            "GUESS: the header names no unit; only this one fits",
            example,
        )
    others = ", ".join(fits[1:])
    why = f"GUESS: the header names no unit; {others} would fit too"
    return Guess(channel.name, column, fits[0], why, example)


def _plausible(numbers: np.ndarray[tuple[int], np.dtype[np.float64]], unit: Unit, channel: Channel) -> bool:
    values = unit.to_si(numbers)
    inside = (values >= channel.low) & (values <= channel.high)
    if channel.circular:
        inside |= values < 0
    moving = values[values > channel.median_low]
    median = float(np.median(moving if len(moving) > 0.2 * len(values) else values))
    return float(inside.mean()) > 0.9 and (
        channel.circular or channel.median_low <= median <= channel.median_high
    )


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _remark(text: str) -> str:
    """Return text fit for a comment: control characters, which TOML forbids there, as question marks."""
    return "".join(char if char.isprintable() else "?" for char in text[:100])


def _head(path: Path, day: str, sure: bool) -> list[str]:
    note = (
        "as the log says"
        if day and sure
        else "GUESS: check day and month"
        if day
        else "FILL IN: YYYY-MM-DD; the log does not say"
    )
    day = day or "unknown"
    return [
        f"# A flight file proposed from {_remark(path.name)}. Check every line marked GUESS or FILL IN,",
        "# then save it beside the log, in flights/. The flight is reduced by what stands here alone.",
        "",
        f"date = {_quoted(day)}  # {note}",
        '# aircraft = "name"  # the dossier in aircraft/, without .toml; a flight reduces without one',
        "",
        "# [loading]",
        '# ramp_weight = "2,250 lb"  # at the first row of the log',
        '# fuel_density = "6.0 lb/gal"',
        "",
        "# [instruments]  # what is known of them; without it assumptions are made, and said",
        '# oat_recovery = "80 %"',
        '# oat_u95 = "1 °C"',
        '# magnetic_variation = "2 °"  # east is positive',
        "# airspeed_correction = [  # from the handbook or a calibration: what to add to indicated",
        '#   { indicated = "60 kt", add = "-3 kt" },',
        "# ]",
        "",
    ]


def _file(path: Path, kind: str) -> list[str]:
    return ["[[logs]]", f"file = {_quoted(path.name)}", f'format = "{kind}"']


def _layout_lines(path: Path, layout: Layout) -> list[str]:
    lines = [f"# Line before the table: {_remark(line)}" for line in layout.preamble[:10]]
    lines += _file(path, "csv")
    sure = "" if layout.encoding.startswith("utf") else "  # GUESS: the file is not UTF-8"
    return [
        *lines,
        f'encoding = "{layout.encoding}"{sure}',
        f"separator = {_quoted(layout.separator)}",
        f'decimal = "{layout.decimal}"',
        f"header_line = {layout.header_line}",
        f"first_line = {layout.first_line}",
        "",
    ]


def _clock_lines(clock: FoundClock | None, preamble: tuple[str, ...]) -> list[str]:
    if clock is None:
        return [
            "[logs.clock]",
            'columns = ["FILL IN"]  # no column that says the time was found',
            'format = "iso"  # or unix s, unix ms, elapsed s, elapsed ms, or a pattern such as %H:%M:%S',
            'zone = "UTC"',
            "",
        ]
    note = "" if clock.sure else "  # GUESS"
    if clock.format.startswith("elapsed"):
        note = "  # GUESS: a counter; midnight UTC of the date is taken for its zero"
    columns = ", ".join(_quoted(column) for column in clock.columns)
    zone, zone_note = "UTC", "" if clock.says_zone else "  # GUESS: the log does not say its zone"
    said = _ZONE_SAID.search(" ".join(preamble))
    if said and not clock.says_zone:
        zone = f"{said[1].replace('−', '-')}{int(said[2]):02d}:{said[3] or '00'}"
        zone_note = f"  # GUESS: a line before the table says {said[0]}"
    return [
        "[logs.clock]",
        f"columns = [{columns}]",
        f"format = {_quoted(clock.format)}{note}",
        f'zone = "{zone}"{zone_note}',
        "",
    ]


def _column_lines(layout: Layout, guesses: list[Guess], clock: FoundClock | None) -> list[str]:
    lines = ["[logs.columns]  # our channel = their column and its unit"]
    for guess in guesses:
        entry = f"{guess.channel} = {{ column = {_quoted(guess.column)}, unit = {_quoted(guess.unit)} }}"
        lines.append(f"{entry}  # {guess.why}; first reading {_remark(guess.example)}")
    if not guesses:
        lines.append("# FILL IN: no column's name was understood")
    used = {guess.column for guess in guesses} | set(clock.columns if clock else ())
    left = [column for column in layout.header if column not in used]
    if left:
        lines += ["", "# Columns not used:", *(f"#   {_remark(column)}" for column in left)]
    mapped = {guess.channel for guess in guesses}
    wanted = [name for name in ("indicated_airspeed", "pressure_altitude", "outside_air_temperature",
                                "ground_speed", "ground_track") if name not in mapped]  # fmt: skip
    if wanted:
        lines += ["", f"# Not found, and wanted where the log has them: {', '.join(wanted)}"]
    return lines
