"""What says that a smell is not there is read alike from a cell and from a line that is typed."""

from __future__ import annotations

import pytest

from cards.tables import Table
from drills.service.completing import WordBook
from drills.tastings.absence import split_absent
from drills.tastings.columns import find_columns
from drills.tastings.noting import NoteReader, Words


@pytest.mark.parametrize(
    ("said", "before", "rest"),
    [
        ("no vanilla", "no", "vanilla"),
        ("not vanilla", "not", "vanilla"),
        ("NO vanilla", "NO", "vanilla"),
        ("-vanilla", "-", "vanilla"),
        ("– vanilla", "–", "vanilla"),
        ("− vanilla", "−", "vanilla"),
        ("keine Vanille", "keine", "Vanille"),
        ("keinen Rauch", "keinen", "Rauch"),
        ("ohne Vanille", "ohne", "Vanille"),
        ("sans vanille", "sans", "vanille"),
        ("pas de vanille", "pas de", "vanille"),
        ("pas d'amande", "pas d'", "amande"),
        ("senza vaniglia", "senza", "vaniglia"),
        ("ningún humo", "ningún", "humo"),
    ],
)
def test_every_way_to_say_it(said: str, before: str, rest: str, table: Table) -> None:
    assert split_absent(said) == (before, rest)
    book = WordBook(table.lexicon)
    columns = find_columns(["called", "was", "descriptors"], book.key)
    reader = NoteReader(columns, Words(table.lexicon, book.key))
    note = reader.read(["Fino", "Fino", said], lambda *_: None)
    assert note.readings == book.hear(said).noted
    assert True not in note.readings.values()


@pytest.mark.parametrize("said", ["noble rot", "nose", "-", "no", "sinew", "vanilla", "", "pas"])
def test_what_does_not_say_it(said: str) -> None:
    assert split_absent(said) is None
