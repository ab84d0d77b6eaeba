"""The taster's settings: one small TOML file, every value with a default."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from drills.errors import UsageError

LEAST_MINUTES, MOST_MINUTES = 1, 120


@dataclass(frozen=True, slots=True)
class Settings:
    """`minutes` a drill; `theme` a theme of the screens; `keys` other keys by binding id."""

    minutes: int = 10
    theme: str = ""
    keys: Mapping[str, str] = field(default_factory=dict)


def load_settings(file: Path) -> Settings:
    """The settings in `file`; defaults where it does not exist. UsageError says what is wrong."""
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError:
        return Settings()
    except UnicodeDecodeError as error:
        raise UsageError(f"{file} is not UTF-8: {error.reason}") from error
    except OSError as error:
        raise UsageError(f"{file} cannot be read: {error.strerror}") from error
    # Few tasters have a file of settings, so the parser waits until there is one.
    import tomllib

    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise UsageError(f"{file} is no valid TOML: {error}") from error
    return _settings(content, file)


def _settings(content: Mapping[str, Any], file: Path) -> Settings:
    if unknown := sorted(set(content) - {"minutes", "theme", "keys"}):
        raise UsageError(f"{file}: {unknown[0]} is no setting; known are minutes, theme, keys")
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
    return Settings(minutes, theme, keys)
