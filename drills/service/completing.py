"""Completing what a taster types: descriptors in any wording, and names of wines.

Everything here follows from the table and from what was typed, never from what is in a glass.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from cards.lexicon import Lexicon
from cards.names import WineNames
from cards.naming.folding import without_noise, words
from cards.tables import Table
from drills.tastings.absence import MINUS, split_absent

MOST_OFFERS = 8
# A comma inside a number belongs to it: “1,8-cineole”.
_BETWEEN = re.compile(r"[;\n]|,(?!\d)")
_YEAR = re.compile(r"(?<!\d)(?:1[89]|20)\d\d(?!\d)")


@dataclass(frozen=True, slots=True)
class Offer:
    """One way to complete what was typed: `key` names it, `text` is what is written in its place.

    `near` is set where it is only something like it, so that nothing takes it unasked; `hint` says
    by which other wording it was found.
    """

    key: str
    text: str
    hint: str = ""
    near: bool = False


@dataclass(frozen=True, slots=True)
class Heard:
    """What the lexicon makes of a line of words.

    `noted` holds descriptors by key, True where noted and False where looked for and not there;
    `typed` the wording where it is not the descriptor's own name; `free` the words that no
    descriptor answers to, as typed.
    """

    noted: dict[str, bool] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    free: tuple[str, ...] = ()


class WordBook:
    """The lexicon as a taster writes it: synonyms, everyday words and other languages."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._lexicon = lexicon
        self._keys: dict[str, str] = {}
        self._wordings: list[tuple[str, str, str, bool]] = []
        for key, descriptor in lexicon.descriptors.items():
            for wording in descriptor.wordings:
                folded = " ".join(words(wording))
                if folded and self._keys.setdefault(folded, key) == key:
                    own = wording == descriptor.name
                    self._wordings.append((folded, key, wording, own))
        # The names themselves first, then the shorter wording.
        self._wordings.sort(key=lambda one: (not one[3], len(one[0]), one[0]))

    def key(self, text: str) -> str | None:
        """The descriptor that `text` means, in any wording, one or many; None for a free word."""
        said = words(text)
        if not said:
            return None
        return next(
            (self._keys[form] for form in _numbers(" ".join(said)) if form in self._keys), None
        )

    def hear(self, *lines: str) -> Heard:
        """What lines of words say, taken in order: what is said last of a descriptor counts."""
        noted: dict[str, bool] = {}
        typed: dict[str, str] = {}
        free: list[str] = []
        for piece in (piece for line in lines for piece in pieces(line)):
            key, there, wording = self._piece(piece)
            if key is None:
                if piece not in free:
                    free.append(piece)
                continue
            # Said again it moves to the end, as the taster has it last.
            noted.pop(key, None)
            noted[key] = there
            if wording == self._lexicon.name_of(key):
                typed.pop(key, None)
            else:
                typed[key] = wording
        return Heard(noted, typed, tuple(free))

    def offers(self, piece: str) -> list[Offer]:
        """Ways to complete the word that is being typed, “no” or a minus before it kept."""
        absent = split_absent(piece)
        offered = self._offers(absent[1]) if absent else []
        if offered and absent:
            before = absent[0]
            joint = "" if before.startswith(MINUS) or before.endswith(("'", "’")) else " "
            return [replace(one, text=f"{before}{joint}{one.text}") for one in offered]
        return self._offers(piece)

    def _piece(self, piece: str) -> tuple[str | None, bool, str]:
        key = self.key(piece)
        if key is not None and not piece.startswith(MINUS):
            return key, True, piece
        if absent := split_absent(piece):
            key = self.key(absent[1])
            if key is not None:
                return key, False, absent[1]
        return None, True, piece

    def _offers(self, start: str) -> list[Offer]:
        said = " ".join(words(start))
        if not said:
            return []
        exact = self.key(start)
        groups: tuple[dict[str, Offer], ...] = ({}, {}, {})
        for folded, key, wording, own in self._wordings:
            if key == exact:
                place = 0
            elif folded.startswith(said):
                # “petr” can only be the beginning of a word; “oak” is one, though no descriptor.
                place = 1 if folded[len(said)] != " " and exact is None else 2
            elif f" {said}" in folded:
                place = 2
            else:
                continue
            if key not in groups[place]:
                name = self._lexicon.name_of(key)
                groups[place][key] = Offer(key, name, "" if own else wording, near=place == 2)
        found: dict[str, Offer] = {}
        for group in groups:
            for key, one in group.items():
                found.setdefault(key, one)
        return list(found.values())[:MOST_OFFERS]


