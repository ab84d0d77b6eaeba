"""Taking tastings in: look a source through, say what it would change, keep it whole or not."""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any, TextIO

from cards.contrasts import ordered_pair
from drills.paths import expanded
from drills.phrases import count
from drills.service.completing import WordBook
from drills.service.glasses import PlannedKey
from drills.service.guests import check_no_guest
from drills.service.pours import pour_draft
from drills.storage.records import IntakeDraft as StoredIntake
from drills.storage.records import PourDraft as StoredPour
from drills.tastings.dates import DateOrder
from drills.tastings.drafts import PourDraft, Rejected, Unread, Unresolved
from drills.tastings.intake import Intake, Listener
from drills.tastings.noting import Words
from drills.tastings.piles import Pile
from drills.tastings.tables import Progress

if TYPE_CHECKING:
    from drills.service.desk import Desk

# Rows that a preview shows; more can be read on no screen.
MOST_SHOWN = 1_000
# Different names that are counted; what goes beyond is in the list of rows all the same.
_MOST_NAMES = 10_000
_SELDOM = 50_000


@dataclass(frozen=True, slots=True)
class Taken:
    """What an intake changed, or would change.

    `pours` were added, `confusions` of them have another wine as final call, `already_known` were
    in the log before. `rejected` rows are left out, `unresolved` names and `unread` parts of notes
    are kept as typed; `waiting` counts the pours of each name. `shown` are the first rows with what
    each became. `intake` is the number under which it can be undone, None where nothing was added.
    """

    source: str
    pours: int
    confusions: int
    already_known: int
    unresolved: Pile[Unresolved]
    rejected: Pile[Rejected]
    unread: Pile[Unread]
    waiting: Mapping[str, int]
    warnings: tuple[str, ...]
    dry_run: bool
    shown: Sequence[ShownRow] = ()
    intake: int | None = None


@dataclass(frozen=True, slots=True)
class ShownRow:
    """A row of the source and what became of it."""

    outcome: PourDraft | Rejected
    known: bool = False


@dataclass
class _Ledger:
    """What is counted while pours go by."""

    pours: int = 0
    confusions: int = 0
    known: int = 0
    unresolved: Pile[Unresolved] = field(default_factory=Pile)
    rejected: Pile[Rejected] = field(default_factory=Pile)
    unread: Pile[Unread] = field(default_factory=Pile)
    waiting: dict[str, int] = field(default_factory=dict)
    pairs: set[tuple[str, str]] = field(default_factory=set)
    shown: list[ShownRow] = field(default_factory=list)
    shown_left_out: int = 0
    sealed: int = 0

    def wait(self, one: Unresolved) -> None:
        """A name that is not clear."""
        self.unresolved.append(one)
        if one.text in self.waiting or len(self.waiting) < _MOST_NAMES:
            self.waiting[one.text] = self.waiting.get(one.text, 0) + 1

    def show(self, outcome: PourDraft | Rejected, *, known: bool = False) -> None:
        """A row for the preview, the first ones of each kind."""
        if isinstance(outcome, Rejected):
            self.shown_left_out += 1
            if self.shown_left_out > MOST_SHOWN:
                return
        elif len(self.shown) - self.shown_left_out >= MOST_SHOWN:
            return
        self.shown.append(ShownRow(outcome, known))

    def _of_glasses(self) -> tuple[str, ...]:
        if not self.sealed:
            return ()
        glasses = count(self.sealed, "glass stays", "glasses stay")
        return (f"{glasses} sealed until the pours are kept, so confusions are not counted yet",)

    def taken(self, intake: Intake, *, dry_run: bool, number: int | None = None) -> Taken:
        """What came of it."""
        return Taken(
            source=intake.label,
            pours=self.pours,
            confusions=self.confusions,
            already_known=self.known,
            unresolved=self.unresolved,
            rejected=self.rejected,
            unread=self.unread,
            waiting=self.waiting,
            warnings=(*intake.warnings, *self._of_glasses()),
            dry_run=dry_run,
            shown=self.shown,
            intake=number,
        )


def read(
    desk: Desk,
    file: str | None,
    *,
    date_order: DateOrder | None = None,
    progress: Progress | None = None,
) -> Intake:
    """Look through a file, or standard input where `file` is None.

    IntakeError says what is wrong, NotPossibleError that a guest may not. Whoever asked closes it.
    """
    check_no_guest()
    source = sys.stdin if file is None else expanded(file)
    return Intake(source, words=words_of(desk), date_order=date_order, progress=progress)


def read_lines(desk: Desk, lines: TextIO, *, date_order: DateOrder | None = None) -> Intake:
    """Look through what was typed or pasted."""
    return Intake(lines, words=words_of(desk), date_order=date_order)


