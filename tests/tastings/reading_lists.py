"""Reading lists where only a few names are known."""

from __future__ import annotations

import io
from collections.abc import Callable

from cards.names import Resolution
from drills.tastings.drafts import IntakeDraft
from drills.tastings.intake import read_intake

WINES = {"chablis": "chardonnay-chablis", "sancerre": "sauvignon-sancerre"}

Reading = Callable[..., IntakeDraft]
"""Writes content to a file (`name`, `encoding`) and reads it, other options handed on."""


class FewNames:
    """Knows two wines, and that a Sauvignon could be the second of them."""

    def resolve(self, text: str) -> Resolution:
        """What a name means here."""
        wine = WINES.get(text.casefold())
        near = ("sauvignon-sancerre",) if "sauv" in text.casefold() and not wine else ()
        return Resolution(text, wine, near, "name" if wine else "unknown")


def pairs(draft: IntakeDraft) -> list[tuple[str, str]]:
    """What was called and what it was, as typed."""
    return [(pour.called.text, pour.was.text) for pour in draft.pours]


def typed(text: str, **options: str) -> IntakeDraft:
    """Read pasted lines."""
    return read_intake(io.StringIO(text), FewNames(), **options)  # type: ignore[arg-type]
