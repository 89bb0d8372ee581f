"""Start of shift: the bath, the list, and what becomes of each row. Digits and Enter are all that a row needs."""

from dataclasses import replace
from pathlib import Path

from registry.services import baths, checks, lists, mend, papers, shift_list, thermometers
from registry.services.bath_doubt import most_one_way
from registry.services.lists import Closed
from registry.services.problems import KnownError, Refused
from registry.services.shift_list import ListRow, ShiftView
from ui import theme
from ui.desk import Desk
from ui.page import Page
from ui.parts import Line, Scroll, clear, column, holding, row
from ui.shift import answers
from ui.shift.band import Band
from ui.shift.bath import BathPanel, BathStrip, Settling
from ui.shift.beside import BesideNow
from ui.shift.foot import Foot
from ui.shift.keying import Keyed, Keying
from ui.shift.listing import ShiftList
from ui.shift.opened import Adjusting, Instead, Question, Repeats, out_of_use_choices
from ui.shift.pad import NumberPad

LEADS = ("lead", "officer")
OVERRULED_WHY = ("reference_agrees", "known_to_read_so", "made_with_care", "other_reason")


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
        self.adjustments: dict[str, tuple[str, Keyed]] = {}
        self._opened: dict[str, tuple[object, ...]] = {}
        self._build()

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
        self.beside.hide()
        middle = column(self.strip, self.band, self.beside, self.list, space=0)
        middle.setStretch(3, 1)
        if self.small:
            whole = column(row(self.bath_side, holding(middle), self.pad, space=0), Line(look.line), self.foot, space=0)
            self.bath_side.setMinimumWidth(0)
        else:
            side = holding(self.settling)
            side.setFixedWidth(self.bath_side.minimumWidth())
            under = row(side, Line(look.line, upright=True), self.foot, space=0)
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
        """about: a thermometer's id to check now; else the list as it stands."""
        self.read_again()
        if isinstance(about, str):
            self.check_now(about)
        elif self.view is not None and self.view.bath is None:
            first = self.bath.first_field()
            if first is not None:
                first.setFocus()
        else:
            self._to_next("")

    def read_again(self) -> None:
        """Everything as it is recorded now."""
        session, site = self.desk.session, self.desk.site.subject
        view = shift_list.start_of_shift(session, site)
        if self.making:
            view = replace(view, bath=None)
        known = {one.tag_id for one in view.rows}
        self.adding = [tag for tag in self.adding if tag not in known]
        extra = [shift_list.row_for(session, site, tag) for tag in self.adding]
        self.view = view
        self.rows = {one.thermometer: self._reopened(one) for one in (*view.rows, *extra)}
        self.list.set_rows(list(self.rows.values()))
        self.list.empty.say(self.desk.say("shift.nothing_wanted"))
        self.bath.show_view(view)
        self._show_bath(view)
        for thermometer in self.rows:
            self._show_row(thermometer)
        doubted = self.band.count() > 0
        self.bath.show_doubt(doubted)
        self.foot.show_view(view, list(self.rows.values()), self.closed, may=self.may, doubted=doubted)
        self.pad.setVisible(self._pad_wanted())

    def _reopened(self, listed: ListRow) -> ListRow:
        """As it stands, or wanting a reading once more where a person said so."""
        if listed.thermometer not in self.reopened or listed.state == "waiting":
            return listed
        return replace(listed, state="waiting", check=None, instead=None)

    def _pad_wanted(self) -> bool:
        chosen = self.desk.setting("number_pad")
        here = self.view is not None and self.view.bath is not None
        return here and (chosen == "always" or (chosen == "small_window" and self.small))

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
        doubt = most_one_way(list(self.rows.values()), facts.bath) if facts is not None else None
        if doubt is not None:
            band = Band(self.desk, doubt, small=self.small, may=self.may)
            band.remade.connect(self._remake)
            band.overruled.connect(self._overrule)
            self.band.addWidget(band)

    @property
    def point(self) -> str:
        return self.view.bath.point if self.view is not None and self.view.bath is not None else "ice_point"

    def _may_write(self) -> bool:
        bath = self.view.bath if self.view is not None else None
        return self.may and bath is not None and not bath.too_old

    def _show_row(self, thermometer: str) -> None:
        listed = self.rows[thermometer]
        widget = self.list.rows[thermometer]
        keyed = self.keying.of(listed)
        bath = self.view.bath if self.view is not None else None
        foreseen = None
        if bath is not None and keyed.text and listed.state in ("waiting", "partly"):
            foreseen = self.keying.foresee(listed, bath.bath, self.beside.pairs())
        widget.show_row(listed, keyed, foreseen, self.point, may=self._may_write())
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
            return ("instead",)
        if listed.state == "partly" and listed.check is not None:
            return ("repeats", len(listed.check.row.readings))
        if self.may and answers.is_settled_outside(listed) and listed.check is not None:
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

    def _adjusting(self) -> Adjusting | None:
        return self.list.findChild(Adjusting)

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
            with self.desk.session.reading() as connection:
                of = thermometers.thermometer(connection, thermometer)
            self.adding.append(of.tag_id)
            self.read_again()
        self.list.focus_on(thermometer)

    def check_now(self, thermometer: str) -> None:
        """Asked for from elsewhere: what the shift has already of it does not stand in the way of a fresh check."""
        self._add(thermometer)
        self._read_all_the_same(thermometer)

    def _read_all_the_same(self, thermometer: str) -> None:
        if self.rows[thermometer].state not in ("waiting", "partly"):
            self.reopened.add(thermometer)
            self.read_again()
        self.list.focus_on(thermometer)

    # --- keying ----------------------------------------------------------------------------------------------

    def _keyed(self, thermometer: str, text: str) -> None:
        listed = self.rows[thermometer]
        try:
            self.keying.typed(listed, text)
        except KnownError as trouble:  # the draft could not be kept; the digits still stand in the field
            self.desk.notice_of(trouble)
        if self.keying.of(listed).text:
            self.problems.pop(thermometer, None)
        self.closed = None
        self._show_row(thermometer)

    def _unit_chosen(self, thermometer: str, unit: str) -> None:
        self.keying.in_unit(self.rows[thermometer], "F" if unit == "F" else "C")
        self._show_row(thermometer)
        self.list.focus_on(thermometer)

    def _entered(self, thermometer: str) -> None:
        """Enter: a reading is durable and the focus goes on; a question stays with its row."""
        listed = self.rows[thermometer]
        keyed = self.keying.of(listed)
        bath = self.view.bath if self.view is not None else None
        if bath is None or not self._may_write() or listed.state not in ("waiting", "partly"):
            self._to_next(thermometer)
            return
        if not keyed.text:
            if not keyed.questioned:
                self._to_next(thermometer)
            return
        shift = self.view.shift if self.view is not None else None
        of_shift = (shift.shift.id, shift.day.isoformat()) if shift is not None else None
        try:
            done = self.keying.enter(listed, bath.bath, bath.made_at, of_shift, self.beside.pairs())
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
        self.problems[thermometer] = " ".join(self.desk.say_problem(one) for one in refused.problems)
        self._show_row(thermometer)
        if any(one.field == "beside" for one in refused.problems):
            self.beside.ask_again()
        else:
            self.list.focus_on(thermometer)

    # --- the number pad --------------------------------------------------------------------------------------

    def _pad_pressed(self, key: str) -> None:
        adjusting = self._adjusting()
        if adjusting is not None and adjusting.field.hasFocus():
            adjusting.field.press(key)
        elif (current := self.list.current) and not self.list.rows[current].field.isReadOnly():
            self.list.rows[current].field.press(key)

    def _pad_record(self) -> None:
        adjusting = self._adjusting()
        if adjusting is not None and adjusting.field.hasFocus():
            adjusting.entered.emit()
        elif current := self.list.current:
            self._entered(current)

    def _pad_instead(self) -> None:
        if current := self.list.current:
            self._instead_wanted(current)

    # --- instead of a reading --------------------------------------------------------------------------------

    def _instead_wanted(self, thermometer: str) -> None:
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
        unit = check.row.readings[0].unit
        if thermometer not in self.adjustments:
            fresh = Keyed(unit=unit, reading=self.desk.session.new_id())
            self.adjustments[thermometer] = (self.desk.session.new_id(), fresh)
        reference = check.row.judged.reference
        places = self.list.rows[thermometer].field.places
        text = self.adjustments[thermometer][1].text
        part = Adjusting(self.desk, listed, places, self.desk.temperature(reference), text)
        part.setObjectName(thermometer)
        part.keyed.connect(self._as_left_keyed)
        part.entered.connect(self._as_left_entered)
        part.out_of_use.connect(self._out_of_use)
        return part

    def _part(self) -> Adjusting:
        part = self.sender()
        assert isinstance(part, Adjusting)
        return part

    def _as_left_keyed(self, text: str) -> None:
        thermometer = self._part().objectName()
        adjustment, keyed = self.adjustments[thermometer]
        self.adjustments[thermometer] = (adjustment, keyed.with_text(text))

    def _as_left_entered(self) -> None:
        part = self._part()
        thermometer = part.objectName()
        listed, (adjustment, keyed) = self.rows[thermometer], self.adjustments[thermometer]
        if not keyed.text or (keyed.questioned and not keyed.typed_since):
            return
        try:
            self.keying.adjust(listed, keyed, part.how, adjustment, self.beside.pairs())
        except Refused as refused:
            self._as_left_refused(thermometer, part, keyed, refused)
            return
        except KnownError as trouble:
            self.desk.notice_of(trouble)
            return
        del self.adjustments[thermometer]
        self.desk.recorded.emit()
        self._to_next(thermometer)

    def _as_left_refused(self, thermometer: str, part: Adjusting, keyed: Keyed, refused: Refused) -> None:
        codes = frozenset(one.code for one in refused.problems if one.field == "as_left")
        self.adjustments[thermometer] = (self.adjustments[thermometer][0], keyed.asked_about(codes))
        self.desk.notice(" ".join(self.desk.say_problem(one) for one in refused.problems))
        part.field.write("")
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
        """A correcting entry: the check stands voided beside it, and the row asks anew."""
        listed, desk = self.rows[thermometer], self.desk
        if listed.check is None:  # said instead of a reading: a reading taken later goes before it
            self._read_all_the_same(thermometer)
            return
        number = mend.number_of_check(desk.session, listed.check.row.check)

        def void() -> None:
            if desk.did(lambda: mend.void(desk.session, desk.actor, number, "mistyped")):
                self.list.focus_on(thermometer)

        desk.ask.sure(
            desk.say("shift.void_it", tag=listed.tag_id),
            desk.say("shift.void_yes"),
            void,
            details=desk.say("shift.void_details"),
        )

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
        if bath is None:
            return
        if bath.judged is not None:
            self._make_another()
        elif not any(one.check is not None and one.check.bath == bath.bath for one in self.rows.values()):
            self._judged("condemned")
        else:
            choices = [("accepted", desk.say("shift.bath_is_good")), ("condemned", desk.say("shift.bath_is_off"))]
            desk.ask.choose(desk.say("shift.judge_first"), choices, self._judged_before_another)

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
        desk = self.desk

        def close() -> None:
            desk.did(lambda: lists.close_list(desk.session, desk.actor, desk.site.subject), self._was_closed)

        left = [one.tag_id for one in self.rows.values() if one.state in ("waiting", "partly")]
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
        return sum(1 for one in self.rows.values() if one.state in ("waiting", "partly")) or None
