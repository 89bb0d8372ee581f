"""The shipped tables: figures against their sources, and nothing that refers to what does not exist."""

import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from fractions import Fraction
from pathlib import Path

import pytest
from babel import Locale

from registry import resources
from registry.compute.atmosphere import PressureFigures
from registry.compute.reference import UNSTATED_DRIFT
from registry.quantity import Reading, TemperatureDifference
from registry.resource_tables import AllowedPoint, Container, Figure, MalformedTable, Plan, ScaleRange, build

ROOT = Path(resources.__file__).parent
EVERYTHING = (
    resources.instrument_types,
    resources.type_drifts,
    resources.jurisdictions,
    resources.tolerances,
    resources.limits,
    resources.figures,
    resources.containers,
    resources.default_plans,
    resources.countries,
)


def records(value: object) -> Iterator[object]:
    """A record and every record inside it."""
    if isinstance(value, tuple):
        for each in value:
            yield from records(each)
    elif is_dataclass(value):
        yield value
        for field in fields(value):
            yield from records(getattr(value, field.name))


def shipped() -> list[object]:
    return [each for table in EVERYTHING for row in table().values() for each in records(row)]


def test_every_type_has_its_drift_and_no_other() -> None:
    assert resources.type_drifts().keys() == resources.instrument_types().keys()
    for row in resources.type_drifts().values():
        assert 0 < row.rate_walk.value < row.rate_spread.value < row.offset_walk.value < row.offset_spread.value


# What the codes say


@pytest.mark.parametrize(
    ("jurisdiction", "tolerance_class", "scale", "limit", "place"),
    [
        # FDA Food Code 2022 as adopted in California HSC 114159(c) and D.C. Mun. Regs 25-A1511
        ("us_fda_2022", "food", "C", "1 dC", "4-203.11(A)"),
        ("us_fda_2022", "food", "dual", "1 dC", "4-203.11(A)"),
        ("us_fda_2022", "food", "F", "2 dF", "4-203.11(B)"),
        ("us_fda_2022", "ambient_water", "C", "1.5 dC", "4-203.12(A)"),
        ("us_fda_2022", "ambient_water", "dual", "1.5 dC", "4-203.12(A)"),
        ("us_fda_2022", "ambient_water", "F", "3 dF", "4-203.12(B)"),
        # 10 NYCRR 14-4.91: "2 °F (1.1 °C)"
        ("us_ny", "food", "F", "2 dF", "14-4.91"),
        ("us_ny", "food", "C", "1.1 dC", "14-4.91"),
        # New York rules food thermometers; those for air and water come from the code it is based on
        ("us_ny", "ambient_water", "F", "3 dF", "4-203.12(B)"),
        # NAC 446.647: 2 °F (1 °C) for food and for the air of refrigerators
        ("us_nv", "food", "C", "1 dC", "NAC 446.647"),
        ("us_nv", "ambient_water", "F", "2 dF", "NAC 446.647"),
        # Food Standards Code 3.2.2 clause 22 (Western Australia, Queensland Government)
        ("au", "food", "C", "1 dC", "3.2.2 clause 22"),
        # common practice, no source
        ("es", "food", "C", "1 dC", ""),
    ],
)
def test_tolerance_of_a_code(jurisdiction: str, tolerance_class: str, scale: str, limit: str, place: str) -> None:
    found = resources.tolerance_for(jurisdiction, tolerance_class, scale)
    assert found is not None
    assert (found.limit, found.place) == (limit, place)


@pytest.mark.parametrize("jurisdiction", ["au", "hk", "uk"])
def test_a_code_in_celsius_is_not_stretched_by_a_fahrenheit_figure_from_elsewhere(jurisdiction: str) -> None:
    assert resources.tolerance_for(jurisdiction, "food", "F") is None


def test_a_tolerance_is_in_the_unit_of_its_scale() -> None:
    for tolerance in resources.tolerances().values():
        assert TemperatureDifference.from_text(tolerance.limit).unit == tolerance.scale.replace("dual", "C")


