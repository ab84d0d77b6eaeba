"""Altering real inputs along their grammar: words, cells, lines, values; seldom single bytes."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Sequence
from typing import Any

# What often goes wrong: ends of ranges, other scripts, signs that mean something elsewhere.
HOSTILE = (
    "", " ", "0", "-1", "1e999", "nan", "inf", "-0", "9" * 30, "1.7976931348623157e308", "0x10",
    "1_000", "1,5", "1.5", ".", ",", "٣", "½", "²", "Ⅷ", "١٤", "true", "null", "[]", "{}", "''",
    '"',
    '"""', "\\", "\\u0000", "\x00", "\x1b[31m", "\u202e", "\u200b", "\ufeff", "\u2028", "\x85",
    "\x0b",
    "é", "e\u0301", "ﬁ", "İ", "ß", "🍷", "\U0010ffff", "[bold]", "[/]", "[@click=app.quit]", "=1+1",
    "'; DROP TABLE pour; --", "%s", "{0}", "$(id)", "<b>", "&amp;", "a" * 2000, "\t", "\r", "\n",
    "31/12/9999", "0000-00-00", "2026-02-30", "1/1/1", "24:00", "> >", "->", "=>", "?", "*", "|",
    ";",
    "no ", "-", "--", "+", "med+", "med to high", "high to low", "1 to", "to 2", "2 to 1", "1 to 2",
    "1e5", "-5", "100%", "14%", "14,5 %", "vol", "NaN", "None", "~", "#", "/", "../x", "unlisted",
)  # fmt: skip


def altered_text(text: str, others: Sequence[str], words: Sequence[str], rng: random.Random) -> str:
    """A text with a few places altered; `others` lend pieces, `words` are the grammar's own."""
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 5, 9))):
        text = rng.choice(_WAYS)(text, others, words, rng)
    return text[:60_000]


def altered_bytes(content: bytes, rng: random.Random) -> bytes:
    """Single bytes changed, lost or doubled, or the rest broken off."""
    changed = bytearray(content)
    for _ in range(rng.choice((1, 1, 2, 4, 16))):
        place = rng.randrange(len(changed) + 1)
        match rng.randrange(5):
            case 0:
                changed[place : place + 1] = bytes([rng.randrange(256)])
            case 1:
                del changed[place : place + rng.choice((1, 2, 8))]
            case 2:
                changed[place:place] = changed[place : place + rng.choice((1, 4, 64))]
            case 3:
                changed[place:place] = rng.choice(HOSTILE).encode("utf-8", "surrogatepass")
            case _:
                if rng.random() < 0.3:
                    del changed[place:]
    return bytes(changed[:200_000])


_ENCODINGS = ("utf-8", "utf-8", "utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252", "utf-16-le")


def encoded(text: str, rng: random.Random) -> bytes:
    """The text as some program may have written it."""
    encoding = rng.choice(_ENCODINGS)
    content = text.encode(encoding, "surrogatepass" if encoding.startswith("utf") else "replace")
    return altered_bytes(content, rng) if rng.random() < 0.1 else content


def altered_value(value: Any, words: Sequence[str], rng: random.Random, depth: int = 0) -> Any:
    """A value as JSON knows it with something inside it altered."""
    if isinstance(value, dict) and value and rng.random() < 0.8:
        key = rng.choice(list(value))
        match rng.randrange(6):
            case 0:
                return {k: v for k, v in value.items() if k != key}
            case 1:
                return value | {rng.choice([*words, *HOSTILE]): value[key]}
            case _:
                return value | {key: altered_value(value[key], words, rng, depth + 1)}
    if isinstance(value, list) and value and rng.random() < 0.8:
        place = rng.randrange(len(value))
        match rng.randrange(5):
            case 0:
                return value[:place] + value[place + 1 :]
            case 1:
                return [*value, value[place]]
            case _:
                return [
                    altered_value(one, words, rng, depth + 1) if n == place else one
                    for n, one in enumerate(value)
                ]
    if isinstance(value, str) and rng.random() < 0.6:
        return altered_text(value, [value], words, rng)
    return _any_value(words, rng)


