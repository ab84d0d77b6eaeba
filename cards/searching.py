"""Searching the table as a taster types: every word must be found, and a beginning is enough."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence

from cards.naming.folding import words
from cards.search_index import SearchIndex, Tier, Tiers
from cards.tables import Table

_MOST_WORDS = 12
_NOT_FOUND = 1_000
# A strength: “13.5” or “14%”. A whole number without the sign may be the age of a wine.
_STRENGTH = re.compile(r"(?<![\w.,])(\d{1,2}(?:[.,]\d{1,2})?)\s*%|(?<![\w.,])(\d{1,2}[.,]\d{1,2})")
_LEAST_STRENGTH = 4
_LAST = re.compile(r"[^\W_]+$")


class TableSearch:
    """Finds wines of a table; the index is built once, a search takes well under a millisecond."""

    def __init__(self, table: Table) -> None:
        self._table = table
        self._index = SearchIndex(table)

    def find(self, text: str) -> list[str]:
        """The keys of the wines in which every word of `text` is found, the best first.

        A word counts from its beginning; case, accents and the order of words do not matter. Text
        without a word finds every wine.
        """
        strengths: list[float] = []

        def taken(match: re.Match[str]) -> str:
            strength = float((match[1] or match[2]).replace(",", "."))
            if strength < _LEAST_STRENGTH:  # “1,8-cineole” is no strength
                return match[0]
            strengths.append(strength)
            return " "

        rest = _STRENGTH.sub(taken, text)
        said = words(rest)[:_MOST_WORDS]
        typed = _LAST.search(rest.casefold())
        costs = self._costs(said, 0, typed[0] if typed else "")
        profiles = self._table.profiles
        found = [
            (cost, number)
            for number, cost in enumerate(costs)
            if cost < _NOT_FOUND
            and all(
                profiles[self._index.wines[number]].alcohol.low
                <= strength
                <= profiles[self._index.wines[number]].alcohol.high
                for strength in strengths
            )
        ]
        return [self._index.wines[number] for _, number in sorted(found)]

    # ---- finding

    def _costs(self, said: Sequence[str], start: int, typed: str) -> list[int]:
        """What it costs every wine to answer to the words from `start` on."""
        count = len(said)
        if start == count:
            return [0] * len(self._index.wines)
        for end in range(min(count, start + self._index.longest), start, -1):
            tiers = self._index.by_phrase.get(" ".join(said[start:end]))
            if tiers is not None and (end - start > 1 or said[start] in self._index.whole):
                named = self._named(said[start:end], unfinished=bool(typed) and end == count)
                found = _either(self._spread(tiers), named)
                return _both(found, self._costs(said, end, typed))
        # The last word may be the beginning of one: “new z” is New Zealand.
        begun = self._begun(self._index.phrases, self._index.by_phrase, " ".join(said[start:]))
        if said[start] == "no":
            return begun
        word = self._word(said[start], typed if start == count - 1 else "")
        found = _both(word, self._costs(said, start + 1, typed))
        return _either(found, begun)

    def _named(self, said: Sequence[str], *, unfinished: bool) -> list[int]:
        """“white” is a style, but stands in White Zinfandel; “dolce” may become Dolcetto."""
        bits = (1 << len(self._index.wines)) - 1
        for word in said:
            last = unfinished and word is said[-1]
            of_word = 0
            for name in self._starting(self._index.words, word) if last else (word,):
                of_word |= (
                    self._index.by_word[name][Tier.NAME] if name in self._index.by_word else 0
                )
            bits &= of_word
        return self._spread_levels([0] * (2 * Tier.KIND + 1) + [bits])

    @staticmethod
    def _starting(names: Sequence[str], start: str) -> Iterator[str]:
        for place in range(bisect_left(names, start), len(names)):
            if not names[place].startswith(start):
                break
            yield names[place]

    def _word(self, word: str, typed: str) -> list[int]:
        """A single word; `typed` is given for the last one, which may not be finished yet."""
        tiers = self._index.by_word.get(word)
        if tiers is not None and not typed:
            return self._spread(tiers)
        found = self._begun(self._index.words, self._index.by_word, word)
        if typed and typed != word:
            # “st” is read as “saint”, but may be the beginning of Stellenbosch.
            found = _either(found, self._begun(self._index.words, self._index.by_word, typed))
        return found

    def _begun(self, names: Sequence[str], index: Mapping[str, Tiers], start: str) -> list[int]:
        exact = index.get(start)
        levels = [0] * (2 * len(Tier))
        if exact is not None:
            for tier in Tier:
                levels[2 * tier] = exact[tier]
        for name in self._starting(names, start):
            for number, bits in enumerate(index[name]):
                levels[2 * number + 1] |= bits
        return self._spread_levels(levels)

    def _spread(self, tiers: Tiers) -> list[int]:
        return self._spread_levels([bits for found in tiers for bits in (found, 0)])

    def _spread_levels(self, levels: Sequence[int]) -> list[int]:
        costs = [_NOT_FOUND] * len(self._index.wines)
        seen = 0
        for cost, level in enumerate(levels):
            left = level & ~seen
            seen |= level
            while left:
                low = left & -left
                costs[low.bit_length() - 1] = cost
                left ^= low
        return costs


def _either(one: Sequence[int], other: Sequence[int]) -> list[int]:
    return [min(a, b) for a, b in zip(one, other, strict=True)]


def _both(one: Sequence[int], other: Sequence[int]) -> list[int]:
    return [a + b for a, b in zip(one, other, strict=True)]
