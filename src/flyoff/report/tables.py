"""Every figure as a record, for tables and for other programs."""

import csv
import io
import json
from collections.abc import Iterable
from typing import Any

from flyoff.core.figure import Figure, Input

COLUMNS = (
    "key",
    "label",
    "value",
    "unit",
    "u95",
    "basis",
    "extrapolated",
    "terms",
    "missing",
    "method",
    "method_source",
    "places",
)


def figure_record(figure: Figure) -> dict[str, Any]:
    """Return a figure with its trace, in full precision; value and u95 in its unit, None where missing."""
    return {
        "key": figure.key,
        "label": figure.label,
        "value": figure.value,
        "unit": figure.unit_label,
        "u95": figure.u95,
        "basis": figure.basis,
        "extrapolated": figure.extrapolated,
        "terms": dict(figure.terms),
        "missing": figure.missing,
        "remarks": list(figure.remarks),
        "trace": {
            "method": figure.trace.method,
            "source": figure.trace.source,
            "inputs": [_input_record(given) for given in figure.trace.inputs],
        },
    }


def _input_record(given: Input) -> dict[str, Any]:
    return {
        "label": given.label,
        "text": given.text,
        "file": given.place.file if given.place else None,
        "line": given.place.line or None if given.place else None,
        "source": given.source,
        "figure": given.figure,
    }


def figures_json(figures: Iterable[Figure]) -> str:
    """Return the figures as JSON under the key ``figures``."""
    records = [figure_record(figure) for figure in figures]
    return json.dumps({"figures": records}, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def figures_csv(figures: Iterable[Figure]) -> str:
    """Return the figures as CSV (RFC 4180), one a row, the trace drawn together."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for record in map(figure_record, figures):
        trace = record.pop("trace")
        record |= {
            "extrapolated": "yes" if record["extrapolated"] else "no",
            "terms": "; ".join(f"{name}: {text}" for name, text in record["terms"].items()),
            "method": trace["method"],
            "method_source": trace["source"],
            "places": "; ".join(dict.fromkeys(filter(None, map(_where, trace["inputs"])))),
        }
        writer.writerow([guarded(record[column]) for column in COLUMNS])
    return stream.getvalue()


def _where(given: dict[str, Any]) -> str:
    if given["figure"]:
        return f"figure {given['figure']}"
    if given["file"]:
        return f"{given['file']}:{given['line']}" if given["line"] else str(given["file"])
    return ""


def guarded(value: Any) -> Any:
    """Keep a spreadsheet from taking text for a formula; numbers stay as they are."""
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")):
        return f"'{value}"
    return "" if value is None else value
