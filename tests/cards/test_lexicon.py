"""Descriptors, families and the structure words beside them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cards.errors import TableError
from cards.lexicon import ALCOHOL, DEPTH, HUE, HUES, STRUCTURE, UNMEASURED
from cards.tables import Table, build_table, read_documents

Files = dict[str, str]
Shelve = Callable[..., Path]


def test_a_descriptor_answers_to_all_its_wordings(table: Table) -> None:
    lime = table.lexicon.descriptors["lime"]
    assert lime.wordings[0] == lime.name == "lime"
    assert {*lime.synonyms, *lime.everyday, *lime.other_languages} == set(lime.wordings[1:])


def test_no_wording_belongs_to_two_descriptors(table: Table) -> None:
    owners: dict[str, set[str]] = {}
    for key, descriptor in table.lexicon.descriptors.items():
        for wording in descriptor.wordings:
            owners.setdefault(wording.casefold(), set()).add(key)
    assert not {wording: keys for wording, keys in owners.items() if len(keys) > 1}


def test_every_family_is_named_and_used(table: Table) -> None:
    used = {descriptor.family for descriptor in table.lexicon.descriptors.values()}
    assert used == set(table.lexicon.families)


def test_what_rides_together_is_one_family(table: Table) -> None:
    family_of = table.lexicon.family_of
    assert family_of("alcohol") == family_of("body") == family_of("finish")
    assert family_of("hue") == family_of("depth")
    assert len({family_of(name) for name in ("acid", "tannin", "sweetness", "mineral")}) == 4
    # No scale shares a family with a descriptor by accident of name.
    scales = {family_of(name) for name in (*STRUCTURE, ALCOHOL, HUE, DEPTH)}
    assert not (scales - {"oak"}) & set(table.lexicon.families)


def test_names_on_cards(table: Table) -> None:
    assert table.lexicon.name_of("white-pepper") == "white pepper"
    assert table.lexicon.name_of("acid") == "acid"


def test_the_unmeasured_are_structure_words() -> None:
    assert {"mineral", "body", "finish"} == UNMEASURED
    assert set(STRUCTURE) >= UNMEASURED


def test_hues_are_of_one_group_each() -> None:
    hues = [hue for group in HUES.values() for hue in group]
    assert len(set(hues)) == len(hues)


@pytest.mark.parametrize("word", [*STRUCTURE, ALCOHOL, HUE, DEPTH])
def test_a_structure_word_cannot_name_a_descriptor(
    two_wines: Files, shelve: Shelve, word: str
) -> None:
    two_wines["lexicon.toml"] += f'\n[descriptors.{word}]\nname = "{word}"\nfamily = "citrus"\n'
    problems: list[TableError] = []
    build_table(read_documents(shelve(two_wines), problems), problems)
    (error,) = problems
    assert error.field == f"descriptors.{word}"
    assert "structure word" in error.problem
    assert error.line is not None
