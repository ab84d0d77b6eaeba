"""Taking tastings in: read a file, say what it would change, keep it whole or not at all."""

from __future__ import annotations

import sys
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, TextIO

from cards.contrasts import ordered_pair
from drills.paths import expanded
from drills.storage.records import IntakeDraft as StoredIntake
from drills.storage.records import PourDraft as StoredPour
from drills.tastings.drafts import IntakeDraft, PourDraft, Rejected, Unresolved
from drills.tastings.intake import read_intake

if TYPE_CHECKING:
    from drills.service.desk import Desk


@dataclass(frozen=True, slots=True)
class Taken:
    """What an intake changed, or would change.

    `pours` were added, `confusions` of them have another wine as final call, `already_known` were
    in the log before (`known` holds their fingerprints). `rejected` rows are left out,
    `unresolved` names are kept as typed.
    """

    source: str
    pours: int
    confusions: int
    already_known: int
    unresolved: tuple[Unresolved, ...]
    rejected: tuple[Rejected, ...]
    warnings: tuple[str, ...]
    dry_run: bool
    known: frozenset[str]


def read(desk: Desk, file: str | None) -> IntakeDraft:
    """Read a file, or standard input where `file` is None; IntakeError says what is wrong."""
    return read_intake(sys.stdin if file is None else expanded(file), desk.names)


def read_lines(desk: Desk, lines: TextIO) -> IntakeDraft:
    """Read what was typed or pasted."""
    return read_intake(lines, desk.names)


def take_in(desk: Desk, draft: IntakeDraft, *, dry_run: bool = False) -> Taken:
    """Keep the pours of a draft that are not known yet, and put their pairs at the head."""
    taster = desk.taster.id
    known = desk.repository.known_pours(taster)
    fresh = [pour for pour in draft.pours if pour.fingerprint not in known]
    mixed_up = [pour for pour in fresh if is_confusion(pour)]
    if not dry_run and fresh:
        desk.ensure_pairs(sorted({_pair(pour) for pour in mixed_up}))
        desk.repository.record_pours(
            taster,
            StoredIntake(draft.source, draft.digest, desk.clock.now()),
            [_stored(pour) for pour in fresh],
        )
    return Taken(
        source=draft.source,
        pours=len(fresh),
        confusions=len(mixed_up),
        already_known=len(draft.pours) - len(fresh),
        unresolved=tuple(draft.unresolved),
        rejected=tuple(draft.rejected),
        warnings=tuple(draft.warnings),
        dry_run=dry_run,
        known=known,
    )


def is_confusion(pour: PourDraft) -> bool:
    """Whether the final call was another wine, both being known."""
    return bool(pour.called.wine and pour.was.wine and pour.called.wine != pour.was.wine)


def _pair(pour: PourDraft) -> tuple[str, str]:
    assert pour.called.wine is not None
    assert pour.was.wine is not None
    return ordered_pair(pour.called.wine, pour.was.wine)


def _stored(pour: PourDraft) -> StoredPour:
    return StoredPour(
        flight=pour.flight,
        tasted_on=pour.date,
        position=pour.position,
        fingerprint=pour.fingerprint,
        called_text=pour.called.text,
        called_wine=pour.called.wine,
        was_text=pour.was.text,
        was_wine=pour.was.wine,
        first_text=pour.first.text,
        first_wine=pour.first.wine,
        runner_text=pour.runner_up.text,
        runner_wine=pour.runner_up.wine,
        note=pour.note,
    )


def intake_json(taken: Taken) -> dict[str, Any]:
    """An intake as the command prints it with `--json`."""
    return {
        "pours": taken.pours,
        "confusions": taken.confusions,
        "already_known": taken.already_known,
        "unresolved": [asdict(one) for one in taken.unresolved],
        "rejected": [asdict(one) for one in taken.rejected],
        "warnings": list(taken.warnings),
        "dry_run": taken.dry_run,
    }
