"""Reading TOML that people write: whatever is wrong with it is one sentence, and a line."""

from __future__ import annotations

import re
from typing import Any

# Far more than the program ever writes; what follows would be walked through table by table.
MOST_DEEP = 20


class NotTomlError(ValueError):
    """The text is no TOML, or nests too deep to be meant; `line` is where, if that is known."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        found = re.search(r"at line (\d+)", reason)
        self.line = int(found[1]) if found else None


def read_toml(text: str) -> dict[str, Any]:
    """The content of a text; NotTomlError says what is wrong."""
    # Imported here: a table that comes from the cache is never parsed.
    import tomllib

    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise NotTomlError(str(error)) from None
    except RecursionError:
        raise _too_deep() from None
    _check_depth(content)
    return content


def _check_depth(content: dict[str, Any]) -> None:
    level: list[Any] = [content]
    for _ in range(MOST_DEEP):
        level = [
            inner
            for value in level
            for inner in (value.values() if isinstance(value, dict) else value)
            if isinstance(inner, dict | list)
        ]
        if not level:
            return
    raise _too_deep()


def _too_deep() -> NotTomlError:
    return NotTomlError(f"it nests more than {MOST_DEEP} tables or lists")
