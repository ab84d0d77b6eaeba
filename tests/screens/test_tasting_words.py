"""What is typed of a pour is understood, completed, and never chosen for the taster."""

from __future__ import annotations

import pytest

from cards.tables import Table
from drills.screens.tasting_lines import strength, vintage
from drills.screens.widgets.candidate_list import CandidateList
from drills.service.completing import WordBook
from drills.service.desk import Desk
from drills.tastings.drafts import Named
from tests.screens.sitting import begin, focused, go_to, home_screen, offers, page, typed, value
from tests.screens.terminal import notices, opened, seen

# ---- words


@pytest.mark.parametrize(
    ("text", "noted", "free"),
    [
        ("petrol", {"petrol": True}, ()),
        ("Kerosene, CITRON", {"petrol": True, "lemon": True}, ()),
        ("no petrol", {"petrol": False}, ()),
        ("-petrol; - tar", {"petrol": False, "tar": False}, ()),
        ("sans citron, ohne Zitrone", {"lemon": False}, ()),
        ("petrol, no petrol", {"petrol": False}, ()),
        ("limes,cherries", {"lime": True, "red-cherry": True}, ()),
        ("1,8-cineole", {"eucalyptus": True}, ()),
        ("grandmother's attic, lime", {"lime": True}, ("grandmother's attic",)),
        ("no oomph, , ;", {}, ("no oomph",)),
        ("[b]lime[/b]", {}, ("[b]lime[/b]",)),
        ("[red]x", {}, ("[red]x",)),
    ],
)
def test_words_are_understood_in_any_wording_and_kept_where_they_are_not(
    table: Table, text: str, noted: dict[str, bool], free: tuple[str, ...]
) -> None:
    heard = WordBook(table.lexicon).hear(text)
    assert heard.noted == noted
    assert heard.free == free


async def test_what_was_understood_and_what_was_not_is_shown_as_one_types(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "kerosene, [red]x, no tar")
        await go_to(pilot, "palate")
        await typed(pilot, "Zitrone")
        assert "petrol · no tar · lemon · “[red]x”" in seen(pilot)
        note = page(pilot).flight.reader.note(page(pilot).sheet.pour)
        assert note.typed == {"petrol": "kerosene", "lemon": "Zitrone"}
        assert (note.nose, note.palate) == ("kerosene, [red]x, no tar", "Zitrone")


async def test_enter_completes_a_word_and_the_next_can_be_typed(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "petr")
        assert "petrol" in offers(pilot)
        await pilot.press("enter")
        await typed(pilot, "-zitr")
        await pilot.press("enter")
        await typed(pilot, "qqq")
        await pilot.press("enter")
        assert value(pilot, "nose") == "petrol, -lemon, qqq, "
        # With nothing more to take, Enter goes on.
        await pilot.press("enter")
        assert focused(pilot) == "palate"
        assert page(pilot).sheet.pour.text("nose") == "petrol, -lemon, qqq, "


async def test_arrows_choose_among_what_is_offered_and_escape_sends_it_away(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "pe")
        shown = [one.text for one in page(pilot).fields["nose"].offers]  # type: ignore[attr-defined]
        await pilot.press("down", "down", "enter")
        assert value(pilot, "nose") == f"{shown[2]}, "
        await typed(pilot, "pe")
        await pilot.press("escape")
        assert "pear" not in offers(pilot)
        # Without offers the same keys move and leave.
        await pilot.press("down")
        assert focused(pilot) == "palate"


async def test_a_word_that_only_holds_what_was_typed_is_not_taken_unasked(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        # The lexicon knows toasted oak; oak alone is a word of structure.
        await typed(pilot, "oak")
        assert "toasted oak" in offers(pilot)
        await pilot.press("enter")
        assert value(pilot, "nose") == "oak, "


async def test_a_word_in_the_middle_is_completed_in_its_place(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "lime, pet, tar")
        for _ in ", tar":
            await pilot.press("left")
        await typed(pilot, "r")
        await pilot.press("enter")
        assert value(pilot, "nose") == "lime, petrol, tar"


# ---- numbers


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("13.5", 13.5),
        ("13,5", 13.5),
        ("13", 13.0),
        ("13.", 13.0),
        (" 12,5 % ", 12.5),
        ("30", 30.0),
        ("31", None),
        ("abc", None),
        ("-3", None),
        ("1e3", None),
        ("٣", None),
        ("nan", None),
    ],
)
def test_a_strength_is_read_with_a_point_or_a_comma(text: str, read: float | None) -> None:
    assert strength(text) == read


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("2019", 2019),
        ("19", 2019),
        ("'98", 1998),
        ("27", 1927),
        ("NV", None),
        ("1600", None),
        ("219", None),
    ],
)
def test_a_vintage_is_read_in_four_figures_or_two(text: str, read: int | None) -> None:
    assert vintage(text, 2026) == read


