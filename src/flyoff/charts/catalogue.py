"""All charts, in the order a reader meets them."""

from flyoff.charts import (
    balance,
    cabin,
    calibration,
    climbs,
    flight,
    flown,
    payload_range,
    polar,
    range_map,
    residuals,
    seat_table,
    speed_altitude,
    speed_power,
    swings,
    trips,
    velocity_circles,
)
from flyoff.charts.chart import Chart
from flyoff.comparison.results import Comparison
from flyoff.reduction.run import Reduction

CHARTS: tuple[Chart[Comparison], ...] = (
    speed_altitude.CHART,
    payload_range.CHART,
    range_map.CHART,
    seat_table.CHART,
    balance.CHART,
    trips.CHART,
    swings.CHART,
    cabin.CHART,
    flown.CHART,
)
FLIGHT_CHARTS: tuple[Chart[Reduction], ...] = (
    flight.CHART,
    velocity_circles.CHART,
    residuals.CHART,
    calibration.CHART,
    speed_power.CHART,
    climbs.CHART,
    polar.CHART,
)


def charts_of(comparison: Comparison) -> tuple[Chart[Comparison], ...]:
    """Return the charts that a comparison has something to draw for."""
    return tuple(chart for chart in CHARTS if chart.drawn(comparison))


def charts_of_flight(reduction: Reduction) -> tuple[Chart[Reduction], ...]:
    """Return the charts that a flight has something to draw for."""
    return tuple(chart for chart in FLIGHT_CHARTS if chart.drawn(reduction))
