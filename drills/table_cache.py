"""The table as parsed once: reading it back is several times faster than parsing its TOML."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from cards.errors import TableError
from cards.fields import Document
from cards.tables import SHIPPED, Table, build_table, read_documents, table_files

# Raised when the form of the cache changes; the stamp of the files does the rest.
_FORM = 2


def load_cached_table(cache_folder: Path, *overlays: Path) -> Table:
    """The shipped table with `overlays` laid over it, from the cache where that is still true.

    Raises the first TableError of the files. A cache that cannot be read or written is no error.
    """
    folders = [folder for folder in (SHIPPED, *overlays) if folder.is_dir()]
    stamp = _stamp(folders)
    file = cache_folder / "table.json"
    problems: list[TableError] = []
    documents = _read(file, stamp)
    if documents is None:
        documents = []
        for folder in folders:
            documents += read_documents(folder, problems, own=folder != SHIPPED)
        if not problems:
            _write(file, stamp, documents)
    table = build_table(documents, problems)
    if problems:
        raise problems[0]
    return table


def _stamp(folders: Sequence[Path]) -> list[Any]:
    stamp: list[Any] = [_FORM]
    for folder in folders:
        for file in table_files(folder):
            with suppress(OSError):
                found = file.stat()
                stamp.append([str(file), found.st_mtime_ns, found.st_size])
    return stamp


def _read(file: Path, stamp: Sequence[Any]) -> list[Document] | None:
    try:
        kept = json.loads(file.read_bytes())
        if kept["stamp"] != stamp:
            return None
        return [
            Document(shelf, Path(path), content, own)
            for shelf, path, content, own in kept["documents"]
        ]
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _write(file: Path, stamp: Sequence[Any], documents: Sequence[Document]) -> None:
    rows = [[d.shelf, str(d.file), d.content, d.own] for d in documents]
    kept = {"stamp": stamp, "documents": rows}
    # Whole or not at all: two programs may start at once.
    own = file.with_suffix(f".{os.getpid()}.tmp")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        own.write_text(json.dumps(kept), encoding="utf-8")
        own.replace(file)
    except OSError:
        with suppress(OSError):
            own.unlink()
