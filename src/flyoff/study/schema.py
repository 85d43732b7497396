"""JSON Schema of each kind of file, so that an editor completes and checks keys."""

import json
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from flyoff.charts.house import HouseRecord
from flyoff.core.files import write_text
from flyoff.core.record import Record
from flyoff.dossier.airplane import Airplane
from flyoff.dossier.read import SourceRecord
from flyoff.draft.sidefile import SideFile
from flyoff.flights.card import FlightFile
from flyoff.study.records import StudyRecord

KINDS: dict[str, Any] = {
    "study": StudyRecord,
    "aircraft": Airplane,
    "flight": FlightFile,
    "sources": dict[str, SourceRecord],
    "house": HouseRecord,
    "captions": SideFile,
}


def schema(kind: str) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of one kind of file."""
    record = KINDS[kind]
    body = TypeAdapter(record).json_schema() if not _is_record(record) else record.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **body}


def _is_record(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, Record)


def write_schemas(folder: Path) -> tuple[Path, ...]:
    """Write every schema into ``folder/.schema`` and return their paths."""
    paths = []
    for kind in KINDS:
        path = folder / ".schema" / f"{kind}.json"
        write_text(path, json.dumps(schema(kind), indent=1, ensure_ascii=False, sort_keys=True) + "\n")
        paths.append(path)
    return tuple(paths)
