"""Every mistake in the table is named once, with its file, line and field."""

from __future__ import annotations

from pathlib import Path

import pytest

from cards.errors import TableError
from cards.tables import load_table
from tests.cards.shelves import Files, Shelve, line_of, problems_of

LEFT = "white/left.toml"
# shelf, what is replaced, by what, the field named, a part of the message, text on the named line.
MISTAKES: list[tuple[str, str, str, str | None, str, str | None]] = [
    (LEFT, 'name = "Left wine"\n', "", "name", "missing", None),
    (LEFT, 'name = "Left wine"', "name = 3", "name", "not 3", "name = 3"),
    (LEFT, 'name = "Left wine"', 'name = " "', "name", "empty", "name ="),
    (LEFT, '"Left"', '"A name too long for the place above a glass"', "short", "24 fit", "short ="),
    (LEFT, 'world = "old"', 'world = "older"', "place.world", "none of old, new", "world ="),
    (LEFT, 'climate = "cool"', 'climat = "cool"', "place.climate", "missing", "[place]"),
    (LEFT, 'hue = ["greenish"', 'hue = ["green"', "colour.hue", "“green” is none of", "hue ="),
    (LEFT, 'hue = ["greenish", "straw"]', "hue = []", "colour.hue", "is empty", "hue ="),
    (LEFT, 'depth = "low to med-"', "depth = 2", "colour.depth", "in quotes", "depth = 2"),
    (LEFT, "low = 12", 'low = "12"', "alcohol.low", "should be a number", 'low = "12"'),
    (LEFT, "low = 12", "low = 45", "alcohol.low", "outside 4 to 24", "low = 45"),
    (LEFT, "low = 12", "low = 13.5", "alcohol.low", "above high", "low = 13.5"),
    (LEFT, "low = 12", "low = nan", "alcohol.low", "outside", "low = nan"),
    (LEFT, "high = 13\n", "", "alcohol.high", "missing", "[alcohol]"),
    (LEFT, 'class = "dry"', 'class = "brut"', "sugar.class", "none of dry", "class ="),
    (LEFT, 'acid = "high"', 'acid = "hihg"', "structure.acid", "no level", "acid ="),
    (LEFT, 'acid = "high"', 'acid = "high to low"', "structure.acid", "backwards", "acid ="),
    (LEFT, 'acid = "high"', 'acdi = "high"', "structure.acdi", "no field", "acdi ="),
    (LEFT, 'oak = "low"\n', "", "structure.oak", "missing", "[structure]"),
    (
        LEFT,
        'level = "low to med-", basis',
        'level = "low to", basis',
        "structure.bitterness",
        "no level",
        "bitterness =",
    ),
    (
        LEFT,
        'level = "low to med-", basis',
        'levels = "low", basis',
        "structure.bitterness.level",
        "missing",
        "bitterness =",
    ),
    (LEFT, 'months = "0 to 6"', 'months = "half a year"', "oak.months", "no range", "months ="),
    (LEFT, 'window = "1 to 5"', 'window = "5 to 1"', "age.window", "backwards", "window ="),
    (LEFT, "release = 1", "release = true", "age.release", "should be a number", "release ="),
    (LEFT, 'lime = "never"', 'lime = "often"', "descriptors.lime", "none of signature", "lime ="),
    (LEFT, 'lime = "never"', 'limes = "never"', "descriptors.limes", "lexicon.toml", "limes ="),
    (LEFT, "first = ", 'first = "a lot", third = ', "grape.shares.first", "no range", "shares ="),
    (LEFT, "[sugar]", "[suger]", "sugar", "missing", None),
    (LEFT, "[sugar]", "[suger]", "suger", "no field", "[suger]"),
    (LEFT, 'laterals = ["right"]', 'laterals = "right"', "laterals", "a list", "laterals ="),
    (LEFT, 'laterals = ["right"]', "laterals = [1]", "laterals", "texts only", "laterals ="),
    (
        "lexicon.toml",
        'family = "pepper"',
        'family = "peper"',
        "descriptors.white-pepper.family",
        "none of citrus, pepper",
        'family = "peper"',
    ),
    (
        "lexicon.toml",
        'name = "lime"',
        'name = "Lemon Juice"',
        "descriptors.lime",
        "already belongs to lemon",
        "[descriptors.lime]",
    ),
    ("sources.toml", 'read = "text"', 'read = "yes"', "sources.study.read", "none of", "read ="),
    ("names.toml", 'name = "Here"\n', "", "places.here.name", "missing", "[places.here]"),
    ("causes.toml", 'because = "A cool summer."\n', "", "causes 2.because", "missing", None),
    ("causes.toml", 'wines = ["right"]', 'wine = ["right"]', "causes 2.wine", "no field", "wine ="),
    ("causes.toml", "[[causes]]", "[[cause]]", "cause", "no field", "[[cause]]"),
]


@pytest.mark.parametrize(
    ("shelf", "old", "new", "field", "said", "on_line"),
    MISTAKES,
    ids=[f"{field}: {said}" for _, _, _, field, said, _ in MISTAKES],
)
def test_a_mistake_is_named_with_file_line_and_field(
    two_wines: Files,
    shelve: Shelve,
    shelf: str,
    old: str,
    new: str,
    field: str | None,
    said: str,
    on_line: str | None,
) -> None:
    assert old in two_wines[shelf]
    two_wines[shelf] = two_wines[shelf].replace(old, new, 1)
    folder = shelve(two_wines)
    found = [error for error in problems_of(folder) if error.field == field]
    assert len(found) == 1, [str(error) for error in problems_of(folder)]
    error = found[0]
    assert Path(error.file) == folder / shelf
    assert said in error.problem
    if on_line is not None:
        assert error.line == line_of(two_wines[shelf], on_line)
        assert f"line {error.line}" in str(error)
    assert str(error).startswith(str(folder / shelf))
    with pytest.raises(TableError):
        load_table(shipped=folder)


