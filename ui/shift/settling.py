"""How long the probes have been in the bath."""

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QProgressBar, QWidget

from registry.services.shift_bath import BathFacts
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import Words, column

SECOND_US = 1_000_000


class Settling(QWidget):
    """How long the probes have been in, and whether the slowest type has settled. It tells; nothing waits for it."""

    def __init__(self, desk: Desk, facts: BathFacts, *, small: bool = False) -> None:
        super().__init__()
        self.desk, self._facts = desk, facts
        size, colour = (15, "muted") if small else (17, "ink")
        self._words = Words(desk.look, "", size, bold=not small, colour=colour, wrap=False)
        self._since = Words(
            desk.look, desk.say("shift.probes_in", at=desk.clock_time(facts.made_at)), 14, colour="muted", wrap=False
        )
        self._bar = QProgressBar()
        self._bar.setTextVisible(False)
        self._bar.setFixedHeight(6)
        self._bar.setAccessibleName(desk.say("shift.settling"))
        told, bar = Flow(self._words, self._since, space=16, down=0), [] if small or facts.judged else [self._bar]
        self.setLayout(column(told, *bar, space=6))
        if facts.judged is not None:  # nobody waits any more; a wide window says so beside the reference
            self._words.say(desk.say(f"shift.judged_{facts.judged}"))
            self._words.setVisible(small)
            self._since.setVisible(not small)
            return
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.tick)
        self._timer.start(1000)
        self.tick()

    def tick(self) -> None:
        settle = self._facts.settle
        if settle is None:
            self._words.say("")
            self._timer.stop()
            return
        gone = (self.desk.session.clock() - self._facts.made_at) / SECOND_US
        left = settle.seconds - gone
        self._bar.setMaximum(max(1, round(settle.seconds)))
        self._bar.setValue(min(max(0, round(gone)), self._bar.maximum()))
        if left > 0:
            self._words.say(self.desk.say("shift.settles_in", minutes=int(left // 60), seconds=f"{int(left % 60):02d}"))
        else:
            self._words.say(self.desk.say("shift.settled"))
            self._timer.stop()
