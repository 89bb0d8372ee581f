"""What a bath's thermometers say of it, as sentences; the window and the command line say it alike."""

from datetime import datetime
from zoneinfo import ZoneInfo

from registry.compute.check import written
from registry.quantity import TemperatureDifference
from registry.services.bath_watch import BathWatch
from registry.services.habits import SiteHabit
from registry.wording import format, say

LIKELY = 0.25  # a pressure of the other kind is named among the causes from this chance on


def title(found: BathWatch, language: str) -> str:
    return say(f"watch.title.{found.diagnosis.verdict}", language)


def sentences(found: BathWatch, language: str, region: str, unit: str = "C") -> list[str]:
    """Why we think so, what to do, who is out even so, which rows to look at again."""
    told = [why(found, language, region, unit)]
    if found.diagnosis.verdict == "bad":
        told.append(what_to_do(found, language))
    elif found.diagnosis.wanted:
        told.append(say(f"watch.wanted.{found.diagnosis.wanted[0]}", language))
    if found.out_even_so:
        tags = ", ".join(one.tag_id for one in found.out_even_so)
        told.append(say("watch.out_even_so", language, tags=tags))
    told += [say("watch.swapped", language, one=one, other=other) for one, other in found.swaps]
    return told


def what_to_do(found: BathWatch, language: str) -> str:
    side = "high" if found.diagnosis.error.mean > 0 else "low"
    return say(f"doubt.what_to_do.{found.point}_{side}", language)


def why(found: BathWatch, language: str, region: str, unit: str) -> str:
    diagnosis = found.diagnosis
    if not diagnosis.readings:
        return say("watch.why.nothing", language)
    shift = TemperatureDifference(written(diagnosis.error.mean, "C").value, "C").to("F" if unit == "F" else "C")
    side = "high" if diagnosis.error.mean > 0 else "low"
    code = f"{diagnosis.verdict}_{side}" if diagnosis.verdict == "bad" else diagnosis.verdict
    return say(
        f"watch.why.{code}",
        language,
        count=diagnosis.readings,
        trusted=diagnosis.trusted,
        shift=format.offset(shift, region, 1),
    )


def habit_sentences(found: SiteHabit, language: str, region: str, zone: str) -> list[str]:
    """What is habitual of a site's baths of one kind, worth telling an officer; nothing where nothing is."""
    told = []
    if found.notable:
        mean = format.offset(written(found.habit.mean, "C"), region, 1)
        told.append(say(f"watch.habit.{found.point}", language, mean=mean, baths=found.baths))
    if found.fits is not None and found.fits.contradicts:
        low, high, fits = (f"{round(m, -1):.0f}" for m in (found.fits.low_m, found.fits.high_m, found.fits.elevation_m))
        told.append(say("watch.elevation", language, fits=fits, low=low, high=high))
    if found.mixed_up is not None and found.mixed_up.probability >= LIKELY:
        told.append(say("watch.mixed_up", language))
    for one in found.changes:
        shift = format.offset(written(one.shift, "C"), region, 1)
        day = day_of(one.at, zone, region)
        told.append(say(f"watch.changed.{found.point}", language, shift=shift, day=day, count=one.thermometers))
    return told


def day_of(at: int, zone: str, region: str) -> str:
    return format.day(datetime.fromtimestamp(at / 1e6, ZoneInfo(zone)).date(), region)
