"""Thermometers, Drift, Proof, Set-up and Something happened, on the demo and where nothing is yet."""

from dataclasses import replace
from datetime import timedelta
from functools import partial

from PySide6.QtWidgets import QLineEdit, QScrollArea, QWidget

from registry.records.rules import PlanRule
from registry.services import calendars, lookup, places, plans, table, thermometers, working_set
from registry.services.table import Wanted
from tests.screenshots.scenes import Scene
from tests.screenshots.stage import Stage, settle
from tests.services.sheets import xlsx
from ui.drift.page import DriftPage
from ui.drift.spread import IntervalLine
from ui.proof.batch import Issuing
from ui.proof.cells import Cells
from ui.setup.importing import ImportPart
from ui.setup.own_figures import OwnFiguresPart
from ui.setup.page import SetupPage
from ui.setup.rules import RulesPart

TAG = "WS003N"
US = {"world": "demo", "unit": "F"}


def _field(stage: Stage, words: str) -> QLineEdit:
    """The field in sight with this accessible name."""
    found = [one for one in stage.frame.findChildren(QLineEdit) if one.isVisible() and one.accessibleName() == words]
    return found[0]


# --- Thermometers ----------------------------------------------------------------------------------------------


def thermometers_list(stage: Stage) -> None:
    stage.go("thermometers")


def thermometers_one(stage: Stage) -> None:
    stage.go("thermometers", TAG)


def thermometers_one_incident(stage: Stage) -> None:
    """The one that was dropped: it is checked first."""
    stage.go("thermometers", "WS004L")


def thermometers_empty(stage: Stage) -> None:
    stage.go("thermometers")


def thermometers_long_names(stage: Stage) -> None:
    stage.go("thermometers")


def thermometers_one_long_names(stage: Stage) -> None:
    stage.go("thermometers", "UNIVKLINIK1")


def thermometers_overfull(stage: Stage) -> None:
    stage.go("thermometers")


def thermometers_enrol_one(stage: Stage) -> None:
    stage.go("thermometers")
    stage.press("thermometers.enrol_one")


def thermometers_enrol_many(stage: Stage) -> None:
    stage.go("thermometers")
    stage.press("thermometers.enrol_many")


def thermometers_auditor(stage: Stage) -> None:
    stage.go("thermometers", TAG)


# --- Drift -----------------------------------------------------------------------------------------------------


def drift_normal(stage: Stage) -> None:
    stage.go("drift")


def drift_by_model(stage: Stage) -> None:
    stage.frame.go("drift", "model")
    settle()


def drift_missed(stage: Stage) -> None:
    """A shift that nobody read anything in, and names as long as people give."""
    stage.wait(days=1)
    stage.go("drift")


def drift_failures(stage: Stage) -> None:
    """One failed and was taken out of use: it stands among the failures and is to be replaced."""
    page = _drift(stage)
    _scroll_to(stage, page.failures)


def drift_told(stage: Stage) -> None:
    """The arrow keys stand on an interval, which is told in words."""
    page = _drift(stage)
    line = page.groups.findChildren(IntervalLine)[0]
    _scroll_to(stage, page.incidents)
    line.setFocus()
    settle()


def drift_narrowed(stage: Stage) -> None:
    """One type alone, and a check of a small plot read by keys."""
    page = _drift(stage)
    page.type.setCurrentIndex(page.type.findData("bimetal_stem"))
    settle()
    for plot in page.ranking.plots[:1]:  # none where there is little room
        plot.setFocus()
        plot.choose(0)
    settle()


def _drift(stage: Stage) -> DriftPage:
    stage.go("drift")
    page = stage.frame.page
    assert isinstance(page, DriftPage)
    return page


def drift_empty(stage: Stage) -> None:
    stage.go("drift")


# --- Proof -----------------------------------------------------------------------------------------------------


def proof_question(stage: Stage) -> None:
    stage.go("proof")


def proof_answer(stage: Stage) -> None:
    """Yesterday: yes."""
    _asked(stage, "WS001R", days=-1)


def proof_before_a_fail(stage: Stage) -> None:
    """Between a good check and a failed one."""
    _asked(stage, TAG, days=-14)


def proof_not_known(stage: Stage) -> None:
    """Before its first check."""
    _asked(stage, TAG, days=-200)


