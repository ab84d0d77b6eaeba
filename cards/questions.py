"""Questions: a contrast put to the taster in one of the forms."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import islice, zip_longest

from cards.beside import beside_the_cues
from cards.cellar import Cellar
from cards.contrasts import LEAST_PROBABLE, Contrast
from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B, CueWeight
from cards.errors import NoContrast
from cards.evidence import NOTED, Reading, posterior, probability
from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE, UNMEASURED, Lexicon
from cards.profiles import Profile
from cards.scale import Level, Typical
from cards.wording import words_for

WEAK_CUE = 3.0
OPTIONS = 4
# A full note holds at least so many readings.
NOTE_LEAST = 7
# A level is asked for where no more than so many of the five are right: a wine that may stand
# anywhere teaches nothing, and whoever says “med” is right.
LEVELS_RIGHT = 2


class Form(StrEnum):
    """How a contrast is put."""

    WHICH_GLASS = "which glass"
    WHICH_CUE = "which cue"
    WHICH_LEVEL = "which level"
    NAME_IT = "name it"


@dataclass(frozen=True, slots=True)
class CueReading:
    """A cue as it stands on a card: the attribute, what was read, and both as words."""

    attribute: str
    reading: Reading
    words: str


@dataclass(frozen=True, slots=True)
class Option:
    """One answer among several: its words, and how far it is from the right one.

    `distance` is 0 for a right answer; on a scale of levels it counts the levels between.
    """

    words: str
    distance: int = 1


@dataclass(frozen=True, slots=True)
class Question:
    """One showing of a contrast.

    `truth` is the wine its readings point to, `left` and `right` the wines as they stand on the
    screen. `options` is empty for *which glass?*. `probable` is the probability of the right answer
    among those offered, for a taster who knows the table.
    """

    contrast: Contrast
    form: Form
    left: str
    right: str
    truth: str
    readings: tuple[CueReading, ...]
    probable: float
    options: tuple[Option, ...] = ()

    @property
    def side(self) -> int:
        """SIDE_A or SIDE_B: the wine that the readings point to."""
        return SIDE_A if self.truth == self.contrast.wine_a else SIDE_B

    @property
    def other(self) -> str:
        """The wine of the pair that the readings do not point to."""
        return self.left if self.truth == self.right else self.right

    def distance(self, given: str | int) -> int:
        """How far an answer is off: 0 for right. A wine's key, or the number of an option."""
        if isinstance(given, int):
            return self.options[given].distance
        return 0 if given == self.truth else 1


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

    Side and place of the glasses are drawn from `rng` unless given. A form that the contrast or its
    pair cannot fill falls back to *which glass?*. NoContrast is raised when the table no longer
    knows one of the cues.
    """
    weights = {cue.attribute: cue for cue in cellar.cues(*contrast.pair)}
    if any(cue not in weights for cue in contrast.cues):
        raise NoContrast(f"the table no longer tells {contrast.wine_a} and {contrast.wine_b} apart")
    side = choose_side(contrast, rng) if side is None else side
    swapped = rng.random() < 0.5 if swapped is None else swapped
    left, right = contrast.pair[::-1] if swapped else contrast.pair
    members = [weights[cue] for cue in contrast.cues]
    plain = Question(
        contrast,
        Form.WHICH_GLASS,
        left,
        right,
        contrast.wine_a if side == SIDE_A else contrast.wine_b,
        tuple(_reading(cue, side, cellar.table.lexicon) for cue in members),
        probability(sum(cue.toward(side) for cue in members)),
    )
    if form is Form.WHICH_CUE:
        return _which_cue(cellar, plain, rng) or plain
    if form is Form.WHICH_LEVEL:
        return _which_level(cellar, plain, rng) or plain
    if form is Form.NAME_IT:
        return _name_it(cellar, plain, rng) or plain
    return plain


def _reading(cue: CueWeight, side: int, lexicon: Lexicon) -> CueReading:
    reading = cue.reading(side)
    return CueReading(cue.attribute, reading, words_for(cue.attribute, reading, lexicon))


def _which_cue(cellar: Cellar, plain: Question, rng: random.Random) -> Question | None:
    """The wine is given; four cues, or sets of cues, are offered, of which one settles it."""
    beside = beside_the_cues(
        cellar.picture(plain.truth),
        cellar.picture(plain.other),
        [(reading.attribute, reading.reading) for reading in plain.readings],
        WEAK_CUE,
        rng,
    )
    others = list(islice(beside, OPTIONS - 1))
    if len(others) < OPTIONS - 1:
        return None
    lexicon = cellar.table.lexicon
    options = [Option(", ".join(words_for(*read, lexicon) for read in other)) for other in others]
    settles = Option(", ".join(reading.words for reading in plain.readings), 0)
    options.insert(rng.randrange(OPTIONS), settles)
    return replace(plain, form=Form.WHICH_CUE, options=tuple(options))


def _which_level(cellar: Cellar, plain: Question, rng: random.Random) -> Question | None:
    """One wine is given; one of the contrast's levels is to be placed on the scale."""
    profile = cellar.table.profiles[plain.truth]
    placed = {**profile.structure, DEPTH: profile.depth}
    levels = [
        reading
        for reading in plain.readings
        if reading.attribute in placed
        and len(tuple(placed[reading.attribute])) <= LEVELS_RIGHT
        # A word without a measured basis never decides an answer alone.
        and reading.attribute not in UNMEASURED
    ]
    if not levels:
        return None
    asked = rng.choice(levels)
    typical = placed[asked.attribute]
    lexicon = cellar.table.lexicon
    options = tuple(
        Option(
            words_for(asked.attribute, int(level), lexicon),
            0 if level in typical else min(abs(level - typical.low), abs(level - typical.high)),
        )
        for level in Level
    )
    asked = replace(asked, words="depth of colour" if asked.attribute == DEPTH else asked.attribute)
    return replace(plain, form=Form.WHICH_LEVEL, readings=(asked,), options=options, probable=1.0)


