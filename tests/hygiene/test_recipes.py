"""The recipes of DEVELOPERS.md, each followed in a copy of the code: it works as it says there, and
the check that the recipe names fails where a step is left out.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from cards.checking import contradictions
from cards.errors import TableError
from cards.tables import SHIPPED, load_table

ROOT = Path(__file__).parents[2]
CODE = ("cards", "drills", "tests", "README.md", "DEVELOPERS.md", "pyproject.toml")


# None of the checks here needs these, and loading them takes a third of such a run.
WITHOUT = [f"-pno:{plugin}" for plugin in ("cacheprovider", "hypothesispytest", "xdist")]


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A copy of the code."""
    for name in CODE:
        if (ROOT / name).is_dir():
            left_out = shutil.ignore_patterns("__pycache__", "__snapshots__", "found", "old")
            shutil.copytree(ROOT / name, tmp_path / name, ignore=left_out)
        else:
            shutil.copy(ROOT / name, tmp_path / name)
    return tmp_path


def changed(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{file.name} has “{old}” {text.count(old)} times"
    file.write_text(text.replace(old, new), encoding="utf-8")


def python(tree: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *arguments], cwd=tree, capture_output=True, text=True, check=False
    )


def failed(tree: Path, *checks: str) -> set[str]:
    """The names of the tests that fail in the copy, of those named."""
    run = python(tree, "-m", "pytest", "-q", *WITHOUT, *checks)
    assert run.returncode in (0, 1), run.stdout + run.stderr
    return set(re.findall(r"^FAILED \S+::(\w+)", run.stdout, re.MULTILINE))


def test_the_recipes_name_files_and_tests_that_exist() -> None:
    developers = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    recipes = developers.partition("## Recipes")[2].partition("\n## ")[0]
    named = re.findall(r"`((?:tests|drills|cards)/[\w/.]+)(?:::(\w+))?`", recipes)
    assert len(named) > 8
    for file, test in named:
        assert (ROOT / file).exists(), file
        assert not test or f"def {test}(" in (ROOT / file).read_text(encoding="utf-8"), test


# ---- a wine

NEW = "chardonnay-elsewhere"
LIKE = "chardonnay-chablis"


def table_with_a_new_wine(folder: Path, *, named_back: bool = True) -> Path:
    shutil.copytree(SHIPPED, folder)
    text = (folder / "white" / f"{LIKE}.toml").read_text(encoding="utf-8")
    text = re.sub(r"^name = .*$", 'name = "Elsewhere Chardonnay"', text, flags=re.MULTILINE)
    text = re.sub(r"^short = .*$", 'short = "Elsewhere"', text, flags=re.MULTILINE)
    text = re.sub(r"^synonyms = .*$", "synonyms = []", text, flags=re.MULTILINE)
    text = re.sub(r"^laterals = \[[^]]*\]", f'laterals = ["{LIKE}"]', text, flags=re.MULTILINE)
    (folder / "white" / f"{NEW}.toml").write_text(text, encoding="utf-8")
    if named_back:
        changed(folder / "white" / f"{LIKE}.toml", "laterals = [", f'laterals = ["{NEW}", ')
    return folder


def test_a_wine_is_added_as_the_recipe_says(tmp_path: Path) -> None:
    table = load_table(shipped=table_with_a_new_wine(tmp_path / "table"))
    assert NEW in table.profiles
    assert [str(problem) for problem in contradictions(table)] == []


def test_a_wine_that_is_not_named_back_is_told(tmp_path: Path) -> None:
    table = load_table(shipped=table_with_a_new_wine(tmp_path / "table", named_back=False))
    (problem,) = [str(problem) for problem in contradictions(table)]
    assert "does not name it back" in problem


def test_a_word_outside_the_lexicon_is_told_with_its_line(tmp_path: Path) -> None:
    folder = table_with_a_new_wine(tmp_path / "table")
    file = folder / "white" / f"{NEW}.toml"
    file.write_text(file.read_text(encoding="utf-8") + 'moonlight = "common"\n', encoding="utf-8")
    with pytest.raises(TableError, match=r"moonlight.*no descriptor"):
        load_table(shipped=folder)


# ---- a form of card

FORM_CHECKS = "tests/drills/test_forms.py"


def test_a_form_of_card_is_added_as_the_recipe_says(tree: Path) -> None:
    questions = tree / "cards" / "questions.py"
    changed(
        questions, '    NAME_IT = "name it"\n', '    NAME_IT = "name it"\n    AGAIN = "again"\n'
    )
    assert failed(tree, FORM_CHECKS) == {
        "test_some_contrast_can_be_asked_in_every_form",
        "test_every_form_has_its_share_of_the_cards",
    }
    changed(
        questions,
        "    if form is Form.NAME_IT:\n",
        "    if form is Form.AGAIN:\n        return replace(plain, form=form)\n"
        "    if form is Form.NAME_IT:\n",
    )
    text = questions.read_text(encoding="utf-8")
    if "import dataclass, replace" not in text and "replace," not in text:
        changed(
            questions,
            "from dataclasses import dataclass",
            "from dataclasses import dataclass, replace",
        )
    choosing = tree / "drills" / "service" / "choosing.py"
    text = choosing.read_text(encoding="utf-8")
    share = re.search(r"Form\.NAME_IT: ([\d.]+)", text)
    assert share is not None
    half = float(share[1]) / 2
    text = text.replace(share[0], f"Form.NAME_IT: {half}, Form.AGAIN: {half}", 1)
    choosing.write_text(text, encoding="utf-8")
    assert failed(tree, FORM_CHECKS) == set()


# ---- a screen

