"""What a lead says of a bath: good, off, or good all the same with a reason; and that another one is to be made."""

from PySide6.QtCore import QObject, Signal

from registry.services import baths
from ui.desk import Desk
from ui.shift.standing import Standing

OVERRULED_WHY = ("reference_agrees", "known_to_read_so", "made_with_care", "other_reason")


class Judging(QObject):
    """Nothing read in a bath hangs in the air: it is judged before another one is made."""

    judged = Signal()  # the list goes on
    another_wanted = Signal()

    def __init__(self, desk: Desk, now: Standing) -> None:
        super().__init__()
        self.desk, self.now = desk, now
        self.doubted = False  # whether the band above the list waits for its answer

    def _judge(self, judged: str, why: str | None = None) -> bool:
        desk, bath = self.desk, self.now.bath
        if bath is None:
            return False
        if judged == "condemned":
            from registry.services import bath_watch  # late: the first list does without it

            return desk.did(lambda: bath_watch.condemn(desk.session, desk.actor, bath.bath))
        return desk.did(lambda: baths.judge_bath(desk.session, desk.actor, bath.bath, judged, why=why))

    def accept(self) -> None:
        if self._judge("accepted"):
            self.judged.emit()

    def ask_whether_off(self) -> None:
        say = self.desk.say
        self.desk.ask.sure(
            say("shift.off_sure"), say("shift.bath_is_remade"), self.remake, details=say("shift.off_details")
        )

    def remake(self) -> None:
        """The bath is condemned with what was read in it, which is kept; another one is made."""
        self.judge_and_make_another("condemned")

    def overrule(self) -> None:
        choices = [(why, self.desk.say(f"overrule.{why}")) for why in OVERRULED_WHY]
        self.desk.ask.choose(self.desk.say("shift.overrule_why"), choices, self._overruled)

    def _overruled(self, why: str) -> None:
        if self._judge("overruled", why):
            self.judged.emit()

    def ask_for_another(self) -> None:
        """Another one while this stands: it is judged first; one that nobody was read in is just let go."""
        desk, bath = self.desk, self.now.bath
        if bath is None or self.doubt_stands():
            return
        if bath.judged not in (None, "suspect"):
            self.another_wanted.emit()
        elif not any(one.check is not None and one.check.bath == bath.bath for one in self.now.rows.values()):
            self._judge("condemned")
        else:
            choices = [("accepted", desk.say("shift.bath_is_good")), ("condemned", desk.say("shift.bath_is_off"))]
            desk.ask.choose(desk.say("shift.judge_first"), choices, self.judge_and_make_another)

    def judge_and_make_another(self, judged: str) -> None:
        if self._judge(judged):
            self.another_wanted.emit()

    def doubt_stands(self) -> bool:
        """A bath in doubt is not called good in passing; who tries is told."""
        bath = self.now.bath
        stands = self.doubted and bath is not None and bath.judged in (None, "suspect")
        if stands:
            self.desk.notice(self.desk.say("shift.doubt_first"))
        return stands
