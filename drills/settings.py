"""The taster's settings: one small TOML file, every value with a default."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from cards.toml import NotTomlError, read_toml
from drills.errors import NotPossibleError, UsageError

LEAST_MINUTES, MOST_MINUTES = 1, 120
_KNOWN = ("minutes", "exam", "theme", "keys", "exam-weights", "backups", "taster")
_STYLES = ("white", "red", "rose", "sparkling", "sweet", "fortified")
_MOST_WEIGHT = 10


@dataclass(frozen=True, slots=True)
class Settings:
    """`minutes` a drill; `theme` a theme of the screens; `keys` other keys by binding id.

    `exam` is the day of the exam, None where none is set; `exam_weights` says by style how much
    its wines count there, 1 where nothing is said. `backups` is whether the database is backed up
    daily by itself; `taster` is which of several in a database works here.
    """

    minutes: int = 10
    theme: str = ""
    keys: Mapping[str, str] = field(default_factory=dict)
    exam: date | None = None
    exam_weights: Mapping[str, float] = field(default_factory=dict)
    backups: bool = True
    taster: str = ""


def load_settings(file: Path) -> Settings:
    """The settings in `file`; defaults where it does not exist. UsageError says what is wrong.

    NotPossibleError where it cannot be read.
    """
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError:
        return Settings()
    except UnicodeDecodeError as error:
        raise UsageError(f"{file} is not UTF-8: {error.reason}") from error
    except OSError as error:
        raise NotPossibleError(f"{file} cannot be read: {error.strerror}") from error
    try:
        content = read_toml(text)
    except NotTomlError as error:
        raise UsageError(f"{file} is no valid TOML: {error}") from error
    return _settings(content, file)


def _settings(content: Mapping[str, Any], file: Path) -> Settings:
    if unknown := sorted(set(content) - set(_KNOWN)):
        raise UsageError(f"{file}: {unknown[0]} is no setting; known are {', '.join(_KNOWN)}")
    minutes = content.get("minutes", 10)
    # In Python true is a whole number too.
    if type(minutes) is not int or not LEAST_MINUTES <= minutes <= MOST_MINUTES:
        raise UsageError(
            f"{file}: minutes should be a whole number from {LEAST_MINUTES} to {MOST_MINUTES}"
        )
    theme = content.get("theme", "")
    if not isinstance(theme, str):
        raise UsageError(f"{file}: theme should be a text in quotes")
    keys = content.get("keys", {})
    if not isinstance(keys, dict) or not all(isinstance(key, str) for key in keys.values()):
        raise UsageError(f'{file}: keys should be lines such as left-sure = "q" under [keys]')
    exam = content.get("exam")
    # A moment is a date too, as Python sees it.
    if exam is not None and (not isinstance(exam, date) or isinstance(exam, datetime)):
        raise UsageError(f"{file}: exam should be a date without quotes, such as 2027-03-14")
    backups = content.get("backups", True)
    if not isinstance(backups, bool):
        raise UsageError(f"{file}: backups should be true or false")
    weights = _weights(content.get("exam-weights", {}), file)
    taster = content.get("taster", "")
    if not isinstance(taster, str):
        raise UsageError(f"{file}: taster should be a name in quotes")
    return Settings(minutes, theme, keys, exam, weights, backups, taster.strip())


def _weights(content: Any, file: Path) -> dict[str, float]:
    if not isinstance(content, dict):
        raise UsageError(f"{file}: exam-weights should be lines such as red = 2 under its heading")
    for style, weight in content.items():
        if style not in _STYLES:
            raise UsageError(f"{file}: {style} is no style; known are {', '.join(_STYLES)}")
        if type(weight) not in (int, float) or not 0 <= weight <= _MOST_WEIGHT:
            raise UsageError(f"{file}: exam-weights.{style} should be 0 to {_MOST_WEIGHT}")
    return {style: float(weight) for style, weight in content.items()}


def read_minutes(text: str) -> int:
    """Minutes a day as they are typed; UsageError says what they should be."""
    try:
        minutes = int(text.strip())
    except ValueError:
        minutes = 0
    if not LEAST_MINUTES <= minutes <= MOST_MINUTES:
        raise UsageError(f"give a whole number from {LEAST_MINUTES} to {MOST_MINUTES}")
    return minutes


def read_exam(text: str) -> date | None:
    """An exam date as it is typed, None for nothing; UsageError says how to write it."""
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise UsageError("write the date as 2027-03-14, or nothing for no exam") from None


def save_settings(file: Path, *, minutes: int, exam: date | None) -> None:
    """Change minutes and exam date in `file`; everything else stays as it was written.

    Raises:
        UsageError: the file is no valid TOML.
        NotPossibleError: it cannot be written.
    """
    # Loaded only by who changes a setting: reading needs no more than the standard library.
    from tomlkit.exceptions import TOMLKitError

    try:
        text = file.read_text(encoding="utf-8") if file.exists() else ""
        text = _with(_with(text, "exam", exam), "minutes", minutes)
        file.parent.mkdir(parents=True, exist_ok=True)
        # Written beside and moved: settings that are cut short would keep the program from opening.
        beside = file.with_name(f".{file.name}.new")
        beside.write_text(text, encoding="utf-8")
        beside.replace(file)
    except TOMLKitError as error:
        raise UsageError(f"{file} is no valid TOML: {error}") from error
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or error
        raise NotPossibleError(f"{file} cannot be changed: {reason}") from error


def _with(text: str, name: str, value: Any) -> str:
    import tomlkit

    document = tomlkit.parse(text)
    if value is None:
        document.pop(name, None)
    elif name in document or not document:
        document[name] = value
    else:
        # In front: what follows a section belongs to it.
        return f"{name} = {tomlkit.item(value).as_string()}\n{text}"
    return tomlkit.dumps(document)