def test_causes_are_named_by_the_line_of_their_entry(two_wines: Files, shelve: Shelve) -> None:
    text = two_wines["causes.toml"].replace('because = "A cool summer."\n', "")
    two_wines["causes.toml"] = text
    (error,) = problems_of(shelve(two_wines))
    second = [n for n, line in enumerate(text.splitlines(), 1) if line == "[[causes]]"][1]
    assert error.line == second


@pytest.mark.parametrize(
    ("content", "line", "said"),
    [
        ('name = "Left\nwine"\n', 1, "no valid TOML"),
        ("name = Left\n", 1, "no valid TOML"),
        ('name = "a"\nname = "b"\n', 2, "no valid TOML"),
        ("[grape\n", 1, "no valid TOML"),
    ],
)
def test_what_is_no_toml_is_named_with_its_line(
    two_wines: Files, shelve: Shelve, content: str, line: int, said: str
) -> None:
    two_wines["white/broken.toml"] = content
    folder = shelve(two_wines)
    error = next(e for e in problems_of(folder) if e.file.endswith("broken.toml"))
    assert said in error.problem
    assert error.line == line


def test_a_file_in_another_encoding_is_named(two_wines: Files, shelve: Shelve) -> None:
    folder = shelve(two_wines)
    (folder / "white" / "latin.toml").write_bytes('name = "Rosé"\n'.encode("latin-1"))
    (error,) = problems_of(folder)
    assert "UTF-8" in error.problem
    assert error.file.endswith("latin.toml")


def test_a_byte_order_mark_is_no_mistake(two_wines: Files, shelve: Shelve) -> None:
    """Some editors begin every text file with one."""
    folder = shelve(two_wines)
    file = folder / "white" / "left.toml"
    file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes())
    assert problems_of(folder) == []
    file.write_text(
        "\ufeff" + two_wines["white/left.toml"].replace("low = 12", "low = 99"), encoding="utf-8"
    )
    (error,) = [e for e in problems_of(folder) if "outside" in e.problem]
    assert error.line == line_of(two_wines["white/left.toml"], "low = 12")


def test_windows_line_ends_are_no_mistake(two_wines: Files, shelve: Shelve) -> None:
    folder = shelve(two_wines)
    file = folder / "white" / "left.toml"
    file.write_bytes(two_wines["white/left.toml"].replace("\n", "\r\n").encode())
    assert problems_of(folder) == []


def test_all_mistakes_are_shown_at_once(two_wines: Files, shelve: Shelve) -> None:
    two_wines["white/left.toml"] = (
        two_wines["white/left.toml"]
        .replace('acid = "high"', 'acid = "much"')
        .replace('lime = "never"', 'lime = "rarely"')
    )
    two_wines["white/right.toml"] = two_wines["white/right.toml"].replace("release = 1\n", "")
    fields = [error.field for error in problems_of(shelve(two_wines))]
    assert fields == ["structure.acid", "descriptors.lime", "age.release"]


def test_a_mistake_is_told_once(two_wines: Files, shelve: Shelve) -> None:
    """One wrong field makes one problem, not a second that follows from the first."""
    for old, new in (
        ('name = "Left wine"', "name = 3"),
        ("high = 13\n", ""),
        ("low = 12", 'low = "12"'),
        ('class = "dry"', "class = 1"),
    ):
        files = dict(two_wines)
        files["white/left.toml"] = files["white/left.toml"].replace(old, new, 1)
        found = problems_of(shelve(files, name=f"own {len(new)} {old[:3]}"))
        assert len(found) == 1, (new, [str(error) for error in found])


def test_a_wine_in_a_folder_that_is_no_style_is_named(two_wines: Files, shelve: Shelve) -> None:
    two_wines["orange/other.toml"] = two_wines["white/left.toml"]
    two_wines["loose.toml"] = two_wines["white/left.toml"]
    found = problems_of(shelve(two_wines))
    assert {Path(error.file).name for error in found} == {"other.toml", "loose.toml"}
    assert all("none of white, rose, red" in error.problem for error in found)


def test_one_key_in_two_folders_is_a_mistake(two_wines: Files, shelve: Shelve) -> None:
    """Else one wine would silently hide another."""
    two_wines["red/left.toml"] = two_wines["white/left.toml"].replace(
        'acid = "high"', 'acid = "high"\ntannin = "high"'
    )
    (error,) = problems_of(shelve(two_wines))
    assert "red/left.toml" in error.problem
    assert error.file.endswith("white/left.toml")


def test_red_and_rose_need_tannin(two_wines: Files, shelve: Shelve) -> None:
    for style in ("red", "rose", "sparkling"):
        text = two_wines["white/left.toml"]
        if style == "sparkling":
            text = text.replace('class = "dry"', 'class = "brut"')
        files = {**two_wines, f"{style}/third.toml": text.replace("Left", "Third")}
        fields = [error.field for error in problems_of(shelve(files, name=style))]
        assert fields == ([] if style == "sparkling" else ["structure.tannin"])


@pytest.mark.parametrize("text", ['causes = "none"\n', "causes = [1, 2]\n", 'causes = ["cue"]\n'])
def test_causes_that_are_no_sections_are_a_mistake(
    two_wines: Files, shelve: Shelve, text: str
) -> None:
    two_wines["causes.toml"] = text
    found = problems_of(shelve(two_wines))
    assert found
    assert all("[[causes]]" in error.problem for error in found)
