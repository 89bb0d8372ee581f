"""Which tags: of whom, which kind, and only those that say something new unless one asks for more."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services import places, table, tag_printing, tag_wants
from registry.services.tag_printing import Asked
from registry.services.tag_wants import Want
from ui.desk import Desk
from ui.forms import CHOICE, FEW, Field, Form
from ui.parts import Words, clear, column
from ui.tags.about import ALL, WANTED, About
from ui.tick import Tick

NAMED = 60  # tags with a tick of their own; what is beyond is counted


class WhichPart(QWidget):
    changed = Signal()  # other ones are asked for: look again
    ticked = Signal()  # one more or one fewer of those that are shown

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look, self.say = desk, desk.look, desk.say
        self.about = About()
        self.wants: tuple[Want, ...] = ()
        self._shown: list[tuple[Want, Tick]] = []
        self._left: set[tuple[str, str]] = set()
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self._lay.setSpacing(4)
        self.form: Form | None = None
        self.none = Words(self.look, "", 15)
        self.each = QWidget()  # one by one: stands elsewhere on the page
        self._ticks = QVBoxLayout()
        self._ticks.setSpacing(0)
        self.each.setLayout(column(self._ticks, self.none, space=4))

    def begin(self, about: About) -> None:
        self.about = about
        self._left.clear()
        say = self.say
        with self.desk.session.reading() as connection:
            stations = places.stations(connection, self.desk.site.subject)
        kinds = tuple((one, say(f"tags.kind_{one}")) for one in ("status", "identity", "both"))
        which = tuple((one, say(f"tags.which_{one}")) for one in (WANTED, ALL))
        fields = [Field("kind", say("tags.kind"), FEW, about.kind, kinds)]
        if stations and not about.thermometers and about.narrowed is None:
            choices = (("", say("tags.every_station")), *((one.subject, one.payload.name) for one in stations))
            fields.append(Field("station", say("tags.station"), CHOICE, "", choices))
        fields.append(Field("which", say("tags.which"), FEW, about.which, which, say("tags.which_hint")))
        clear(self._lay)
        self.form = Form(self.look, fields)
        self.form.changed.connect(self._was_changed)
        self._lay.addWidget(self.form)

    def _was_changed(self) -> None:
        self._left.clear()
        self.changed.emit()

    @property
    def which(self) -> str:
        return self.form.values()["which"] if self.form else WANTED

    @property
    def kinds(self) -> tuple[tag_printing.Kind, ...]:
        chosen = self.form.values()["kind"] if self.form else "status"
        return tuple(one for one in tag_printing.KINDS if chosen in (one, "both"))

    @property
    def station(self) -> str:
        return self.form.values().get("station", "") if self.form else ""

    @staticmethod
    def looking(
        station: str, site: str, kinds: Sequence[tag_printing.Kind], about: About, session: Any
    ) -> Sequence[Want]:
        """Whoever may bear such a tag, each with why a new one is wanted; it takes its time, so beside the window."""
        with session.reading() as connection:
            among: Collection[str] | None = about.thermometers or None
            at: str | None = site
            if about.narrowed is not None:
                found = table.page(session, connection, about.narrowed, size=100_000, columns=())
                among, at = {one.thermometer for one in found.rows}, None
            elif among is not None:
                at = None
            rows = tag_wants.rows_at(connection, at, station or None, among)
            return [one for kind in kinds for one in tag_wants.look(session, connection, rows, kind)]

    def show_wants(self, wants: Sequence[Want]) -> None:
        """Those that are offered, each with its tick and why."""
        offered = [one for one in wants if one.why or self.which == ALL]
        self.wants = tuple(offered)
        clear(self._ticks)
        self._shown = []
        for one in offered[:NAMED]:
            tick = Tick(self.look, self._words(one), self.say(f"tags.why_{one.why}") if one.why else "")
            tick.setChecked((one.thermometer, one.kind) not in self._left)
            tick.setObjectName(f"{one.kind} {one.tag_id}")
            tick.toggled.connect(self._toggled)
            self._ticks.addWidget(tick)
            self._shown.append((one, tick))
        more = len(offered) - NAMED
        said = self.say("tags.and_more", count=more) if more > 0 else ""
        self.none.say(said if offered else self.say("tags.none_wants" if wants else "tags.none_here"))
        self.none.setVisible(bool(self.none.text()))

    def _words(self, one: Want) -> str:
        said = self.say("tags.one_at", tag=one.tag_id, station=one.station) if one.station else one.tag_id
        return self.say(f"tags.one_{one.kind}", which=said) if len(self.kinds) > 1 else said

    def _toggled(self) -> None:
        for one, tick in self._shown:
            key = (one.thermometer, one.kind)
            (self._left.discard if tick.isChecked() else self._left.add)(key)
        self.ticked.emit()

    def asked(self) -> list[Asked]:
        return [Asked(one.thermometer, one.kind) for one in self.wants if (one.thermometer, one.kind) not in self._left]

    def kept(self) -> Mapping[str, object]:
        values = self.form.values() if self.form else {}
        return {"about": self.about, "chosen": values, "left": set(self._left)}

    def restore(self, kept: Mapping[str, Any]) -> None:
        self.begin(kept["about"])
        if self.form is not None:
            self.form.fill(kept["chosen"])
        self._left = set(kept["left"])
