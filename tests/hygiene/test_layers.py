"""The directions of imports that `.importlinter` lays down."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
CONTRACTS = ROOT / ".importlinter"


def lint(contracts: Path) -> subprocess.CompletedProcess[str]:
    program = (
        "import sys; from importlinter.cli import lint_imports;"
        f"sys.exit(lint_imports(config_filenames=({str(contracts)!r},), no_cache=True,"
        " no_logo=True))"
    )
    return subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False
    )


def test_every_contract_is_kept() -> None:
    run = lint(CONTRACTS)
    assert run.returncode == 0, run.stdout + run.stderr
    assert f"{CONTRACTS.read_text().count('[importlinter:contract:')} kept, 0 broken" in run.stdout


def test_a_broken_contract_would_be_told(tmp_path: Path) -> None:
    """The linter sees the code: a contract that the code must break is reported as broken."""
    contracts = tmp_path / "contracts"
    contracts.write_text(
        "[importlinter]\nroot_packages =\n    cards\n    drills\n\n"
        "[importlinter:contract:upside-down]\nname = Upside down\ntype = forbidden\n"
        "source_modules =\n    drills\nforbidden_modules =\n    cards\n"
    )
    run = lint(contracts)
    assert run.returncode != 0
    assert "Upside down BROKEN" in run.stdout
