"""Draws the chart model: offsets over time, the days around a moment, the small one in a row, a pile of dots."""

from ui.plots.chart import paint_chart
from ui.plots.pile import Pile, paint_pile
from ui.plots.plot import Plot
from ui.plots.sheet import LANE, TEXT, Sheet, chart_area, is_small

__all__ = ["LANE", "TEXT", "Pile", "Plot", "Sheet", "chart_area", "is_small", "paint_chart", "paint_pile"]
