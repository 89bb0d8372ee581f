"""Find and read what ships with the program: tables of types and rules, sentences, fonts.

No other module finds a file. Each table is read once; what comes back is frozen.
"""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from registry.resource_tables import (
    Container,
    Country,
    Figure,
    InstrumentType,
    Jurisdiction,
    Limit,
    MalformedTable,
    Plan,
    Tolerance,
    TypeDrift,
    build,
)

Record = TypeVar("Record")

# The package and the file of each: asking `fontpkg` itself looks through all that is installed, 20 ms of a start.
FONTS = {
    "AtkinsonHyperlegible-Regular": ("fontpkg_atkinson_hyperlegible", "AtkinsonHyperlegible-Regular.ttf"),
    "AtkinsonHyperlegible-Bold": ("fontpkg_atkinson_hyperlegible", "AtkinsonHyperlegible-Bold.ttf"),
    "AtkinsonHyperlegible-Italic": ("fontpkg_atkinson_hyperlegible", "AtkinsonHyperlegible-Italic.ttf"),
    "AtkinsonHyperlegible-BoldItalic": ("fontpkg_atkinson_hyperlegible", "AtkinsonHyperlegible-BoldItalic.ttf"),
    "NotoSans-Regular": ("fontpkg_noto_sans", "NotoSans[wdth,wght].ttf"),
}


@cache
def instrument_types() -> Mapping[str, InstrumentType]:
    """Every instrument type by its code, the steadiest first."""
    types = _coded("instrument_types", InstrumentType)
    return MappingProxyType(dict(sorted(types.items(), key=lambda item: item[1].steady_rank)))


@cache
def type_drifts() -> Mapping[str, TypeDrift]:
    """Where the tracking of a type begins, by its code."""
    return _coded("tracking", TypeDrift)


@cache
def jurisdictions() -> Mapping[str, Jurisdiction]:
    return _coded("jurisdictions", Jurisdiction)


@cache
def tolerances() -> Mapping[str, Tolerance]:
    """Every tolerance by its code, `jurisdiction.name`."""
    return _ruled("tolerances", Tolerance)


@cache
def limits() -> Mapping[str, Limit]:
    """Every temperature limit for food by its code, `jurisdiction.name`. Local codes come first."""
    return _ruled("limits", Limit)


@cache
def figures() -> Mapping[str, Figure]:
    """Single figures by dotted code, such as `bath.crushed_packed` or `pressure.elevation`."""
    return _frozen({code: build(Figure, row, f"figures.toml, {code}") for code, row in _pairs("figures")})


@cache
def containers() -> Mapping[str, Container]:
    return _coded("containers", Container)


@cache
def default_plans() -> Mapping[str, Plan]:
    """The recheck plans that a first start offers."""
    return _coded("plans", Plan)


@cache
def countries() -> Mapping[str, Country]:
    """Defaults by ISO 3166 alpha-2 code; ZZ is any country that is not listed."""
    return _coded("countries", Country)


def tolerance_for(jurisdiction: str, tolerance_class: str, scale: str) -> Tolerance | None:
    """The rule for a thermometer marked so, or None where the code that rules its class leaves it out.

    A jurisdiction that rules a class at all rules it alone: a limit in °C is not stretched by a
    °F figure from elsewhere.
    """
    for code in _lineage(jurisdiction):
        rules = [
            each
            for each in tolerances().values()
            if each.jurisdiction == code and each.tolerance_class == tolerance_class
        ]
        if rules:
            return next((each for each in rules if each.scale == scale), None)
    return None


def limits_for(jurisdiction: str) -> tuple[Limit, ...]:
    """The limits in force: its own, and for every step and food that it leaves out those it is based on."""
    found: list[Limit] = []
    for code in _lineage(jurisdiction):
        ruled = {(each.step, each.food) for each in found}
        found += [
            each for each in limits().values() if each.jurisdiction == code and (each.step, each.food) not in ruled
        ]
    return tuple(found)


