"""The reveal: why the answer is the answer."""

from __future__ import annotations

from dataclasses import dataclass

from cards.cellar import Cellar
from cards.cues import SIDE_A, SIDE_B, CueWeight
from cards.lexicon import UNMEASURED
from cards.questions import Question
from cards.reasons import reason_of
from cards.wording import profile_words, words_for


@dataclass(frozen=True, slots=True)
class CueStory:
    """What the reveal says of one cue.

    `weight` is decibans toward the wine on the right, so negative ones point left; `left` and
    `right` are what either profile says; `because` is the cause where one is known, with the wine
    that it is told of where the reading speaks for the other; `basis` is what the fact rests on,
    with its full `citation` where that is a source.
    """

    attribute: str
    words: str
    weight: float
    left: str
    right: str
    because: str
    basis: str
    citation: str = ""


@dataclass(frozen=True, slots=True)
class Explanation:
    """The reveal: each cue of the card, two more worth checking, and how probable the answer is."""

    cues: tuple[CueStory, ...]
    also: tuple[CueStory, ...]
    probable: float
    telling: str


def explain(cellar: Cellar, question: Question) -> Explanation:
    """Say why the answer is the answer."""
    side, pair = question.side, question.contrast.pair
    cues = cellar.cues(*pair)
    weights = {cue.attribute: cue for cue in cues}
    members = [weights[cue] for cue in question.contrast.cues]
    families = {cue.family for cue in members}
    also: list[CueWeight] = []
    for cue in cues:
        if len(also) == 2:
            break
        if cue.known and cue.family not in families and cue.attribute not in UNMEASURED:
            families.add(cue.family)
            also.append(cue)
    truth = cellar.table.profiles[question.truth]
    return Explanation(
        cues=tuple(_story(cellar, question, cue, side) for cue in members),
        also=tuple(_story(cellar, question, cue, _better_side(cue)) for cue in also),
        probable=question.probable,
        telling=truth.telling,
    )


def _better_side(cue: CueWeight) -> int:
    return SIDE_A if cue.toward_a >= cue.toward_b else SIDE_B


def _story(cellar: Cellar, question: Question, cue: CueWeight, side: int) -> CueStory:
    table = cellar.table
    wine_a, wine_b = question.contrast.pair
    toward = wine_a if side == SIDE_A else wine_b
    size = cue.toward(side)
    holder, other = (wine_a, wine_b) if cue.more else (wine_b, wine_a)
    reading = cue.reading(side)
    basis = table.profiles[holder].basis_of(cue.attribute)
    source = table.sources.get(basis)
    return CueStory(
        attribute=cue.attribute,
        words=words_for(cue.attribute, reading, table.lexicon),
        weight=size if toward == question.right else -size,
        left=profile_words(table.profiles[question.left], cue.attribute, table.lexicon),
        right=profile_words(table.profiles[question.right], cue.attribute, table.lexicon),
        because=reason_of(table, cue.attribute, reading, holder, other, toward).words,
        basis=basis,
        citation=source.citation if source else "",
    )
