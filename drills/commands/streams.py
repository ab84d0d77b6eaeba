"""What is printed on terminals and pipes that do not take every sign: a plain sign instead."""

from __future__ import annotations

import codecs
import sys
import unicodedata

# Each stands for one sign, so that columns stay where they are.
_PLAIN = {
    "“": '"', "”": '"', "„": '"', "‘": "'", "’": "'", "–": "-", "—": "-", "…": ".", "·": ".",
    "×": "x", "≈": "~", "✓": "+", "✗": "x", "●": "*", "→": ">", "←": "<", "↑": "^", "↓": "v",
}  # fmt: skip
_NAME = "crosspour-plain"


def keep_printing() -> None:
    """Let nothing that is printed fail for a sign that the stream's encoding lacks."""
    codecs.register_error(_NAME, _instead)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=_NAME)


def plain(sign: str) -> str:
    """A sign of ASCII in the place of another; “?” where nothing is like it."""
    if sign in _PLAIN:
        return _PLAIN[sign]
    if "\u2500" <= sign <= "\u257f":
        name = unicodedata.name(sign)
        across, down = "HORIZONTAL" in name, "VERTICAL" in name
        return "+" if across == down else "-" if across else "|"
    if "\u2580" <= sign <= "\u259f":
        return "#"
    base = unicodedata.normalize("NFKD", sign)[:1]
    return base if base.isascii() else "?"


def _instead(error: UnicodeError) -> tuple[str | bytes, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(plain, error.object[error.start : error.end])), error.end
