"""Makes the project's own environment, once, and runs the asked-for command in it.

Only the standard library is imported: this runs before anything is installed. Started by `run`.
"""

import hashlib
import os
import re
import shutil
import subprocess
import sys
import venv
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parents[2]
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
LOCK = Path(__file__).with_name("requirements.lock")
DONE = VENV / "set-up-done"

# What the window's libraries ask of the system, and the Debian package that holds each.
QT_NEEDS = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libOpenGL.so.0": "libopengl0",
    "libX11-xcb.so.1": "libx11-xcb1",
    "libX11.so.6": "libx11-6",
    "libdbus-1.so.3": "libdbus-1-3",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libgthread-2.0.so.0": "libglib2.0-0",
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-render.so.0": "libxcb-render0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-shm.so.0": "libxcb-shm0",
    "libxcb-sync.so.1": "libxcb-sync1",
    "libxcb-util.so.1": "libxcb-util1",
    "libxcb-xfixes.so.0": "libxcb-xfixes0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxcb.so.1": "libxcb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxkbcommon.so.0": "libxkbcommon0",
}


def main(arguments: list[str]) -> int:
    """Set up if anything changed since the last time, then run the command."""
    mark = set_up_mark()
    if not DONE.is_file() or DONE.read_text() != mark:
        set_up()
        install_qt_needs()
        DONE.write_text(mark)
    match arguments:
        case ["test", *rest]:
            os.chdir(ROOT)
            become("pytest", *tests(rest))
        case ["lint", *rest]:
            os.chdir(ROOT)
            return lint(rest)
        case ["demo", *rest] if "--help" not in rest:  # straight there; told of, and after options, as any command
            become("sample_db.demo", *rest)
        case [] | ["window", *_] if "--help" not in arguments:
            become("ui.app", *arguments[1:])
    become("registry.cli", *arguments)


def set_up_mark() -> str:
    """Changes when the lock, the project's description, its folder or this Python changes."""
    parts = [LOCK.read_bytes(), (ROOT / "pyproject.toml").read_bytes(), Path(__file__).read_bytes()]
    parts += [os.fsencode(ROOT), sys.version.encode()]
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def set_up() -> None:
    """Make .venv and install exactly what the lock lists, then the project itself."""
    print("Setting up (only this first time, a minute or so) ...", file=sys.stderr)
    if Path(sys.prefix).resolve() != VENV.resolve():
        venv.create(VENV, clear=True, symlinks=True)
    if subprocess.run([PYTHON, "-c", "import pip"], stderr=subprocess.DEVNULL).returncode:
        must(PYTHON, "-m", "ensurepip", "--default-pip")
    pip("--require-hashes", "--requirement", LOCK)
    pip("--no-deps", "--no-index", "--no-build-isolation", "--editable", ROOT)


def install_qt_needs() -> None:
    """Install the system libraries Qt lacks, or say in one line how to and stop."""
    missing = missing_libraries()
    if not missing:
        return
    packages = sorted({QT_NEEDS[name] for name in missing if name in QT_NEEDS})
    unknown = sorted(missing - QT_NEEDS.keys())
    if unknown or not shutil.which("apt-get"):
        sys.exit(f"The window needs these system libraries; install them and run this again: {sorted(missing)}")
    if os.geteuid() != 0:
        sys.exit(
            "The window needs some system libraries. Run this once, then ./run again:\n"
            f"  sudo apt-get install {' '.join(packages)}"
        )
    os.environ["DEBIAN_FRONTEND"] = "noninteractive"
    must("apt-get", "update", "-qq")
    must("apt-get", "install", "-qq", "--no-install-recommends", *packages)


def missing_libraries() -> set[str]:
    """Names of shared libraries that Qt's own ones want and this system lacks; none off Linux."""
    qt = VENV / "lib" / f"python3.{sys.version_info.minor}" / "site-packages" / "PySide6" / "Qt"
    wanted = [qt / "lib" / f"libQt6{name}.so.6" for name in ("Widgets", "Svg", "PrintSupport", "Test")]
    wanted += [qt / "plugins" / "platforms" / f"libq{name}.so" for name in ("offscreen", "xcb")]
    if not shutil.which("ldd"):
        return set()
    said = subprocess.run(["ldd", *wanted], capture_output=True, text=True).stdout
    return set(re.findall(r"(\S+) => not found", said))


def tests(arguments: list[str]) -> list[str]:
    """What pytest is asked: the fast tests, the slow ones with --slow, both with --all."""
    match arguments:
        case ["--slow"]:
            return ["-m", "slow", "--timeout=1800", "-n", "2", "--dist", "loadfile"]
        case ["--slow", *rest]:
            return ["-m", "slow", "--timeout=1800", *rest]
        case ["--all", *rest]:
            return ["--timeout=1800", *rest]
        case []:
            # Spreading over processors pays for the whole set only: it takes a second to begin.
            return ["-m", "not slow", "-n", "auto", "--maxprocesses", "4"]
    return ["-m", "not slow", *arguments]


def lint(arguments: list[str]) -> int:
    """Style and types; every finding is shown, not only those of the first tool."""
    tools = [("ruff", "check"), ("ruff", "format", "--check"), ("mypy",)]
    return max(subprocess.run([PYTHON, "-m", *tool, *arguments]).returncode for tool in tools)


def become(module: str, *arguments: str) -> NoReturn:
    """Go on as the project's own Python: signals and exit code are the program's."""
    os.execv(PYTHON, [str(PYTHON), "-m", module, *arguments])


def pip(*arguments: str | Path) -> None:
    quietly = ("-qq", "--no-input", "--disable-pip-version-check")
    must(PYTHON, "-m", "pip", "install", *quietly, *arguments)


def must(*command: str | Path) -> None:
    """Run a command of the set-up; stop with its own message when it fails."""
    if subprocess.run(command, stdout=subprocess.DEVNULL).returncode:
        sys.exit(f"Setting up stopped: {' '.join(map(str, command[:4]))} failed; see above, then run this again.")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
