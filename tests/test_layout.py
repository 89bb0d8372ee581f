"""The order of the packages, what each may bring along, and house rules that a pattern can find."""

import ast
import re
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
CODE = ("registry", "ui", "resources", "sample_db", "tests")
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "run", "docs", *CODE}

# Each package, and what of ours it may import beside itself; a new package needs a line here.
LOW = {"registry.quantity", "registry.compute"}
TABLES = {"registry.resources", "registry.resource_tables"}
MAY_IMPORT = {
    "registry.quantity": set(),
    "registry.resource_tables": {"registry.quantity"},
    "registry.resources": {"registry.resource_tables"},
    "registry.compute": {"registry.quantity"},
    "registry.records": LOW,
    "registry.journal": LOW | {"registry.records"},
    "registry.wording": LOW | TABLES | {"registry.records"},
    "registry.charts": LOW | {"registry.records"},
    "registry.store": LOW | TABLES | {"registry.records", "registry.journal"},
    "registry.documents": LOW | TABLES | {"registry.records", "registry.wording", "registry.charts"},
}
MAY_IMPORT["registry.services"] = set(MAY_IMPORT)
SEEN_BY_PEOPLE = {"registry.services", "registry.records", "registry.wording", "registry.charts"}
MAY_IMPORT |= {
    "registry.commands": SEEN_BY_PEOPLE | LOW | TABLES,
    "registry.cli": {"registry.commands"},
    "ui": SEEN_BY_PEOPLE | TABLES | {"registry.quantity"},
    "resources": set(),
    "sample_db": {*MAY_IMPORT, "registry.cli", "ui"},
}

# Libraries that come along only where they are wanted, by the packages that may import them at all.
JUDGES = ["CoolProp", "fluids", "iapws", "lifelines", "rfc8785", "statsmodels", "zxingcpp"]
ONLY_IN = {
    "PySide6": ["ui", "sample_db"],
    "sqlalchemy": ["registry.store"],
    "psycopg": ["registry.store"],
    "reportlab": ["registry.documents"],
    **{judge: [] for judge in JUDGES},
}
# Services pass connections on without looking into them.
ALSO_NAMED_IN = {"registry.services": {"sqlalchemy.Connection", "sqlalchemy.Engine"}}
HEAVY = ["PySide6", "reportlab", "scipy", "sqlalchemy"]
# What a fresh process must not have loaded after every module of the package was imported.
COMES_NOT_ALONG = {
    "registry.quantity": HEAVY,
    "registry.resource_tables": HEAVY,
    "registry.resources": HEAVY,
    "registry.compute": HEAVY,
    "registry.records": HEAVY,
    "registry.journal": HEAVY,
    "registry.wording": HEAVY,
    "registry.charts": HEAVY,
    "registry.store": ["PySide6", "reportlab", "scipy"],
    "registry.services": ["PySide6", "reportlab", "scipy"],
    "registry.documents": ["PySide6", "scipy", "sqlalchemy"],
    "registry.commands": ["PySide6", "reportlab", "scipy"],
    "registry.cli": HEAVY,
    "ui": ["reportlab", "scipy"],
}


def modules_of(package: str) -> list[str]:
    """Dotted names of every module in a package, or of the one module, that is there today."""
    path = ROOT.joinpath(*package.split("."))
    files = [*path.rglob("*.py"), *([path.with_suffix(".py")] if path.with_suffix(".py").is_file() else [])]
    return sorted(".".join(file.relative_to(ROOT).with_suffix("").parts) for file in files)


def package_of(module: str, known: dict[str, set[str]] | set[str]) -> str | None:
    """The longest known package that a dotted name lies in."""
    parts = module.split(".")
    names = [".".join(parts[:end]) for end in range(len(parts), 0, -1)]
    return next((name for name in names if name in known), None)


def imports_of(file: Path) -> Iterator[tuple[str, int]]:
    """Every module a file imports, wherever in it, with the line."""
    tree = ast.parse(file.read_text(encoding="utf-8"), str(file))
    here = list(file.relative_to(ROOT).with_suffix("").parts)
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = here[: len(here) - node.level] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            # `from registry import store` imports registry.store
            yield from ((f"{base}.{alias.name}", node.lineno) for alias in node.names)


def source_files(*folders: str) -> list[Path]:
    return sorted(file for folder in folders for file in (ROOT / folder).rglob("*.py"))


def wrong_imports(file: Path) -> list[str]:
    """Imports of ours that go up, and of libraries that have no business in this package."""
    module = ".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
    package = package_of(module, MAY_IMPORT)
    where = file.relative_to(ROOT)
    if package is None:
        return [] if module == "registry" else [f"{where}: has no place in the order; give it one in this test"]
    wrong = []
    for name, line in imports_of(file):
        top = name.split(".")[0]
        target = package_of(name, MAY_IMPORT)
        if target and target != package and target not in MAY_IMPORT[package]:
            wrong.append(f"{where}:{line}: {package} may not import {target}")
        elif top == "tests" or (top == "registry" and target is None and module != "registry"):
            wrong.append(f"{where}:{line}: {name} is nothing that {package} may import")
        elif top in ONLY_IN and package not in ONLY_IN[top] and name not in ALSO_NAMED_IN.get(package, set()):
            wrong.append(f"{where}:{line}: {top} may not be imported in {package}")
    return wrong


