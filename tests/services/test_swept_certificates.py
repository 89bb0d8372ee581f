"""Certificates of the demo against the journal, as many as fit a minute; by hand thousands."""

import shutil
from pathlib import Path

import pytest

from registry.services.session import open_session
from sample_db.build import build
from tests.services.swept_certificates import officer_of, sweep


@pytest.mark.slow
def test_the_printed_text_says_what_the_journal_says_field_by_field(tmp_path: Path) -> None:
    build(tmp_path / "demo", small=True)
    session = open_session(tmp_path / "demo")
    try:
        swept = sweep(session, officer_of(session), 400, most_s=60)
    finally:
        session.close()
        shutil.rmtree(tmp_path / "demo")
    assert swept.wrong == []
    assert not swept.refused
    assert swept.issued >= 20  # on the slowest machine
    assert swept.fields > 15 * swept.issued
    assert swept.rows >= swept.issued
