"""What the officer looks at, as it goes out to spreadsheets: weeks, offsets, the ranking, groups, failed checks."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from registry.services.activity import Activity, Offsets
from registry.services.failures import Failures
from registry.services.fleet import Ranking
from registry.services.groups import GroupsFound
from registry.services.replacing import Replacing
from registry.services.spreadsheet_out import TableOut, Value
from registry.services.table_words import Words, degree, exact, local
from registry.services.words import failures as failure_words
from registry.services.words import outlook as outlook_words
from registry.services.words import replacing as replacing_words

COUNTS = ("wanted", "done", "missed", "open", "not_used", "not_found", "no_reading", "other")


def weeks(words: Words, found: Activity, of_type: str = "") -> TableOut:
    """Checks done and missed, a row for each site and week; no counts where what was wanted is not known.

    of_type: the code of the one type that was counted, "" for all; a column says so.
    """
    head, told = _of_type(words, of_type)
    rows = [
        [site.name, *told, week.monday, *((getattr(week, one) if week.known else None) for one in COUNTS)]
        for site in found.sites
        for week in site.weeks
    ]
    heads = ("others" if one == "other" else one for one in COUNTS)
    return words.out("weeks", ("site", *head, "week", *heads), rows)


def _of_type(words: Words, code: str) -> tuple[list[str], list[str]]:
    """Head and cell of a column that names the one type of a whole table."""
    return (["type"], [words.say(f"type.{code}")]) if code else ([], [])


def offsets(words: Words, by: str, found: Sequence[Offsets], names: Mapping[str, str], of_type: str = "") -> TableOut:
    """Where the last offsets lie, a row for each group; of_type as in `weeks`."""
    head, told = _of_type(words, of_type if by != "type" else "")

    def group(key: str) -> str:
        if by == "type":
            return words.say(f"type.{key}")
        return (names.get(key, "") if by == "site" else key) or words.say(f"activity.{by}_not_stated")

    rows = [
        [
            group(one.key),
            *told,
            one.n,
            one.without,
            one.outside,
            *(exact(each) for each in (one.lower, one.median, one.upper)),
            degree(one.median.unit if one.median else ""),
        ]
        for one in found
    ]
    columns = ("n", "without", "outside", "lower", "median", "upper", "offset_unit")
    return words.out("offsets", (by, *head, *columns), rows)


def ranking(words: Words, found: Ranking, names: Mapping[str, str]) -> TableOut:
    """All that are ranked by their chance to be out by a day, then who failed and was not mended, without one."""
    columns = (
        "tag_id", "site", "type", "maker", "model", "state", "offset", "expanded", "a_month", "offset_unit",
        "worst_point", "by_day", "level",
    )  # fmt: skip
    rows = [
        [
            one.tag_id,
            names.get(one.site or "", ""),
            words.say(f"type.{one.type}"),
            one.maker,
            one.model,
            words.say(f"fleet.says.{one.outlook.says}"),
            exact(one.outlook.offset),
            exact(one.outlook.expanded),
            exact(one.outlook.a_month),
            degree(one.outlook.unit),
            outlook_words.point(one.outlook.kind, one.outlook.celsius, one.outlook.unit, words.language, words.region),
            None if one.by_day is None else Decimal(f"{one.by_day:.4f}"),
            one.outlook.out_on,
        ]
        for one in (*found.rows, *found.failed)
    ]
    return words.out("ranking", columns, rows)


def groups(words: Words, found: GroupsFound, names: Mapping[str, str]) -> TableOut:
    """How groups drift a month, °C: the mean of each and from where to where it lies with 95 %."""
    columns = ("group", "thermometers", "checks", "a_month", "low", "high", "offset_unit")

    def name(key: str) -> str:
        if found.by == "type" and key:
            return words.say(f"type.{key}")
        return names.get(key, "") if found.by == "site" else key

    rows: list[list[Value]] = [
        [
            name(one.key) or words.say("fleet.not_stated"),
            one.thermometers,
            one.checks,
            *(Decimal(f"{each:.4f}") for each in (one.a_month, one.low, one.high)),
            degree("C"),
        ]
        for one in found.groups
    ]
    return words.out("groups", columns, rows)


def failures(words: Words, found: Failures, names: Mapping[str, str]) -> TableOut:
    """Failed checks of a period, the newest first, with what was done after each."""
    columns = (
        "number", "tag", "site", "type", "maker", "model", "date", "time", "point", "outcome", "offset", "offset_unit",
        "done_after", "now", "good_before", "stands",
    )  # fmt: skip
    rows: list[list[Value]] = []
    for one in found.rows:
        when = local(one.at, one.zone)
        assert when is not None
        rows.append(
            [
                one.number,
                one.tag_id,
                names.get(one.site, ""),
                words.say(f"type.{one.type}"),
                one.maker,
                one.model,
                when.date(),
                None if one.day_only else when.time(),
                words.say(f"point.{one.point}"),
                words.say(f"outcome.{one.outcome}"),
                exact(one.offset),
                degree(one.offset.unit if one.offset else ""),
                failure_words.done(one, words.language, words.region),
                failure_words.now(one, words.language, words.region),
                local(one.good_before, one.zone),
                words.say("cli.void" if one.voided else "cli.counts.yes"),
            ]
        )
    return words.out("failures", columns, rows)


def to_replace(words: Words, found: Replacing, names: Mapping[str, str]) -> TableOut:
    """What is to be replaced and why; a price is its own, or that of the one named beside it."""
    columns = ("tag_id", "site", "type", "maker", "model", "why_replace", "price", "currency", "price_like")
    rows: list[list[Value]] = [
        [
            one.tag_id,
            names.get(one.site, ""),
            words.say(f"type.{one.type}"),
            one.maker,
            one.model,
            replacing_words.why(one, words.language),
            Decimal(one.price.amount) if one.price else None,
            one.price.currency if one.price else "",
            one.like,
        ]
        for one in found.rows
    ]
    return words.out("replacing", columns, rows)
