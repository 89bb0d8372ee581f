"""What is new today joined with the habit: each reading speaks of the one or of the sum."""

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from registry.compute.bath.likelihood import SMALLEST, STEP

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Joined:
    """Probabilities on the grid: of the whole error and of its new part; and given each new part, how far the habit is
    from its own mean, and its variance."""

    whole: "Array"
    new: "Array"
    habit: "Array"
    habit_variance: "Array"


def join(before: "Array", log_new: "Array", log_whole: "Array", habit_sd: float) -> Joined:
    """The whole error is the sum of the new part and the habit: its density is a convolution with the habit's."""
    import numpy as np

    new = before * np.exp(log_new - log_new.max())
    of_whole = np.exp(log_whole - log_whole.max())
    apart, kernel = _kernel(habit_sd)
    whole = of_whole * np.convolve(new, kernel, "same")
    weight = np.maximum(np.convolve(of_whole, kernel, "same"), SMALLEST)  # the kernel is even
    first = -np.convolve(of_whole, kernel * apart, "same") / weight
    second = np.convolve(of_whole, kernel * apart**2, "same") / weight
    new = new * weight
    return Joined(whole / whole.sum(), new / new.sum(), first, np.maximum(second - first**2, 0.0))


def _kernel(sd: float) -> tuple["Array", "Array"]:
    """Distances on the grid and the habit's probability in the cell around each; all at nought where known exactly.

    A cell's own width adds STEP²/12 to the variance (Sheppard's correction), which is taken off beforehand.
    """
    import numpy as np
    from scipy.special import ndtr

    within = sqrt(max(sd**2 - STEP**2 / 12, 0.0))
    reach = min(int(np.ceil(6 * within / STEP)), 400)
    apart = np.asarray(np.arange(-reach, reach + 1) * STEP, dtype=np.float64)
    if not reach:
        return apart, np.ones_like(apart)
    kernel = np.asarray(ndtr((apart + STEP / 2) / within) - ndtr((apart - STEP / 2) / within), dtype=np.float64)
    return apart, np.asarray(kernel / kernel.sum())
