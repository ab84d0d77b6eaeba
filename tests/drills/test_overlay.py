"""The taster's own folder: written whole or not at all, never against itself, comments kept."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.checking import check_folders
from cards.errors import TableError
from cards.facts import Change, Fact, FactPath, facts_of, with_own_bases
from cards.profiles import UNLISTED, Profile
from cards.tables import load_table
from drills.errors import OverlayError, UsageError
from drills.overlay import Overlay
from drills.own_files import amended, parsed

WINE = "sauvignon-sancerre"
OTHER = "chenin-vouvray"
SHELF = f"white/{WINE}.toml"
ACID: FactPath = ("structure", "acid")
BODY: FactPath = ("structure", "body")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where the taster's folder will be; it is not there yet."""
    return tmp_path / "table"


@pytest.fixture
def own(folder: Path) -> Overlay:
    return Overlay(folder)


def change(
    facts: Mapping[FactPath, Fact | None], reason: str = "", wine: str = WINE, style: str = "white"
) -> Change:
    return Change(wine, style, facts, reason)


def profile_of(folder: Path, wine: str = WINE) -> Profile:
    return load_table(folder).profiles[wine]


def files_of(folder: Path) -> dict[str, str]:
    return {
        file.relative_to(folder).as_posix(): file.read_text(encoding="utf-8")
        for file in sorted(folder.rglob("*"))
        if file.is_file() and file.name != ".lock"
    }


# ---- what is written


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


# ---- what is refused

REFUSED: list[tuple[dict[FactPath, Fact | None], str, str]] = [
    ({ACID: Fact("hihg")}, "structure.acid", "no level"),
    ({ACID: Fact("high", "hearsay")}, "structure.acid", "unknown basis “hearsay”"),
    ({("alcohol", "low"): Fact(15), ("alcohol", "high"): Fact(14)}, "alcohol.low", "above high"),
    ({("alcohol", "low"): Fact(2), ("alcohol", "high"): Fact(14)}, "alcohol.low", "outside 4"),
    ({("sugar", "low"): Fact(1), ("sugar", "high"): Fact(60)}, "sugar.class", "does not fit"),
    ({("laterals",): Fact(["nowhere"])}, "laterals", "no wine of the table"),
    ({("laterals",): Fact([])}, "laterals", "names no lateral"),
    ({("grape", "shares"): Fact({"merlot": "20"})}, "grape.shares", "add up to 100"),
    ({("grape", "shares"): Fact({"mrelot": "100"})}, "grape.shares", "not in names.toml"),
    ({("descriptors", "lemmon"): Fact("common")}, "descriptors.lemmon", "lexicon.toml"),
    ({("structure", "oak"): Fact("high"), ("oak", "months"): Fact("0")}, "structure.oak", "oak"),
    ({("short",): Fact("x" * 25)}, "short", "24 fit"),
    ({("structure", "finish"): Fact(UNLISTED)}, "structure.finish", "missing"),
]


@pytest.mark.parametrize(("facts", "field", "said"), REFUSED, ids=[r[2] for r in REFUSED])
def test_what_contradicts_the_table_is_refused_and_nothing_written(
    own: Overlay,
    folder: Path,
    facts: dict[FactPath, Fact | None],
    field: str,
    said: str,
) -> None:
    own.save([change({BODY: Fact("med")}, "sound")])
    before = files_of(folder)
    sound = change({ACID: Fact("low")}, wine=OTHER)
    with pytest.raises(TableError) as raised:
        own.save([sound, change(facts)])
    assert (raised.value.file, raised.value.field) == (str(folder / SHELF), field)
    assert said in raised.value.problem
    assert files_of(folder) == before


