"""What `crosspour debrief` and `crosspour reading` print: plain lines, and JSON for programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from cards.evidence import band
from drills.phrases import count
from drills.tastings.cells import printable

if TYPE_CHECKING:
    from cards.explaining import CueStory
    from drills.service.desk import Desk
    from drills.service.tasting import DebriefedFlight, DebriefedPour
    from drills.statistics.shares import Estimate
    from drills.tastings.debrief import Debrief
    from drills.tastings.misread import Misread
    from drills.tastings.reading import PersonalReading

Json = dict[str, Any]


# ---- debriefs


def print_debriefs(desk: Desk, flight: DebriefedFlight) -> None:
    """A flight: for each pour the sentence first, then the evidence."""
    from drills.service.tasting import flight_words

    print(flight_words(flight.flight))
    for pour in flight.pours:
        print()
        for line in _pour_lines(desk, pour):
            print(printable(line))


def _pour_lines(desk: Desk, one: DebriefedPour) -> Iterator[str]:
    pour = one.pour
    called = pour.final.text or "nothing called"
    was = pour.reveal.text or "not revealed"
    yield f"{pour.position}. called {called}, was {was}"
    if one.debrief is None:
        yield f"   no debrief: {one.reason}"
        return
    found = one.debrief
    yield f"   {found.next_time}"
    if found.rank is not None and found.probability is not None:
        yield (
            f"   By your note {desk.short(found.was)} ranked {found.rank} of {found.wines}, "
            f"{_share(found.probability)} probable; {desk.short(found.likeliest[0][0])} came first."
        )
    if found.first is not None:
        yield f"   {found.first.words}"
    if found.speaks_for or found.speaks_against:
        was, other = desk.short(found.was), desk.short(found.other)
        yield f"   Noted, for {was} (+) or {other} (-): {found.balance:+.1f} db together"
        yield from (
            f"     {_weight(story)}  {story.words}"
            for story in sorted(
                (*found.speaks_for, *found.speaks_against), key=lambda s: -abs(s.weight)
            )
        )
    if found.missed:
        yield f"   Never noted, and for {desk.short(found.was)}:"
        for missed in found.missed:
            settles = ", would have settled it" if missed.settles else ""
            yield f"     {_weight(missed.story)}  {missed.story.words}{settles}"
    if found.misread:
        yield "   Read otherwise than it was:"
        yield from (f"     {_misread(slip)}" for slip in found.misread)
    if found.unknown_words:
        yield f"   Words that no cue answers to: {', '.join(found.unknown_words)}"


def _share(chance: float) -> str:
    return "under 1%" if chance < 0.01 else "over 99%" if chance > 0.99 else f"{chance:.0%}"


def _weight(story: CueStory) -> str:
    return f"{story.weight:+6.1f} db {band(story.weight):<8}"


def _misread(one: Misread) -> str:
    where = "the label" if one.against == "label" else "the profile"
    cost = f", cost {one.cost:.1f} db" if one.cost >= 0.05 else ""
    return f"{one.read}; {where} has {one.shows}{cost}"


def debriefs_json(flight: DebriefedFlight) -> Json:
    """`{flight: {number, name, date}, pours: [...]}`; the README lists the keys of a pour."""
    kept = flight.flight
    return {
        "flight": {
            "number": kept.id,
            "name": kept.name,
            "date": kept.tasted_on.isoformat() if kept.tasted_on else None,
        },
        "pours": [_pour_json(one) for one in flight.pours],
    }


def _pour_json(one: DebriefedPour) -> Json:
    pour = one.pour
    return {
        "pour": pour.position,
        "called": {"text": pour.final.text, "wine": pour.final.wine},
        "was": {"text": pour.reveal.text, "wine": pour.reveal.wine},
        "debrief": None if one.debrief is None else _debrief_json(one.debrief),
        "reason": one.reason or None,
    }


def _debrief_json(found: Debrief) -> Json:
    stories = sorted((*found.speaks_for, *found.speaks_against), key=lambda s: -abs(s.weight))
    first = found.first
    return {
        "next_time": found.next_time,
        "right": found.right,
        "against": found.other,
        "balance_db": _number(found.balance),
        "chance": _chance(found.chance),
        "cues": [_story_json(story) for story in stories],
        "missed": [
            {**_story_json(one.story), "settles": one.settles, "because": one.story.because}
            for one in found.missed
        ],
        "misread": [
            {
                "cue": one.attribute,
                "read": one.read,
                "shows": one.shows,
                "off": one.off,
                "held_against": one.against,
                "cost_db": _number(one.cost),
            }
            for one in found.misread
        ],
        "rank": found.rank,
        "wines": found.wines,
        "probability": _chance(found.probability),
        "likeliest": [
            {"wine": wine, "probability": _chance(chance)} for wine, chance in found.likeliest
        ],
        "called_rank": found.called_rank,
        "called_probability": _chance(found.called_probability),
        "first_call": (
            None
            if first is None
            else {"wine": first.wine, "better": first.better or None, "words": first.words}
        ),
        "considered": found.considered,
        "struck": found.struck or None,
        "vintage_off": found.vintage_off,
        "unknown_words": list(found.unknown_words),
    }


def _story_json(story: CueStory) -> Json:
    return {
        "cue": story.attribute,
        "reading": story.words,
        "weight_db": _number(story.weight),
        "basis": story.basis,
    }


# ---- the taster's own reading


def print_reading(found: PersonalReading) -> None:
    """The sentences, or that nothing stands out."""
    if not (found.pours or found.alcohol):
        print("No noted pour of a known wine is logged yet: you count as an average taster.")
        return
    for sentence in found.sentences:
        print(sentence)
    if not found.sentences:
        print("Nothing in your notes stands out from an average taster.")
    labels = f" and {count(found.alcohol.labels, 'label')}" if found.alcohol else ""
    print(f"From {count(found.pours, 'noted pour')}{labels}.")


def reading_json(desk: Desk, found: PersonalReading) -> Json:
    """All estimates with their 90% intervals, and the sentences."""
    alcohol = found.alcohol
    return {
        "pours": found.pours,
        "sentences": list(found.sentences),
        "levels": [
            {
                "cue": one.attribute,
                "style": one.style or None,
                "pours": one.pours,
                "bias": _estimate(one.bias),
                "spread": _estimate(one.spread),
                "stands_out": one.sure,
            }
            for one in found.levels
        ],
        "alcohol": None
        if alcohol is None
        else {
            "labels": alcohol.labels,
            "bias": _estimate(alcohol.bias),
            "spread": _estimate(alcohol.spread),
            "stands_out": alcohol.sure,
        },
        "descriptors": [
            {
                "cue": one.descriptor,
                "name": desk.table.lexicon.name_of(one.descriptor),
                "noted": one.noted,
                "pours": one.pours,
                "usual": _number(one.expected),
                "factor": _estimate(one.factor),
                "stands_out": one.seldom,
            }
            for one in found.caught
        ],
        "perhaps_not_smelt": [
            {
                "smell": one.smell.name,
                "cues": list(one.smell.descriptors),
                "probability": _chance(one.probability),
                "noted": one.noted,
                "pours": one.pours,
                "usual": _number(one.expected),
                "base_rate": one.smell.share,
                "source": one.citation,
            }
            for one in found.not_smelt
        ],
    }


def _estimate(one: Estimate) -> Json:
    return {"value": _number(one.value), "low": _number(one.low), "high": _number(one.high)}


def _number(value: float) -> float:
    # Adding zero turns a rounded -0.0 into 0.0.
    return round(value, 2) + 0.0


def _chance(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