def _any_value(words: Sequence[str], rng: random.Random) -> Any:
    scalars: list[Any] = [
        None, True, False, 0, -1, 1.5, 10**40, -1e308, 1e-320, 2026, 14.5, 3,
        rng.choice(HOSTILE), rng.choice(list(words) or [""]),
    ]  # fmt: skip
    one = rng.choice(scalars)
    match rng.randrange(8):
        case 0:
            return [one, rng.choice(scalars)]
        case 1:
            return {rng.choice(list(words) or ["a"]): one}
        case 2:
            for _ in range(rng.choice((3, 60, 400))):
                one = [one] if rng.random() < 0.5 else {"a": one}
            return one
        case _:
            return one


def as_json(value: Any, rng: random.Random) -> str:
    """A value written down, at times by hand."""
    return json.dumps(
        value, ensure_ascii=rng.random() < 0.3, indent=rng.choice((None, None, 1)), allow_nan=True
    )


# ---- ways to alter a text


def _places(text: str, rng: random.Random) -> tuple[int, int]:
    """A stretch of the text, most often a whole word."""
    if not text:
        return 0, 0
    start = rng.randrange(len(text))
    if rng.random() < 0.3:
        return start, min(len(text), start + rng.choice((1, 1, 2, 10)))
    while start and text[start - 1].isalnum():
        start -= 1
    end = start
    while end < len(text) and text[end].isalnum():
        end += 1
    return start, max(end, start + 1)


def _with_piece(text: str, others: Sequence[str], words: Sequence[str], rng: random.Random) -> str:
    """A word replaced by another: one of the grammar, a hostile one, one of another input."""
    start, end = _places(text, rng)
    piece = rng.choice((words or HOSTILE, HOSTILE, others or HOSTILE))
    new = rng.choice(piece)
    if piece is others:
        first, last = _places(new, rng)
        new = new[first:last]
    return text[:start] + new + text[end:]


def _with_more(text: str, _o: Sequence[str], words: Sequence[str], rng: random.Random) -> str:
    """Something put in."""
    start, _ = _places(text, rng)
    return text[:start] + rng.choice(rng.choice((words or HOSTILE, HOSTILE))) + text[start:]


def _with_less(text: str, _o: Sequence[str], _w: Sequence[str], rng: random.Random) -> str:
    """A word, or a stretch, lost."""
    start, end = _places(text, rng)
    return text[:start] + text[end:]


def _with_lines(text: str, others: Sequence[str], _w: Sequence[str], rng: random.Random) -> str:
    """Lines lost, doubled, exchanged, or brought from another input."""
    lines = text.splitlines(keepends=True) or [""]
    place = rng.randrange(len(lines))
    match rng.randrange(5):
        case 0:
            del lines[place]
        case 1:
            lines.insert(place, lines[rng.randrange(len(lines))])
        case 2:
            lines[place], lines[0] = lines[0], lines[place]
        case 3:
            lines[place:place] = rng.choice(list(others) or [text]).splitlines(keepends=True)[:3]
        case _:
            lines = lines[: place + 1] if rng.random() < 0.3 else lines[:place] * 2 + lines[place:]
    return "".join(lines)


def _with_signs(text: str, _o: Sequence[str], _w: Sequence[str], rng: random.Random) -> str:
    """One sign that sets things apart taken for another, everywhere or in one place."""
    old, new = rng.choice(",;\t|\n\"'.=[]{}:>"), rng.choice(",;\t|\n\"'.=[]{}:>\r")
    if rng.random() < 0.5:
        return text.replace(old, new)
    return text.replace(old, new, rng.randrange(1, 4))


def _with_numbers(text: str, _o: Sequence[str], _w: Sequence[str], rng: random.Random) -> str:
    """A number that is another."""
    digits = [place for place, sign in enumerate(text) if sign.isdigit()]
    if not digits:
        return text
    place = rng.choice(digits)
    new = rng.choice(("0", "9", "-", "99999", ".", "e9", "٣", "²", "", ",5", "1 to 3"))
    return text[:place] + new + text[place + 1 :]


def _with_case(text: str, _o: Sequence[str], _w: Sequence[str], rng: random.Random) -> str:
    """Letters large, small or exchanged."""
    start, end = _places(text, rng)
    ways: tuple[Callable[[str], str], ...] = (str.upper, str.lower, str.swapcase, str.title)
    return text[:start] + rng.choice(ways)(text[start:end]) + text[end:]


_WAYS = (
    _with_piece,
    _with_piece,
    _with_piece,
    _with_more,
    _with_less,
    _with_lines,
    _with_lines,
    _with_signs,
    _with_numbers,
    _with_case,
)
