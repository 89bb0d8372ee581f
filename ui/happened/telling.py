"""What the service says against a sheet, brought to where it is shown: a line, the bath on top, or below all."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from registry.services.problems import Problem
from ui.happened.keyed import OF_A_BATH, PRESSURE_QUESTIONS, Line

COLUMNS = {"readings": "reading", "why": "instead", "role": "instead", "tag": "reading"}


@dataclass(frozen=True, slots=True)
class Told:
    """Problems by place; those of lines bear the number that their line has in the grid."""

    by_line: Mapping[int, list[Problem]] = field(default_factory=dict)
    of_bath: tuple[Problem, ...] = ()
    general: tuple[Problem, ...] = ()

    @property
    def first(self) -> tuple[int, str] | None:
        """The first line that is wrong, and in which column."""
        if not self.by_line:
            return None
        line = min(self.by_line)
        name = self.by_line[line][0].field
        return line, COLUMNS.get(name, name)


def line_of(problem: Problem, said: Sequence[int]) -> int | None:
    """The grid's line of a problem; `said`: the grid's lines that were handed over, in order."""
    number = problem.values.get("row")
    return said[number - 1] if isinstance(number, int) and 1 <= number <= len(said) else None


def sorted_out(problems: Sequence[Problem], said: Sequence[int]) -> Told:
    by_line: dict[int, list[Problem]] = {}
    of_bath, general = [], []
    for one in problems:
        line = line_of(one, said)
        if one.field in OF_A_BATH:
            of_bath.append(one)
        elif line is not None:
            by_line.setdefault(line, []).append(Problem(one.field, one.code, {**one.values, "row": line + 1}))
        else:
            general.append(one)
    return Told(by_line, tuple(of_bath), tuple(general))


def all_stand(
    problems: Sequence[Problem], said: Sequence[int], lines: Sequence[Line], *, pressure: bool
) -> frozenset[str]:
    """The codes of the questions, where there is nothing but questions and each stands so on the paper."""
    codes = set()
    for one in problems:
        line = line_of(one, said)
        if one.code in PRESSURE_QUESTIONS and pressure:
            codes.add("pressure_kind")
        elif line is not None and one.code in lines[line].stands:
            codes.add(one.code)
        else:
            return frozenset()
    return frozenset(codes)
