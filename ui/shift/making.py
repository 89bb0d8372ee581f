"""Making a bath: which, how, where the pressure comes from, which thermometers stand beside it, and its cautions."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.quantity import Reading
from registry.services import baths, thermometers, typed
from registry.services.baths import CONTAINERS, MADE, NewBath, PressureSource
from registry.services.problems import KnownError, Problem, Refused, refuse
from ui import theme
from ui.desk import Desk
from ui.parts import Choice, Words
from ui.shift.bath_form import BathForm

POINTS = ("ice_point", "boiling_point", "comparison")
CAUTIONS = {
    "ice_point": ("sanitise_first", "stems_at_once", "bath_ice_never_eaten", "local_codes_first"),
    "boiling_point": ("scalding", "sanitise_first", "never_boil_to_ice", "local_codes_first"),
    "comparison": ("scalding", "sanitise_first", "glass", "local_codes_first"),
}


class MakeBath(QWidget):
    """Which bath and how it is made. `make` is for the one press that says: it is ready and the probes are in."""

    made = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self.setObjectName("making")
        self._id = desk.session.new_id()
        self._questioned: tuple[str, frozenset[str]] = ("", frozenset())
        self.point = "ice_point"
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(8)
        choice = Choice(
            self.look,
            [(one, desk.say(f"shift.{one}")) for one in POINTS],
            self.point,
            desk.say("shift.which_bath"),
            height=theme.TOUCH,
        )
        choice.chosen.connect(self._choose)
        self._column.addWidget(choice, 0, Qt.AlignmentFlag.AlignLeft)
        self._form = self._made_form()
        self._column.addWidget(self._form)
        self._told = Words(self.look, "", 14, colour="muted")
        self._column.addWidget(self._told)
        self.cautions = Words(self.look, "", 14, colour="muted")
        self._column.addWidget(self.cautions)
        self._say_cautions()

    def _tell_how(self) -> None:
        """The whole words of what the narrow fields choose."""
        values, say = self._form.values(), self.desk.say
        if self.point == "boiling_point":
            self._told.say(f"{say('pressure_source.' + values['pressure_source'])}. {say('bath.rolling_boil')}.")
        else:
            self._told.say(say(f"bath.{values.get('made', MADE[self.point][0])}"))

    def _say_cautions(self) -> None:
        self.cautions.say("\n".join(self.desk.say(f"caution.{code}") for code in CAUTIONS[self.point]))
        self._tell_how()

    def _choose(self, point: str) -> None:
        self.point = point
        fresh = self._made_form()
        self._column.replaceWidget(self._form, fresh)
        self._form.hide()
        self._form.deleteLater()
        self._form = fresh
        self._say_cautions()

    def _made_form(self) -> BathForm:
        form = BathForm(self.desk, self.point)
        form.submitted.connect(self.make)
        form.changed.connect(self._tell_how)
        return form

    def make(self) -> None:
        """Record the bath; what is refused is said beside its field, and a question is answered by a second press."""
        try:
            new = self._new_bath()
            baths.make_bath(self.desk.session, self.desk.actor, new, bath=self._id)
        except Refused as refused:
            self._refused(refused)
            return
        except KnownError as trouble:
            self.desk.notice_of(trouble)
            return
        self.made.emit()

    def _refused(self, refused: Refused) -> None:
        codes = frozenset("pressure_kind" for one in refused.problems if one.code.endswith("_likelier"))
        self._questioned = (str(self._form.values()), codes)
        self._form.show_problems(refused.problems, self._say_problem)

    def _say_problem(self, problem: Problem) -> str:
        sentence = self.desk.say_problem(problem)
        return f"{sentence} {self.desk.say('shift.press_again')}" if problem.code.endswith("_likelier") else sentence

    def _new_bath(self) -> NewBath:
        values = self._form.values()
        site = self.desk.site.subject
        text, codes = self._questioned
        asked = codes if text == str(values) else frozenset()
        if self.point == "boiling_point":
            source = PressureSource(values["pressure_source"])
            given = values["pressure"]
            pressure = None
            if source is not PressureSource.ELEVATION or given:
                pressure = typed.pressure(f"{given} {values['unit']}")
            return NewBath(
                site, self.point, MADE[self.point][0], CONTAINERS[self.point][0], source, pressure, asked=asked
            )
        made = values.get("made", MADE[self.point][0])
        if self.point == "comparison":
            container = "in_its_place" if made == "in_place" else CONTAINERS[self.point][0]
            return NewBath(site, self.point, made, container, beside=self._beside(values))
        return NewBath(site, self.point, made)

    def _beside(self, values: dict[str, str]) -> tuple[tuple[str, Reading], ...]:
        """Each reference named, with what it shows in its own unit."""
        found = []
        for tag, shows in (("tag", "shows"), ("tag_2", "shows_2")):
            if values[tag] or values[shows]:
                with self.desk.session.reading() as connection:
                    of = thermometers.find(connection, values[tag])
                found.append((of.tag_id, _shown(values[shows], list(of.facts.scales), shows)))
        return tuple(found)


def _shown(text: str, units: list[str], field: str) -> Reading:
    """In the unit on its dial; where it has two, the one that is typed behind the digits, and none is guessed."""
    if len(units) > 1 and not text.rstrip().upper().endswith(tuple(units)):
        raise refuse(field, "say_its_unit")
    shown = typed.reading(text, "F" if units[0] == "F" else "C", field)
    if shown.unit not in units:
        raise refuse(field, "not_its_unit", value=shown.unit)
    return shown
