"""The chart model: what stands where in a plot, as plain records; drawn by the window and on paper.

Values are differences in one unit, as floats; instants are integer microseconds UTC. Nothing here draws, and nothing
here words: every text comes from `Words`.
"""

from registry.charts.axes import DAY_US, nice_step, time_ticks, value_ticks
from registry.charts.history import (
    Checked,
    Followed,
    Happened,
    History,
    Turned,
    answer_chart,
    offset_chart,
    small_chart,
)
from registry.charts.model import (
    AS_LEFT,
    Arrow,
    Axis,
    Band,
    Chart,
    Label,
    Lane,
    LaneMark,
    Line,
    Placed,
    Points,
    Spot,
    Tick,
    TimeLabel,
    VLine,
    Words,
    outline,
    spot,
    spots,
    trail,
)
from registry.charts.pile import Dot, DotPile, dot_pile

__all__ = [
    "AS_LEFT",
    "DAY_US",
    "Arrow",
    "Axis",
    "Band",
    "Chart",
    "Checked",
    "Dot",
    "DotPile",
    "Followed",
    "Happened",
    "History",
    "Label",
    "Lane",
    "LaneMark",
    "Line",
    "Placed",
    "Points",
    "Spot",
    "Tick",
    "TimeLabel",
    "Turned",
    "VLine",
    "Words",
    "answer_chart",
    "dot_pile",
    "nice_step",
    "offset_chart",
    "outline",
    "small_chart",
    "spot",
    "spots",
    "time_ticks",
    "trail",
    "value_ticks",
]