async def test_a_line_that_cannot_be_read_is_marked_and_the_flight_waits_for_it(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=2)
        await go_to(pilot, "alcohol")
        await typed(pilot, "13..5")
        assert page(pilot).fields["alcohol"].has_class("-odd")
        await pilot.press("pagedown")
        await pilot.press("f9")
        await pilot.pause()
        assert page(pilot).sheet.at == 0
        assert focused(pilot) == "alcohol"
        assert notices(pilot) == ["“13..5” should be % vol, as 13.5"]
        await pilot.press("left", "backspace")
        assert not page(pilot).fields["alcohol"].has_class("-odd")
        await go_to(pilot, "first-vintage")
        await typed(pilot, "nv")
        assert not page(pilot).fields["first-vintage"].has_class("-odd")
        await typed(pilot, "x")
        assert page(pilot).fields["first-vintage"].has_class("-odd")


# ---- candidates and calls


async def test_candidates_are_struck_off_with_a_reason_and_may_stand_again(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "candidate")
        await typed(pilot, "Sancerre")
        await pilot.press("enter")
        await typed(pilot, "cham")
        await pilot.press("enter")
        await typed(pilot, "[home] plonk")
        await pilot.press("enter")
        candidates = page(pilot).sheet.pour.candidates
        assert [(one.text, one.wine) for one in candidates] == [
            ("Sancerre", "sauvignon-sancerre"),
            ("cham", None),
            ("[home] plonk", None),
        ]
        assert "[home] plonk?" in seen(pilot)
        await pilot.press("up", "x")
        assert "why not" in seen(pilot)
        await typed(pilot, "too [sweet]")
        assert candidates[0].struck == "too [sweet]"
        await pilot.press("enter")
        assert "✗ too [sweet]" in seen(pilot)
        assert isinstance(page(pilot).focused, CandidateList)
        await pilot.press("x")
        assert candidates[0].struck == ""
        # Escape while the reason is asked leaves it standing.
        await pilot.press("right", "x")
        await typed(pilot, "never mind")
        await pilot.press("escape")
        assert [one.struck for one in candidates] == ["", "", ""]
        await pilot.press("x", "enter")
        assert candidates[1].struck == "no reason given"
        await pilot.press("right", "delete")
        assert len(candidates) == 2
        page(pilot)


async def test_no_reason_is_asked_any_more_once_the_row_or_the_page_is_another(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "first-vintage")
        await typed(pilot, "20x9")
        await go_to(pilot, "candidate")
        for name in ("Sancerre", "plonk"):
            await typed(pilot, name)
            await pilot.press("enter")
        candidates = page(pilot).sheet.pour.candidates
        # The last one is struck off, and while the reason is asked the one before it is taken out.
        await pilot.press("up", "right", "x")
        await go_to(pilot, "candidates")
        await pilot.press("left", "delete")
        await go_to(pilot, "candidate")
        await typed(pilot, "Chab")
        assert [(one.text, one.struck) for one in candidates] == [("plonk", "no reason given")]
        await go_to(pilot, "candidates")
        await pilot.press("x", "x")
        # Keeping leads away, to a line that cannot be read.
        await pilot.press("f9")
        assert focused(pilot) == "first-vintage"
        await go_to(pilot, "candidate")
        await typed(pilot, "lis")
        assert value(pilot, "candidate") == "Chablis"
        assert candidates[0].struck == "no reason given"


async def test_a_candidate_becomes_a_call_by_one_key(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "candidate")
        for name in ("Sancerre", "Chablis", "plonk"):
            await typed(pilot, name)
            await pilot.press("enter")
        await pilot.press("up", "f", "right", "enter", "right", "r")
        reader, pour = page(pilot).flight.reader, page(pilot).sheet.pour
        assert reader.named(pour, "first") == Named("Sancerre", "sauvignon-sancerre")
        assert reader.named(pour, "final") == Named("Chablis", "chardonnay-chablis")
        assert reader.named(pour, "runner-up") == Named("plonk")
        assert value(pilot, "final") == "Chablis"


async def test_a_name_that_several_wines_answer_to_is_never_chosen_for_the_taster(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "final")
        await typed(pilot, "Riesling")
        assert "Mosel" in offers(pilot)
        await pilot.press("enter")
        assert value(pilot, "final") == "Riesling"
        reader = page(pilot).flight.reader
        assert reader.named(page(pilot).sheet.pour, "final") == Named("Riesling")
        assert "final call ?" in seen(pilot)
        await go_to(pilot, "final")
        await typed(pilot, " cl")
        await pilot.press("down", "enter")
        found = reader.named(page(pilot).sheet.pour, "final")
        assert found.wine in ("riesling-clare", "riesling-clare-aged")
        assert found.text == desk.short(found.wine)
        assert "final call ✓" in seen(pilot)
        # Typed over, it is what was typed again.
        await go_to(pilot, "final")
        await typed(pilot, "x")
        assert reader.named(page(pilot).sheet.pour, "final").text == f"{found.text}x"


async def test_what_is_offered_for_a_wine_never_follows_from_how_it_smells(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "petrol, lime")
        await go_to(pilot, "final")
        wines = page(pilot).flight.wines
        assert all(one.near for one in wines.offers("petrol"))
        assert all(one.near for one in wines.offers("high acid"))


async def test_how_sure_a_call_is_takes_one_digit(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "first-sure")
        await pilot.press("2")
        assert focused(pilot) == "final"
        await go_to(pilot, "final-sure")
        await pilot.press("5", "3")
        assert page(pilot).sheet.pour.sureness == {"first": 2, "final": 3}
        assert "leaning" in seen(pilot)
        assert "sure" in seen(pilot)
