"""Standard weights of people by published rule, for who has not been weighed."""

from dataclasses import dataclass, replace
from typing import Annotated, Any, TypeAlias

from pydantic import GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.record import Of
from flyoff.core.sources import Place, Source
from flyoff.core.tomlfile import Written

SOURCES = {
    source.key: source
    for source in (
        Source(
            "FAA-H-8083-1B",
            "Aircraft Weight and Balance Handbook, FAA-H-8083-1B, standard weights",
            2016,
            "Federal Aviation Administration",
            "handbook",
            "the value also stands in FAA-H-8083-30, chapter 4",
        ),
        Source(
            "NCC.POL.105",
            "Regulation (EU) No 965/2012, Annex VI, NCC.POL.105, Table 2, 1 to 5 passenger seats",
            2012,
            "European Union",
            "regulation",
            "hand baggage included; the crew's value is in paragraph (c)",
        ),
    )
}
STANDARD = {
    "standard person, FAA-H-8083-1B": "170 lb",
    "standard male, NCC.POL.105": "104 kg",
    "standard female, NCC.POL.105": "86 kg",
    "standard child, NCC.POL.105": "35 kg",
    "standard pilot, NCC.POL.105": "85 kg",
}
"""What a standard weight may be called, and what it is."""


def standard_weight(words: str) -> Quantity | None:
    """Return the standard weight of that name, or None where it names none."""
    text = STANDARD.get(" ".join(words.split()))
    if text is None:
        return None
    return parse_quantity(text, "mass").at(Place(""), words.rpartition(", ")[2].strip())


@dataclass(frozen=True)
class OfPerson(Of):
    """Marks a field as the weight of a person: a quantity, or the name of a standard weight."""

    def read(self, raw: Any, info: core_schema.ValidationInfo) -> Quantity:
        """Return the quantity that `raw` writes or names."""
        standard = standard_weight(raw) if isinstance(raw, str) else None
        if standard is None:
            return super().read(raw, info)
        return replace(standard, place=raw.place if isinstance(raw, Written) else Place(""))

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the names beside the forms of a quantity."""
        quantity = super().__get_pydantic_json_schema__(_schema, _handler)
        return {"anyOf": [*quantity["anyOf"], {"enum": list(STANDARD)}]}


PersonWeight: TypeAlias = Annotated[Quantity, OfPerson("mass", above=0.0, at_most=300.0)]
