"""Keeps what a benchmark measured as JSON, with the code it speaks of, so that an old one shows.

Figures are ratios to a limit measured in the same run: they hold on another machine, seconds do not.
"""

import hashlib
import json
import os
import platform
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
RESULTS = Path(__file__).with_name("results")
FIELDS = {
    "name": str,
    "command": str,
    "commit": str,
    "machine": dict,
    "ratios": dict,
    "covers": dict,
}


def write_result(
    name: str,
    *,
    command: str,
    ratios: Mapping[str, float],
    covers: Sequence[str],
    results: Path = RESULTS,
    root: Path = ROOT,
) -> Path:
    """Write results/NAME.json. `covers` lists source files, by their path from the project's folder."""
    result = {
        "name": name,
        "command": command,
        "commit": commit(root),
        "machine": machine(),
        "ratios": {what: round(float(ratio), 3) for what, ratio in ratios.items()},
        "covers": {path: sha256(root / path) for path in sorted(covers)},
    }
    results.mkdir(exist_ok=True)
    path = results / f"{name}.json"
    path.write_text(json.dumps(result, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    return path


def stale_results(results: Path = RESULTS, root: Path = ROOT) -> list[str]:
    """One line for each result whose code has changed since, naming the files that did."""
    lines = []
    for path in sorted(results.glob("*.json")):
        if problems(path, root):
            continue  # the test beside this says so
        result = read(path)
        changed = [file for file, known in result["covers"].items() if sha256(root / file) != known]
        if changed:
            lines.append(f"{result['name']}: {', '.join(changed)} changed; measure again: {result['command']}")
    return lines


def problems(path: Path, root: Path = ROOT) -> list[str]:
    """What is wrong with a result file: a field, a ratio that is no number, a file that is not there."""
    try:
        result = read(path)
    except ValueError as error:
        return [f"{path.name}: not JSON: {error}"]
    if not isinstance(result, dict):
        return [f"{path.name}: not an object"]
    wrong = [field for field, kind in FIELDS.items() if not isinstance(result.get(field), kind)]
    wrong += [field for field in result if field not in FIELDS]
    if wrong:
        return [f"{path.name}: missing, unknown or malformed: {', '.join(wrong)}"]
    found = [] if result["name"] == path.stem else [f"{path.name}: is named {result['name']!r}"]
    found += [f"{path.name}: lists no {field}" for field in ("ratios", "covers") if not result[field]]
    found += [
        f"{path.name}: ratio {what!r} is no number"
        for what, ratio in result["ratios"].items()
        if not isinstance(ratio, int | float)
    ]
    found += [
        f"{path.name}: covers {file}, which is not there" for file in result["covers"] if not (root / file).is_file()
    ]
    return found


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def machine() -> dict[str, Any]:
    """The machine in words: no name and no folder of it."""
    return {
        "system": f"{platform.system()} {platform.machine()}",
        "python": platform.python_version(),
        "processors": os.cpu_count(),
    }


def commit(root: Path) -> str:
    """The commit that was checked out; the hashes of the files tell whether it was clean."""
    if not shutil.which("git"):
        return "none"
    done = subprocess.run(["git", "rev-parse", "HEAD"], cwd=root, capture_output=True, text=True, check=False)
    return done.stdout.strip() if done.returncode == 0 else "none"
