"""Drift, for the officer: who may be out soonest, what drifts, what was missed, which recheck rule would be better."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from PySide6.QtWidgets import QLayout, QVBoxLayout

from registry import resources
from registry.services import activity, fleet, groups, intervals, places, regularity, replay, typed
from registry.services.activity import Activity, Offsets
from registry.services.fleet import Ranking
from registry.services.groups import GroupsFound, IncidentsFound
from registry.services.problems import Refused
from registry.services.regularity import SiteRegular
from registry.services.replay import Replay
from registry.services.taken_back import TakenBack, reports_taken_back
from registry.services.upkeep import Progress
from registry.services.words import outlook as outlook_words
from registry.services.words import replay as replay_words
from registry.wording import format
from ui.desk import Desk
from ui.drift import baths, quiet, wording
from ui.drift.baths import BathsPart
from ui.drift.groups import GroupsPart
from ui.drift.offsets import OffsetsPart
from ui.drift.quiet import QuietPart
from ui.drift.ranking import FIRST, MORE, RankingPart, today_of
from ui.drift.recheck import Advised, RecheckPart
from ui.drift.taken_back import TakenBackPart
from ui.drift.weeks import WeeksPart
from ui.flow import Flow
from ui.forms import DAY, Field
from ui.page import Page
from ui.parts import Button, Choice, Line, Scroll, Sentence, Words, clear, column, holding, on_press, row
from ui.proof.about import LogOf
from ui.saving import SaveTable
from ui.site_papers import SitePapers
from ui.thermometers.filters import Narrow
from ui.work import Job

PERIODS = ("4", "12", "26")  # weeks
SIDE = 310  # px at 100 %


@dataclass(frozen=True, slots=True)
class Counted:
    weeks: Activity
    offsets: dict[str, list[Offsets]]
    taken_back: list[TakenBack]


@dataclass(frozen=True, slots=True)
class Looked:
    """What takes longer, and comes after the rest."""

    baths: list[baths.SiteBaths]
    advised: Advised
    regular: Sequence[SiteRegular]
    incidents: IncidentsFound


class DriftPage(Page):
    name = "drift"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.papers = SitePapers(desk, self)
        self.small: bool | None = None
        self.ranked: Ranking | None = None
        self._shown = FIRST
        self._by_day: date | None = None
        self._job: Job | None = None
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self.set_small(False)

    # --- building --------------------------------------------------------------------------------------------

    def set_small(self, small: bool) -> None:
        """The window is laid out otherwise when it is small: everything is made anew."""
        if small == self.small:
            return
        self.small = small
        clear(self._lay)
        self._parts()
        head = holding(column(self.sentence, self.under, self._chosen(), space=6, margins=(24, 18, 24, 14)))
        self._inner, bench = holding(self._body()), Line(self.desk.look.bench)
        if self._narrow:  # little room: the head scrolls away with the rest
            self._lay.addWidget(Scroll(holding(column(head, bench, self._inner, None, space=0))))
            return
        self._inner.setMaximumWidth(self.desk.look.text(1500))
        whole = column(head, bench, Scroll(self._inner), space=0)
        whole.setStretch(2, 1)
        self._lay.addWidget(holding(whole))

    @property
    def _narrow(self) -> bool:
        return bool(self.small) or self.desk.look.narrow

    def _parts(self) -> None:
        desk, look, say = self.desk, self.desk.look, self.desk.say
        self.sentence = Sentence(look, size=18 if look.narrow else 26)
        self.sentence.say(say("drift.counting"))
        self.under = Words(look, "", 15, colour="muted")
        self.ranking = RankingPart(desk, narrow=self._narrow)
        self.ranking.more_wanted.connect(self.more)
        self.weeks, self.offsets, self.groups = WeeksPart(desk), OffsetsPart(desk), GroupsPart(desk)
        self.weeks.site_wanted.connect(self._site_wanted)
        self.groups.by_wanted.connect(self._read_groups)
        self.recheck = RecheckPart(desk)
        self.recheck.plan_wanted.connect(self._replay)
        self.taken_back, self.baths = TakenBackPart(desk), BathsPart(desk)
        self.incidents = QuietPart(desk, say("drift.incidents"), say("drift.incidents_how"))
        self.regular = QuietPart(desk, say("drift.regular"), say("regular.note"))

    def _chosen(self) -> Flow:
        """What is looked at: by which day, which site and type, how many weeks; and what to do with it."""
        desk, say = self.desk, self.desk.say
        self.by_day = on_press(Button(desk.look, say("drift.another_day")), self._ask_day)
        self.site, self.type = Narrow(desk, "site"), Narrow(desk, "type")
        self.site.offer([(one.subject, one.payload.name) for one in desk.sites()], "")
        self.type.offer([(code, say(f"type.{code}")) for code in resources.instrument_types()], "")
        for narrow in (self.site, self.type):
            narrow.currentIndexChanged.connect(self._narrowed)
        periods = [(one, say("drift.weeks_shown", count=int(one))) for one in PERIODS]
        self.period = Choice(desk.look, periods, "12", say("drift.period"))
        self.period.chosen.connect(self._narrowed)
        self.paper = on_press(Button(desk.look, say("drift.print")), self._print)
        self.save = SaveTable(desk, self._out)
        return Flow(self.by_day, self.site, self.type, self.period, self.paper, self.save, space=12, middle=True)

    def _body(self) -> QLayout:
        """The ranking and the weeks at the left, models and the recheck rule beside them where there is room."""
        look = self.desk.look
        quiet_parts = (self.incidents, self.regular, self.baths, self.taken_back)
        means = Words(look, self.desk.say("activity.means"), 14, colour="muted")
        left = column(self.ranking, Line(look.line), self.weeks, Line(look.line), self.offsets, space=16)
        right = column(self.groups, Line(look.line), self.recheck, *quiet_parts, space=16)
        margins = (24, 14, 24, 20)
        if self._narrow:
            return column(left, Line(look.line), right, means, None, space=16, margins=margins)
        beside = holding(column(right, None))
        beside.setFixedWidth(look.text(SIDE))
        both = row(holding(column(left, means, None, space=16)), Line(look.line, upright=True), beside, space=20)
        both.setContentsMargins(*margins)
        both.setStretch(0, 1)
        return both

    # --- what the frame asks ---------------------------------------------------------------------------------

    def show_about(self, about: object) -> None:
        if isinstance(about, str):
            self.offsets.choose(about)
        self.read_again()

    def read_again(self) -> None:
        if self._job is not None:
            self._job.cancel()
        self._job = self.desk.in_background(self._rank, self._show_ranking, self._ranking_failed, self._went_on)
        self.desk.in_background(self._count, self._show_counted)

    # --- the ranking -----------------------------------------------------------------------------------------

    def _sites(self) -> list[str] | None:
        return [self.site.currentData()] if self.site.currentData() else None

    def _rank(self, progress: Progress) -> Ranking:
        return fleet.ranking(
            self.desk.session,
            self._by_day,
            site=self.site.currentData() or None,
            type=self.type.currentData() or None,
            limit=self._shown,
            progress=lambda done, of: progress(100 * done // max(of, 1)),
        )

    def _went_on(self, percent: int) -> None:
        if self.ranked is None:
            self.sentence.say(self.desk.say("drift.working", percent=percent))

    def _ranking_failed(self, error: Exception) -> None:
        self._job = None
        if isinstance(error, Refused):  # a day that has passed meanwhile
            self._by_day = None
        self.desk.notice_of(error)

    def _show_ranking(self, found: object) -> None:
        assert isinstance(found, Ranking)
        desk, self._job, self.ranked = self.desk, None, found
        when = outlook_words.by_when(found.day, desk.language, today_of(desk)) or format.day(found.day, desk.region)
        values = {"count": found.likely, "of": format.number(found.of, desk.region), "when": when}
        code = "none_ranked" if not found.of else "may_fail" if found.likely else "none_may_fail"
        self.sentence.say(desk.say(f"drift.{code}", **values))
        self.under.say(desk.say("drift.may_fail_how", when=when))
        names = {one.subject: one.payload.name for one in desk.sites()}
        self.ranking.show_ranking(found, names, today_of(desk))
        self._read_groups()
        self.desk.in_background(self._look, self._show_looked)

    def more(self) -> None:
        self._shown += MORE
        self.read_again()

    def _ask_day(self) -> None:
        say = self.desk.say
        day = self.ranked.day if self.ranked else today_of(self.desk) + timedelta(days=fleet.AHEAD_DAYS)
        field = Field("by_day", say("drift.by_day"), DAY, day.isoformat(), hint=say("drift.by_day_hint"))
        self.desk.ask.fill(say("drift.another_day"), [field], say("frame.go_on"), self._take_day)

    def _take_day(self, values: dict[str, str]) -> None:
        """Refused beside the field where it has passed or is no day."""
        day = typed.day(values["by_day"], today_of(self.desk), "by_day")
        fleet.refuse_day(day, today_of(self.desk))
        self._by_day = day
        self.read_again()

    def _narrowed(self, _: object = None) -> None:
        self._shown = FIRST
        self.read_again()

    # --- models and other groups -----------------------------------------------------------------------------

    def _read_groups(self, _: str = "") -> None:
        self.desk.in_background(self._group, self._show_groups)

    def _group(self, progress: Progress) -> GroupsFound:
        narrowed = {"site": self.site.currentData() or None, "type": self.type.currentData() or None}
        return groups.groups(self.desk.session, self.groups.by.value, **narrowed, progress=lambda n, _: progress(n))

    def _show_groups(self, found: object) -> None:
        assert isinstance(found, GroupsFound)
        names = wording.group_names(self.desk, found.by, [one.key for one in found.groups])
        self.groups.show_groups(found.groups, names)

    # --- what was missed, where offsets lie ------------------------------------------------------------------

    def _count(self, progress: Progress) -> Counted:
        session, sites = self.desk.session, self._sites()
        weeks = activity.checks_by_week(session, sites, weeks=int(self.period.value), progress=progress)
        offsets = {
            "site": activity.offsets_by(session, "site", sites),
            "type": activity.offsets_by(session, "type", sites),
            "model": activity.offsets_by(session, "model", sites),
        }
        return Counted(weeks, offsets, reports_taken_back(session))

    def _show_counted(self, counted: object) -> None:
        assert isinstance(counted, Counted)
        self.weeks.show_weeks(counted.weeks, narrow=bool(self.small))
        self.offsets.show_offsets(counted.offsets, narrow=bool(self.small))
        self.taken_back.show_reports(counted.taken_back)

    def _site_wanted(self, site: str, monday: object) -> None:
        """Its monthly log, where each missed check stands by name."""
        today = today_of(self.desk)
        day = min(monday, today) if isinstance(monday, date) else today
        self.desk.go("proof", LogOf(site, day))

    # --- what takes longer -----------------------------------------------------------------------------------

    def _look(self, progress: Progress) -> Looked:
        session, sites = self.desk.session, self._sites()
        return Looked(
            baths.look(self.desk, progress),
            Advised(
                intervals.by_group(session, "type", sites, progress=progress), intervals.plans_kept(session, sites)
            ),
            regularity.by_site(session, sites, progress=progress),
            groups.incidents(session, progress=lambda n, _: progress(n)),
        )

    def _show_looked(self, found: object) -> None:
        assert isinstance(found, Looked)
        self.baths.show_baths(found.baths)
        self.recheck.show_advice(found.advised)
        self.regular.show_lines(quiet.regular_lines(self.desk, found.regular))
        self.incidents.show_lines(quiet.incident_lines(self.desk, found.incidents))

    def _replay(self, plan: str) -> None:
        session, sites = self.desk.session, self._sites()
        self.desk.notice(self.desk.say("drift.replaying"))
        self.desk.in_background(lambda progress: replay.replay(session, plan, sites, progress=progress), self._replayed)

    def _replayed(self, found: object) -> None:
        assert isinstance(found, Replay)
        desk = self.desk
        site = self.site.currentText() if self.site.currentData() else ""
        told = replay_words.sentences(found, site, desk.language, desk.region)
        desk.ask.sure(desk.say("drift.replayed"), desk.say("frame.go_on"), lambda: None, details="\n".join(told))

    # --- to hand on ------------------------------------------------------------------------------------------

    def _out(self) -> Any:
        ranked = self.ranked
        if ranked is None:
            return None
        session, day, site, type_ = self.desk.session, ranked.day, self.site.currentData(), self.type.currentData()

        def make(words: Any) -> Any:
            from registry.services import tables_out

            found = fleet.ranking(session, day, site=site or None, type=type_ or None, limit=None, histories=False)
            with session.reading() as connection:
                names = {one.subject: one.payload.name for one in places.sites(connection)}
            return tables_out.ranking(words, found, names)

        return self.desk.say("spreadsheet.file.ranking"), make

    def _print(self) -> None:
        site = next((one for one in self.desk.sites() if one.subject == self.site.currentData()), None)
        self.papers.overview(site, self._by_day)
