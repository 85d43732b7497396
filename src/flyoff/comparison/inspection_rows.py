"""The rows of the comparison table that runways, climb and cabin add."""

from collections.abc import Sequence

from flyoff.comparison.results import Row
from flyoff.comparison.runway import Field

INSPECTION_ROWS = (
    Row("takeoff_distance", "Takeoff over 50 ft, sea level", "Runway", "less"),
    Row("landing_distance", "Landing over 50 ft, sea level", "Runway", "less"),
    Row("climb_rate", "Rate of climb, sea level", "Climb", "more"),
    Row("climb_gradient", "Gradient of climb, sea level", "Climb", "more"),
    Row("service_ceiling", "Service ceiling", "Climb", "more"),
    Row("glide_range", "Glide range", "Climb", "more"),
    Row("cabin_width", "Width", "Cabin", "more"),
    Row("cabin_height", "Height", "Cabin", "more"),
    Row("cabin_length", "Length", "Cabin", "more"),
    Row("baggage_volume", "Baggage room", "Cabin", "more"),
    Row("cabin_noise", "Noise, by the dossier", "Cabin", "less"),
)
_PARTS = (("takeoff_margin", "Takeoff length to spare"), ("landing_margin", "Landing length to spare"))


def inspection_rows(fields: Sequence[Field]) -> tuple[Row, ...]:
    """Return the rows, with those that each runway adds."""
    runways = (
        Row(f"runway.{field.key}.{part}", label, f"Runway: {field.runway.name}", "more")
        for field in fields
        for part, label in _PARTS
    )
    return (*INSPECTION_ROWS[:2], *runways, *INSPECTION_ROWS[2:])
