"""The taster's own folder: what is changed is written, comments and all else are kept."""

from __future__ import annotations

from pathlib import Path

from cards.facts import Fact, FactPath, facts_of
from cards.tables import load_table
from drills.overlay import Overlay
from drills.own_files import parsed
from tests.drills.own_folder import ACID, BODY, SHELF, WINE, change, files_of, profile_of


def test_only_the_changed_fact_is_written_as_ones_own(own: Overlay, folder: Path) -> None:
    before = load_table().profiles[WINE]
    (file,) = own.save([change({ACID: Fact("med")}, "not by [my] glass")])
    assert file == folder / SHELF
    text = file.read_text(encoding="utf-8")
    assert parsed(text, file) == {"structure": {"acid": "med"}}
    assert 'acid = "med" # not by [my] glass' in text
    after = profile_of(folder)
    assert str(after.structure["acid"]) == "med"
    assert after.basis_of("acid") == "own"
    changed = {p for p, v in facts_of(after).items() if v != facts_of(before).get(p)}
    assert changed == {ACID}
    assert {k: v for k, v in after.bases.items() if k != "acid"} == {
        k: v for k, v in before.bases.items() if k != "acid"
    }


def test_a_reason_is_one_line_whatever_was_typed(own: Overlay, folder: Path) -> None:
    own.save([change({ACID: Fact("med")}, 'warm\nyears" = 3\r\t# [x]\x00\u2028end')])
    text = (folder / SHELF).read_text(encoding="utf-8")
    assert '# warm years" = 3 # [x] end' in text
    assert parsed(text, folder) == {"structure": {"acid": "med"}}


def test_every_kind_of_fact_can_be_written(own: Overlay, folder: Path) -> None:
    facts: dict[FactPath, Fact | None] = {
        ("name",): Fact('Sancerre "mine" \\ [x]'),
        ("laterals",): Fact(["chardonnay-chablis", "sauvignon-marlborough"]),
        ("synonyms",): Fact([]),
        ("grape", "shares"): Fact({"sauvignon-blanc": "90 to 100", "semillon": "0 to 10"}),
        ("place", "climate"): Fact("moderate"),
        ("colour", "hue"): Fact(["straw", "yellow"]),
        ("colour", "depth"): Fact("med-", "memory"),
        ("colour", "rim"): Fact("broad"),
        ("alcohol", "low"): Fact(12.5),
        ("alcohol", "high"): Fact(14),
        ("sugar", "high"): Fact(3.5, "practice"),
        ("sugar", "low"): Fact(1, "practice"),
        ACID: Fact("med+"),
        BODY: Fact("med", "practice"),
        ("oak", "months"): Fact("0 to 12"),
        ("age", "release"): Fact(1.5),
        ("descriptors", "petrol"): Fact("occasional"),
        ("descriptors", "flint"): Fact("common", "memory"),
    }
    own.save([change(facts, "all of it")])
    after = profile_of(folder)
    found = facts_of(after)
    for path, fact in facts.items():
        assert fact is not None
        assert found[path] == fact.value, path
    bases = {"hue": "own", "depth": "memory", "alcohol": "own", "sugar": "practice", "acid": "own",
             "body": "practice", "oak vessel": "own", "age": "own", "petrol": "own",
             "flint": "memory", "grape": "own", "place": "own"}  # fmt: skip
    assert {name: after.basis_of(name) for name in bases} == bases
    assert own.read().problems == ()


def test_facts_are_taken_away_again_and_nothing_is_left(own: Overlay, folder: Path) -> None:
    before = load_table().profiles[WINE]
    paths: list[FactPath] = [ACID, ("alcohol", "low"), ("alcohol", "high"), ("laterals",)]
    values = (Fact("med"), Fact(11), Fact(12), Fact(["chardonnay-chablis"]))
    own.save([change(dict(zip(paths, values, strict=True)))])
    assert profile_of(folder) != before
    own.save([change(dict.fromkeys(paths))])
    assert profile_of(folder) == before
    assert parsed((folder / SHELF).read_text(encoding="utf-8"), folder) == {}


def test_a_tasters_comments_and_order_survive(own: Overlay, folder: Path) -> None:
    text = (
        "# my Sancerre\n\n"
        "[structure]   # by hand\n"
        'body = "med"\n'
        "# acid was wrong in 2023\n"
        'acid   =   "med"   # too low?\n\n'
        "[descriptors]\n"
        'petrol = { typical = "common", basis = "memory" } # once\n'
        "# the end\n"
    )
    file = folder / SHELF
    file.parent.mkdir(parents=True)
    file.write_text(text, encoding="utf-8")
    own.save([change({ACID: Fact("med+"), ("descriptors", "lime"): Fact("common")}, "again")])
    after = file.read_text(encoding="utf-8")
    for comment in ("# my Sancerre", "# by hand", "# acid was wrong in 2023", "# the end"):
        assert comment in after
    assert "# too low?; again" in after
    assert 'petrol = { typical = "common", basis = "memory" } # once' in after
    assert after.index("body") < after.index("acid was wrong") < after.index("petrol")
    assert parsed(after, file)["structure"] == {"body": "med", "acid": "med+"}


def test_the_content_before_is_kept_once(own: Overlay, folder: Path) -> None:
    texts = []
    for level in ("low", "med", "high"):
        own.save([change({ACID: Fact(level)})])
        texts.append((folder / SHELF).read_text(encoding="utf-8"))
    files = files_of(folder)
    assert files == {SHELF: texts[2], f"{SHELF}.before": texts[1]}


def test_saving_what_stands_there_touches_nothing(own: Overlay, folder: Path) -> None:
    own.save([change({ACID: Fact("low")})])
    own.save([change({ACID: Fact("med")})])
    before = files_of(folder)
    own.save([change({ACID: Fact("med")})])
    assert files_of(folder) == before


def test_a_link_to_a_file_elsewhere_stays_a_link(
    own: Overlay, folder: Path, tmp_path: Path
) -> None:
    elsewhere = tmp_path / "notes" / "mine.toml"
    elsewhere.parent.mkdir()
    elsewhere.write_text("# kept elsewhere\n", encoding="utf-8")
    file = folder / SHELF
    file.parent.mkdir(parents=True)
    file.symlink_to(elsewhere)
    own.save([change({ACID: Fact("med")})])
    assert file.is_symlink()
    assert 'acid = "med"' in elsewhere.read_text(encoding="utf-8")
    assert profile_of(folder).basis_of("acid") == "own"
