"""A script of ours that reads bytes from outside, run as a process of its own that may be ended."""

import subprocess
import sys

from registry import resources


def run(script: str, content: bytes, *words: str, seconds: float) -> tuple[int, bytes]:
    """Its exit code and what it said of the bytes; subprocess.TimeoutExpired, the process ended, where it takes longer.

    Run without our packages and the user's paths: see `resources.script_path`.
    """
    command = [sys.executable, "-I", str(resources.script_path(script)), *words]
    quiet = getattr(subprocess, "CREATE_NO_WINDOW", 0)
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL, creationflags=quiet) as reader:
        try:
            said, _ = reader.communicate(content, timeout=seconds)
        except subprocess.TimeoutExpired:
            reader.kill()
            raise
    return reader.returncode, said
