"""How a taster writes that a smell was looked for and is not there: “no oak”, “- petrol”."""

from __future__ import annotations

import re

MINUS = ("-", "–", "—", "−")
_BEFORE = re.compile(
    r"\s*(?:[-–—−][-–—−\s]*|"
    r"(?:(?:no|not|without|keine?n?|ohne|sans|pas|senza|nessun|sin|ning[uú]n)\s+)+"
    r"(?:d[eu]?\s+|d['’]\s*)?)(?=\S)",
    re.IGNORECASE,
)


def split_absent(text: str) -> tuple[str, str] | None:
    """What says that something is absent, and the something; None where nothing says so."""
    found = _BEFORE.match(text)
    return None if found is None else (found[0].strip(), text[found.end() :].strip())
