"""Start of shift: the bath, the list, and what becomes of each row. Digits and Enter are all that a row needs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer

from registry.services import thermometers
from registry.services.problems import Refused
from registry.services.shift_list import ShiftView
from registry.services.shift_row import ListRow
from ui.desk import Desk
from ui.page import Page
from ui.parts import Line, clear, column, holding, row
from ui.shift import finishing, mending
from ui.shift.adjusting import Adjustments
from ui.shift.bath import BathPanel, BathStrip
from ui.shift.below import Below
from ui.shift.beside import BesideNow
from ui.shift.entering import Entering
from ui.shift.field import ReadingField
from ui.shift.foot import Foot
from ui.shift.instead import SayingInstead
from ui.shift.judging import Judging
from ui.shift.keying import WRITING, Keying
from ui.shift.listing import ShiftList
from ui.shift.pad import NumberPad
from ui.shift.settling import Settling
from ui.shift.standing import Standing
from ui.shift.watching import Watching

if TYPE_CHECKING:  # late: plots, which a good bath does without
    from ui.shift.band import Band

LOOKED_AT_MS = 10_000
PAD_WANTS = 800  # px at 100 %: a narrower window has no number pad beside its list


class ShiftPage(Page):
    name = "shift"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.keying = Keying(desk, desk.site.subject)
        self.now = Standing(desk, self.keying)
        self.judging = Judging(desk, self.now)
        self.judging.judged.connect(self._to_first)
        self.judging.another_wanted.connect(self.make_another)
        self.watching = Watching(desk, self.now)
        self.watching.looked.connect(self._looked)
        self.saying = SayingInstead(desk, self.now)
        self.saying.changed.connect(self._instead_changed)
        self.saying.said.connect(self._to_next)
        self.small = False
        self._doubted: Band | None = None  # what stands above the list while the bath is in doubt
        self._build()
        timer = QTimer(self)
        timer.timeout.connect(self.look_again)
        timer.start(LOOKED_AT_MS)

    # --- building --------------------------------------------------------------------------------------------

    def _build(self) -> None:
        self._make_bath_and_foot()
        self._make_list()
        self.below = Below(self.now, self.list, self.saying, self.adjustments)
        self._lay_out()

    def _make_bath_and_foot(self) -> None:
        desk, judging = self.desk, self.judging
        self.bath = BathPanel(desk, small=self.small)
        self.bath.made.connect(self._bath_made)
        self.bath.another_wanted.connect(judging.ask_for_another)
        self.beside = BesideNow(desk)
        self.beside.changed.connect(self._beside_changed)
        self.beside.done.connect(self._beside_done)
        self.beside.writing.connect(self._beside_writing)
        self.beside.hide()
        self.foot = Foot(desk, small=self.small)
        self.foot.judge.connect(judging.accept)
        self.foot.off.connect(judging.ask_whether_off)
        self.foot.tags.connect(self._print_tags)
        self.foot.finish.connect(self._finish)
        self.settling, self.band, self.strip = column(space=0), column(space=0), column(space=0)

    def _make_list(self) -> None:
        desk = self.desk
        self.list = ShiftList(desk, small=self.small)
        self.entering = Entering(desk, self.now, self.beside)
        self.list.keyed.connect(self.entering.keyed)
        self.list.entered.connect(self.entering.entered)
        self.list.unit_chosen.connect(self.entering.unit_chosen)
        self.entering.changed.connect(self._show_row)
        self.entering.stays.connect(self.list.focus_on)
        self.entering.goes_on.connect(self._to_next)
        self.entering.outdated.connect(self.read_again)
        self.list.instead_wanted.connect(self.saying.wanted)
        self.list.mend_wanted.connect(self._mend_wanted)
        self.list.current_changed.connect(self._current_changed)
        self.pad = NumberPad(desk)
        self.pad.writes_for(self, self._field_of_pad)
        self.pad.instead.connect(self._pad_instead)
        self.adjustments = Adjustments(desk, self.now, self.beside, small=self.small)
        self.adjustments.done.connect(self._to_next)
        self.adjustments.writing.connect(self.list.make_current)  # the head of the pad names it

    def _lay_out(self) -> None:
        look = self.look
        scrolled = self.small and look.zoom > 1
        above = self.list.above if scrolled else column(space=0)
        for part in (self.strip, self.band):
            above.addLayout(part)
        above.addWidget(self.beside)
        middle = column(*([] if scrolled else [above]), self.list, space=0)
        middle.setStretch(middle.count() - 1, 1)
        if self.small:
            whole = column(row(self.bath, holding(middle), self.pad, space=0), Line(look.line), self.foot, space=0)
            whole.setStretch(0, 1)
        else:
            self._side = holding(self.settling)
            under = row(self._side, Line(look.line, upright=True), self.foot, space=0)
            under.setStretch(2, 1)
            self.settling.setContentsMargins(24, 14, 16, 10)
            top = row(self.bath, Line(look.line, upright=True), holding(middle), self.pad, space=0)
            top.setStretch(2, 1)
            whole = column(holding(top), Line(look.bench), holding(under), space=0)
            whole.setStretch(0, 1)
        self.setLayout(whole)

    def set_small(self, small: bool) -> None:
        if small != self.small:
            self.small = small
            if (old := self.layout()) is not None:
                holding(old)  # a widget of its own takes the old layout, and goes with it
            self._build()

    # --- showing ---------------------------------------------------------------------------------------------

    @property
    def view(self) -> ShiftView | None:
        return self.now.view

    @property
    def rows(self) -> dict[str, ListRow]:
        return self.now.rows

    def get_ready(self, about: object) -> Iterator[None]:
        if isinstance(about, ShiftView):
            yield from self.list.make_ahead(about.rows)

    def show_about(self, about: object) -> None:
        """about: a thermometer's id to check now; what a page before this one kept; else the list as it stands.

        A list that was just read, beside the window, is shown as it is.
        """
        if isinstance(about, Mapping):
            self._go_on(about)
            return
        self.read_again(about if isinstance(about, ShiftView) else None)
        if isinstance(about, str):
            self.check_now(about)
        else:
            self._to_start()

    def _to_start(self) -> None:
        first = self.bath.first_field() if self.now.bath is None else None
        if first is not None:
            first.setFocus()
        else:
            self._to_first()

    def keep_draft(self) -> dict[str, object]:
        """Where one is: digits that follow must not go to another row. The digits themselves are kept as drafts."""
        current, adjusting = self.list.current, self.below.adjusting(self.list.current)
        as_left = adjusting is not None and adjusting.field.hasFocus()
        return {"current": current, "as_left": as_left} | self.now.keep()

    def _go_on(self, kept: Mapping[str, object]) -> None:
        here = self.now.go_on(kept)
        self.read_again()
        current = str(kept["current"])
        if not here or current not in self.rows or self.now.bath is None:
            self._to_start()
            return
        adjusting = self.below.adjusting(current) if kept["as_left"] else None
        field = adjusting.field if adjusting is not None else self.list.rows[current].field
        field.setFocus()
        self.list.show_whole(current)
        field.end(False)  # what is typed next goes on with what stands there

    def look_again(self) -> None:
        """A list left open says nothing of another shift, nor of a bath that is too old by now."""
        if self.isVisible() and self.now.is_old:
            self.read_again()

    def read_again(self, just_read: ShiftView | None = None) -> None:
        """Everything as it is recorded now."""
        self.now.read(just_read)
        view = self.view
        assert view is not None
        self.below.forget_changed()
        self.list.set_rows(list(self.rows.values()))
        self.list.empty.say(self.desk.say("shift.nothing_wanted"))
        self.bath.show_view(view)
        self._give_bath_room()
        self._show_bath(view)
        for thermometer in self.rows:
            self._show_row(thermometer)
        doubted = self.judging.doubted = self.watching.doubt() is not None
        self.bath.show_doubt(doubted)
        self.foot.show_view(view, list(self.rows.values()), self.now.closed, may=self.now.may, doubted=doubted)
        self.pad.setVisible(self._pad_wanted())
        self.watching.look()

    def _looked(self) -> None:
        """The bath was looked at. Where that judged it, nobody is left at a button that is gone."""
        waits = self.foot.good.hasFocus()
        self.desk.recorded.emit()
        if waits and not self.foot.good.isVisible():
            self._to_first()

    def _give_bath_room(self) -> None:
        """As wide as its words and a scroll bar ask for, and what stands under it too."""
        if not self.small:
            wide = self.bath.least_width()
            self.bath.setMinimumWidth(wide)
            self._side.setFixedWidth(wide)

    def _pad_wanted(self) -> bool:
        chosen = self.desk.setting("number_pad")
        room = self.window().width() >= PAD_WANTS * self.look.zoom  # large text leaves none for list and pad both
        here = self.now.bath is not None
        return here and (chosen == "always" or (chosen == "small_window" and self.small and room))

    def _show_bath(self, view: ShiftView) -> None:
        asked = self._doubted is not None and self._doubted.remake.hasFocus()
        for place in (self.settling, self.band, self.strip):
            clear(place)
        facts = view.bath
        if self.small:
            self.bath.setVisible(facts is None)
            self.list.setVisible(facts is not None)
            if facts is not None:
                strip = BathStrip(self.desk, facts)
                strip.another_wanted.connect(self.judging.ask_for_another)
                self.strip.addWidget(strip)
                self.strip.addWidget(Line(self.look.bench))
        elif facts is not None:
            self.settling.addWidget(Settling(self.desk, facts))
        self.beside.show_for(facts)
        self._show_band()
        if asked:  # what had the focus is made anew, or has its answer
            self._to_first()

    def _show_band(self) -> None:
        """What the thermometers say of the bath; else what they say of their rows."""
        self._doubted = None
        if (doubt := self.watching.doubt()) is not None:
            from ui.shift.band import Band

            band = Band(self.desk, doubt, small=self.small, may=self.now.may)
            band.remade.connect(self.judging.remake)
            band.overruled.connect(self.judging.overrule)
            self.band.addWidget(band)
            self._doubted = band
        elif (pair := self.watching.swapped()) is not None:
            from ui.shift.band import SwapBand

            asking = SwapBand(self.desk, pair, small=self.small, may=self.now.may)
            asking.wanted.connect(self._to_tag)
            asking.right.connect(partial(self._rows_are_right, pair))
            self.band.addWidget(asking)

    def _to_tag(self, tag: str) -> None:
        row = next((one for one in self.rows.values() if one.tag_id == tag), None)
        if row is not None:
            self.list.focus_on(row.thermometer)

    def _rows_are_right(self, pair: tuple[str, str]) -> None:
        self.watching.are_right(pair)
        self.read_again()
        self._to_first()

    def _show_row(self, thermometer: str) -> None:
        listed, bath = self.rows[thermometer], self.now.bath
        keyed = self.keying.of(listed)
        foreseen = None
        if bath is not None and keyed.text and listed.state in WRITING and not self.beside.is_wanted():
            foreseen = self.keying.foresee(listed, bath.bath, self.beside.pairs())
        self.list.rows[thermometer].show_row(listed, keyed, foreseen, bath, may=self.now.may_write)
        self.below.show(thermometer)

    # --- going from row to row -------------------------------------------------------------------------------

    def _current_changed(self, listed: ListRow | None) -> None:
        self.pad.show_for(listed)

    def _to_first(self) -> None:
        self._to_next("")

    def _to_next(self, after: str) -> None:
        """Focus goes on: to the next row that waits, the band that asks, what judges, what is to be adjusted."""
        if following := self.list.next_waiting(after):
            self.list.focus_on(following)
        elif self._doubted is not None and self.now.may:
            self._doubted.remake.setFocus()
        elif self.foot.good.isVisible():
            self.foot.good.setFocus()
        elif adjusting := self.below.adjusting():
            adjusting.field.setFocus()
            self.list.show_whole(adjusting.objectName())
        elif self.foot.end.isVisible():
            self.foot.end.setFocus()

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
            self.now.adding.append(self.now.tag(thermometer))
            self.read_again()
        self.list.focus_on(thermometer)

    def check_now(self, thermometer: str) -> None:
        """Asked for from elsewhere: what the shift has already of it does not stand in the way of a fresh check."""
        self._add(thermometer)
        self._read_all_the_same(thermometer)

    def _read_all_the_same(self, thermometer: str) -> None:
        if not self.now.waits(thermometer):
            self.now.reopened.add(thermometer)
            self.read_again()
        self.list.focus_on(thermometer)

    # --- the reference beside, and the number pad ------------------------------------------------------------

    def _beside_changed(self) -> None:
        if self.list.current in self.rows:
            self._show_row(self.list.current)

    def _beside_done(self) -> None:
        if self.list.current:
            self.list.focus_on(self.list.current)
        else:
            self._to_first()

    def _beside_writing(self, tag: str) -> None:
        if tag:
            self.pad.show_reference(tag)
        else:
            self.pad.show_for(self.rows.get(self.list.current))

    def _field_of_pad(self) -> ReadingField | None:
        """The field of the row that the pad's head names."""
        return self.list.rows[self.list.current].field if self.list.current else None

    def _pad_instead(self) -> None:
        if current := self.list.current:
            self.saying.wanted(current)

    # --- what else is pressed --------------------------------------------------------------------------------

    def _instead_changed(self, thermometer: str) -> None:
        self._show_row(thermometer)
        self.list.focus_on(thermometer)

    def _mend_wanted(self, thermometer: str) -> None:
        listed = self.rows[thermometer]
        if mending.only_read_anew(listed, self.now.bath):
            self._read_all_the_same(thermometer)
        else:
            mending.void(self.desk, listed, lambda: self.list.focus_on(thermometer))

    def _bath_made(self) -> None:
        self.now.closed = None
        self.now.making = False
        self.desk.recorded.emit()
        self._to_first()

    def make_another(self) -> None:
        self.now.making = True
        self.read_again()
        self._to_start()

    def _finish(self) -> None:
        finishing.finish(self.desk, self.now, self.judging.doubt_stands, self.list.focus_on)

    def _print_tags(self) -> None:
        finishing.print_tags(self.desk, self.now)

    def is_keying(self) -> bool:
        return bool(self.keying.unrecorded())

    def count(self) -> int | None:
        if self.view is None:
            return None
        return sum(1 for one in self.rows.values() if one.state in WRITING) or None
