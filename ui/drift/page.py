"""Drift, for the officer: who may be out soonest, what drifts, what was missed, which recheck rule would be better."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from PySide6.QtWidgets import QLayout, QVBoxLayout

from registry import resources
from registry.services import activity, failures, fleet, groups, intervals, places, regularity, replacing, replay, typed
from registry.services.activity import Activity, Offsets
from registry.services.failures import Failures
from registry.services.fleet import Ranking
from registry.services.groups import GroupsFound, IncidentsFound
from registry.services.problems import Refused
from registry.services.regularity import SiteRegular
from registry.services.replacing import Replacing
from registry.services.replay import Replay
from registry.services.taken_back import TakenBack, reports_taken_back
from registry.services.upkeep import Progress
from registry.services.words import fleet as fleet_words
from registry.services.words import replay as replay_words
from ui.desk import Desk
from ui.drift import baths, narrowed, quiet, wording
from ui.drift.baths import BathsPart
from ui.drift.failures import FailuresPart
from ui.drift.groups import GroupsPart
from ui.drift.narrowed import NarrowedRow, Narrowing
from ui.drift.offsets import OffsetsPart
from ui.drift.quiet import QuietPart
from ui.drift.ranking import FIRST, MORE, RankingPart
from ui.drift.recheck import Advised, RecheckPart
from ui.drift.replacing import ReplacingPart
from ui.drift.taken_back import TakenBackPart
from ui.drift.weeks import WeeksPart
from ui.flow import Flow
from ui.forms import DAY, Field
from ui.newest import Newest
from ui.page import Page
from ui.parts import Button, Choice, Line, Scroll, Sentence, Words, clear, column, holding, on_press, row
from ui.proof.about import LogOf
from ui.saving import SaveTable
from ui.site_papers import SitePapers
from ui.thermometers.filters import Narrow

PERIODS = ("4", "8", "12")  # weeks: more of them would leave no room for a finger in each
SIDE = 310  # px at 100 %


@dataclass(frozen=True, slots=True)
class Asked:
    """What is looked at, as it was chosen when a job was begun: a job looks at no widget. "" where all are meant."""

    site: str
    type: str
    weeks: int

    @property
    def sites(self) -> list[str] | None:
        return [self.site] if self.site else None

    @property
    def narrowed(self) -> dict[str, Any]:
        return {"site": self.site or None, "type": self.type or None}


@dataclass(frozen=True, slots=True)
class Counted:
    weeks: Activity
    offsets: dict[str, list[Offsets]]
    taken_back: list[TakenBack]
    failures: Failures
    type: str


@dataclass(frozen=True, slots=True)
class Looked:
    """What takes longer, and comes after the rest."""

    baths: list[baths.SiteBaths]
    advised: Advised
    regular: Sequence[SiteRegular]
    incidents: IncidentsFound
    replacing: Replacing


class DriftPage(Page):
    name = "drift"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.papers = SitePapers(desk, self)
        self.small: bool | None = None
        self.ranked: Ranking | None = None
        self._shown = FIRST
        self._by_day: date | None = None
        self._look_after = False  # once the ranking is there
        self._replay_of = ""  # the site's name, empty for all
        self._shows: dict[str, object] = {}  # the answers that stand in the page: the same again is not drawn anew
        self._ranking = Newest(desk, self, self._show_ranking, self._ranking_failed, self._went_on)
        self._counting = Newest(desk, self, self._show_counted)
        self._grouping = Newest(desk, self, self._show_groups)
        self._looking = Newest(desk, self, self._show_looked)
        self._replaying = Newest(desk, self, self._replayed)
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self._lay.setSpacing(0)
        self.set_small(False)

    # --- building --------------------------------------------------------------------------------------------

    def set_small(self, small: bool) -> None:
        """The window is laid out otherwise when it is small: everything is made anew."""
        if small == self.small:
            return
        self.small = small
        clear(self._lay)
        self._parts()
        head = column(self.sentence, self.under, self._chosen(), space=6, margins=(24, 18, 24, 6))
        how = column(self.narrowed, margins=(24, 4, 24, 8))
        self._inner, bench = holding(self._body()), Line(self.desk.look.bench)
        self._tell_narrowing()
        if self._narrow:  # little room: the head scrolls away with the rest, but for how it is narrowed
            self._lay.addLayout(how)
            self._lay.addWidget(bench)
            self._lay.addWidget(Scroll(holding(column(holding(head), self._inner, None, space=0))), 1)
            return
        self._inner.setMaximumWidth(self.desk.look.text(1500))
        whole = column(head, how, bench, Scroll(self._inner), space=0)
        whole.setStretch(3, 1)
        self._lay.addWidget(holding(whole))

    @property
    def _narrow(self) -> bool:
        return bool(self.small) or self.desk.look.narrow

    def _parts(self) -> None:
        self._shows.clear()
        desk, look, say = self.desk, self.desk.look, self.desk.say
        self.sentence = Sentence(look, size=18 if look.narrow else 26)
        self.sentence.say(say("drift.counting"))
        self.under = Words(look, "", 15, colour="muted")
        self.narrowed = NarrowedRow(desk, narrow=self._narrow)
        self.narrowed.taken_back.connect(self._widen)
        self.ranking = RankingPart(desk, narrow=self._narrow)
        self.ranking.more_wanted.connect(self.more)
        self.weeks, self.offsets, self.groups = WeeksPart(desk), OffsetsPart(desk), GroupsPart(desk)
        self.weeks.site_wanted.connect(self._site_wanted)
        self.groups.by_wanted.connect(self._group)
        self.recheck = RecheckPart(desk)
        self.recheck.plan_wanted.connect(self._replay)
        self.failures, self.replacing = FailuresPart(desk), ReplacingPart(desk)
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
        self.period.chosen.connect(self._of_period)
        self.paper = on_press(Button(desk.look, say("drift.print")), self._print)
        self.save = SaveTable(desk, self._out)
        return Flow(self.by_day, self.site, self.type, self.period, self.paper, self.save, space=12, middle=True)

    def _body(self) -> QLayout:
        """The ranking and the weeks at the left, models and the recheck rule beside them where there is room."""
        look = self.desk.look
        quiet_parts = (self.incidents, self.regular, self.baths, self.taken_back)
        means = Words(look, self.desk.say("activity.means"), 14, colour="muted")
        left = column(
            *(self.ranking, Line(look.line), self.failures, Line(look.line), self.weeks, Line(look.line), self.offsets),
            space=16,
        )
        right = column(
            *(self.replacing, Line(look.line), self.groups, Line(look.line), self.recheck, *quiet_parts), space=16
        )
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
        elif isinstance(about, dict):
            self._restore(about)
        self.read_again()

    def keep_draft(self) -> dict[str, object]:
        """What was chosen, for a page made anew: another window size must not widen what is looked at in silence."""
        asked, day = self._asked, self._by_day
        return {
            "site": asked.site,
            "type": asked.type,
            "weeks": str(asked.weeks),
            "day": day.isoformat() if day else "",
        }

    def _restore(self, kept: dict[str, Any]) -> None:
        for narrow, value in ((self.site, kept["site"]), (self.type, kept["type"])):
            narrow.blockSignals(True)
            narrow.setCurrentIndex(max(0, narrow.findData(value)))
            narrow.blockSignals(False)
        self.period.choose(kept["weeks"])
        self._tell_narrowing()
        self._by_day = date.fromisoformat(kept["day"]) if kept["day"] else None

    def read_again(self) -> None:
        self._look_after = True
        self._rank()
        self._count()

    @property
    def _asked(self) -> Asked:
        return Asked(self.site.currentData() or "", self.type.currentData() or "", int(self.period.value))

    # --- the ranking -----------------------------------------------------------------------------------------

    def _rank(self) -> None:
        session, day, asked, rows = self.desk.session, self._by_day, self._asked, self._shown

        def work(progress: Progress) -> Ranking:
            return fleet.ranking(
                session,
                day,
                **asked.narrowed,
                limit=rows,
                progress=lambda done, of: progress(100 * done // max(of, 1)),
            )

        self._ranking.ask(work)

    def _went_on(self, percent: int) -> None:
        if self.ranked is None:
            self.sentence.say(self.desk.say("drift.working", percent=percent))

    def _ranking_failed(self, error: Exception) -> None:
        passed = self._by_day is not None and isinstance(error, Refused)
        if passed:  # the day that was asked about has passed meanwhile, or begins later where it is looked at now
            self._by_day = None
            self._rank()
        else:
            self.sentence.say(self.desk.say("drift.not_worked_out"))
        self.desk.notice_of(error)

    def _show_ranking(self, found: object) -> None:
        assert isinstance(found, Ranking)
        desk, self.ranked = self.desk, found
        today = self._today()
        when = fleet_words.day_meant(found.day, today, desk.language, desk.region)
        self.sentence.say(fleet_words.headline(found, when, desk.language, desk.region))
        self.under.say(desk.say("drift.may_fail_how", when=when))
        names = desk.site_names()
        self._name_in(self.save)
        self.ranking.show()
        if self._is_new("ranking", (found, names, today)):
            self.ranking.show_ranking(found, names, today)
        if self._look_after:
            self._look_after = False
            self._group()
            self._look()

    def more(self) -> None:
        self._shown += MORE
        self._rank()

    def _today(self) -> date:
        """Where it is looked at: the day begins there."""
        return fleet.today(self.desk.session, self._asked.site or None)

    def _ask_day(self) -> None:
        say = self.desk.say
        day = self.ranked.day if self.ranked else self._today() + timedelta(days=fleet.AHEAD_DAYS)
        field = Field("by_day", say("drift.by_day"), DAY, day.isoformat(), hint=say("drift.by_day_hint"))
        self.desk.ask.fill(say("drift.another_day"), [field], say("frame.go_on"), self._take_day)

    def _take_day(self, values: dict[str, str]) -> None:
        """Refused beside the field where it has passed or is no day."""
        today = self._today()
        day = typed.day(values["by_day"], today, "by_day")
        fleet.refuse_day(day, today)
        self._by_day = day
        self._work_anew()
        self._rank()

    def _narrowed(self, _: object = None) -> None:
        """Until an answer is there nothing stands in its place: the old one was of other thermometers."""
        self._shown = FIRST
        self._tell_narrowing()
        self._work_anew()
        self._shows.clear()
        self.groups.wait()
        self.recheck.wait()
        self.replacing.wait()
        counted = (self.weeks, self.offsets, self.failures, self.taken_back)
        for part in (self.ranking, *counted, self.incidents, self.regular, self.baths):
            part.hide()
        self.read_again()

    def _is_new(self, part: str, found: object) -> bool:
        """Whether another answer stands there: who has the keys in a part keeps them where nothing changed."""
        if part in self._shows and self._shows[part] == found:
            return False
        self._shows[part] = found
        return True

    def _widen(self) -> None:
        """All sites and types again."""
        self.site.setFocus()  # what was pressed goes away
        for narrow in (self.site, self.type):
            narrow.blockSignals(True)
            narrow.setCurrentIndex(0)
            narrow.blockSignals(False)
        self._narrowed()

    def _of_period(self, _: str = "") -> None:
        self._tell_narrowing()
        self._count()

    def _narrowing(self) -> Narrowing:
        asked = self._asked
        site = next((one.payload for one in self.desk.sites() if one.subject == asked.site), None)
        return Narrowing(site.name if site else "", site.letters if site else "", asked.type, asked.weeks)

    def _tell_narrowing(self) -> None:
        self.narrowed.show_narrowing(self._narrowing())

    def _name_in(self, *saves: SaveTable, by_weeks: bool = False) -> None:
        """What is saved from now on says how it is narrowed: once it is shown, and no sooner."""
        found = self._narrowing()
        for save in saves:
            save.narrowed = found.file, narrowed.of_table(self.desk, found, by_weeks=by_weeks)

    def _work_anew(self) -> None:
        self.ranked = None
        self.sentence.say(self.desk.say("drift.counting"))

    # --- models and other groups -----------------------------------------------------------------------------

    def _group(self, _: str = "") -> None:
        session, by, asked = self.desk.session, self.groups.by.value, self._asked
        self._grouping.ask(lambda progress: groups.groups(session, by, **asked.narrowed, progress=_counted(progress)))

    def _show_groups(self, found: object) -> None:
        assert isinstance(found, GroupsFound)
        names = wording.group_names(self.desk, found.by, [one.key for one in found.groups])
        if self._is_new("groups", (found, names)):
            self.groups.show_groups(found.groups, names)

    # --- what was missed, where offsets lie ------------------------------------------------------------------

    def _count(self, _: str = "") -> None:
        session, asked = self.desk.session, self._asked

        def work(progress: Progress) -> Counted:
            kind = asked.type or None
            weeks = activity.checks_by_week(session, asked.sites, weeks=asked.weeks, progress=progress, type=kind)
            offsets: dict[str, list[Offsets]] = {
                by: activity.offsets_by(session, by, asked.sites, type=kind) for by in activity.GROUPS
            }
            gone = [
                one
                for one in reports_taken_back(session)
                if asked.site in ("", one.site) and asked.type in ("", one.type)
            ]
            failed = failures.failures(session, weeks=asked.weeks, **asked.narrowed)
            return Counted(weeks, offsets, gone, failed, asked.type)

        self._counting.ask(work)

    def _show_counted(self, counted: object) -> None:
        assert isinstance(counted, Counted)
        for part in (self.weeks, self.offsets, self.failures):
            part.show()
        self._name_in(self.weeks.save, self.failures.save, by_weeks=True)
        self._name_in(self.offsets.save)
        if self._is_new("weeks", counted.weeks):
            self.weeks.show_weeks(counted.weeks, narrow=True, of_type=counted.type)
        if self._is_new("offsets", counted.offsets):
            self.offsets.show_offsets(counted.offsets, narrow=bool(self.small), of_type=counted.type)
        if self._is_new("taken back", counted.taken_back):
            self.taken_back.show_reports(counted.taken_back)
        if self._is_new("failures", counted.failures):
            self.failures.show_failures(counted.failures)

    def _site_wanted(self, site: str, monday: object) -> None:
        """Its monthly log, where each missed check stands by name."""
        today = fleet.today(self.desk.session, site)
        day = min(monday, today) if isinstance(monday, date) else today
        self.desk.go("proof", LogOf(site, day))

    # --- what takes longer -----------------------------------------------------------------------------------

    def _look(self) -> None:
        desk, session, asked = self.desk, self.desk.session, self._asked

        def work(progress: Progress) -> Looked:
            held = intervals.by_group(session, "type", asked.sites, progress=progress)
            return Looked(
                baths.look(desk, asked.site, progress),
                Advised(
                    [one for one in held if asked.type in ("", one.key)], intervals.plans_kept(session, asked.sites)
                ),
                regularity.by_site(session, asked.sites, progress=progress),
                groups.incidents(session, **asked.narrowed, progress=_counted(progress)),
                replacing.to_replace(
                    session, fleet.ranking(session, limit=None, histories=False, **asked.narrowed), **asked.narrowed
                ),
            )

        self._looking.ask(work)

    def _show_looked(self, found: object) -> None:
        assert isinstance(found, Looked)
        if not self._is_new("looked", found):
            return
        of_all_types = self.desk.say("drift.all_types") if self._asked.type else ""
        self._name_in(self.replacing.save)
        self.baths.show_baths(found.baths, of_all_types)
        self.recheck.show_advice(found.advised, of_all_types=bool(of_all_types))
        self.replacing.show_replacing(found.replacing)
        self.regular.show_lines(quiet.regular_lines(self.desk, found.regular), of_all_types)
        self.incidents.show_lines(quiet.incident_lines(self.desk, found.incidents))

    def _replay(self, plan: str) -> None:
        session, sites = self.desk.session, self._asked.sites
        self._replay_of = self.site.currentText() if sites else ""
        self.desk.notice(self.desk.say("drift.replaying"))
        self._replaying.ask(lambda progress: replay.replay(session, plan, sites, progress=progress))

    def _replayed(self, found: object) -> None:
        assert isinstance(found, Replay)
        desk = self.desk
        told = replay_words.sentences(found, self._replay_of, desk.language, desk.region)
        desk.ask.sure(desk.say("drift.replayed"), desk.say("frame.go_on"), lambda: None, details="\n".join(told))

    # --- to hand on ------------------------------------------------------------------------------------------

    def _out(self) -> Any:
        ranked = self.ranked
        if ranked is None:
            return None
        session, day, asked = self.desk.session, ranked.day, self._asked

        def make(words: Any) -> Any:
            from registry.services import tables_out

            found = fleet.ranking(session, day, **asked.narrowed, limit=None, histories=False)
            with session.reading() as connection:
                names = {one.subject: one.payload.name for one in places.sites(connection)}
            return tables_out.ranking(words, found, names)

        return self.desk.say("spreadsheet.file.ranking"), make

    def _print(self) -> None:
        site = next((one for one in self.desk.sites() if one.subject == self.site.currentData()), None)
        self.papers.overview(site, self._by_day, self._asked.type or None)


def _counted(progress: Progress) -> Callable[[int, int], bool]:
    """As services tell how far they are: so many, of how many."""
    return lambda done, _: progress(done)
