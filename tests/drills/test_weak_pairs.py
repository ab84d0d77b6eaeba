"""Weak pairs: resolved ones leave, come back when confused again; theory stands against glass."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import date, timedelta

import pytest

from cards.scale import Level
from drills.confusions import CallCount, weak_pairs
from drills.grading import Sureness
from drills.screens.opening import pairs_screen
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.picturing import cells_apart, corner_place, lateral_order
from drills.service.tasting import log_flight
from drills.service.weak import overview, pair_page, weak, weakest
from drills.statistics.corners import Advice, Strength
from drills.statistics.dprime import yes_no
from drills.statistics.rindex import estimate_r_index
from drills.statistics.standing import State, standings
from drills.storage.records import IntakeDraft, PourDraft
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Note, Verdict
from tests.desks import TODAY, answer, mix_up

PAIR = ("sauvignon-marlborough", "sauvignon-sancerre")
FAR = ("aglianico-taurasi", "cabernet-napa")
FIRST = date.fromordinal(TODAY) - timedelta(days=60)


def pour(desk: Desk, was: str, called: str, day: int) -> None:
    """Log one pour, so many days after the first."""
    number = len(desk.repository.pours(desk.taster.id))
    desk.ensure_pairs([PAIR])
    desk.repository.record_pours(
        desk.taster.id,
        IntakeDraft("test", f"{number}", desk.clock.now()),
        [
            PourDraft(
                flight=f"{day}",
                tasted_on=FIRST + timedelta(days=day),
                position=1,
                fingerprint=f"{number}",
                called_text=called,
                called_wine=called,
                was_text=was,
                was_wine=was,
            )
        ],
    )


def state(desk: Desk) -> State:
    corner = overview(desk).corner(*PAIR)
    assert corner is not None
    return corner.standing.state


def test_a_taster_who_learns_leaves_the_list_and_returns_with_the_next_confusion(
    desk: Desk,
) -> None:
    """Confused at first, then told apart 9 times of 10, then confused once more."""
    rng = random.Random(3)
    day = 0
    for day in range(6):
        was = PAIR[day % 2]
        pour(desk, was, PAIR[1 - day % 2] if day < 4 else was, day)
    assert state(desk) is State.CONFUSED
    assert {(one.called, one.was) for one in weak(desk)} == {PAIR, PAIR[::-1]}
    while state(desk) is not State.RESOLVED:
        day += 1
        was = PAIR[day % 2]
        right = rng.random() < 0.9
        pour(desk, was, was if right else PAIR[1 - day % 2], day)
        assert day < 60, "nine of ten right must resolve a pair some day"
    assert weak(desk) == []
    found = overview(desk)
    assert found.weak == found.corners == ()
    (resolved,) = found.resolved
    assert resolved.verdict.advice is Advice.RESOLVED
    assert resolved.verdict.glass is Strength.STRONG
    # The rule by the statistics alone: a binomial test, and the last three right.
    assert resolved.standing.p_value <= 0.05
    assert resolved.standing.clean >= 3
    pour(desk, PAIR[0], PAIR[1], day + 1)
    assert state(desk) is State.CONFUSED_AGAIN
    assert (PAIR[1], PAIR[0]) in {(one.called, one.was) for one in weak(desk)}
    assert overview(desk).corners[0].standing.resolved_before == 1


def test_the_list_is_what_the_statistics_say_of_the_log(desk: Desk) -> None:
    mix_up(desk, *PAIR, times=3)
    mix_up(desk, *FAR, flight="Wednesday")
    calls = [
        CallCount(row.was, row.called, row.tasted_on, 1)
        for row in desk.repository.reveals(desk.taster.id)
    ]
    today = date.fromordinal(desk.clock.today())
    assert weak(desk) == weak_pairs(calls, today, desk.cellar.separation)
    found = overview(desk)
    assert [one.wines for one in found.corners] == [PAIR, FAR]
    assert found.corners[0].standing == standings(calls)[PAIR]
    assert found.corner(*PAIR[::-1]) is found.corners[0]
    assert found.corner("riesling-clare", "semillon-hunter") is None


def test_theory_comes_from_the_answers_and_the_memory_of_the_pair(desk: Desk) -> None:
    mix_up(desk, *PAIR)
    session = DrillSession(desk, 600, pair=PAIR)
    kept = [
        answer(session, right=number % 4 != 0, sureness=Sureness(number % 3 + 1))
        for number in range(8)
    ]
    glass = [one for one in kept if one.showing.question.form.value == "which glass"]
    (corner,) = overview(desk).corners
    assert corner.theory.answers == len(glass)
    memories = desk.repository.pair_memories(desk.taster.id)
    recalls = [1.0 for _ in memories]
    # Answered a moment ago, everything is known.
    assert corner.theory.recall == pytest.approx(sum(recalls) / len(recalls))
    rows = {"a": [0] * 6, "b": [0] * 6}
    for one in desk.repository.answers_of_drill(session.drill_id):
        if one.form == "which glass":
            place = 3 - one.sureness if one.given == "a" else 2 + one.sureness
            rows[one.truth][place] += 1
    expected = estimate_r_index(rows["a"], rows["b"]) if all(map(sum, rows.values())) else None
    assert corner.theory.r_index == expected
    said_a, not_a = sum(rows["a"][:3]), sum(rows["b"][:3])
    expected_apart = (
        yes_no(said_a, sum(rows["a"]), not_a, sum(rows["b"]), corrected=True) if expected else None
    )
    assert corner.theory.d_prime == expected_apart


def test_the_page_of_a_pair_tells_its_history_cards_and_missed_cues(desk: Desk) -> None:
    was, called = PAIR[0], PAIR[1]
    log_flight(
        desk,
        FullFlight(
            "Tuesday",
            FIRST,
            (
                FullPour(
                    1,
                    note=Note({"acid": Level.HIGH}),
                    final=Verdict(called, called),
                    reveal=Named(was, was),
                ),
                FullPour(2, final=Verdict(was, was), reveal=Named(was, was)),
            ),
        ),
    )
    session = DrillSession(desk, 600, pair=PAIR)
    answer(session, right=False)
    answer(session)
    page = pair_page(desk, *PAIR[::-1])
    assert page.wines == PAIR
    assert [(one.was, one.called) for one in page.history] == [(was, called), (was, was)]
    assert [(one.called, one.was, one.times) for one in page.ways] == [(called, was, 1)]
    assert page.noted == 1
    # Passion fruit tells Marlborough, and the note never spoke of it.
    assert any("passion fruit" in cue.words for cue in page.missed)
    assert all(cue.times == 1 for cue in page.missed)
    answered = [card for card in page.cards if card.recall is not None]
    assert [card.answers for card in answered] == [1, 1]
    assert sum(card.wrong for card in answered) == 1
    assert len(page.cards) == len(desk.repository.contrasts_of_pair(*PAIR))
    assert page.corner is not None
    assert page.corner.verdict.sentence.endswith(".")


def test_a_pair_that_was_never_confused_has_a_page_without_advice(desk: Desk) -> None:
    page = pair_page(desk, *PAIR)
    assert page.corner is None
    assert page.history == page.ways == page.missed == ()
    assert page.cards


def test_one_drill_takes_the_weakest_pairs_by_turns(desk: Desk) -> None:
    mix_up(desk, *PAIR, times=3)
    mix_up(desk, *FAR, flight="Wednesday")
    pairs = weakest(overview(desk))
    assert pairs == [PAIR, FAR]
    session = pairs_screen(desk, pairs).session
    shown = []
    while (showing := session.next()) is not None and len(shown) < 6:
        shown.append(showing.question.contrast.pair)
        session.answer(showing.question.truth, Sureness.SURE, 5.0)
    assert set(shown) == {PAIR, FAR}
    assert shown[0] != shown[1]


def test_places_in_the_picture_agree_with_the_verdict(desk: Desk) -> None:
    mix_up(desk, *PAIR, times=6)
    mix_up(desk, *FAR, flight="Wednesday")
    found = overview(desk)
    sides = {Strength.WEAK: -1, Strength.UNKNOWN: 0, Strength.STRONG: 1}
    for corner in found.corners:
        for share, side in zip(
            corner_place(corner), (corner.verdict.theory, corner.verdict.glass), strict=True
        ):
            assert (share > 0.5) - (share < 0.5) == sides[side]
    cells = cells_apart(found.corners * 30, 11, 5)
    assert len(cells) == len(set(cells)) == 55


def test_laterals_stand_together(desk: Desk) -> None:
    separation: Callable[[str, str], float] = desk.cellar.separation
    wines = [*PAIR, *FAR, "nebbiolo-barolo", "nebbiolo-barbaresco"]
    row = lateral_order(wines, separation)
    assert sorted(row) == sorted(wines)
    for one, other in (PAIR, ("nebbiolo-barolo", "nebbiolo-barbaresco")):
        assert abs(row.index(one) - row.index(other)) == 1
    assert lateral_order(wines[::-1], separation) == row
    assert lateral_order([PAIR[0]], separation) == [PAIR[0]]
