"""The commands of the table: a wine in the taster's own editor, and the sheet both ways."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from drills.errors import OverlayError
from drills.phrases import count
from drills.service.table_editing import (
    Draft,
    Imported,
    begin_edit,
    begin_new,
    export_sheet,
    export_to,
    import_sheet,
    problems_of,
    take,
)


def new(key: str, like: str, style: str | None, *, terminal: bool) -> int:
    """Make a wine as a copy of another and open it in the editor."""
    return _edit(begin_new(key, like, style), terminal=terminal)


def edit(wine: str, *, terminal: bool) -> int:
    """Open the facts of a wine in the editor."""
    return _edit(begin_edit(wine), terminal=terminal)


def _edit(draft: Draft, *, terminal: bool) -> int:
    command = os.environ.get("VISUAL", "").strip() or os.environ.get("EDITOR", "").strip()
    if not (terminal and command):
        return _place(draft)
    if draft.begun:
        print(f"going on with the draft {draft.file}")
    while True:
        if ended := _run_editor(command, draft.file):
            print(f"the editor ended with {ended}; nothing was kept, the draft is {draft.file}")
            return 1
        if not draft.touched:
            print(f"nothing was changed; the draft is {draft.file}")
            return 0
        problems = problems_of(draft)
        if not problems:
            print(f"kept in {take(draft)}")
            return 0
        for problem in problems:
            print(problem, file=sys.stderr)
        if not _again():
            print(f"not kept yet: `table edit {draft.wine}` goes on with the draft {draft.file}")
            return 1


def _place(draft: Draft) -> int:
    """Without an editor: lay the text over the table as it is, and say where it lies."""
    problems = problems_of(draft)
    for problem in problems:
        print(problem, file=sys.stderr)
    if problems:
        print(f"crosspour: not kept yet; the draft is {draft.file}", file=sys.stderr)
        return 1
    print(take(draft, keep_offers=True))
    return 0


def _run_editor(command: str, file: Path) -> int:
    try:
        return subprocess.run([*shlex.split(command), str(file)], check=False).returncode
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise OverlayError(
            f"the editor “{command}” cannot be started ({reason}); set VISUAL or EDITOR, "
            f"or edit {file}"
        ) from None


def _again(ask: Callable[[str], str] = input) -> bool:
    try:
        return ask("edit again? (y/n) ").strip().casefold() in ("", "y", "yes")
    except EOFError:
        return False


def export(file: str, *, decimal_comma: bool) -> int:
    """Write the table as one sheet; “-” writes to standard output."""
    if file == "-":
        sys.stdout.buffer.write(export_sheet(decimal_comma=decimal_comma))
        return 0
    number = export_to(Path(file), decimal_comma=decimal_comma)
    print(f"{count(number, 'wine')} written to {file}")
    return 0


def take_in(file: str, *, dry_run: bool) -> Imported:
    """Take a sheet in; “-” reads standard input."""
    try:
        content = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except OSError as error:
        raise OverlayError(f"{file} cannot be read ({error.strerror})") from None
    return import_sheet(content, dry_run=dry_run)


def imported_json(taken: Imported) -> dict[str, Any]:
    """`{wines, unchanged, absent, problems, warnings, dry_run}`, see the README."""
    return {
        "wines": [
            {
                "wine": one.wine,
                "new": one.new,
                "facts": [
                    {"fact": fact.fact, "before": fact.before, "after": fact.after}
                    for fact in one.facts
                ],
            }
            for one in taken.changes
        ],
        "unchanged": taken.unchanged,
        "absent": taken.absent,
        "problems": [
            {
                "row": problem.row,
                "column": problem.column,
                "header": problem.header,
                "reason": problem.text,
            }
            for problem in taken.problems
        ],
        "warnings": list(taken.warnings),
        "dry_run": taken.dry_run,
    }


def print_imported(taken: Imported) -> None:
    """Which facts of which wine changed, or why nothing was taken in."""
    for words in taken.warnings:
        print(f"note: {words}")
    for problem in taken.problems:
        print(problem, file=sys.stderr)
    if taken.problems:
        told = count(len(taken.problems), "problem")
        print(f"crosspour: nothing was taken in: {told} to mend in the sheet", file=sys.stderr)
        return
    for one in taken.changes:
        if one.new:
            print(f"{one.wine}: a new wine, {count(len(one.facts), 'fact')}")
            continue
        for fact in one.facts:
            print(f"{one.wine}: {fact.fact}: {fact.before or 'none'} → {fact.after or 'none'}")
    verb = "would change" if taken.dry_run else "changed"
    print(f"{count(len(taken.changes), 'wine')} {verb}, {taken.unchanged} as before")
    if taken.absent:
        print(f"{count(taken.absent, 'wine')} not in the sheet: left as before")
