"""A thousand tags, as a ratio to reportlab alone drawing the very same marks.

    python -m tests.benchmarks.tags

Every call that the tags make of the canvas is written down once, and then made again on a bare canvas without us: no
layout, no codes, no words. Results go to tests/benchmarks/results.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from io import BytesIO
from statistics import median
from time import process_time
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from registry.documents import codes, finish
from registry.documents.codes import Coding, symbol
from registry.documents.facts import TagFacts
from registry.documents.tags import Printing, print_tags
from registry.journal.numbers import entry_number, tag_id_given
from tests.benchmarks import record
from tests.documents.samples import IDENTITY, LIMITED, OUT, USE

TAGS, TIMES = 1000, 5
COMMAND = "python -m tests.benchmarks.tags"
COVERS = [
    "registry/documents/codes.py",
    "registry/documents/designs.py",
    "registry/documents/fonts.py",
    "registry/documents/page.py",
    "registry/documents/signs.py",
    "registry/documents/status.py",
    "registry/documents/tags.py",
]
STOCKS = {"sheets": "a4_63.5x38.1", "a roll": "50x25"}


def tags() -> list[TagFacts]:
    """As a group prints them: three in ten identity tags, the rest of each status; each with its own id and number."""
    found: list[TagFacts] = []
    for number in range(TAGS):
        tag_id, check = tag_id_given("LM", number), entry_number("LMHK", number)
        if number % 10 < 3:
            found.append(replace(IDENTITY, tag_id=tag_id))
        else:
            of = (USE, USE, USE, LIMITED, OUT)[number % 5]
            checked = date(2026, 3, 1) + timedelta(days=number % 28)
            found.append(replace(of, tag_id=tag_id, number=check, checked=checked))
    return found


@dataclass
class Marks:
    """Every call of the canvas, and of the texts and paths that it hands out, in order."""

    made: list[Any] = field(default_factory=list)
    calls: list[tuple[int, str, tuple[Any, ...], dict[str, Any], int]] = field(default_factory=list)

    def canvas(self, file: BytesIO, *args: Any, **named: Any) -> Any:
        self.begin = (args, named)
        return _Written(self, self._keep(Canvas(file, *args, **named)))

    def _keep(self, one: Any) -> int:
        self.made.append(one)
        return len(self.made) - 1

    def call(self, of: int, name: str, args: tuple[Any, ...], named: dict[str, Any]) -> Any:
        given = tuple(self.made[one.at] if isinstance(one, _Written) else one for one in args)
        kept = tuple(_At(one.at) if isinstance(one, _Written) else one for one in args)
        result = getattr(self.made[of], name)(*given, **named)
        if name in ("beginText", "beginPath"):
            at = self._keep(result)
            self.calls.append((of, name, kept, named, at))
            return _Written(self, at)
        self.calls.append((of, name, kept, named, -1))
        return result

    def again(self) -> bytes:
        """The same calls on a canvas of its own."""
        file = BytesIO()
        args, named = self.begin
        made: list[Any] = [None] * len(self.made)
        made[0] = Canvas(file, *args, **named)
        for of, name, given, more, at in self.calls:
            result = getattr(made[of], name)(*[made[one.at] if type(one) is _At else one for one in given], **more)
            if at >= 0:
                made[at] = result
        return file.getvalue()


@dataclass(frozen=True, slots=True)
class _At:
    at: int


class _Written:
    """A canvas, text or path whose calls are written down."""

    def __init__(self, marks: Marks, at: int) -> None:
        self.marks, self.at = marks, at

    def __getattr__(self, name: str) -> Callable[..., Any]:
        return lambda *args, **named: self.marks.call(self.at, name, args, named)


def forget() -> None:
    """Each run draws its codes anew."""
    symbol.cache_clear()
    codes._runs.cache_clear()


def seconds(work: Callable[[], object], before: Callable[[], object] = lambda: None) -> float:
    taken = []
    for _ in range(TIMES):
        before()
        start = process_time()
        work()
        taken.append(process_time() - start)
    return median(taken)


def main() -> None:
    ratios: dict[str, float] = {}
    many = tags()
    for name, stock in STOCKS.items():
        how = Printing(stock, Coding(dpi=300), batch="Quarry Lane Kitchen")
        marks, bare = Marks(), finish.Canvas
        try:
            finish.Canvas = marks.canvas  # type: ignore[misc, assignment]
            drawn = print_tags(many, how)
        finally:
            finish.Canvas = bare  # type: ignore[misc]
        assert len(marks.again()) == len(drawn), "the same marks make the same document"
        ours = seconds(lambda how=how: print_tags(many, how), forget)  # type: ignore[misc]
        alone = seconds(marks.again)
        ratios[f"{TAGS} tags on {name}, to reportlab alone"] = ours / alone
        print(f"{name}: {ours:.2f} s, {alone:.2f} s alone, {ours / alone:.2f} times")
    record.write_result("tags-1000", command=COMMAND, ratios=ratios, covers=COVERS)


if __name__ == "__main__":
    main()
