"""Importing while the window is there already: in turn, and not looked through again and again.

A module of Qt's classes is imported in the window's own thread, between its events. While another thread makes such a
class, an event that comes to the window ends the program: Qt asks PySide6 6.11 for the class of whom it is for without
Python's lock. All else is imported beside the window, whatever time it takes.
"""

import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module


def in_turn(modules: tuple[str, ...]) -> Iterator[None]:
    """Import modules, one a piece; what is there already is none."""
    for name in modules:
        if name not in sys.modules:
            with uncollected():
                import_module(name)
            yield


@contextmanager
def uncollected() -> Iterator[None]:
    """Imports make much that stays: not looked through again and again, a start takes a fifth less.

    Whatever there is then is never looked through: nothing but first imports may be done so.
    """
    by_itself = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        if by_itself:
            gc.enable()
