"""What a command that only prints, and the way to the first card, must not load.

Each was measured: textual 130 ms, sqlmodel 250, scipy with numpy 1,000, alembic 200.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = (
    "textual",
    "rich",
    "sqlmodel",
    "sqlalchemy",
    "pydantic",
    "numpy",
    "scipy",
    "fsrs",
    "alembic",
)
_SHOW = """
import sys
print("loaded:", *sorted({name.split(".")[0] for name in sys.modules} | set(sys.modules)))
"""


def loaded(code: str, home: Path) -> set[str]:
    """The packages and modules that `code` leaves loaded in an interpreter of its own."""
    ran = subprocess.run(
        [sys.executable, "-c", f"{code}\n{_SHOW}"],
        env={**os.environ, "CROSSPOUR_HOME": str(home)},
        capture_output=True,
        text=True,
        check=True,
    )
    last = ran.stdout.splitlines()[-1]
    assert last.startswith("loaded: ")
    return set(last.split()[1:])


def command(*arguments: str) -> str:
    return (
        "from drills.cli import main\n"
        f"try:\n    main({list(arguments)!r})\n"
        "except SystemExit as leaving:\n    assert not leaving.code"
    )


def test_the_check_sees_what_is_loaded(tmp_path: Path) -> None:
    assert {"textual", "fsrs"} <= loaded("import textual, fsrs", tmp_path)


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["drill", "--help"]])
def test_printing_commands_load_nothing_heavy(arguments: list[str], tmp_path: Path) -> None:
    found = loaded(command(*arguments), tmp_path)
    assert "drills" in found
    assert found.isdisjoint(HEAVY)


def test_checking_the_table_needs_neither_screens_nor_database(tmp_path: Path) -> None:
    found = loaded(command("table", "check"), tmp_path)
    assert "cards" in found
    assert found.isdisjoint(HEAVY)


def test_cards_never_load_drills(tmp_path: Path) -> None:
    modules = "cards.tables, cards.contrasts, cards.questions, cards.checking, cards.names"
    found = loaded(f"import {modules}", tmp_path)
    assert "cards" in found
    assert found.isdisjoint({"drills", *HEAVY})


FIRST_CARD = """
from drills.screens.opening import drill_screen
from drills.service.desk import Desk
desk = Desk()
assert drill_screen(desk).session.next() is not None
desk.close()
"""


def test_the_first_card_needs_no_numbers_and_no_migrations(tmp_path: Path) -> None:
    found = loaded(FIRST_CARD, tmp_path)
    assert {"textual", "sqlalchemy", "fsrs"} <= found
    assert found.isdisjoint({"numpy", "scipy", "alembic", "mako", "rapidfuzz", "textual_plot"})
    # An area of lines would bring its documents with it: a thirtieth of the start.
    assert "textual.document" not in found


def test_only_the_plots_load_the_plotting_widget(tmp_path: Path) -> None:
    screens = "home, weak, pair, progress"
    found = loaded(f"from drills.screens import {screens}\nimport drills.report", tmp_path)
    assert "textual" in found
    assert found.isdisjoint({"textual_plot", "numpy", "scipy"})


def test_once_there_is_a_database_its_tables_are_not_described_again(tmp_path: Path) -> None:
    assert {"sqlmodel", "pydantic"} <= loaded(FIRST_CARD, tmp_path)
    # A quarter of the time to the first card: queries know the columns without them.
    assert loaded(FIRST_CARD, tmp_path).isdisjoint({"sqlmodel", "pydantic"})


def test_a_file_needs_nothing_of_a_server(tmp_path: Path) -> None:
    """SQLAlchemy's part for PostgreSQL takes 15 ms, and one option on an index would load it."""
    ran = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys\n"
            "from drills.service.desk import Desk\n"
            "Desk().taster\n"
            "print(*(name for name in sys.modules if name.startswith('sqlalchemy.dialects.')))",
        ],
        env={**os.environ, "CROSSPOUR_HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    names = ran.stdout.split()
    assert "sqlalchemy.dialects.sqlite" in names
    assert [name for name in names if "postgresql" in name or "mysql" in name] == []
