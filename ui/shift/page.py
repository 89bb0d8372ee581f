"""Start of shift: the bath, the list, and what becomes of each row. Digits and Enter are all that a row needs."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from registry.services import baths, checks, lists, mend, shift_list, thermometers
from registry.services.bath_doubt import most_one_way
from registry.services.lists import Closed
from registry.services.problems import KnownError, Refused
from registry.services.shift_list import ListRow, ShiftView
from ui import theme
from ui.desk import Desk
from ui.page import Page
from ui.parts import Line, Scroll, clear, column, holding, row
from ui.shift.bath import BathPanel, BathStrip, Settling
from ui.shift.beside import BesideNow
from ui.shift.field import ReadingField
from ui.shift.foot import Foot
from ui.shift.keying import WRITING, Keying
from ui.shift.listing import ShiftList
from ui.shift.opened import Adjusting, Instead, Question, Repeats, out_of_use_choices
from ui.shift.pad import NumberPad

LEADS = ("lead", "officer")
LOOKED_AT_MS = 10_000
FRESH_US = 5 * 60 * 1_000_000  # so long a list that nobody touches stands as it was read (judgement)
OVERRULED_WHY = ("reference_agrees", "known_to_read_so", "made_with_care", "other_reason")
PAD_WANTS = 800  # px at 100 %: a narrower window has no number pad beside its list


class ShiftPage(Page):
    name = "shift"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.keying = Keying(desk, desk.site.subject)
        self.may = desk.may(*LEADS)
        self.small = False
        self.view: ShiftView | None = None
        self.closed: Closed | None = None
        self.rows: dict[str, ListRow] = {}
        self.reopened: set[str] = set()  # to be read although this shift has an answer for them
        self.adding: list[str] = []  # tag ids scanned or asked for that the shift does not want
        self.problems: dict[str, str] = {}  # what is asked about, under its row
        self.open_instead = ""
        self.making = False  # another bath, while the one before is judged good
        self._opened: dict[str, tuple[object, ...]] = {}
        self._good_until = 0
        self._build()
        timer = QTimer(self)
        timer.timeout.connect(self.look_again)
        timer.start(LOOKED_AT_MS)

    # --- building --------------------------------------------------------------------------------------------

    def _build(self) -> None:
        desk, look = self.desk, self.look
        self.bath = BathPanel(desk)
        self.bath.made.connect(self._bath_made)
        self.bath.another_wanted.connect(self._another_bath)
        self.bath_side = Scroll(self.bath)
        self.bath_side.setMinimumWidth(max(theme.BATH, look.text(theme.BATH)) + 8)
        self.list = ShiftList(desk, small=self.small)
        self.list.keyed.connect(self._keyed)
        self.list.entered.connect(self._entered)
        self.list.unit_chosen.connect(self._unit_chosen)
        self.list.instead_wanted.connect(self._instead_wanted)
        self.list.mend_wanted.connect(self._mend_wanted)
        self.list.current_changed.connect(self._current_changed)
        self.pad = NumberPad(desk)
        self.pad.pressed.connect(self._pad_pressed)
        self.pad.record.connect(self._pad_record)
        self.pad.instead.connect(self._pad_instead)
        self.foot = Foot(desk, small=self.small)
        self.foot.judge.connect(self._accept)
        self.foot.off.connect(self._bath_off)
        self.foot.tags.connect(self._print_tags)
        self.foot.finish.connect(self._finish)
        self.settling = column(space=0)
        self.band = column(space=0)
        self.strip = column(space=0)
        self.beside = BesideNow(desk)
        self.beside.changed.connect(self._beside_changed)
        self.beside.done.connect(self._beside_done)
        self.beside.writing.connect(self._beside_writing)
        self.beside.hide()
        scrolled = self.small and look.zoom > 1
        above = self.list.above if scrolled else column(space=0)
        for part in (self.strip, self.band):
            above.addLayout(part)
        above.addWidget(self.beside)
        middle = column(*([] if scrolled else [above]), self.list, space=0)
        middle.setStretch(middle.count() - 1, 1)
        if self.small:
            whole = column(row(self.bath_side, holding(middle), self.pad, space=0), Line(look.line), self.foot, space=0)
            whole.setStretch(0, 1)
            self.bath_side.setMinimumWidth(0)
        else:
            self._side = holding(self.settling)
            under = row(self._side, Line(look.line, upright=True), self.foot, space=0)
            under.setStretch(2, 1)
            self.settling.setContentsMargins(24, 14, 16, 10)
            top = row(self.bath_side, Line(look.line, upright=True), holding(middle), self.pad, space=0)
            top.setStretch(2, 1)
            whole = column(holding(top), Line(look.bench), holding(under), space=0)
            whole.setStretch(0, 1)
        self.setLayout(whole)

    def set_small(self, small: bool) -> None:
        if small != self.small:
            self.small = small
            if (old := self.layout()) is not None:
                holding(old)  # a widget of its own takes the old layout, and goes with it
            self._opened.clear()
            self._build()

    # --- showing ---------------------------------------------------------------------------------------------

    def show_about(self, about: object) -> None:
        """about: a thermometer's id to check now; what a page before this one kept; else the list as it stands."""
        if isinstance(about, Mapping):
            self._go_on(about)
            return
        self.read_again()
        if isinstance(about, str):
            self.check_now(about)
        else:
            self._to_start()

    def _to_start(self) -> None:
        first = self.bath.first_field() if self.view is not None and self.view.bath is None else None
        if first is not None:
            first.setFocus()
        else:
            self._to_next("")

    def keep_draft(self) -> dict[str, object]:
        """Where one is: digits that follow must not go to another row. The digits themselves are kept as drafts."""
        current, adjusting = self.list.current, self._adjusting(self.list.current)
        as_left = adjusting is not None and adjusting.field.hasFocus()
        kept = {"current": current, "as_left": as_left, "making": self.making}
        return kept | {"adding": list(self.adding), "reopened": set(self.reopened)}

    def _go_on(self, kept: Mapping[str, object]) -> None:
        self.adding, self.reopened = list(kept["adding"]), set(kept["reopened"])  # type: ignore[call-overload]
        self.making = bool(kept["making"])
        self.read_again()
        current = str(kept["current"])
        if current not in self.rows or (self.view is not None and self.view.bath is None):
            self._to_start()
            return
        adjusting = self._adjusting(current) if kept["as_left"] else None
        field = adjusting.field if adjusting is not None else self.list.rows[current].field
        field.setFocus()
        field.end(False)  # what is typed next goes on with what stands there

    def look_again(self) -> None:
        """A list left open says nothing of another shift, nor of a bath that is too old by now."""
        if self.isVisible() and self.view is not None and self.desk.session.clock() > self._good_until:
            self.read_again()

    def _note_how_long(self, view: ShiftView) -> None:
        now = self.desk.session.clock()
        ends = [now + FRESH_US]
        if view.shift is not None:
            ends.append(view.shift.ends_at)
        if view.bath is not None:
            ends.append(view.bath.good_until)
        self._good_until = min(one for one in ends if one > now)

    def read_again(self) -> None:
        """Everything as it is recorded now."""
        session, site = self.desk.session, self.desk.site.subject
        view = shift_list.start_of_shift(session, site)
        self._note_how_long(view)
        if self.making:
            view = replace(view, bath=None)
        if self.closed is not None and (view.shift is None or view.shift.day != self.closed.day):
            self.closed = None
        known = {one.thermometer for one in view.rows}
        listed = {one.tag_id for one in view.rows}
        self.adding += [self._tag(one) for one in self.keying.typed_for() if one not in known]
        self.adding = [tag for tag in dict.fromkeys(self.adding) if tag not in listed]
        extra = [shift_list.row_for(session, site, tag) for tag in self.adding]
        self.view = view
        self.rows = {one.thermometer: self._reopened(one) for one in (*view.rows, *extra)}
        self._forget_what_is_gone(view)
        self.list.set_rows(list(self.rows.values()))
        self.list.empty.say(self.desk.say("shift.nothing_wanted"))
        self.bath.show_view(view)
        self._give_bath_room()
        self._show_bath(view)
        for thermometer in self.rows:
            self._show_row(thermometer)
        doubted = self.band.count() > 0
        self.bath.show_doubt(doubted)
        self.foot.show_view(view, list(self.rows.values()), self.closed, may=self.may, doubted=doubted)
        self.pad.setVisible(self._pad_wanted())

    def _tag(self, thermometer: str) -> str:
        with self.desk.session.reading() as connection:
            return thermometers.thermometer(connection, thermometer).tag_id

    def _forget_what_is_gone(self, view: ShiftView) -> None:
        """Digits that can be recorded no more are told, never dropped silently."""
        if gone := self.keying.let_go(view, self.rows):
            what = ", ".join(f"{tag} {keyed.text} °{keyed.unit}" for tag, keyed in gone)
            self.desk.notice(self.desk.say("shift.let_go", what=what))
        self.problems = {one: why for one, why in self.problems.items() if one in self.rows}
        dials = {one: (made.row.type, made.row.scales) for one, made in self.list.rows.items()}
        kept = {one for one, row in self.rows.items() if dials.get(one) == (row.type, row.scales)}
        self._opened = {one: what for one, what in self._opened.items() if one in kept}

    def _reopened(self, listed: ListRow) -> ListRow:
        """As it stands, or wanting a reading once more where a person said so."""
        if listed.thermometer not in self.reopened or listed.state == "waiting":
            return listed
        return replace(listed, state="waiting", check=None, instead=None)

    def _give_bath_room(self) -> None:
        """As wide as its words and a scroll bar ask for, and what stands under it too."""
        if not self.small:
            wide = max(self.look.text(theme.BATH) + 8, self.bath.minimumSizeHint().width() + 14)
            self.bath_side.setMinimumWidth(wide)
            self._side.setFixedWidth(wide)

    def _pad_wanted(self) -> bool:
        chosen = self.desk.setting("number_pad")
        here = self.view is not None and self.view.bath is not None
        room = self.window().width() >= PAD_WANTS * self.look.zoom  # large text leaves none for list and pad both
        return here and (chosen == "always" or (chosen == "small_window" and self.small and room))

    def _show_bath(self, view: ShiftView) -> None:
        for place in (self.settling, self.band, self.strip):
            clear(place)
        facts = view.bath
        if self.small:
            self.bath_side.setVisible(facts is None)
            self.list.setVisible(facts is not None)
            if facts is not None:
                strip = BathStrip(self.desk, facts)
                strip.another_wanted.connect(self._another_bath)
                self.strip.addWidget(strip)
                self.strip.addWidget(Line(self.look.bench))
        elif facts is not None:
            self.settling.addWidget(Settling(self.desk, facts))
        self.beside.show_for(facts)
        asked = facts is not None and facts.judged != "overruled"  # overruled, a person has answered with a reason
        doubt = most_one_way(list(self.rows.values()), facts.bath) if facts is not None and asked else None
        if doubt is not None:
            from ui.shift.band import Band  # late: plots, which a good bath does without

            band = Band(self.desk, doubt, small=self.small, may=self.may)
            band.remade.connect(self._remake)
            band.overruled.connect(self._overrule)
            self.band.addWidget(band)

    def _may_write(self) -> bool:
        bath = self.view.bath if self.view is not None else None
        return self.may and bath is not None and not bath.too_old

    def _show_row(self, thermometer: str) -> None:
        listed = self.rows[thermometer]
        widget = self.list.rows[thermometer]
        keyed = self.keying.of(listed)
        bath = self.view.bath if self.view is not None else None
        foreseen = None
        if bath is not None and keyed.text and listed.state in WRITING and not self.beside.is_wanted():
            foreseen = self.keying.foresee(listed, bath.bath, self.beside.pairs())
        widget.show_row(listed, keyed, foreseen, bath, may=self._may_write())
        self._open_below(thermometer)

    def _open_below(self, thermometer: str) -> None:
        """What stands open under a row; it is made anew only when it is another thing."""
        listed, widget = self.rows[thermometer], self.list.rows[thermometer]
        wanted = self._wanted_below(listed)
        if wanted == self._opened.get(thermometer, ()):
            return
        self._opened[thermometer] = wanted
        kind = wanted[0] if wanted else ""
        if kind == "question":
            widget.show_below(Question(self.desk, self.problems[thermometer]))
        elif kind == "repeats":
            widget.show_below(Repeats(self.desk, listed))
        elif kind == "instead":
            widget.show_below(self._instead_part(thermometer))
        elif kind == "adjust":
            part = self._adjusting_part(thermometer)
            widget.show_below(part)
            widget.field_moved.connect(part.align_under)
            widget.tell_where()
        else:
            widget.show_below(None)

    def _wanted_below(self, listed: ListRow) -> tuple[object, ...]:
        thermometer = listed.thermometer
        if thermometer in self.problems:
            return ("question", self.problems[thermometer])
        if thermometer == self.open_instead:
            view = self.view
            return ("instead", view is not None and view.shift is not None, view is not None and view.bath is not None)
        if listed.state == "partly" and listed.check is not None:
            return ("repeats", listed.check.row.check, len(listed.check.row.readings))
        if self.may and listed.is_settled_outside and listed.check is not None:
            left = listed.check.as_left
            return ("adjust", listed.check.row.check, left.adjustment if left else "")
        return ()

    # --- going from row to row -------------------------------------------------------------------------------

    def _current_changed(self, listed: ListRow | None) -> None:
        self.pad.show_for(listed)

    def _to_next(self, after: str) -> None:
        """Focus goes on: to the next row that waits, then to what is to be adjusted, then to the button that judges."""
        if following := self.list.next_waiting(after):
            self.list.focus_on(following)
        elif self.foot.good.isVisible():
            self.foot.good.setFocus()
        elif adjusting := self._adjusting():
            adjusting.field.setFocus()
        elif self.foot.end.isVisible():
            self.foot.end.setFocus()

    def _adjusting(self, of: str = "") -> Adjusting | None:
        """The first one open, or that of a thermometer."""
        opened = [self.list.rows[one].opened for one in self.rows if of in ("", one)]
        return next((one for one in opened if isinstance(one, Adjusting)), None)

    def scanned(self, code: str) -> bool:
        """A tag that the list holds gets the focus; another one of this site is added."""
        try:
            with self.desk.session.reading() as connection:
                found = thermometers.find(connection, code)
        except Refused:
            return False
        self._add(found.row.thermometer)
        return True

    def _add(self, thermometer: str) -> None:
        if thermometer not in self.rows:
            self.adding.append(self._tag(thermometer))
            self.read_again()
        self.list.focus_on(thermometer)

    def check_now(self, thermometer: str) -> None:
        """Asked for from elsewhere: what the shift has already of it does not stand in the way of a fresh check."""
        self._add(thermometer)
        self._read_all_the_same(thermometer)

    def _read_all_the_same(self, thermometer: str) -> None:
        if self.rows[thermometer].state not in WRITING:
            self.reopened.add(thermometer)
            self.read_again()
        self.list.focus_on(thermometer)

    # --- keying ----------------------------------------------------------------------------------------------

    def _keyed(self, thermometer: str, text: str) -> None:
        listed, bath = self.rows[thermometer], self.view.bath if self.view is not None else None
        if bath is None:
            return
        self._kept(lambda: self.keying.typed(listed, text, bath.bath))
        if self.keying.of(listed).text:
            self.problems.pop(thermometer, None)
        self.closed = None
        self._show_row(thermometer)

    def _kept(self, keep: Callable[[], None]) -> None:
        """Do what keeps a draft; where the disk does not take it the digits still stand in the field."""
        try:
            keep()
        except KnownError as trouble:
            self.desk.notice_of(trouble)

    def _unit_chosen(self, thermometer: str, unit: str) -> None:
        self._kept(lambda: self.keying.in_unit(self.rows[thermometer], "F" if unit == "F" else "C"))
        self._show_row(thermometer)
        self.list.focus_on(thermometer)

    def _entered(self, thermometer: str) -> None:
        """Enter: a reading is durable and the focus goes on; a question stays with its row."""
        listed, view = self.rows[thermometer], self.view
        keyed = self.keying.of(listed)
        if view is None or view.bath is None or not self._may_write() or listed.state not in WRITING:
            self._to_next(thermometer)
            return
        if not keyed.text:
            if not keyed.questioned:
                self._to_next(thermometer)
            return
        try:
            done = self.keying.enter(listed, view, view.bath, self.beside.pairs())
        except Refused as refused:
            self._refused(thermometer, refused)
            return
        except KnownError as trouble:
            self.desk.notice_of(trouble)
            return
        self.problems.pop(thermometer, None)
        self.reopened.discard(thermometer)
        self.desk.recorded.emit()
        if done.wants_more:
            self.list.focus_on(thermometer)
        else:
            self._to_next(thermometer)

    def _refused(self, thermometer: str, refused: Refused) -> None:
        """Said under the row. What is not about the digits is news: bath or thermometer are no longer as shown."""
        sentence = " ".join(self.desk.say_problem(one) for one in refused.problems)
        if all(one.field == "shown" for one in refused.problems):
            self.problems[thermometer] = sentence
            self._show_row(thermometer)
            self.list.focus_on(thermometer)
        elif any(one.field == "beside" for one in refused.problems):
            self.problems[thermometer] = sentence
            self._show_row(thermometer)
            self.beside.ask_again()
        else:
            self.desk.notice(sentence)
            self.read_again()
            self.list.focus_on(thermometer)

    # --- the reference beside --------------------------------------------------------------------------------

    def _beside_changed(self) -> None:
        if self.list.current in self.rows:
            self._show_row(self.list.current)

    def _beside_done(self) -> None:
        if self.list.current:
            self.list.focus_on(self.list.current)
        else:
            self._to_next("")

    def _beside_writing(self, tag: str) -> None:
        if tag:
            self.pad.show_reference(tag)
        else:
            self.pad.show_for(self.rows.get(self.list.current))

    # --- the number pad --------------------------------------------------------------------------------------

    def _pad_field(self) -> ReadingField | None:
        """Where the pad writes: in the field that has the focus, else in that of the row that its head names."""
        here = QApplication.focusWidget()
        if isinstance(here, ReadingField) and self.isAncestorOf(here):
            return here
        return self.list.rows[self.list.current].field if self.list.current else None

    def _pad_pressed(self, key: str) -> None:
        field = self._pad_field()
        if field is not None and not field.isReadOnly():
            field.press(key)

    def _pad_record(self) -> None:
        if (field := self._pad_field()) is not None:
            field.enter()

    def _pad_instead(self) -> None:
        if current := self.list.current:
            self._instead_wanted(current)

    # --- instead of a reading --------------------------------------------------------------------------------

    def _instead_wanted(self, thermometer: str) -> None:
        """In place of a reading, and only there: digits that stand in the field are recorded or rubbed out first."""
        listed = self.rows.get(thermometer)
        wanted = listed is not None and listed.state == "waiting" and not self.keying.of(listed).text
        if thermometer != self.open_instead and not (wanted and self._may_write()):
            return
        before, self.open_instead = self.open_instead, "" if self.open_instead == thermometer else thermometer
        for one in (before, thermometer):
            if one in self.rows:
                self._show_row(one)
        self.list.focus_on(thermometer)

    def _instead_part(self, thermometer: str) -> Instead:
        view = self.view
        assert view is not None
        part = Instead(self.desk, in_shift=view.shift is not None, in_bath=view.bath is not None)
        part.said.connect(self._instead_said)
        part.closed.connect(self._instead_closed)
        return part

    def _instead_closed(self) -> None:
        self._instead_wanted(self.open_instead)

    def _instead_said(self, kind: str, why: str) -> None:
        thermometer, view, desk = self.open_instead, self.view, self.desk
        if thermometer not in self.rows or view is None:
            return
        self.open_instead = ""
        self.reopened.discard(thermometer)

        def record() -> None:
            if kind == "no_reading":
                assert view.bath is not None
                checks.no_reading(desk.session, desk.actor, view.bath.bath, thermometer, why)
            else:
                assert view.shift is not None
                on = view.shift
                checks.not_checked(
                    desk.session, desk.actor, thermometer, view.site, on.shift.id, on.day.isoformat(), why
                )

        if desk.did(record):
            self._to_next(thermometer)

    # --- adjusting, and out of use ---------------------------------------------------------------------------

    def _adjusting_part(self, thermometer: str) -> Adjusting:
        listed = self.rows[thermometer]
        check = listed.check
        assert check is not None
        reference = check.row.judged.reference
        places = self.list.rows[thermometer].field.places
        text = self.keying.left_of(listed).text
        part = Adjusting(self.desk, listed, places, self.desk.temperature(reference), text)
        part.setObjectName(thermometer)
        part.keyed.connect(self._as_left_keyed)
        part.entered.connect(self._as_left_entered)
        part.out_of_use.connect(self._out_of_use)
        part.field.focused.connect(lambda: self.list.make_current(thermometer))  # the head of the pad names it
        return part

    def _part(self) -> Adjusting:
        part = self.sender()
        assert isinstance(part, Adjusting)
        return part

    def _as_left_keyed(self, text: str) -> None:
        listed = self.rows[self._part().objectName()]
        self._kept(lambda: self.keying.left_typed(listed, text))

    def _as_left_entered(self) -> None:
        part = self._part()
        thermometer = part.objectName()
        listed = self.rows[thermometer]
        if not self.keying.left_of(listed).text:
            return
        try:
            self.keying.adjust(listed, part.how, self.beside.pairs())
        except Refused as refused:
            self._as_left_refused(listed, part, refused)
            return
        except KnownError as trouble:
            self.desk.notice_of(trouble)
            return
        self.desk.recorded.emit()
        self._to_next(thermometer)

    def _as_left_refused(self, listed: ListRow, part: Adjusting, refused: Refused) -> None:
        """Questioned, it is typed again; refused for another reason, it stays in its field."""
        self.desk.notice(" ".join(self.desk.say_problem(one) for one in refused.problems))
        part.field.write(self.keying.left_of(listed).text)
        if any(one.field == "beside" for one in refused.problems):
            self.beside.ask_again()
        else:
            part.field.setFocus()

    def _out_of_use(self) -> None:
        thermometer, desk = self._part().objectName(), self.desk
        check = self.rows[thermometer].check

        def take(why: str) -> None:
            of = check.row.check if check is not None else None
            if desk.did(lambda: thermometers.take_out(desk.session, desk.actor, thermometer, why, of)):
                self._to_next(thermometer)

        sentence = desk.say("shift.why_out", tag=self.rows[thermometer].tag_id)
        desk.ask.choose(sentence, out_of_use_choices(desk), take)

    # --- mending ---------------------------------------------------------------------------------------------

    def _mend_wanted(self, thermometer: str) -> None:
        """A correcting entry: what it names stands voided beside it, and the row asks anew.

        Of a thermometer that was adjusted the reading as left goes first: without its check it would stand alone.
        """
        listed, desk, check = self.rows[thermometer], self.desk, self.rows[thermometer].check
        bath = self.view.bath if self.view is not None else None
        if check is None or (bath is not None and check.bath != bath.bath and check.point == bath.point):
            self._read_all_the_same(thermometer)  # a reading taken later goes before what was said
            return
        left = check.as_left
        number = (
            mend.number_of_adjustment(desk.session, thermometer, left.adjustment)
            if left is not None
            else mend.number_of_check(desk.session, check.row.check)
        )

        def void() -> None:
            if desk.did(lambda: mend.void(desk.session, desk.actor, number, "mistyped"), self._tell_what_rested):
                self.list.focus_on(thermometer)

        code = "void_left" if left is not None else "void_it"
        details = desk.say("shift.void_left_details" if left is not None else "shift.void_details")
        desk.ask.sure(desk.say(f"shift.{code}", tag=listed.tag_id), desk.say("shift.void_yes"), void, details=details)

    def _tell_what_rested(self, affected: mend.Affected) -> None:
        papers = (*affected.certificates, *affected.tags, *affected.uses, *affected.baths)
        if papers:
            self.desk.notice(self.desk.say("shift.rested_on_it", numbers=", ".join(papers)))

    # --- the bath --------------------------------------------------------------------------------------------

    def _bath_made(self) -> None:
        self.closed = None
        self.making = False
        self.desk.recorded.emit()
        self._to_next("")

    def _judged(self, judged: str, why: str | None = None) -> bool:
        desk, bath = self.desk, self.view.bath if self.view is not None else None
        if bath is None:
            return False
        return desk.did(lambda: baths.judge_bath(desk.session, desk.actor, bath.bath, judged, why=why))

    def _accept(self) -> None:
        if self._judged("accepted"):
            self._to_next("")

    def _bath_off(self) -> None:
        desk = self.desk
        desk.ask.sure(
            desk.say("shift.off_sure"),
            desk.say("shift.bath_is_remade"),
            self._remake,
            details=desk.say("shift.off_details"),
        )

    def _remake(self) -> None:
        """The bath is condemned with what was read in it, which is kept; another one is made."""
        if self._judged("condemned"):
            self._make_another()

    def _overrule(self) -> None:
        choices = [(why, self.desk.say(f"overrule.{why}")) for why in OVERRULED_WHY]
        self.desk.ask.choose(self.desk.say("shift.overrule_why"), choices, self._overruled)

    def _overruled(self, why: str) -> None:
        if self._judged("overruled", why):
            self._to_next("")

    def _another_bath(self) -> None:
        """Another one while this stands: it is judged first, so that nothing read in it hangs in the air."""
        desk, bath = self.desk, self.view.bath if self.view is not None else None
        if bath is None or self._doubt_stands():
            return
        if bath.judged is not None:
            self._make_another()
        elif not any(one.check is not None and one.check.bath == bath.bath for one in self.rows.values()):
            self._judged("condemned")
        else:
            choices = [("accepted", desk.say("shift.bath_is_good")), ("condemned", desk.say("shift.bath_is_off"))]
            desk.ask.choose(desk.say("shift.judge_first"), choices, self._judged_before_another)

    def _doubt_stands(self) -> bool:
        """Whether the band waits for its answer: a bath in doubt is not called good in passing."""
        bath = self.view.bath if self.view is not None else None
        stands = self.band.count() > 0 and bath is not None and bath.judged is None
        if stands:
            self.desk.notice(self.desk.say("shift.doubt_first"))
        return stands

    def _judged_before_another(self, judged: str) -> None:
        if self._judged(judged):
            self._make_another()

    def _make_another(self) -> None:
        self.making = True
        self.read_again()
        first = self.bath.first_field()
        if first is not None:
            first.setFocus()

    # --- the end ---------------------------------------------------------------------------------------------

    def _finish(self) -> None:
        desk, on = self.desk, self.view.shift if self.view is not None else None  # the one that is shown

        def close() -> None:
            desk.did(lambda: lists.close_list(desk.session, desk.actor, desk.site.subject, on), self._was_closed)

        if typed := [one for one in self.keying.typed_for() if one in self.rows]:
            tags = ", ".join(self.rows[one].tag_id for one in typed)
            desk.notice(desk.say("shift.typed_first", tags=tags))
            self.list.focus_on(typed[0])
            return
        if self._doubt_stands():
            return
        left = [one.tag_id for one in self.rows.values() if one.state in WRITING]
        if left:
            desk.ask.sure(
                desk.say("shift.finish_sure", count=len(left)),
                desk.say("shift.finish"),
                close,
                details=desk.say("shift.not_done", tags=", ".join(left)),
            )
        else:
            close()

    def _was_closed(self, closed: Closed) -> None:
        self.closed = closed

    def _print_tags(self) -> None:
        from registry.services import papers  # late: paper

        desk = self.desk
        judged = [one.thermometer for one in self.rows.values() if one.check and one.check.bath_judged is not None]

        def save(path: Path) -> None:
            size = desk.setting("label")
            made = desk.tried(lambda: papers.print_status_tags(desk.session, desk.actor, judged, size))
            if made is not None:
                desk.save(path, made)

        desk.ask.where_to_save(desk.say("shift.print_tags"), "tags.pdf", save)

    def count(self) -> int | None:
        if self.view is None:
            return None
        return sum(1 for one in self.rows.values() if one.state in WRITING) or None
