"""Following one thermometer: its offset, its slope with temperature, its drift, from checks as found and events."""

from registry.compute.drift.filter import in_order
from registry.compute.drift.forecast import passes_level_on, probability_out
from registry.compute.drift.pooled import pooled, unlearned
from registry.compute.drift.records import (
    Event,
    History,
    Observation,
    Parameters,
    Predicted,
    Rate,
    Step,
    TypePrior,
)
from registry.compute.drift.tracking import Estimate, Track, before, extend, track

__all__ = [
    "Estimate",
    "Event",
    "History",
    "Observation",
    "Parameters",
    "Predicted",
    "Rate",
    "Step",
    "Track",
    "TypePrior",
    "before",
    "extend",
    "in_order",
    "passes_level_on",
    "pooled",
    "probability_out",
    "track",
    "unlearned",
]
