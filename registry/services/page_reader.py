"""Takes the attached record out of one PDF file, in a process of its own: bytes in, the record's bytes out.

Run as a script by `page_verify`: the file on stdin; out come one word and a line end, then after `record` the record.
It imports nothing of ours.
"""

import io
import sys
import zlib

MEMORY = 512 * 1024 * 1024  # bytes of address space
MOST_RECORD = 1024 * 1024  # bytes, decoded; ours have a few thousand
NAME = "record.json"
JOINED = "/JoinedDocuments"  # as `documents.finish` writes it


class Unreadable(Exception):
    """A code that says why."""


def main() -> None:
    limit()
    try:
        word, found = "record", record(sys.stdin.buffer.read())
    except Unreadable as why:
        word, found = str(why), b""
    sys.stdout.buffer.write(word.encode() + b"\n" + found)
    sys.stdout.buffer.flush()


def limit() -> None:
    """Take no more memory than is allowed, where the system knows such a limit."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def record(content: bytes) -> bytes:
    """The record attached to a PDF; nothing is decoded beyond MOST_RECORD bytes."""
    import pikepdf

    try:
        with pikepdf.open(io.BytesIO(content), attempt_recovery=False) as document:
            if NAME not in document.attachments:
                raise Unreadable("joined" if JOINED in document.docinfo else "no_record")
            stream = document.attachments[NAME].get_file().obj
            return decoded(stream.read_raw_bytes(), str(stream.get("/Filter", "")), "/DecodeParms" in stream)
    except pikepdf.PdfError:
        raise Unreadable("not_a_pdf") from None
    except (AttributeError, KeyError, TypeError, ValueError):
        raise Unreadable("no_record") from None


def decoded(raw: bytes, how: str, predicted: bool) -> bytes:
    """The bytes of a stream that is not coded, or deflated as ours are."""
    if len(raw) > MOST_RECORD:
        raise Unreadable("record_too_large")
    if not how:
        return raw
    if how != "/FlateDecode" or predicted:
        raise Unreadable("no_record")
    opened = zlib.decompressobj()
    try:
        found = opened.decompress(raw, MOST_RECORD + 1)
    except zlib.error:
        raise Unreadable("no_record") from None
    if len(found) > MOST_RECORD:
        raise Unreadable("record_too_large")
    return found


if __name__ == "__main__":
    main()
