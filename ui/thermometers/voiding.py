"""Voiding an entry from the story: which one, why, and before it is done what rests on it."""

from registry.services import mend, thermometer_page
from registry.services.mend import Affected
from registry.services.session import Actor
from registry.services.story_lines import StoryEntry
from registry.services.thermometer_page import ThermometerPage
from ui.desk import Desk
from ui.forms import CHOICE, LONG, Field
from ui.thermometers import story_words

# Lines of the story whose entries are of a kind that is voided; the others are stated anew instead.
VOIDED = ("check", "adjusted", "incident", "not_checked", "use_allowed", "side_by_side", "tag", "no_reading", "picture")
OFFERED = 40  # lines that are offered to choose from: an older one is opened in the story
PAPERS = ("certificate", "use_allowed", "tag")


def may_void(desk: Desk, line: StoryEntry, actor: Actor) -> bool:
    """An officer voids anything; a lead what that same person said within the last day."""
    own = line.by == actor.person and desk.session.clock() - line.at <= mend.OWN_FOR_US
    return line.code in VOIDED and not line.voided and (desk.may("officer") or (own and desk.may("lead")))


def choose(desk: Desk, page: ThermometerPage) -> None:
    """Which entry; told where there is none that one may void."""
    lines = [one for one in page.story if may_void(desk, one, desk.actor)][:OFFERED]
    if not lines:
        desk.notice(desk.say("thermometers.none_to_void" if desk.may("officer") else "thermometers.none_of_own"))
        return
    by_number = {one.number: one for one in lines}
    choices = [(one.number, _short(desk, page, one)) for one in lines]
    title = desk.say("thermometers.void_which", tag=page.of.tag_id)
    desk.ask.choose(title, choices, lambda number: ask_why(desk, page, by_number[number]))


def _short(desk: Desk, page: ThermometerPage, line: StoryEntry) -> str:
    return f"{story_words.when(desk, line, page.zone)}\n{story_words.sentence(desk, line, page.names, page.unit)}"


def open_line(desk: Desk, page: ThermometerPage, line: StoryEntry) -> None:
    if may_void(desk, line, desk.actor):
        ask_why(desk, page, line)
        return
    said = story_words.aloud(desk, line, page.names, page.zone, page.unit)
    desk.notice(desk.say("thermometers.line_is", what=said, number=line.number))


def ask_why(desk: Desk, page: ThermometerPage, line: StoryEntry) -> None:
    reasons = tuple((one, story_words.begun(desk.say(f"story.void_why.{one}"))) for one in mend.WHY)
    fields = [
        Field("why", desk.say("thermometers.why"), CHOICE, mend.WHY[0], reasons),
        Field("words", desk.say("thermometers.in_words"), LONG, hint=desk.say("thermometers.in_words_hint")),
    ]

    def voided(values: dict[str, str]) -> None:
        done = mend.void(desk.session, desk.actor, line.number, values["why"], words=values["words"])
        desk.notice(" ".join(told(desk, done)))
        desk.recorded.emit()

    title = desk.say("thermometers.void_title", number=line.number)
    words = " ".join(
        [story_words.aloud(desk, line, page.names, page.zone, page.unit) + ".", *consequences(desk, page, line)]
    )
    desk.ask.fill(title, fields, desk.say("thermometers.do.void_it"), voided, words=words)


def consequences(desk: Desk, page: ThermometerPage, line: StoryEntry) -> list[str]:
    """What voiding it does, and what rests on it, told before."""
    said = [desk.say("thermometers.void_stays")]
    if line.code == "adjusted":
        said.append(desk.say("thermometers.void_adjustment"))
    if line.code == "check":
        said.append(desk.say("thermometers.void_check"))
    if line.code == "use_allowed":
        said.append(desk.say("thermometers.void_use"))
    if line.code == "side_by_side":
        said.append(desk.say("thermometers.void_beside"))
    if rests := resting(desk, page, line):
        said.append(desk.say("thermometers.void_rests", numbers=", ".join(rests)))
    return said


def resting(desk: Desk, page: ThermometerPage, line: StoryEntry) -> list[str]:
    """Numbers of the papers and permissions that were made from it."""
    session = desk.session
    of, entry = page.of.row.thermometer, mend.find_entry(session, line.number)
    with session.reading() as connection:
        story = thermometer_page.page(session, connection, of, newest=None).story
    check = entry.payload.get("check")
    return [
        one.number
        for one in story
        if one.code in PAPERS
        and not one.voided
        and (
            entry.hash in one.values.get("rests_on", ())
            or (line.code == "check" and check is not None and one.values.get("check") == check)
        )
    ]


def told(desk: Desk, done: Affected) -> list[str]:
    """What came of it, once it is void."""
    said = [desk.say("thermometers.voided", number=done.entry.number)]
    if done.stays_check_first:
        said.append(desk.say("thermometers.stays_check_first"))
    if papers := [*done.certificates, *done.uses, *done.tags]:
        said.append(desk.say("thermometers.look_again", numbers=", ".join(papers)))
    if done.baths:
        said.append(desk.say("thermometers.look_at_baths", numbers=", ".join(done.baths)))
    return said
