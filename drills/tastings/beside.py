"""One glass noted twice, on a sheet and at the table: both notes become one. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cards.evidence import Reading
from cards.scale import Level
from drills.grading import Sureness
from drills.tastings.drafts import Named
from drills.tastings.notes import Candidate, FullPour, Note, Verdict

_TEXTS = ("appearance", "nose", "palate", "world", "climate", "age")


def with_beside(kept: FullPour, typed: FullPour) -> FullPour:
    """A kept pour with what was typed of the same glass elsewhere; nothing of either is lost.

    What the kept pour lacks is filled in. Where the two say otherwise, the kept pour stands and
    what was typed goes to its remark, once. What was in the glass is the kept pour's to say.
    """
    other = tuple(_otherwise(kept, typed))
    remark = kept.remark or typed.remark
    if typed.remark not in remark:
        other = (*other, typed.remark)
    for words in other:
        if f"; {words}; " not in f"; {remark}; ":
            remark = f"{remark}; {words}" if remark else words
    return replace(
        kept,
        note=_joined(kept.note, typed.note),
        candidates=_considered(kept.candidates, typed.candidates),
        first=_filled(kept.first, typed.first),
        final=_filled(kept.final, typed.final),
        runner_up=kept.runner_up if kept.runner_up.text else typed.runner_up,
        reveal_vintage=kept.reveal_vintage or typed.reveal_vintage,
        label_alcohol=typed.label_alcohol if kept.label_alcohol is None else kept.label_alcohol,
        price=kept.price or typed.price,
        seconds=typed.seconds if kept.seconds is None else kept.seconds,
        remark=remark,
    )


def _joined(kept: Note, typed: Note) -> Note:
    texts = {name: getattr(kept, name) or getattr(typed, name) for name in _TEXTS}
    return Note(
        readings={**typed.readings, **kept.readings},
        free=(*kept.free, *(word for word in typed.free if word not in kept.free)),
        # How a reading was written belongs to the note that it stands from.
        typed={
            **{name: word for name, word in typed.typed.items() if name not in kept.readings},
            **kept.typed,
        },
        **texts,
    )


def _considered(kept: tuple[Candidate, ...], typed: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    found = {one.text.casefold(): one for one in kept}
    for one in typed:
        known = found.setdefault(one.text.casefold(), one)
        if not known.struck:
            found[one.text.casefold()] = replace(known, struck=one.struck)
    return tuple(found.values())


def _filled(kept: Verdict, typed: Verdict) -> Verdict:
    if not kept.text:
        return typed
    if not _same(kept.named, typed.named):
        return kept
    vintage = typed.vintage if kept.vintage is None else kept.vintage
    sureness = typed.sureness if kept.sureness is None else kept.sureness
    return replace(kept, vintage=vintage, sureness=sureness)


def _same(one: Named, other: Named) -> bool:
    if one.wine is not None and one.wine == other.wine:
        return True
    return one.text.casefold() == other.text.casefold()


def _agree(one: Verdict, other: Verdict) -> bool:
    """Whether two calls say nothing against each other."""
    return (
        _same(one.named, other.named)
        and (one.vintage == other.vintage or None in (one.vintage, other.vintage))
        and (one.sureness == other.sureness or None in (one.sureness, other.sureness))
    )


def _otherwise(kept: FullPour, typed: FullPour) -> Iterator[str]:
    """What was typed that the kept pour says otherwise, in words."""
    for name, was, now in (
        ("first call", kept.first, typed.first),
        ("called", kept.final, typed.final),
    ):
        if was.text and now.text and not _agree(was, now):
            vintage = f" {now.vintage}" if now.vintage else ""
            sure = f", {Sureness(now.sureness).name.lower()}" if now.sureness else ""
            yield f"{name} {now.text}{vintage}{sure}"
    was_second, second = kept.runner_up, typed.runner_up
    if was_second.text and second.text and not _same(was_second, second):
        yield f"runner-up {second.text}"
    # Of the joined list: a name may stand twice on one sheet, struck off for two reasons.
    joined = _considered(kept.candidates, typed.candidates)
    struck = {one.text.casefold(): one.struck for one in joined}
    for one in typed.candidates:
        if one.struck and struck.get(one.text.casefold()) not in (None, "", one.struck):
            yield f"{one.text} struck off: {one.struck}"
    for attribute, reading in typed.note.readings.items():
        if attribute in kept.note.readings and kept.note.readings[attribute] != reading:
            yield f"{attribute} {_words(reading)}"
    for name in _TEXTS:
        text = getattr(typed.note, name)
        if text and getattr(kept.note, name) and getattr(kept.note, name) != text:
            yield f"{name} {text}"
    if typed.reveal.text and not _same(kept.reveal, typed.reveal):
        yield f"was {typed.reveal.text}"
    if kept.reveal_vintage and typed.reveal_vintage not in (None, kept.reveal_vintage):
        yield f"vintage {typed.reveal_vintage}"
    if kept.label_alcohol is not None and typed.label_alcohol not in (None, kept.label_alcohol):
        yield f"label {typed.label_alcohol:g}"
    if kept.price and typed.price and kept.price != typed.price:
        yield f"price {typed.price}"


def _words(reading: Reading) -> str:
    if isinstance(reading, bool):
        return "yes" if reading else "no"
    if isinstance(reading, Level):
        return reading.label
    return reading if isinstance(reading, str) else f"{reading:g}"
