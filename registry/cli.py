"""The command line: everything that the window does, without one. See `registry.commands`."""

import sys
from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code that `--help` explains."""
    from registry.commands.run import run

    return run(sys.argv[1:] if argv is None else list(argv))


if __name__ == "__main__":
    sys.exit(main())
