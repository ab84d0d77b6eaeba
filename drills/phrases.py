"""Small phrases that screens and printed lines share."""

from __future__ import annotations


def days(number: int) -> str:
    """A number of days as a taster says it: today, tomorrow, in 5 days."""
    if number <= 0:
        return "today"
    return "tomorrow" if number == 1 else f"in {number} days"


def count(number: int, one: str, many: str = "") -> str:
    """A number with its noun: 1 card, 3 cards."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def which_cue(poured: str, other: str, cues: int) -> str:
    """The question of a card whose wine is known, where so many cues together are the answer."""
    asked = "Which cue tells" if cues == 1 else "Which cues tell"
    return f"{poured} is poured. {asked} it from {other}?"


def which_level(poured: str, scale: str) -> str:
    """The question of a card that asks where a wine stands on one scale."""
    return f"{poured} is poured. Where does its {scale} stand?"


def how_to_add(extra: str) -> str:
    """The command that adds an extra of the program, from where the program was installed."""
    return f"pip install '.[{extra}]' in your copy of the repository"


def clock(seconds: float) -> str:
    """Seconds as minutes and seconds: 9:05."""
    whole = max(round(seconds), 0)
    return f"{whole // 60}:{whole % 60:02d}"
