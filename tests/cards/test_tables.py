"""Reading the table: every mistake is named with its file, line and field; overlays lie over."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cards.errors import TableError
from cards.profiles import Span, parse_span
from cards.scale import Level, LevelRange, Typical
from cards.tables import SHIPPED, build_table, load_table, read_documents, table_files

Files = dict[str, str]
Shelve = Callable[..., Path]


def problems_of(shipped: Path, *own: Path) -> list[TableError]:
    problems: list[TableError] = []
    documents = read_documents(shipped, problems)
    for folder in own:
        documents += read_documents(folder, problems, own=True)
    build_table(documents, problems)
    return problems


def line_of(text: str, wanted: str) -> int:
    return 1 + next(n for n, line in enumerate(text.splitlines()) if wanted in line)


def test_two_sound_wines_load(two_wines: Files, shelve: Shelve) -> None:
    folder = shelve(two_wines)
    assert problems_of(folder) == []
    table = load_table(shipped=folder)
    left = table.profiles["left"]
    assert list(table.profiles) == ["left", "right"]
    assert (left.style, left.name, left.short, left.synonyms) == (
        "white",
        "Left wine",
        "Left",
        ("L",),
    )
    assert left.grapes == {"first": Span(85, 100), "second": Span(0, 15)}
    assert left.alcohol == Span(12, 13)
    assert left.structure["acid"] == LevelRange(Level.HIGH, Level.HIGH)
    assert "tannin" not in left.structure
    assert left.oak_months == Span(0, 6)
    assert left.descriptors == {
        "white-pepper": Typical.SIGNATURE,
        "lemon": Typical.COMMON,
        "lime": Typical.NEVER,
    }
    assert table.lexicon.descriptors["lemon"].wordings == ("lemon", "lemon juice")
    assert table.names.places["here"].classic == "left"
    assert table.sources["study"].read == "text"


def test_the_nearest_basis_counts(two_wines: Files, shelve: Shelve) -> None:
    two_wines["white/left.toml"] = two_wines["white/left.toml"].replace(
        "[descriptors]\n", '[descriptors]\nbasis = "study"\n'
    )
    left = load_table(shipped=shelve(two_wines)).profiles["left"]
    # On the fact itself, else in its section, else at the top of the file.
    assert left.basis_of("bitterness") == "study"
    assert left.basis_of("acid") == "practice"
    assert left.basis_of("grape") == "study"
    assert left.basis_of("place") == "practice"
    assert left.basis_of("lemon") == "memory"
    assert left.basis_of("lime") == "study"
    # An absence that nobody wrote down rests on common practice.
    assert left.basis_of("violet") == "practice"


def test_a_cause_of_the_wine_comes_before_the_general_one(two_wines: Files, shelve: Shelve) -> None:
    two_wines["causes.toml"] += '\n[[causes]]\ncue = "lemon"\nbecause = "Any summer."\n'
    table = load_table(shipped=shelve(two_wines))
    told = {wine: table.cause_of("lemon", wine) for wine in ("left", "right")}
    assert [cause.because for cause in told.values() if cause] == ["Any summer.", "A cool summer."]
    assert table.cause_of("lime", "left") is None


# --- mistakes ------------------------------------------------------------------------------------

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


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("85", (85, 85)),
        ("85 to 100", (85, 100)),
        (" 0 to 0.5 ", (0, 0.5)),
        ("12  to  24", (12, 24)),
    ],
)
def test_spans(text: str, span: tuple[float, float]) -> None:
    assert parse_span(text) == Span(*span)
    assert parse_span(str(Span(*span))) == Span(*span)
    assert Span(*span).middle == sum(span) / 2


@pytest.mark.parametrize("text", ["", "a", "1 to", "to 2", "1-2", "-1", "2 to 1", "1 to 2 to 3"])
def test_what_is_no_span_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"range|backwards"):
        parse_span(text)


# --- overlays ------------------------------------------------------------------------------------


def test_an_overlay_changes_single_facts(two_wines: Files, shelve: Shelve) -> None:
    shipped = shelve(two_wines, name="shipped")
    own = shelve(
        {
            "white/left.toml": '[structure]\nacid = { level = "med", basis = "memory" }\n'
            '[descriptors]\nlime = "common"\n'
        }
    )
    before, after = load_table(shipped=shipped), load_table(own, shipped=shipped)
    left, was = after.profiles["left"], before.profiles["left"]
    assert str(left.structure["acid"]) == "med"
    assert left.basis_of("acid") == "memory"
    assert left.descriptors["lime"] == "common"
    assert left.descriptors["lemon"] == was.descriptors["lemon"]
    assert {k: v for k, v in left.structure.items() if k != "acid"} == {
        k: v for k, v in was.structure.items() if k != "acid"
    }
    assert after.profiles["right"] == before.profiles["right"]
    assert after.fingerprint != before.fingerprint


def test_a_changed_fact_rests_on_the_taster(two_wines: Files, shelve: Shelve) -> None:
    """What a source says of the shipped number it does not say of the taster's."""
    two_wines["white/left.toml"] = two_wines["white/left.toml"].replace(
        "[alcohol]\n", '[alcohol]\nbasis = "study"\n'
    )
    shipped = shelve(two_wines, name="shipped")
    own = shelve(
        {
            "white/left.toml": "[alcohol]\nhigh = 14\n"
            '[structure]\nbitterness = "high"\nacid = { level = "med", basis = "study" }\n'
        }
    )
    before = load_table(shipped=shipped).profiles["left"]
    after = load_table(own, shipped=shipped).profiles["left"]
    assert (before.basis_of("alcohol"), after.basis_of("alcohol")) == ("study", "own")
    assert (before.basis_of("bitterness"), after.basis_of("bitterness")) == ("study", "own")
    assert after.basis_of("acid") == "study"
    untouched = before.bases.keys() - {"alcohol", "bitterness", "acid"}
    assert {fact: after.bases[fact] for fact in untouched} == {
        fact: before.bases[fact] for fact in untouched
    }


