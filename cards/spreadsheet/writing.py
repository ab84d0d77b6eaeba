"""The table written as a sheet."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Mapping

from cards.facts import FactPath, Value, basis_name, facts_of
from cards.profiles import Profile
from cards.spreadsheet.cells import cell_text, guarded, joined
from cards.spreadsheet.columns import BASES, KEY, NUMBERS, PLACES, STYLE, header_of
from cards.tables import Table


def sheet_text(table: Table, *, decimal_comma: bool = False) -> str:
    """The whole table as CSV; with `decimal_comma` as it is usual where numbers are written so."""
    listed = {key for profile in table.profiles.values() for key in profile.descriptors}
    words = [key for key in table.lexicon.descriptors if key in listed]
    headers = [KEY, "name", "short", STYLE, *list(PLACES)[2:], BASES]
    paths: list[FactPath] = [PLACES[header] for header in headers if header in PLACES]
    paths += [("descriptors", key) for key in words]
    headers += [header_of(("descriptors", key)) for key in words]
    text = io.StringIO()
    writer = csv.writer(text, delimiter=";" if decimal_comma else ",", lineterminator="\r\n")
    writer.writerow(map(guarded, headers))
    for profile in table.profiles.values():
        facts = facts_of(profile)
        cells = {header_of(path): cell_text(facts.get(path, "")) for path in paths}
        if decimal_comma:
            for path in paths:
                if path in NUMBERS:
                    cells[header_of(path)] = cells[header_of(path)].replace(".", ",")
        cells |= {KEY: profile.key, STYLE: profile.style, BASES: _bases_text(profile, facts)}
        writer.writerow(guarded(cells[header]) for header in headers)
    return text.getvalue()


def _bases_text(profile: Profile, facts: Mapping[FactPath, Value]) -> str:
    """The commonest basis of the wine, then every fact that rests on another."""
    names = dict.fromkeys(name for path in facts if (name := basis_name(path)))
    counts = Counter(profile.basis_of(name) for name in names)
    usual = min(counts, key=lambda basis: (-counts[basis], basis))
    others = [
        f"{name}={profile.basis_of(name)}" for name in names if profile.basis_of(name) != usual
    ]
    return joined([usual, *others])
