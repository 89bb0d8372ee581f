"""Certificates from the window: issued, replaced, amended, withdrawn, printed again."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from registry.services import certificates, papers
from registry.services.certificates import Certificate
from ui.desk import Desk
from ui.work import Progress

ISSUE, REPLACE, AMEND, WITHDRAW, AGAIN = "issue", "replace", "amend", "withdraw", "again"
Work = Callable[[Progress], bytes]
Save = Callable[[str, Work], object]  # what the file is called after its tag id, and what draws it


def choices(desk: Desk, kept: Sequence[Certificate]) -> list[tuple[str, str]]:
    """What may be done of a thermometer's certificates, the newest first."""
    standing = [one for one in kept if one.state == "stands"]
    found = [(ISSUE, desk.say("thermometers.print_certificate"))]
    for one in standing[:1]:
        found += acts(desk, one)
    return found + [(f"{AGAIN} {one.number}", _again_words(desk, one)) for one in kept if one.stored]


def acts(desk: Desk, one: Certificate) -> list[tuple[str, str]]:
    """What may be done about one that stands, by who works here."""
    found = [
        (f"{REPLACE} {one.number}", desk.say("thermometers.print_replacing", number=one.number)),
        (f"{AMEND} {one.number}", desk.say("thermometers.print_amending", number=one.number)),
    ]
    if desk.may("officer"):
        found.append((f"{WITHDRAW} {one.number}", desk.say("thermometers.print_withdrawing", number=one.number)))
    return found if desk.may("lead", "officer") else []


def _again_words(desk: Desk, one: Certificate) -> str:
    code = "thermometers.print_again" if one.standing == "stands" else f"certificates.again.{one.standing}"
    return desk.say(code, number=one.number, day=desk.instant(one.kept.issued_at))


def ask(desk: Desk, thermometer: str, what: str, save: Save) -> None:
    """Do what was chosen; what it is for is asked where that is printed or recorded."""
    kind, _, number = what.partition(" ")
    name = desk.say("thermometers.file.certificate")
    if kind == AGAIN:
        save(number, lambda _: certificates.copy(desk.session, number))
    elif kind == ISSUE:
        save(name, _issuing(desk, thermometer, once=True))
    elif kind == REPLACE:
        save(name, _issuing(desk, thermometer, replaces=number))
    elif kind == AMEND:
        changes = [(one, _capital(desk.say(f"certificate.change.{one}"))) for one in papers.CHANGES]
        desk.ask.choose(
            desk.say("certificates.ask_change", number=number),
            changes,
            lambda change: save(name, _issuing(desk, thermometer, amends=number, change=change)),
        )
    else:
        reasons = [(one, _capital(desk.say(f"certificates.why.{one}"))) for one in papers.WHY_WITHDRAWN]
        desk.ask.choose(
            desk.say("certificates.ask_why", number=number), reasons, partial(_withdraw, desk, thermometer, number)
        )


def _withdraw(desk: Desk, thermometer: str, number: str, why: str) -> None:
    session, actor = desk.session, desk.actor

    def tell(entry: Any) -> None:
        desk.notice(desk.say("certificates.withdrawn_done", number=number, by=entry.number))

    desk.did(lambda: papers.withdraw_certificate(session, actor, thermometer, number, why), tell)


def _issuing(desk: Desk, thermometer: str, **more: Any) -> Work:
    # A second press with this id issues nothing more.
    return partial(_issue, desk, desk.actor, thermometer, desk.session.new_id(), more)


def _issue(desk: Desk, actor: Any, thermometer: str, certificate: str, more: dict[str, Any], _: Progress) -> bytes:
    session, chosen = desk.session, desk.setting("paper")
    paper: Any = None if chosen == "group" else chosen
    issued = papers.issue_certificate(session, actor, thermometer, paper=paper, certificate=certificate, **more)
    with session.reading() as connection:
        return papers.page_of(connection, issued)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