@pytest.mark.parametrize(
    ("code", "celsius", "fahrenheit", "hold"),
    [
        # Minn. R. 4626.0340; FDA Food Code 3-401.11 (17 s since 2017: from memory)
        ("us_fda_2022.cook_intact", "63 C", "145 F", "15 s"),
        ("us_fda_2022.cook_ground", "68 C", "155 F", "17 s"),
        ("us_mn.cook_ground", "68 C", "155 F", "15 s"),
        ("us_fda_2022.cook_ground_66", "66 C", "150 F", "1 min"),
        ("us_fda_2022.cook_poultry", "74 C", "165 F", "<1 s"),
        # FDA Food Code 3-401.11(B)(2), 3-501.16, 3-403.11: from memory
        ("us_fda_2022.cook_roast_130", "54.4 C", "130 F", "112 min"),
        ("us_fda_2022.cook_roast_145", "62.8 C", "145 F", "4 min"),
        ("us_fda_2022.hot", "57 C", "135 F", ""),
        ("us_fda_2022.cold", "5 C", "41 F", ""),
        ("us_fda_2022.reheat", "74 C", "165 F", "15 s"),
        # Logan City Council, Access Canberra; Food Standards Agency prove-it sheet; Real Decreto 1021/2022
        ("au.hot", "60 C", "", ""),
        ("uk.hot", "63 C", "", ""),
        ("uk.cook", "75 C", "", "30 s"),
        ("es.hot", "63 C", "", ""),
        ("es.cold", "4 C", "", ""),
    ],
)
def test_limit_of_a_code(code: str, celsius: str, fahrenheit: str, hold: str) -> None:
    limit = resources.limits()[code]
    assert (limit.celsius, limit.fahrenheit, limit.hold) == (celsius, fahrenheit, hold)


def test_cooling_counts_six_hours_in_all_in_the_us_and_four_further_ones_in_australia() -> None:
    """Minn. R. 4626.0385; Food Standards Code 3.2.2 as told by Access Canberra."""
    american, australian = resources.limits()["us_fda_2022.cool_whole"], resources.limits()["au.cool_second"]
    assert (american.within, american.within_counts, american.start_celsius) == ("6 h", "total", "57 C")
    assert (australian.within, australian.within_counts, australian.start_celsius) == ("4 h", "stage", "21 C")


def test_a_pair_names_one_temperature_as_its_code_rounds_it() -> None:
    """135 °F is 57.22 °C and 57 °C in the code: pairs stand within a degree and are not conversions."""
    pairs = [(each.celsius, each.fahrenheit) for each in resources.limits().values() if each.fahrenheit]
    pairs += [
        (each.start_celsius, each.start_fahrenheit) for each in resources.limits().values() if each.start_fahrenheit
    ]
    gaps = [abs(Reading.from_text(c).celsius() - Reading.from_text(f).celsius()) for c, f in pairs]
    assert max(gaps) <= Fraction(6, 10)
    assert ("57 C", "135 F") in pairs


def test_limits_are_readings_and_say_which_side() -> None:
    sides = dict.fromkeys(("cooking", "microwave", "hot_holding", "reheating", "dish_rinse"), "at_least")
    sides |= dict.fromkeys(("cold_holding", "cooling", "frozen"), "at_most")
    for limit in resources.limits().values():
        assert Reading.from_text(limit.celsius).unit == "C"
        assert not limit.fahrenheit or Reading.from_text(limit.fahrenheit).unit == "F"
        assert limit.side == sides.get(limit.step, limit.side), limit.code
        assert re.fullmatch(r"(<?[0-9]+ (s|min))?", limit.hold), limit.code
        assert re.fullmatch(r"([0-9]+ h)?", limit.within), limit.code
        assert bool(limit.within) == bool(limit.within_counts), limit.code


def test_local_limits_come_first() -> None:
    ground = [each for each in resources.limits_for("us_mn") if each.food == "ground_meat"]
    assert {each.jurisdiction for each in ground} == {"us_mn"}
    assert "us_fda_2022.cook_poultry" in {each.code for each in resources.limits_for("us_mn")}
    cold = [each for each in resources.limits_for("es") if (each.step, each.food) == ("cold_holding", "any")]
    assert [each.code for each in cold] == ["es.cold"]


# What the types may and may not do


def test_types_at_their_points() -> None:
    """FDA Food Code and public handouts as cited in the table; no source for infrared in the boil."""
    types = resources.instrument_types()
    points = {code: {each.point for each in kind.points} for code, kind in types.items()}
    assert points["thermistor_probe"] == {"ice_point", "boiling_point", "comparison"}
    assert points["infrared"] == {"ice_point", "comparison"}
    assert all(points[code] == {"comparison"} for code in ("oven", "fry", "candy", "roast"))
    assert types["bimetal_stem"].allowed("boiling_point") == AllowedPoint("boiling_point", "scale_two_steps_beyond")
    assert types["oven"].allowed("ice_point") is None


