"""Files that appear whole or not at all, and never over another one unasked."""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from drills.errors import DrillsError
from drills.tastings.cells import printable

# Spreadsheets take a file that begins so for UTF-8; others pass over it.
BEGINS = "\ufeff"


class WriteError(DrillsError):
    """The file cannot be written."""


def check_free(path: Path, *, overwrite: bool) -> None:
    """Raise WriteError where a file is there already and may not be written over."""
    # Unlike that of a Path, this answers for a name that is too long, too: no such file.
    if os.path.exists(path) and not overwrite:
        raise WriteError(f"“{printable(str(path))}” is there already; --force writes over it")


def write_whole(path: Path, pieces: Iterable[str], *, overwrite: bool = False) -> int:
    """Write pieces of text, as UTF-8 with their ends of lines; return how many there were.

    Raises:
        WriteError: the file is there already, or cannot be written.
    """
    check_free(path, overwrite=overwrite)
    beside = path.with_name(f".{path.name[:60]}.{os.getpid()}.part")
    number = 0
    try:
        with beside.open("x", encoding="utf-8", newline="") as stream:
            for piece in pieces:
                stream.write(piece)
                number += 1
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise WriteError(f"“{printable(str(path))}” cannot be written: {why}") from None
    finally:
        # Gone already where all went well.
        with suppress(OSError, ValueError):
            beside.unlink()
    return number
