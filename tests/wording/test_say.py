"""Sentences: both languages whole, the same values in each, and none of the words that claim too much."""

import re
from string import Formatter
from typing import get_args

import pytest
import uharfbuzz as hb

from registry import resources
from registry.compute.conformity import Outcome
from registry.compute.schedule import ANSWERS, RULES
from registry.wording import say

LANGUAGES = resources.languages()
POINTS = ("ice_point", "boiling_point", "comparison")
INCIDENTS = ("dropped", "bumped", "temperature_shock", "battery_changed", "battery_low", "sensor_changed")
INCIDENTS += ("bent", "water_inside", "opened", "unit_switched", "lent", "lost", "found")
STATUSES = ("in_service", "check_first", "limited_use", "out_of_use", "lost", "retired")
WHY_DUE = ("incident", "failed", "check_first", "adjusted", "every_days_never", "hot_point_never")

# Whole words, any case: what an in-house check may not be called, in each language with its endings.
FORBIDDEN = re.compile(
    r"\b(accredited|certified|traceable|compliant|guaranteed|safe"
    r"|acreditad[oa]s?|certificad[oa]s?|trazables?|conformes?|garantizad[oa]s?|segur[oa]s?|inocu[oa]s?)\b",
    re.IGNORECASE,
)


def names(sentence: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(sentence) if name is not None}


def base(code: str) -> str:
    """The code that is said: without its form by number."""
    return code.rsplit(".", 1)[0] if code.endswith((".one", ".other")) else code


def test_there_are_english_and_spanish() -> None:
    assert LANGUAGES == ("en", "es")


def test_every_code_exists_in_both_languages() -> None:
    english, spanish = resources.texts("en"), resources.texts("es")
    assert english.keys() == spanish.keys()
    assert len(english) > 150


def test_every_sentence_names_the_same_values_in_both_languages() -> None:
    english, spanish = resources.texts("en"), resources.texts("es")
    for code in english:
        assert names(english[code]) == names(spanish[code]), code
        assert all(name.isidentifier() for name in names(english[code])), code


def test_a_time_that_ends_in_a_full_stop_ends_the_sentence() -> None:
    assert say("thermometers.next_check", "es", day="hoy, 9:20 p.m.") == "Próxima comprobación: hoy, 9:20 p.m."
    assert say("thermometers.next_check", "es", day="mañana") == "Próxima comprobación: mañana."


def test_a_site_is_one_word_in_spanish() -> None:
    """*Centro*; *local* is left for the norms and the hour of a place."""
    other_word = re.compile(r"(?<!norma )(?<!normas )(?<!hora )\b(local(es)?|sedes?|establecimientos?)\b", re.I)
    spanish = resources.texts("es")
    assert [code for code, sentence in spanish.items() if other_word.search(sentence)] == []
    assert spanish["cli.head.site"] == "Centro"


@pytest.mark.parametrize("language", LANGUAGES)
def test_forms_by_number_are_complete(language: str) -> None:
    texts = resources.texts(language)
    plural = {base(code) for code in texts if base(code) != code}
    assert plural
    for code in plural:
        assert {f"{code}.one", f"{code}.other"} <= texts.keys()
        assert code not in texts


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_sentence_claims_what_was_not_earned(language: str) -> None:
    found = {code: text for code, text in resources.texts(language).items() if FORBIDDEN.search(text)}
    assert found == {}


def test_the_search_finds_endings_and_leaves_other_words() -> None:
    for text in ("Certificado", "una lectura segura", "SAFE", "conformes", "traceable."):
        assert FORBIDDEN.search(text), text
    for text in ("Safety officer", "conformidad", "Outside certificate", "seguramente"):
        assert not FORBIDDEN.search(text), text


@pytest.mark.parametrize("language", LANGUAGES)
def test_figures_keep_their_unit_and_spaces_are_single(language: str) -> None:
    for code, text in resources.texts(language).items():
        assert text == text.strip(), code
        assert "  " not in text, code
        assert not re.search(r"\d (°|cm|mm|s\b|min|hPa|m\b)", text), code


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_shipped_font_has_every_character(language: str) -> None:
    face = hb.Face(hb.Blob.from_file_path(str(resources.font_path("AtkinsonHyperlegible-Regular"))))
    used = {ord(each) for text in resources.texts(language).values() for each in text}
    assert used - set(face.unicodes) == set()


def test_nobody_is_shown_a_code() -> None:
    for wrong in ("outcome.passed", "outcome", "", "due.hot_point.many"):
        with pytest.raises(KeyError):
            say(wrong, "en")
    with pytest.raises(KeyError):
        say("outcome.pass", "xx")


def test_a_value_left_out_is_refused() -> None:
    with pytest.raises(KeyError, match="correction"):
        say("adjust_how.trim", "en")
    with pytest.raises(KeyError, match="count"):
        say("due.hot_point_never", "en")


def test_values_are_put_in_as_they_are() -> None:
    assert "{x} &" in say("adjust_how.trim", "en", correction="{x} &")


