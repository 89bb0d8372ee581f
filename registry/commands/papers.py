"""Certificates and tags, written to files."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from registry.commands.desk import Desk, iso
from registry.commands.options import Out, Tag

if TYPE_CHECKING:
    from pathlib import Path

app = typer.Typer()
tag_app = typer.Typer()

SIZES = ("38.1x21.2", "50x25", "63.5x37")  # width and height of a label, mm


@app.command("certificate", epilog="certificate KI001X --out KI001X.pdf")
def certificate(
    context: typer.Context,
    tag: Tag,
    out: Out = "",
    language: Annotated[str, typer.Option("--language", metavar="en|es")] = "",
    paper: Annotated[str, typer.Option("--paper", metavar="a4|letter")] = "",
    replaces: Annotated[str, typer.Option("--replaces", metavar="NUMBER")] = "",
    copy: Annotated[str, typer.Option("--copy", metavar="NUMBER")] = "",
) -> int:
    from registry import resources
    from registry.commands.looking_back import certificate_warning
    from registry.services import certificates, papers, typed
    from registry.services.problems import refuse

    desk = Desk.of(context)
    of = desk.find(tag)
    size: Literal["a4", "letter"] | None = None
    warning: list[str] = []
    if paper:
        size = "letter" if typed.choice("paper", paper, ("a4", "letter")) == "letter" else "a4"
    if copy:
        found = certificates.numbered(desk.session, copy)
        if found.kept.thermometer != of.row.thermometer:
            raise refuse("certificate", "unknown_certificate", value=copy)
        issued, warning = found.kept, certificate_warning(desk, found)
    else:
        issued = papers.issue_certificate(
            desk.session,
            desk.actor,
            of.row.thermometer,
            language=typed.choice("language", language, resources.languages()) if language else None,
            paper=size,
            replaces=replaces.strip().upper() or None,
        )
    with desk.session.reading() as connection:
        page = papers.page_of(connection, issued)
    file = _write(out or f"{of.tag_id}-{issued.number}.pdf", page)
    said = {
        "number": issued.number,
        "certificate": issued.certificate,
        "thermometer": of.row.thermometer,
        "tag_id": of.tag_id,
        "issued_at": iso(issued.issued_at),
        "sha256": issued.sha256,
        "file": str(file),
    }
    code = "certificate_copied" if copy else "certificate_issued"
    lines = [desk.say(f"cli.{code}", number=issued.number, tag=of.tag_id, file=file), *warning]
    return desk.answer(lines, {"done": code, **said})


def _print_tag(context: typer.Context, tag: str, kind: str, size: str, out: str) -> int:
    from registry.services import tag_printing, typed

    desk = Desk.of(context)
    of = desk.find(tag)
    wanted = typed.choice("size", size, SIZES)
    draw = tag_printing.print_identity_tag if kind == "identity" else tag_printing.print_status_tag
    page = draw(desk.session, desk.actor, of.row.thermometer, wanted)
    file = _write(out or f"{of.tag_id}-{kind}.pdf", page)
    said = {"thermometer": of.row.thermometer, "tag_id": of.tag_id, "tag": kind, "size": wanted, "file": str(file)}
    return desk.done("tag_printed", said, tag=of.tag_id, file=file)


Size = Annotated[str, typer.Option("--size", metavar="50x25|38.1x21.2|63.5x37")]


@tag_app.command("identity", epilog="tag identity KI001X --out tag.pdf")
def identity(context: typer.Context, tag: Tag, size: Size = "50x25", out: Out = "") -> int:
    return _print_tag(context, tag, "identity", size, out)


@tag_app.command("status", epilog="tag status KI001X --size 38.1x21.2")
def status(context: typer.Context, tag: Tag, size: Size = "50x25", out: Out = "") -> int:
    return _print_tag(context, tag, "status", size, out)


def _write(name: str, page: bytes) -> "Path":
    from pathlib import Path

    path = Path(name)
    path.write_bytes(page)
    return path
