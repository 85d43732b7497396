"""A definition in Vega-Lite, as plain data."""

from typing import Any, TypeAlias

Spec: TypeAlias = dict[str, Any]
