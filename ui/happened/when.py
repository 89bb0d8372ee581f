"""When it happened: now, a while ago at a touch, or earlier with the time typed."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from registry.services import typed
from registry.services.problems import Refused, refuse
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import Choice, Words

AGO = {"quarter": 15, "hour": 60}  # minutes: for who has no keys at hand


class When(QWidget):
    """One of a few; the field stands beside them where it was earlier."""

    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        say = desk.say
        choices = [(one, say(f"happened.{one}")) for one in ("now", *AGO, "earlier")]
        self.choice = Choice(desk.look, choices, "now", say("happened.when"), height=theme.TOUCH, breaks=True)
        self.choice.chosen.connect(self._chosen)
        self.field = QLineEdit()
        self.field.setMinimumHeight(theme.TOUCH)
        self.field.setMaximumWidth(desk.look.text(220))
        self.field.setAccessibleName(say("happened.time"))
        self.field.setAccessibleDescription(say("happened.time_hint"))
        self.field.textEdited.connect(self._edited)
        self._hint = Words(desk.look, say("happened.time_hint"), 14, colour="muted")
        self.problem = Words(desk.look, "", 15, bold=True, colour="caution")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addLayout(Flow(self.choice, self.field, space=12))
        column.addWidget(self._hint)
        column.addWidget(self.problem)
        self.problem.hide()
        self._show()

    def _show(self) -> None:
        earlier = self.choice.value == "earlier"
        self.field.setVisible(earlier)
        self._hint.setVisible(earlier)
        if not earlier:
            self.problem.hide()

    def _chosen(self) -> None:
        self._show()
        if self.choice.value == "earlier":
            self.field.setFocus()
        self.changed.emit()

    def _edited(self) -> None:
        self.problem.hide()
        self.changed.emit()

    def instant(self) -> int | None:
        """Microseconds UTC; None is now. Refused, said beside the field, where it is no time or lies ahead."""
        if self.choice.value == "now":
            return None
        if self.choice.value in AGO:
            return self.desk.session.clock() - AGO[self.choice.value] * 60_000_000
        try:
            return self._earlier()
        except Refused as refused:
            self.problem.say(" ".join(self.desk.say_problem(one) for one in refused.problems))
            self.problem.show()
            self.field.setFocus()
            raise

    def _earlier(self) -> int:
        site, session = self.desk.site.payload, self.desk.session
        at = typed.moment_or_now(self.field.text(), session.today(site), site.zone, session.clock())
        if at is None:
            raise refuse("at", "empty")
        return at

    def state(self) -> tuple[str, str]:
        return self.choice.value, self.field.text()

    def restore(self, kept: tuple[str, str]) -> None:
        self.choice.choose(kept[0])
        self.field.setText(kept[1])
        self._show()
