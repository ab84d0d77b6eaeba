"""Which column is which: headings in five languages, whatever their case, accents and order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from cards.naming.folding import words
from drills.errors import IntakeError
from drills.tastings.cells import Cell, printable
from drills.tastings.headings import ABSENT, CALLED, CODE, FREE, HEADINGS, LABEL_ALCOHOL, WAS

LONGEST_HEADING = 60
# A list of several columns (aroma 1, aroma 2) is read whole; of other columns one is meant.
_MANY = ("descriptors", ABSENT, FREE, "candidates", "note")

DescriptorOf = Callable[[str], str | None]
"""The descriptor that a heading means, in any wording, or None."""


def no_descriptor(_: str) -> None:
    """No heading means a descriptor."""


@lru_cache(maxsize=4096)
def folded(heading: str) -> str:
    """The heading without case, accents, spaces and underscores; “#” stands for a number."""
    return "".join(words(heading.replace("#", " no ").replace("№", " no ")))


_ROLES = {
    folded(heading): (role, rank)
    for role, headings in reversed(list(HEADINGS.items()))
    for rank, heading in reversed(list(enumerate(headings)))
}


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each column stands. `heading` gives its name as the file writes it.

    `more` holds further columns of a role that may stand in several, `noted` the columns that are
    about one descriptor each, by place.
    """

    at: Mapping[str, int]
    headings: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    more: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    noted: Mapping[int, str] = field(default_factory=dict)

    def heading(self, role: str) -> str:
        """The heading of a column in the file, else the name it would have."""
        place = self.at.get(role)
        return role.replace("_", "-") if place is None else self.headings[place]

    @property
    def complete(self) -> bool:
        """Whether the columns say what was called and what it was, or which glass of a flight."""
        return CALLED in self.at and (WAS in self.at or CODE in self.at)


def role_of(heading: str) -> tuple[str, int] | None:
    """What a heading means and how well it says so (0 best); None where nobody can tell."""
    if len(heading) > LONGEST_HEADING:
        return None
    plain = _ROLES.get(folded(heading))
    if plain is None and heading.endswith(")"):
        # “alcohol (% vol)”, “acid (1-5)”: what stands in brackets explains.
        plain = _ROLES.get(folded(heading.rpartition("(")[0]))
    return plain


def find_columns(cells: Sequence[Cell], descriptor: DescriptorOf = no_descriptor) -> Columns:
    """The columns that a row of headings names; those it cannot place become warnings."""
    headings = tuple(" ".join(str(cell).split()) for cell in cells)
    claims: dict[str, list[tuple[int, int]]] = {}
    noted: dict[int, str] = {}
    warnings: list[str] = []
    for place, heading in enumerate(headings):
        found = role_of(heading)
        if found is not None:
            role, rank = found
            claims.setdefault(role, []).append((rank, place))
        elif heading and len(heading) <= LONGEST_HEADING and (key := descriptor(heading)):
            noted[place] = key
        elif heading:
            warnings.append(f"column “{_short(heading)}” was not read")
    at: dict[str, int] = {}
    more: dict[str, tuple[int, ...]] = {}
    for role, places in claims.items():
        (_, best), *others = sorted(places)
        at[role] = best
        if role in _MANY:
            more[role] = tuple(sorted(place for _, place in others))
            continue
        warnings.extend(
            f"column “{_short(headings[place])}” was not read: "
            f"“{_short(headings[best])}” says the same"
            for _, place in others
        )
    if folded(headings[at[LABEL_ALCOHOL]]) == "abv" if LABEL_ALCOHOL in at else False:
        heading = _short(headings[at[LABEL_ALCOHOL]])
        warnings.append(f"column “{heading}” was read as the alcohol on the label")
    return Columns(at, headings, tuple(warnings), more, noted)


def missing_columns(columns: Columns) -> IntakeError:
    """The error for a file that does not say what was called or what it was."""
    wanted = [
        f"“{role}” ({what})"
        for role, what in ((CALLED, "the final call"), (WAS, "the wine it was"))
        if role not in columns.at
    ]
    seen = ", ".join(f"“{_short(heading)}”" for heading in columns.headings[:20] if heading)
    return IntakeError(
        f"has no column {' and no column '.join(wanted)}; the headings found are {seen or 'none'}; "
        "lines without headings hold “called > was”"
    )


def _short(heading: str) -> str:
    return printable(heading if len(heading) <= 40 else heading[:39] + "…")
