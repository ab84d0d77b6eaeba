"""Numbers, vintages, levels and sureness as tasters write them. What cannot be read is an error."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import lru_cache

from cards.lexicon import DEPTH
from cards.naming.folding import words
from cards.scale import LEVEL_LABELS, Level
from drills.tastings.notes import MOST_ALCOHOL, read_vintage

# Between thousands people write commas, points, blanks of several widths, and apostrophes.
_BLANKS = "\u00a0\u2009\u202f "
_NUMBER = re.compile(
    rf"[+-]?(?:\d{{1,3}}(?:(?P<mark>[.,'’{_BLANKS}])\d{{3}})(?:(?P=mark)\d{{3}})*|\d+)"
    r"(?:(?P<point>[.,])\d*)?|[+-]?[.,]\d+",
    re.ASCII,
)
_AROUND_ALCOHOL = re.compile(
    r"(?:^(?:alc(?:ohol)?|alk|abv|vol)\b[.:]*|%|[°º]|\b(?:vol|abv|alc|alk)\b\.?)", re.IGNORECASE
)
_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):(\d{2})(?:[.,]\d+)?")
_SECONDS = re.compile(r"\s*(?:s|sec|secs|seconds?|sek(?:unden)?|secondes?|secondi|segundos?)\.?$")
_VINTAGE = re.compile(r"(\d{4})(?:[.,]0+)?")
# Alcohol as a spreadsheet holds “13.5%”: a share of one.
_MOST_AS_SHARE = MOST_ALCOHOL / 100


def read_decimal(text: str) -> float:
    """A number with a decimal point or comma, thousands set apart or not.

    ValueError where it is none, or where a mark could be of either kind (“1,234”).
    """
    text = text.strip()
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise ValueError(f"“{text[:40]}” is no number")
    mark, point = match["mark"], match["point"]
    if mark and mark == point:
        raise ValueError(f"“{text[:40]}” is no number")
    if mark in (".", ",") and point is None and text.count(mark) == 1:
        if not text.lstrip("+-").startswith("0"):
            raise ValueError(f"“{text[:40]}” could be thousands or decimals")
        point, mark = mark, None
    if mark:
        text = text.replace(mark, "")
    return float(text.replace(",", "."))


def decimal_text(number: float) -> str:
    """A number as it is written so that it reads back the same."""
    return str(int(number)) if number.is_integer() and abs(number) < 1e15 else repr(number)


@lru_cache(maxsize=4096)
def read_alcohol(text: str, *, certain: bool = False) -> float:
    """Alcohol in % vol from “13.5”, “13,5 % vol”; ValueError says why there is none.

    A bare whole number up to five could be a level, so it is refused unless it is `certain` that
    alcohol is meant.
    """
    bare = _AROUND_ALCOHOL.sub(" ", text).strip()
    try:
        number = read_decimal(bare)
    except ValueError:
        if not re.fullmatch(r"\d{1,2}[.,]\d{3}", bare):
            raise
        number = float(bare.replace(",", "."))
    return _alcohol(number, certain=certain or bare != text.strip())


def alcohol_number(number: float) -> float:
    """Alcohol in % vol from a cell that holds a number; ValueError where it could be a level."""
    return _alcohol(share_or_percent(number), certain=False)


def share_or_percent(number: float) -> float:
    """Alcohol in % vol from a cell that holds a number: a spreadsheet holds 13.5% as 0.135."""
    if 0 < number <= _MOST_AS_SHARE:
        return round(number * 100, 6)
    return _alcohol(number, certain=True)


def _alcohol(number: float, *, certain: bool) -> float:
    if not 0 <= number <= MOST_ALCOHOL:
        raise ValueError(f"alcohol lies between 0 and {MOST_ALCOHOL:g}% vol")
    if not certain and number in (1, 2, 3, 4, 5):
        raise ValueError("could be a level; alcohol is read in % vol")
    return number


def read_year(text: str) -> int:
    """A vintage; ValueError where it is no year of four digits."""
    match = _VINTAGE.fullmatch(text.strip())
    if match is None:
        raise ValueError("is no vintage of four digits")
    found = read_vintage(int(match[1]))
    assert found is not None
    return found


def read_seconds(text: str) -> float:
    """Seconds from “95”, “95.5 s”, “1:35” or “0:01:35”; ValueError says why there are none."""
    text = text.strip().casefold()
    if match := _CLOCK.fullmatch(text):
        hours, minutes, seconds = int(match[1] or 0), int(match[2]), text.rpartition(":")[2]
        if float(seconds.replace(",", ".")) >= 60:
            raise ValueError("is no time")
        return hours * 3600 + minutes * 60 + float(seconds.replace(",", "."))
    number = read_decimal(_SECONDS.sub("", text))
    if not (math.isfinite(number) and 0 <= number <= 1e7):
        raise ValueError("is no number of seconds")
    return number


_SURENESS = {
    word: sureness
    for sureness, said in (
        (
            1,
            "1 guess guessing guessed unsure hunch devine supposition geraten unsicher indovinato "
            "incerto adivinado inseguro",
        ),
        (2, "2 leaning lean fairly plutot eher piuttosto bastante"),
        (3, "3 sure certain confident sur sure certaine sicher gewiss sicuro certo seguro cierto"),
    )
    for word in said.split()
}


def read_sureness(text: str) -> int:
    """How sure a call was: 1 a guess, 2 leaning, 3 sure; ValueError where nobody can tell."""
    said = words(text)
    if len(said) == 1 and said[0] in _SURENESS:
        return _SURENESS[said[0]]
    if said[:1] == ("a",) and said[1:] == ("guess",):
        return 1
    if re.fullmatch(r"[123][.,]0+", text.strip()):
        return int(text.strip()[0])
    raise ValueError("is no sureness: 1 a guess, 2 leaning, 3 sure")


# What people call the five levels, beside the labels of the table; and what they call them of one
# structure word alone. Words of the trade and of every day, in five languages (common practice).
_LEVEL_WORDS = (
    "low weak faible bas basse niedrig gering basso bassa bajo baja",
    "",
    "med medium middling moderate middle moyen moyenne mittel mittlere medio media",
    "",
    "high strong eleve elevee fort forte hoch stark kraftig alto alta fuerte",
)
_OWN_LEVEL_WORDS: Mapping[str, tuple[str, ...]] = {
    "sweetness": (
        "dry|bone dry|sec|trocken|secco|seco|none",
        "off dry|just off dry|demi sec|feinherb|halbtrocken|abboccato|semiseco",
        "half sweet|medium sweet|moelleux|lieblich|amabile|semidulce",
        "sweet|doux|suss|suess|dolce|dulce",
        "very sweet|lusciously sweet|liquoreux|edelsuss|edelsuess|molto dolce|muy dulce",
    ),
    "body": (
        "light|thin|leger|legere|leicht|leggero|ligero",
        "",
        "",
        "",
        "full|heavy|plein|corse|voll|schwer|pieno|lleno|con cuerpo",
    ),
    "finish": ("short|court|courte|kurz|corto|corta", "", "", "", "long|longue|lang|lungo|largo"),
    "intensity": ("shy|faint|discret|zart|tenue", "", "", "", "powerful|intense|intenso"),
    "oak": ("none|no oak|unoaked|sans bois|ohne holz|senza legno|sin madera", "", "", "", "heavy"),
    "tannin": ("none|no tannin|sans tanin|keine|nessuno|sin tanino", "", "", "", "grippy"),
    "mineral": ("none|little|peu|wenig|poco", "", "some", "", "very mineral"),
    "bitterness": ("none|no bitterness|keine|nessuna|ninguno", "", "some", "", ""),
    DEPTH: (
        "very pale|watery|tres pale|sehr blass",
        "pale|pale|blass|hell|pallido|palido|scarico",
        "",
        "deep|dark|profond|fonce|tief|dunkel|profondo|profundo",
        "very deep|opaque|tres profond|sehr tief",
    ),
}
_OF_FIVE = re.compile(r"([1-5])(?:[.,]0+)?(?:\s*(?:/|of|von|sur|su|de|out of)\s*5)?")
_SIGN = re.compile(
    r"(.*?)\s*[\[({]?\s*(\+|-|plus|minus|moins|meno|piu|più|mas|más|menos)\s*[\])}]?"
)
_PLUS = {"+", "plus", "piu", "più", "mas", "más"}


def _by_word() -> dict[tuple[str, tuple[str, ...]], Level]:
    found: dict[tuple[str, tuple[str, ...]], Level] = {}
    for level, said in zip(Level, _LEVEL_WORDS, strict=True):
        found |= {("", words(word)): level for word in said.split()}
    for attribute, row in _OWN_LEVEL_WORDS.items():
        for level, said in zip(Level, row, strict=True):
            found |= {(attribute, words(word)): level for word in said.split("|") if word}
    return found


_BY_WORD = _by_word()
_MIDDLE = frozenset({"m", *(word for word in _LEVEL_WORDS[Level.MED].split())})


@lru_cache(maxsize=4096)
def read_level(attribute: str, text: str) -> Level:
    """The level of a structure word, from a label, a number of 1 to 5 or a plain word.

    ValueError where it is none, or more than one.
    """
    text = text.strip().casefold().replace("−", "-").replace("–", "-")
    if text in LEVEL_LABELS:
        return Level.from_label(text)
    if match := _OF_FIVE.fullmatch(text):
        return Level(int(match[1]) - 1)
    if match := _SIGN.fullmatch(text):
        middle = "".join(words(match[1]))
        if middle in _MIDDLE:
            return Level.MED_PLUS if match[2] in _PLUS else Level.MED_MINUS
    said = words(text)
    # “medium acid”, “high tannins”: the word itself may stand beside its level.
    bare = tuple(word for word in said if word.rstrip("s") != attribute.rstrip("s"))
    for attempt in (said, bare):
        for own in (attribute, ""):
            if (own, attempt) in _BY_WORD:
                return _BY_WORD[own, attempt]
    raise ValueError(f"is no level; use {', '.join(LEVEL_LABELS)} or 1 to 5")


def is_certain_alcohol(heading: str) -> bool:
    """Whether a heading itself says that its numbers are % vol, and no level."""
    return "%" in heading or "vol" in words(heading)