def proof_no(stage: Stage) -> None:
    """After it failed, and before anything was done about it."""
    with stage.desk.session.reading() as connection:
        found = thermometers.find(connection, "PR012A").row.thermometer
    stage.frame.go("proof", (found, stage.clock.at - 300_000_000))
    settle()


def proof_long_names(stage: Stage) -> None:
    _asked(stage, "UNIVKLINIK1", days=0)


def _asked(stage: Stage, tag: str, *, days: int) -> None:
    with stage.desk.session.reading() as connection:
        found = thermometers.find(connection, tag).row.thermometer
    stage.frame.go("proof", (found, stage.clock.at + days * 86_400_000_000))
    settle()


def proof_unclear(stage: Stage) -> None:
    stage.go("proof")
    _field(stage, stage.desk.say("proof.field.tag")).setText("NOSUCH")
    stage.press("proof.ask")


def proof_log(stage: Stage) -> None:
    stage.go("proof")
    stage.press("proof.part.log")


def proof_log_notes(stage: Stage) -> None:
    proof_log(stage)
    stage.press("proof.log.more")


def proof_record(stage: Stage) -> None:
    stage.go("proof")
    stage.press("proof.part.record")


def proof_verified(stage: Stage) -> None:
    proof_record(stage)
    stage.press("proof.record.verify")


def proof_damaged(stage: Stage) -> None:
    """An entry was changed by somebody with the file."""
    proof_verified(stage)


def proof_one_certificate(stage: Stage) -> None:
    proof_certificates(stage)
    table = next(one for one in stage.frame.findChildren(Cells) if one.isVisible())
    table.setFocus()
    stage.type("\n")


def proof_batch_asked(stage: Stage) -> None:
    """Certificates of a whole site: how many, and where to."""
    proof_certificates(stage)
    stage.press("batch.issue_for")


def proof_batch_running(stage: Stage) -> None:
    """Some are issued, and one may stop."""
    proof_certificates(stage)
    run = Issuing.of(stage.desk)
    run.running, run.total, run.done = True, 240, 87
    run.changed.emit()


def proof_certificates(stage: Stage) -> None:
    stage.go("proof")
    stage.press("proof.part.certificates")


def proof_empty(stage: Stage) -> None:
    stage.go("proof")
    stage.press("proof.part.log")


# --- Set-up ----------------------------------------------------------------------------------------------------


def _setup(stage: Stage, part: str) -> None:
    stage.frame.go("setup", part)
    settle()


def setup_window(stage: Stage) -> None:
    _setup(stage, "window")


def setup_sites(stage: Stage) -> None:
    _setup(stage, "sites")


def setup_shifts(stage: Stage) -> None:
    _setup(stage, "shifts")


def setup_closed_days(stage: Stage) -> None:
    """The site over the holidays, and one station of it for works."""
    session, site = stage.desk.session, stage.desk.site
    today = session.today(site.payload)
    with session.reading() as connection:
        station = places.stations(connection, site.subject)[0].subject
    state = partial(calendars.state, session, stage.desk.actor, site.subject)
    state(today + timedelta(days=29), today + timedelta(days=31), why="holiday")
    state(today + timedelta(days=9), today + timedelta(days=9), stations=(station,), why="works")
    state(today + timedelta(days=30), today + timedelta(days=30), kind="open")
    _setup(stage, "shifts")


def setup_close_days(stage: Stage) -> None:
    _setup(stage, "shifts")
    stage.press("setup.close_days")


def _smallest(stage: Stage) -> None:
    session, site = stage.desk.session, stage.desk.site.subject
    with session.reading() as connection:
        stations = places.stations(connection, site)
        here = {(row.station, row.type) for row in lookup.listed(connection, site) if row.station and row.type}
    for n, station in enumerate(stations[:2]):
        wanted = {kind: 1 + n * 8 for of, kind in sorted(here) if of == station.subject and kind}
        working_set.set_smallest(session, stage.desk.actor, station.subject, wanted)


def setup_smallest(stage: Stage) -> None:
    """Two stations of which it is said; at one of them too few are left."""
    _smallest(stage)
    _setup(stage, "sites")


def setup_set_smallest(stage: Stage) -> None:
    _smallest(stage)
    _setup(stage, "sites")
    stage.press("setup.set_smallest")


def setup_people(stage: Stage) -> None:
    _setup(stage, "people")


def setup_rules(stage: Stage) -> None:
    _setup(stage, "rules")


