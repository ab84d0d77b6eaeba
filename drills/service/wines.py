"""What the table says of wines: the cues of a pair, and a wine's nearest laterals."""

from __future__ import annotations

from dataclasses import dataclass

from cards.contrasts import ordered_pair
from cards.cues import SIDE_A, SIDE_B, CueWeight
from cards.reasons import reason_of
from cards.wording import words_for
from drills.errors import UsageError
from drills.service.desk import Desk


@dataclass(frozen=True, slots=True)
class PairCue:
    """One cue of a pair: what was read, the wine it points to, its weight in decibans, its basis.

    A cue that both wines are placed on stands for more of it: `toward` is the wine with more, and
    `reading` what is typical there.
    """

    cue: str
    reading: str
    toward: str
    weight_db: float
    basis: str
    because: str


@dataclass(frozen=True, slots=True)
class PairView:
    """Two wines and all that tells them apart, strongest first."""

    wines: tuple[str, str]
    separation_db: float
    cues: tuple[PairCue, ...]


@dataclass(frozen=True, slots=True)
class Lateral:
    """Another wine and how far apart it is, in decibans."""

    wine: str
    separation_db: float


def pair_keys(desk: Desk, one: str, other: str) -> tuple[str, str]:
    """The keys of two wines named by key or by any synonym; UnknownWine, UsageError."""
    wines = (desk.names.key(one), desk.names.key(other))
    if wines[0] == wines[1]:
        raise UsageError(f"“{one}” and “{other}” are the same wine")
    return wines


def pair_view(desk: Desk, one: str, other: str) -> PairView:
    """Every cue of two wines, named by key or by any synonym; UnknownWine, UsageError."""
    wines = pair_keys(desk, one, other)
    a, b = ordered_pair(*wines)
    cues = [_pair_cue(desk, cue, a, b) for cue in desk.cellar.cues(a, b)]
    return PairView(
        wines=wines,
        separation_db=round(desk.cellar.separation(a, b), 2),
        cues=tuple(sorted(cues, key=lambda cue: (-cue.weight_db, cue.cue))),
    )


def _pair_cue(desk: Desk, cue: CueWeight, a: str, b: str) -> PairCue:
    side, wine, other = (SIDE_A, a, b) if cue.more else (SIDE_B, b, a)
    reading = cue.reading(side)
    return PairCue(
        cue=cue.attribute,
        reading=words_for(cue.attribute, reading, desk.table.lexicon),
        toward=wine,
        weight_db=round(cue.toward(side), 2),
        basis=desk.table.profiles[wine].basis_of(cue.attribute),
        because=reason_of(desk.table, cue.attribute, reading, wine, other, wine).words,
    )


def laterals(desk: Desk, wine: str) -> list[Lateral]:
    """The wines of the same style, and laterals of another, with their separation, nearest first.

    UnknownWine.
    """
    key = desk.names.key(wine)
    named = set(desk.table.profiles[key].laterals) & desk.table.profiles.keys()
    apart = desk.cellar.laterals(key, named.union(desk.cellar.same_style(key)))
    return [Lateral(other, round(gap, 2)) for other, gap in apart]
