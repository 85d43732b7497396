"""Reduced points in the form that is set beside a handbook."""

from flyoff.core.figure import Input, format_number
from flyoff.core.units import ft, kt
from flyoff.flights.read import Flight
from flyoff.model.book import FlownCondition
from flyoff.reduction.points import Point
from flyoff.reduction.run import Reduction


def flown_conditions(flight: Flight, reduction: Reduction) -> list[FlownCondition]:
    """Return the level points that have an airspeed, a temperature and a fuel flow."""
    return [
        condition
        for number, point in enumerate(reduction.points)
        if (condition := _condition(flight, reduction, number, point)) is not None
    ]


def _condition(flight: Flight, reduction: Reduction, number: int, point: Point) -> FlownCondition | None:
    altitude, temperature = point.pressure_altitude, point.air.temperature
    speed, flow = point.air.true_airspeed, point.fuel_flow
    if point.condition.kind != "level" or not (altitude and temperature and speed and flow):
        return None
    text = (
        f"{format_number(speed.value / kt, 1)} ± {format_number(speed.u95 / kt, 1)} kt true "
        f"at {format_number(altitude.value / ft, 0)} ft"
    )
    name = flight.name.rpartition("/")[2].removesuffix(".toml")
    return FlownCondition(
        name,
        number,
        altitude.value,
        temperature.value,
        speed.value,
        speed.u95,
        flow.value,
        flow.u95,
        Input(f"{name}: condition {number}, from the log", text, reduction.place(point), flight.card.source),
        point.mass_kg,
    )