def _name_it(cellar: Cellar, plain: Question, rng: random.Random) -> Question | None:
    """A full note of the truth; it and its three nearest are offered, the pair's other among them.

    None where the other or fewer than three wines may pass for it: what is far off gives the name
    away. Readings are drawn from the profile and more are added until the right name is at least
    85% probable among the four.
    """
    table = cellar.table
    profile = table.profiles[plain.truth]
    near = [wine for wine, _ in cellar.taken_for(plain.truth)]
    if plain.other not in near or len(near) < OPTIONS - 1:
        return None
    others = [wine for wine in near if wine != plain.other]
    names = [plain.truth, plain.other, *others[: OPTIONS - 2]]
    note: dict[str, Reading] = {reading.attribute: reading.reading for reading in plain.readings}
    for attribute, reading in _drawn(cellar, profile, rng):
        if len(note) >= NOTE_LEAST and _probable(cellar, names, note) >= LEAST_PROBABLE:
            break
        note.setdefault(attribute, reading)
    probable = _probable(cellar, names, note)
    if probable < LEAST_PROBABLE:
        return None
    rng.shuffle(names)
    # As a glass is met: looked at, tasted, and its smells together at the end.
    order = [HUE, DEPTH, *STRUCTURE, ALCOHOL]
    scales = [attribute for attribute in order if attribute in note]
    words = [attribute for attribute in note if attribute not in order]
    return replace(
        plain,
        form=Form.NAME_IT,
        readings=tuple(
            CueReading(name, note[name], words_for(name, note[name], table.lexicon))
            for name in (*scales, *words)
        ),
        options=tuple(
            Option(table.profiles[name].name, 0 if name == plain.truth else 1) for name in names
        ),
        probable=probable,
    )


def _drawn(cellar: Cellar, profile: Profile, rng: random.Random) -> Iterator[tuple[str, Reading]]:
    """Readings true to a wine: levels from its ranges, descriptors as typical as they are."""
    picture = cellar.picture(profile.key)
    scales = [name for name in picture.typical if name in profile.structure or name == ALCOHOL]
    found = [
        key
        for key, typical in profile.descriptors.items()
        if rng.random() < NOTED[typical] and typical is not Typical.NEVER
    ]
    rng.shuffle(scales)
    rng.shuffle(found)
    # Structure and smell take turns, so that a short note has some of both.
    for pair in zip_longest(found, scales):
        if pair[0] is not None:
            yield pair[0], True
        if pair[1] is not None:
            yield pair[1], rng.choice(picture.typical[pair[1]])


def _probable(cellar: Cellar, names: Sequence[str], note: Mapping[str, Reading]) -> float:
    return posterior([cellar.picture(name) for name in names], note)[names[0]]