def _scroll_to(stage: Stage, widget: QWidget) -> None:
    for area in stage.frame.findChildren(QScrollArea):
        if area.isAncestorOf(widget):
            area.ensureWidgetVisible(widget, 0, 20)
    settle()


def _plan(stage: Stage) -> RulesPart:
    """A plan of one's own, with a rule for one point, one for a tag and one that looks ahead."""
    session, actor = stage.desk.session, stage.desk.actor
    with session.reading() as connection:
        row = lookup.listed(connection)[0]
    for rule in (
        PlanRule(rule="every_days", days=3, points=("ice_point",), types=("bimetal_stem", "thermistor_probe")),
        PlanRule(rule="every_days", days=1, thermometers=(row.thermometer,)),
        PlanRule(rule="forecast"),
    ):
        plans.change(session, actor, plans.adding(rule), session.today(stage.desk.site.payload))
    _setup(stage, "rules")
    assert isinstance(stage.frame.page, SetupPage)
    assert isinstance(stage.frame.page.part, RulesPart)
    return stage.frame.page.part


def setup_plan(stage: Stage) -> None:
    part = _plan(stage)
    _scroll_to(stage, part.plan_section.add)


def setup_plan_add(stage: Stage) -> None:
    part = _plan(stage)
    part.plan_section.begin("add")
    settle()
    form = part.plan_section.form
    assert form is not None
    form.do()
    settle()
    _scroll_to(stage, form.button)


def setup_plan_site(stage: Stage) -> None:
    """One site of several, with a plan of its own."""
    _setup(stage, "rules")
    assert isinstance(stage.frame.page, SetupPage)
    part = stage.frame.page.part
    assert isinstance(part, RulesPart)
    session, site = stage.desk.session, stage.desk.site
    rule = plans.adding(PlanRule(rule="forecast"))
    plans.change(session, stage.desk.actor, rule, session.today(site.payload), site.subject)
    part.plan_section.show(site.subject)
    settle()
    _scroll_to(stage, part.plan_section.whose)


def setup_plan_sure(stage: Stage) -> None:
    part = _plan(stage)
    part.plan_section.remove(PlanRule(rule="each_shift"))
    settle()


def setup_own_figures(stage: Stage) -> None:
    _setup(stage, "own_figures")


def setup_own_figures_found(stage: Stage) -> None:
    """A sheet of four digitals, worked out and not used yet."""
    _setup(stage, "own_figures")
    part = stage.frame.findChild(OwnFiguresPart)
    home = stage.frame.desk.session.home
    assert part is not None
    assert home is not None
    sheet = home / "afternoon.csv"
    rows = ["bath,made,tag,readings,unit,reference"]
    for made, error in (("crushed_packed", 0), ("cubes_stirred", 1), ("cubes_careless", 3)):
        for bath in "ab":
            for tag in ("PR012A", "PR014K", "PR016T", "PR035P"):
                shown = " / ".join(f"0.{error + more}" for more in (0, 1, 0))
                rows.append(f"{made} {bath},{made},{tag},{shown},C,")
    sheet.write_text("\n".join(rows), "utf-8")
    part.work_out(sheet)
    settle()


def setup_paper(stage: Stage) -> None:
    _setup(stage, "paper")


def setup_copies(stage: Stage) -> None:
    _setup(stage, "copies")


def setup_import(stage: Stage) -> None:
    _setup(stage, "import")


def _brought(stage: Stage, *more: list[object]) -> ImportPart:
    """A spreadsheet of somebody else's, its titles in their own words."""
    part = _setup_part(stage)
    session, wanted = stage.desk.session, Wanted(site=stage.desk.site.subject, status="in_service")
    with session.reading() as connection:
        tags = [one.tag_id for one in table.page(session, connection, wanted, size=3).rows]
    head = ["Probe no.", "Checked on", "Reading", "Scale", "Judged", "Shelf"]
    rows = [[tag, f"2024-11-0{n}", 32, "F", "pass", f"A{n}"] for n, tag in enumerate(tags, 1)]
    file = stage.desk.home / "checks.xlsx"
    file.write_bytes(xlsx(head, *rows, *more))
    part.form.fill({"file": str(file), "point": "ice_point"})
    part.look_through()
    settle()
    return part


def _setup_part(stage: Stage) -> ImportPart:
    _setup(stage, "import")
    (part,) = stage.frame.findChildren(ImportPart)
    assert isinstance(part, ImportPart)
    return part


