"""Troubles that a person can mend, told apart from our own mistakes at the lowest layer."""

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from os import PathLike

# Every code that is raised here and in what stands above; each has its sentence in registry.wording.
CODES = frozenset(
    {
        "cannot_open",
        "damaged",
        "disk_failing",
        "disk_full",
        "draft_too_large",
        "entry_gone",
        "exists_already",
        "key_damaged",
        "key_exists",
        "key_missing",
        "locked",
        "missing",
        "newer_file",
        "not_ours",
        "read_only",
        "wrong_place",
    }
)

_BY_ERRNO: dict[int, str] = {
    errno.ENOSPC: "disk_full",
    errno.EDQUOT: "disk_full",
    errno.EFBIG: "disk_full",
    errno.EIO: "disk_failing",
    errno.EROFS: "read_only",
    errno.EACCES: "read_only",
    errno.EPERM: "read_only",
    errno.EAGAIN: "locked",
    errno.EBUSY: "locked",
    errno.ENOENT: "wrong_place",
    errno.ENOTDIR: "wrong_place",
    errno.EISDIR: "wrong_place",
    errno.ELOOP: "wrong_place",
    errno.ENAMETOOLONG: "wrong_place",
    errno.ENODEV: "wrong_place",
    errno.ENXIO: "wrong_place",
}


# By SQLite's extended result code where there is one, else by the primary code in its low byte.
_BY_SQLITE: dict[int, str] = {
    sqlite3.SQLITE_FULL: "disk_full",
    sqlite3.SQLITE_IOERR_WRITE: "disk_full",
    sqlite3.SQLITE_IOERR_SHMSIZE: "disk_full",
    sqlite3.SQLITE_IOERR: "disk_failing",
    sqlite3.SQLITE_BUSY: "locked",
    sqlite3.SQLITE_LOCKED: "locked",
    sqlite3.SQLITE_READONLY: "read_only",
    sqlite3.SQLITE_PERM: "read_only",
    sqlite3.SQLITE_CANTOPEN: "cannot_open",
    sqlite3.SQLITE_NOTADB: "not_ours",
    sqlite3.SQLITE_CORRUPT: "damaged",
}


class KnownError(Exception):
    """Something outside the program is in the way; `code` becomes a sentence that says what to do."""

    def __init__(self, code: str, /, **values: str | int) -> None:
        super().__init__(code)
        self.code = code
        self.values = values

    def __str__(self) -> str:
        return " ".join([self.code, *(f"{name}={value}" for name, value in self.values.items())])


def known_from_oserror(error: OSError, path: str | PathLike[str]) -> KnownError | None:
    """The known trouble behind `error` at `path`; None where it is none, and so our mistake."""
    code = _BY_ERRNO.get(error.errno or 0)
    return None if code is None else KnownError(code, path=str(path))


def known_from_sqlite(error: BaseException | None) -> KnownError | None:
    """The known trouble behind an error of SQLite; None where it is none, and so our mistake."""
    result = getattr(error, "sqlite_errorcode", None)
    if result is None:
        return None
    code = _BY_SQLITE.get(result) or _BY_SQLITE.get(result & 0xFF)
    return KnownError(code) if code else None


@contextmanager
def known_errors(path: str | PathLike[str]) -> Iterator[None]:
    """Turn the operating system's errors at `path` into known ones where they are."""
    try:
        yield
    except OSError as error:
        known = known_from_oserror(error, path)
        if known is None:
            raise
        raise known from error
