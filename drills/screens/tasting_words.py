"""What the tasting screens say of a pour. Pure."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content

from drills.screens.widgets.scale_row import SURENESS_LABELS
from drills.service.completing import Heard
from drills.tastings.drafts import Named
from drills.tastings.notes import FullPour


def sign_of(named: Named) -> tuple[str, str]:
    """A sign and its style: whether a name is a wine of the table; empty where no name stands."""
    if not named.text:
        return "", ""
    return ("✓", "$success") if named.wine else ("?", "bold $warning")


def heard_words(heard: Heard, name_of: Callable[[str], str]) -> Content:
    """What the lexicon made of the words of a note; `name_of` names a descriptor."""
    parts: list[tuple[str, str]] = []
    for key, there in heard.noted.items():
        name = name_of(key)
        parts += [(name, "") if there else (f"no {name}", "strike"), (" · ", "dim")]
    for word in heard.free:
        parts += [(f"“{word}”", "italic"), (" · ", "dim")]
    return Content.assemble(*parts[:-1])


def called_words(pour: FullPour, short: Callable[[str], str]) -> Content:
    """What was called, to stand above what it was; `short` names a wine in short."""
    parts: list[tuple[str, str]] = [(f"pour {pour.position}   ", "bold")]
    for label, said, sureness in (
        ("you called", pour.final.named, pour.final.sureness),
        ("first", pour.first.named, pour.first.sureness),
        ("runner-up", pour.runner_up, None),
    ):
        if said.text:
            after = f" ({SURENESS_LABELS[sureness - 1]})" if sureness else ""
            name = short(said.wine) if said.wine else said.text
            parts += [(f"{label} ", "dim"), (name, "bold"), (f"{after}   ", "")]
    if len(parts) == 1:
        parts.append(("no call was made", "dim"))
    return Content.assemble(*parts)
