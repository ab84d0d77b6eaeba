"""JSON and JSON Lines: lists, flights, nested notes, long documents, and what is no JSON."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.names import WineNames
from cards.scale import Level
from cards.tables import Table
from drills.errors import IntakeError
from drills.service.completing import WordBook
from drills.tastings.drafts import IntakeDraft
from drills.tastings.intake import read_intake
from drills.tastings.noting import Words
from drills.tastings.objects import LONGEST_OBJECT, Thing, things_in_document
from tests.tastings.reading_lists import FewNames

Read = Callable[..., IntakeDraft]
CHABLIS = {"called": "Chablis", "was": "Sancerre"}


@pytest.fixture(scope="module")
def words(table: Table) -> Words:
    return Words(table.lexicon, WordBook(table.lexicon).key)


@pytest.fixture(scope="module")
def names(table: Table) -> WineNames:
    return WineNames(table)


@pytest.fixture
def read(tmp_path: Path, words: Words, names: WineNames) -> Read:
    """Write JSON and read it."""

    def reading(content: Any, name: str = "a.json") -> IntakeDraft:
        file = tmp_path / name
        text = content if isinstance(content, str) else json.dumps(content)
        file.write_text(text, encoding="utf-8")
        return read_intake(file, names, words=words)

    return reading


@pytest.mark.parametrize("name", ["a.json", "a.txt"])
@pytest.mark.parametrize(
    "content",
    [
        [CHABLIS],
        {"tastings": [CHABLIS]},
        {"version": 3, "Tastings": [CHABLIS], "by": {"name": "me"}},
        {"flights": [{"name": "A", "pours": [CHABLIS]}]},
        {"pours": [CHABLIS]},
        CHABLIS,
    ],
)
def test_lists_and_objects_that_hold_one(read: Read, content: Any, name: str) -> None:
    for indent in (None, 2):
        draft = read(json.dumps(content, indent=indent), name)
        assert [pour.called.wine for pour in draft.pours] == ["chardonnay-chablis"]


def test_one_object_a_line(read: Read) -> None:
    text = f"{json.dumps(CHABLIS)}\n\n{json.dumps(CHABLIS | {'date': '2025-05-03'})}\n"
    for name in ("a.jsonl", "a.ndjson", "a.txt"):
        draft = read(text, name)
        assert [(pour.row, pour.date) for pour in draft.pours] == [(1, None), (3, date(2025, 5, 3))]


def test_a_line_that_is_none_is_left_out_alone(read: Read) -> None:
    good = json.dumps(CHABLIS)
    lines = [good, '{"called": "x"', "[1, 2", good, "17", '{"called": NaN, "was": "x"}', good]
    draft = read("\n".join(lines), "a.jsonl")
    assert [pour.row for pour in draft.pours] == [1, 4, 7]
    assert [one.row for one in draft.rejected] == [2, 3, 5, 6]
    assert all(one.reason for one in draft.rejected)


def test_a_nested_note(read: Read) -> None:
    draft = read(
        [
            {
                "date": "2025-05-03",
                "called": {"wine": "Chablis", "vintage": 2019, "sureness": "sure"},
                "was": {"name": "Sancerre", "vintage": 2020, "alcohol": 13, "price": "12 €"},
                "first_call": "Barolo",
                "runner-up": "Chinon",
                "note": {
                    "structure": {"acid": "high", "body": 2},
                    "alcohol": 12.5,
                    "descriptors": ["lime", "flint, or nearly", "no petrol"],
                    "lemon": True,
                    "remark": "long day",
                },
                "candidates": ["Chablis", {"wine": "Barolo", "struck": "far too pale"}],
                "mood": "good",
            }
        ]
    )
    (pour,) = draft.pours
    assert pour.full is not None
    found = pour.full
    assert (found.final.wine, found.final.vintage, found.final.sureness) == (
        "chardonnay-chablis",
        2019,
        3,
    )
    assert (found.reveal_vintage, found.label_alcohol, found.price) == (2020, 13.0, "12 €")
    assert found.note.readings == {
        "acid": Level.HIGH,
        "body": Level.MED_MINUS,
        "alcohol": 12.5,
        "lime": True,
        "petrol": False,
        "lemon": True,
    }
    assert found.note.free == ("flint, or nearly",)
    assert found.remark == "long day"
    assert [(one.wine, one.struck) for one in found.candidates] == [
        ("chardonnay-chablis", ""),
        ("nebbiolo-barolo", "far too pale"),
    ]
    assert any("“mood” was not read" in warning for warning in draft.warnings)


def test_a_flight_speaks_for_its_pours(read: Read) -> None:
    flight = {"name": "Tuesday", "tasted_on": "2025-05-03", "pours": [CHABLIS, CHABLIS, 7]}
    draft = read([flight])
    assert [(p.flight, p.date, p.position) for p in draft.pours] == [
        ("Tuesday", date(2025, 5, 3), 1),
        ("Tuesday", date(2025, 5, 3), 2),
    ]
    assert len(draft.rejected) == 1


def test_a_plain_flight_of_the_program_is_taken_whole(read: Read) -> None:
    pour = {
        "position": 2,
        "note": {"readings": {"acid": "high", "petrol": False}, "free": ["x"], "age": "young"},
        "final": {"text": "Chablis", "wine": "no-such-key", "sureness": 2},
        "reveal": {"text": "Sancerre"},
    }
    draft = read({"name": "A", "tasted_on": "2025-05-03", "pours": [pour]})
    (one,) = draft.pours
    assert one.full is not None
    # What the name meant elsewhere does not count here.
    assert (one.called.wine, one.was.wine) == ("chardonnay-chablis", "sauvignon-sancerre")
    assert one.full.note.readings == {"acid": Level.HIGH, "petrol": False}
    assert (one.flight, one.position) == ("A", 2)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("[]", "holds no pours"),
        ('{"tastings": []}', "holds no pours"),
        ("[{}]", "no column “called”"),
        ('[{"called": "x"}]', "no column “was”"),
        ("[", "line 1"),
        ('[{"called": "x"}', "line 1"),
        ('[{"called": "x",\n"was": "y"},\n{"called": "z", was: 1}]', "line 3"),
        ('{"tastings": [{"called": "x", "was": "y"}', "line 1"),
        ('{"tastings" [1]}', "colon"),
        ("[1] trailing", "line 1"),
        ('{"called": "x",}', "line 1"),
        ("[" * 100_000, "nested too deeply"),
        ('[{"a":' * 5_000, "line 1"),
        ('[{"called": "' + "x" * LONGEST_OBJECT + "…", "characters"),
    ],
)
def test_one_error_for_what_is_no_json(read: Read, content: str, says: str) -> None:
    with pytest.raises(IntakeError) as caught:
        read(content)
    assert says in str(caught.value)
    assert "“a.json”" in str(caught.value)
    assert len(str(caught.value)) < 400


@pytest.mark.parametrize(
    "odd",
    [
        '{"called": "x", "called": "y", "was": "z"}',
        '{"called": "x", "was": Infinity}',
        '{"called": "x", "was": "y", "note": [[1]]}',
        '{"called": "x", "was": "y", "price": 1' + "0" * 400 + "}",
        '{"called": "x", "was": "y", "note": ' + '{"a":' * 30 + "1" + "}" * 31,
        '"a text"',
        "null",
    ],
)
def test_one_odd_object_is_left_out_and_the_others_stay(read: Read, odd: str) -> None:
    good = json.dumps(CHABLIS)
    draft = read(f"[{good}, {odd}, {good}]")
    assert [pour.row for pour in draft.pours] == [1, 3]
    assert [one.row for one in draft.rejected] == [2]


def test_control_characters_in_json_are_taken_out(read: Read) -> None:
    (pour,) = read('[{"called": "Cha\\u0000blis\\u202e", "was": "Sanc\\ud800erre"}]').pours
    assert pour.called.text == "Chablis"
    assert pour.was.text == "Sanc\ufffderre"


def test_a_name_in_square_brackets_is_no_json() -> None:
    draft = read_intake(io.StringIO("[red] Chablis > Sancerre\n{x} > Chablis\n"), FewNames())
    assert [pour.called.text for pour in draft.pours] == ["[red] Chablis", "{x}"]


JSON = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(allow_nan=False, allow_infinity=False),
        st.text(),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.text(max_size=5), inner, max_size=3),
    ),
    max_leaves=8,
)


@given(
    elements=st.lists(st.dictionaries(st.text(max_size=5), JSON, max_size=4), max_size=6),
    indent=st.sampled_from([None, 1]),
)
def test_a_long_list_is_taken_apart_as_the_library_would(
    elements: list[dict[str, Any]], indent: int | None
) -> None:
    wanted = [one for one in elements if not isinstance(one.get("pours"), list)]
    for content in (wanted, {"a": 1, "tastings": wanted, "z": [1]}):
        lines = json.dumps(content, indent=indent).split("\n")
        found = [one.content for one in things_in_document(lines) if isinstance(one, Thing)]
        assert found == wanted


def test_elements_across_many_reads(read: Read) -> None:
    pours = [CHABLIS | {"note": f"{number} " + "x" * (number % 7000)} for number in range(300)]
    draft = read(pours)
    assert [pour.note.split()[0] for pour in draft.pours] == [str(n) for n in range(300)]