def test_figures_of_types_as_published() -> None:
    """USDA FSIS types of thermometers; Purdue 15 s; Queensland 3 min; emissivity bias as computed."""
    types = resources.instrument_types()
    dial, infrared = types["bimetal_stem"], types["infrared"]
    assert dial.sensing_length is not None
    assert (dial.sensing_length.value, dial.settle.value, dial.still.value) == (65, 180, 15)
    assert types["thermocouple_probe"].sensing_length == Figure(
        6, "mm", source="USDA FSIS, types of food thermometers: at least 1/4 in"
    )
    assert infrared.surface


def test_digital_probes_are_steadier_than_dials_and_their_scale_is_truer() -> None:
    types = list(resources.instrument_types().values())
    assert [each.steady_rank for each in types] == list(range(1, len(types) + 1))
    assert [each.code for each in types[:3]] == ["rtd_probe", "thermistor_probe", "thermocouple_probe"]
    for kind in types:
        contact_digital = kind.digital and kind.code != "infrared"
        assert kind.scale_share.value == (0.003 if contact_digital else 0.01)
        assert kind.read_to == ("display" if kind.digital else "half_division")


def test_ranges_and_steps_are_quantities_of_one_unit() -> None:
    for kind in resources.instrument_types().values():
        assert [Reading.from_text(each.low).unit for each in kind.ranges] == ["C", "F"]
        for each in kind.ranges:
            low, high = Reading.from_text(each.low), Reading.from_text(each.high)
            assert low.unit == high.unit
            assert low.value < high.value
            steps = [TemperatureDifference.from_text(step) for step in each.steps]
            assert {step.unit for step in steps} == {low.unit}
            assert all(step.value > 0 for step in steps)


# The figures


@pytest.mark.parametrize(
    ("code", "value", "unit", "form"),
    [  # judgement, common practice, no source
        ("bath.crushed_packed", 0.1, "dC", "rectangular"),
        ("bath.cubes_stirred", 0.2, "dC", "rectangular"),
        ("bath.cubes_careless", 0.3, "dC", "rectangular"),
        ("bath.rolling_boil", 0.5, "dC", "rectangular"),
        ("pressure.room_barometer", 1, "hPa", "rectangular"),
        ("pressure.elevation", 8, "hPa", "standard"),
        ("decision.near_limit_share", 0.8, "share", "plain"),
        ("decision.unsteady_deviations", 3, "count", "plain"),
        ("decision.last_good_days", 7, "days", "plain"),
        ("trust.house_reference_agree", 0.5, "dC", "plain"),
        ("trust.last_good_agree", 1, "dC", "plain"),
        ("trust.two_that_agree_margin", 2, "dC", "plain"),
    ],
)
def test_starting_values(code: str, value: float, unit: str, form: str) -> None:
    figure = resources.figures()[code]
    assert (figure.value, figure.unit, figure.form) == (value, unit, form)


def test_weather_report_term_spans_what_was_computed_at_1600_m() -> None:
    """Sea-level pressure of reports, station truly at 834.0 hPa: 1030.8 to 1000.7 against 1011.8 hPa.

    As a rectangular distribution over that spread, common practice, no source: sd 30.1 / sqrt(12).
    """
    table = resources.figures()
    modelled = table["pressure.weather_report"].value + table["pressure.weather_report_each_100_m"].value * 11
    assert modelled == pytest.approx((1030.8 - 1000.7) / 12**0.5, abs=0.2)


def test_what_a_computation_takes_unasked_is_what_the_table_ships() -> None:
    """Starting values that stand in the code as well are the table's, in its units."""
    table, figures = resources.figures(), PressureFigures()
    for code, pascal in (
        ("room_barometer", figures.room_barometer_half_width_pa),
        ("household_absolute", figures.household_absolute_half_width_pa),
        ("household_sea_level", figures.household_sea_level_half_width_pa),
        ("altimeter_setting", figures.altimeter_setting_u_pa),
        ("weather_report", figures.weather_report_u_pa),
        ("weather_report_each_100_m", 100 * figures.reduction_u_pa_per_m),
        ("elevation", figures.elevation_u_pa),
    ):
        assert 100 * table[f"pressure.{code}"].value == pytest.approx(pascal), code
    assert table["reference.unstated_drift"].value == UNSTATED_DRIFT