def test_a_wine_that_is_wrong_already_can_still_be_put_right(own: Overlay, folder: Path) -> None:
    file = folder / SHELF
    file.parent.mkdir(parents=True)
    file.write_text('[structure]\nacid = "much"\n', encoding="utf-8")
    own.save([change({BODY: Fact("med")})])
    assert [error.field for error in own.read().problems] == ["structure.acid"]
    own.save([change({ACID: Fact("high")})])
    assert own.read().problems == ()


def test_a_file_that_is_no_toml_is_left_as_it_is(own: Overlay, folder: Path) -> None:
    file = folder / SHELF
    file.parent.mkdir(parents=True)
    file.write_text('[structure]\nacid = "high\n', encoding="utf-8")
    with pytest.raises(TableError, match="no valid TOML") as raised:
        own.save([change({ACID: Fact("med")})])
    assert (raised.value.file, raised.value.line) == (str(file), 2)
    assert files_of(folder) == {SHELF: '[structure]\nacid = "high\n'}


@pytest.mark.parametrize("wine", ["../secret", "a/b", "A", "", "a b", "x" * 3 + "-", "wine.toml"])
def test_no_name_leads_out_of_the_folder(own: Overlay, folder: Path, wine: str) -> None:
    with pytest.raises(UsageError, match="no key"):
        own.save([change({ACID: Fact("med")}, wine=wine)])
    with pytest.raises(UsageError, match="none of white"):
        own.save([change({ACID: Fact("med")}, style="..")])
    assert files_of(folder) == {}


def test_a_folder_that_cannot_be_written_is_said(own: Overlay, folder: Path) -> None:
    folder.write_text("a file where the folder should be", encoding="utf-8")
    with pytest.raises(OverlayError, match="cannot be written"):
        own.save([change({ACID: Fact("med")})])


def test_a_full_disk_leaves_the_old_file(
    own: Overlay, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own.save([change({ACID: Fact("low")})])
    before = files_of(folder)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OverlayError, match="No space left"):
        own.save([change({ACID: Fact("med")}), change({ACID: Fact("med")}, wine=OTHER)])
    assert files_of(folder) == before


# ---- a process that dies

DYING = """
import os, sys
from pathlib import Path
from cards.facts import Change, Fact
from drills.overlay import Overlay

left = [int(sys.argv[2])]
replace = os.replace

def dying(*given, **more):
    left[0] -= 1
    if left[0] < 0:
        os._exit(9)
    replace(*given, **more)

os.replace = dying
wines = sys.argv[3].split(",")
Overlay(Path(sys.argv[1])).save(
    [Change(wine, "white", {("structure", "acid"): Fact("med")}) for wine in wines]
)
"""


def dies_before_rename(folder: Path, number: int, *wines: str) -> bool:
    """Run a change that is killed before its renaming of that number; False once none is left."""
    ran = subprocess.run(
        [sys.executable, "-c", DYING, str(folder), str(number), ",".join(wines)],
        cwd=Path(__file__).parents[2],
        check=False,
        capture_output=True,
        text=True,
    )
    assert ran.returncode in (0, 9), ran.stderr
    return ran.returncode == 9


def test_killed_between_writing_and_renaming_the_old_file_stands(
    own: Overlay, folder: Path
) -> None:
    own.save([change({ACID: Fact("low")}, "mine")])
    old = (folder / SHELF).read_text(encoding="utf-8")
    for number in range(9):
        if not dies_before_rename(folder, number, WINE):
            break
        assert (folder / SHELF).read_text(encoding="utf-8") == old
        assert profile_of(folder).structure["acid"].low == 0
    else:
        raise AssertionError("the change never came to its end")
    assert number == 2
    assert (folder / f"{SHELF}.before").read_text(encoding="utf-8") == old
    assert str(profile_of(folder).structure["acid"]) == "med"


