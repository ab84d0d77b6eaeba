"""Files that a taster wrote by hand: what they say counts, and nothing else of them is changed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.checking import check_folders
from cards.errors import TableError
from cards.facts import Change, Fact, FactPath, with_own_bases
from cards.tables import load_table
from drills.overlay import Overlay
from drills.own_files import amended, parsed
from tests.drills.own_folder import ACID, BODY, SHELF, WINE, change, profile_of

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
