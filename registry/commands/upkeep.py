"""Looking after the record: verify, rebuild, work it out again, back up, restore, carry on, export."""

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands import exits
from registry.commands.desk import Desk, complain, table
from registry.wording import format

if TYPE_CHECKING:
    from collections.abc import Callable

    from registry.services.upkeep import CarryingOn

app = typer.Typer()

File = Annotated[str, typer.Argument(metavar="FILE")]
Because = Annotated[str, typer.Option("--because", metavar="restored|moved|copied|lost_key|new_key")]
Name = Annotated[str, typer.Option("--name", metavar="TEXT")]
OldKey = Annotated[str, typer.Option("--old-key", metavar="FILE")]
Chain = Annotated[str, typer.Option("--chain", metavar="CODE")]
BECAUSE = ("restored", "moved", "new_key", "lost_key", "copied")
TOLD = 50  # findings told one by one to people; machines get all that were kept
TELL_EVERY = 100_000
QUIET_S = 2  # what is done sooner says nothing on its way


@app.command("verify", epilog="verify --deep")
def verify(
    context: typer.Context,
    file: Annotated[str | None, typer.Argument(metavar="FILE")] = None,
    code: Annotated[str | None, typer.Option("--code", metavar="TEXT")] = None,
    deep: Annotated[bool, typer.Option("--deep")] = False,
) -> int:
    from registry.services import upkeep
    from registry.services.problems import refuse

    desk = Desk.of(context)
    # An empty word is a script's that lost what it was to ask about: the whole record would be no answer to it.
    if file == "":
        raise refuse("page", "no_file")
    if file:
        return _verify_page(desk, file)
    if code is not None:
        return _verify_code(desk, code)
    report = upkeep.verify(desk.session, deep=deep, progress=_progress(desk))
    passed = format.number(report.entries, desk.region)
    if report.good:
        first = desk.say("cli.verified_deep" if deep else "cli.verified", count=report.entries, passed=passed)
    else:
        first = desk.say("cli.verify_found", count=report.found)
    rows = [[one.number or "", desk.say(f"finding.{one.code}", **one.values)] for one in report.findings[:TOLD]]
    lines = [first, *table([desk.say("cli.head.number"), desk.say("cli.head.what")], rows)]
    if report.newer:
        lines.append(desk.say("cli.verify_newer", count=report.newer))
    if why := upkeep.why_not_compared(desk.session):
        lines.append(desk.say(f"trouble.{why}"))
    said = {
        "good": report.good,
        "deep": deep,
        "entries": report.entries,
        "documents": report.documents,
        "newer": report.newer,
        "found": report.found,
        "findings": [
            {"code": one.code, "chain": one.chain, "seq": one.seq, "number": one.number, "values": one.values}
            for one in report.findings
        ],
        "heads": [{"chain": one.chain, "seq": one.seq, "hash": one.hash} for one in report.heads],
    }
    return desk.answer(lines, said, exits.DONE if report.good else exits.FOUND)


def _verify_page(desk: Desk, file: str) -> int:
    """Whether a file is a certificate's page as it was issued here and still stands, else what became of its record."""
    from registry.commands.looking_back import certificate_warning
    from registry.services import page_verify

    read = page_verify.verify_page(desk.session, page_verify.read_file(Path(file)), desk.language, desk.region)
    found = read.certificate
    good = read.answer == "same" and found is not None and found.standing == "stands"
    values = {"number": found.number, "tag": found.tag_id} if found else {}
    lines = [desk.say(f"verify.{read.answer}", file=file, **values), *read.says]
    number = found.number if found else None
    said: dict[str, Any] = {"good": good, "answer": read.answer, "file": file, "number": number}
    if found is not None:
        lines += certificate_warning(desk, found)
        said |= {"state": found.state, "doubt": found.doubt or None, "says": list(read.says)}
    return desk.answer(lines, said, exits.DONE if good else exits.FOUND)


def _verify_code(desk: Desk, code: str) -> int:
    """Whether the square code of a page was signed here, its entry is as it was, and a certificate still stands."""
    from registry.commands.looking_back import certificate_warning
    from registry.services import certificates

    read = certificates.of_code(desk.session, code)
    answer = "here" if read.here else "gone" if read.number else "unknown"
    lines = [desk.say(f"cli.verify_code_{answer}", number=read.number)]
    if read.certificate is not None:
        lines += certificate_warning(desk, read.certificate)
    good = read.here and (read.certificate is None or read.certificate.standing == "stands")
    said = {"good": good, "number": read.number or None}
    return desk.answer(lines, said, exits.DONE if good else exits.FOUND)


def _progress(desk: Desk) -> "Callable[[int], bool]":
    """Told on stderr now and then, so that nobody thinks a long look has stopped."""
    told = 0

    def tell(done: int) -> bool:
        nonlocal told
        if done - told >= TELL_EVERY:
            told = done
            complain(desk.say("cli.progress", passed=format.number(done, desk.region)))
        return True

    return tell


def _percent(desk: Desk) -> "Callable[[int], bool]":
    """Told on stderr at each fifth of the way, where it takes long enough to wonder."""
    began = time.monotonic()
    told = 0

    def tell(percent: int) -> bool:
        nonlocal told
        if percent // 20 > told and time.monotonic() - began > QUIET_S:
            told = percent // 20
            complain(desk.say("cli.backing_up", percent=percent))
        return True

    return tell


