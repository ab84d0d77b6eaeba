"""A card on terminals of every size, and lines that are painted only where they change."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.app import App, ComposeResult
from textual.content import Content
from textual.geometry import Region

from drills.grading import Sureness
from drills.phrases import which_cue
from drills.screens.card_face import Face, lay_out
from drills.screens.widgets.glass import Glass
from drills.screens.widgets.ready_lines import ReadyLines

KEYS = ("A", "S", "D")
WORDS = st.text(st.characters(exclude_categories=("C", "Z")), max_size=90)
FACES = st.builds(
    Face,
    why=WORDS,
    question=WORDS,
    cues=WORDS,
    left=st.builds(Glass, st.just("left"), WORDS, WORDS, st.just(KEYS)),
    right=st.builds(Glass, st.just("right"), WORDS, WORDS, st.just(KEYS)),
    options=st.lists(WORDS.map(Content), max_size=5).map(tuple),
    verdict=st.none() | WORDS.map(Content),
    stories=st.lists(st.tuples(WORDS.map(Content), WORDS.map(Content)), max_size=5).map(tuple),
)


@given(FACES, st.integers(60, 220), st.integers(17, 70))
def test_a_card_never_takes_more_room_than_there_is(face: Face, width: int, height: int) -> None:
    lines = lay_out(face, width, height).lines
    assert len(lines) <= height
    assert all(line.cell_length <= width for line in lines if line not in face.options)
    assert all("\n" not in line.plain for line in lines)


@pytest.mark.parametrize("width", [60, 80])
def test_a_question_with_two_long_names_is_read_whole(width: int) -> None:
    question = which_cue("Stellenbosch Pinotage", "Montepulciano d'Abruzzo", 2)
    glass = Glass("left", "", "", KEYS)
    face = Face("why", question, "", glass, replace(glass, side="right"))
    lines = [line.plain.strip() for line in lay_out(face, width, 24).lines]
    assert question in " ".join(lines)


@given(FACES, st.integers(60, 220), st.integers(24, 70))
def test_every_key_is_answered_by_a_click_where_it_stands(
    face: Face, width: int, height: int
) -> None:
    layout = lay_out(face, width, height)
    for side in ("left", "right"):
        for sureness in Sureness:
            x, y = layout.key_offset(side, sureness)
            assert layout.answer_at(x, y) == (side, sureness)
            assert layout.answer_at(x, y - 1) is None


@given(FACES, st.integers(60, 220), st.integers(24, 70))
def test_an_option_is_picked_by_a_click_on_its_line_only(
    face: Face, width: int, height: int
) -> None:
    layout = lay_out(face, width, height)
    places = [layout.option_at(y) for y in range(height)]
    assert [place for place in places if place is not None] == list(range(len(face.options)))
    for y, place in enumerate(places[: len(layout.lines)]):
        if place is not None:
            assert layout.lines[y].plain.endswith(face.options[place].plain)


def test_on_a_low_terminal_a_cue_is_shown_whole_or_not_at_all() -> None:
    glass = Glass("left", "Sancerre", "Loire", KEYS)
    stories = tuple((Content(f"bar {n}"), Content(f"cue {n}")) for n in range(9))
    face = Face("why", "which?", "cue", glass, glass, verdict=Content("right"), stories=stories)
    text = "\n".join(line.plain for line in lay_out(face, 60, 18).lines)
    shown = [n for n in range(9) if f"bar {n}" in text]
    assert shown == [n for n in range(9) if f"cue {n}" in text]
    assert 2 < len(shown) < 9


class Lines(App[None]):
    def compose(self) -> ComposeResult:
        yield ReadyLines()


def repainted(lines: ReadyLines, monkeypatch: pytest.MonkeyPatch, words: list[str]) -> list[int]:
    """The lines that are painted when these words are shown."""
    painted: list[int] = []

    def refresh(*regions: Region) -> None:
        painted.extend(region.y for region in regions)

    with monkeypatch.context() as patch:
        patch.setattr(lines, "refresh", refresh)
        lines.show([Content(word) for word in words])
    return painted


async def test_only_lines_that_say_something_else_are_painted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with Lines().run_test() as pilot:
        lines = pilot.app.query_one(ReadyLines)
        assert repainted(lines, monkeypatch, ["one", "two", "three"]) == [0, 1, 2]
        assert repainted(lines, monkeypatch, ["one", "2", "three"]) == [1]
        assert repainted(lines, monkeypatch, ["one", "2", "three"]) == []
        assert repainted(lines, monkeypatch, ["one"]) == [1, 2]
        lines.show([Content("one").stylize("bold")])
        assert repainted(lines, monkeypatch, ["one"]) == [0]


async def test_lines_follow_the_width_and_the_colours_of_the_terminal() -> None:
    async with Lines().run_test(size=(40, 5)) as pilot:
        lines = pilot.app.query_one(ReadyLines)
        lines.show([Content.styled("x" * 50, "$primary")])
        await pilot.pause()
        whole = Region(0, 0, 40, 5)
        first = lines.render_lines(whole)
        assert first[0].text == "x" * 39 + "…"
        assert [strip.cell_length for strip in first] == [40] * 5
        await pilot.resize_terminal(60, 5)
        await pilot.pause()
        second = lines.render_lines(Region(0, 0, 60, 5))[0]
        assert second.text == "x" * 50 + " " * 10
        pilot.app.theme = "textual-light"
        await pilot.pause()
        third = lines.render_lines(Region(0, 0, 60, 5))[0]
        assert third.text == second.text
        assert [one.style for one in third] != [one.style for one in second]


async def test_a_part_of_the_lines_is_cut_out_where_something_lies_above_them() -> None:
    async with Lines().run_test(size=(20, 3)) as pilot:
        lines = pilot.app.query_one(ReadyLines)
        lines.show([Content("one two"), Content("three four")])
        assert [strip.text for strip in lines.render_lines(Region(4, 0, 3, 2))] == ["two", "e f"]
