"""What was noted of a pour, from the cells of its row. What cannot be read is kept as typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from cards.evidence import Reading
from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE, Lexicon
from cards.naming.folding import words
from cards.profiles import CLIMATES, WORLDS
from cards.scale import Level
from drills.tastings.absence import MINUS, split_absent
from drills.tastings.cells import Cell
from drills.tastings.columns import Columns, DescriptorOf, no_descriptor
from drills.tastings.figures import (
    alcohol_number,
    decimal_text,
    is_certain_alcohol,
    read_alcohol,
    read_level,
)
from drills.tastings.headings import (
    ABSENT,
    AGE,
    APPEARANCE,
    CLIMATE,
    DESCRIPTORS,
    FREE,
    NOSE,
    PALATE,
    WORLD,
)
from drills.tastings.items import bracketed, plain_item, split_items
from drills.tastings.notes import ALL_HUES, Note

NOTED_ROLES = (*STRUCTURE, ALCOHOL, HUE, DEPTH, DESCRIPTORS, ABSENT, FREE)
TEXT_ROLES = (APPEARANCE, NOSE, PALATE, WORLD, CLIMATE, AGE)
# What stands in a cell where nothing was noted.
NOTHING_SAID = frozenset({"", "-", "–", "—", "?", "n/a", "na", "n.a.", "#n/a", "...", "…"})

Unread = Callable[[str, str, str], object]
"""Told of a text that cannot be read: its column, the text, and why."""


@dataclass(frozen=True, slots=True)
class Words:
    """The words that notes are made of: the lexicon, and what finds a descriptor in any wording."""

    lexicon: Lexicon = field(default_factory=lambda: Lexicon({}, {}), repr=False)
    descriptor: DescriptorOf = no_descriptor


NO_WORDS = Words()

_YES = frozenset(
    {
        *("yes", "y", "x", "1", "true", "v", "ja", "oui", "si", "sí", "vrai", "wahr", "vero"),
        *("verdadero", "noted", "present", "✓", "✔", "☑", "●", "•"),
    }
)
_NO = frozenset(
    {"no", "n", "0", "false", "nein", "non", "faux", "falsch", "falso", "absent", "✗", "✘", "☐"}
)


def _by_word(rows: Mapping[str, str]) -> Mapping[tuple[str, ...], str]:
    found = {words(said): key for key, line in rows.items() for said in line.split("|")}
    return found | {words(key): key for key in rows}


_HUES = _by_word(
    {
        **dict.fromkeys(sorted(ALL_HUES), ""),
        "greenish": "green|vert|verdatre|grunlich|gruenlich|verdolino|verdoso",
        "straw": "paille|stroh|strohgelb|paglierino|pajizo",
        "yellow": "jaune|gelb|giallo|amarillo|lemon yellow",
        "gold": "golden|dore|or|goldgelb|dorato|oro|dorado",
        "amber": "ambre|bernstein|ambra|ambar",
        "brown": "brun|braun|bruno|marron",
        "purple": "violet|pourpre|violett|purpur|porpora|viola|purpura|violeta",
        "ruby": "rubis|rubin|rubinrot|rubino|rubi|ruby red",
        "garnet": "grenat|granat|granatrot|granato|granate|garnet red",
        "brick": "tuile|ziegelrot|mattone|teja|brick red",
        "tawny": "fauve|lohfarben",
        "onion-skin": "pelure d'oignon|zwiebelschale|buccia di cipolla|piel de cebolla",
        "salmon": "saumon|lachs|lachsfarben|salmone|salmon pink",
        "pink": "rose|rosa|rosado",
        "cherry": "cerise|kirschrot|ciliegia|cereza|cherry red",
    }
)
_WORLDS = _by_word(
    {
        "old": "old world|ow|ancien|ancien monde|alt|alte|alte welt|vecchio|vecchio mondo|viejo|"
        "viejo mundo",
        "new": "new world|nw|nouveau|nouveau monde|neu|neue|neue welt|nuovo|nuovo mondo|nuevo|"
        "nuevo mundo",
    }
)
_CLIMATES = _by_word(
    {
        "cool": "cold|frais|froid|kuhl|kuehl|fresco|freddo|frio",
        "moderate": "temperate|modere|tempere|gemassigt|gemaessigt|moderato|temperato|moderado|"
        "templado",
        "warm": "chaud|caldo|calido",
        "hot": "tres chaud|heiss|molto caldo|caluroso|muy calido",
    }
)
assert set(_WORLDS.values()) == set(WORLDS)
assert set(_CLIMATES.values()) == set(CLIMATES)


def cell_text(cell: Cell) -> str:
    """A cell as text in one line; whole numbers without a decimal point."""
    if isinstance(cell, str):
        return cell if cell.isalnum() else " ".join(cell.split())
    return decimal_text(float(cell)) if isinstance(cell, int | float) else str(cell)


def cell_lines(cell: Cell, *, own: bool = False) -> str:
    """A cell as text that may have several lines; as it stands where the program wrote it."""
    if not isinstance(cell, str):
        return cell_text(cell)
    return cell if own else "\n".join(" ".join(line.split()) for line in cell.strip().split("\n"))


def _said(cell: Cell, own: bool) -> str:
    return cell if own and isinstance(cell, str) else cell_text(cell)


def _own_number(text: str) -> float:
    """A number as the program writes it, or with the comma that a spreadsheet put in."""
    try:
        return read_alcohol(text, certain=True)
    except ValueError:
        return float(text.replace(",", "."))


@lru_cache(maxsize=4096)
def _level(name: str, cell: Cell, own: bool) -> tuple[Level | str, str]:
    """The level in a cell and what was typed for it; else why there is none, and the text."""
    text = _said(cell, own)
    if text in NOTHING_SAID and not own:
        return "", text
    pair = bracketed(text) if own else None
    try:
        level = read_level(name, pair[1] if pair else text)
    except ValueError as error:
        return str(error), text
    return level, pair[0] if pair else "" if text == level.label else text


class NoteReader:
    """Reads notes from the rows of one table.

    `own` rows were written by the program: there, nothing is taken for more than it says.
    """

    def __init__(self, columns: Columns, words: Words = NO_WORDS) -> None:
        self._columns = columns
        self._words = words
        at = columns.at
        self._scales = [(at[name], name) for name in (*STRUCTURE, DEPTH) if name in at]
        self._listed = {role: _places(columns, role) for role in (DESCRIPTORS, ABSENT, FREE)}
        # Where no column lists them, descriptors stand in what was written of nose and palate.
        self._prose = [at[role] for role in (NOSE, PALATE) if role in at and DESCRIPTORS not in at]
        self.reads_anything = bool(
            self._scales or columns.noted or any(role in at for role in (*NOTED_ROLES, *TEXT_ROLES))
        )
        self._item = lru_cache(maxsize=4096)(self._read_item)

    def read(self, cells: Sequence[Cell], unread: Unread, *, own: bool = False) -> Note:
        """The note of a row that has a cell in every column."""
        at = self._columns.at
        hand = _Hand(self._columns, unread)
        for place, name in self._scales:
            if (cell := cells[place]) != "":
                self._scale(hand, place, name, cell, own)
        if (place := at.get(ALCOHOL, -1)) >= 0 and cells[place] != "":
            self._alcohol(hand, place, cells[place], own)
        if (place := at.get(HUE, -1)) >= 0 and cells[place] != "":
            self._hue(hand, place, _said(cells[place], own), own)
        for role, places in self._listed.items():
            for place in places:
                if (cell := cells[place]) != "":
                    self._list(hand, role, cell if isinstance(cell, str) else cell_text(cell), own)
        for place, key in self._columns.noted.items():
            if (cell := cells[place]) != "":
                self._yes_or_no(hand, key, cell_text(cell))
        if not own:
            for place in self._prose:
                for item in split_items(cell_lines(cells[place]), commas=True):
                    found, there, typed = self._item(item, False)
                    if found is not None and found not in hand.readings:
                        hand.note(found, there, typed)
        texts = {}
        for role in (APPEARANCE, NOSE, PALATE, AGE):
            if (place := at.get(role, -1)) >= 0 and cells[place] != "":
                texts[role] = cell_lines(cells[place], own=own)
        for role, known in ((WORLD, _WORLDS), (CLIMATE, _CLIMATES)):
            if (place := at.get(role, -1)) >= 0 and cells[place] != "":
                texts[role] = self._choice(hand, place, known, cells[place], own)
        return Note(hand.readings, tuple(hand.free), typed=hand.typed, **texts)

    def _scale(self, hand: _Hand, place: int, name: str, cell: Cell, own: bool) -> None:
        level, typed = _level(name, cell, own)
        if isinstance(level, Level):
            hand.note(name, level, typed)
        elif level:
            hand.keep(place, typed, level)

    def _alcohol(self, hand: _Hand, place: int, cell: Cell, own: bool) -> None:
        certain = own or is_certain_alcohol(self._columns.headings[place])
        text = _said(cell, own)
        if text in NOTHING_SAID and not own:
            return
        pair = bracketed(text) if own else None
        try:
            if isinstance(cell, str):
                said = pair[1] if pair else text
                number = _own_number(said) if own else read_alcohol(said, certain=certain)
            elif isinstance(cell, int | float):
                number = float(cell) if own else alcohol_number(cell)
            else:
                raise ValueError("is a date, no alcohol")
        except ValueError as error:
            hand.keep(place, text, str(error))
            return
        # A spreadsheet's number was typed in some way that nobody knows any more.
        typed = "" if not isinstance(cell, str) or text == decimal_text(number) else text
        hand.note(ALCOHOL, number, pair[0] if pair else typed)

    def _hue(self, hand: _Hand, place: int, text: str, own: bool) -> None:
        if text in NOTHING_SAID and not own:
            return
        pair = bracketed(text) if own else None
        hue = pair[1] if pair else _HUES.get(words(text))
        if hue is None or hue not in ALL_HUES:
            hand.keep(place, text, "is no hue of the table")
        else:
            hand.note(HUE, hue, pair[0] if pair else "" if text == hue else text)

    def _list(self, hand: _Hand, role: str, text: str, own: bool) -> None:
        if text.strip() in NOTHING_SAID and not own:
            return
        for item in split_items(text, commas=True):
            if role == FREE:
                hand.say(plain_item(item))
                continue
            key, there, typed = self._item(item, own)
            if key is None:
                hand.say(plain_item(item) if there and role == DESCRIPTORS else f"no {typed}")
            else:
                hand.note(key, there and role == DESCRIPTORS, typed)

    def _read_item(self, item: str, own: bool) -> tuple[str | None, bool, str]:
        """The descriptor of an item, whether it is there, and what was typed for it."""
        if own:
            return self._own_item(item)
        text = " ".join(plain_item(item).split())
        key = None if text.startswith(MINUS) else self._key(text)
        if key is not None:
            return key, True, self._typed(key, text)
        if (absent := split_absent(text)) is None:
            return None, True, text
        key = self._key(absent[1])
        return key, False, absent[1] if key is None else self._typed(key, absent[1])

    def _own_item(self, item: str) -> tuple[str | None, bool, str]:
        if (pair := bracketed(item)) is not None:
            return pair[1], True, pair[0]
        text = plain_item(item)
        key = self._words.descriptor(text)
        return (key, True, self._typed(key, text)) if key is not None else (None, True, text)

    def _key(self, text: str) -> str | None:
        key = self._words.descriptor(text)
        if key is None and text.endswith(")"):
            # “cherry (black)”: what stands in brackets explains.
            key = self._words.descriptor(text.rpartition("(")[0])
        return key

    def _typed(self, key: str, text: str) -> str:
        return "" if text == self._words.lexicon.name_of(key) else text

    def _yes_or_no(self, hand: _Hand, key: str, text: str) -> None:
        said = text.casefold()
        if said in NOTHING_SAID:
            return
        if said in _NO:
            hand.note(key, False, "")
        else:
            hand.note(key, True, "" if said in _YES else text)

    def _choice(
        self, hand: _Hand, place: int, known: Mapping[tuple[str, ...], str], cell: Cell, own: bool
    ) -> str:
        if own:
            return cell_lines(cell, own=True)
        text = cell_text(cell)
        found = known.get(words(text), "")
        if not found and text not in NOTHING_SAID:
            hand.keep(place, text, f"is none of {', '.join(dict.fromkeys(known.values()))}")
        return found


def _places(columns: Columns, role: str) -> tuple[int, ...]:
    if role not in columns.at:
        return ()
    return tuple(sorted((columns.at[role], *columns.more.get(role, ()))))


class _Hand:
    """What is noted of one row, as it is read."""

    def __init__(self, columns: Columns, unread: Unread) -> None:
        self._columns = columns
        self._unread = unread
        self.readings: dict[str, Reading] = {}
        self.typed: dict[str, str] = {}
        self.free: list[str] = []

    def note(self, attribute: str, reading: Reading, typed: str) -> None:
        """Take in a reading, and what was typed for it where that was something else."""
        self.readings[attribute] = reading
        if typed:
            self.typed[attribute] = typed
        elif self.typed:
            self.typed.pop(attribute, None)

    def say(self, word: str) -> None:
        """Take in a word that no descriptor answers to."""
        self.free.append(word)

    def keep(self, place: int, text: str, reason: str) -> None:
        """Keep a text that cannot be read, under its heading, and tell of it."""
        heading = self._columns.headings[place]
        self.free.append(f"{heading}: {text}")
        self._unread(heading, text, reason)
