"""The sentences of an answer: what is said large, what each check read, what lay between, what was known then."""

from collections.abc import Iterator
from fractions import Fraction

from registry.quantity import TemperatureDifference
from registry.services.proof_page import AnswerShown, Late, PointShown
from registry.services.session import day_at
from registry.wording import format
from ui.desk import Desk


def class_of(point: PointShown) -> str:
    """The class of point: a comparison of hot things is another one than of cold ones."""
    return point.of.point if point.of.point != "comparison" else f"comparison_{'hot' if point.of.hot else 'cold'}"


def file_day(at: int, zone: str) -> str:
    return day_at(at, zone).isoformat()


def headline(desk: Desk, shown: AnswerShown) -> str:
    """The answer; yes only as far as it goes."""
    answer, known = shown.answer, [one for one in shown.points if one.of.answer == "yes"]
    if not shown.points:
        return desk.say("proof.answer.no_points")
    if answer.answer != "yes":
        return desk.say(f"proof.answer.{answer.answer}", tag=answer.of.tag_id)
    if len(known) == len(shown.points):
        return desk.say("proof.answer.yes", tag=answer.of.tag_id)
    return desk.say("proof.answer.yes_some", count=len(known), points=len(shown.points))


def read_before(desk: Desk, point: PointShown) -> Iterator[str]:
    """What the check before read, as left where it was adjusted and read again; nothing where that is not on record."""
    line = point.of.before
    if line is None or line.tolerance is None:
        return
    limit = format.limit(line.tolerance, desk.region)
    if line.as_left_offset is not None:
        yield desk.say(f"proof.left.{_side(line.as_left_offset)}", off=_plain(desk, line.as_left_offset), limit=limit)
    elif line.offset is not None and line.u is not None and line.k and line.adjusted is None:
        wide = TemperatureDifference(Fraction(line.u.value) * Fraction(line.k), line.u.unit)
        expanded = format.expanded(wide, desk.region)
        side = _side(line.offset)
        yield desk.say(f"proof.read.{side}", off=_plain(desk, line.offset), expanded=expanded, limit=limit)


def _side(offset: TemperatureDifference) -> str:
    return "even" if offset.value == 0 else "high" if offset.value > 0 else "low"


def _plain(desk: Desk, offset: TemperatureDifference) -> str:
    """How far off, without its sign: the sentence says high or low."""
    return desk.offset(offset).lstrip(f"+{format.MINUS}")


def between(desk: Desk, point: PointShown, zone: str) -> Iterator[str]:
    """Each incident and adjustment between the two checks, or that none is on record."""
    for one in point.between:
        what = desk.say("proof.adjusted") if one.what == "adjusted" else desk.say(f"incident.{one.what}")
        yield desk.say("proof.between", what=what, when=desk.instant(one.at, zone), number=one.number)
    if not point.between:
        yield desk.say("answer.nothing_between")


def known_then(desk: Desk, shown: AnswerShown) -> Iterator[str]:
    """What of this nobody could have read at that moment."""
    if not shown.points:
        return
    for one in shown.late:
        yield _late(desk, one, shown.zone)
    if not shown.late:
        after = any(point.of.after for point in shown.points)
        yield desk.say("proof.known.all_but_after" if after else "proof.known.all")


def _late(desk: Desk, one: Late, zone: str) -> str:
    entered = desk.instant(one.entered_at, zone)
    if one.kind in ("voided", "bath_judged"):
        return desk.say(f"proof.known.{one.kind}", number=one.number, entered=entered)
    return desk.say("proof.known.later", number=one.number, done=desk.instant(one.done_at, zone), entered=entered)


def plot_aloud(desk: Desk, point: PointShown) -> str:
    """The plot for who can't see it: both checks by what they read; the lines beneath say the rest."""
    lines = [line for line in (point.of.before, point.of.after) if line is not None and line.offset is not None]
    return "; ".join(f"{desk.instant(one.at)}: {desk.offset(one.offset)}" for one in lines if one.offset)
