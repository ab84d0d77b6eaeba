"""Planned drills at the desk: what comes, why, and how much of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from drills.errors import UsageError
from drills.grading import Sureness
from drills.planner import Why
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.resuming import left_over
from drills.settings import load_settings
from tests.desks import Watch, answer, answer_all, mix_up, right_answer, wrong_answer


def test_the_second_card_is_weighed_and_says_why_it_comes_now(desk: Desk, watch: Watch) -> None:
    first = answer(DrillSession(desk, 600)).showing
    assert first.reason == ""
    session = DrillSession(desk, 600)
    answer_all(session, 20, right=lambda showing: showing.question.contrast.id % 2 == 0)
    watch.next_morning(12)
    later = DrillSession(desk, 600)
    answer(later)
    told = [later.next(), *[answer(later).showing for _ in range(15)]]
    for showing in told:
        assert showing is not None
        words = {Why.DUE: "recall about", Why.UNSEEN: "by what it may cost you"}
        assert words[showing.why] in showing.reason, (showing.why, showing.reason)


def test_a_style_that_the_exam_weighs_more_is_introduced_more(desk: Desk) -> None:
    def styles(weights: dict[str, float]) -> int:
        desk.__dict__["settings"] = replace(load_settings(Path("nowhere")), exam_weights=weights)
        session = DrillSession(desk, 1200)
        answer(session)
        found = [answer(session).showing.question.contrast.pair for _ in range(30)]
        for _ in range(31):
            session.undo()
        return sum(desk.table.profiles[one].style == "red" for one, _ in found)

    assert styles({"red": 10.0}) > styles({"red": 0.1}) + 10


@pytest.mark.parametrize("text", ["[exam-weights]\npink = 1", "[exam-weights]\nred = -1"])
def test_a_wrong_exam_weight_is_named(tmp_path: Path, text: str) -> None:
    file = tmp_path / "settings.toml"
    file.write_text(text)
    with pytest.raises(UsageError, match=r"settings\.toml"):
        load_settings(file)


def test_a_drill_of_one_style_shows_pairs_of_that_style_only(desk: Desk) -> None:
    session = DrillSession(desk, 600, style="sparkling")
    pairs = [one.showing.question.contrast.pair for one in answer_all(session, 20)]
    styles = {desk.table.profiles[wine].style for pair in pairs for wine in pair}
    assert styles == {"sparkling"}


def test_a_drill_of_dangerous_confidence_shows_what_was_wrong_and_sure_until_mended(
    desk: Desk, watch: Watch
) -> None:
    session = DrillSession(desk, 600)
    sure: list[int] = []
    leaning: list[int] = []
    for number in range(8):
        showing = session.next()
        assert showing is not None
        said = Sureness.SURE if number % 2 else Sureness.LEANING
        session.answer(wrong_answer(showing), said, 5.0)
        if showing.why is not Why.CHECK:
            (sure if number % 2 else leaning).append(showing.question.contrast.id)
    watch.next_morning()
    again = DrillSession(desk, 600, sure_slips=True)
    for _ in sure:
        showing = again.next()
        assert showing is not None
        assert showing.why is Why.SURE_SLIP
        assert showing.question.contrast.id in sure
        again.answer(right_answer(showing), Sureness.SURE, 5.0)
    assert again.next() is None
    assert DrillSession(desk, 600, sure_slips=True).next() is None


def test_a_drill_can_be_made_longer_also_when_its_time_is_up(desk: Desk, watch: Watch) -> None:
    session = DrillSession(desk, 120)
    answer(session)
    watch.go_on(130)
    assert session.left == 0
    session.extend()
    assert session.left == 120
    assert session.next() is not None


@pytest.mark.parametrize("minutes", [2, 5])
def test_a_short_drill_shows_confusions_first_and_ends_in_time(
    desk: Desk, watch: Watch, minutes: int
) -> None:
    mix_up(desk, "sauvignon-marlborough", "sauvignon-sancerre")
    session = DrillSession(desk, 60 * minutes)
    shown = []
    while (showing := session.next()) is not None:
        shown.append(showing.why)
        session.answer(right_answer(showing), Sureness.SURE, 12.0)
        watch.go_on(12)
        session.prepare()
    assert len(shown) == 5 * minutes
    assert shown[0] is Why.CONFUSED


def test_what_is_left_of_a_stopped_drill_can_be_gone_on_with(
    open_desk: Callable[[], Desk], watch: Watch
) -> None:
    desk = open_desk()
    assert left_over(desk) == 0
    session = DrillSession(desk, 300)
    for _ in range(5):
        answer(session, seconds=20.0)
    session.end()
    assert left_over(open_desk()) == pytest.approx(200)
    watch.next_morning()
    assert left_over(open_desk()) == 0


def test_after_a_week_away_the_return_is_spread_by_worth(desk: Desk, watch: Watch) -> None:
    for _ in range(5):
        answer_all(DrillSession(desk, 3600), 40)
        watch.next_morning()
    watch.next_morning(7)
    waits = desk.repository.counts(desk.taster.id, desk.clock.today()).due
    session = DrillSession(desk, 600)
    answer(session)
    session.prepare()
    # As many cards as there is time for at six seconds each, whatever waits.
    assert waits > 130
    assert len(session._choice._queue) <= 100


def test_the_same_log_gives_the_same_plan(open_desk: Callable[[], Desk], watch: Watch) -> None:
    from drills.service.planned import Planned

    desk = open_desk()
    answer_all(DrillSession(desk, 600), 30, right=lambda one: one.question.contrast.id % 3 > 0)
    watch.next_morning(3)
    plans = [Planned(each) for each in (desk, open_desk())]
    for one in plans:
        one.paced(12.0, 12.0)
    first, second = (one.waiting(set(), 200, room=50) for one in plans)
    assert first == second
