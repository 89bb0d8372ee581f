"""Every problem that the services can find, and every known trouble, has its sentence in both languages."""

import ast
from collections.abc import Iterator
from pathlib import Path
from string import Formatter
from typing import get_args

import pytest

from registry import resources
from registry.quantity import NotAReading, parse_reading
from registry.services import typed
from registry.services.problems import Refused
from registry.store import database, errors, keyfile
from registry.wording.refusals import problem, trouble

ROOT = Path(__file__).resolve().parents[2]
STANDINGS = {one for one in get_args(keyfile.Standing) if not keyfile.may_write(one)}


def calls(folders: tuple[str, ...], *names: str) -> Iterator[tuple[Path, ast.Call]]:
    """Every call of these names under these folders that has a literal to look at."""
    for folder in folders:
        for file in sorted((ROOT / "registry" / folder).rglob("*.py")):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                called = getattr(node, "func", None)
                if isinstance(node, ast.Call) and getattr(called, "id", getattr(called, "attr", "")) in names:
                    yield file, node


def literals(node: ast.expr) -> list[str]:
    """The texts that an argument can be: a literal, or one of two."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return [node.value]
    return [*literals(node.body), *literals(node.orelse)] if isinstance(node, ast.IfExp) else []


def given(call: ast.Call) -> set[str] | None:
    """Names of the values that come along; None where that can't be seen."""
    if any(keyword.arg is None for keyword in call.keywords):
        return None
    names = {str(keyword.arg) for keyword in call.keywords}
    if len(call.args) > 2:
        if not isinstance(call.args[2], ast.Dict):
            return None
        names |= {key.value for key in call.args[2].keys if isinstance(key, ast.Constant)}
    return names


def found_problems() -> list[tuple[str, str, set[str]]]:
    found = [
        (field, code, values)
        for _, call in calls(("services", "commands"), "refuse", "Problem")
        if len(call.args) >= 2 and (values := given(call)) is not None
        for field in literals(call.args[0])
        for code in literals(call.args[1])
    ]
    found += [
        (field, code, {"value"}) for field in ("shown", "as_left") for code in ("off_scale", "too_fine", "other_unit")
    ]
    found += [("container", f"refused_{one.why}", set()) for one in resources.containers().values() if not one.allowed]
    return found


def names(sentence: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(sentence) if name is not None}


def test_a_difference_is_worded_in_degrees_as_readings_are() -> None:
    said = problem("step", "not_valid", {"value": "0 dC"}, "en")
    assert said == "0\u00a0°C cannot be the step of a thermometer: look at its display or scale."
    assert problem("step", "not_valid", {"value": "-0.5 dF"}, "en").startswith("-0.5\u00a0°F cannot")


def test_where_nothing_was_chosen_the_sentence_does_not_begin_with_nothing() -> None:
    with pytest.raises(Refused) as refused:
        typed.choice("why", " ", ("stolen", "wrong"))
    (one,) = refused.value.problems
    for language, beginning in (("en", "Choose one of these: stolen, wrong."), ("es", "Elija una de estas: ")):
        assert problem(one.field, one.code, one.values, language).startswith(beginning)


def test_every_problem_in_the_services_has_its_sentence() -> None:
    found = found_problems()
    assert len(found) > 120
    without = problem("no_such_field", "no_such_code", {}, "en")
    assert without == "This was refused (no_such_field: no_such_code), and nothing was recorded."
    for language in resources.languages():
        beginning = resources.texts(language)["problem.no_sentence"].partition("(")[0]
        for field, code, values in found:
            said = problem(field, code, dict.fromkeys(values, 2), language)
            assert not said.startswith(beginning), (field, code)
            assert said[-1] == ".", said


def test_a_sentence_of_a_field_is_one_that_some_service_says() -> None:
    """No sentence is left over; the general ones may serve what people type."""
    said = {f"problem.{field}.{code}" for field, code, _ in found_problems()}
    said |= {f"problem.page.{one}" for one in cannot_print()}
    texts = resources.texts("en")
    assert {code for code in texts if code.startswith("problem.") and code.count(".") == 2} - said == set()


def cannot_print() -> set[str]:
    return {code for _, call in calls(("documents",), "CannotPrint") if call.args for code in literals(call.args[0])}


def test_why_a_page_cannot_be_drawn_has_its_sentence() -> None:
    found = cannot_print()
    assert "missing_characters" in found
    for language in resources.languages():
        assert {f"problem.page.{code}" for code in found} - resources.texts(language).keys() == set()


def test_what_imports_say_of_a_row_comes_from_their_own_texts() -> None:
    said = problem("readings", "off_scale", {"row": 3, "column": "reading", "value": "200 C"}, "en")
    assert said == "Row 3, reading: 200\u00a0°C lies beyond the scale of the thermometer."
    assert problem("file", "more", {"count": 2}, "en") == "2 more problems are not shown."


@pytest.mark.parametrize("typed", ["", "1.234,5", "12345", "x"])
def test_every_reading_refused_has_its_sentence(typed: str) -> None:
    with pytest.raises(NotAReading) as refused:
        parse_reading(typed, "C")
    for language in resources.languages():
        assert f"problem.{refused.value.code}" in resources.texts(language)


def test_every_known_trouble_has_its_sentence() -> None:
    raised = {
        code
        for _, call in calls(("store", "services", "documents", "journal"), "KnownError")
        if call.args
        for code in literals(call.args[0])
    }
    codes = raised | errors.CODES | set(errors._BY_ERRNO.values()) | STANDINGS
    codes |= {"key_of_another_chain", "asked_for"}
    assert len(codes) >= 20
    for language in resources.languages():
        texts = resources.texts(language)
        assert {f"trouble.{code}" for code in codes} - texts.keys() == set()
        for code in codes:
            assert names(texts[f"trouble.{code}"]) == set()
            assert trouble(code, language) == texts[f"trouble.{code}"]
    assert trouble("no_such_code", "en").startswith("Something outside the program")


def test_a_database_s_troubles_are_among_them() -> None:
    tables = [value for value in vars(database).values() if isinstance(value, dict)]
    tables += [value for value in vars(errors).values() if isinstance(value, dict)]
    found = {code for table in tables for code in table.values() if isinstance(code, str)} & errors.CODES
    assert {"disk_full", "locked", "read_only"} <= found


def test_every_finding_of_verify_has_its_sentence() -> None:
    found = {code for _, call in calls(("store", "journal"), "note") if call.args for code in literals(call.args[0])}
    assert {"text_changed", "missing", "folded_differs"} <= found
    for language in resources.languages():
        assert {f"finding.{code}" for code in found} - resources.texts(language).keys() == set()