@app.command("rebuild", epilog="rebuild")
def rebuild(context: typer.Context) -> int:
    from registry.services import upkeep

    desk = Desk.of(context)
    found = upkeep.rebuild_projections(desk.session, desk.actor, _progress(desk))
    rows = [[one.table, one.key, one.column] for one in found[:TOLD]]
    head = [desk.say(f"cli.head.{one}") for one in ("table", "row", "column")]
    lines = [desk.say("cli.rebuilt", count=len(found)), *table(head, rows)]
    said = {
        "done": "rebuilt",
        "differences": [
            {"table": one.table, "key": one.key, "column": one.column, "found": one.found, "folded": one.folded}
            for one in found
        ],
    }
    return desk.answer(lines, said, exits.FOUND if found else exits.DONE)


@app.command("recompute", epilog="recompute")
def recompute(context: typer.Context) -> int:
    from registry.services import upkeep

    desk = Desk.of(context)
    found = list(upkeep.work_out_again(desk.session, _progress(desk)))
    rows = [[one.number, _fields(one.fields)] for one in found[:TOLD]]
    lines = [desk.say("cli.recomputed", count=len(found))]
    lines += table([desk.say("cli.head.number"), desk.say("cli.head.otherwise")], rows)
    baths = upkeep.judged_by_program(desk.session)
    if baths:
        lines.append(desk.say("cli.recomputed_no_baths", count=baths))
    said = {
        "baths_not_worked_out_again": baths,
        "otherwise": [
            {
                "number": one.number,
                "kind": one.kind,
                "fact": one.fact,
                "fields": {name: {"recorded": old, "now": new} for name, (old, new) in one.fields.items()},
            }
            for one in found
        ],
    }
    return desk.answer(lines, said, exits.FOUND if found else exits.DONE)


def _fields(fields: dict[str, tuple[Any, Any]]) -> str:
    return "; ".join(f"{name} {old} > {new}" for name, (old, new) in fields.items())


# --- copies --------------------------------------------------------------------------------------------------


@app.command("backup", epilog="backup FOLDER")
def backup(context: typer.Context, folder: Annotated[str, typer.Argument(metavar="FOLDER")]) -> int:
    from registry.services import upkeep

    desk = Desk.of(context)
    made = upkeep.back_up(desk.session, desk.actor, Path(folder), _percent(desk))
    assert made is not None  # nobody stops it here
    good = made.report.good
    said = {"done": "backed_up", "file": str(made.path), "good": good, "entries": made.report.entries}
    passed = format.number(made.report.entries, desk.region)
    line = desk.say("cli.backed_up" if good else "cli.backup_not_good", file=made.path, passed=passed)
    return desk.answer([line], said, exits.DONE if good else exits.FOUND)


@app.command("restore", epilog="--home NEW restore KQBH-00112-20260303T143000Z.backup")
def restore(
    context: typer.Context,
    file: File,
    because: Because = "restored",
    name: Name = "",
    old_key: OldKey = "",
    chain: Chain = "",
) -> int:
    import secrets

    from registry.services import clock, upkeep
    from registry.services.session import SYSTEM

    desk = Desk.of(context)
    told = _told(because, name, old_key, chain, SYSTEM.person)
    desk.opened = upkeep.restore(Path(file), desk.home, told, clock=clock.now_us, random=secrets.token_bytes)
    return desk.done("restored", {"home": str(desk.home)}, home=desk.home)


@app.command("carry-on", epilog="carry-on --because moved")
def carry_on(context: typer.Context, because: Because, name: Name = "", old_key: OldKey = "", chain: Chain = "") -> int:
    import secrets

    from registry.services import clock, upkeep
    from registry.services.problems import refuse

    desk = Desk.of(context)
    if desk.session.signer is not None and because not in ("new_key", "lost_key"):
        raise refuse("because", "nothing_happened")
    if not desk.who.may("administrator"):
        raise refuse("actor", "not_allowed", roles="administrator")
    told = _told(because, name, old_key, chain, desk.who.person)
    desk.close()
    desk.opened = upkeep.carry_on(desk.home, told, clock=clock.now_us, random=secrets.token_bytes)
    return desk.done("carried_on", {"home": str(desk.home), "because": told.because}, home=desk.home)


def _told(because: str, name: str, old_key: str, chain: str, by: str) -> "CarryingOn":
    import platform

    from registry.services import typed
    from registry.services.upkeep import CarryingOn

    why = typed.choice("because", because, BECAUSE)
    return CarryingOn(why, name.strip() or platform.node() or why, by, Path(old_key) if old_key else None, chain)


@app.command("export", epilog="export checks.csv --checks")
def export(context: typer.Context, file: File, checks: Annotated[bool, typer.Option("--checks")] = False) -> int:
    from registry.services import upkeep
    from registry.services.problems import KnownError

    desk = Desk.of(context)
    write = upkeep.export_checks if checks else upkeep.export_journal
    session = desk.session
    try:
        out = Path(file).open("x", encoding="utf-8", newline="")  # noqa: SIM115  closed below
    except FileExistsError:
        raise KnownError("exists_already", path=file) from None
    with out:
        count = write(session, out)
    code = "exported_checks" if checks else "exported"
    return desk.done(code, {"file": file, "count": count}, file=file, count=count)