def test_pressure_sources_rank_as_their_trust() -> None:
    table = resources.figures()
    order = ["room_barometer", "altimeter_setting", "weather_report", "elevation"]
    shrink = {"rectangular": 3**-0.5, "standard": 1.0}
    spread = [table[f"pressure.{code}"].value * shrink[table[f"pressure.{code}"].form] for code in order]
    assert spread == sorted(spread)
    assert 0.5 <= table["pressure.altimeter_setting"].value <= 1


def test_every_figure_and_range_has_a_source_or_is_marked_a_starting_value() -> None:
    found = [each for each in shipped() if isinstance(each, Figure | ScaleRange)]
    assert len(found) > 150
    assert all(each.source or each.starting for each in found)


def test_every_rule_has_its_source_and_a_code_its_place() -> None:
    rules = [*resources.tolerances().values(), *resources.limits().values()]
    assert all(each.source for each in rules)
    assert {each.jurisdiction for each in rules if not each.place} <= {"common_practice", "uk"}


def test_only_a_metal_pot_is_boiled_in() -> None:
    """H. Chang, Science Progress 91 (2008) 219: glass and ceramic superheat, non-stick differs."""
    table = resources.containers()
    assert {each.code for each in table.values() if each.allowed} == {"metal_pot"}
    assert set(table) == {"metal_pot", "cup", "glass", "non_stick", "microwave"}
    assert all(bool(each.why) != each.allowed for each in table.values())


# Nothing refers to what does not exist


def test_references_among_tables() -> None:
    known = resources.jurisdictions().keys()
    based = {each.based_on for each in resources.jurisdictions().values()} - {""}
    ruled = {each.jurisdiction for each in [*resources.tolerances().values(), *resources.limits().values()]}
    chosen = {each.jurisdiction for each in resources.countries().values()}
    assert based | ruled | chosen <= known
    assert {each.country for each in resources.jurisdictions().values()} <= resources.countries().keys()
    assert {each.instead_of for each in resources.limits().values()} - {""} <= resources.limits().keys()


def test_an_alternative_stands_in_for_the_same_food() -> None:
    limits = resources.limits()
    for each in limits.values():
        if each.instead_of:
            main = limits[each.instead_of]
            assert not main.instead_of
            assert (each.step, each.food, each.side) == (main.step, main.food, main.side)


def test_every_jurisdiction_ends_in_one_that_rules_everything() -> None:
    for code in resources.jurisdictions():
        for tolerance_class in ("food", "ambient_water"):
            assert resources.tolerance_for(code, tolerance_class, "C") is not None
        steps = {each.step for each in resources.limits_for(code)}
        assert {"cooking", "hot_holding", "cold_holding", "reheating"} <= steps, code


def test_plans_name_known_types_and_give_days_where_needed() -> None:
    plans = resources.default_plans()
    assert set(plans) == {"each_shift", "risk_based"}
    for rule in (rule for plan in plans.values() for rule in plan.rules):
        assert set(rule.types) <= resources.instrument_types().keys()
        assert (rule.days is not None) or rule.code not in ("every_days", "hot_point")
    every = [rule for rule in plans["risk_based"].rules if rule.code == "every_days"]
    named = [code for rule in every for code in rule.types]
    assert sorted(named) == sorted(resources.instrument_types())
    days = {code: rule.days.value for rule in every if rule.days for code in rule.types}
    assert (days["bimetal_stem"], days["thermistor_probe"]) == (1, 7)


def test_plans_are_taken_by_the_schedule() -> None:
    from registry.compute.schedule import DueRule

    for rule in (rule for plan in resources.default_plans().values() for rule in plan.rules):
        days = int(rule.days.value) if rule.days else None
        taken = DueRule(rule.code, rule.point or None, days, frozenset(rule.types))
        assert taken.days == days


def test_countries() -> None:
    """ISO 3166 codes and regions as CLDR (Babel) knows them; Letter and °F countries: CLDR, from memory."""
    table = resources.countries()
    territories = Locale.parse("en").territories
    assert all(len(code) == 2 and code in territories for code in table)
    for country in table.values():
        region = Locale.parse(country.region)
        assert region.territory == country.code or country.code == "ZZ"
    assert (table["US"].unit, table["US"].paper, table["US"].region) == ("F", "Letter", "en_US")
    assert (table["ES"].unit, table["ES"].paper, table["ES"].region) == ("C", "A4", "es_ES")
    assert {"US", "PR"} <= {each.code for each in table.values() if each.unit == "F"}
    assert "ZZ" in table


# What a malformed table says


