"""All charts, in the order a reader meets them."""

from flyoff.charts import balance, flown, payload_range, speed_altitude, trips
from flyoff.charts.chart import Chart
from flyoff.comparison.results import Comparison

CHARTS = (speed_altitude.CHART, payload_range.CHART, balance.CHART, trips.CHART, flown.CHART)


def charts_of(comparison: Comparison) -> tuple[Chart, ...]:
    """Return the charts that a comparison has something to draw for."""
    return tuple(chart for chart in CHARTS if chart.drawn(comparison))
