"""Certificates a second on one core, as a ratio to reportlab alone drawing the very same marks.

    python -m tests.benchmarks.papers --certificates 100

Plain is a bare canvas to which every call is made again that a certificate made to its canvas (texts shaped already,
colours as numbers), saved without attachment, date or measuring. Beyond it stands what a page costs to lay out, its
code to work out and its record to attach. Results go to tests/benchmarks/results.
"""

import argparse
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from registry.documents import finish, fonts
from registry.documents.certificate import certificate
from registry.documents.facts import CertificateFacts
from tests.benchmarks import record
from tests.benchmarks.records import median_s
from tests.documents import samples

COVERS = [
    "registry/documents/answer.py",
    "registry/documents/certificate.py",
    "registry/documents/codes.py",
    "registry/documents/finish.py",
    "registry/documents/fonts.py",
    "registry/documents/history_plot.py",
    "registry/documents/page.py",
    "registry/documents/results.py",
    "registry/documents/scale_plot.py",
    "registry/documents/sections.py",
    "registry/documents/sentences.py",
    "registry/documents/words.py",
]
CASES = {
    "one page": samples.USUAL,
    "one page, Spanish": samples.SPANISH,
    "two pages with plots": replace(samples.USUAL, history=samples.HISTORY, reach=samples.REACH),
}
A4 = (595.2756, 841.8898)  # points
Call = tuple[str, tuple[Any, ...], dict[str, Any]]


class Recorder:
    """Stands for a canvas, or for a text or path that it began, and keeps what it was told to do."""

    def __init__(self, of: Any, calls: list[Call]) -> None:
        self._of, self._calls = of, calls

    def __getattr__(self, name: str) -> Any:
        real = getattr(self._of, name)
        if not callable(real) or name.startswith("_"):
            return real

        def told(*given: Any, **named: Any) -> Any:
            plain = [one._of if isinstance(one, Recorder) else one for one in given]
            if name in ("beginText", "beginPath"):
                calls: list[Call] = []
                self._calls.append((name, tuple(plain), {"calls": calls}))
                return Recorder(real(*plain, **named), calls)
            parts = tuple("part" if isinstance(one, Recorder) else one for one in given)
            self._calls.append((name, parts, named))
            return real(*plain, **named)

        return told


def marks_of(facts: CertificateFacts) -> list[Call]:
    """Every call that drawing a certificate makes to its canvas."""
    calls: list[Call] = []
    began = finish.Drawing.__init__

    def recording(drawing: finish.Drawing, *given: Any) -> None:
        began(drawing, *given)
        drawing.canvas = Recorder(drawing.canvas, calls)

    finish.Drawing.__init__ = recording  # type: ignore[method-assign, assignment]
    try:
        certificate(facts)
    finally:
        finish.Drawing.__init__ = began  # type: ignore[method-assign]
    return calls


def replayed(calls: list[Call]) -> bytes:
    """The same marks on a bare canvas."""
    out = BytesIO()
    canvas: Any = Canvas(out, A4, invariant=1, initialFontName=fonts.REGULAR, pageCompression=1)
    part: Any = None
    for name, given, named in calls:
        if name in ("beginText", "beginPath"):
            part = getattr(canvas, name)(*given)
            for of_part, values, more in named["calls"]:
                getattr(part, of_part)(*values, **more)
        else:
            getattr(canvas, name)(*(part if isinstance(one, str) and one == "part" else one for one in given), **named)
    return out.getvalue()


def each_s(action: Callable[[], object], count: int) -> float:
    """Seconds for one, the median of so many."""
    action()
    return median_s(action, count)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--certificates", type=int, default=100)
    count = asked.parse_args().certificates
    fonts.register()
    ratios = {}
    for name, facts in CASES.items():
        calls = marks_of(facts)
        assert replayed(calls).startswith(b"%PDF")
        whole_s = each_s(lambda facts=facts: certificate(facts), count)  # type: ignore[misc]
        plain_s = each_s(lambda calls=calls: replayed(calls), count)  # type: ignore[misc]
        ratios[f"certificate to reportlab drawing the same marks: {name}"] = whole_s / plain_s
        print(f"{1 / whole_s:8.1f} a second, {1 / plain_s:8.1f} plain  {name}")
    for name, ratio in ratios.items():
        print(f"{ratio:10.3f}  {name}")
    record.write_result(
        "papers",
        command=f"python -m tests.benchmarks.papers --certificates {count}",
        ratios=ratios,
        covers=COVERS,
    )


if __name__ == "__main__":
    main()
