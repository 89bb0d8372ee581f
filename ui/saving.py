"""Save as spreadsheet: one button for every table; where to, then XLSX or CSV by the ending, made beside the window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from registry.services.problems import Refused
from ui.desk import Desk
from ui.parts import PLAIN, Button, on_press

if TYPE_CHECKING:  # with what makes tables they come along when one is saved, not with the first window
    from registry.services.spreadsheet_out import TableOut
    from registry.services.tables_out import Words
    from ui.work import Progress

    Make = Callable[[Words], TableOut]

T = TypeVar("T")


def of_sites(desk: Desk, file: str, found: T | None, table: Callable[[Words, T, dict[str, str]], TableOut]) -> Any:
    """What a `SaveTable` is handed of something found whose sites are named; None where nothing is there yet."""
    if found is None:
        return None
    names = desk.site_names()
    return desk.say(f"spreadsheet.file.{file}"), lambda words: table(words, found, names)


class SaveTable(Button):
    """Asks where a table is to be saved, and writes it there.

    chosen: in the window's thread, says what is shown now: the file's name without its ending, and what makes the
    table beside the window; None where there is nothing yet. code: of what stands on it.
    """

    def __init__(
        self,
        desk: Desk,
        chosen: Callable[[], tuple[str, Make] | None],
        kind: str = PLAIN,
        code: str = "spreadsheet.save",
    ) -> None:
        super().__init__(desk.look, desk.say(code), kind)
        self.desk, self._chosen, self._title = desk, chosen, desk.say(code)
        self._path = Path()
        self.narrowed = ("", "")  # to what the table is narrowed: in the file's name, and in words
        on_press(self, self.ask)

    def ask(self) -> None:
        chosen = self._chosen()
        if chosen is not None:
            name, self._make = chosen
            self._about = self.narrowed[1]
            name = "-".join(filter(None, (name, self.narrowed[0])))
            self.desk.ask.where_to_save(self._title, f"{name}.xlsx", self.save_to)

    def save_to(self, path: Path) -> None:
        from registry.services import spreadsheet_out, tables_out

        desk, make, about, self._path = self.desk, self._make, self._about, path
        words = tables_out.Words(desk.language, desk.region, desk.session.demo)
        try:
            ending = spreadsheet_out.ending_of(path.name)
        except Refused as refused:
            desk.notice_of(refused)
            return

        def work(_: Progress) -> bytes:
            return spreadsheet_out.written(replace(make(words), about=about), ending)

        desk.in_background(work, self._made)

    def _made(self, content: object) -> None:
        assert isinstance(content, bytes)
        self.desk.save(self._path, content)
