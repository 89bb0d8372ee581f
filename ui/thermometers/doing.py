"""What one may do with a thermometer from its page, by role: the buttons, and what each press asks and records."""

from collections.abc import Callable

from PySide6.QtCore import QObject

from registry.services import places, thermometers
from registry.services.story_lines import StoryEntry
from registry.services.thermometer_page import ThermometerPage
from ui.desk import Desk
from ui.forms import CHOICE, FEW, Field
from ui.parts import MAIN, PLAIN, Button, on_press
from ui.thermometers import stating, story_words, voiding
from ui.thermometers.printing import Printing

BOTH, OFFICERS = ("lead", "officer"), ("officer",)
CHECKED = ("in_service", "limited_use", "check_first", "out_of_use")
OUT_WHY = ("damaged", "worn", "outside", "unsteady", "battery_flat", "sent_away", "spare", "other_reason")
RETIRE_WHY = ("worn", "damaged", "outside", "unsteady", "lost", "other_reason")


class Doing(QObject):
    """Each press begins here; the page it was pressed on is handed along."""

    def __init__(self, desk: Desk, parent: QObject) -> None:
        super().__init__(parent)
        self.desk, self.say = desk, desk.say
        self.printing = Printing(desk, self)

    # --- the buttons -----------------------------------------------------------------------------------------

    def buttons(self, page: ThermometerPage) -> list[Button]:
        """Those for this role; for who only looks, none."""
        if not self.desk.may(*BOTH):
            return []
        found = [
            self._button("check_now", page, self.check_now, MAIN),
            self._button("report", page, self.report),
            self._button("move", page, self.move),
            self._button("print", page, self.printing.choose),
        ]
        if self.desk.may(*OFFICERS) and page.of.row.status != "retired":
            found.append(self._button("retire", page, self.retire))
        found.append(self._button("more", page, self.more))
        found[0].setEnabled(not self.why_not(page))
        return found

    def _button(
        self, name: str, page: ThermometerPage, action: Callable[[ThermometerPage], object], kind: str = PLAIN
    ) -> Button:
        button = Button(self.desk.look, self.say(f"thermometers.do.{name}"), kind)
        button.setObjectName(name)
        on_press(button, lambda: action(page))
        return button

    def why_not(self, page: ThermometerPage) -> str:
        """Why it cannot be checked now and here; nothing where it can, or where one only looks."""
        row = page.of.row
        if not self.desk.may(*BOTH):
            return ""
        if row.service_status not in CHECKED:
            return self.say(f"thermometers.not_checked_when.{row.service_status}")
        if row.site != self.desk.site.subject:
            return self.say("thermometers.elsewhere", site=page.names.get(row.site or "", ""))
        return ""

    # --- each of them ----------------------------------------------------------------------------------------

    def check_now(self, page: ThermometerPage) -> None:
        self.desk.go("shift", page.of.row.thermometer)

    def report(self, page: ThermometerPage) -> None:
        self.desk.go("happened", page.of.row.thermometer)

    def move(self, page: ThermometerPage) -> None:
        """To a station of this site or another one, in one list."""
        with self.desk.session.reading() as connection:
            sites, stations = places.sites(connection), places.stations(connection)
        choices = []
        for site in sorted(sites, key=lambda one: one.subject != page.of.row.site):
            own = [one for one in stations if one.payload.site == site.subject]
            choices += [(f"{site.subject} {one.subject}", f"{one.payload.name}, {site.payload.name}") for one in own]
            choices.append((site.subject, self.say("thermometers.no_station", site=site.payload.name)))
        row = page.of.row
        now = " ".join(one for one in (row.site, row.station) if one)
        field = Field("place", self.say("thermometers.move_to"), CHOICE, now, tuple(choices))

        def moved(values: dict[str, str]) -> None:
            to, _, station = values["place"].partition(" ")
            thermometers.move(self.desk.session, self.desk.actor, row.thermometer, to, station or None)
            self.desk.recorded.emit()

        title = self.say("thermometers.move_title", tag=page.of.tag_id)
        self.desk.ask.fill(title, [field], self.say("thermometers.do.move"), moved)

    def retire(self, page: ThermometerPage) -> None:
        self._status(page, "retire", "retired", RETIRE_WHY)

    def _status(self, page: ThermometerPage, name: str, status: str, reasons: tuple[str, ...]) -> None:
        choices = tuple((one, story_words.why_words(self.desk, one)) for one in reasons)
        field = Field("why", self.say("thermometers.why"), CHOICE, reasons[0], choices)

        def done(values: dict[str, str]) -> None:
            session, actor, one = self.desk.session, self.desk.actor, page.of.row.thermometer
            if status == "out_of_use":
                check = page.sentence.check if values["why"] == "outside" else None
                thermometers.take_out(session, actor, one, values["why"], check)
            else:
                thermometers.set_status(session, actor, one, status, values["why"])
            self.desk.recorded.emit()
            self.desk.tell_too_few(one)

        title = self.say(f"thermometers.{name}_title", tag=page.of.tag_id)
        words = self.say(f"thermometers.{name}_words")
        self.desk.ask.fill(title, [field], self.say(f"thermometers.do.{name}"), done, words=words)

    # --- more ------------------------------------------------------------------------------------------------

    def more(self, page: ThermometerPage) -> None:
        known = {one: self.say(f"thermometers.do.{one}") for one in self.offered(page)}
        title = self.say("thermometers.more_title", tag=page.of.tag_id)
        self.desk.ask.choose(title, tuple(known.items()), lambda one: self._more(page, one))

    def offered(self, page: ThermometerPage) -> list[str]:
        """What may be done besides, for this role and as it stands."""
        status, officer = page.of.row.status, self.desk.may(*OFFICERS)
        away = status in ("out_of_use", "lost", "retired")
        limited = status in ("limited_use", "retired")
        found = []
        if status in ("in_service", "limited_use"):
            found.append("take_out")
        if away and (officer or not limited):
            found.append("put_back")
        if officer and status == "limited_use":
            found.append("lift_limit")
        if officer and status != "retired":
            found.append("limit")
        if page.of.type.sensor_parts and status != "retired":
            found.append("change_sensor")
        if officer:
            found += ["amend", "retag", "outside_certificate"]
        return [*found, "void"]

    def _more(self, page: ThermometerPage, what: str) -> None:
        actions: dict[str, Callable[[], object]] = {
            "take_out": lambda: self._status(page, "take_out", "out_of_use", OUT_WHY),
            "put_back": lambda: self._back(page, "put_back"),
            "lift_limit": lambda: self._back(page, "lift_limit"),
            "limit": lambda: self._limit(page),
            "change_sensor": lambda: stating.change_sensor(self.desk, page),
            "amend": lambda: stating.amend(self.desk, page),
            "retag": lambda: stating.retag(self.desk, page),
            "outside_certificate": lambda: stating.outside_certificate(self.desk, page),
            "void": lambda: voiding.choose(self.desk, page),
        }
        actions[what]()

    def _back(self, page: ThermometerPage, name: str) -> None:
        def back() -> None:
            session, actor = self.desk.session, self.desk.actor
            self.desk.did(lambda: thermometers.set_status(session, actor, page.of.row.thermometer, "in_service"))

        title = self.say(f"thermometers.{name}_title", tag=page.of.tag_id)
        self.desk.ask.sure(
            title, self.say(f"thermometers.do.{name}"), back, details=self.say(f"thermometers.{name}_words")
        )

    def _limit(self, page: ThermometerPage) -> None:
        uses = (("cold", self.say("thermometers.uses.cold")), ("hot", self.say("thermometers.uses.hot")))
        reasons = tuple((one, story_words.why_words(self.desk, one)) for one in OUT_WHY)
        fields = [
            Field("only", self.say("thermometers.only"), FEW, page.only or "cold", uses),
            Field("why", self.say("thermometers.why"), CHOICE, OUT_WHY[0], reasons),
        ]

        def limited(values: dict[str, str]) -> None:
            session, actor, one = self.desk.session, self.desk.actor, page.of.row.thermometer
            thermometers.set_status(session, actor, one, "limited_use", values["why"], values["only"])
            self.desk.recorded.emit()
            self.desk.tell_too_few(one)

        title = self.say("thermometers.limit_title", tag=page.of.tag_id)
        self.desk.ask.fill(title, fields, self.say("thermometers.do.limit"), limited)

    def open_line(self, page: ThermometerPage, line: StoryEntry) -> None:
        """A line of the story, with its number; who may void it is asked why."""
        voiding.open_line(self.desk, page, line)
