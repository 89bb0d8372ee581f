"""Something happened: report it; or what else comes up in a shift: an inspector, a paper sheet, no bath."""

from collections.abc import Callable

from PySide6.QtWidgets import QVBoxLayout

from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.happened.agree import AgreePart
from ui.happened.inspector import InspectorPart
from ui.happened.report import ReportPart
from ui.happened.sheet import SheetPart
from ui.happened.swapped import Swapped
from ui.page import Page
from ui.parts import LINK, LINK_INSET, Button, Line, Scroll, Words, column, holding, on_press, row

Part = ReportPart | InspectorPart | SheetPart | AgreePart
PARTS: dict[str, type[Part]] = {
    "report": ReportPart,
    "inspector": InspectorPart,
    "sheet": SheetPart,
    "agree": AgreePart,
}


class HappenedPage(Page):
    """One question as a sentence, the ways to the other parts beneath it, and the part in sight."""

    name = "happened"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.part_name = "report"
        self._parts: dict[str, Part] = {}
        self.title = Words(self.look, "", 20 if self.look.narrow else 28, bold=True)
        self._links = Swapped()
        self._holder = QVBoxLayout()
        self._holder.setContentsMargins(theme.MARGIN, 16, theme.MARGIN, theme.MARGIN)
        self._scroll = Scroll(holding(self._holder))
        title = row(self.title, margins=(LINK_INSET, 0, 0, 0))  # flush with the words of the links
        head = column(title, self._links, space=4, margins=(theme.MARGIN - LINK_INSET, 20, theme.MARGIN, 6))
        self.setLayout(column(head, Line(self.look.bench), self._scroll, space=0))
        self.layout().setStretch(2, 1)  # type: ignore[union-attr]
        self.may = desk.may("lead", "officer")
        if not self.may:
            self.title.say(desk.say("happened.only_looking"))

    def part(self, name: str) -> Part:
        """A part is made when it is first gone to."""
        found = self._parts.get(name)
        if found is None:
            found = self._parts[name] = PARTS[name](self.desk)
            found.title_changed.connect(self._say_title)
            if isinstance(found, ReportPart):
                found.no_bath_for.connect(self._no_bath_for)
            found.setMaximumWidth(self.look.text(1160))
            found.hide()
            self._holder.addWidget(found)
        return found

    def show_part(self, name: str) -> Part:
        self.part_name, shown = name, self.part(name)
        for code, part in self._parts.items():
            part.setVisible(code == name)
        links = Flow(space=12, down=0)
        for code in PARTS:
            if code != name:
                link = Button(self.look, self.desk.say(f"happened.to_{code}"), LINK, height=theme.TOUCH, size=16)
                link.setObjectName(code)
                links.addWidget(on_press(link, self._going(code)))
        self._links.put(links)
        self._say_title()
        self._scroll.verticalScrollBar().setValue(0)
        return shown

    def _going(self, code: str) -> Callable[[], object]:
        return lambda: self.show_part(code).start()

    def _say_title(self) -> None:
        shown = self._parts.get(self.part_name)
        if shown is not None:
            self.title.say(shown.title)

    def _no_bath_for(self, thermometer: str) -> None:
        part = self.show_part("agree")
        assert isinstance(part, AgreePart)
        part.start()
        part.pick(thermometer)

    # --- what the frame asks ---------------------------------------------------------------------------------

    def show_about(self, about: object) -> None:
        """about: a thermometer's id that something happened to, or what `keep_draft` kept."""
        if not self.may:
            return
        if isinstance(about, dict):
            self._restore(about)
            return
        report = self.show_part("report")
        assert isinstance(report, ReportPart)
        if isinstance(about, str):
            report.pick(about)
        else:
            report.start()

    def read_again(self) -> None:
        if self.may and self.part_name in self._parts:
            self._parts[self.part_name].read_again()

    def scanned(self, code: str) -> bool:
        return self.may and self.part(self.part_name).scanned(code)

    def keep_draft(self) -> dict[str, object]:
        return {"part": self.part_name, **{name: part.state() for name, part in self._parts.items()}}

    def _restore(self, kept: dict[str, object]) -> None:
        for name in PARTS:
            state = kept.get(name)
            if isinstance(state, dict):
                self.part(name).restore(state)
        shown = self.show_part(str(kept.get("part", "report")))
        shown.read_again()