@pytest.mark.parametrize(
    ("language", "count", "said"),
    [  # Unicode CLDR plural rules: en and es have one for 1; es has many for a million, worded as other here
        ("en", 1, "Hot point every day (none yet)"),
        ("en", 0, "Hot point every 0 days (none yet)"),
        ("en", 90, "Hot point every 90 days (none yet)"),
        ("es", 1, "Punto caliente cada día (aún ninguno)"),
        ("es", 2, "Punto caliente cada 2 días (aún ninguno)"),
        ("es", 1_000_000, "Punto caliente cada 1000000 días (aún ninguno)"),
    ],
)
def test_a_number_chooses_its_form(language: str, count: int, said: str) -> None:
    assert say("due.hot_point_never", language, count=count) == said


def test_a_count_that_is_no_whole_number_is_refused() -> None:
    with pytest.raises(TypeError):
        say("due.hot_point_never", "en", count="90")


# Every code that another part of the program gives has its sentence


def wanted() -> list[str]:
    types = resources.instrument_types()
    codes = [f"outcome.{each}" for each in get_args(Outcome)]
    codes += [f"outcome.{each}_at.{point}" for each in get_args(Outcome) for point in POINTS]
    codes += [f"point.{each}" for each in POINTS]
    codes += [f"incident.{each}" for each in INCIDENTS]
    codes += [f"status.{each}" for each in STATUSES]
    codes += [f"due_state.{each}" for each in {"due", "overdue", "done", "missed"} | ANSWERS]
    codes += [f"due.{each}" for each in RULES - {"after_incident", "after_adjustment"}]  # said by WHY_DUE
    codes += [f"due.{each}" for each in WHY_DUE]
    codes += [f"role.{each}" for each in ("lead", "officer", "auditor", "administrator")]
    codes += [f"reading_role.{each}" for each in ("as_found", "repeat", "as_left", "no_reading")]
    codes += [f"type.{each}" for each in types]
    codes += [f"jurisdiction.{each}" for each in resources.jurisdictions()]
    codes += [f"plan.{each}" for each in resources.default_plans()]
    codes += [f"container.{each}" for each in resources.containers()]
    codes += [f"container_refused.{each.why}" for each in resources.containers().values() if each.why]
    codes += [f"step.{each.step}" for each in resources.limits().values()]
    codes += [f"food.{each.food}" for each in resources.limits().values()]
    codes += [f"scale.{each.scale}" for each in resources.tolerances().values()]
    codes += [f"tolerance.{each.tolerance_class}_{each.scale.lower()}" for each in resources.tolerances().values()]
    for kind in types.values():
        codes += [f"tolerance_class.{kind.tolerance_class}"]
        codes += [f"type_note.{each}" for each in kind.notes]
        codes += [f"caution.{each}" for each in kind.cautions]
        codes += [f"condition.{each.condition}" for each in kind.points if each.condition]
        codes += [f"adjustment.{each}" for each in kind.adjustments]
        codes += [f"adjust_how.{each}" for each in kind.adjustments]
    return codes


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_code_of_tables_and_rules_has_a_sentence(language: str) -> None:
    known = {base(code) for code in resources.texts(language)}
    assert set(wanted()) - known == set()


@pytest.mark.parametrize("table", ["bath", "pressure_source"])
def test_every_bath_and_pressure_source_has_its_figure(table: str) -> None:
    group = table.removesuffix("_source")
    worded = {code.partition(".")[2] for code in resources.texts("en") if code.startswith(f"{table}.")}
    assert worded
    assert {f"{group}.{each}" for each in worded} <= resources.figures().keys()


@pytest.mark.parametrize(
    ("code", "english", "spanish"),
    [
        ("outcome.pass", "Pass", "Apto"),
        ("outcome.conditional_pass", "Conditional pass", "Apto con reserva"),
        ("outcome.conditional_fail", "Conditional fail", "No apto con reserva"),
        ("outcome.fail", "Fail", "No apto"),
        ("outcome.not_accepted", "Not accepted", "No aceptado"),
        ("outcome.cannot_decide", "Cannot decide", "Sin decidir"),
        ("lead.use", "Use", "Usar"),
        ("lead.use_near_limit", "Use, near its limit", "Usar, cerca de su límite"),
        ("lead.use_unsteady", "Use, unsteady", "Usar, inestable"),
        ("lead.adjust_or_do_not_use", "Adjust or do not use", "Ajustar o no usar"),
        ("lead.waits", "Waits", "En espera"),
        (
            "lead.use_by_last_good_check",
            "Use by its last good check",
            "Usar por su última comprobación buena",
        ),
        ("caution.local_codes_first", "Local codes come first.", "Las normas locales tienen preferencia."),
    ],
)
def test_fixed_words(code: str, english: str, spanish: str) -> None:
    assert (say(code, "en"), say(code, "es")) == (english, spanish)


def test_a_tolerance_in_words() -> None:
    said = say("tolerance.food_c", "es", limit="1\u00a0°C", rule="FDA Food Code 2022, 4-203.11(A)")
    assert said == (
        "Un termómetro de alimentos marcado en °C puede desviarse como mucho 1\u00a0°C "
        "(FDA Food Code 2022, 4-203.11(A))."
    )
