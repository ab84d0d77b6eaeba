"""Reading the table: what its files say, and the taster's own folders over them."""

from __future__ import annotations

from pathlib import Path

import pytest

from cards.profiles import Span, parse_span
from cards.scale import Level, LevelRange, Typical
from cards.tables import SHIPPED, load_table, table_files
from tests.cards.shelves import Files, Shelve, problems_of


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