def test_killed_among_several_files_the_next_start_has_all_or_none(tmp_path: Path) -> None:
    seen = set()
    for number in range(12):
        folder = tmp_path / str(number)
        own = Overlay(folder)
        own.save([change({ACID: Fact("low")}), change({ACID: Fact("low")}, wine=OTHER)])
        died = dies_before_rename(folder, number, WINE, OTHER)
        reading = own.read()
        assert reading.problems == ()
        acids = {str(reading.table.profiles[wine].structure["acid"]) for wine in (WINE, OTHER)}
        assert len(acids) == 1, f"half of the change stands after the death before {number}"
        seen |= acids
        assert not (folder / "pending.json").exists()
        if not died:
            break
    assert seen == {"low", "med"}
    assert not died


# ---- what is written by hand


@pytest.fixture
def by_hand(folder: Path) -> Callable[[str], Path]:
    def write(text: str) -> Path:
        file = folder / SHELF
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
        return folder

    return write


def test_a_fact_without_a_basis_rests_on_the_taster(by_hand: Callable[[str], Path]) -> None:
    """Else it would pass for a fact of the source that stood behind the old value."""
    shipped = load_table().profiles[WINE]
    sourced = next(
        key for key in shipped.descriptors if shipped.basis_of(key) not in ("practice", "memory")
    )
    folder = by_hand(
        f'[alcohol]\nhigh = 14\n\n[structure]\nacid = {{ level = "med" }}\n\n'
        f'[colour]\ndepth = "med"\n\n[descriptors]\n{sourced} = "never"\n'
        'lime = { typical = "common" }\n'
    )
    after = profile_of(folder)
    for fact in ("alcohol", "acid", "depth", sourced, "lime"):
        assert after.basis_of(fact) == "own", fact
    assert after.basis_of("hue") == shipped.basis_of("hue")
    assert after.alcohol.low == shipped.alcohol.low


def test_a_basis_at_the_top_reaches_only_what_the_file_says(by_hand: Callable[[str], Path]) -> None:
    shipped = load_table().profiles[WINE]
    folder = by_hand('basis = "memory"\n\n[structure]\nacid = "med"\n\n[grape]\n')
    after = profile_of(folder)
    assert after.basis_of("acid") == "memory"
    others = {key: basis for key, basis in after.bases.items() if key != "acid"}
    assert others == {key: basis for key, basis in shipped.bases.items() if key != "acid"}


def test_the_shares_of_a_blend_are_one_fact(folder: Path) -> None:
    wine = "port-tawny-20"
    Overlay(folder).save(
        [
            change(
                {("grape", "shares"): Fact({"touriga-franca": "100"})}, wine=wine, style="fortified"
            )
        ]
    )
    assert list(profile_of(folder, wine).grapes) == ["touriga-franca"]


def test_unlisted_takes_a_descriptor_off(by_hand: Callable[[str], Path]) -> None:
    word = next(iter(load_table().profiles[WINE].descriptors))
    after = profile_of(by_hand(f'[descriptors]\n{word} = "unlisted"\n'))
    assert word not in after.descriptors
    assert word not in after.bases


def test_laterals_hold_both_ways(own: Overlay, folder: Path) -> None:
    shipped = load_table().profiles[WINE].laterals
    new = "savagnin-vin-jaune"
    assert new not in shipped
    own.save([change({("laterals",): Fact([shipped[0], new])})])
    table = load_table(folder)
    assert WINE in table.profiles[new].laterals
    assert WINE in table.profiles[shipped[0]].laterals
    for gone in shipped[1:]:
        assert WINE not in table.profiles[gone].laterals
    assert check_folders(folder).problems == ()


def test_the_report_counts_ones_own_facts(own: Overlay, folder: Path) -> None:
    before = check_folders(folder)
    own.save(
        [change({ACID: Fact("med"), ("alcohol", "low"): Fact(12), ("alcohol", "high"): Fact(14)})]
    )
    after = check_folders(folder)
    assert "own" not in before.by_basis
    assert after.by_basis["own"] == 2
    assert after.facts == before.facts
    assert after.problems == ()


