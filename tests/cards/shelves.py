"""What tests of the table's files share: their mistakes, and the line that is named."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from cards.errors import TableError
from cards.tables import build_table, read_documents

Files = dict[str, str]
Shelve = Callable[..., Path]


def problems_of(shipped: Path, *own: Path) -> list[TableError]:
    problems: list[TableError] = []
    documents = read_documents(shipped, problems)
    for folder in own:
        documents += read_documents(folder, problems, own=True)
    build_table(documents, problems)
    return problems


def line_of(text: str, wanted: str) -> int:
    return 1 + next(n for n, line in enumerate(text.splitlines()) if wanted in line)
