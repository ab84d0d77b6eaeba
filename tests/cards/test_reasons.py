"""Causes belong to the wine they are told of, and explain what the reading shows."""

from __future__ import annotations

import pytest

from cards.cellar import Cellar
from cards.errors import TableError
from cards.reasons import reason_of
from cards.tables import LITTLE, MUCH, Table, load_table
from tests.cards.shelves import Files, Shelve


def test_what_explains_little_is_told_of_the_wine_with_less(table: Table) -> None:
    """Meursault's softened acid is no reason why it has more of it than White Hermitage."""
    told = reason_of(
        table, "acid", 0, "chardonnay-meursault", "marsanne-hermitage", "marsanne-hermitage"
    )
    assert told.cause is not None
    assert told.cause.wines == ()
    soft = reason_of(
        table, "acid", 2, "chardonnay-chablis", "chardonnay-meursault", "chardonnay-meursault"
    )
    assert "malolactic" in soft.words
    # Beside the sharper wine it is told with the name of the one it belongs to.
    sharp = reason_of(
        table, "acid", 4, "chardonnay-chablis", "chardonnay-meursault", "chardonnay-chablis"
    )
    assert sharp.words == f"Meursault: {soft.words}"


def test_no_pair_is_told_a_cause_that_explains_the_contrary(table: Table, cellar: Cellar) -> None:
    told = 0
    for one, other in cellar.pairs():
        for cue in cellar.cues(one, other):
            more, less = (one, other) if cue.more else (other, one)
            for toward in (one, other):
                reading = cue.reading(1 if toward == one else 2)
                reason = reason_of(table, cue.attribute, reading, more, less, toward)
                if reason.cause is None or not reason.cause.wines:
                    continue
                told += 1
                explained = more if reason.cause.explains == MUCH else less
                assert explained in reason.cause.wines
                named = "" if explained == toward else f"{table.profiles[explained].short}: "
                assert reason.words == named + reason.cause.because
    assert told > 1000


def test_the_wine_that_a_reading_points_to_gives_its_own_cause_first(table: Table) -> None:
    wines = ("tannat-madiran", "pinot-noir-burgundy")
    assert "pips" in reason_of(table, "tannin", 4, *wines, "tannat-madiran").words
    assert "Thin skins" in reason_of(table, "tannin", 1, *wines, "pinot-noir-burgundy").words


def test_an_absence_names_the_smell_that_its_cause_is_about(table: Table) -> None:
    wines = ("marsanne-hermitage", "godello-valdeorras", "godello-valdeorras")
    there = reason_of(table, "beeswax", True, *wines)
    missed = reason_of(table, "beeswax", False, *wines)
    assert missed.words == f"Beeswax: {there.words}"


def test_a_cue_without_a_cause_has_no_words(table: Table) -> None:
    assert reason_of(table, "no-such-cue", True, "gavi", "chablis", "gavi").words == ""


def test_what_a_cause_explains_is_much_unless_it_says_little(
    two_wines: Files, shelve: Shelve
) -> None:
    two_wines["causes.toml"] += (
        '\n[[causes]]\ncue = "acid"\nbecause = "Sun."\nexplains = "little"\n'
    )
    causes = load_table(shipped=shelve(two_wines)).causes
    assert {cause.because: cause.explains for cause in causes}["Sun."] == LITTLE
    assert {cause.explains for cause in causes} == {MUCH, LITTLE}
    two_wines["causes.toml"] = two_wines["causes.toml"].replace('"little"', '"none"')
    with pytest.raises(TableError, match="explains"):
        load_table(shipped=shelve(two_wines))
