"""Pasted lines: “called > was”, with a date before and a note behind if one likes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from drills.tastings.cells import LONGEST_FIELD, Row
from drills.tastings.columns import Columns
from drills.tastings.drafts import Rejected
from drills.tastings.headings import CALLED, DATE, NOTE, WAS

COLUMNS = Columns({DATE: 0, CALLED: 1, WAS: 2, NOTE: 3}, ("date", "called", "was", "note"))

_ARROW = re.compile(r"\s*(?:[=\-–—]+>|[→⇒➔➜⟶]|>+)\s*")
_LEADING_DAY = re.compile(r"(\d{4}-\d{2}-\d{2})[\s;,:]+(?=\S)")
_LEADING_DATE = re.compile(r"([^;>→⇒]{1,40});\s*")
_NOTE = re.compile(r"\s#\s+(.*)$|\s#$")


def has_arrow(line: str) -> bool:
    """Whether a line says what was called and what it was."""
    return not line.lstrip().startswith("#") and _ARROW.search(line) is not None


def line_rows(lines: Iterable[str]) -> Iterator[Row | Rejected]:
    """A row for each line (date, called, was, note), or why it is none.

    Blank lines and lines that begin with “#” are passed over.
    """
    for number, line in enumerate(lines, 1):
        line = line.strip()
        if not line or line.startswith("#"):
            continue
        if len(line) > LONGEST_FIELD:
            yield Rejected(number, "line", f"has more than {LONGEST_FIELD:,} characters")
            continue
        note = ""
        if match := _NOTE.search(line):
            note, line = match[1] or "", line[: match.start()]
        day = ""
        if match := _LEADING_DAY.match(line) or _LEADING_DATE.match(line):
            day, line = match[1], line[match.end() :]
        names = _ARROW.split(line)
        if len(names) == 2:
            yield Row(number, (day, names[0], names[1], note))
        elif len(names) == 1:
            yield Rejected(number, "line", "has no “>” between the call and what it was")
        else:
            yield Rejected(number, "line", "has more than one “>”; write “called > was”")
