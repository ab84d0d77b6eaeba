"""What `crosspour profile` prints: a profile as plain lines, and JSON for programs."""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from cards.scale import Typical
from drills.tastings.cells import printable

if TYPE_CHECKING:
    from drills.service.profile import Fact, Note, ProfileView

_WIDTH = 80


def print_profile(view: ProfileView, *, sources: bool) -> None:
    """The screen of a profile in lines; with `sources` also what each fact rests on.

    Nothing is drawn and nothing stands in columns, so that the lines can be read aloud in order.
    """
    # A pipe may have no width, or that of a terminal elsewhere.
    width = min(_WIDTH, shutil.get_terminal_size().columns) if sys.stdout.isatty() else _WIDTH
    for line in profile_lines(view, sources=sources):
        indent = len(line) - len(line.lstrip())
        hang = " " * (indent + 2 if indent else 0)
        print(textwrap.fill(printable(line), width, subsequent_indent=hang, break_on_hyphens=False))


def profile_lines(view: ProfileView, *, sources: bool) -> Iterator[str]:
    """The lines, not yet wrapped: two blanks before a fact, four before its cause."""
    yield view.name
    yield view.kind
    yield view.telling
    for section in view.sections:
        yield ""
        yield section.title
        for fact in section.facts:
            yield from _fact(fact, sources=sources)
    headings = {True: "laterals, nearest first", False: "near by the facts"}
    for near in view.laterals:
        if heading := headings.pop(near.named, ""):
            yield ""
            yield heading
        yield f"  {near.short}: {near.separation_db:.1f} db"
    if sources:
        yield ""
        yield "what the facts rest on"
        yield from (f"  {basis}: {words}" for basis, words in view.sources.items())


def _fact(fact: Fact, *, sources: bool) -> Iterator[str]:
    if not fact.notes:
        yield f"  {fact.label}: {_words(fact)}{_basis(fact.basis, sources)}"
        if fact.because:
            yield f"    {fact.because}"
        return
    if not sources:
        yield f"  {fact.label}: {fact.words}"
    for note in fact.notes:
        if sources:
            yield f"  {fact.label}: {_noted(note)}{_basis(note.basis, sources)}"
        if note.because:
            # Beside a single descriptor, or below its own line, its name would be said twice.
            alone = sources or len(fact.notes) == 1
            yield f"    {note.because}" if alone else f"    {note.name}: {note.because}"


def _words(fact: Fact) -> str:
    """The words of a fact, and the levels that they stand for where they do not name them."""
    if fact.levels is None or fact.words == str(fact.levels):
        return fact.words
    return f"{fact.words} ({fact.levels})"


def _noted(note: Note) -> str:
    # The label of what is never met says so already.
    return note.name if note.typical is Typical.NEVER else f"{note.name}, {note.typical}"


def _basis(basis: str, sources: bool) -> str:
    return f" [{basis}]" if sources else ""


def profile_json(view: ProfileView) -> dict[str, Any]:
    """`{wine, name, short, kind, telling, sections, laterals, sources}`, see the README."""
    return {
        "wine": view.wine,
        "name": view.name,
        "short": view.short,
        "kind": view.kind,
        "telling": view.telling,
        "sections": [
            {"section": section.title, "facts": [_fact_json(fact) for fact in section.facts]}
            for section in view.sections
        ],
        "laterals": [
            {"wine": near.wine, "separation_db": near.separation_db, "named": near.named}
            for near in view.laterals
        ],
        "sources": dict(view.sources),
    }


def _fact_json(fact: Fact) -> dict[str, Any]:
    return {
        "fact": fact.label,
        "words": fact.words,
        "low": fact.levels.low.label if fact.levels else None,
        "high": fact.levels.high.label if fact.levels else None,
        "basis": fact.basis or None,
        "because": fact.because or None,
        "descriptors": [
            {
                "name": note.name,
                "typical": str(note.typical),
                "basis": note.basis,
                "because": note.because or None,
            }
            for note in fact.notes
        ],
    }
