"""From a name as a taster writes it to a wine of the table, or to a question, never to a guess.

A name resolves only when one wine of the table answers to it. A grape or a place that the table
has no wine for is never pulled to a near one; the near ones are offered instead.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from cards.errors import UnknownWine
from cards.naming.folding import without_noise, without_signs, words, worth_a_name
from cards.naming.index import NameIndex
from cards.naming.matching import Reading, nearest, read_names
from cards.naming.mentions import Mention
from cards.naming.typos import mended
from cards.tables import Table

How = Literal["key", "own", "name", "composed", "typo", "several", "unknown"]

SUGGESTIONS = 5
# A name on a list is shorter; a longer text is a note, and reading it would only cost time.
LONGEST_NAME = 300
_REMEMBERED = 20_000


@dataclass(frozen=True, slots=True)
class Resolution:
    """What a written name stands for: a wine, or `wine` None and the nearest keys, best first.

    `how` says by which way the wine was found, or why none was: “several” wines answer to the
    name, or it is “unknown”.
    """

    text: str
    wine: str | None
    suggestions: tuple[str, ...]
    how: How


class WineNames:
    """Resolves written names against a table. `own` maps a taster's remembered names to wines."""

    def __init__(self, table: Table, own: Mapping[str, str] | None = None) -> None:
        self._table = table
        self._own = {
            "".join(words(text)): key for text, key in (own or {}).items() if key in table.profiles
        }
        self._own.pop("", None)
        self._seen: dict[str, Resolution] = {}

    @cached_property
    def index(self) -> NameIndex:
        """The index of the table's names, built when it is first needed."""
        return NameIndex(self._table)

    def resolve(self, text: str) -> Resolution:
        """The wine that `text` names, or suggestions; the same text gives the same answer."""
        known = self._seen.get(text)
        if known is None:
            known = self._resolve(text)
            if len(self._seen) >= _REMEMBERED:
                self._seen.clear()
            if len(text) <= LONGEST_NAME:
                self._seen[text] = known
        return known

    def key(self, text: str) -> str:
        """The key of the wine that `text` names; UnknownWine carries the suggestions."""
        found = self.resolve(text)
        if found.wine is None:
            raise UnknownWine(text, found.suggestions, several=found.how == "several")
        return found.wine

    def _resolve(self, text: str) -> Resolution:
        if text.strip() in self._table.profiles:
            return Resolution(text, text.strip(), (), "key")
        if len(text) > LONGEST_NAME:
            return Resolution(text, None, (), "unknown")
        said = words(text)
        own = self._own.get("".join(said))
        if own is not None:
            return Resolution(text, own, (), "own")
        plain = words(without_noise(text))
        own = self._own.get("".join(plain))
        if own is not None:
            return Resolution(text, own, (), "own")
        bare = without_noise(text)
        if not plain or not worth_a_name(bare):
            return Resolution(text, None, (), "unknown")
        said, plain = words(without_signs(text)), words(without_signs(bare))

        index = self.index
        named = self._named(said) or self._named(plain)
        if named:
            return self._answer(text, named, "name", plain)
        reading = read_names(index, plain)
        found = reading.wines
        how: How = "composed"
        if reading.leftover and not reading.stopped:
            better = mended(index, reading.leftover)
            if better:
                plain = tuple(better.get(word, word) for word in plain)
                named = self._named(plain)
                if named:
                    return self._answer(text, named, "typo", plain)
                reading = read_names(index, plain)
                found, how = reading.wines, "typo"
        if reading.leftover and not reading.tolerates_rest:
            found = 0
        return self._answer(text, found, how, plain, reading)

    def _named(self, said: Sequence[str]) -> int:
        index = self.index
        return index.exact.get("".join(said), 0) or index.any_order.get(index.signature(said), 0)

    def _answer(
        self,
        text: str,
        wines: int,
        how: How,
        said: Sequence[str],
        reading: Reading | None = None,
    ) -> Resolution:
        keys = list(self.index.wines(wines))
        if len(keys) == 1:
            return Resolution(text, keys[0], (), how)
        reading = reading or read_names(self.index, said)
        near = _first((*keys, *nearest(self.index, reading, wines), *self._alike(said, reading)))
        understood = any(_says_something(mention) for mention in reading.mentions)
        several = len(keys) > 1 or (
            understood and len(list(self.index.wines(reading.candidates))) > 1
        )
        return Resolution(text, None, near, "several" if several else "unknown")

    def _alike(self, said: Sequence[str], reading: Reading) -> Iterable[str]:
        """Wines whose names look alike, for a text in which nothing was understood."""
        if any(_says_something(mention) for mention in reading.mentions):
            return ()
        from cards.naming.typos import look_alikes

        return look_alikes(self.index, " ".join(said))


def _says_something(mention: Mention) -> bool:
    return bool(mention.is_grape or mention.is_place or mention.wines or mention.is_country)


def _first(keys: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(keys))[:SUGGESTIONS]
