"""The knowledge side asks no clock, leaves nothing to chance and writes nothing.

So the same table and the same seed make the same cards on every machine, and cards can be made
anywhere without a taster's files being touched.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
KNOWLEDGE = sorted((ROOT / "cards").rglob("*.py"))
DRILLS = sorted((ROOT / "drills").rglob("*.py"))

FORBIDDEN_MODULES = {
    "time": "a clock",
    "secrets": "chance",
    "uuid": "chance",
    "socket": "the network",
    "urllib": "the network",
    "http": "the network",
    "subprocess": "other programs",
    "tempfile": "the disk",
    "shutil": "the disk",
    "sqlite3": "the disk",
    "drills": "a taster",
}
CLOCKS = {"now", "today", "utcnow"}
WRITES = {"write_text", "write_bytes", "mkdir", "unlink", "rmdir", "touch", "makedirs", "remove"}


def impurities(source: str) -> Iterator[tuple[int, str]]:
    """Every line of a module that a pure one may not have, and why."""
    tree = ast.parse(source)
    for node in ast.walk(tree):
        match node:
            case ast.Import(names=names):
                for name in names:
                    if (top := name.name.partition(".")[0]) in FORBIDDEN_MODULES:
                        yield node.lineno, FORBIDDEN_MODULES[top]
            case ast.ImportFrom(module=str(module)):
                top = module.partition(".")[0]
                if top in FORBIDDEN_MODULES:
                    yield node.lineno, FORBIDDEN_MODULES[top]
                if top == "random":
                    yield node.lineno, "chance: use random.Random with a seed"
            case ast.Attribute(value=ast.Name(id="random"), attr=attr) if attr != "Random":
                yield node.lineno, "chance: the generator that all modules share"
            case ast.Call(func=ast.Attribute(value=ast.Name(id="random"), attr="Random"), args=[]):
                yield node.lineno, "chance: a generator without a seed"
            case ast.Attribute(attr=attr) if attr in CLOCKS:
                yield node.lineno, "a clock"
            case ast.Call(func=ast.Attribute(attr=attr)) if attr in WRITES:
                yield node.lineno, "the disk"
            case ast.Attribute(value=ast.Name(id="os"), attr="urandom"):
                yield node.lineno, "chance"
            case ast.Call(func=ast.Name(id="hash")):
                yield node.lineno, "chance: hash() differs from one process to the next"
            case ast.Call(func=ast.Name(id="open")) if not _only_reads(node):
                yield node.lineno, "the disk"


def _only_reads(call: ast.Call) -> bool:
    modes = [*call.args[1:2], *(word.value for word in call.keywords if word.arg == "mode")]
    return all(isinstance(mode, ast.Constant) and mode.value in ("r", "rb", "rt") for mode in modes)


@pytest.mark.parametrize("file", KNOWLEDGE, ids=lambda file: file.relative_to(ROOT).as_posix())
def test_a_module_of_the_knowledge_side_is_pure(file: Path) -> None:
    found = list(impurities(file.read_text(encoding="utf-8")))
    assert not found, f"{file.relative_to(ROOT)}: {found}"


def test_there_is_something_to_look_at() -> None:
    names = {file.name for file in KNOWLEDGE}
    assert {"evidence.py", "contrasts.py", "questions.py", "tables.py"} <= names


@pytest.mark.parametrize(
    "source",
    [
        "import time",
        "from time import monotonic",
        "import drills.memory",
        "from drills import memory",
        "from random import choice",
        "import random\nrandom.shuffle([])",
        "import random\nrng = random.Random()",
        "from datetime import datetime\ndatetime.now()",
        "import datetime\ndatetime.date.today()",
        "import os\nos.urandom(4)",
        "import secrets",
        "open('a', 'w')",
        "open('a', mode='ab')",
        "from pathlib import Path\nPath('a').write_text('b')",
        "hash('a')",
    ],
)
def test_an_impurity_would_be_seen(source: str) -> None:
    assert list(impurities(source))


@pytest.mark.parametrize(
    "source",
    [
        "import random\ndef draw(rng: random.Random) -> float:\n    return rng.random()",
        "import random\nrng = random.Random(5)",
        "from datetime import date\ndate(2024, 5, 2)",
        "open('a')\nopen('a', 'rb')",
        "import hashlib\nhashlib.sha256()",
    ],
)
def test_what_is_pure_passes(source: str) -> None:
    assert not list(impurities(source))


def clocks(source: str) -> Iterator[int]:
    """Every line on which a module asks the system what time it is."""
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Attribute(value=ast.Name(id="datetime" | "date"), attr=attr) if attr in CLOCKS:
                yield node.lineno
            case ast.Attribute(value=ast.Name(id="time"), attr=attr) if attr in STOPWATCHES:
                yield node.lineno
            case ast.ImportFrom(module="time", names=names):
                if STOPWATCHES & {name.name for name in names}:
                    yield node.lineno


STOPWATCHES = {"time", "time_ns", "monotonic", "monotonic_ns", "perf_counter", "localtime"}


def test_one_module_only_asks_what_time_it_is() -> None:
    """As the clock's own page says; all others are handed a clock, so that tests can set it."""
    asking = {
        file.relative_to(ROOT).as_posix()
        for file in DRILLS
        if any(clocks(file.read_text(encoding="utf-8")))
    }
    assert asking == {"drills/clock.py"}
