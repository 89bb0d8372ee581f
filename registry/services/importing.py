"""Imports from CSV and XLSX files: a shift, years of history, thermometers, people. Checked whole, then recorded."""

from registry.services.import_columns import Column, Looked, look_at, remember
from registry.services.import_history import HistoryPlan, check_history, record_history
from registry.services.import_journal import Imported, Progress
from registry.services.import_people import check_people, record_people
from registry.services.import_rows import Options
from registry.services.import_shift import ShiftPlan, check_shift, record_shift
from registry.services.import_thermometers import check_thermometers, record_thermometers
from registry.services.import_things import ThingsPlan

__all__ = [
    "Column",
    "HistoryPlan",
    "Imported",
    "Looked",
    "Options",
    "Progress",
    "ShiftPlan",
    "ThingsPlan",
    "check_history",
    "check_people",
    "check_shift",
    "check_thermometers",
    "look_at",
    "record_history",
    "record_people",
    "record_shift",
    "record_thermometers",
    "remember",
]