def test_shares_are_laid_over_as_one(two_wines: Files, shelve: Shelve) -> None:
    shipped = shelve(two_wines, name="shipped")
    own = shelve({"white/left.toml": '[grape]\nshares = { second = "100" }\n'})
    left = load_table(own, shipped=shipped).profiles["left"]
    assert left.grapes == {"second": Span(100, 100)}


def test_a_word_can_be_taken_off_a_wine(two_wines: Files, shelve: Shelve) -> None:
    shipped = shelve(two_wines, name="shipped")
    own = shelve({"white/left.toml": '[descriptors]\nlime = "unlisted"\n'})
    left = load_table(own, shipped=shipped).profiles["left"]
    assert set(left.descriptors) == {"white-pepper", "lemon"}
    assert "lime" not in left.bases


def test_the_taster_s_laterals_hold_both_ways(two_wines: Files, shelve: Shelve) -> None:
    mine = two_wines["white/left.toml"].replace('laterals = ["right"]', 'laterals = ["left"]')
    shipped = shelve(two_wines, name="shipped")
    profiles = load_table(shelve({"white/mine.toml": mine}), shipped=shipped).profiles
    assert profiles["mine"].laterals == ("left",)
    assert profiles["left"].laterals == ("right", "mine")
    assert profiles["right"].laterals == ("left",)


def test_overlays_add_wines_words_and_causes(two_wines: Files, shelve: Shelve) -> None:
    shipped = shelve(two_wines, name="shipped")
    own = shelve(
        {
            "white/mine.toml": two_wines["white/left.toml"].replace(
                'lime = "never"', 'yuzu = "common"'
            ),
            "lexicon.toml": '[descriptors.yuzu]\nname = "yuzu"\nfamily = "citrus"\n',
            "causes.toml": '[[causes]]\ncue = "white-pepper"\nbecause = "Mine."\n',
            "sources.toml": '[sources.mine]\ncitation = "Mine."\nkind = "book"\nread = "text"\n',
        }
    )
    table = load_table(own, shipped=shipped)
    assert set(table.profiles) == {"left", "right", "mine"}
    assert "yuzu" in table.lexicon.descriptors
    assert "lemon" in table.lexicon.descriptors
    assert set(table.sources) == {"study", "mine"}
    assert len(table.causes) == 3
    # The taster's own cause comes before the shipped one.
    cause = table.cause_of("white-pepper", "left")
    assert cause is not None
    assert cause.because == "Mine."


def test_a_mistake_in_an_overlay_is_named_there(two_wines: Files, shelve: Shelve) -> None:
    shipped = shelve(two_wines, name="shipped")
    own = shelve({"white/left.toml": '# my view\n[structure]\nacid = "much"\n'})
    (error,) = problems_of(shipped, own)
    assert Path(error.file) == own / "white/left.toml"
    assert error.line == 3
    # A mistake that the overlay did not make stays with the shipped file.
    (shipped / "white/left.toml").write_text(
        two_wines["white/left.toml"].replace('depth = "low to med-"', 'depth = "pale"'),
        encoding="utf-8",
    )
    depth = next(e for e in problems_of(shipped, own) if e.field == "colour.depth")
    assert Path(depth.file) == shipped / "white/left.toml"


def test_later_overlays_lie_over_earlier_ones(two_wines: Files, shelve: Shelve) -> None:
    shipped = shelve(two_wines, name="shipped")
    one = shelve({"white/left.toml": '[structure]\nacid = "med"\nbody = "high"\n'}, name="one")
    two = shelve({"white/left.toml": '[structure]\nacid = "low"\n'}, name="two")
    left = load_table(one, two, shipped=shipped).profiles["left"]
    assert (str(left.structure["acid"]), str(left.structure["body"])) == ("low", "high")


def test_an_overlay_folder_that_is_not_there_changes_nothing(
    two_wines: Files, shelve: Shelve, tmp_path: Path
) -> None:
    shipped = shelve(two_wines)
    table = load_table(tmp_path / "nowhere", shipped=shipped)
    assert table == load_table(shipped=shipped)


def test_the_fingerprint_changes_with_every_fact(two_wines: Files, shelve: Shelve) -> None:
    plain = two_wines["white/left.toml"]

    def fingerprint(name: str, text: str) -> str:
        folder = shelve({**two_wines, "white/left.toml": text}, name=name)
        return load_table(shipped=folder).fingerprint

    first = fingerprint("first", plain)
    # Neither a note to oneself nor the place of the folder is a fact.
    assert fingerprint("noted", "# a note\n" + plain) == first
    changed = [
        fingerprint(new, plain.replace(old, new, 1))
        for old, new in (("low = 12", "low = 12.1"), ("lime =", "# lime ="), ("steel", "old wood"))
    ]
    assert len({first, *changed}) == 4


# --- the shipped table ---------------------------------------------------------------------------


def test_the_shipped_table_loads_whole() -> None:
    table = load_table()
    styles = {profile.style for profile in table.profiles.values()}
    assert styles == {"white", "rose", "red", "sparkling", "sweet", "fortified"}
    assert len(table.profiles) >= 120
    files = [file for file in table_files(SHIPPED) if file.parent != SHIPPED]
    assert len(files) == len(table.profiles)
    assert len({profile.name for profile in table.profiles.values()}) == len(table.profiles)
    assert len({profile.short for profile in table.profiles.values()}) == len(table.profiles)