class WineBook:
    """The names of wines as a taster writes them."""

    def __init__(self, table: Table, names: WineNames) -> None:
        self._table = table
        self._names = names
        # The words by which a wine is found while its name is typed: never what it smells of, for
        # a list of wines that smell so would be a hint.
        self._words = {
            key: (_folded(self._called(key)), _folded(self._kin(key))) for key in table.profiles
        }

    def wine(self, text: str) -> str | None:
        """The wine that a name stands for, or None: never a guess."""
        return self._names.resolve(text).wine if text.strip() else None

    def several(self, text: str) -> bool:
        """Whether more than one wine of the table answers to a name."""
        return bool(text.strip()) and self._names.resolve(text).how == "several"

    def name(self, wine: str) -> str:
        """The short name of a wine, or its key where the table no longer has it."""
        profile = self._table.profiles.get(wine)
        return profile.short if profile else wine

    def offers(self, text: str) -> list[Offer]:
        """Wines that the name may be the beginning of, the likeliest first."""
        said = words(without_noise(text))
        if not said:
            return []
        found = self._names.resolve(text)
        begun: list[tuple[int, str]] = []
        whole = " ".join(said)
        for key, (own, kin) in self._words.items():
            # Names that begin so come first, then grapes and places that do, then the rest.
            if any(name.startswith(whole) for name in own):
                begun.append((0, key))
            elif any(name.startswith(whole) for name in kin):
                begun.append((1, key))
            elif all(any(f" {word}" in f" {name}" for name in own + kin) for word in said):
                begun.append((2, key))
        begun.sort(key=lambda one: one[0])
        keys = dict.fromkeys(([found.wine] if found.wine else []) + [key for _, key in begun])
        near = [key for key in found.suggestions if key not in keys]
        offers = [Offer(key, self.name(key)) for key in keys]
        offers += [Offer(key, self.name(key), near=True) for key in near]
        return offers[:MOST_OFFERS]

    def _called(self, key: str) -> Iterator[str]:
        profile = self._table.profiles[key]
        yield from (profile.name, profile.short, key.replace("-", " "))
        yield from profile.synonyms
        yield from self._table.names.wines.get(key, ())

    def _kin(self, key: str) -> Iterator[str]:
        profile = self._table.profiles[key]
        yield from (profile.region, profile.country)
        for grape in profile.grapes:
            thing = self._table.names.grapes.get(grape)
            yield from (thing.name, *thing.synonyms) if thing else (grape.replace("-", " "),)


def pieces(line: str) -> list[str]:
    """The words of a line that commas or semicolons set apart, without what is empty."""
    return [piece.strip() for piece in _BETWEEN.split(line) if piece.strip()]


def last_piece(line: str) -> tuple[str, str]:
    """A line up to its last comma, with it, and the word that is being typed after that."""
    cut = 0
    for match in _BETWEEN.finditer(line):
        cut = match.end()
    return line[:cut], line[cut:]


def year_in(text: str) -> int | None:
    """The vintage that stands in a name, if there is just one."""
    found = {int(year) for year in _YEAR.findall(text)}
    return found.pop() if len(found) == 1 else None


def _folded(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple({" ".join(words(text)): None for text in texts})


def _numbers(said: str) -> Iterator[str]:
    """A wording as it stands, then as one of many: “cherries” is “cherry”."""
    yield said
    if said.endswith("ies"):
        yield said[:-3] + "y"
    if said.endswith("es"):
        yield said[:-2]
    if said.endswith("s"):
        yield said[:-1]
    else:
        yield said + "s"
