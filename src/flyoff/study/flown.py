"""Reduced points in the form that is set beside a handbook."""

from flyoff.core.draws import Draws
from flyoff.core.figure import Input, format_number
from flyoff.core.sources import Place
from flyoff.core.units import ft, kt
from flyoff.flights.read import Flight
from flyoff.model.book import FlownCondition
from flyoff.reduction.run import Reduction
from flyoff.reduction.uncertainty import DrawnPoint, draw_points


def flown_conditions(flight: Flight, reduction: Reduction, draws: Draws) -> list[FlownCondition]:
    """Return the level points that have an airspeed, a temperature and a fuel flow.

    Their draws share what the flight's points share: calibration, altimeter and probe.
    """
    drawn = draw_points(reduction, draws)
    return [
        condition
        for number, point in enumerate(reduction.points)
        if (condition := _condition(flight, reduction, number, drawn[number])) is not None
    ]


def _condition(flight: Flight, reduction: Reduction, number: int, drawn: DrawnPoint) -> FlownCondition | None:
    point = reduction.points[number]
    altitude, temperature = point.pressure_altitude, point.air.temperature
    speed, flow = point.air.true_airspeed, point.fuel_flow
    if point.condition.kind != "level" or not (altitude and temperature and speed and flow):
        return None
    text = (
        f"{format_number(speed.value / kt, 1)} ± {format_number(speed.u95 / kt, 1)} kt true "
        f"at {format_number(altitude.value / ft, 0)} ft"
    )
    folder, slash, file = flight.name.rpartition("/")
    name = file.removesuffix(".toml")
    place = reduction.place(point)
    seen = Place(f"{folder}{slash}{place.file}", place.line, place.field)
    return FlownCondition(
        name,
        number,
        altitude.value,
        temperature.value,
        speed.value,
        speed.u95,
        flow.value,
        flow.u95,
        Input(f"{name}: condition {number}, from the log", text, seen, flight.card.source),
        point.mass_kg,
        point.flags,
        point.extrapolated,
        drawn.true_airspeed_m_s,
    )
