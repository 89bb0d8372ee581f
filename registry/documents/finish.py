"""From drawings to the bytes of a PDF: dates, the attached record; the same input, the same bytes."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from io import BytesIO
from typing import Any

import pikepdf
from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from registry.documents import fonts
from registry.documents.page import Page

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
PROGRAM = "Thermometer Registry"
JOINED = "/JoinedDocuments"
rl_config.useA85 = 0  # bytes in letters and digits alone are a quarter more, and slow to make


class Drawing:
    """A PDF in the making, all of whose pages have one size (points)."""

    def __init__(self, width: float, height: float, language: str, title: str) -> None:
        fonts.register()
        self._size = (width, height)
        self._bytes = BytesIO()
        # Without an own first font reportlab makes even an empty page refer to one that is not embedded.
        self.canvas: Any = Canvas(
            self._bytes,
            self._size,
            invariant=1,
            lang=language,
            initialFontName=fonts.REGULAR,
            pageCompression=1,
        )
        self.canvas.setTitle(title)
        self.canvas.setAuthor("")
        self.canvas.setCreator(PROGRAM)
        self._pages = 0

    def page(self) -> Page:
        """The next page, empty."""
        if self._pages:
            self.canvas.showPage()
        self._pages += 1
        return Page(*self._size, self.canvas)

    def bytes(self) -> bytes:
        self.canvas.showPage()
        self.canvas.save()
        return self._bytes.getvalue()


def finished(pdf: bytes, *, issued_at: int, number: str, entries: tuple[bytes, ...]) -> bytes:
    """The PDF with its real date, its number and the entries that were hashed, as an attached file."""
    with pikepdf.open(BytesIO(pdf)) as document:
        written = (_EPOCH + timedelta(microseconds=issued_at)).strftime("D:%Y%m%d%H%M%SZ")
        document.docinfo["/CreationDate"] = document.docinfo["/ModDate"] = pikepdf.String(written)
        document.docinfo["/Subject"] = pikepdf.String(number)
        document.attachments["record.json"] = pikepdf.AttachedFileSpec(
            document,
            record_json(entries),
            filename="record.json",
            mime_type="application/json",
            relationship=pikepdf.Name.Data,
            creation_date=written,
            mod_date=written,
        )
        saved = BytesIO()
        document.save(saved, deterministic_id=True)
    return saved.getvalue()


def record_json(entries: tuple[bytes, ...]) -> bytes:
    """A JSON list of the entries, each in the very bytes that were hashed."""
    return b"[" + b",\n".join(entries) + b"]\n"


def joined(documents: Sequence[bytes]) -> bytes:
    """The pages of several PDFs in one, in their order; the same input, the same bytes.

    It has the language and the title of the first: they are pages of one kind. That they were joined stands in it,
    since what was attached to each is left behind.
    """
    whole = pikepdf.new()
    for place, document in enumerate(documents):
        with pikepdf.open(BytesIO(document)) as one:
            whole.pages.extend(one.pages)
            if not place and "/Lang" in one.Root:
                whole.Root.Lang = pikepdf.String(str(one.Root.Lang))
            if not place and "/Title" in one.docinfo:
                whole.docinfo["/Title"] = pikepdf.String(str(one.docinfo["/Title"]))
    whole.docinfo[JOINED] = pikepdf.String(str(len(documents)))
    out = BytesIO()
    whole.save(out, deterministic_id=True)
    return out.getvalue()
