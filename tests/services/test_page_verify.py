"""A file from outside held against the record: the very page, a changed page with a genuine record, and all else."""

import zlib
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from registry.documents import finish
from registry.documents.certificate import certificate
from registry.documents.dcc import dcc
from registry.journal import entry as journal
from registry.journal.text import EntryError
from registry.services import page_reader, page_verify, papers, plain_certificate
from registry.services.page_verify import DEMO_CHAIN, Verified, read_record, verify_page
from sample_db import scenario
from sample_db.opening import demo_key
from tests.documents import samples
from tests.documents.test_dcc import MORE
from tests.services.kitchen import Kitchen
from tests.services.test_papers import issue, page, passed


def verified(kitchen: Kitchen, content: bytes, language: str = "en") -> Verified:
    return verify_page(kitchen.session, content, language, "en_US")


def record_of(pdf: bytes) -> bytes:
    with pikepdf.open(BytesIO(pdf)) as document:
        return document.attachments["record.json"].get_file().read_bytes()


def with_record(pdf: bytes, record: bytes, **stream: Any) -> bytes:
    """The pages of a PDF with another record attached."""
    out = BytesIO()
    with pikepdf.open(BytesIO(pdf)) as document:
        del document.attachments["record.json"]
        attached = pikepdf.AttachedFileSpec(document, record, filename="record.json")
        if stream:
            attached.get_file().obj.write(record, **stream)
        document.attachments["record.json"] = attached
        document.save(out, compress_streams=False)
    return out.getvalue()


def saved_anew(pdf: bytes) -> bytes:
    out = BytesIO()
    with pikepdf.open(BytesIO(pdf)) as document:
        document.docinfo["/Title"] = "Passed"
        document.save(out)
    return out.getvalue()


def test_the_page_as_issued(kitchen: Kitchen) -> None:
    kept = issue(kitchen, passed(kitchen))
    found = verified(kitchen, page(kitchen, kept))
    assert found.answer == "same"
    assert found.certificate is not None
    assert found.certificate.number == kept.number


