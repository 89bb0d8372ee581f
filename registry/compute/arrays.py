"""Scalars and arrays alike: the type of both, and the range check in front of a formula."""

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# A single float needs no NumPy, so that the first window opens without importing it.
Numbers = TypeVar("Numbers", float, "NDArray[np.float64]")


def within(numbers: Numbers, low: float, high: float, what: str) -> Numbers:
    """`numbers` as float or float array when all lie in [low, high]; else, NaN included, `ValueError`.

    `what`: name and unit for the sentence, as in `"pressure in Pa"`.

    >>> within(20.0, 0.0, 100.0, "temperature in °C")
    20.0
    """
    if isinstance(numbers, int | float):
        checked = float(numbers)
        inside = low <= checked <= high
    else:
        import numpy as np

        checked = np.asarray(numbers, dtype=float)
        inside = bool(np.all((checked >= low) & (checked <= high)))
    if not inside:
        raise ValueError(f"{what} must lie between {low:.12g} and {high:.12g}")
    return checked
