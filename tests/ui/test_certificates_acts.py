"""Certificates in the window: amended, replaced, withdrawn, handed out crossed, files verified, the logo."""

from pathlib import Path

import pytest

from registry.services import certificates, logos, papers
from tests.services.kitchen import Kitchen
from tests.services.test_logos import picture
from tests.services.test_page_verify import saved_anew
from tests.ui.conftest import Answers, sit_down
from tests.ui.test_proof import digi
from ui.desk import Desk
from ui.frame import Frame
from ui.proof.page import ProofPage
from ui.setup.page import SetupPage
from ui.setup.window import PaperPart
from ui.thermometers import issuing


@pytest.fixture
def number(kitchen: Kitchen) -> str:
    """A certificate that stands."""
    one = digi(kitchen)
    kitchen.checked(one, "0.1 C")
    return papers.issue_certificate(kitchen.session, kitchen.officer, one).number


def shown(frame: Frame, desk: Desk, kitchen: Kitchen, role: str = "officer") -> ProofPage:
    sit_down(desk, kitchen, role)
    frame.go("proof")
    assert isinstance(frame.page, ProofPage)
    frame.page.show_part("certificates")
    return frame.page


def test_it_is_withdrawn_with_a_reason_and_then_handed_out_crossed(
    frame: Frame, desk: Desk, kitchen: Kitchen, answers: Answers, number: str, tmp_path: Path
) -> None:
    part = shown(frame, desk, kitchen).certificates
    part._opened(0)
    assert not part.acts.isHidden()
    assert part.as_issued.isHidden()
    answers.ready = [f"withdraw {number}", "wrong_check"]
    part.acts.click()
    assert answers.asked == [f"What is to be done about {number}?", f"Why is {number} withdrawn?"]
    entry = kitchen.last("certificate_withdrawn")
    assert entry.payload["why"] == "wrong_check"
    assert frame.notice.sentence.text() == f"Certificate {number} is withdrawn by entry {entry.number}."
    page = frame.page
    assert isinstance(page, ProofPage)
    part = page.certificates
    part.open(certificates.numbered(kitchen.session, number))
    assert part.acts.isHidden()
    for name, button in (("crossed", "_save"), ("issued", "_save_as_issued")):
        answers.ready = [tmp_path / f"{name}.pdf"]
        getattr(part, button)()
    assert (tmp_path / "issued.pdf").read_bytes() == certificates.page(kitchen.session, number)
    assert (tmp_path / "crossed.pdf").read_bytes() == certificates.copy(kitchen.session, number)
    assert (tmp_path / "crossed.pdf").read_bytes() != (tmp_path / "issued.pdf").read_bytes()


def test_it_is_amended_and_replaced_from_its_page(
    frame: Frame, desk: Desk, kitchen: Kitchen, answers: Answers, number: str, tmp_path: Path
) -> None:
    part = shown(frame, desk, kitchen).certificates
    part._opened(0)
    answers.ready = [f"amend {number}", "place", tmp_path / "amending.pdf"]
    part.acts.click()
    said = kitchen.last("certificate_issued")
    assert said.payload["change"] == "place"
    assert (tmp_path / "amending.pdf").read_bytes() == certificates.page(kitchen.session, said.number)
    part.open(certificates.numbered(kitchen.session, number))
    assert f"<b>Amended by {said.number}</b>: read both." in part.title.text()
    answers.ready = [f"replace {number}", tmp_path / "next.pdf"]
    part.acts.click()
    assert kitchen.last("certificate_issued").after == (kitchen.entries("certificate_issued")[0].hash,)


def test_a_second_of_the_same_check_is_not_issued(desk: Desk, kitchen: Kitchen, number: str) -> None:
    sit_down(desk, kitchen, "officer")
    thermometer = certificates.numbered(kitchen.session, number).kept.thermometer
    works: list[issuing.Work] = []
    issuing.ask(desk, thermometer, issuing.ISSUE, lambda _, work: works.append(work))
    with kitchen.refuses(("certificate", "stands_already")):
        works[0](lambda _: True)
    assert len(kitchen.entries("certificate_issued")) == 1


def test_what_may_be_done_depends_on_who_works_here(frame: Frame, desk: Desk, kitchen: Kitchen, number: str) -> None:
    one = certificates.numbered(kitchen.session, number)
    kinds = {}
    for role in ("lead", "officer", "auditor"):
        sit_down(desk, kitchen, role)
        kinds[role] = [code.split()[0] for code, _ in issuing.acts(desk, one)]
    assert kinds == {"lead": ["replace", "amend"], "officer": ["replace", "amend", "withdraw"], "auditor": []}


@pytest.mark.parametrize("changed", [False, True])
def test_a_file_is_verified(
    frame: Frame, desk: Desk, kitchen: Kitchen, answers: Answers, number: str, tmp_path: Path, changed: bool
) -> None:
    content = certificates.page(kitchen.session, number)
    file = tmp_path / "page.pdf"
    file.write_bytes(saved_anew(content) if changed else content)
    part = shown(frame, desk, kitchen, "auditor").certificates
    answers.ready = [file]
    part.verify.click()
    said = part.verdict.text()
    assert part.shown is not None
    assert part.shown.number == number
    if changed:
        assert "what is printed on it was not checked" in said
        assert "DIGI0, Ice point, as found" in said
    else:
        assert said == f"page.pdf is the page of certificate {number} of DIGI0, to the byte as it was issued."
    part._back()
    part._opened(0)
    assert part.verdict.isHidden()


def test_a_file_that_is_none_is_told(
    frame: Frame, desk: Desk, kitchen: Kitchen, answers: Answers, tmp_path: Path
) -> None:
    file = tmp_path / "letter.pdf"
    file.write_bytes(b"Dear Sir")
    part = shown(frame, desk, kitchen).certificates
    answers.ready = [file]
    part.verify.click()
    sentence = "letter.pdf is no PDF file, or a broken one. Nothing on it was checked."
    assert frame.notice.sentence.text() == sentence


# --- the logo ------------------------------------------------------------------------------------------------


def paper_part(frame: Frame) -> PaperPart:
    frame.go("setup", "paper")
    assert isinstance(frame.page, SetupPage)
    assert isinstance(frame.page.part, PaperPart)
    return frame.page.part


def test_the_logo_is_put_there_and_taken_back(
    frame: Frame, desk: Desk, kitchen: Kitchen, answers: Answers, tmp_path: Path
) -> None:
    file = tmp_path / "logo.png"
    file.write_bytes(picture(200, 60))
    sit_down(desk, kitchen, "officer")
    answers.ready = [file]
    paper_part(frame).logo.choose.click()
    assert frame.notice.sentence.text() == "Certificates bear this logo from now on."
    with kitchen.session.reading() as connection:
        assert logos.standing_hash(connection) == kitchen.last("document_stored").payload["sha256"]
    paper_part(frame).logo.remove.click()
    assert frame.notice.sentence.text() == "Certificates bear no logo from now on."
    with kitchen.session.reading() as connection:
        assert logos.standing_hash(connection) is None


def test_who_may_not_set_the_logo_sees_it_all_the_same(frame: Frame, desk: Desk, kitchen: Kitchen) -> None:
    logos.set_logo(kitchen.session, kitchen.officer, picture(200, 60))
    sit_down(desk, kitchen, "lead")
    part = paper_part(frame)
    assert not hasattr(part.logo, "choose")
    with kitchen.session.reading() as connection:
        assert logos.logo(kitchen.session, connection) is not None