def test_a_changed_page_with_a_genuine_record_is_told_apart_and_the_record_told(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    kitchen.adjust(kitchen.checked(dial, "3 C", "3 C", "3 C"), "nut", "0 C")
    kept = issue(kitchen, dial)
    found = verified(kitchen, saved_anew(page(kitchen, kept)))
    assert found.answer == "record_here"
    assert found.certificate is not None
    assert found.certificate.number == kept.number
    issued, found_, left = found.says
    assert kept.number in issued
    assert f"{kitchen.tag(dial)}, Ice point, as found" in found_
    assert found_.endswith(
        "3, 3, 3\N{NO-BREAK SPACE}°C against 0.0\N{NO-BREAK SPACE}°C, limits ±1\N{NO-BREAK SPACE}°C: Fail."
    )
    assert left.endswith("0\N{NO-BREAK SPACE}°C against 0.0\N{NO-BREAK SPACE}°C, limits ±1\N{NO-BREAK SPACE}°C: Pass.")
    spanish = verified(kitchen, saved_anew(page(kitchen, kept)), "es").says
    assert spanish[1].endswith("No apto.")


@pytest.mark.slow
def test_a_crossed_copy_is_told_as_what_was_handed_out(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    kept = issue(kitchen, probe)
    copies = {}
    for standing, more in (
        ("amended", {"amends": kept.number, "change": "owner"}),
        ("replaced", {"replaces": kept.number}),
    ):
        newer = issue(kitchen, probe, **more)
        with kitchen.session.reading() as connection:
            copies[standing] = papers.copy_of(connection, kept)
        found = verified(kitchen, copies[standing])
        assert found.answer == "copy"
        assert found.certificate is not None
        assert (found.certificate.standing, found.certificate.told_by) == (standing, newer.number)
        assert kept.number in found.says[0]
    # Anything else about it is not what is handed out: marked as amended though it is replaced, or touched.
    assert verified(kitchen, copies["amended"]).answer == "record_here"
    assert verified(kitchen, saved_anew(copies["replaced"])).answer == "record_here"


def test_pages_put_together_and_other_forms_are_told_as_such(kitchen: Kitchen) -> None:
    kept = issue(kitchen, passed(kitchen))
    one = page(kitchen, kept)
    assert verified(kitchen, finish.joined([one, one])).answer == "joined"
    assert verified(kitchen, plain_certificate.html(kitchen.session, kept)).answer == "html"
    assert verified(kitchen, dcc(samples.USUAL, MORE)).answer == "xml"
    assert verified(kitchen, b"A page that says <html>").answer == "not_a_pdf"


def test_a_record_that_was_changed_or_put_together_otherwise(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    pdf = page(kitchen, issue(kitchen, probe))
    kitchen.checked(probe, "0.7 C")
    other = record_of(page(kitchen, issue(kitchen, probe)))
    record = record_of(pdf)
    mine, theirs = record[1:-2].split(b",\n"), other[1:-2].split(b",\n")
    changed = {
        "a reading": record.replace(b'"0.1 C"', b'"0.0 C"'),
        "an entry less": b"[" + b",\n".join(mine[:-1]) + b"]\n",
        "another check": b"[" + b",\n".join([mine[0], *theirs[1:]]) + b"]\n",
        "another order of keys": record.replace(b'{"after":', b'{ "after":', 1),
        "no entry": b"[]\n",
        "a check first": b"[" + b",\n".join(mine[1:]) + b"]\n",
        "deep": b"[" + b'{"a":' * 5000 + b"1" + b"}" * 5000 + b"]\n",
    }
    for name, one in changed.items():
        assert verified(kitchen, with_record(pdf, one)).answer == "record_changed", name
    assert verified(kitchen, with_record(pdf, record)).answer == "record_here"


def test_a_record_of_another_installation(kitchen: Kitchen, tmp_path: Path) -> None:
    # The same key and another: only the chain decides.
    foreign = certificate(samples.USUAL)
    entry = journal.make(
        at=1, by="system", chain="ab" * 32, kind="certificate_issued", kv=1, payload={}, prev="00" * 31 + "01", seq=4
    )
    assert verified(kitchen, with_record(foreign, b"[" + entry.text + b"]\n")).answer == "key_unknown"


def test_one_of_the_demo_is_called_so(kitchen: Kitchen) -> None:
    assert demo_key(scenario.load()).public_key().public_bytes_raw().hex() == DEMO_CHAIN
    entry = journal.make(
        at=1, by="system", chain=DEMO_CHAIN, kind="certificate_issued", kv=1, payload={}, prev="00" * 31 + "01", seq=4
    )
    pdf = with_record(certificate(samples.USUAL), b"[" + entry.text + b"]\n")
    assert verified(kitchen, pdf).answer == "demo"


def test_no_pdf_no_record_and_one_that_is_too_large(kitchen: Kitchen) -> None:
    pdf = page(kitchen, issue(kitchen, passed(kitchen)))
    assert verified(kitchen, b"nothing").answer == "not_a_pdf"
    assert verified(kitchen, b"%PDF-1.7 broken").answer == "not_a_pdf"
    plain = BytesIO()
    with pikepdf.open(BytesIO(pdf)) as document:
        del document.attachments["record.json"]
        document.save(plain)
    assert verified(kitchen, plain.getvalue()).answer == "no_record"
    bomb = zlib.compress(b" " * 50_000_000, 9)
    packed = with_record(pdf, bomb, filter=pikepdf.Name.FlateDecode)
    assert len(packed) < 200_000
    assert verified(kitchen, packed).answer == "record_too_large"
    assert verified(kitchen, with_record(pdf, b" " * (page_reader.MOST_RECORD + 1))).answer == "record_too_large"


def test_a_file_that_is_too_large_is_not_read(kitchen: Kitchen, tmp_path: Path) -> None:
    large = tmp_path / "large.pdf"
    with large.open("wb") as file:
        file.truncate(page_verify.MOST_FILE + 1)
    with kitchen.refuses(("page", "file_too_large")):
        page_verify.read_file(large)


@pytest.mark.parametrize("record", [b"", b"[", b"{}", b"[]\n", b"[x]\n", b'[{"a":1}]\n', b"[\xff]\n"])
def test_what_is_no_record_of_entries(record: bytes) -> None:
    with pytest.raises(EntryError):
        read_record(record)
