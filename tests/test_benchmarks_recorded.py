"""Recorded benchmark results are well formed; old ones are listed at the end of each test run."""

import json
from pathlib import Path

import pytest

from tests.benchmarks import record


def test_every_recorded_result_is_whole_and_covers_files_that_exist() -> None:
    assert [problem for path in record.RESULTS.glob("*.json") for problem in record.problems(path)] == []


@pytest.fixture
def written(tmp_path: Path) -> Path:
    """A result about one file, code.py, in a project of its own."""
    (tmp_path / "code.py").write_text("one = 1\n")
    return record.write_result(
        "adding",
        command="./run test --slow tests/benchmarks",
        ratios={"adding to a bare loop": 1.23456},
        covers=["code.py"],
        results=tmp_path / "results",
        root=tmp_path,
    )


def test_a_written_result_is_whole_and_current(written: Path) -> None:
    root = written.parent.parent
    assert record.problems(written, root) == []
    assert record.read(written)["ratios"] == {"adding to a bare loop": 1.235}
    assert record.stale_results(written.parent, root) == []


def test_a_result_is_stale_once_its_code_changes(written: Path) -> None:
    root = written.parent.parent
    (root / "code.py").write_text("one = 2\n")
    assert record.stale_results(written.parent, root) == [
        "adding: code.py changed; measure again: ./run test --slow tests/benchmarks"
    ]


def test_a_covered_file_that_is_gone_is_a_problem(written: Path) -> None:
    root = written.parent.parent
    (root / "code.py").unlink()
    assert record.problems(written, root) == ["adding.json: covers code.py, which is not there"]


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ({"ratios": {}}, "adding.json: lists no ratios"),
        ({"ratios": {"adding": "fast"}}, "adding.json: ratio 'adding' is no number"),
        ({"commit": None}, "adding.json: missing, unknown or malformed: commit"),
        ({"host": "mine"}, "adding.json: missing, unknown or malformed: host"),
        ({"name": "other"}, "adding.json: is named 'other'"),
    ],
)
def test_a_malformed_result_is_a_problem(written: Path, change: dict[str, object], problem: str) -> None:
    written.write_text(json.dumps(record.read(written) | change))
    assert record.problems(written, written.parent.parent) == [problem]
