"""The program as it is started."""

import subprocess
import sys


def test_the_program_starts_and_help_loads_no_database() -> None:
    look = (
        "import sys; from registry.cli import main; code = main(['--help']); print('sqlalchemy' in sys.modules, code)"
    )
    done = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "False 0"
    assert "Exit codes:" in done.stdout or "Códigos de salida:" in done.stdout
