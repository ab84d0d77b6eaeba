"""Questions: a contrast put to the taster in one of the forms."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from cards.contrasts import BOTH_SIDES, SIDE_A, SIDE_B, Cellar, Contrast, CueWeight
from cards.errors import NoContrast
from cards.evidence import Reading
from cards.lexicon import Lexicon
from cards.wording import words_for

WEAK_CUE = 3.0
OPTIONS = 4


class Form(StrEnum):
    """How a contrast is put."""

    WHICH_GLASS = "which glass"
    WHICH_CUE = "which cue"


@dataclass(frozen=True, slots=True)
class CueReading:
    """A cue as it stands on a card: the attribute, what was read, and both as words."""

    attribute: str
    reading: Reading
    words: str


@dataclass(frozen=True, slots=True)
class Option:
    """One answer to *which cue?*: readings that settle the pair, or do not."""

    words: str
    weight: float


@dataclass(frozen=True, slots=True)
class Question:
    """One showing of a contrast.

    `truth` is the wine its readings point to, `left` and `right` the wines as they stand on the
    screen. `options` is empty for *which glass?*; for *which cue?* `answer` is the place of the one
    that settles it.
    """

    contrast: Contrast
    form: Form
    left: str
    right: str
    truth: str
    readings: tuple[CueReading, ...]
    options: tuple[Option, ...] = ()
    answer: int = 0

    @property
    def side(self) -> int:
        """SIDE_A or SIDE_B: the wine that the readings point to."""
        return SIDE_A if self.truth == self.contrast.wine_a else SIDE_B


def choose_side(contrast: Contrast, rng: random.Random, told: tuple[int, int] = (0, 0)) -> int:
    """Draw the wine to point to; the one told less often of late (`told`: A, B) is likelier."""
    if contrast.sides != BOTH_SIDES:
        return contrast.sides
    chance_a = (told[1] + 1) / (told[0] + told[1] + 2)
    return SIDE_A if rng.random() < chance_a else SIDE_B


def ask(
    cellar: Cellar,
    contrast: Contrast,
    rng: random.Random,
    *,
    form: Form = Form.WHICH_GLASS,
    side: int | None = None,
    swapped: bool | None = None,
) -> Question:
    """Put a contrast as a question.

    Side and place of the glasses are drawn from `rng` unless given. *Which cue?* falls back to
    *which glass?* where the pair lacks three cues that settle nothing. NoContrast is raised when
    the table no longer knows one of the cues.
    """
    weights = {cue.attribute: cue for cue in cellar.cues(*contrast.pair)}
    if any(cue not in weights for cue in contrast.cues):
        raise NoContrast(f"the table no longer tells {contrast.wine_a} and {contrast.wine_b} apart")
    side = choose_side(contrast, rng) if side is None else side
    swapped = rng.random() < 0.5 if swapped is None else swapped
    left, right = contrast.pair[::-1] if swapped else contrast.pair
    lexicon = cellar.table.lexicon
    members = [weights[cue] for cue in contrast.cues]
    readings = tuple(_reading(cue, side, lexicon) for cue in members)
    truth = contrast.wine_a if side == SIDE_A else contrast.wine_b
    question = Question(contrast, Form.WHICH_GLASS, left, right, truth, readings)
    if form is Form.WHICH_CUE:
        return _as_which_cue(question, members, list(weights.values()), lexicon, rng) or question
    return question


def _reading(cue: CueWeight, side: int, lexicon: Lexicon) -> CueReading:
    reading = cue.reading(side)
    return CueReading(cue.attribute, reading, words_for(cue.attribute, reading, lexicon))


def _as_which_cue(
    question: Question,
    members: Sequence[CueWeight],
    cues: Sequence[CueWeight],
    lexicon: Lexicon,
    rng: random.Random,
) -> Question | None:
    side = question.side
    asked = {cue.attribute for cue in members}
    weak = [
        cue
        for cue in cues
        if cue.attribute not in asked
        and abs(cue.toward(side)) < WEAK_CUE
        # An absence is a dull thing to be offered; so is a reading from the wrong wine.
        and cue.reading(side) is not False
    ]
    if len(weak) < OPTIONS - 1:
        return None
    others = [
        Option(words_for(cue.attribute, cue.reading(side), lexicon), cue.toward(side))
        for cue in rng.sample(weak, OPTIONS - 1)
    ]
    settles = Option(
        ", ".join(reading.words for reading in question.readings),
        sum(cue.toward(side) for cue in members),
    )
    answer = rng.randrange(OPTIONS)
    options = (*others[:answer], settles, *others[answer:])
    return Question(
        question.contrast,
        Form.WHICH_CUE,
        question.left,
        question.right,
        question.truth,
        question.readings,
        options,
        answer,
    )
