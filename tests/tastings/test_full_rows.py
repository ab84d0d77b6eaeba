"""Whole notes from a table: levels, alcohol, words, calls; and what cannot be read of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cards.evidence import Reading
from cards.names import WineNames
from cards.scale import LEVEL_LABELS, Level
from cards.tables import Table
from drills.service.completing import WordBook
from drills.tastings.drafts import IntakeDraft, Unread
from drills.tastings.figures import read_decimal, read_level, read_seconds, read_sureness
from drills.tastings.headings import HEADINGS
from drills.tastings.intake import read_intake
from drills.tastings.notes import Candidate, FullPour, Note
from drills.tastings.noting import Words

Read = Callable[..., IntakeDraft]
DOC = Path(__file__).parents[2] / "drills" / "tastings" / "COLUMNS.md"


@pytest.fixture(scope="module")
def words(table: Table) -> Words:
    return Words(table.lexicon, WordBook(table.lexicon).key)


@pytest.fixture(scope="module")
def names(table: Table) -> WineNames:
    return WineNames(table)


@pytest.fixture
def read(tmp_path: Path, words: Words, names: WineNames) -> Read:
    """Write rows under headings beside “called” and “was”, and read them."""

    def reading(headings: str, *rows: str, delimiter: str = ";") -> IntakeDraft:
        file = tmp_path / "list.csv"
        lines = [
            delimiter.join(("called", "was", headings)),
            *(delimiter.join(("Chablis", "Sancerre", row)) for row in rows),
        ]
        file.write_text("\n".join(lines), encoding="utf-8")
        return read_intake(file, names, words=words)

    return reading


def full(draft: IntakeDraft, place: int = 0) -> FullPour:
    found = draft.pours[place].full
    assert found is not None
    return found


def note(draft: IntakeDraft) -> Note:
    return full(draft).note


# Levels


@pytest.mark.parametrize(
    ("written", "level"),
    [
        *zip(LEVEL_LABELS, LEVEL_LABELS, strict=True),
        *zip("12345", LEVEL_LABELS, strict=True),
        ("3/5", "med"),
        ("4.0", "med+"),
        ("HIGH", "high"),
        ("medium", "med"),
        ("Medium (+)", "med+"),
        ("medium minus", "med-"),
        ("m+", "med+"),
        ("mittel−", "med-"),
        ("moyenne +", "med+"),
        ("medio più", "med+"),
        ("hoch", "high"),
        ("élevée", "high"),
        ("basso", "low"),
        ("alta", "high"),
        ("high acid", "high"),
    ],
)
def test_ways_to_write_a_level(read: Read, written: str, level: str) -> None:
    found = note(read("Säure", written))
    assert found.readings == {"acid": Level.from_label(level)}
    assert found.typed == ({} if written == level else {"acid": written})


@pytest.mark.parametrize(
    ("attribute", "written", "level"),
    [
        ("body", "light", "low"),
        ("body", "full", "high"),
        ("sweetness", "off-dry", "med-"),
        ("sweetness", "trocken", "low"),
        ("finish", "long", "high"),
        ("oak", "none", "low"),
        ("depth", "pale", "med-"),
        ("intensity", "shy", "low"),
    ],
)
def test_words_of_one_scale_alone(attribute: str, written: str, level: str) -> None:
    assert read_level(attribute, written).label == level
    with pytest.raises(ValueError, match="is no level"):
        read_level("acid", written)


@pytest.mark.parametrize("written", ["zippy", "6", "0", "3.5", "med to high", "low/high", "7/10"])
def test_a_level_that_cannot_be_read_is_kept_as_typed_and_reported(
    read: Read, written: str
) -> None:
    draft = read("Acidity", written)
    assert note(draft).readings == {}
    assert note(draft).free == (f"Acidity: {written}",)
    assert [(one.row, one.column, one.text) for one in draft.unread] == [(2, "Acidity", written)]


@pytest.mark.parametrize("nothing", ["", " ", "-", "–", "?", "n/a"])
def test_a_dash_is_no_level_and_no_complaint(read: Read, nothing: str) -> None:
    draft = read("acid;alcohol;descriptors", f"{nothing};{nothing};{nothing}")
    assert draft.pours[0].full is None
    assert draft.unread == ()


# Alcohol


@pytest.mark.parametrize(
    ("heading", "written", "alcohol"),
    [
        ("alcohol", "13.5", 13.5),
        ("alcohol", "13,5", 13.5),
        ("alcool", "13,5 % vol", 13.5),
        ("Alkohol", "14%", 14.0),
        ("alc", "13.5 vol", 13.5),
        ("alcohol (% vol)", "5", 5.0),
        ("alcohol", "5%", 5.0),
        ("alcohol", "5.5", 5.5),
    ],
)
def test_ways_to_write_alcohol(read: Read, heading: str, written: str, alcohol: float) -> None:
    assert note(read(heading, written)).readings == {"alcohol": alcohol}


@pytest.mark.parametrize("written", ["4", "med+", "high", "31", "-1", "135", "thirteen"])
def test_a_level_of_alcohol_is_not_taken_for_per_cent(read: Read, written: str) -> None:
    draft = read("alcohol", written)
    assert note(draft).readings == {}
    assert [one.text for one in draft.unread] == [written]


def test_the_label_is_told_from_the_call(read: Read) -> None:
    found = full(read("alcohol;label alcohol", "13;14.5"))
    assert (found.note.readings["alcohol"], found.label_alcohol) == (13.0, 14.5)
    draft = read("ABV", "14.5")
    assert full(draft).label_alcohol == 14.5
    assert any("“ABV” was read as the alcohol on the label" in one for one in draft.warnings)


# Descriptors


def readings(draft: IntakeDraft) -> dict[str, Reading]:
    return dict(note(draft).readings)


@pytest.mark.parametrize("between", [", ", "; ", " | ", ",", ";"])
def test_one_column_of_descriptors(read: Read, between: str) -> None:
    draft = read("descriptors", between.join(["lime", "petrol", "kerosene-ish"]), delimiter="\t")
    assert readings(draft) == {"lime": True, "petrol": True}
    assert note(draft).free == ("kerosene-ish",)
    assert draft.unread == ()


@pytest.mark.parametrize(
    "absent",
    [
        "no petrol",
        "-petrol",
        "– petrol",
        "not petrol",
        "kein Petrol",
        "ohne Petrol",
        "sans pétrole",
    ],
)
def test_looked_for_and_not_there(read: Read, absent: str) -> None:
    assert readings(read("descriptors", f"lime, {absent}", delimiter="\t"))["petrol"] is False


def test_other_wordings_are_kept_beside_what_they_mean(read: Read) -> None:
    found = note(read("descriptors", "citron, Lime", delimiter="\t"))
    assert found.readings == {"lemon": True, "lime": True}
    assert found.typed == {"lemon": "citron", "lime": "Lime"}


def test_several_columns_of_descriptors_are_one_list(read: Read) -> None:
    draft = read("aroma;aromas;not found;other words", "lime;flint;petrol;like a wet dog")
    assert readings(draft) == {"lime": True, "flint": True, "petrol": False}
    assert note(draft).free == ("like a wet dog",)


def test_one_column_for_each_descriptor(read: Read) -> None:
    draft = read("petrol;Limette;flint;lemon", "x;no;strong;", "0;ja;;-")
    assert readings(draft) == {"petrol": True, "lime": False, "flint": True}
    assert note(draft).typed == {"flint": "strong"}
    assert dict(full(draft, 1).note.readings) == {"petrol": False, "lime": True}


def test_words_of_nose_and_palate_count_where_no_column_lists_them(read: Read) -> None:
    draft = read("nez;bouche", "citron, no petrol, something floral;flint")
    assert readings(draft) == {"lemon": True, "petrol": False, "flint": True}
    assert (note(draft).nose, note(draft).free) == ("citron, no petrol, something floral", ())
    assert readings(read("nez;aromas", "citron;lime")) == {"lime": True}


# The rest of a note


def test_the_rest_of_a_full_note(read: Read) -> None:
    draft = read(
        "appearance;world;climate;age;hue;depth;price;seconds;note;pour",
        "star-bright;Neue Welt;frais;3 to 5 years;rubis;deep;12,50 €;1:35;well;3",
    )
    found = full(draft)
    assert found.note == Note(
        {"depth": Level.MED_PLUS, "hue": "ruby"},
        appearance="star-bright",
        world="new",
        climate="cool",
        age="3 to 5 years",
        typed={"depth": "deep", "hue": "rubis"},
    )
    assert (found.price, found.seconds, found.remark, found.position) == (
        "12,50 €",
        95.0,
        "well",
        3,
    )


def test_calls_with_vintage_and_sureness(read: Read) -> None:
    draft = read(
        "called vintage;sureness;first call;first vintage;first sureness;vintage;runner-up",
        "2019;leaning;Barolo;2015;a guess;2018;Chinon",
    )
    found = full(draft)
    assert (found.final.vintage, found.final.sureness) == (2019, 2)
    assert (found.first.wine, found.first.vintage, found.first.sureness) == (
        "nebbiolo-barolo",
        2015,
        1,
    )
    assert found.reveal_vintage == 2018
    assert found.runner_up.text == "Chinon"


def test_a_year_in_a_name_is_the_vintage_where_no_column_says_it(
    tmp_path: Path, names: WineNames
) -> None:
    file = tmp_path / "a.txt"
    file.write_text("Chablis 2019 > Sancerre 2020\nChablis > Barolo 2010 or 2011\n", "utf-8")
    draft = read_intake(file, names)
    found = full(draft)
    assert (found.final.vintage, found.reveal_vintage) == (2019, 2020)
    assert draft.pours[1].full is None


@pytest.mark.parametrize(
    ("heading", "written"),
    [
        ("vintage", "the nineties"),
        ("sureness", "80%"),
        ("label alcohol", "strong"),
        ("seconds", "a while"),
        ("hue", "mauve-ish"),
        ("world", "the moon"),
        ("climate", "nice"),
    ],
)
def test_whatever_cannot_be_read_is_kept_and_reported(
    read: Read, heading: str, written: str
) -> None:
    draft = read(heading, written)
    assert note(draft).free == (f"{heading}: {written}",)
    assert [type(one) for one in draft.unread] == [Unread]


def test_no_vintage_is_kept_and_nothing_to_report(read: Read) -> None:
    draft = read("vintage", "NV")
    assert note(draft).free == ("vintage: NV",)
    assert draft.unread == ()


def test_candidates_and_why_they_were_struck(read: Read) -> None:
    draft = read("candidates", "Chablis [no flint]\nPlonk", delimiter="\t")
    assert len(draft.rejected) == 1  # two lines without quotes are two rows
    draft = read("candidates", "Chablis [no flint] | Plonk", delimiter="\t")
    assert full(draft).candidates == (
        Candidate("Chablis", "chardonnay-chablis", "no flint"),
        Candidate("Plonk"),
    )


def test_headings_explain_in_brackets(read: Read) -> None:
    assert note(read("Acid (1-5)", "4")).readings == {"acid": Level.MED_PLUS}


def test_every_column_of_the_page_is_read_and_every_column_is_on_the_page() -> None:
    page = DOC.read_text(encoding="utf-8")
    for role, headings in HEADINGS.items():
        assert f"`{headings[0]}`" in page, role


# Numbers


@pytest.mark.parametrize(
    ("written", "number"),
    [
        ("13", 13.0),
        ("13,5", 13.5),
        (".5", 0.5),
        ("1 234,5", 1234.5),
        ("1\u202f234,5", 1234.5),
        ("1’234.5", 1234.5),
        ("1.234.567", 1234567.0),
        ("1,234.5", 1234.5),
        ("0,750", 0.75),
        ("-3", -3.0),
    ],
)
def test_decimals_and_thousands(written: str, number: float) -> None:
    assert read_decimal(written) == number


@pytest.mark.parametrize("written", ["", "1,234", "12.345", "1.2.3", "1,2,3", "1e5", "nan", "١٢"])
def test_what_is_no_number_or_two(written: str) -> None:
    with pytest.raises(ValueError, match=r"is no number|thousands or decimals"):
        read_decimal(written)


@pytest.mark.parametrize(
    ("written", "seconds"), [("95", 95.0), ("95.5 s", 95.5), ("1:35", 95.0), ("1:00:05", 3605.0)]
)
def test_seconds(written: str, seconds: float) -> None:
    assert read_seconds(written) == seconds


@pytest.mark.parametrize(
    ("written", "sureness"),
    [("1", 1), ("guess", 1), ("leaning", 2), ("SURE", 3), ("sicher", 3), ("sûr", 3), ("2.0", 2)],
)
def test_sureness(written: str, sureness: int) -> None:
    assert read_sureness(written) == sureness
