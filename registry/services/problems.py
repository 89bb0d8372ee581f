"""What stands against doing what was asked: told as data, worded elsewhere."""

import dataclasses

from registry.store.errors import KnownError, known_from_oserror

__all__ = ["KnownError", "Problem", "Refused", "known_from_oserror", "refuse"]


@dataclasses.dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: the field it is about, a code, and the values its sentence names."""

    field: str
    code: str
    values: dict[str, object] = dataclasses.field(default_factory=dict)


class Refused(Exception):
    """Nothing was recorded; `problems` say why, each beside its field."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__("; ".join(f"{one.field}: {one.code}" for one in problems))
        self.problems = problems


def refuse(field_name: str, code: str, **values: object) -> Refused:
    return Refused(Problem(field_name, code, values))
