"""The debrief of a pour: what the note said, what it never said, and what to check next time. Pure.

Everything is weighed for the revealed wine against one other: the wine that was called or, where
the call was right or is missing, the wine that the note makes likeliest after the revealed one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from cards.cellar import Cellar
from cards.contrasts import THRESHOLD
from cards.cues import SIDE_A, SIDE_B, is_scale
from cards.errors import CardsError
from cards.evidence import (
    Reader,
    Reading,
    dampings,
    posterior,
    probability,
    weight,
)
from cards.explaining import CueStory
from cards.lexicon import ALCOHOL, DEPTH, HUE, UNMEASURED
from cards.profiles import Profile
from cards.scale import Level, LevelRange
from cards.tables import Table
from cards.wording import profile_words, words_for
from drills.tastings.notes import FullPour, Note

# Alcohol counts as misread when it is further off than a label may be from the wine, % vol (EU
# 2019/33, Article 44).
ALCOHOL_WITHIN = 0.5
# What would weigh less than this (decibans) is not worth a look next time.
LEAST_MISSED = 3.0
MOST_MISSED = 6
LIKELIEST = 5
# A note that speaks for the revealed wine by this much (decibans) was not believed.
_NOT_BELIEVED = 5.0
_LONGEST_REASON = 60


class NoDebrief(CardsError):  # noqa: N818 - named as the taster meets it
    """A pour that nothing can be held against: not revealed, or no wine of the table."""


@dataclass(frozen=True, slots=True)
class Missed:
    """A cue that was not noted and would have told the two wines apart.

    `story` says what a look would have found in the revealed wine; its weight is what that would
    have added to this note, decibans. It `settles` the pour where the note would then make the
    revealed wine at least 85% probable of the two.
    """

    story: CueStory
    settles: bool


@dataclass(frozen=True, slots=True)
class Misread:
    """Something read otherwise than the revealed wine shows it.

    `off` is what was read less what the wine shows, in levels or % vol, None where there is no
    more and less (a hue, the world, the climate). `against` says what it was held against:
    “profile” or “label”. `cost` is the weight that this reading took from the revealed wine,
    decibans, against the nearest reading that is true to it.
    """

    attribute: str
    read: str
    shows: str
    off: float | None
    against: Literal["profile", "label"]
    cost: float


@dataclass(frozen=True, slots=True)
class FirstCall:
    """The first call against the final one: which was `better`, in words too; empty for neither."""

    wine: str
    better: Literal["first", "final", ""]
    words: str


@dataclass(frozen=True, slots=True)
class Debrief:
    """What can be learnt from one pour.

    `was` is the revealed wine, `called` the final call where it is understood; `other` is the wine
    that everything is weighed against, and `right` None without a call that is understood. On each
    story the left wine is `other`, the right one `was`, so a weight above 0 speaks for the
    revealed wine; `speaks_for` and `speaks_against` are sorted, strongest first. `balance` is their
    sum in decibans, `chance` the probability of `was` between the two that it leaves.

    `rank` is the revealed wine's place among all `wines` given the whole note, `probability` its
    probability there, from even odds; `likeliest` are the first places. `called_rank` and
    `called_probability` say the same of the call. They are None, and `likeliest` empty, where
    nothing was noted that a wine could be told by.

    `considered` is whether the revealed wine was among the candidates, `struck` the reason for
    which it was struck off. `vintage_off` is years, called less revealed. `unknown_words` were
    noted and stand for no descriptor.
    """

    next_time: str
    was: str
    called: str | None
    other: str
    right: bool | None
    speaks_for: tuple[CueStory, ...]
    speaks_against: tuple[CueStory, ...]
    balance: float
    chance: float
    missed: tuple[Missed, ...]
    misread: tuple[Misread, ...]
    rank: int | None
    wines: int
    probability: float | None
    likeliest: tuple[tuple[str, float], ...]
    called_rank: int | None
    called_probability: float | None
    first: FirstCall | None
    considered: bool
    struck: str
    vintage_off: int | None
    unknown_words: tuple[str, ...]

    @property
    def pair(self) -> tuple[str, str] | None:
        """The pair to drill: the wine called and the wine it was, None where they are one."""
        return None if self.called is None or self.right else (self.called, self.was)


def debrief(pour: FullPour, cellar: Cellar, reader: Reader) -> Debrief:
    """Hold a note against the wine that was revealed, as this taster reads.

    Weights are those of `cards.evidence.posterior` between two wines: readings are independent
    given the wine, descriptors of one family damped. A descriptor that was looked for and not
    found counts as far as this taster catches it; one that nobody says was looked for counts for
    nothing. A cellar drawn for `reader` saves drawing all wines again.

    Raises:
        NoDebrief: the pour is not revealed, or as a wine that the table lacks.
    """
    table = cellar.table
    if pour.reveal.wine not in table.profiles:
        if not (pour.reveal.wine or pour.reveal.text):
            raise NoDebrief("the pour is not revealed yet")
        raise NoDebrief(
            f"“{pour.reveal.text or pour.reveal.wine}” is no wine of the table, so there is "
            "nothing to hold the note against"
        )
    if cellar.reader is not reader and cellar.reader != reader:
        cellar = Cellar(table, reader)
    return _Desk(pour, cellar).debrief()


class _Desk:
    """One pour with its two wines."""

    def __init__(self, pour: FullPour, cellar: Cellar) -> None:
        assert pour.reveal.wine is not None
        self.pour, self.cellar, self.table = pour, cellar, cellar.table
        self.was = pour.reveal.wine
        called = pour.final.wine
        self.called = called if called in self.table.profiles else None
        self.right = None if self.called is None else self.called == self.was
        pictures = [cellar.picture(key) for key in self.table.profiles]
        self.readings = {
            attribute: reading
            for attribute, reading in pour.note.readings.items()
            if pictures[0].likelihood(attribute) is not None
        }
        self.order = posterior(pictures, self.readings)
        if self.called is not None and not self.right:
            self.other = self.called
        else:
            self.other = self._rival()
        self.truth, self.rival = cellar.picture(self.was), cellar.picture(self.other)
        damped = dampings(self.readings, self.truth)
        # What each reading weighs alone, and in the company of its family.
        self.alone = {
            attribute: weight(reading, attribute, self.truth, self.rival)
            for attribute, reading in self.readings.items()
        }
        self.weights = {name: size / damped[name] for name, size in self.alone.items()}
        self.balance = sum(self.weights.values())

    def _rival(self) -> str:
        """The wine that the revealed one is weighed against where no other was called.

        Without a note it is the nearest of the table.
        """
        if self.readings:
            return next(wine for wine in self.order if wine != self.was)
        return self.cellar.laterals(self.was)[0][0]

    def _family(self, attribute: str) -> str:
        return self.truth.family_of.get(attribute, attribute)

    def _added(self, attribute: str, reading: Reading) -> float:
        """What one more reading would add to the note, decibans; or another one of a noted cue.

        A new word of a family damps those that are there already.
        """
        family = self._family(attribute)
        kin = {name: size for name, size in self.alone.items() if self._family(name) == family}
        before = sum(self.weights[name] for name in kin)
        kin[attribute] = weight(reading, attribute, self.truth, self.rival)
        damped = dampings(kin, self.truth)
        return sum(size / damped[name] for name, size in kin.items()) - before

    def debrief(self) -> Debrief:
        stories = [self._story(a, self.readings[a], size) for a, size in self.weights.items()]
        stories.sort(key=lambda story: (-abs(story.weight), story.attribute))
        missed, misread = self._missed(), self._misread()
        struck = [one for one in self.pour.candidates if one.wine == self.was]
        order = self.order if self.readings else {}
        result = Debrief(
            next_time="",
            was=self.was,
            called=self.called,
            other=self.other,
            right=self.right,
            speaks_for=tuple(story for story in stories if story.weight > 0),
            speaks_against=tuple(story for story in stories if story.weight < 0),
            balance=self.balance,
            chance=probability(self.balance),
            missed=missed,
            misread=misread,
            rank=_rank(order, self.was),
            wines=len(self.order),
            probability=order.get(self.was),
            likeliest=tuple(order.items())[:LIKELIEST],
            called_rank=_rank(order, self.called),
            called_probability=None if self.called is None else order.get(self.called),
            first=self._first(),
            considered=bool(struck),
            struck=next((one.struck for one in struck if one.struck), ""),
            vintage_off=_years_off(self.pour),
            unknown_words=self.pour.note.free,
        )
        return replace(result, next_time=self._next_time(result))

    def _story(self, attribute: str, reading: Reading, size: float) -> CueStory:
        holder = self.was if size >= 0 else self.other
        if isinstance(reading, bool):
            # The absence of a smell is explained by the wine that has it.
            shows_more = self.truth.chance_noted(attribute) >= self.rival.chance_noted(attribute)
            holder = self.was if shows_more else self.other
        cause = self.table.cause_of(attribute, holder)
        basis = self.table.profiles[holder].basis_of(attribute)
        source = self.table.sources.get(basis)
        return CueStory(
            attribute=attribute,
            words=words_for(attribute, reading, self.table.lexicon),
            weight=size,
            left=profile_words(self.table.profiles[self.other], attribute, self.table.lexicon),
            right=profile_words(self.table.profiles[self.was], attribute, self.table.lexicon),
            because=cause.because if cause else "",
            basis=basis,
            citation=source.citation if source else "",
        )

    def _missed(self) -> tuple[Missed, ...]:
        """Cues that the note lacks, with what a look at the revealed wine would have added."""
        a, b = sorted((self.was, self.other))
        side = SIDE_A if self.was == a else SIDE_B
        found: list[tuple[float, str, str, Reading]] = []
        for cue in self.cellar.cues(a, b):
            if cue.attribute in self.readings or not cue.known or cue.toward(side) < LEAST_MISSED:
                continue
            reading = cue.reading(side)
            added = self._added(cue.attribute, reading)
            if added >= LEAST_MISSED:
                found.append((-added, cue.attribute, cue.family, reading))
        families: set[str] = set()
        missed: list[Missed] = []
        for less, attribute, family, reading in sorted(found, key=lambda one: one[:2]):
            # Of one family the best will do: who looks for tar need not look for smoke.
            if family in families or len(missed) == MOST_MISSED:
                continue
            families.add(family)
            settles = (
                self.balance - less >= THRESHOLD > self.balance and attribute not in UNMEASURED
            )
            missed.append(Missed(self._story(attribute, reading, -less), settles))
        return tuple(missed)

    def _misread(self) -> tuple[Misread, ...]:
        profile = self.table.profiles[self.was]
        found = [
            one
            for attribute, reading in self.readings.items()
            if (one := self._held_against(attribute, reading, profile)) is not None
        ]
        found += _misplaced(self.pour.note, profile)
        return tuple(sorted(found, key=lambda one: (-one.cost, one.attribute)))

    def _held_against(self, attribute: str, reading: Reading, profile: Profile) -> Misread | None:
        if isinstance(reading, bool):
            return None
        if attribute == ALCOHOL:
            return self._alcohol(float(reading), profile)
        lexicon = self.table.lexicon
        read = words_for(attribute, reading, lexicon)
        shows = profile_words(profile, attribute, lexicon)
        if attribute == HUE:
            if reading in profile.hues:
                return None
            cost = self._cost(attribute, profile.hues[0])
            return Misread(attribute, read, shows, None, "profile", cost)
        typical = _typical(profile, attribute)
        level = Level(int(reading))
        if typical is None or level in typical:
            return None
        nearest = typical.low if level < typical.low else typical.high
        off = float(level - nearest)
        return Misread(attribute, read, shows, off, "profile", self._cost(attribute, nearest))

    def _alcohol(self, read: float, profile: Profile) -> Misread | None:
        label = self.pour.label_alcohol
        nearest = label if label is not None else _into(read, profile)
        # In hundredths, since 13.3 - 12.8 is a hair more than a half in binary.
        off = round(100 * (read - nearest)) / 100
        if abs(off) <= ALCOHOL_WITHIN:
            return None
        shows = profile_words(profile, ALCOHOL, self.table.lexicon)
        return Misread(
            attribute=ALCOHOL,
            read=words_for(ALCOHOL, read, self.table.lexicon),
            shows=f"{label:g}% vol" if label is not None else shows,
            off=off,
            against="profile" if label is None else "label",
            cost=self._cost(ALCOHOL, nearest),
        )

    def _cost(self, attribute: str, true: Reading) -> float:
        """What the reading took from the revealed wine, against a true one; never below 0."""
        return max(self._added(attribute, true), 0.0)

    def _first(self) -> FirstCall | None:
        first = self.pour.first.wine
        if first not in self.table.profiles or self.called is None:
            return None
        assert first is not None
        if first == self.called:
            return FirstCall(first, "", "First call and final call were the same.")
        short = self._short
        if first == self.was:
            return FirstCall(
                first,
                "first",
                f"The first call was right; going over to {short(self.called)} lost it.",
            )
        if self.right:
            return FirstCall(
                first, "final", f"Leaving the first call, {short(first)}, won the pour."
            )
        mine = self.cellar.separation(first, self.was)
        final = self.cellar.separation(self.called, self.was)
        nearer: Literal["first", "final"] = "first" if mine < final else "final"
        return FirstCall(
            first,
            nearer,
            f"Both calls were wrong; the {nearer} one was nearer "
            f"({min(mine, final):.0f} db apart against {max(mine, final):.0f}).",
        )

    def _short(self, wine: str) -> str:
        return self.table.profiles[wine].short

    # ---- the sentence at the top

    def _next_time(self, found: Debrief) -> str:
        """One sentence: the change that would have helped this pour most."""
        was, other = self._short(self.was), self._short(self.other)
        strongest = next((s for s in found.speaks_for if _decides(s.attribute)), None)
        if found.right:
            look = next((one.story for one in found.missed if _decides(one.story.attribute)), None)
            if found.balance < 0:
                said = f"Right, though your note spoke more for {other}"
            else:
                said = f"Right: {strongest.words} spoke for {was}" if strongest else f"Right: {was}"
            if look is None:
                return f"{said}, and there was little left to check."
            return f"{said}; next time also {_look(look, self.table)}, which tells it from {other}."
        advice = self._advice(found, strongest)
        if found.struck:
            return (
                f"You had {was} and struck it off (“{_brief(found.struck)}”); next time {advice}."
            )
        return f"Next time {advice}."

    def _advice(self, found: Debrief, strongest: CueStory | None) -> str:
        was, other = self._short(self.was), self._short(self.other)
        slip = next(
            (one for one in found.misread if _decides(one.attribute) and one.cost >= LEAST_MISSED),
            None,
        )
        look = next((one.story for one in found.missed if _decides(one.story.attribute)), None)
        if found.balance >= _NOT_BELIEVED and strongest is not None:
            return (
                f"believe your note: it spoke for {was} against {other} by "
                f"{found.balance:.0f} db, {strongest.words} most of all"
            )
        if slip is not None and (look is None or slip.cost >= look.weight):
            name = self.table.lexicon.name_of(slip.attribute)
            shows = "the label says" if slip.against == "label" else f"{was} shows"
            return f"check {name} again: you read {slip.read}, {shows} {slip.shows}"
        if look is not None:
            return (
                f"{_look(look, self.table)}: that tells {was} from {other}, and you never noted it"
            )
        return f"pour {was} and {other} side by side: the table has no other cue to tell them apart"


def _rank(order: Mapping[str, float], wine: str | None) -> int | None:
    """The place of a wine; wines that are equally probable share the best one."""
    if wine is None or wine not in order:
        return None
    return 1 + sum(chance > order[wine] for chance in order.values())


def _decides(attribute: str) -> bool:
    """Whether a cue may stand in the sentence: a word without a measured basis never decides."""
    return attribute not in UNMEASURED


def _look(story: CueStory, table: Table) -> str:
    """What to do about a cue: “look for petrol”, “check acid (high acid)”."""
    if is_scale(story.attribute):
        return f"check {table.lexicon.name_of(story.attribute)} ({story.words})"
    if story.words.startswith("no "):
        return f"make sure that there is {story.words}"
    return f"look for {story.words}"


def _brief(text: str) -> str:
    return text if len(text) <= _LONGEST_REASON else text[: _LONGEST_REASON - 1] + "…"


def _typical(profile: Profile, attribute: str) -> LevelRange | None:
    if attribute == DEPTH:
        return profile.depth
    if attribute == "tannin" and attribute not in profile.structure:
        return LevelRange(Level.LOW, Level.LOW)
    return profile.structure.get(attribute)


def _into(alcohol: float, profile: Profile) -> float:
    return min(max(alcohol, profile.alcohol.low), profile.alcohol.high)


def _misplaced(note: Note, profile: Profile) -> list[Misread]:
    """World and climate, where they were said and are other ones."""
    found = []
    for attribute, said, true in (
        ("world", note.world, profile.world),
        ("climate", note.climate, profile.climate),
    ):
        said = said.strip().casefold()
        if said and said != true:
            ending = f" {attribute}"
            found.append(Misread(attribute, said + ending, true + ending, None, "profile", 0.0))
    return found


def _years_off(pour: FullPour) -> int | None:
    called, was = pour.final.vintage, pour.reveal_vintage
    return None if called is None or was is None else called - was
