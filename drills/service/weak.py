"""Weak pairs: what the log says is still confused, and whether theory or the glass is to blame."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache

from cards.contrasts import ordered_pair
from cards.evidence import SLIGHT, band
from cards.lexicon import UNMEASURED
from drills.confusions import CallCount, PriorOf, WeakPair, recency, weak_pairs
from drills.grading import Sureness
from drills.service.desk import Desk, as_contrast
from drills.service.group_counts import confusion_priors
from drills.service.pours import full_pour
from drills.service.tasting import debrief_pours, reading
from drills.service.traces import as_trace
from drills.statistics.corners import Glass, Theory, Verdict, confusion_rate, verdict
from drills.statistics.rindex import RIndex
from drills.statistics.standing import Standing, State, standings
from drills.statistics.tallies import AnswerCount, Ratings, tally
from drills.storage.counted import PairPour, PairRating
from drills.storage.records import MemoryRecord, RevealRow
from drills.tastings.reading import PersonalReading

Pair = tuple[str, str]

# One key drills so many of the weakest pairs: more would not come round within ten minutes.
WEAKEST = 5
_MOST_MISSED = 6


@dataclass(frozen=True, slots=True)
class Corner:
    """A pair that was confused: its place between theory and glass, and what follows.

    `wines` are sorted; `rate` is how often a pour of either is called the other, with its 90%
    interval.
    """

    wines: Pair
    theory: Theory
    glass: Glass
    verdict: Verdict

    @property
    def standing(self) -> Standing:
        """Where the pair stands in the glass."""
        assert self.glass.standing is not None, "a pair is here because it was confused"
        return self.glass.standing

    @property
    def resolved(self) -> bool:
        """Whether the two are told apart in the glass."""
        return self.standing.state is State.RESOLVED


@dataclass(frozen=True, slots=True)
class Overview:
    """All pairs that were ever confused.

    `weak` are the directions still confused, the most costly first; `corners` the same pairs
    unordered, in that order; `resolved` those that left the list.
    """

    weak: tuple[WeakPair, ...]
    corners: tuple[Corner, ...]
    resolved: tuple[Corner, ...]

    def corner(self, one: str, other: str) -> Corner | None:
        """The pair of two wines, resolved or not; None if they were never confused."""
        wanted = ordered_pair(one, other)
        return next((c for c in (*self.corners, *self.resolved) if c.wines == wanted), None)


@dataclass(frozen=True, slots=True)
class Card:
    """A contrast of a pair: its cues in words, recall now (None: unseen), answers and wrong ones.

    `due_in` is in days, 0 for today and before.
    """

    cues: str
    recall: float | None
    answers: int
    wrong: int
    due_in: int | None


@dataclass(frozen=True, slots=True)
class MissedCue:
    """A cue that would have told the pair apart, and in how many confused pours it went unnoted."""

    words: str
    times: int


@dataclass(frozen=True, slots=True)
class PairPage:
    """All that is known of one taster and two wines.

    `ways` holds the confusion in each direction where there was one; `history` every pour of the
    two that was called one of the two, oldest first; `missed` the cues most often missed, out of
    `noted` confused pours with a note; `cards` the contrasts in their order.
    """

    wines: Pair
    corner: Corner | None
    ways: tuple[WeakPair, ...]
    history: tuple[PairPour, ...]
    missed: tuple[MissedCue, ...]
    noted: int
    cards: tuple[Card, ...]


def known_calls(desk: Desk) -> list[RevealRow]:
    """Every revealed pour whose wines the table holds, in log order."""
    known = {None, *desk.table.profiles}
    return [
        row
        for row in desk.repository.reveals(desk.taster.id)
        if row.was in known and row.called in known
    ]


def weak_of(desk: Desk, calls: Iterable[RevealRow], prior: PriorOf) -> list[WeakPair]:
    """Every confused pair of some pours, resolved or not, the most costly first.

    `prior` is that of all pours (`prior_of`), also where these are only some.
    """
    return weak_pairs(
        _counted(calls),
        date.fromordinal(desk.clock.today()),
        desk.cellar.separation,
        prior=prior,
    )


def prior_of(desk: Desk, calls: Iterable[RevealRow]) -> PriorOf:
    """What to expect of each confusion before any call; `calls` are all of the log."""
    return confusion_priors(desk, _counted(calls))


def _counted(calls: Iterable[RevealRow]) -> list[CallCount]:
    counts = Counter((call.was, call.called, call.tasted_on) for call in calls)
    return [CallCount(*call, times) for call, times in counts.items()]


def weak(desk: Desk) -> list[WeakPair]:
    """Every confused pair of the log that is not resolved, the most costly first."""
    calls = known_calls(desk)
    return _still_weak(desk, calls, standings(calls), prior_of(desk, calls))


def overview(desk: Desk) -> Overview:
    """Every pair that was confused, with its corner between theory and glass."""
    ratings, _ = desk.repository.answer_counts(desk.taster.id)
    memories = desk.repository.pair_memories(desk.taster.id)
    return overview_of(desk, known_calls(desk), ratings, memories)


def overview_of(
    desk: Desk,
    calls: Sequence[RevealRow],
    ratings: Iterable[PairRating],
    memories: Iterable[tuple[str, str, MemoryRecord]],
) -> Overview:
    """The same from what was read already."""
    where = standings(calls)
    prior = prior_of(desk, calls)
    found = _still_weak(desk, calls, where, prior)
    tallied = pair_ratings(ratings)
    recalls: defaultdict[Pair, list[float]] = defaultdict(list)
    day = desk.clock.today()
    for wine_a, wine_b, record in memories:
        if (wine_a, wine_b) in where:
            recalls[wine_a, wine_b].append(desk.memory.recall(as_trace(record), day))
    rates = _Rates(desk, calls, prior)
    own = reading(desk)
    corners = {
        pair: _corner(desk, pair, standing, tallied.get(pair), recalls[pair], rates, own)
        for pair, standing in where.items()
    }
    order = dict.fromkeys(ordered_pair(one.called, one.was) for one in found)
    resolved = [one for one in corners.values() if one.resolved]
    resolved.sort(key=lambda one: one.standing.last_confused or date.min, reverse=True)
    return Overview(tuple(found), tuple(corners[pair] for pair in order), tuple(resolved))


def weakest(overview: Overview) -> list[Pair]:
    """The pairs that one key drills, the most costly first."""
    return [corner.wines for corner in overview.corners[:WEAKEST]]


def pair_page(desk: Desk, one: str, other: str) -> PairPage:
    """All that is known of two wines, by key."""
    pair = ordered_pair(one, other)
    repository, taster = desk.repository, desk.taster.id
    calls = known_calls(desk)
    ratings, _ = repository.answer_counts(taster)
    of_pair = [rating for rating in ratings if (rating.wine_a, rating.wine_b) == pair]
    queue = {row.contrast.id: row for row in repository.memories(taster)}
    day = desk.clock.today()
    cards, recalls = [], []
    scores = {score.contrast_id: score for score in repository.contrast_scores(taster, *pair)}
    for record in repository.contrasts_of_pair(*pair):
        row, score = queue.get(record.id), scores.get(record.id)
        recall = None
        if row is not None and row.memory is not None:
            recall = desk.memory.recall(as_trace(row.memory), day)
            recalls.append(recall)
        cards.append(
            Card(
                cues=_cue_words(desk, as_contrast(record).cues),
                recall=recall,
                answers=score.answers if score else 0,
                wrong=score.wrong if score else 0,
                due_in=max(row.memory.due_day - day, 0) if row and row.memory else None,
            )
        )
    standing = standings(calls).get(pair)
    prior = prior_of(desk, calls)
    corner = None
    if standing is not None:
        rated = pair_ratings(of_pair).get(pair)
        rates = _Rates(desk, calls, prior)
        corner = _corner(desk, pair, standing, rated, recalls, rates, reading(desk))
    ways = [
        way
        for way in weak_of(desk, [call for call in calls if call.was in pair], prior)
        if ordered_pair(way.called, way.was) == pair
    ]
    history = repository.pair_pours(taster, *pair)
    missed, noted = _missed(desk, history)
    return PairPage(pair, corner, tuple(ways), tuple(history), missed, noted, tuple(cards))


def pair_ratings(ratings: Iterable[PairRating]) -> dict[Pair, Ratings]:
    """Counted answers as ratings from “sure it is A” to “sure it is B”, by pair."""
    return tally(
        AnswerCount(
            one.wine_a,
            one.wine_b,
            one.truth,
            one.truth if one.correct else "b" if one.truth == "a" else "a",
            Sureness(one.sureness),
            one.times,
        )
        for one in ratings
    )


def r_index_of(ratings: Ratings | None) -> RIndex | None:
    """The R-index of a pair; None while only one wine, or none, was ever the answer."""
    return None if ratings is None else ratings.r_index()


def _still_weak(
    desk: Desk, calls: Sequence[RevealRow], where: Mapping[Pair, Standing], prior: PriorOf
) -> list[WeakPair]:
    found = weak_of(desk, calls, prior)
    return [
        one for one in found if where[ordered_pair(one.called, one.was)].state is not State.RESOLVED
    ]


class _Rates:
    """How often a pour of either wine of a pair is called the other, recent pours counting more."""

    def __init__(self, desk: Desk, calls: Iterable[RevealRow], prior: PriorOf) -> None:
        self._prior = prior
        today = date.fromordinal(desk.clock.today())
        share = cache(lambda day: recency(day, today))
        self._poured: defaultdict[str, float] = defaultdict(float)
        self._confused: defaultdict[Pair, float] = defaultdict(float)
        for call in calls:
            if call.called is not None:
                weight = share(call.tasted_on)
                self._poured[call.was] += weight
                if call.called != call.was:
                    self._confused[ordered_pair(call.called, call.was)] += weight

    def glass(self, pair: Pair, standing: Standing) -> Glass:
        poured = sum(self._poured[wine] for wine in pair)
        # Adding in another order may leave a hair more confused than was poured.
        confused = min(self._confused[pair], poured)
        # Of either wine this is the rate of one direction or the other, so the prior is the mean
        # of both, which is what the table expects of each.
        one, other = self._prior(*pair), self._prior(*pair[::-1])
        expected, worth = (one.rate + other.rate) / 2, (one.pours + other.pours) / 2
        return Glass(confusion_rate(confused, poured, max(expected, 1e-6), worth), standing)


def _corner(
    desk: Desk,
    pair: Pair,
    standing: Standing,
    ratings: Ratings | None,
    recalls: Sequence[float],
    rates: _Rates,
    own: PersonalReading,
) -> Corner:
    theory = Theory(
        recall=sum(recalls) / len(recalls) if recalls else None,
        r_index=r_index_of(ratings),
        answers=ratings.answers if ratings else 0,
        d_prime=ratings.d_prime() if ratings else None,
    )
    glass = rates.glass(pair, standing)
    names = (desk.short(pair[0]), desk.short(pair[1]))
    return Corner(pair, theory, glass, verdict(names, theory, glass, _unperceived(desk, pair, own)))


def _unperceived(desk: Desk, pair: Pair, own: PersonalReading) -> list[str]:
    """Descriptors that tell the pair apart by themselves and that this taster hardly ever notes."""
    words = {word for one in own.not_smelt for word in one.smell.descriptors}
    words |= {one.descriptor for one in own.caught if one.seldom}
    if not words:
        return []
    return [
        desk.table.lexicon.name_of(cue.attribute)
        for cue in desk.cellar.cues(*pair)
        if cue.attribute in words and cue.known and band(max(cue.toward_a, cue.toward_b)) != SLIGHT
    ][:3]


def _missed(desk: Desk, history: Iterable[PairPour]) -> tuple[tuple[MissedCue, ...], int]:
    """The cues that went unnoted in confused pours, the most frequent first, and of how many."""
    wanted = [pour.id for pour in history if pour.was != pour.called]
    records = [desk.repository.pour(pour_id) for pour_id in wanted]
    pours = [full_pour(one) for one in records if one is not None and one.draft.observations]
    times: Counter[str] = Counter()
    for one in debrief_pours(desk, pours):
        if one.debrief is not None:
            times.update(
                missed.story.words
                for missed in one.debrief.missed
                if missed.story.attribute not in UNMEASURED
            )
    ranked = sorted(times.items(), key=lambda item: (-item[1], item[0]))[:_MOST_MISSED]
    return tuple(MissedCue(words, number) for words, number in ranked), len(pours)


def _cue_words(desk: Desk, cues: Iterable[str]) -> str:
    return ", ".join(desk.table.lexicon.name_of(cue) for cue in cues)
