"""The page for the manager, drawn anew each time, of a site or all of them as the record stands. Records nothing."""

from collections.abc import Sequence
from datetime import date

from registry.documents.facts import Paper
from registry.documents.site_facts import OverviewFacts, OverviewPart
from registry.quantity import Unit
from registry.records.rules import GroupSet
from registry.services import activity, failures, fleet, groups, intervals, pages, places, replacing
from registry.services.activity import Activity, SiteWeeks
from registry.services.failures import Failures
from registry.services.fleet import Ranked, Ranking
from registry.services.groups import Group
from registry.services.outlook import difference
from registry.services.replacing import Replacing
from registry.services.session import Session, day_at
from registry.services.standings import Progress, go_on
from registry.services.words import failures as failure_words
from registry.services.words import fleet as fleet_words
from registry.services.words import intervals as interval_words
from registry.services.words import outlook as outlook_words
from registry.services.words import replacing as replacing_words
from registry.wording import format, say

ROWS, GROUPS_SHOWN, WEEKS = 7, 6, 4
SILENT = ("mixed", "no_rule", "no_shifts", "too_few", "keep_none", "keep", "keep_few")


def printed(
    session: Session,
    site: str | None = None,
    *,
    by_day: date | None = None,
    type: str | None = None,
    language: str | None = None,
    paper: Paper | None = None,
    progress: Progress = go_on,
) -> bytes:
    """The PDF. site: its id, None for all; type: of thermometers, None for all; by_day: as `fleet.ranking` takes it."""
    from registry.documents.overview import overview  # late: reportlab

    facts = overview_facts(session, site, by_day=by_day, type=type, language=language, paper=paper, progress=progress)
    with pages.refusing():
        return overview(facts)


def overview_facts(
    session: Session,
    site: str | None = None,
    *,
    by_day: date | None = None,
    type: str | None = None,
    language: str | None = None,
    paper: Paper | None = None,
    progress: Progress = go_on,
) -> OverviewFacts:
    """What the page says, ready worded. Of one type it says nothing of how the plan is kept, which has all types."""
    ranked = fleet.ranking(session, by_day, site=site, type=type, limit=None, histories=False, progress=progress)
    models = groups.groups(session, "model", site=site, type=type, progress=progress)
    sites = None if site is None else [site]
    weeks = activity.checks_by_week(session, sites, weeks=WEEKS, type=type)
    lately = failures.failures(session, weeks=WEEKS, site=site, type=type)
    replace = replacing.to_replace(session, ranked, site=site, type=type, progress=progress)
    held = [one for one in intervals.by_group(session, "type", sites) if type in (None, one.key)]
    kept = intervals.plans_kept(session, sites) if type is None else []
    with session.reading() as connection:
        group = session.group(connection).payload
        known = {one.subject: one.payload for one in places.sites(connection)}
        at = [known[site]] if site else list(known.values())
        zone = at[0].zone if at else "UTC"
        named = (at[0].name, at[0].address) if site else (say("replay.all_sites", language or group.language),)
        page = pages.page_facts(session, group, named, language or group.language, zone, paper)
        words = _Words(group, page.language, page.region, day_at(session.clock(), zone))
        names = {subject: one.name for subject, one in known.items()}
    advice = [
        interval_words.advice(one, say(f"type.{one.key}", words.language), words.language)
        for one in held
        if one.advice.says not in SILENT
    ]
    advice += [interval_words.kept(one, words.language, words.region) for one in kept if one.change]
    parts = (
        _failed(ranked, names, words),
        _to_replace(replace, names, words),
        _soonest(ranked, names, words),
        _models([one for one in models.groups if one.wears], words),
        _lately(lately, names, words),
        _missed(weeks, words),
        OverviewPart(
            name=words.say("overview.recheck"),
            sentences=tuple(advice) or (interval_words.nothing(held, words.language),),
            may_join=True,
        ),
    )
    return OverviewFacts(
        page=page,
        as_of=_as_of(type, words),
        answer=_answer(ranked, words),
        parts=parts,
    )


def _as_of(type: str | None, words: "_Words") -> str:
    day = format.day(words.today, words.region)
    if type is None:
        return words.say("overview.as_of", day=day)
    return words.say("overview.as_of_type", day=day, type=words.say(f"type.{type}"))


class _Words:
    """How the page is written."""

    def __init__(self, group: GroupSet, language: str, region: str, today: date) -> None:
        self.language, self.region, self.today = language, region, today
        self.unit: Unit = "F" if group.unit == "F" else "C"

    def say(self, code: str, /, **values: object) -> str:
        return say(code, self.language, **values)

    def celsius(self, difference_: float, places: int) -> str:
        return format.offset(difference(difference_, self.unit), self.region, places)


def _answer(ranked: Ranking, words: _Words) -> str:
    said = fleet_words.headline(ranked, format.day(ranked.day, words.region), words.language, words.region)
    return said.replace("*", "**")


def _what(one: Ranked, words: _Words) -> str:
    return " ".join(filter(None, (one.maker, one.model))) or words.say(f"type.{one.type}")