def words_of(desk: Desk) -> Words:
    """The words that notes are made of, as the taster's table has them."""
    return Words(desk.table.lexicon, WordBook(desk.table.lexicon).key)


def take_in(
    desk: Desk, intake: Intake, *, dry_run: bool = False, progress: Progress | None = None
) -> Taken:
    """Keep the pours of a source that are not known yet, and put their pairs at the head.

    With `dry_run` nothing is kept. IntakeError, StorageError: then nothing was kept either.
    """
    with _seldom_collecting():
        return _look(desk, intake, progress) if dry_run else _keep(desk, intake, progress)


@contextmanager
def _seldom_collecting() -> Iterator[None]:
    # A long file makes a million small things that hold no circles; looking for circles among them
    # took a sixth of the time.
    usual = gc.get_threshold()
    gc.set_threshold(_SELDOM, *usual[1:])
    try:
        yield
    finally:
        gc.set_threshold(*usual)


def _look(desk: Desk, intake: Intake, progress: Progress | None) -> Taken:
    ledger = _Ledger()
    known = desk.repository.known_pours(desk.taster.id)
    key = PlannedKey(desk, shut=True)
    for pour in _drafts(desk, intake, ledger, progress, key):
        is_known = pour.fingerprint in known
        ledger.show(pour, known=is_known)
        if is_known:
            ledger.known += 1
            continue
        ledger.pours += 1
        ledger.confusions += is_confusion(pour)
    ledger.sealed = key.kept_shut
    return ledger.taken(intake, dry_run=True)


def _keep(desk: Desk, intake: Intake, progress: Progress | None) -> Taken:
    ledger = _Ledger()
    taster = desk.taster.id
    known = desk.repository.known_pours(taster)
    key = PlannedKey(desk)

    def stored() -> Iterator[StoredPour]:
        for pour in _drafts(desk, intake, ledger, progress, key):
            if is_confusion(pour) and pour.fingerprint not in known:
                ledger.confusions += 1
                ledger.pairs.add(_pair(pour))
            yield _stored(pour)

    outcome = desk.repository.record_pours(
        taster, StoredIntake(intake.label, intake.digest, desk.clock.now()), stored()
    )
    ledger.pours, ledger.known = outcome.added, outcome.already_known
    if outcome.added:
        # Only now is it known which pairs were mixed up: the source is read while it is written.
        desk.ensure_pairs(sorted(ledger.pairs))
    # Only what is kept is revealed; should this fail, the same file reveals it once more.
    key.reveal()
    return ledger.taken(intake, dry_run=False, number=outcome.intake_id)


def _drafts(
    desk: Desk, intake: Intake, ledger: _Ledger, progress: Progress | None, key: PlannedKey
) -> Iterator[PourDraft]:
    """The pours of a source; what else there is goes to the ledger."""
    listener = Listener(ledger.wait, ledger.unread.append)
    for one in intake.pours(desk.names, listener, progress, key):
        if isinstance(one, Rejected):
            ledger.rejected.append(one)
            ledger.show(one)
        else:
            key.poured(one.fingerprint)
            yield one


def is_confusion(pour: PourDraft) -> bool:
    """Whether the final call was another wine, both being known."""
    return bool(pour.called.wine and pour.was.wine and pour.called.wine != pour.was.wine)


def _pair(pour: PourDraft) -> tuple[str, str]:
    assert pour.called.wine is not None
    assert pour.was.wine is not None
    return ordered_pair(pour.called.wine, pour.was.wine)


def _stored(pour: PourDraft) -> StoredPour:
    if pour.full is not None:
        return pour_draft(
            pour.full, flight=pour.flight, tasted_on=pour.date, fingerprint=pour.fingerprint
        )
    called, was, first, runner_up = pour.called, pour.was, pour.first, pour.runner_up
    return StoredPour(
        pour.flight,
        pour.date,
        pour.position,
        pour.fingerprint,
        called.text,
        called.wine,
        was.text,
        was.wine,
        first.text,
        first.wine,
        runner_up.text,
        runner_up.wine,
        pour.note,
    )


def intake_json(taken: Taken) -> dict[str, Any]:
    """An intake as the command prints it with `--json`."""
    return {
        "pours": taken.pours,
        "confusions": taken.confusions,
        "already_known": taken.already_known,
        "unresolved": [asdict(one) for one in taken.unresolved],
        "rejected": [asdict(one) for one in taken.rejected],
        "unread": [asdict(one) for one in taken.unread],
        "warnings": list(taken.warnings),
        "dry_run": taken.dry_run,
        "intake": taken.intake,
    }