@cache
def languages() -> tuple[str, ...]:
    return tuple(sorted(each.name for each in (files("resources") / "texts").iterdir() if each.is_dir()))


@cache
def texts(language: str) -> Mapping[str, str]:
    """Every sentence of a language by dotted code; the first part is the name of its file."""
    found: dict[str, str] = {}
    for prefix in prefixes(language):
        found |= sentences(language, prefix)
    return _frozen(found)


@cache
def sentences(language: str, prefix: str) -> Mapping[str, str]:
    """Those of one file, so that a window need not wait for all; none where there is no such file."""
    if prefix not in prefixes(language):
        return _frozen({})
    return _frozen(_sentences(prefix, tomllib.loads((_texts(language) / f"{prefix}.toml").read_text("utf-8"))))


@cache
def prefixes(language: str) -> tuple[str, ...]:
    """The files of sentences; KeyError for a language that there is none of."""
    if language not in languages():
        raise KeyError(language)
    names = sorted(each.name for each in _texts(language).iterdir())
    return tuple(one.removesuffix(".toml") for one in names if one.endswith(".toml"))


def _texts(language: str) -> Traversable:
    return files("resources") / "texts" / language


def font_path(name: str) -> Path:
    """Where the font file of that name lies; KeyError for a font that is not shipped."""
    package, file = FONTS[name]
    return Path(str(files(package))) / "files" / file


def drawing_path(name: str) -> Path:
    """Where the line drawing of that name lies; KeyError for one that is not shipped."""
    found = Path(str(files("resources"))) / "drawings" / f"{name}.svg"
    if not name.isidentifier() or not found.is_file():
        raise KeyError(name)
    return found


def script_path(name: str) -> Path:
    """Where the service lies that is run as a process of its own; it imports nothing of ours."""
    return Path(str(files("registry.services"))) / f"{name}.py"


def _table(name: str) -> dict[str, Any]:
    try:
        return tomllib.loads((files("resources") / "tables" / f"{name}.toml").read_text("utf-8"))
    except tomllib.TOMLDecodeError as problem:
        raise MalformedTable(f"{name}.toml: {problem}") from None


def _coded(name: str, record: type[Record]) -> Mapping[str, Record]:
    """Rows under their code. TOML itself refuses a code that stands twice."""
    return _frozen(
        {
            code: build(record, {"code": code, **_row(row, name, code)}, f"{name}.toml, {code}")
            for code, row in _table(name).items()
        }
    )


def _ruled(name: str, record: type[Record]) -> Mapping[str, Record]:
    """Rows under jurisdiction and name."""
    found = {}
    for code, row in _pairs(name):
        whose = {"code": code, "jurisdiction": code.partition(".")[0]}
        found[code] = build(record, whose | _row(row, name, code), f"{name}.toml, {code}")
    return _frozen(found)


def _pairs(name: str) -> Iterator[tuple[str, Any]]:
    for group, rows in _table(name).items():
        for code, row in _row(rows, name, group).items():
            yield f"{group}.{code}", row


def _row(row: object, name: str, code: str) -> dict[str, Any]:
    if not isinstance(row, dict):
        raise MalformedTable(f"{name}.toml, {code}: expected a table, found {row!r}")
    return row


def _sentences(prefix: str, table: dict[str, Any]) -> dict[str, str]:
    found: dict[str, str] = {}
    for key, value in table.items():
        code = f"{prefix}.{key}"
        if isinstance(value, dict):
            found |= _sentences(code, value)
        elif isinstance(value, str):
            found[code] = value
        else:
            raise MalformedTable(f"{code}: a sentence must be a text, found {value!r}")
    return found


def _lineage(jurisdiction: str) -> Iterator[str]:
    while jurisdiction:
        yield jurisdiction
        jurisdiction = jurisdictions()[jurisdiction].based_on


def _frozen(found: dict[str, Record]) -> Mapping[str, Record]:
    return MappingProxyType(found)
