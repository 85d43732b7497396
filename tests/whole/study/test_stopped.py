"""An interrupt from the keyboard while films are made: everything is as it was before."""

import os
import signal
import tempfile
import time

import pytest

from flyoff.charts import export, film
from flyoff.cli import STOPPED, main
from flyoff.study import run
from helpers.study_files import write_study


@pytest.fixture
def interruptible():
    usual = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, usual)


def contents(folder):
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_build_stopped_while_a_film_is_made_changes_nothing(tmp_path, monkeypatch, capsys, interruptible):
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(scratch))
    slow, number = tmp_path / "slow", tmp_path / "number"
    slow.write_text(f"#!/bin/sh\necho $$ > {number}\nsleep 0.3\nkill -INT $PPID\nexec sleep 30\n")
    slow.chmod(0o755)
    monkeypatch.setattr(film, "encoder", lambda: str(slow))
    monkeypatch.setattr(run, "encoder", film.encoder)
    monkeypatch.setattr(export, "stills", lambda *_: ())
    monkeypatch.setattr(film, "numbered_frames", lambda *_: ())
    study = write_study(tmp_path / "study")
    (study / "out" / "film").mkdir(parents=True)
    (study / "out" / "report.html").write_text("earlier")
    (study / "out" / "film" / "earlier.mp4").write_bytes(b"earlier")
    before = contents(study)

    began = time.monotonic()
    assert main(["build", str(study), "--film"]) == STOPPED
    assert time.monotonic() - began < 30  # it did not wait for the encoder
    assert capsys.readouterr().err.splitlines()[-1] == "stopped; nothing half-written is left behind."
    assert contents(study) == before
    assert not list(scratch.iterdir())
    with pytest.raises(ProcessLookupError):
        os.kill(int(number.read_text()), 0)
