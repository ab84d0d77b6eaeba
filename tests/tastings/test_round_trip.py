"""What was exported comes back as it was: from CSV, from JSON Lines, into an empty database."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from cards.names import WineNames
from cards.tables import Table
from drills.service.completing import WordBook
from drills.tastings.drafts import PourDraft
from drills.tastings.export import KeptPour, json_lines, table_rows
from drills.tastings.intake import read_intake
from drills.tastings.noting import Words
from tests.examples import examples
from tests.tastings.strategies import TASTINGS

Dialect = Callable[[str], bytes]


@pytest.fixture(scope="module")
def words(table: Table) -> Words:
    return Words(table.lexicon, WordBook(table.lexicon).key)


@pytest.fixture(scope="module")
def names(table: Table) -> WineNames:
    return WineNames(table)


def kept(draft: PourDraft) -> KeptPour:
    assert draft.full is not None
    return KeptPour(draft.flight, draft.date, draft.full, draft.fingerprint)


def as_table(tastings: list[KeptPour], words: Words) -> str:
    return "\ufeff" + "".join(table_rows(tastings, words))


SETTINGS = settings(
    max_examples=examples(60), deadline=None, suppress_health_check=list(HealthCheck)
)


@SETTINGS
@given(tastings=TASTINGS)
def test_a_table_reads_back_as_it_was(
    tmp_path: Path, words: Words, names: WineNames, tastings: list[KeptPour]
) -> None:
    file = tmp_path / "all.csv"
    file.write_bytes(as_table(tastings, words).encode("utf-8"))
    draft = read_intake(file, names, words=words)
    assert [kept(pour) for pour in draft.pours] == tastings
    assert not draft.rejected
    assert not draft.unread


@SETTINGS
@given(tastings=TASTINGS)
def test_lines_read_back_as_they_were(
    tmp_path: Path, words: Words, names: WineNames, tastings: list[KeptPour]
) -> None:
    if not tastings:
        return
    file = tmp_path / "all.jsonl"
    file.write_text("".join(json_lines(tastings)), encoding="ascii")
    draft = read_intake(file, names, words=words)
    assert [kept(pour) for pour in draft.pours] == tastings
    assert not draft.rejected
    for line, one in zip(file.read_text().splitlines(), tastings, strict=True):
        assert json.loads(line)["position"] == one.pour.position
