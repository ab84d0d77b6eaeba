"""From a sheet to what it changes in the table, and a change in words."""

from __future__ import annotations

from dataclasses import dataclass

from cards.facts import Change, basis_name, changed_facts, facts_of
from cards.spreadsheet.cells import cell_text
from cards.spreadsheet.columns import header_of
from cards.spreadsheet.reading import Sheet
from cards.tables import Table


@dataclass(frozen=True, slots=True)
class Told:
    """One changed fact in words: its column, the cell before and after."""

    fact: str
    before: str
    after: str


def changes_of(sheet: Sheet, table: Table, shipped: Table) -> list[Change]:
    """What a sheet changes in `table`, a wine at a time; `shipped` is the table without overlay."""
    changes = []
    for row in sheet.rows:
        facts = changed_facts(
            table.profiles.get(row.key),
            shipped.profiles.get(row.key),
            row.facts,
            row.bases,
            row.usual,
        )
        if facts:
            changes.append(Change(row.key, row.style, facts))
    return changes


def told(change: Change, table: Table, shipped: Table) -> list[Told]:
    """A change in words: each fact that will differ from `table`, before and after."""
    profile = table.profiles.get(change.wine)
    first = shipped.profiles.get(change.wine)
    now = facts_of(profile) if profile else {}
    back = facts_of(first) if first else {}
    values: list[Told] = []
    rests: dict[str, Told] = {}
    changed: set[str] = set()
    for path, fact in change.facts.items():
        name = basis_name(path)
        before = cell_text(now.get(path, ""))
        after = cell_text(back.get(path, "") if fact is None else fact.value)
        if before != after:
            values.append(Told(header_of(path), before, after))
            changed.add(name)
        elif name and profile:
            had = profile.basis_of(name)
            will = fact.basis if fact else first.basis_of(name) if first else had
            if will != had:
                rests[name] = Told(f"basis of {name}", had, will)
    # Of a value that changes it goes without saying that its basis does.
    return [*values, *(one for name, one in rests.items() if name not in changed)]
