"""Reading a name made of grape, place and style words: which wine fits every word of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cards.naming.index import NameIndex
from cards.naming.mentions import Facts, Mention
from cards.naming.vocabulary import CHOOSING, STRANGERS

_EVIDENCE = ("fizz", "dosage", "kind", "fortified", "sweetness", "colour", "years", "vintage")
_MOST_LEFT_OVER = 6


@dataclass(slots=True)
class Reading:
    """How a name was understood: `candidates` fit every word, `wines` are what is left to call."""

    mentions: list[Mention]
    leftover: list[str]
    candidates: int = 0
    wines: int = 0
    stopped: bool = False
    tolerates_rest: bool = False


def read_names(index: NameIndex, said: Sequence[str]) -> Reading:
    """Read `said`; a phrase that is a whole wine's name gives way if its words fit better apart."""
    mentions, leftover = index.read(said)
    reading = _judge(index, _counted(mentions), leftover)
    if not reading.wines and any(mention.wines for mention in mentions):
        mentions, leftover = index.read(said, whole_names=False)
        apart = _judge(index, _counted(mentions), leftover)
        if apart.wines:
            return apart
    return reading


def _counted(mentions: list[Mention]) -> list[Mention]:
    """The phrases that say something."""
    return [mention for mention in mentions if not mention.noise]


def _judge(index: NameIndex, mentions: list[Mention], leftover: list[str]) -> Reading:
    reading = Reading(mentions, leftover)
    reading.stopped = any(mention.stop for mention in mentions)
    years = {word for word in leftover if word in ("10", "20", "30", "40")}
    if years and any(mention.value == "tawny" for mention in mentions):
        reading.leftover = [word for word in leftover if word not in years]
    else:
        years = set()
    if reading.stopped:
        return reading

    grapes = [m for m in mentions if m.is_grape and not _is_kind(m)]
    only_grape = [m for m in grapes if not m.is_place]
    # Beside a grape or a wine's name a place may be any inside the one that the wine is of.
    anywhere = bool(only_grape) or any(m.wines and not m.is_place for m in mentions)
    places = [m for m in mentions if m.is_place and not _is_kind(m)]
    left = index.all
    for mention in mentions:
        if mention.category in CHOOSING and not mention.wines:
            continue
        left &= _fitting(mention, first=not grapes or mention is grapes[0], anywhere=anywhere)
    asked = {(m.category, m.value) for m in mentions if m.category}
    asked |= {("years", year) for year in years}
    left = _choose(index, left, asked)
    reading.candidates = left
    if not left:
        return reading

    called = [
        facts
        for facts in index.of(left)
        if _marked_enough(facts, asked, mentions) and _style_said(index, facts, asked, mentions)
    ]
    fits = 0
    for facts in called:
        if _identified(facts, mentions, only_grape, places, asked, index, left):
            fits |= facts.bit
    reading.wines = _best(index, fits, mentions, asked)
    reading.tolerates_rest = _tolerates(index, reading, grapes, places)
    return reading


def _is_kind(mention: Mention) -> bool:
    """A word of kind stands over its other readings: a ripasso is no Valpolicella."""
    return mention.category == "kind"


def _fitting(mention: Mention, *, first: bool, anywhere: bool) -> int:
    bits = mention.wines | mention.kin | mention.style | mention.country
    if _is_kind(mention):
        return mention.wines | mention.kin | mention.style
    if mention.is_grape:
        bits |= mention.main if first else mention.share
    if mention.is_place:
        bits |= mention.upward | mention.listed if anywhere else mention.exact
        bits |= mention.around
    return bits


def _places_of(mention: Mention) -> int:
    """The wines that a phrase fits if it is read as a place."""
    if not mention.is_place:
        return 0
    return mention.exact | mention.upward | mention.around | mention.listed


def _choose(index: NameIndex, left: int, asked: set[tuple[str, str]]) -> int:
    """Steps of ageing and the like choose where wines differ in them, else they say nothing."""
    for category, value in asked:
        if category not in CHOOSING:
            continue
        bearing = having = 0
        for facts in index.of(left):
            values = facts.values.get(category)
            if values:
                bearing |= facts.bit
                if value in values:
                    having |= facts.bit
        if having:
            left = having
        elif category == "age" and value == "young":
            left &= ~bearing
        elif bearing and (category == "years" or value == "joven"):
            left = 0
        elif category == "vintage" and not bearing:
            # A vintage-dated sparkling wine is not the blend without a year.
            for facts in index.of(left):
                if facts.profile.style == "sparkling":
                    left &= ~facts.bit
    return left


def _marked_enough(facts: Facts, asked: set[tuple[str, str]], mentions: list[Mention]) -> bool:
    """An Auslese must be called an Auslese; Riesling and Mosel alone do not name it."""
    if facts.marks <= asked:
        return True
    return any(mention.wines & facts.bit for mention in mentions)


