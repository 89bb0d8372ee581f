"""What a sheet that was keyed in came to: how many checks, and who is not to be used."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services.shift_sheet import Entered
from ui.desk import Desk
from ui.marks import Mark
from ui.parts import Line, Words, row

GOOD = ("use", "use_near_limit")


class SheetResult(QWidget):
    """A sentence, and a line with its word for each that is not simply good."""

    def __init__(self, desk: Desk, tags: list[str], entered: Entered) -> None:
        super().__init__()
        look = desk.look
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 8)
        column.setSpacing(8)
        self.sentence = Words(look, desk.say("happened.sheet_recorded", count=entered.imported.checks), 24, bold=True)
        column.addWidget(self.sentence)
        told = [(tag, one) for tag, one in zip(tags, entered.rows, strict=True) if one and one.lead_word not in GOOD]
        if not told and entered.imported.checks:
            column.addWidget(Words(look, desk.say("happened.sheet_all_good"), 17))
        for tag, one in told:
            mark = Mark(look, look.text(18))
            mark.show_mark("lead", one.lead_word, "", one.reads_high)
            word = Words(look, desk.say(f"lead.{one.lead_word}"), 17, wrap=False)
            line = row(mark, Words(look, tag, 17, bold=True, wrap=False), word, None, space=12)
            column.addLayout(line)
        column.addWidget(Line(look.line))
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
