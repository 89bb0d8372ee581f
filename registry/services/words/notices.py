"""What the program says by itself, as sentences; the window and the background command say it alike."""

from registry.services.notices import Notice
from registry.services.working_set import TooFew
from registry.wording import format, say

NAMED = 3  # so many thermometers are named


def sentence(one: Notice, language: str, region: str) -> str:
    """One line that says what is due, and where."""
    values = dict(one.values)
    if "type" in values:
        values["type"] = say(f"type.{values['type']}", language)
    day = format.day(one.day, region) if one.day is not None else ""
    return say(
        f"notice.{one.code}",
        language,
        site=one.name,
        count=one.count,
        tags=_named(one.tags, language),
        day=day,
        **values,
    )


def too_few(one: TooFew, site: str, language: str) -> str:
    """That a station has fewer usable ones left than it needs. site: its name."""
    values = {"station": one.name, "smallest": one.smallest, "type": say(f"type.{one.type}", language)}
    return say("notice.too_few", language, site=site, count=one.usable, **values)


def _named(tags: tuple[str, ...], language: str) -> str:
    shown = ", ".join(tags[:NAMED])
    more = len(tags) - NAMED
    return say("notice.and_more", language, tags=shown, number=more) if more > 0 else shown
