"""Questions: a contrast put to the taster in one of the forms, and its explanation on reveal."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from cards.contrasts import BOTH_SIDES, SIDE_A, SIDE_B, Cellar, Contrast, CueWeight
from cards.errors import NoContrast
from cards.evidence import Reading, probability
from cards.lexicon import ALCOHOL, DEPTH, HUE, UNMEASURED, Lexicon
from cards.profiles import Profile
from cards.scale import Level, Typical

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


@dataclass(frozen=True, slots=True)
class CueStory:
    """What the reveal says of one cue.

    `weight` is decibans toward the wine on the right, so negative ones point left; `left` and
    `right` are what either profile says; `because` is the cause where one is known; `basis` is what
    the fact rests on, with its full `citation` where that is a source.
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


_LEVEL_WORDS = {
    "mineral": ("little mineral", "a touch of mineral", "some mineral", "mineral", "very mineral"),
    "oak": ("no oak to speak of", "a touch of oak", "some oak", "marked oak", "heavy oak"),
    "sweetness": ("dry", "just off dry", "half sweet", "sweet", "very sweet"),
    "bitterness": (
        "no bitterness",
        "a touch of bitterness",
        "some bitterness",
        "clear bitterness",
        "strong bitterness",
    ),
    "body": ("light body", "med- body", "med body", "med+ body", "full body"),
    "finish": ("short finish", "med- finish", "med finish", "med+ finish", "long finish"),
    "intensity": ("shy nose", "med- nose", "med nose", "med+ nose", "pronounced nose"),
    DEPTH: ("very pale", "pale", "medium deep", "deep", "very deep"),
}


def words_for(attribute: str, reading: Reading, lexicon: Lexicon) -> str:
    """A reading in words: “high acid”, “alcohol 13.5% vol”, “petrol”, “no petrol”."""
    if attribute == ALCOHOL:
        return f"alcohol {float(reading):g}% vol"
    if attribute == HUE:
        return f"{str(reading).replace('-', ' ')} hue"
    if isinstance(reading, bool):
        name = lexicon.name_of(attribute)
        return name if reading else f"no {name}"
    level = Level(int(reading))
    special = _LEVEL_WORDS.get(attribute)
    return special[level] if special else f"{level.label} {attribute}"


def profile_words(profile: Profile, attribute: str, lexicon: Lexicon) -> str:
    """What a profile says of one cue, in a few words."""
    if attribute == ALCOHOL:
        return f"{profile.alcohol}% vol"
    if attribute == HUE:
        return ", ".join(hue.replace("-", " ") for hue in profile.hues)
    if attribute == DEPTH:
        return str(profile.depth)
    if attribute in profile.structure:
        return str(profile.structure[attribute])
    if attribute == "tannin":
        return "none"
    typical = profile.descriptors.get(attribute)
    if typical is not None:
        return str(typical)
    family = lexicon.family_of(attribute)
    near = [
        lexicon.name_of(key)
        for key, how in profile.descriptors.items()
        if how in (Typical.SIGNATURE, Typical.COMMON) and lexicon.family_of(key) == family
    ]
    return f"rather {near[0]}" if near else "not known for it"


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
        probable=probability(sum(cue.toward(side) for cue in members)),
        telling=truth.telling,
    )


def _better_side(cue: CueWeight) -> int:
    return SIDE_A if cue.toward_a >= cue.toward_b else SIDE_B


def _story(cellar: Cellar, question: Question, cue: CueWeight, side: int) -> CueStory:
    table = cellar.table
    wine_a, wine_b = question.contrast.pair
    toward = wine_a if side == SIDE_A else wine_b
    size = cue.toward(side)
    holder = wine_a if cue.more else wine_b
    cause = table.cause_of(cue.attribute, holder)
    basis = table.profiles[holder].basis_of(cue.attribute)
    source = table.sources.get(basis)
    return CueStory(
        attribute=cue.attribute,
        words=words_for(cue.attribute, cue.reading(side), table.lexicon),
        weight=size if toward == question.right else -size,
        left=profile_words(table.profiles[question.left], cue.attribute, table.lexicon),
        right=profile_words(table.profiles[question.right], cue.attribute, table.lexicon),
        because=cause.because if cause else "",
        basis=basis,
        citation=source.citation if source else "",
    )
