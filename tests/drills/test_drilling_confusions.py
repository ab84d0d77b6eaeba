"""What was mixed up in a tasting comes first in the next drill."""

from __future__ import annotations

from collections.abc import Callable

from drills.planner import Why
from drills.service.desk import Desk
from tests.desks import (
    TODAY,
    Watch,
    answer,
    answer_all,
    mix_up,
)
from tests.drills.at_the_drill import FAR, NEAR, drill


def test_a_pair_mixed_up_in_a_tasting_stands_at_the_head_of_the_next_drill(
    desk: Desk, watch: Watch
) -> None:
    answer_all(drill(desk), 5)
    watch.next_morning(9)
    mix_up(desk, *FAR)
    number = len(desk.repository.contrasts_of_pair(*FAR))
    reveals = answer_all(drill(desk), number + 5)
    head, rest = reveals[:number], reveals[number:]
    assert {one.showing.question.contrast.pair for one in head} == {FAR}
    assert {one.showing.why for one in head} == {Why.CONFUSED}
    assert all(one.showing.why is not Why.CONFUSED for one in rest)
    assert Why.DUE in {one.showing.why for one in rest}


def test_once_they_are_answered_the_normal_order_returns(desk: Desk, watch: Watch) -> None:
    normal = [one.showing.question.contrast.id for one in answer_all(drill(desk), 6)]
    mix_up(desk, *NEAR)
    waiting = desk.repository.counts(desk.taster.id, TODAY).urgent
    assert waiting == len(desk.repository.contrasts_of_pair(*NEAR))
    answer_all(drill(desk), waiting)
    assert desk.repository.counts(desk.taster.id, TODAY).urgent == 0
    watch.go_on(60)
    later = answer_all(drill(desk), 6)
    assert {one.showing.why for one in later} == {Why.UNSEEN}
    assert not {one.showing.question.contrast.id for one in later} & set(normal)


def test_a_new_confusion_of_the_same_pair_asks_its_cards_again(desk: Desk, watch: Watch) -> None:
    mix_up(desk, *NEAR)
    number = len(desk.repository.contrasts_of_pair(*NEAR))
    answer_all(drill(desk), number)
    watch.go_on(60)
    mix_up(desk, *reversed(NEAR), flight="Wednesday")
    again = answer_all(drill(desk), number)
    assert {one.showing.why for one in again} == {Why.CONFUSED}
    assert {one.showing.question.contrast.pair for one in again} == {NEAR}


def test_the_newest_confusion_comes_before_older_ones_but_pairs_are_mixed(
    desk: Desk, watch: Watch
) -> None:
    mix_up(desk, *FAR)
    watch.go_on(3600)
    mix_up(desk, *NEAR, flight="Wednesday")
    first = answer_all(drill(desk), 8)
    pairs = [one.showing.question.contrast.pair for one in first]
    assert pairs == [NEAR, FAR] * 4


def test_a_confusion_logged_while_a_drill_is_open_comes_in_the_next_drill(
    open_desk: Callable[[], Desk],
) -> None:
    running = drill(open_desk())
    answer(running)
    other = open_desk()
    mix_up(other, *NEAR)
    answer(running)
    assert answer(drill(other)).showing.why is Why.CONFUSED


def test_a_wine_called_rightly_changes_nothing(desk: Desk) -> None:
    from drills.storage.records import IntakeDraft, PourDraft

    pour = PourDraft("Tuesday", None, 1, "x", "Barolo", "nebbiolo-barolo", "B", "nebbiolo-barolo")
    desk.repository.record_pours(
        desk.taster.id, IntakeDraft("typed", "d", desk.clock.now()), [pour]
    )
    assert desk.repository.counts(desk.taster.id, TODAY).urgent == 0
