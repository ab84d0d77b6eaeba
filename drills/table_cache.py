"""The table as built once: reading it back is many times faster than parsing and checking it."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import cards
from cards.errors import TableError
from cards.tables import SHIPPED, Table, build_table, read_documents
from drills.table_text import form, read_table, table_text

# Raised when the cache is written in another way; the stamp does the rest.
_FORM = 3


def load_cached_table(cache_folder: Path, *overlays: Path) -> Table:
    """The shipped table with `overlays` laid over it, from the cache where that is still true.

    Raises the first TableError of the files. A cache that cannot be read or written is no error.
    """
    folders = [folder for folder in (SHIPPED, *overlays) if folder.is_dir()]
    stamp = _stamp(folders)
    file = cache_folder / "table.json"
    kept = _read(file, stamp)
    if kept is not None:
        return kept
    problems: list[TableError] = []
    documents = []
    for folder in folders:
        documents += read_documents(folder, problems, own=folder != SHIPPED)
    table = build_table(documents, problems)
    if problems:
        raise problems[0]
    _write(file, stamp, table)
    return table


def _stamp(folders: Sequence[Path]) -> bytes:
    """Everything that the table follows from: its files, and the code that reads and checks it."""
    files = [found for folder in folders for found in _files(str(folder), ".toml")]
    code = _files(os.path.dirname(cards.__file__), ".py", deep=False)
    return json.dumps([_FORM, form(), sorted(files), sorted(code)]).encode()


def _files(folder: str, ending: str, *, deep: bool = True) -> Iterator[list[Any]]:
    """Path, time and size of files. A walk by hand takes a third of the time of a glob."""
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.endswith(ending) and entry.is_file():
                found = entry.stat()
                yield [entry.path, found.st_mtime_ns, found.st_size]
            elif deep and entry.is_dir():
                yield from _files(entry.path, ending)


def _read(file: Path, stamp: bytes) -> Table | None:
    try:
        head, digest, text = file.read_bytes().split(b"\n", 2)
        # Parts are read late, when it would be too late to turn to the files again.
        if head != stamp or digest != _digest(text):
            return None
        return read_table(text.decode())
    except (OSError, ValueError, TypeError, LookupError):
        return None


def _write(file: Path, stamp: bytes, table: Table) -> None:
    text = table_text(table).encode()
    # Whole or not at all: two programs may start at once.
    own = file.with_suffix(f".{os.getpid()}.tmp")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        own.write_bytes(b"\n".join((stamp, _digest(text), text)))
        own.replace(file)
    except OSError:
        with suppress(OSError):
            own.unlink()


def _digest(text: bytes) -> bytes:
    return hashlib.blake2b(text, digest_size=16).hexdigest().encode()
