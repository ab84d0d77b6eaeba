"""The note of a pour, weighed for the wine that was revealed against one other. Pure."""

from __future__ import annotations

from functools import cached_property

from cards.cellar import Cellar
from cards.cues import is_scale, place_on_scale
from cards.evidence import Reading, dampings, posterior, weight
from cards.explaining import CueStory
from cards.reasons import reason_of
from cards.wording import profile_words, words_for
from drills.tastings.notes import FullPour


class WeighedNote:
    """What a note says of the revealed wine against one other, in decibans.

    `was` is the revealed wine, `called` the final call where it is understood, and `right` whether
    they are one, None without such a call. `other` is the wine that `was` is weighed against: the
    wine that was called or, where the call was right or is missing, the wine that the note makes
    likeliest after the revealed one; without a note, the nearest of the table.

    `order` holds the probability of every wine given the whole note, likeliest first. `weights` is
    what each reading weighs in the company of its family; they add up to `balance`.
    """

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
        self.other = self._rival() if self.called is None or self.right else self.called
        self.truth, self.rival = cellar.picture(self.was), cellar.picture(self.other)
        damped = dampings(self.readings, self.truth)
        self._alone = {
            attribute: weight(reading, attribute, self.truth, self.rival)
            for attribute, reading in self.readings.items()
        }
        self.weights = {name: size / damped[name] for name, size in self._alone.items()}
        self.balance = sum(self.weights.values())

    def _rival(self) -> str:
        if self.readings:
            return next(wine for wine in self.order if wine != self.was)
        return self.cellar.laterals(self.was)[0][0]

    def added(self, attribute: str, reading: Reading) -> float:
        """Return what one more reading would add to the note, or another one of a noted cue.

        A new word of a family damps those that are there already.
        """
        family = self._family(attribute)
        kin = {name: size for name, size in self._alone.items() if self._family(name) == family}
        before = sum(self.weights[name] for name in kin)
        kin[attribute] = weight(reading, attribute, self.truth, self.rival)
        damped = dampings(kin, self.truth)
        return sum(size / damped[name] for name, size in kin.items()) - before

    def _family(self, attribute: str) -> str:
        return self.truth.family_of.get(attribute, attribute)

    @cached_property
    def stories(self) -> tuple[CueStory, ...]:
        """What is to be told of each reading, the heaviest first."""
        stories = [self.story(a, self.readings[a], size) for a, size in self.weights.items()]
        return tuple(sorted(stories, key=lambda story: (-abs(story.weight), story.attribute)))

    def story(self, attribute: str, reading: Reading, size: float) -> CueStory:
        """Tell of a reading that weighs `size`; on the left stands `other`, on the right `was`."""
        toward = self.was if size >= 0 else self.other
        if self._shows_more(attribute):
            more, less = self.was, self.other
        else:
            more, less = self.other, self.was
        # The absence of a smell rests on the wine that has it.
        holder = more if isinstance(reading, bool) else toward
        basis = self.table.profiles[holder].basis_of(attribute)
        source = self.table.sources.get(basis)
        return CueStory(
            attribute=attribute,
            words=words_for(attribute, reading, self.table.lexicon),
            weight=size,
            left=profile_words(self.table.profiles[self.other], attribute, self.table.lexicon),
            right=profile_words(self.table.profiles[self.was], attribute, self.table.lexicon),
            because=reason_of(self.table, attribute, reading, more, less, toward).words,
            basis=basis,
            citation=source.citation if source else "",
        )

    def _shows_more(self, attribute: str) -> bool:
        """Whether the revealed wine shows as much of a cue as the other, or more."""
        if is_scale(attribute):
            here, there = (place_on_scale(one, attribute) for one in (self.truth, self.rival))
        else:
            here, there = (one.chance_noted(attribute) for one in (self.truth, self.rival))
        return here >= there

    def short(self, wine: str) -> str:
        """Return the short name of a wine of the table."""
        return self.table.profiles[wine].short