def test_no_package_imports_a_higher_one_or_a_library_that_is_not_its_own() -> None:
    files = source_files("registry", "ui", "resources", "sample_db")
    program = [file for file in files if "setup" not in file.relative_to(ROOT).parts]
    assert [line for file in program for line in wrong_imports(file)] == []


@pytest.mark.parametrize(
    ("module", "line", "said"),
    [
        ("registry/compute/water.py", "from registry.store import database", "may not import registry.store"),
        ("registry/compute/water.py", "from ..records import baths", "may not import registry.records"),
        ("registry/records/baths.py", "from registry import services", "may not import registry.services"),
        ("registry/services/checks.py", "import ui.window", "may not import ui"),
        ("registry/services/checks.py", "def f():\n    import PySide6.QtCore", "PySide6 may not be imported"),
        ("registry/services/checks.py", "from sqlalchemy import select", "sqlalchemy may not be imported"),
        ("registry/compute/water.py", "import iapws", "iapws may not be imported"),
        (
            "registry/compute/water.py",
            "from tests import postgres",
            "nothing that registry.compute may import",
        ),
        ("registry/novel.py", "import math", "has no place in the order"),
        ("ui/window.py", "from registry.store import tables", "may not import registry.store"),
    ],
)
def test_a_wrong_import_is_found(
    module: str, line: str, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.modules[__name__], "ROOT", tmp_path)
    file = tmp_path / module
    file.parent.mkdir(parents=True)
    file.write_text(f"{line}\n")
    (found,) = wrong_imports(file)
    assert said in found


def test_a_right_import_is_left_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules[__name__], "ROOT", tmp_path)
    file = tmp_path / "registry" / "services" / "checks.py"
    file.parent.mkdir(parents=True)
    file.write_text("import math\nfrom sqlalchemy import Connection\nfrom registry.store import database\n")
    assert wrong_imports(file) == []


def test_only_the_store_knows_its_tables() -> None:
    files = [file for file in source_files("registry", "ui", "sample_db") if "store" not in file.parts]
    reaching = [
        f"{file.relative_to(ROOT)}:{line}"
        for file in files
        for name, line in imports_of(file)
        if name.startswith(("registry.store.tables", "registry.store.schema"))
    ]
    assert reaching == []


ASKED_ALIKE = [
    [name for name, barred in COMES_NOT_ALONG.items() if barred == some and modules_of(name)]
    for some in map(list, {tuple(barred): None for barred in COMES_NOT_ALONG.values()})
]


@pytest.mark.parametrize("packages", ASKED_ALIKE, ids=lambda names: f"{names[0]} and {len(names) - 1} more")
def test_fresh_imports_bring_nothing_heavy_along(packages: list[str]) -> None:
    """Those of which the same is asked, in one process."""
    brings_nothing_heavy_along(packages)


@pytest.mark.slow
@pytest.mark.parametrize("package", [name for name in COMES_NOT_ALONG if modules_of(name)])
def test_a_fresh_import_brings_nothing_heavy_along(package: str) -> None:
    """Each without any other imported before it."""
    brings_nothing_heavy_along([package])


