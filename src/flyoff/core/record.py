"""Records: typed, frozen, strict models of what a file may say.

A record is a pydantic model whose quantities are written with their units. A
quantity is either text, ``"150 kt"``, or a table that adds its own source,
page, uncertainty or note: ``{ value = "150 kt", source = "afm", page = "5-4",
u95 = "2 kt" }``. Validation turns every fault into a `Problem` with file,
line and field; the JSON Schema of each record comes from the same model.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from typing import Annotated, Any, TypeAlias, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationError,
    WithJsonSchema,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from flyoff.core.problems import Collector, near_miss
from flyoff.core.quantity import Quantity, QuantityError, example, parse_quantity
from flyoff.core.sources import Place
from flyoff.core.tomlfile import Document, Written
from flyoff.core.units import DIMENSIONS, Unit, a_dimension, dimension_words, spellings_of

_QUANTITY_KEYS = ("value", "source", "page", "u95", "note")


class Record(BaseModel):
    """A table of a file: unknown keys, wrong types and bare numbers are faults."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


@dataclass
class Context:
    """What validation needs to know: the document, its default source, the sources used."""

    document: Document
    source: str | None = None
    sources_used: dict[str, Place] = field(default_factory=dict)


@dataclass(frozen=True)
class Of:
    """Marks a field as a quantity of one dimension, perhaps bounded (in SI)."""

    dimension: str
    above: float | None = None
    at_least: float | None = None
    at_most: float | None = None

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate through `read`."""
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the text form and the table form."""
        units = "|".join(re.sub(r"([()/.])", r"\\\1", s) for s in spellings_of(self.dimension))
        text = {
            "type": "string",
            "description": f"{dimension_words(self.dimension)} with its unit: {example(self.dimension)}",
            "pattern": rf"^\s*[+\-−]?(\d{{1,3}}(,\d{{3}})+|\d+)?(\.\d+)?\s*({units})\s*$",
        }
        table = {
            "type": "object",
            "properties": {key: text if key == "value" else {"type": "string"} for key in _QUANTITY_KEYS},
            "required": ["value"],
            "additionalProperties": False,
        }
        return {"anyOf": [text, table]}

    def read(self, raw: Any, info: core_schema.ValidationInfo) -> Quantity:
        """Return the quantity that `raw` writes.

        Raises
        ------
        PydanticCustomError
            Carrying what was found and what was expected.
        """
        if isinstance(raw, Quantity):
            return raw
        context: Context | None = info.context
        own: Mapping[str, Any] = raw if isinstance(raw, dict) else {"value": raw}
        for key in own:
            if key not in _QUANTITY_KEYS:
                expected = f"expected one of {', '.join(_QUANTITY_KEYS)}{near_miss(key, _QUANTITY_KEYS)}"
                raise _fault(f"unknown key '{key}' in a quantity", expected)
        if "value" not in own:
            raise _fault("a quantity without a value", f"expected value = {example(self.dimension)}")
        for key, value in own.items():
            if not isinstance(value, str):
                raise _not_text(key, value, self.dimension)
        quantity = self._parse(own["value"])
        if "u95" in own:
            quantity = replace(quantity, u95_si=self._half_width(own["u95"]))
        text = own["value"]
        place = text.place if isinstance(text, Written) else Place("")
        source = own.get("source") or (context.source if context else None)
        if context and "source" in own:
            context.sources_used.setdefault(own["source"], place)
        return replace(quantity, place=place, source=source, page=own.get("page", ""))

    def _parse(self, text: str) -> Quantity:
        try:
            quantity = parse_quantity(text, self.dimension)
        except QuantityError as error:
            raise _fault(error.found, error.expected) from None
        if self.above is not None and quantity.si <= self.above:
            raise _fault(f"'{text}' is too small", f"expected more than {_shown(self.above, quantity.unit)}")
        if self.at_least is not None and quantity.si < self.at_least:
            raise _fault(
                f"'{text}' is too small", f"expected at least {_shown(self.at_least, quantity.unit)}"
            )
        if self.at_most is not None and quantity.si > self.at_most:
            raise _fault(f"'{text}' is too large", f"expected at most {_shown(self.at_most, quantity.unit)}")
        return quantity

    def _half_width(self, text: str) -> float:
        dimension = "temperature_difference" if self.dimension == "temperature" else self.dimension
        try:
            half_width = parse_quantity(text, dimension).si
        except QuantityError as error:
            raise _fault(error.found, error.expected) from None
        if half_width < 0:
            raise _fault(f"u95 '{text}' is negative", "expected the half-width of a 95 % interval")
        return half_width


