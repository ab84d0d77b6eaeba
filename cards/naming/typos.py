"""Typos: a word that no name holds, one slip away from a word that a name holds."""

from __future__ import annotations

from collections.abc import Iterable

from cards.naming.index import NameIndex
from cards.naming.vocabulary import STRANGERS

_STRANGERS = frozenset(STRANGERS)
_SHORTEST = 5
_LONG = 9  # from here on two slips are believed
_MOST = 8  # with more unknown words it is no name with slips in it


def _allowed(length: int) -> int:
    if length < _SHORTEST:
        return 0
    return 1 if length < _LONG else 2


def mended(index: NameIndex, leftover: Iterable[str]) -> dict[str, str]:
    """The words of `leftover` that are clearly slips of the pen, each with the word meant.

    A slip is a letter too many, too few, wrong, or two letters swapped. The nearest word counts
    only if no other word is nearly as near, for then nobody can say which was meant.
    """
    found: dict[str, str] = {}
    leftover = list(leftover)
    if len(leftover) > _MOST:
        return found
    for word in leftover:
        slips = _allowed(len(word))
        if not slips or word in _STRANGERS or not word.isalpha():
            continue
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        hits = process.extract(
            word, index.vocabulary, scorer=OSA.distance, score_cutoff=slips + 1, limit=6
        )
        # The first letter is seldom wrong, though the first two may be swapped.
        near = [
            (other, int(distance))
            for other, distance, _ in hits
            if other[0] == word[0] or sorted(other[:2]) == sorted(word[:2])
        ]
        if not near or near[0][1] > slips:
            continue
        best, distance = near[0]
        rivals = [other for other, far in near[1:] if far <= distance]
        if any(not _same(index, best, rival) for rival in rivals):
            continue
        if len(word) == _SHORTEST and not _light(word, best):
            continue
        found[word] = best
    return found


def _same(index: NameIndex, one: str, other: str) -> bool:
    """Whether two words are spellings of one name."""
    first, second = index.mentions.get(one), index.mentions.get(other)
    if first is None or second is None:
        return False
    return (first.main, first.exact, first.style, first.country) == (
        second.main,
        second.exact,
        second.style,
        second.country,
    )


def _light(word: str, best: str) -> bool:
    """In a short word only a swap or a doubled letter is surely a slip."""
    if len(word) == len(best):
        return sorted(word) == sorted(best)
    longer, shorter = (word, best) if len(word) > len(best) else (best, word)
    return any(
        longer[at] == longer[at - 1] and longer[:at] + longer[at + 1 :] == shorter
        for at in range(1, len(longer))
    )


def look_alikes(index: NameIndex, said: str, limit: int = 5) -> list[str]:
    """Keys of the wines whose names look most like `said`; for suggestions only."""
    from rapidfuzz import fuzz, process

    if len(said) < 3:
        return []
    names = [mention for mention in index.mentions.values() if mention.wines]
    near = process.extract(
        said,
        [mention.phrase for mention in names],
        scorer=fuzz.ratio,
        score_cutoff=60,
        limit=3 * limit,
    )
    keys: dict[str, None] = {}
    for _, _, at in near:
        keys.update(dict.fromkeys(index.wines(names[at].wines)))
    return list(keys)[:limit]
