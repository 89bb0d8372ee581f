"""Imports from CSV files: one shift's readings, or years of history. First checked whole, then recorded."""

from registry.services.import_history import HistoryPlan, check_history, record_history
from registry.services.import_journal import Imported, Progress
from registry.services.import_rows import Options
from registry.services.import_shift import ShiftPlan, check_shift, record_shift

__all__ = [
    "HistoryPlan",
    "Imported",
    "Options",
    "Progress",
    "ShiftPlan",
    "check_history",
    "check_shift",
    "record_history",
    "record_shift",
]
