"""What the uncertainty of a check is made of, as lines; the window and the command line say it alike."""

from decimal import Decimal
from math import isfinite

from registry.quantity import TemperatureDifference
from registry.services.budget import Budget
from registry.services.words.outlook import chance
from registry.wording import format, say


def head(language: str) -> list[str]:
    return [say(f"budget.head.{one}", language) for one in ("part", "u", "share", "kind")]


def rows(found: Budget, language: str, region: str) -> list[list[str]]:
    """One row a component, the largest first: what it is, its standard uncertainty, its share, shared or new."""
    return [
        [
            say(f"certificate.uncertainty.part.{line.code}", language),
            format.offset(line.u, region, 3).lstrip("+"),
            say("outlook.percent", language, percent=format.number(Decimal(round(100 * line.share)), region)),
            say("budget.shared" if line.shared else "budget.new", language),
        ]
        for line in found.lines
    ]


def sentences(found: Budget, language: str, region: str) -> list[str]:
    """What comes of it: U and k, the rule with its limit, the chances, and what would decide a doubtful one."""
    if found.u is None or found.k is None or found.expanded is None or found.offset is None:
        return [say("budget.not_evaluated", language)]
    dof = format.number(Decimal(int(found.dof)), region) if isfinite(found.dof) else say("budget.many", language)
    told = [
        say(
            "budget.whole",
            language,
            u=format.offset(found.u, region, 3).lstrip("+"),
            k=format.number(round(found.k, 2), region),
            dof=dof,
            expanded=format.expanded(found.expanded, region),
        )
    ]
    if found.doubt is not None:
        error, u = found.doubt.error, found.doubt.u
        told.append(
            say(
                "budget.in_doubt.out" if found.doubt.out else "budget.in_doubt.waits",
                language,
                error=format.offset(error, region, 1),
                expanded=format.expanded(TemperatureDifference(2 * u.value, u.unit), region),
            )
        )
    elif found.tolerance is not None and found.decision:
        told.append(
            say(
                f"budget.rule.{found.decision}",
                language,
                offset=format.offset(found.offset, region),
                limit=format.limit(found.tolerance, region),
            )
        )
    if found.inside is not None:
        told.append(say("budget.inside", language, chance=chance(found.inside, language, region)))
    if found.out_now is not None:
        told.append(say("budget.out_now", language, chance=chance(found.out_now, language, region)))
    if found.would_decide:
        told.append(say(f"budget.would.{found.would_decide}", language))
    return told
