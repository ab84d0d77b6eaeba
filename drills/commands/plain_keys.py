"""The letters of the plain drill: those of the screen, with the taster's own in their places."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drills.answer_keys import ANSWER_KEYS
from drills.grading import Sureness

NEXT, HELP, FINISH = "next", "help", "finish"
UNDO, WHY, LONGER, DISPUTE, TIME = "undo", "why", "longer", "dispute", "time"


@dataclass(frozen=True, slots=True)
class PlainKey:
    """What one letter does: the name that settings know it by, the letter, and its words.

    `side` and `sureness` stand for the six answers only.
    """

    name: str
    letter: str
    words: str
    side: str = ""
    sureness: Sureness | None = None


ANSWERS = tuple(
    PlainKey(f"{side}-{sureness.label}", letter, f"{side}, {sureness.label}", side, sureness)
    for letter, side, sureness in ANSWER_KEYS
)
# An empty line goes on. Escape cannot be typed into a line, so finishing has a letter here.
ACTIONS = (
    PlainKey(NEXT, "", "next card"),
    PlainKey(WHY, "w", "why: causes, and where each fact is from"),
    PlainKey(UNDO, "u", "take the last answer back"),
    PlainKey(TIME, "t", "how much time is left"),
    PlainKey(LONGER, "e", "two minutes more"),
    PlainKey(DISPUTE, "x", "how to dispute a fact of the card"),
    PlainKey(FINISH, "f", "finish this drill"),
    PlainKey(HELP, "?", "these keys"),
)


class PlainKeys:
    """What a typed line means."""

    def __init__(self, own: Mapping[str, str] | None = None) -> None:
        """`own` are the taster's characters by the name of the key, as `own_letters` makes them.

        A character that is taken from another key no longer does what that key did; its name, typed
        in full, always does.
        """
        self._letters: dict[str, list[str]] = {}
        self._meant: dict[str, PlainKey] = {}
        own = own or {}
        for key in (*ANSWERS, *ACTIONS):
            letters = list(own[key.name]) if key.name in own else [key.letter]
            taken = {one for name, theirs in own.items() if name != key.name for one in theirs}
            self._letters[key.name] = [
                one for one in letters if key.name in own or one not in taken
            ]
        for key in (*ANSWERS, *ACTIONS):
            self._meant[key.name] = key
            for letter in self._letters[key.name]:
                self._meant.setdefault(letter, key)

    def meant(self, line: str) -> PlainKey | None:
        """The key that a line stands for; None where it stands for none."""
        typed = line.strip()
        return self._meant.get(typed) or self._meant.get(typed.casefold())

    def picked(self, line: str, options: int) -> tuple[int, str] | None:
        """The place of a picked option and what stands behind it; None for anything else.

        “2” picks the second; “2 a”, “2a” also say how sure.
        """
        typed = line.strip()
        if typed[:1].isdecimal() and 1 <= int(typed[0]) <= options and not typed[1:2].isdecimal():
            return int(typed[0]) - 1, typed[1:].strip()
        return None

    def said(self, name: str) -> str:
        """The letters of a key as they are told: “a”, “Enter”; its name where it has none."""
        letters = self._letters[name]
        return " or ".join(one or "Enter" for one in letters) or name


def own_letters(keys: Mapping[str, str]) -> dict[str, str]:
    """The taster's own keys that can be typed into a line, as characters by name.

    UsageError as on the screens. A key that is no character (F9, Ctrl) leaves the usual letter.
    """
    if not keys:
        return {}
    # Only who changes keys waits for the screens: they know every name, and how keys are called.
    from textual.keys import key_to_character

    from drills.screens.keys import keymap

    plain = {key.name for key in (*ANSWERS, *ACTIONS)}
    found = {}
    for name, theirs in keymap(keys).items():
        characters = [key_to_character(key) or "" for key in theirs.split(",")]
        if name in plain and (letters := "".join(one for one in characters if one.strip())):
            found[name] = letters
    return found
