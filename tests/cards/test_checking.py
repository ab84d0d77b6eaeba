"""What a table's facts say against each other, each told by wine and field."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cards.checking import LEAST_DESCRIPTORS, check_folders, report
from cards.errors import TableError
from cards.tables import build_table, read_documents

Files = dict[str, str]
Shelve = Callable[..., Path]

LEFT = "white/left.toml"


def check(*folders: Path) -> list[str]:
    """The problems of a table of test wines, but for the few descriptors they have."""
    problems: list[TableError] = []
    documents = [d for folder in folders for d in read_documents(folder, problems)]
    found = report(build_table(documents, problems), problems)
    return [problem for problem in found.problems if "descriptors, at least" not in problem]


@pytest.fixture
def sound(two_wines: Files) -> Files:
    """Two wines in which nothing contradicts anything."""
    lime = '\n[[causes]]\ncue = "lime"\nbecause = "Ripeness."\n'
    two_wines["causes.toml"] += lime
    return two_wines


def test_two_sound_wines_have_no_problem(sound: Files, shelve: Shelve) -> None:
    assert check(shelve(sound)) == []


MISTAKES = [
    (LEFT, 'laterals = ["right"]', "laterals = []", ["left: names no lateral"]),
    (
        LEFT,
        'laterals = ["right"]',
        'laterals = ["nowhere"]',
        ["left: lateral “nowhere” is no wine of the table", "right: lateral left does not name it"],
    ),
    (
        LEFT,
        'basis = "practice"',
        'basis = "hearsay"',
        ["left: place names the unknown basis “hearsay”"],
    ),
    (
        LEFT,
        'lemon = { typical = "common", basis = "memory" }',
        'lemon = { typical = "common", basis = "studies" }',
        ["left: lemon names the unknown basis “studies”"],
    ),
    (LEFT, 'first = "85 to 100"', 'third = "85 to 100"', ["left: grape “third” is not in names"]),
    (
        LEFT,
        '"85 to 100", second = "0 to 15"',
        '"60 to 80"',
        ["left: the grapes' shares cannot add"],
    ),
    (LEFT, 'second = "0 to 15"', 'second = "20 to 40"', ["left: the grapes' shares cannot add up"]),
    (
        LEFT,
        "low = 1\nhigh = 3",
        "low = 1\nhigh = 11",
        ["left: sugar: 1 to 11 g/L does not fit “dry”"],
    ),
    (LEFT, 'class = "dry"', 'class = "sweet"', ["left: sugar: 1 to 3 g/L does not fit “sweet”"]),
    (
        LEFT,
        'oak = "low"',
        'oak = "med"',
        [],
    ),
    (LEFT, 'months = "0 to 6"', 'months = "0"', []),
    (LEFT, 'lime = "never"', 'lime = "signature"', []),
    (
        LEFT,
        'lemon = { typical = "common"',
        'lemon = { typical = "signature"',
        ["left: the signature lemon has no cause"],
    ),
    ("causes.toml", 'cue = "lime"', 'cue = "yuzu"', ["causes: “yuzu” is no cue"]),
    (
        "causes.toml",
        'basis = "study"',
        'basis = "studies"',
        ["causes: white-pepper names the unknown basis"],
    ),
    (
        "causes.toml",
        'wines = ["right"]',
        'wines = ["wrong"]',
        ["causes: lemon names the unknown wine “wrong”"],
    ),
    (
        "names.toml",
        'classic = "left"',
        'classic = "lost"',
        ["names: place here names the unknown wine “lost”"],
    ),
    (
        "names.toml",
        'classic = "left"',
        'within = "there"',
        ["names: place here lies within the unknown place “there”"],
    ),
    (
        "names.toml",
        "[grapes.first]",
        '[wines.lost]\nsynonyms = ["L"]\n\n[grapes.first]',
        ["names: “lost” is no wine of the table"],
    ),
]


@pytest.mark.parametrize(
    ("shelf", "old", "new", "said"), MISTAKES, ids=[new for _, _, new, _ in MISTAKES]
)
def test_a_contradiction_is_named(
    sound: Files, shelve: Shelve, shelf: str, old: str, new: str, said: list[str]
) -> None:
    assert old in sound[shelf]
    sound[shelf] = sound[shelf].replace(old, new, 1)
    found = check(shelve(sound))
    for wanted in said:
        assert any(problem.startswith(wanted) for problem in found), found
    if not said:
        assert found == []


def test_one_word_of_a_lateral_is_not_enough(sound: Files, shelve: Shelve) -> None:
    """A lateral that is not named back is told for the wine that names it, and only once."""
    sound["white/right.toml"] = sound["white/right.toml"].replace(
        'laterals = ["left"]', "laterals = []"
    )
    assert check(shelve(sound)) == [
        "left: lateral right does not name it back",
        "right: names no lateral",
    ]


def test_oak_in_the_mouth_and_none_in_the_cellar(sound: Files, shelve: Shelve) -> None:
    sound[LEFT] = (
        sound[LEFT]
        .replace('oak = "low"', 'oak = "med"')
        .replace('months = "0 to 6"', 'months = "0"')
    )
    assert check(shelve(sound)) == ["left: tastes of oak but sees none"]


def test_too_few_descriptors(sound: Files, shelve: Shelve) -> None:
    problems: list[TableError] = []
    found = report(build_table(read_documents(shelve(sound), problems), problems), problems)
    assert f"left: 3 descriptors, at least {LEAST_DESCRIPTORS} needed" in found.problems


@pytest.mark.parametrize(
    "gone",
    [
        'oak = "low"\n',
        'acid = "high"\n',
        'hue = ["greenish", "straw"]\n',
        'shares = { first = "85 to 100", second = "0 to 15" }\n',
    ],
)
def test_a_file_with_gaps_is_checked_to_the_end(sound: Files, shelve: Shelve, gone: str) -> None:
    """A missing field must be told, not end the check with a fault of its own."""
    sound[LEFT] = sound[LEFT].replace(gone, "").replace('months = "0 to 6"', 'months = "0"')
    found = check(shelve(sound))
    assert any("missing" in problem for problem in found)


def test_an_empty_wine_file_is_checked_to_the_end(sound: Files, shelve: Shelve) -> None:
    sound["red/nothing.toml"] = ""
    found = check(shelve(sound))
    assert sum("nothing.toml" in problem for problem in found) > 10


def test_the_report_counts_facts_by_basis(sound: Files, shelve: Shelve) -> None:
    problems: list[TableError] = []
    table = build_table(read_documents(shelve(sound), problems), problems)
    found = report(table, problems)
    assert (found.wines, found.descriptors) == (2, 3)
    assert found.facts == sum(found.by_basis.values())
    assert found.facts == sum(len(profile.bases) for profile in table.profiles.values())
    # Either wine: grape and bitterness from the study, lemon from memory.
    assert found.by_basis["source"] == 4
    assert found.by_basis["memory"] == 2
    # Of alcohol, sugar and grape the grape alone has a source.
    assert found.sourced_core == pytest.approx(1 / 3)


def test_the_report_of_nothing() -> None:
    problems: list[TableError] = []
    assert report(build_table([], problems), []).sourced_core == 0


# --- the shipped table ---------------------------------------------------------------------------


def test_the_shipped_table_has_no_problem() -> None:
    found = check_folders()
    assert found.problems == ()
    assert found.wines >= 120
    assert found.descriptors >= 150
    assert found.sourced_core > 0.3


def test_a_dispute_in_an_overlay_is_checked_with_the_shipped_table(shelve: Shelve) -> None:
    own = shelve({"white/chardonnay-chablis.toml": "[sugar]\nhigh = 30\n"})
    (problem,) = check_folders(own).problems
    assert problem.startswith("chardonnay-chablis: sugar: ")
