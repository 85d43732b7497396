"""The schemas accept what the reader accepts and refuse a misspelt key."""

import tomllib

import jsonschema
import pytest

from flyoff.study.schema import KINDS, schema, write_schemas
from helpers.study_files import AIRCRAFT, SOURCES, STUDY

CAPTIONS = '[[bound]]\ncue = "00:01.000"\nwords = "nine knots"\nfigure = "a.b"\n'
FILES = {"study": STUDY, "aircraft": AIRCRAFT, "sources": SOURCES, "captions": CAPTIONS}


@pytest.mark.parametrize("kind", KINDS)
def test_each_is_a_valid_schema(kind):
    jsonschema.Draft202012Validator.check_schema(schema(kind))


@pytest.mark.parametrize("kind", FILES)
def test_a_good_file_passes(kind):
    jsonschema.validate(tomllib.loads(FILES[kind]), schema(kind))


@pytest.mark.parametrize(
    ("kind", "old", "new"),
    [
        ("aircraft", "takeoff =", "takeof ="),
        ("aircraft", '"1,100 kg"', "1100"),
        ("aircraft", '"1,100 kg"', '"1,100 ft"'),
        ("aircraft", '"1,100 kg"', '"1,10 kg"'),
        ("aircraft", '"1,100 kg"', '"1,100"'),
        ("aircraft", 'gear = "fixed"', 'gear = "none"'),
        ("study", "reserve =", "reserves ="),
        ("sources", "title =", "name ="),
        ("captions", "figure =", "figures ="),
    ],
)
def test_a_spoilt_file_fails(kind, old, new):
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(tomllib.loads(FILES[kind].replace(old, new, 1)), schema(kind))


def test_schemas_are_written_for_an_editor(tmp_path):
    paths = write_schemas(tmp_path)
    assert sorted(path.name for path in paths) == sorted(f"{kind}.json" for kind in KINDS)