def test_a_cause_is_not_asked_of_ones_own_signature(own: Overlay, folder: Path) -> None:
    table = load_table()
    explained = {cause.cue for cause in table.causes}
    word = next(key for key in table.lexicon.descriptors if key not in explained)
    own.save([change({("descriptors", word): Fact("signature")})])
    assert check_folders(folder).problems == ()
    with pytest.raises(TableError, match="has no cause"):
        own.save([change({("descriptors", word): Fact("signature", "practice")})])


# ---- any file that a taster may have written

LAYOUTS = [
    "",
    "# nothing yet\n",
    '[structure]\nacid = "low" # one\n',
    'structure = { acid = "low", body = "med" } # two\n',
    'structure.acid = "low" # three\nstructure.body = "med"\n',
    '"structure".acid = "low" # four\n',
    '[structure]\n# five\nacid = { level = "low", basis = "memory" }\n\n\n[age]\nrelease = 2\n',
    'basis = "practice" # six\ntelling = """\n[structure]\nacid = "x"\n"""\n',
    '[structure]\nbasis = "memory" # seven\nbody = "med"\n[descriptors]\n"lime" = "common"\n',
    '[descriptors]\nlime = "never" # eight\n[structure]\nacid = "low"',
    'telling = "nine" # nine\r\n\r\n[structure]\r\nacid = "low"\r\n',
]
FACTS: dict[FactPath, list[str | int | list[str]]] = {
    ACID: ["low", "med to high"],
    BODY: ["med"],
    ("descriptors", "lime"): ["common", "unlisted"],
    ("descriptors", "petrol"): ["never"],
    ("colour", "hue"): [["gold"], ["straw", "gold"]],
    ("alcohol", "low"): [12],
    ("age", "release"): [3],
    ("laterals",): [["chardonnay-chablis"]],
    ("telling",): ['A "quoted" [text] # no comment'],
}


@settings(max_examples=250, deadline=None)
@given(
    layout=st.sampled_from(LAYOUTS),
    rounds=st.lists(
        st.dictionaries(
            st.sampled_from(sorted(FACTS)),
            st.tuples(st.integers(0, 1), st.sampled_from(["own", "own", "memory", None])),
            min_size=1,
            max_size=4,
        ),
        min_size=1,
        max_size=3,
    ),
    reason=st.sampled_from(["", "because", 'odd "] # reason']),
)
def test_any_file_is_amended_as_asked_or_refused_and_says_the_rest_as_before(
    layout: str,
    rounds: list[dict[FactPath, tuple[int, str | None]]],
    reason: str,
) -> None:
    file = Path("own.toml")
    text = layout
    for wanted in rounds:
        facts: dict[FactPath, Fact | None] = {}
        for path, (number, basis) in wanted.items():
            value = FACTS[path][number % len(FACTS[path])]
            plain = len(path) == 1
            facts[path] = None if basis is None else Fact(value, "own" if plain else basis)
        before = with_own_bases(parsed(text, file))
        refused = ""
        try:
            after_text = amended(text, Change("wine", "white", facts, reason), file, "Wine")
        except TableError as error:
            refused = error.problem
        if refused:
            assert "by hand" in refused
            continue
        after = with_own_bases(parsed(after_text, file))
        for path, fact in facts.items():
            section = after if len(path) == 1 else after.get(path[0], {})
            assert (path[-1] in section) == (fact is not None)
        touched = {path[:2] for path in facts}
        shared = {path[0] for path in facts}
        for name, section in before.items():
            if not isinstance(section, dict):
                assert (name,) in touched or after[name] == section
                continue
            for key, value in section.items():
                if (name, key) not in touched and not (key == "basis" and name in shared):
                    assert after[name][key] == value
        for comment in (line.partition("# ")[2] for line in text.splitlines() if "# " in line):
            held = "quoted" in comment or any(fact is None for fact in facts.values())
            assert held or comment.strip() in after_text
        text = after_text