def _failed(ranked: Ranking, names: dict[str, str], words: _Words) -> OverviewPart:
    return OverviewPart(
        name=words.say("overview.failed", count=len(ranked.failed)),
        heads=tuple(words.say(f"overview.head.{one}") for one in ("tag", "what", "site")),
        rows=tuple((one.tag_id, _what(one, words), names.get(one.site or "", "")) for one in ranked.failed),
        sentences=() if ranked.failed else (words.say("overview.failed_none"),),
        note=words.say("drift.failed_how") if ranked.failed else "",
    )


def _soonest(ranked: Ranking, names: dict[str, str], words: _Words) -> OverviewPart:
    heads = ("tag", "what", "site", "off", "chance", "from")
    more = ranked.of - ROWS
    said = words.say("overview.more", count=more, likely=max(0, ranked.likely - ROWS)) if more > 0 else ""
    return OverviewPart(
        name=words.say("drift.ranking"),
        heads=tuple(words.say(f"overview.head.{one}") for one in heads),
        rows=tuple(_ranked_row(one, names, words) for one in ranked.rows[:ROWS]),
        figures=3,
        sentences=(said,) if said else (),
        note=words.say("drift.may_fail_how", when=format.day(ranked.day, words.region)) if ranked.rows else "",
    )


def _ranked_row(one: Ranked, names: dict[str, str], words: _Words) -> tuple[str, ...]:
    found = one.outlook
    off = format.offset(found.offset.to(words.unit), words.region, 1) if found.offset else ""
    when = fleet_words.from_when(one, words.today, words.language)
    chance = outlook_words.chance(one.by_day or 0.0, words.language, words.region)
    return one.tag_id, _what(one, words), names.get(one.site or "", ""), off, chance, when


def _models(found: Sequence[Group], words: _Words) -> OverviewPart:
    """Those that surely drift, the fastest first."""
    rows = tuple(
        (
            one.key or words.say("activity.model_not_stated"),
            str(one.thermometers),
            *(words.celsius(each, 2) for each in (one.a_month, one.low, one.high)),
        )
        for one in found[:GROUPS_SHOWN]
    )
    return OverviewPart(
        name=words.say("overview.models"),
        heads=tuple(words.say(f"overview.head.{one}") for one in ("model", "count", "a_month", "low", "high")),
        rows=rows,
        figures=4,
        sentences=() if rows else (words.say("overview.models_none"),),
    )


def _missed(weeks: Activity, words: _Words) -> OverviewPart:
    """Of what was wanted: done, missed, and answered instead: not used or found, no reading, closed, lent."""

    def counts(one: SiteWeeks) -> tuple[int, int, int, int]:
        asked, done, missed = (one.total(each) for each in ("asked", "done", "missed"))
        return asked, done, missed, asked - done - missed

    rows = tuple(
        (one.name, *(format.number(each, words.region) for each in counts(one)))
        for one in sorted(weeks.sites, key=lambda one: -one.total("missed"))
        if one.total("asked")
    )
    return OverviewPart(
        name=words.say("overview.missed", count=WEEKS),
        heads=tuple(words.say(f"overview.head.{one}") for one in ("site", "asked", "done", "missed", "else")),
        rows=rows,
        figures=4,
        note=words.say("overview.else_how") if rows else "",
        sentences=() if rows else (words.say("overview.missed_none"),),
    )


def _to_replace(found: Replacing, names: dict[str, str], words: _Words) -> OverviewPart:
    """All that is to be replaced, however many; what it cost is a figure, or whose figure stands for it."""
    rows = tuple(
        (
            one.tag_id,
            replacing_words.what(one, words.language),
            names.get(one.site, ""),
            replacing_words.why(one, words.language),
            replacing_words.price(one, words.language, words.region) or words.say("replacing.unknown"),
        )
        for one in found.rows
    )
    if not rows:
        return OverviewPart(name=words.say("replacing.title"), sentences=(words.say("replacing.none"),))
    return OverviewPart(
        name=words.say("replacing.title"),
        heads=tuple(words.say(f"replacing.head.{one}") for one in ("tag", "what", "site", "why", "price")),
        rows=rows,
        sentences=(replacing_words.sums(found, words.language, words.region),),
        note=words.say("replacing.how") if found.known else "",
    )


def _lately(found: Failures, names: dict[str, str], words: _Words) -> OverviewPart:
    """Failed checks of the last weeks, those that are not resolved first, also of what is out of use by now."""
    told = failure_words.headline(found, words.language)
    if not found.rows:
        return OverviewPart(name=words.say("failures.title"), sentences=(told,))
    order = sorted(found.rows, key=lambda one: one.now != "open")
    rows = tuple(
        (
            one.tag_id,
            format.short_day(day_at(one.at, one.zone), words.region),
            names.get(one.site, ""),
            words.say(f"point.{one.point}"),
            format.offset(one.offset, words.region) if one.offset else "",
            failure_words.done(one, words.language, words.region),
            failure_words.now(one, words.language, words.region),
        )
        for one in order[:ROWS]
    )
    more = len(found.rows) - len(rows)
    return OverviewPart(
        name=words.say("failures.title"),
        heads=tuple(
            words.say(f"failures.head.{one}") for one in ("tag", "date", "site", "point", "off", "done", "now")
        ),
        rows=rows,
        sentences=(" ".join([told, *([words.say("failures.more", count=more)] if more > 0 else [])]),),
        note=words.say("failures.look_back"),
    )