def _style_said(
    index: NameIndex, facts: Facts, asked: set[tuple[str, str]], mentions: list[Mention]
) -> bool:
    """Whether a wine that is no still, dry white or red is called what it is."""
    style = facts.profile.style
    if style in ("white", "red"):
        return True
    for mention in mentions:
        if mention.wines & facts.bit:
            return True
        classics = index.of(mention.classic) if mention.is_place else ()
        if mention.exact & facts.bit and any(c.profile.style == style for c in classics):
            return True
    for category, value in asked:
        if category in _EVIDENCE and value in facts.values.get(category, ()):
            if category == "sweetness" and value != "sweet":
                continue
            if category == "colour" and style != "rose":
                continue
            if (category, value) == ("fizz", "still"):
                continue
            return True
    # A grape that makes no other wine of the table needs no more words.
    grapes = [mention for mention in mentions if mention.is_grape]
    return len(mentions) == 1 and bool(grapes) and grapes[0].main == facts.bit


def _identified(
    facts: Facts,
    mentions: list[Mention],
    grapes: list[Mention],
    places: list[Mention],
    asked: set[tuple[str, str]],
    index: NameIndex,
    left: int,
) -> bool:
    """Whether the words name this wine and do not merely allow it."""
    bit = facts.bit
    if any((mention.wines | mention.kin) & bit for mention in mentions):
        return True
    if facts.marks <= asked and any(category == "years" for category, _ in facts.marks):
        return True  # a tawny of ten years needs no “Port”
    if grapes:
        if any(mention.country & bit or (_places_of(mention) & bit) for mention in mentions):
            return True
        if places:
            return False  # “Cariñena” may be the place, and then it is not this wine
        # A grape alone names its wine if the table has no other, variants of that wine aside.
        others = 0
        for other in index.of(left & ~bit):
            if not (other.base & bit and not other.marks <= asked):
                others |= other.bit
        return not others
    if not places:
        return False
    if any(mention.classic & bit for mention in places):
        return True
    # “Rioja Gran Reserva”, “Mosel Auslese”: place and mark. Place and colour will only do where
    # the wine is called so, for the table does not hold all reds of Stellenbosch.
    called_so = facts.marks | facts.tint
    return bool(called_so) and called_so <= asked and any(m.exact & bit for m in places)


def _best(index: NameIndex, fits: int, mentions: list[Mention], asked: set[tuple[str, str]]) -> int:
    """Those that are named most plainly."""
    if not fits & (fits - 1):
        return fits

    def rank(facts: Facts) -> tuple[int, int, int, int]:
        return (
            sum(bool((mention.wines | mention.kin) & facts.bit) for mention in mentions),
            len(facts.marks & asked),
            -len(facts.marks - asked),
            -int(("sweetness", "dry") in asked and facts.profile.sugar_class != "dry"),
        )

    ranked = [(rank(facts), facts) for facts in index.of(fits)]
    top = max(rank for rank, _ in ranked)
    best = 0
    for ranking, facts in ranked:
        if ranking == top:
            best |= facts.bit
    return best


def _tolerates(
    index: NameIndex, reading: Reading, grapes: list[Mention], places: list[Mention]
) -> bool:
    """Whether words that nobody knows may be a grower's or a vineyard's name.

    They may beside grape and place, beside a wine's name of several words, and beside an
    appellation of several words in the old world, where the place says the grape.
    """
    wines = reading.wines
    if not wines or wines & (wines - 1) or len(reading.leftover) > _MOST_LEFT_OVER:
        return False
    if any(word in STRANGERS for word in reading.leftover):
        return False
    old_world = next(index.of(wines)).profile.world == "old"
    for mention in reading.mentions:
        named = mention.wines & wines or (mention.is_place and mention.classic & wines)
        if named and mention.length > 1 and (old_world or not mention.is_place):
            return True
    return any(
        (mention.upward | mention.classic) & wines
        for mention in places
        if any(grape is not mention for grape in grapes)
    )


def nearest(index: NameIndex, reading: Reading, preferred: int = 0) -> Iterator[str]:
    """Keys of wines that fit some of the words, those that fit most first."""
    scored = []
    some = 0
    for mention in reading.mentions:
        some |= mention.wines | mention.share | mention.exact | mention.upward | mention.around
        some |= mention.country | mention.near | mention.style
    for facts in index.of(some):
        score = 0.0
        for mention in reading.mentions:
            if mention.wines & facts.bit:
                score += 4
            elif mention.main & facts.bit:
                score += 3
            elif mention.share & facts.bit:
                score += 1
            elif (mention.exact | mention.classic) & facts.bit:
                score += 3
            elif (mention.upward | mention.around) & facts.bit:
                score += 2
            elif mention.country & facts.bit:
                score += 1.5
            elif (mention.near | mention.style) & facts.bit:
                score += 1
            elif mention.category and mention.style:
                score -= 1
        if score > 0:
            score += 2 * bool(reading.candidates & facts.bit) + bool(preferred & facts.bit)
            scored.append((-score, len(facts.marks), facts.bit, facts.key))
    scored.sort()
    return (key for _, _, _, key in scored)
