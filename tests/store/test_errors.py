"""Which of the system's errors a person can mend."""

import ast
import errno
import pickle
from pathlib import Path

import pytest

from registry.store import errors
from registry.store.errors import CODES, KnownError, known_errors, known_from_oserror


@pytest.mark.parametrize(
    ("number", "code"),
    [
        (errno.ENOSPC, "disk_full"),
        (errno.EDQUOT, "disk_full"),
        (errno.EROFS, "read_only"),
        (errno.EACCES, "read_only"),
        (errno.EAGAIN, "locked"),
        (errno.ENOENT, "wrong_place"),
        (errno.EIO, "disk_failing"),
    ],
)
def test_known_ones(number: int, code: str) -> None:
    known = known_from_oserror(OSError(number, "as the system says"), Path("here"))
    assert known is not None
    assert (known.code, known.values) == (code, {"path": "here"})


def test_any_other_is_our_own_mistake() -> None:
    assert known_from_oserror(OSError(errno.EBADF, "bad file descriptor"), "here") is None
    assert known_from_oserror(OSError("no number"), "here") is None
    with pytest.raises(OSError, match="bad"), known_errors("here"):
        raise OSError(errno.EBADF, "bad file descriptor")


def test_the_first_error_stays_behind_the_known_one() -> None:
    with pytest.raises(KnownError) as caught, known_errors("here"):
        raise OSError(errno.ENOSPC, "No space left on device")
    assert isinstance(caught.value.__cause__, OSError)
    assert str(caught.value) == "disk_full path=here"


def test_a_known_error_comes_whole_out_of_another_process() -> None:
    error = pickle.loads(pickle.dumps(KnownError("locked", path="here")))
    assert (error.code, error.values) == ("locked", {"path": "here"})


def codes_raised(file: Path) -> set[str]:
    """The codes that a module gives to KnownError as plain text."""
    calls = [node for node in ast.walk(ast.parse(file.read_text())) if isinstance(node, ast.Call)]
    first = [call.args[0] for call in calls if getattr(call.func, "id", "") == "KnownError" and call.args]
    return {arg.value for arg in first if isinstance(arg, ast.Constant)}


def test_every_code_in_use_is_listed() -> None:
    files = list(Path(errors.__file__).parents[1].rglob("*.py"))
    used = set[str]().union(*map(codes_raised, files))
    assert {"draft_too_large", "key_exists"} <= used  # the search finds what is there
    assert used | set(errors._BY_ERRNO.values()) <= CODES
