"""The tray: names that are no wine of the table yet, what they could be, and what was picked."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from cards.naming.folding import words
from drills.phrases import count
from drills.service.stock import cellar
from drills.service.tasting import remember_name
from drills.storage.records import PourRecord

if TYPE_CHECKING:
    from drills.service.desk import Desk

_ROLES = ("called", "was", "first", "runner")


@dataclass(frozen=True, slots=True)
class Waiting:
    """A name that waits: as typed, its other spellings, and in how many pours it stands.

    `suggestions` are keys of wines, the likeliest first; `lacking` says that the table has no such
    wine, as the taster told; `cellar` counts the rows of the taster's cellar that have the name.
    """

    text: str
    spellings: tuple[str, ...]
    pours: int
    suggestions: tuple[str, ...]
    lacking: bool
    cellar: int = 0

    @property
    def folded(self) -> str:
        """The name whatever its case, accents and spacing."""
        return fold(self.text)

    @property
    def where(self) -> str:
        """In how many pours it stands, and whether in the cellar."""
        return places(self.pours, self.cellar)


@dataclass(frozen=True, slots=True)
class Picked:
    """What was picked for a name, and the pours that it resolved, to take it back."""

    text: str
    wine: str
    pours: tuple[int, ...]
    spellings: tuple[str, ...]
    resolved: int


def places(pours: int, rows: int) -> str:
    """In how many pours and rows of the cellar names stand: “3 pours and the cellar”."""
    told = [count(pours, "pour")] if pours or not rows else []
    return " and ".join([*told, "the cellar"] if rows else told)


def fold(text: str) -> str:
    """A name whatever its case, accents and spacing."""
    return "".join(words(text)) or text


def waiting(desk: Desk) -> list[Waiting]:
    """The names that wait, those in most places first; those that the table lacks come last."""
    lacking = _lacking(desk)
    groups: dict[str, list[tuple[str, int]]] = {}
    for text, pours in desk.repository.waiting_names(desk.taster.id).items():
        groups.setdefault(fold(text), []).append((text, pours))
    stocked = Counter(row.text for row in cellar(desk) if row.wine is None)
    in_cellar: Counter[str] = Counter()
    for text, rows in stocked.items():
        in_cellar[fold(text)] += rows
        if not any(text == known for known, _ in groups.setdefault(fold(text), [])):
            groups[fold(text)].append((text, 0))
    found = []
    for folded, spelt in groups.items():
        text = max(spelt, key=lambda one: one[1])[0]
        meant = desk.names.resolve(text)
        found.append(
            Waiting(
                text=text,
                spellings=tuple(one for one, _ in spelt),
                pours=sum(pours for _, pours in spelt),
                # A wine that came into the table since is no guess, but it is still asked about.
                suggestions=(meant.wine,) if meant.wine else meant.suggestions,
                lacking=folded in lacking and meant.wine is None,
                cellar=in_cellar[folded],
            )
        )
    return sorted(found, key=lambda one: (one.lacking, -one.pours, one.text))


def pick(desk: Desk, name: Waiting, wine: str) -> Picked:
    """Remember what a name means, and resolve every pour that waits for it.

    A row of the cellar is looked up whenever it is read, so the remembered name is enough.

    Raises:
        NotPossibleError: the table has no such wine.
        StorageError: and its kinds; then nothing changed.
    """
    pours = tuple(
        record.id
        for record in desk.repository.unresolved(desk.taster.id)
        if _waits_for(record, name.spellings)
    )
    resolved = remember_name(desk, name.text, wine)
    return Picked(name.text, wine, pours, name.spellings, resolved)


def take_back(desk: Desk, picked: Picked) -> None:
    """Forget what a name means, and let the pours that it resolved wait again."""
    repository = desk.repository
    repository.forget_name(desk.taster.id, picked.text)
    desk.__dict__.pop("names", None)
    for pour_id in picked.pours:
        record = repository.pour(pour_id)
        if record is None:
            continue
        draft = record.draft
        # Only what this name resolved: the same wine may have been named otherwise too.
        again: dict[str, Any] = {
            f"{role}_wine": None
            for role in _ROLES
            if getattr(draft, f"{role}_text") in picked.spellings
            and getattr(draft, f"{role}_wine") == picked.wine
        }
        candidates = tuple(
            replace(one, wine=None)
            if one.text in picked.spellings and one.wine == picked.wine
            else one
            for one in draft.candidates
        )
        repository.change_pour(pour_id, replace(draft, candidates=candidates, **again))


def set_lacking(desk: Desk, name: Waiting, lacking: bool) -> None:
    """Keep that the table has no wine of this name, or that it may have one after all."""
    known = _lacking(desk)
    known = known | {name.folded} if lacking else known - {name.folded}
    desk.repository.keep_meta(
        _place(desk), json.dumps(sorted(known), ensure_ascii=False) if known else None
    )


def new_wine_command(name: Waiting, like: Sequence[str]) -> str:
    """The command that makes a profile of a wine which the table lacks."""
    key = "-".join(words(name.text)[:6]) or "key"
    return f"crosspour table new {key} --like {like[0] if like else 'WINE'}"


def _waits_for(record: PourRecord, spellings: Sequence[str]) -> bool:
    draft = record.draft
    return any(
        getattr(draft, f"{role}_wine") is None and getattr(draft, f"{role}_text") in spellings
        for role in _ROLES
    )


def _place(desk: Desk) -> str:
    return f"names-not-in-the-table.{desk.taster.id}"


def _lacking(desk: Desk) -> frozenset[str]:
    kept = desk.repository.meta(_place(desk))
    return frozenset(json.loads(kept)) if kept else frozenset()
