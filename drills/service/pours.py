"""Pours as storage keeps them, and as a taster noted them: from one to the other without loss."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from cards.evidence import Reading
from cards.scale import Level
from drills.storage.records import CandidateRow, ObservationRow, PourDraft, PourRecord
from drills.tastings.drafts import Named, fingerprint, typed_content
from drills.tastings.notes import (
    Candidate,
    FullPour,
    Note,
    Verdict,
    read_reading,
)

_YES, _NO = "yes", "no"
_TEXTS = ("appearance", "nose", "palate", "world", "climate", "age")


def observation_rows(note: Note) -> tuple[ObservationRow, ...]:
    """What was noted, in the order of noting, words that no cue answers to last."""
    rows = [
        ObservationRow(attribute, _as_text(reading), note.typed.get(attribute, ""))
        for attribute, reading in note.readings.items()
    ]
    rows += [ObservationRow("", "", word) for word in note.free]
    return tuple(rows)


def read_observations(rows: Iterable[ObservationRow]) -> dict[str, Reading]:
    """The readings among observations; one that cannot be read is left out, not guessed."""
    found: dict[str, Reading] = {}
    for row in rows:
        if not row.attribute:
            continue
        try:
            found[row.attribute] = _from_text(row.attribute, row.reading)
        except ValueError:
            continue
    return found


def _as_text(reading: Reading) -> str:
    # A long list holds a million of them.
    if isinstance(reading, bool):
        return _YES if reading else _NO
    if isinstance(reading, Level):
        return reading.label
    return reading if isinstance(reading, str) else repr(float(reading))


def _from_text(attribute: str, text: str) -> Reading:
    """The reading of a kept text; ValueError where it is none."""
    if text in (_YES, _NO):
        return read_reading(attribute, text == _YES)
    try:
        return read_reading(attribute, text)
    except ValueError:
        return read_reading(attribute, float(text))


def pour_draft(
    pour: FullPour, *, flight: str, tasted_on: date | None, fingerprint: str
) -> PourDraft:
    """A pour as storage keeps it."""
    note = pour.note
    return PourDraft(
        flight=flight,
        tasted_on=tasted_on,
        position=pour.position,
        fingerprint=fingerprint,
        called_text=pour.final.text,
        called_wine=pour.final.wine,
        was_text=pour.reveal.text,
        was_wine=pour.reveal.wine,
        first_text=pour.first.text,
        first_wine=pour.first.wine,
        runner_text=pour.runner_up.text,
        runner_wine=pour.runner_up.wine,
        note=pour.remark,
        called_vintage=pour.final.vintage,
        was_vintage=pour.reveal_vintage,
        first_vintage=pour.first.vintage,
        called_sureness=pour.final.sureness,
        first_sureness=pour.first.sureness,
        label_alcohol=pour.label_alcohol,
        seconds=pour.seconds,
        price=pour.price,
        observations=observation_rows(note),
        candidates=tuple(CandidateRow(one.text, one.wine, one.struck) for one in pour.candidates),
        **{name: getattr(note, name) for name in _TEXTS},
    )


def full_pour(record: PourRecord | PourDraft) -> FullPour:
    """A kept pour as it was noted."""
    kept = record if isinstance(record, PourDraft) else record.draft
    return FullPour(
        position=kept.position,
        note=Note(
            readings=read_observations(kept.observations),
            free=tuple(row.typed for row in kept.observations if not row.attribute),
            typed={
                row.attribute: row.typed for row in kept.observations if row.attribute and row.typed
            },
            **{name: getattr(kept, name) for name in _TEXTS},
        ),
        candidates=tuple(Candidate(one.text, one.wine, one.struck) for one in kept.candidates),
        first=Verdict(kept.first_text, kept.first_wine, kept.first_vintage, kept.first_sureness),
        final=Verdict(
            kept.called_text, kept.called_wine, kept.called_vintage, kept.called_sureness
        ),
        runner_up=Named(kept.runner_text, kept.runner_wine),
        reveal=Named(kept.was_text, kept.was_wine),
        reveal_vintage=kept.was_vintage,
        label_alcohol=kept.label_alcohol,
        price=kept.price,
        seconds=kept.seconds,
        remark=kept.note,
    )


def fingerprint_of(pour: FullPour, flight: str, tasted_on: date | None, occurrence: int = 1) -> str:
    """How an intake would know this pour, so that a list which holds it adds nothing."""
    content = typed_content(
        tasted_on,
        flight,
        pour.final.text,
        pour.reveal.text,
        pour.first.text,
        pour.runner_up.text,
        pour.remark,
    )
    return fingerprint(content, occurrence)