@dataclass(frozen=True)
class OfAny(Of):
    """Marks a field as a quantity of whatever dimension its unit says."""

    dimension: str = "length"

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the text form."""
        return {"type": "string", "description": "a quantity with its unit"}

    def _parse(self, text: str) -> Quantity:
        for dimension in DIMENSIONS:
            try:
                return parse_quantity(text, dimension)
            except QuantityError:
                continue
        raise _fault(f"'{text}' is no quantity", "expected a number with its unit, such as '500 nmi'")


@dataclass(frozen=True)
class Located:
    """Marks a text that remembers where it was written, for what can be checked only later."""

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate through `read`."""
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe it as text."""
        return {"type": "string"}

    def read(self, raw: Any, _info: core_schema.ValidationInfo) -> Written:
        """Return the text with its place.

        Raises
        ------
        PydanticCustomError
            If it is no text, or empty.
        """
        if not isinstance(raw, str) or not raw.strip():
            raise _fault(f"found {raw!r}"[:60], "expected text in quotes")
        return raw if isinstance(raw, Written) else Written.at(_printable(raw), Place(""))


def _shown(si: float, unit: Unit) -> str:
    return f"{unit.from_si(si):,.6g} {unit.label}"


def _fault(found: str, expected: str) -> PydanticCustomError:
    return PydanticCustomError(
        "fault", "{found}; {expected}", {"found": found.replace("{", "("), "expected": expected}
    )


def _not_text(key: str, value: Any, dimension: str) -> PydanticCustomError:
    if isinstance(value, int | float) and not isinstance(value, bool):
        what = f"bare number {value}"
    else:
        what = f"{type(value).__name__} {value!r}"[:60]
    wanted = example(dimension) if key in {"value", "u95"} else "text"
    return _fault(what, f"expected {a_dimension(dimension)} with its unit as text, such as {wanted}")


def _printable(text: str) -> str:
    """Return text as it is; control characters have no place in a name or a note."""
    for character in text:
        if unicodedata.category(character) in {"Cc", "Cs", "Cn"} and character not in "\n\t":
            raise _fault(
                f"an unprintable character, U+{ord(character):04X}", "expected text that can be printed"
            )
    return text


Text: TypeAlias = Annotated[str, AfterValidator(_printable)]
"""Text that can be printed; TOML allows more."""

_COLOUR = r"^#[0-9a-f]{6}$"


def _colour(text: str) -> str:
    if not re.match(_COLOUR, text):
        raise _fault(f"'{text}'", "expected a colour such as '#0b64a0', in small letters")
    return text


Colour: TypeAlias = Annotated[
    str, AfterValidator(_colour), WithJsonSchema({"type": "string", "pattern": _COLOUR})
]

Mass: TypeAlias = Annotated[Quantity, Of("mass", at_least=0.0, at_most=20_000.0)]
Length: TypeAlias = Annotated[Quantity, Of("length")]
Arm: TypeAlias = Annotated[Quantity, Of("length", at_least=-30.0, at_most=30.0)]
"""Of a balance: a decimal comma read as thousands lies far outside."""
Size: TypeAlias = Annotated[Quantity, Of("length", above=0.0, at_most=60.0)]
Area: TypeAlias = Annotated[Quantity, Of("area", above=0.0)]
Volume: TypeAlias = Annotated[Quantity, Of("volume", at_least=0.0, at_most=20.0)]
Speed: TypeAlias = Annotated[Quantity, Of("speed")]
Power: TypeAlias = Annotated[Quantity, Of("power", above=0.0, at_most=2e6)]
Rotation: TypeAlias = Annotated[Quantity, Of("rotation_speed", above=0.0)]
Pressure: TypeAlias = Annotated[Quantity, Of("pressure", above=0.0)]
Temperature: TypeAlias = Annotated[Quantity, Of("temperature", above=0.0)]
TemperatureDifference: TypeAlias = Annotated[Quantity, Of("temperature_difference")]
Duration: TypeAlias = Annotated[Quantity, Of("time", at_least=0.0)]
Doubt: TypeAlias = Annotated[Quantity, Of("ratio", at_least=0.0, at_most=0.5)]
Ratio: TypeAlias = Annotated[Quantity, Of("ratio")]
Angle: TypeAlias = Annotated[Quantity, Of("angle")]
Density: TypeAlias = Annotated[Quantity, Of("density", at_least=500.0, at_most=1200.0)]
SpecificConsumption: TypeAlias = Annotated[Quantity, Of("specific_consumption", above=0.0)]
SoundLevel: TypeAlias = Annotated[Quantity, Of("sound_level")]
Money: TypeAlias = Annotated[Quantity, Of("money", at_least=0.0)]

R = TypeVar("R", bound=Record)

_TYPE_WORDS = {
    dict: "a table",
    tuple: "an array",
    date: "a date",
    datetime: "a date and time",
    time: "a time",
}
_MESSAGE_WORDS = {
    "tuple_type": "an array",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "dict_type": "a table",
    "string_type": "text in quotes",
    "int_type": "a whole number, without quotes",
    "float_type": "a number, without quotes",
    "int_from_float": "a whole number",
}


def validate(model: type[R], context: Context, collector: Collector) -> R | None:
    """Return the document as a record, or None with its faults in `collector`."""
    try:
        return model.model_validate(context.document.data, context=context)
    except ValidationError as error:
        faults = error.errors(include_url=False)
        for fault in faults:
            # An array with a spoilt item is told of the item, not also of being short of it.
            inside = any(len(f["loc"]) > len(fault["loc"]) and f["loc"][: len(fault["loc"])] == fault["loc"]
                         for f in faults)  # fmt: skip
            if not (fault["type"] == "too_short" and inside):
                _collect(fault, model, context.document, collector)
        return None


def _collect(fault: Any, model: type[Record], document: Document, collector: Collector) -> None:
    path = tuple(part for part in fault["loc"] if part != "[key]")
    place = document.place(*path)
    kind, raw = fault["type"], fault["input"]
    if kind == "fault":
        collector.add(place, fault["ctx"]["found"], fault["ctx"]["expected"])
    elif kind == "extra_forbidden":
        known = _keys_at(model, path[:-1])
        key = str(path[-1])
        listed = ", ".join(known)
        collector.add(place, "unknown key", f"expected one of {listed}{near_miss(key, known)}")
    elif kind == "missing":
        collector.add(place, "missing", "expected this key to be given")
    else:
        shown = (
            f"{raw!r}" if isinstance(raw, str | int | float | bool) else _TYPE_WORDS.get(type(raw), "a value")
        )
        # pydantic says "Input should be greater than 0" or "String should have at least 1 character".
        message = re.sub(r"^.* should (be |have |match )", "", fault["msg"].removeprefix("Value error, "))
        message = _MESSAGE_WORDS.get(kind, message).removesuffix(" after validation, not 0")
        collector.add(place, f"found {shown}"[:80], f"expected {message}")


def _keys_at(model: type[Record], path: Iterable[str | int]) -> list[str]:
    """Return the keys that the record at a path may have."""
    here: Any = model
    for part in path:
        if isinstance(part, int) or here is None:
            continue
        fields = getattr(here, "model_fields", {})
        annotation = fields[part].annotation if part in fields else None
        here = _record_in(annotation)
        if here is None:
            return []
    return list(here.model_fields)


def _record_in(annotation: Any) -> Any:
    """Return the record type inside a possibly nested annotation."""
    if isinstance(annotation, type) and issubclass(annotation, Record):
        return annotation
    for argument in getattr(annotation, "__args__", ()):
        found = _record_in(argument)
        if found is not None:
            return found
    return None
