"""What is to be replaced, in words for window, command line and paper alike."""

from registry.services.replacing import Replacing, ToReplace
from registry.wording import format, say


def what(one: ToReplace, language: str) -> str:
    """Its maker and model, its type where none is stated."""
    return " ".join(filter(None, (one.maker, one.model))) or say(f"type.{one.type}", language)


def why(one: ToReplace, language: str) -> str:
    return say(f"replacing.why.{one.why}", language, count=one.times)


def price(one: ToReplace, language: str, region: str) -> str:
    """What it cost, or another of its model; nothing where none is known."""
    if one.price is None:
        return ""
    cost = format.money(one.price, region)
    return say("replacing.like", language, price=cost, tag=one.like) if one.like else cost


def sums(found: Replacing, language: str, region: str) -> str:
    """Of how many the price is known, and what these come to, by currency."""
    of = len(found.rows)
    if not found.known:
        return say("replacing.none_known", language, count=of)
    together = ", ".join(format.money(one, region) for one in found.sums)
    return say("replacing.known", language, known=found.known, count=of, sum=together)