def _match(part: ImportPart) -> None:
    assert part.matching is not None
    known = {"Probe no.": "tag", "Checked on": "date", "Scale": "unit", "Judged": "outcome", "Reading": "readings"}
    for title, code in known.items():
        part.matching.choose(title, code)
    part.matching.choose("Shelf", "leave_out")


def setup_import_columns(stage: Stage) -> None:
    _brought(stage)


def setup_import_problems(stage: Stage) -> None:
    part = _brought(stage, ["XX9", "31/12/2024", "O.4", "F", "fine", "B1"])
    _match(part)
    part.look_through()
    settle()


def setup_import_plan(stage: Stage) -> None:
    part = _brought(stage)
    _match(part)
    part.look_through()
    settle()


def setup_record(stage: Stage) -> None:
    _setup(stage, "record")


def setup_add_site(stage: Stage) -> None:
    _setup(stage, "sites")
    stage.press("setup.add_site")


def setup_person(stage: Stage) -> None:
    """One of them opened: roles, training, PIN."""
    _setup(stage, "people")
    stage.button(stage.desk.say("setup.open_person", name="Marisol Quaintance")).click()
    settle()


def setup_refused(stage: Stage) -> None:
    """Nothing was filled in: what is wrong stands beneath its field."""
    setup_add_person(stage)
    stage.press("setup.add_person")


def setup_empty(stage: Stage) -> None:
    _setup(stage, "shifts")


def setup_add_person(stage: Stage) -> None:
    _setup(stage, "people")
    stage.press("setup.add_person")


def setup_lead_looks(stage: Stage) -> None:
    _setup(stage, "people")


def setup_long_names(stage: Stage) -> None:
    _setup(stage, "sites")


# --- Something happened ----------------------------------------------------------------------------------------


def happened_which(stage: Stage) -> None:
    stage.go("happened")


def happened_what(stage: Stage) -> None:
    stage.go("happened", TAG)


def happened_unknown(stage: Stage) -> None:
    stage.go("happened")
    stage.type("NOSUCH\n")


def happened_several(stage: Stage) -> None:
    stage.go("happened")
    stage.type("WS00\n")


def happened_earlier(stage: Stage) -> None:
    """A time that can't be."""
    happened_what(stage)
    stage.press("happened.earlier")
    stage.type("25:00")
    stage.press("incident.dropped")


def happened_why_out(stage: Stage) -> None:
    happened_what(stage)
    stage.press("happened.take_it_out")


def happened_taken_back(stage: Stage) -> None:
    happened_done(stage)
    stage.button(f"{stage.desk.say('happened.undo')}: {TAG}").click()
    settle()


def happened_done(stage: Stage) -> None:
    happened_what(stage)
    stage.press("incident.dropped")


def happened_inspector(stage: Stage) -> None:
    stage.go("happened")
    stage.press("happened.to_inspector")


def happened_side_by_side(stage: Stage) -> None:
    """Both read, and how far apart they are."""
    happened_inspector(stage)
    stage.frame.take_tag(TAG)
    settle()
    stage.type("32.5\n32.0\n")


def happened_sheet(stage: Stage) -> None:
    stage.go("happened")
    stage.press("happened.to_sheet")


def happened_sheet_asked(stage: Stage) -> None:
    """A reading beyond its scale, and a line that lacks its time."""
    happened_sheet(stage)
    _field(stage, stage.desk.say("happened.cell", column=stage.desk.say("sheet.column.reading"), tag=TAG)).setFocus()
    stage.type("9999\n")
    stage.press("happened.record_sheet")


def happened_agree(stage: Stage) -> None:
    stage.go("happened")
    stage.press("happened.to_agree")


def happened_long_names(stage: Stage) -> None:
    stage.go("happened", "UNIVKLINIK1")


def happened_overfull(stage: Stage) -> None:
    stage.go("happened")


def happened_empty(stage: Stage) -> None:
    stage.go("happened")


def _of(place: str, *scenes: Scene) -> tuple[Scene, ...]:
    return tuple(replace(scene, place=place) for scene in scenes)


