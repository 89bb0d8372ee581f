"""Certificates, written to files."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from registry.commands.desk import Desk, iso
from registry.commands.for_a_site import language_asked
from registry.commands.options import Out, Tag

if TYPE_CHECKING:
    from collections.abc import Sequence

    from registry.services.papers import Issued
    from registry.services.thermometers import Thermometer

app = typer.Typer()


@app.command("certificate", epilog="certificate KI001X --out KI001X.pdf")
def certificate(
    context: typer.Context,
    tag: Tag,
    out: Out = "",
    language: Annotated[str, typer.Option("--language", metavar="en|es")] = "",
    paper: Annotated[str, typer.Option("--paper", metavar="a4|letter")] = "",
    replaces: Annotated[str, typer.Option("--replaces", metavar="NUMBER")] = "",
    amends: Annotated[str, typer.Option("--amends", metavar="NUMBER")] = "",
    change: Annotated[str, typer.Option("--change", metavar="WHAT")] = "",
    another: Annotated[bool, typer.Option("--another")] = False,
    copy: Annotated[str, typer.Option("--copy", metavar="NUMBER")] = "",
    as_issued: Annotated[bool, typer.Option("--as-issued")] = False,
    withdraw: Annotated[str, typer.Option("--withdraw", metavar="NUMBER")] = "",
    why: Annotated[str, typer.Option("--why", metavar="WHY")] = "",
    html: Annotated[bool, typer.Option("--html")] = False,
    dcc: Annotated[bool, typer.Option("--dcc")] = False,
) -> int:
    from registry.services import papers, typed
    from registry.services.problems import Refused, refuse

    desk = Desk.of(context)
    of = desk.find(tag)
    if sum(map(bool, (replaces, amends, copy, withdraw))) > 1 or ((html or dcc) and (replaces or amends or withdraw)):
        raise refuse("certificate", "not_with_others")
    if html and dcc:
        raise refuse("certificate", "one_form")
    if withdraw:
        return _withdraw(desk, of, withdraw.strip().upper(), why)
    if html or dcc:
        return _written_anew(desk, of, copy, out, "dcc" if dcc else "html")
    if copy:
        return _copy(desk, of, copy, out, as_issued)
    if out:
        desk.refuse_no_place(Path(out))
    size: Literal["a4", "letter"] | None = None
    if paper:
        size = "letter" if typed.choice("paper", paper, ("a4", "letter")) == "letter" else "a4"
    try:
        issued = papers.issue_certificate(
            desk.session,
            desk.actor,
            of.row.thermometer,
            language=language_asked(desk, language),
            paper=size,
            replaces=replaces.strip().upper() or None,
            amends=amends.strip().upper() or None,
            change=change,
            once=not another,
        )
    except Refused as refused:
        if [one.code for one in refused.problems] == ["stands_already"]:
            raise refuse("certificate", "say_another", number=refused.problems[0].values["number"]) from None
        raise
    with desk.session.reading() as connection:
        page = papers.page_of(connection, issued)
    return _written(desk, of, issued, page, out, "certificate_issued")


def _copy(desk: Desk, of: "Thermometer", number: str, out: str, as_issued: bool) -> int:
    """An issued one once more; where it no longer stands it is crossed, unless the very bytes are wanted."""
    from registry.commands.looking_back import certificate_warning
    from registry.services import certificates, papers
    from registry.services.problems import refuse

    found = certificates.numbered(desk.session, number)
    if found.kept.thermometer != of.row.thermometer:
        raise refuse("certificate", "unknown_certificate", value=number)
    with desk.session.reading() as connection:
        issued = papers.page_of(connection, found.kept)
        page = issued if as_issued else papers.copy_of(connection, found.kept)
    code = "certificate_copied" if page == issued else "certificate_crossed"
    return _written(desk, of, found.kept, page, out, code, certificate_warning(desk, found))


def _written_anew(desk: Desk, of: "Thermometer", number: str, out: str, form: Literal["html", "dcc"]) -> int:
    """An issued one as HTML or DCC, the last that stands where no number is said; nothing is issued."""
    from registry.commands.looking_back import certificate_warning
    from registry.services import certificates, exchange, plain_certificate
    from registry.services.problems import refuse

    wanted = number or plain_certificate.latest(desk.session, of.row.thermometer).number
    found = certificates.numbered(desk.session, wanted)
    if found.kept.thermometer != of.row.thermometer:
        raise refuse("certificate", "unknown_certificate", value=number)
    make, ending = (exchange.xml, "xml") if form == "dcc" else (plain_certificate.html, "html")
    content = make(desk.session, found.kept)
    name = out or f"{of.tag_id}-{found.number}.{ending}"
    warning = certificate_warning(desk, found)
    return _written(desk, of, found.kept, content, name, f"certificate_{form}_written", warning)


def _withdraw(desk: Desk, of: "Thermometer", number: str, why: str) -> int:
    from registry.services import papers, typed

    wanted = typed.choice("why", why, papers.WHY_WITHDRAWN)
    entry = papers.withdraw_certificate(desk.session, desk.actor, of.row.thermometer, number, wanted)
    said = {"number": number, "thermometer": of.row.thermometer, "tag_id": of.tag_id, "why": wanted, "by": entry.number}
    words = desk.say(f"certificates.why.{wanted}")
    return desk.done("certificate_withdrawn", said, number=number, tag=of.tag_id, by=entry.number, why=words)


def _written(
    desk: Desk, of: "Thermometer", issued: "Issued", page: bytes, out: str, code: str, warning: "Sequence[str]" = ()
) -> int:
    file = desk.write(out or f"{of.tag_id}-{issued.number}.pdf", page)
    said = {
        "number": issued.number,
        "certificate": issued.certificate,
        "thermometer": of.row.thermometer,
        "tag_id": of.tag_id,
        "issued_at": iso(issued.issued_at),
        "sha256": issued.sha256,
        "file": str(file),
    }
    lines = [desk.say(f"cli.{code}", number=issued.number, tag=of.tag_id, file=file), *warning]
    return desk.answer(lines, {"done": code, **said})