def brings_nothing_heavy_along(packages: list[str]) -> None:
    loads = "import importlib, sys; [importlib.import_module(name) for name in sys.argv[1].split()]"
    tops = "print(*{name.split('.')[0] for name in sys.modules})"
    names = " ".join(name.removesuffix(".__init__") for package in packages for name in modules_of(package))
    done = subprocess.run(
        [sys.executable, "-c", f"{loads}; {tops}", names],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert set(done.stdout.split()) & {*COMES_NOT_ALONG[packages[0]], *JUDGES} == set()


def test_the_top_level_holds_nothing_else() -> None:
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert there - TOP_LEVEL == set()


@dataclass(frozen=True)
class HouseRule:
    """A pattern that must not be found, and what to do instead."""

    pattern: str
    instead: str
    folders: tuple[str, ...] = ("registry", "ui", "sample_db")
    suffixes: tuple[str, ...] = (".py",)
    exempt: tuple[str, ...] = ()
    found: tuple[str, ...] = ()
    allowed: tuple[str, ...] = ()


TEXT = (".py", ".md", ".toml", ".json", ".lock", ".txt", ".svg", ".csv", "")
EVERYWHERE = (*CODE, "docs", ".ci", "README.md", "DEVELOPERS.md", "pyproject.toml", "run", ".gitignore")
HOUSE_RULES = [
    HouseRule(
        r"\b(datetime\.(now|utcnow|today)|date\.today|time\.time(_ns)?)\(",
        "take the time from a clock that is passed in",
        exempt=("registry/services/clock.py", "registry/cli.py"),
        found=("datetime.now(UTC)", "x = time.time()", "date.today()"),
        allowed=("time.perf_counter()", "clock.now()", "entry.datetime.nowhere()"),
    ),
    HouseRule(
        r"(?<!app)(?<!application)(?<!Application)\.exec_?\(",
        "open(), and ask through the one object that asks",
        folders=("ui",),
        found=("dialog.exec()", "QDialog(self).exec()", "menu.exec_(place)"),
        allowed=("app.exec()", "QApplication.exec()"),
    ),
    HouseRule(
        r"\bresizeRowsToContents\b",
        "a fixed row height: this measures every row",
        folders=("ui",),
        found=("table.resizeRowsToContents()",),
    ),
    HouseRule(
        r"\btime\.sleep\(|\bprocessEvents\(",
        "wait for what is awaited: waitSignal, waitUntil, an injected clock",
        folders=("tests",),
        found=("time.sleep(1)", "app.processEvents()"),
    ),
    HouseRule(
        r"(?i)\binsert or replace\b",
        "a plain INSERT: this one walks through triggers that refuse UPDATE and DELETE",
        found=("INSERT OR REPLACE INTO entry",),
        allowed=("INSERT INTO entry",),
    ),
    HouseRule(
        r"(?<![\w.$}])/(work|root|tmp|home)(/|\b)(?![-\w]*>)",
        "no folder of one machine: take it from tempfile, Path.home() or the arguments",
        folders=EVERYWHERE,
        suffixes=TEXT,
        found=("open('/tmp/x')", "cd /work/main", '"/root"', "/home/ann/registry.db"),
        allowed=("tests/tmp/x", "tmp_path / 'x'", "</root>", "rework/main"),
    ),
    HouseRule(
        r"(?i)pypi\.org|pythonhosted|debian\.org|npmjs|--(extra-)?index-url|--find-links",
        "name no package host; the reader's own set-up knows one",
        folders=EVERYWHERE,
        suffixes=TEXT,
        found=("--index-url x", "https://pypi.org/simple"),
        allowed=("pip install",),
    ),
    HouseRule(
        r"\.\./shared\b",
        "state the fact itself",
        folders=EVERYWHERE,
        suffixes=TEXT,
        exempt=(".ci/run",),
        found=("see ../shared/x.md",),
        allowed=("a shared bath",),
    ),
]


def breaches(rule: HouseRule) -> list[str]:
    paths = [ROOT / name for name in rule.folders]
    files = [file for path in paths for file in ([path] if path.is_file() else sorted(path.rglob("*")))]
    return [
        f"{file.relative_to(ROOT)}:{number}: {line.strip()[:90]}: {rule.instead}"
        for file in files
        if file.is_file() and file.suffix in rule.suffixes and file != Path(__file__)
        if file.relative_to(ROOT).as_posix() not in rule.exempt
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1)
        if re.search(rule.pattern, line)
    ]


@pytest.mark.parametrize("rule", HOUSE_RULES, ids=lambda rule: rule.instead)
def test_house_rule(rule: HouseRule) -> None:
    assert [text for text in rule.found if not re.search(rule.pattern, text)] == []
    assert [text for text in rule.allowed if re.search(rule.pattern, text)] == []
    assert breaches(rule) == []


def test_the_lock_holds_each_package_with_hashes_and_no_address() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = {plain_name(line) for line in [*project["dependencies"], *extras["postgres"], *extras["test"]]}
    lock = (ROOT / "resources" / "setup" / "requirements.lock").read_text(encoding="utf-8")
    pins = re.split(r"\n(?=\S)", lock.strip())
    assert wanted - {plain_name(pin) for pin in pins} == set()
    assert [pin for pin in pins if not re.match(r"[\w.-]+==[\w.]+ ", pin) or "--hash=sha256:" not in pin] == []
    assert "/" not in lock


def plain_name(requirement: str) -> str:
    """A package's name as indexes compare it."""
    return re.sub(r"[-_.]+", "-", re.split(r"[\[=<>~!; ]", requirement)[0]).lower()


@pytest.mark.slow
def test_a_built_package_carries_the_resources_and_the_command(tmp_path: Path) -> None:
    build = [sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-index", "--no-build-isolation"]
    subprocess.run([*build, "--wheel-dir", tmp_path, ROOT], check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as packed:
        names = set(packed.namelist())
        (command,) = [name for name in names if name.endswith("entry_points.txt")]
        assert "thermometer-registry = registry.cli:main" in packed.read(command).decode()
    program = [path for top in ("registry", "ui", "resources", "sample_db") for path in (ROOT / top).rglob("*")]
    wanted = {path.relative_to(ROOT).as_posix() for path in program if path.is_file()}
    assert {name for name in wanted if "__pycache__" not in name} - names == set()
    assert {name.split("/")[0] for name in names} <= {
        "registry",
        "ui",
        "resources",
        "sample_db",
        command.split("/")[0],
    }
