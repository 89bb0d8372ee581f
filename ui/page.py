"""What the frame asks of each place."""

from collections.abc import Iterator

from PySide6.QtWidgets import QWidget

from ui.desk import Desk


class Page(QWidget):
    """A place in the window. The frame makes it when it is first gone to, and anew when the look changes.

    `name` is the place's code; its words are `place.NAME`.
    """

    name = ""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.look = desk.look

    def get_ready(self, about: object) -> Iterator[None]:
        """What can be made before it is shown for the first time, a piece at a time."""
        return iter(())

    def show_about(self, about: object) -> None:
        """It is gone to, with what to show there (None: nothing special); it reads again."""

    def read_again(self) -> None:
        """Something was recorded while it is in sight."""

    def scanned(self, code: str) -> bool:
        """A tag was scanned or typed into the find field while this place is in sight. Whether it was taken here."""
        return False

    def set_small(self, small: bool) -> None:
        """The window is small, or no longer."""

    def count(self) -> int | None:
        """What waits here, shown muted beside the place; None for nothing."""
        return None

    def is_keying(self) -> bool:
        """Whether something was typed here that is not recorded yet, and that nothing shall come between."""
        return False

    def keep_draft(self) -> dict[str, object] | None:
        """What is being keyed in, so that a page made anew goes on with it."""
        return None
