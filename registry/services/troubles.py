"""The log of our own mistakes: where and of which kind, never what; texts of errors may hold names and payloads."""

import traceback
from pathlib import Path

LOG_NAME = "troubles.log"


def trace(error: BaseException) -> str:
    """The kinds of an error and its causes with the places in the code, and nothing else."""
    lines = []
    cause: BaseException | None = error
    while cause is not None:
        lines.append(type(cause).__name__)
        for frame in traceback.extract_tb(cause.__traceback__):
            lines.append(f"  {'/'.join(Path(frame.filename).parts[-3:])}:{frame.lineno} {frame.name}")
        cause = cause.__cause__ or cause.__context__
    return "\n".join([*lines, ""])


def note(error: BaseException, home: Path) -> Path | None:
    """Add an error to the log of a registry's folder; None where that could not be done."""
    if not home.is_dir():
        return None
    try:
        with (home / LOG_NAME).open("a", encoding="utf-8") as file:
            file.write(trace(error))
    except OSError:
        return None
    return home / LOG_NAME
