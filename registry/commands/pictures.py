"""A thermometer's photo: kept from a file, told of, written to one."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk, iso
from registry.commands.options import Out, Tag

if TYPE_CHECKING:
    from registry.services.pictures import Picture

app = typer.Typer()


@app.command("picture", epilog="picture KI001X photo.jpg")
def picture(
    context: typer.Context,
    tag: Tag,
    picture: Annotated[str, typer.Argument(metavar="FILE")] = "",
    out: Out = "",
) -> int:
    from registry.services import pictures
    from registry.services.problems import refuse

    desk = Desk.of(context)
    of = desk.find(tag)
    one = of.row.thermometer
    if picture:
        found = pictures.add_picture(desk.session, desk.actor, one, pictures.read_file(Path(picture)))
        said = _data(found, of.tag_id)
        return desk.done("picture_added", said, tag=of.tag_id, number=found.number, size=_kilobytes(found))
    with desk.session.reading() as connection:
        standing = pictures.picture_of(connection, one)
        if standing is None:
            raise refuse("picture", "none")
        content = pictures.content_of(connection, standing) if out else b""
    told = {
        "tag": of.tag_id,
        "number": standing.number,
        "when": desk.instant(standing.at, desk.site_of(of).payload.zone),
        "initials": desk.initials_by_person.get(standing.by, ""),
        "size": _kilobytes(standing),
    }
    if not out:
        return desk.answer([desk.say("cli.picture_is", **told)], _data(standing, of.tag_id))
    desk.write(out, content)
    return desk.done("picture_written", _data(standing, of.tag_id) | {"file": out}, file=out, **told)


def _kilobytes(found: "Picture") -> int:
    return max(1, round(found.length / 1000))


def _data(found: "Picture", tag_id: str) -> dict[str, Any]:
    return {
        "thermometer": found.thermometer,
        "tag_id": tag_id,
        "number": found.number,
        "at": iso(found.at),
        "by": found.by,
        "sha256": found.sha256,
        "length": found.length,
        "media": found.media,
    }
