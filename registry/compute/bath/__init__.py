"""Checks that share a bath share its error: whether the bath is off or the thermometers are."""

from registry.compute.bath.beliefs import BathPrior, Habit, Tails, boiling, flask, ice
from registry.compute.bath.diagnosis import diagnose
from registry.compute.bath.misfit import ElevationFit, PressureMistake, misfit_elevation, pressure_mistake
from registry.compute.bath.order import ToRead, reading_order
from registry.compute.bath.pinned import Pin, habit
from registry.compute.bath.records import FARTHEST, BathError, Diagnosis, InBath, Remaining
from registry.compute.bath.swap import Swap, swapped

__all__ = [
    "FARTHEST",
    "BathError",
    "BathPrior",
    "Diagnosis",
    "ElevationFit",
    "Habit",
    "InBath",
    "Pin",
    "PressureMistake",
    "Remaining",
    "Swap",
    "Tails",
    "ToRead",
    "boiling",
    "diagnose",
    "flask",
    "habit",
    "ice",
    "misfit_elevation",
    "pressure_mistake",
    "reading_order",
    "swapped",
]
