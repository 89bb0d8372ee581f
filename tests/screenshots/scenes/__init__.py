"""Every scene: a state of the window, what it is played in, and who looks."""

from collections.abc import Callable
from dataclasses import dataclass

from tests.screenshots.stage import Stage


@dataclass(frozen=True, slots=True)
class Scene:
    """A state. world: one of `worlds.make`; main: it is drawn in every variant, not only in the plain one."""

    play: Callable[[Stage], object]
    world: str = "dozen"
    role: str = "lead"
    unit: str = "C"
    main: bool = False
    place: str = "shift"

    @property
    def name(self) -> str:
        return self.play.__name__