SCREEN = """
from textual.binding import Binding

from drills.screens.base import DeskScreen


class ExtraScreen(DeskScreen[None]):
    ABOUT = "An extra screen."
    BINDINGS = [Binding("e", "dismiss", "leave", id="extra-leave")]
"""
SCREEN_CHECK = "tests/screens/test_help.py::test_every_screen_is_looked_at_here"


def test_a_screen_that_no_test_looks_at_is_told(tree: Path) -> None:
    (tree / "drills" / "screens" / "extra.py").write_text(SCREEN, encoding="utf-8")
    assert failed(tree, SCREEN_CHECK) == {"test_every_screen_is_looked_at_here"}
    every = tree / "tests" / "screens" / "every_screen.py"
    changed(
        every,
        "from drills.screens.flight import",
        "from drills.screens.extra import ExtraScreen\nfrom drills.screens.flight import",
    )
    text = every.read_text(encoding="utf-8")
    start = re.compile(r"^(SCREENS\b[^{]*\{)", re.MULTILINE)
    text = start.sub(r'\1"extra": lambda desk: ExtraScreen(),', text, count=1)
    every.write_text(text, encoding="utf-8")
    helps_of = (
        "tests/screens/test_help.py::test_the_help_lists_every_key_of_a_screen_with_what_it_does"
    )
    assert failed(tree, SCREEN_CHECK, f"{helps_of}[extra]") == set()


# ---- a migration

COLUMN_CHECK = (
    "tests/storage/test_columns.py::"
    "test_the_columns_were_written_after_the_last_change_of_the_tables"
)
SCHEMA_CHECKS = (
    "tests/storage/test_schema.py::test_the_migrations_lead_to_the_tables_of_the_code",
    "tests/storage/test_schema.py::test_a_new_file_has_the_same_schema_as_a_migrated_one",
    "tests/storage/test_schema.py::test_the_known_revisions_are_those_of_the_migrations",
)
MIGRATION = '''"""Where a flight was tasted."""

import sqlalchemy as sa
from alembic import op

revision = "{new}"
down_revision = "{old}"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column."""
    op.add_column("{table}", sa.Column("spot", sa.Integer(), nullable=True))
'''


def test_a_migration_is_added_as_the_recipe_says(tree: Path) -> None:
    storage = tree / "drills" / "storage"
    tables = storage / "tables" / "tastings.py"
    text = tables.read_text(encoding="utf-8")
    found = re.search(r"^class (\w+)\(.*table=True\):\n(?:.*\n)*?(?=\n\n)", text, re.MULTILINE)
    assert found is not None
    name = re.search(r'__tablename__[^"]*"(\w+)"', found[0])
    table = name[1] if name else found[1].lower()
    # A plain column at the end of the first table of the file.
    text = text.replace(found[0], f"{found[0]}    spot: int | None = None\n", 1)
    tables.write_text(text, encoding="utf-8")
    told = failed(tree, COLUMN_CHECK, *SCHEMA_CHECKS)
    assert COLUMN_CHECK.partition("::")[2] in told
    assert "test_the_migrations_lead_to_the_tables_of_the_code" in told
    assert python(tree, "-m", "tests.storage.write_columns").returncode == 0
    upgrade = (storage / "upgrade.py").read_text(encoding="utf-8")
    revisions = re.search(r'^REVISIONS = \((.*)"(\d{4})"\)', upgrade, re.MULTILINE)
    assert revisions is not None
    old, new = revisions[2], f"{int(revisions[2]) + 1:04}"
    file = storage / "migrations" / "versions" / f"r{new}_spot.py"
    file.write_text(MIGRATION.format(new=new, old=old, table=table), encoding="utf-8")
    told = failed(tree, COLUMN_CHECK, *SCHEMA_CHECKS)
    assert COLUMN_CHECK.partition("::")[2] not in told
    assert "test_the_known_revisions_are_those_of_the_migrations" in told
    changed(storage / "upgrade.py", f'"{old}")', f'"{old}", "{new}")')
    assert failed(tree, COLUMN_CHECK, *SCHEMA_CHECKS) == set()


# ---- a command

COMMAND = '''"""A word of welcome."""

from __future__ import annotations

import argparse

from drills.commands.asking import Commands


def add_to(commands: Commands) -> None:
    """Put this command on the command line."""
    commands.add("hello", _hello, "say hello")


def _hello(_: argparse.Namespace) -> int:
    print("hello")
    return 0
'''
COMMAND_CHECK = (
    "tests/cli/test_commands.py::test_every_command_of_the_readme_exists_and_every_command_is_in_it"
)


def test_a_command_is_added_as_the_recipe_says(tree: Path) -> None:
    (tree / "drills" / "commands" / "hello.py").write_text(COMMAND, encoding="utf-8")
    changed(tree / "drills" / "cli.py", "_PARTS = (\n", '_PARTS = (\n    "hello",\n')
    said = python(tree, "-c", "from drills.cli import main; main(['hello'])")
    assert said.stdout == "hello\n", said.stderr
    assert failed(tree, COMMAND_CHECK) == {COMMAND_CHECK.partition("::")[2]}
    readme = tree / "README.md"
    text = readme.read_text(encoding="utf-8")
    row = re.search(r"^\| `crosspour drill", text, re.MULTILINE)
    assert row is not None
    readme.write_text(
        f"{text[: row.start()]}| `crosspour hello` | says hello |\n{text[row.start() :]}",
        encoding="utf-8",
    )
    changed(
        tree / "tests" / "cli" / "test_commands.py",
        "COMMANDS = [\n",
        'COMMANDS = [\n    "hello",\n',
    )
    assert failed(tree, COMMAND_CHECK) == set()
