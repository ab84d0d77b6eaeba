"""Folding of written names: case, accents, punctuation, and what is no part of a name."""

from __future__ import annotations

import re
import unicodedata

_SPECIAL = str.maketrans(
    {
        "ß": "ss",
        "ẞ": "ss",
        "æ": "ae",
        "Æ": "ae",
        "œ": "oe",
        "Œ": "oe",
        "ø": "o",
        "Ø": "o",
        "ł": "l",
        "Ł": "l",
        "đ": "d",
        "ð": "d",
        "ı": "i",
        "·": "",
        "&": " and ",
        "+": " and ",
    }
)
_DIGRAPHS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue"})
_WORD = re.compile(r"[^\W_]+")
_SAINT = {"st": "saint", "ste": "saint", "sainte": "saint", "sta": "santa", "mt": "mount"}
# “N.Z.”, “L.B.V.”: letters set apart by full stops are one word.
_INITIALS = re.compile(r"(?<![^\W_])((?:[^\W\d_]\.){2,})(?:([^\W\d_])(?![^\W_]))?")
# “S&M” is one word, “Sèvre & Maine” are three.
_PAIR = re.compile(r"(?<![^\W_])([^\W\d_])&([^\W\d_])(?![^\W_])")

_NUMBER = r"\d{1,4}(?:[.,]\d{1,2})?"
_NOISE = re.compile(
    "|".join(
        (
            # a place in a list: “3. ”, “#3 ”, “no. 3 ”, “wine 3: ”
            r"^\s*(?:wine|vin|wein|vino|glass|verre|glas)\s*(?:no\.?\s*)?\d{1,2}\s*[.):-]",
            r"^\s*(?:\d{1,2}\s*[.):]\s+|(?:#|no\.?|nr\.?|n°|nº)\s*\d{1,2}\b[.):]?)",
            rf"(?:[€$£¥]|\b(?:eur|usd|gbp|chf|aud|nzd)\b)\s*{_NUMBER}",
            rf"(?<!\d){_NUMBER}\s*(?:[€$£¥]|(?:eur|euros?|usd|gbp|chf|dollars?|pounds?)\b)",
            rf"(?<!\d){_NUMBER}\s*(?:%|°|º)(?:\s*(?:vol|abv|alc)\b\.?)?",
            rf"(?<!\d){_NUMBER}\s*(?:vol|abv|alc)\b\.?",
            rf"(?<!\d){_NUMBER}\s*(?:cl|ml|dl|l|lt|ltr|litres?|liters?)\b",
            r"(?<!\d)\d{2,3}(?:\.\d)?\s*(?:/\s*(?:100|20)\b|(?:pts?|points?|punkte|punti)\b)",
            r"(?<!\d)(?:1[89]|20)\d\d(?:\s*[-/]\s*\d{2,4})?(?!\d)",
            r"['’‘`´]\d\d(?!\w)",
        )
    ),
    re.IGNORECASE,
)
_YEARS = re.compile(
    r"(?<!\d)(\d\d)\s*[-‐–]?\s*"
    r"(?:years?|yrs?|yo|y\.o\.?|y/o|y|ans?|años|anos|anni|jahre?|jahr(?:e|en)?)\b"
    r"(?:[-\s]*(?:olds?|alt|d['’]âge|d['’]age)\b)?\.?",
    re.IGNORECASE,
)
_PUTTONYOS = re.compile(r"(?<!\d)[3-6]\s*[-‐–]?\s*(?:puttonyos|puttony|putts?|put)\b\.?", re.I)


# What is as short as an abbreviation, or is made of single letters, is one only if nothing else
# stands between them: “C.d.P.”, “G S M” and “S&M”, and not “v>p”.
_ABBREVIATED = 3
_SIGNS_A_LETTER = 2
_TOGETHER = re.compile(r"[^\W_]{2}")
_APART = re.compile(r"[^\W_](?:[ .&/'’-]{0,2}[^\W_])*")


def words(text: str) -> tuple[str, ...]:
    """The words of `text` without case, accents and punctuation; “St.” reads as “saint”."""
    if "&" in text:
        text = _PAIR.sub(r"\1\2", text)
    if "." in text:
        text = _INITIALS.sub(lambda m: m[1].replace(".", "") + (m[2] or ""), text)
    if not text.isascii():
        text = text.translate(_SPECIAL)
        text = unicodedata.normalize("NFKD", text)
        text = "".join(c for c in text if not unicodedata.combining(c))
        # NFKD can bring back marks and ligatures that casefold opens.
        text = text.casefold()
        if not text.isascii():
            text = unicodedata.normalize("NFKD", text)
            text = "".join(c for c in text if not unicodedata.combining(c))
    else:
        text = text.replace("&", " and ").replace("+", " and ").lower()
    return tuple([_SAINT.get(word, word) for word in _WORD.findall(text)])


def spellings(text: str) -> tuple[tuple[str, ...], ...]:
    """The words of a name as listed, and once more with ä, ö, ü written ae, oe, ue."""
    plain = words(text)
    if text.isascii():
        return (plain,)
    spelt = words(text.translate(_DIGRAPHS))
    return (plain,) if spelt == plain else (plain, spelt)


def without_noise(text: str) -> str:
    """`text` without vintage, strength, price, size, points and place in a list.

    The age of a wine kept in wood becomes one word (“10 years old” -> “10y”), and puttonyos say
    that the wine is an aszú.
    """
    text = _YEARS.sub(r" \1y ", text)
    text = _PUTTONYOS.sub(" aszu ", text)
    return _NOISE.sub(" ", text)


def without_signs(text: str) -> str:
    """`text` without signs that fold to letters and are none: “㏄”, “Ⓒ”, “™”."""
    if text.isascii():
        return text
    return "".join(" " if unicodedata.category(c) == "So" else c for c in text)


def worth_a_name(text: str) -> bool:
    """Whether the letters of `text` are enough, among its other signs, to name a wine."""
    bare = "".join(c for c in text if not unicodedata.combining(c))
    places = [place for place, c in enumerate(bare) if c.isalnum()]
    if not places:
        return False
    inside = bare[places[0] : places[-1] + 1]
    short = len(places) <= _ABBREVIATED
    signs = sum(not c.isalnum() and not c.isspace() for c in (bare if short else inside))
    if signs > _SIGNS_A_LETTER * len(places):
        return False
    return bool((not short and _TOGETHER.search(inside)) or _APART.fullmatch(inside))