GOOD = {"value": 0.1, "unit": "dC", "starting": True}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"valeu": 1}, "unknown field valeu"),
        ({"value": None}, "missing field value"),
        ({"value": "0.1"}, "value: expected float, found '0.1'"),
        ({"value": True}, "value: expected float, found True"),
        ({"unit": "furlong"}, "unit: 'furlong' is none of"),
        ({"starting": False}, "needs a source, or starting = true"),
        ({"starting": 1}, "starting: expected bool, found 1"),
    ],
)
def test_a_malformed_figure_is_refused_by_row_and_field(change: dict[str, object], said: str) -> None:
    row = {key: value for key, value in (GOOD | change).items() if value is not None}
    with pytest.raises(MalformedTable, match=re.escape(said)) as caught:
        build(Figure, row, "figures.toml, bath.x")
    assert str(caught.value).startswith("figures.toml, bath.x")


def test_a_malformed_part_is_named_by_its_place() -> None:
    row = {"low": "0 C", "high": "9 C", "steps": ["1 dC", 2], "starting": True}
    with pytest.raises(MalformedTable, match=re.escape("t, steps[1]: expected str, found 2")):
        build(ScaleRange, row, "t")
    with pytest.raises(MalformedTable, match="steps: expected a list"):
        build(ScaleRange, row | {"steps": "1 dC"}, "t")
    with pytest.raises(MalformedTable, match="expected a table"):
        build(Figure, 3, "t")
    with pytest.raises(MalformedTable, match="sentinels_a_shift"):
        build(Plan, {"code": "x", "rules": [], "sentinels_a_shift": 1}, "t")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[cup]\nallowed = true\n[cup]\nallowed = false\n", "containers.toml: "),  # the same code twice
        ("cup = 3\n", "containers.toml, cup: expected a table, found 3"),
        ("[cup]\nallowed = true\n", "containers.toml, cup: missing field point, source"),
    ],
)
def test_a_malformed_file_is_refused(text: str, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "containers.toml").write_text(text, encoding="utf-8")
    monkeypatch.setattr(resources, "files", lambda _package: tmp_path)
    with pytest.raises(MalformedTable, match=re.escape(said)):
        resources._coded("containers", Container)


# Files and fonts


def test_what_is_read_once_is_frozen() -> None:
    for table in EVERYTHING:
        assert table() is table()
        with pytest.raises(TypeError):
            table()["x"] = None  # type: ignore[index]


@pytest.mark.parametrize("name", resources.FONTS)
def test_fonts_are_true_type_files(name: str) -> None:
    """OpenType 1.9, table directory: sfnt version 0x00010000 is TrueType outlines, which reportlab needs."""
    assert resources.font_path(name).read_bytes()[:4] == b"\x00\x01\x00\x00"


def test_an_unknown_font_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        resources.font_path("Comic")


def test_no_other_module_finds_files() -> None:
    finders = re.compile(r"importlib\.resources|\b__file__\b|\bpkgutil\b|\bfontpkg\b")
    found = [path.name for path in ROOT.rglob("*.py") if finders.search(path.read_text(encoding="utf-8"))]
    assert found == ["resources.py"]


def test_tables_come_without_babel_fonts_or_numpy() -> None:
    program = (
        "import sys, registry.resources as r, registry.wording, registry.wording.format\n"
        "r.instrument_types(), r.limits(), r.texts('es'), registry.wording.say('lead.use', 'es')\n"
        "print([each for each in ('babel', 'fontpkg', 'numpy') if each in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=ROOT.parent)
    assert run.stdout.strip() == "[]"


def test_a_sentence_is_found_without_reading_all_files() -> None:
    """Reading them all takes 20 ms of a window's start."""
    program = (
        "import tomllib\nread, really = [], tomllib.loads\n"
        "tomllib.loads = lambda text: read.append(1) or really(text)\n"
        "from registry.wording import say\nsay('frame.opening', 'en'), say('frame.title', 'en'), print(len(read))"
    )
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=ROOT.parent)
    assert run.stdout.strip() == "1"


@pytest.mark.parametrize("language", resources.languages())
def test_all_sentences_are_those_of_the_files(language: str) -> None:
    found = resources.texts(language)
    assert found == {
        code: text for one in resources.prefixes(language) for code, text in resources.sentences(language, one).items()
    }
    assert all(code.partition(".")[0] in resources.prefixes(language) for code in found)
    assert resources.sentences(language, "../tables/types") == resources.sentences(language, "") == {}
