"""What Start of shift shows now: the list as it is recorded, and what a person asked for beyond that."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from registry.services import shift_list, thermometers
from registry.services.lists import Closed
from registry.services.shift_bath import BathFacts
from registry.services.shift_list import ShiftView
from registry.services.shift_row import ListRow
from ui.desk import Desk
from ui.shift.keying import WRITING, Keying

LEADS = ("lead", "officer")
FRESH_US = 5 * 60 * 1_000_000  # so long a list that nobody touches stands as it was read (judgement)


@dataclass
class Standing:
    """One of these is shared by all that the page is made of; it is read anew whenever something was recorded.

    reopened: to be read although this shift has an answer for them. adding: tag ids scanned or asked for that the
    shift does not want. problems: what is asked about, under its row. making: another bath, while one stands.
    """

    desk: Desk
    keying: Keying
    view: ShiftView | None = None
    rows: dict[str, ListRow] = field(default_factory=dict)
    closed: Closed | None = None
    reopened: set[str] = field(default_factory=set)
    adding: list[str] = field(default_factory=list)
    problems: dict[str, str] = field(default_factory=dict)
    making: bool = False
    _good_until: int = 0
    _closed_over: tuple[Closed, dict[str, ListRow]] | None = None

    def __post_init__(self) -> None:
        self.may = self.desk.may(*LEADS)

    @property
    def bath(self) -> BathFacts | None:
        return self.view.bath if self.view is not None else None

    @property
    def may_write(self) -> bool:
        return self.may and self.bath is not None and not self.bath.too_old

    def read(self, just_read: ShiftView | None = None) -> None:
        """Everything as it is recorded now. Digits that can be recorded no more are told, never dropped silently."""
        session, site = self.desk.session, self.desk.site.subject
        view = just_read or shift_list.start_of_shift(session, site)
        self._note_how_long(view)
        if self.making:
            view = replace(view, bath=None)
        known = {one.thermometer for one in view.rows}
        listed = {one.tag_id for one in view.rows}
        self.adding += [self.tag(one) for one in self.keying.typed_for() if one not in known]
        self.adding = [tag for tag in dict.fromkeys(self.adding) if tag not in listed]
        extra = [shift_list.row_for(session, site, tag) for tag in self.adding]
        self.view = view
        self.rows = {one.thermometer: self._reopened(one) for one in (*view.rows, *extra)}
        self.closed = self._still_closed(view)
        self.problems = {one: why for one, why in self.problems.items() if one in self.rows}
        if gone := self.keying.let_go(view, self.rows):
            what = ", ".join(f"{tag} {keyed.text} °{keyed.unit}" for tag, keyed in gone)
            self.desk.notice(self.desk.say("shift.let_go", what=what))

    def _still_closed(self, view: ShiftView) -> Closed | None:
        """What was closed says nothing of another shift, nor of what has become of a row since."""
        if self.closed is None or view.shift is None or view.shift.day != self.closed.day:
            return None
        if self._closed_over is None or self._closed_over[0] is not self.closed:
            self._closed_over = self.closed, self.rows
        return self.closed if self._closed_over[1] == self.rows else None

    def tag(self, thermometer: str) -> str:
        with self.desk.session.reading() as connection:
            return thermometers.thermometer(connection, thermometer).tag_id

    def _reopened(self, listed: ListRow) -> ListRow:
        """As it stands, or wanting a reading once more where a person said so."""
        if listed.thermometer not in self.reopened or listed.state == "waiting":
            return listed
        return replace(listed, state="waiting", check=None, instead=None)

    def _note_how_long(self, view: ShiftView) -> None:
        now = self.desk.session.clock()
        ends = [now + FRESH_US]
        if view.shift is not None:
            ends.append(view.shift.ends_at)
        if view.bath is not None:
            ends.append(view.bath.good_until)
        self._good_until = min(one for one in ends if one > now)

    @property
    def is_old(self) -> bool:
        """Whether it may speak of another shift by now, or of a bath that is too old."""
        return self.view is not None and self.desk.session.clock() > self._good_until

    def waits(self, thermometer: str) -> bool:
        return thermometer in self.rows and self.rows[thermometer].state in WRITING

    # --- a page made anew goes on ----------------------------------------------------------------------------

    def keep(self) -> dict[str, object]:
        kept = {"site": self.desk.site.subject, "making": self.making}
        return kept | {"adding": list(self.adding), "reopened": set(self.reopened)}

    def go_on(self, kept: Mapping[str, object]) -> bool:
        """Whether what was kept is of this site."""
        if kept["site"] != self.desk.site.subject:
            return False
        self.adding, self.reopened = list(kept["adding"]), set(kept["reopened"])  # type: ignore[call-overload]
        self.making = bool(kept["making"])
        return True