SCENES = (
    *_of(
        "thermometers",
        Scene(thermometers_list, main=True, **US),
        Scene(thermometers_one, main=True, **US),
        Scene(thermometers_one_incident, **US),
        Scene(thermometers_empty, world="fresh"),
        Scene(thermometers_long_names, world="names"),
        Scene(thermometers_one_long_names, world="names"),
        Scene(thermometers_overfull, world="crowd"),
        Scene(thermometers_enrol_one, world="demo", unit="F", role="officer", main=True),
        Scene(thermometers_enrol_many, world="demo", unit="F", role="officer", main=True),
        Scene(thermometers_auditor, role="auditor", **US),
    ),
    *_of(
        "drift",
        Scene(drift_normal, role="officer", main=True, **US),
        Scene(drift_by_model, role="officer", **US),
        Scene(drift_missed, world="names", role="officer", main=True),
        Scene(drift_failures, role="officer", world="papers"),
        Scene(drift_told, role="officer", **US),
        Scene(drift_narrowed, role="officer", **US),
        Scene(drift_empty, world="fresh"),
    ),
    *_of(
        "proof",
        Scene(proof_question, role="auditor", **US),
        Scene(proof_answer, role="auditor", main=True, **US),
        Scene(proof_before_a_fail, role="auditor", **US),
        Scene(proof_not_known, role="auditor", **US),
        Scene(proof_no, role="auditor", world="papers", main=True),
        Scene(proof_long_names, role="auditor", world="names"),
        Scene(proof_unclear, role="auditor", **US),
        Scene(proof_log, role="officer", main=True, **US),
        Scene(proof_log_notes, role="officer", **US),
        Scene(proof_record, role="auditor", **US),
        Scene(proof_verified, role="auditor", main=True, **US),
        Scene(proof_damaged, role="auditor", world="damaged", main=True),
        Scene(proof_one_certificate, role="auditor", world="papers", main=True),
        Scene(proof_certificates, role="auditor", main=True, **US),
        Scene(proof_batch_asked, role="officer", main=True, **US),
        Scene(proof_batch_running, role="officer", main=True, **US),
        Scene(proof_empty, world="fresh"),
    ),
    *_of(
        "setup",
        Scene(setup_window, main=True, **US),
        Scene(setup_sites, role="administrator", main=True, **US),
        Scene(setup_shifts, role="administrator", **US),
        Scene(setup_closed_days, role="administrator", main=True, **US),
        Scene(setup_close_days, role="administrator", main=True, **US),
        Scene(setup_smallest, role="administrator", main=True, **US),
        Scene(setup_set_smallest, role="administrator", main=True, **US),
        Scene(setup_people, role="administrator", main=True, **US),
        Scene(setup_rules, role="administrator", main=True, **US),
        Scene(setup_plan, role="officer", world="dozen", main=True),
        Scene(setup_plan_add, role="officer", world="dozen", main=True),
        Scene(setup_plan_site, role="administrator", main=True, **US),
        Scene(setup_plan_sure, role="officer", world="dozen", main=True),
        Scene(setup_own_figures, role="officer", world="dozen", main=True),
        Scene(setup_own_figures_found, role="officer", world="dozen", main=True),
        Scene(setup_paper, **US),
        Scene(setup_copies, role="administrator", **US),
        Scene(setup_import, role="administrator", **US),
        Scene(setup_import_columns, role="officer", main=True, **US),
        Scene(setup_import_problems, role="officer", **US),
        Scene(setup_import_plan, role="officer", main=True, **US),
        Scene(setup_record, role="administrator", **US),
        Scene(setup_add_site, role="administrator", **US),
        Scene(setup_add_person, role="administrator", **US),
        Scene(setup_person, role="administrator", main=True, **US),
        Scene(setup_refused, role="administrator", **US),
        Scene(setup_empty, world="fresh", role="administrator"),
        Scene(setup_lead_looks, **US),
        Scene(setup_long_names, world="names", role="administrator"),
    ),
    *_of(
        "happened",
        Scene(happened_which, main=True, **US),
        Scene(happened_what, main=True, **US),
        Scene(happened_done, main=True, **US),
        Scene(happened_unknown, **US),
        Scene(happened_several, **US),
        Scene(happened_earlier, main=True, **US),
        Scene(happened_why_out, **US),
        Scene(happened_taken_back, **US),
        Scene(happened_side_by_side, main=True, **US),
        Scene(happened_inspector, **US),
        Scene(happened_sheet, main=True, **US),
        Scene(happened_sheet_asked, main=True, **US),
        Scene(happened_agree, **US),
        Scene(happened_long_names, world="names"),
        Scene(happened_overfull, world="crowd"),
        Scene(happened_empty, world="fresh"),
    ),
)
