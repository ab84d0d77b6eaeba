"""What a taster can rely on in the order of cards, whatever waits."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.planner import USUAL_SECONDS, Waiting, Why, interleave, plan, that_fit

WINES = ("aligote", "barolo", "chablis", "dolcetto")
PAIRS = [(a, b) for a in WINES for b in WINES if a < b]


def waiting(why: Why, *, most: int = 25) -> st.SearchStrategy[list[Waiting]]:
    """Contrasts of a few pairs; the same contrast may wait for several reasons, or twice."""
    ids = st.integers(min_value=1, max_value=40)
    takes = st.floats(min_value=0.1, max_value=60)
    one = st.builds(lambda n, seconds: Waiting(n, PAIRS[n % len(PAIRS)], why, seconds), ids, takes)
    return st.lists(one, max_size=most)


def cards(number: int, pair: tuple[str, str], why: Why, start: int = 0) -> list[Waiting]:
    return [Waiting(start + n, pair, why) for n in range(number)]


QUEUES = {
    "confused": waiting(Why.CONFUSED),
    "due": waiting(Why.DUE),
    "unseen": waiting(Why.UNSEEN),
}
SECONDS = st.floats(min_value=0, max_value=1200)


def repeats_needlessly(planned: list[Waiting]) -> bool:
    """Whether a pair follows itself although another one was still to come."""
    for place, (one, after) in enumerate(pairwise(planned)):
        if one.pair == after.pair and any(c.pair != one.pair for c in planned[place + 1 :]):
            return True
    return False


@given(**QUEUES, seconds=SECONDS)
def test_each_contrast_is_shown_once_however_many_reasons_it_waits_for(
    confused: list[Waiting],
    due: list[Waiting],
    unseen: list[Waiting],
    seconds: float,
) -> None:
    shown = [one.contrast_id for one in plan(confused, due, unseen, seconds=seconds)]
    assert len(shown) == len(set(shown))
    assert set(shown) <= {one.contrast_id for one in (*confused, *due, *unseen)}


@given(**QUEUES, seconds=SECONDS)
def test_as_many_cards_are_planned_as_there_is_time_for_and_one_at_least(
    confused: list[Waiting],
    due: list[Waiting],
    unseen: list[Waiting],
    seconds: float,
) -> None:
    planned = plan(confused, due, unseen, seconds=seconds)
    there = {one.contrast_id for one in (*confused, *due, *unseen)}
    # Nobody is taken to answer faster than one card a second.
    takes = sorted(max(one.seconds, 1.0) for one in planned)
    assert bool(planned) == bool(there)
    if planned:
        # Taking the quickest as the last one favours neither limit.
        assert len(planned) == 1 or sum(takes) - takes[-1] / 2 <= seconds
    if len(planned) < len(there):
        longest = max(max(one.seconds, 1.0) for one in (*confused, *due, *unseen))
        assert sum(takes) + longest / 2 > seconds


@given(**QUEUES, seconds=SECONDS)
def test_what_was_mixed_up_in_a_tasting_comes_before_everything_else(
    confused: list[Waiting], due: list[Waiting], unseen: list[Waiting], seconds: float
) -> None:
    planned = plan(confused, due, unseen, seconds=seconds)
    reasons = [one.why for one in planned]
    mixed_up = reasons.count(Why.CONFUSED)
    assert reasons[:mixed_up] == [Why.CONFUSED] * mixed_up
    wanted = {one.contrast_id for one in confused}
    left = [one for one in reasons if one is not Why.CONFUSED]
    assert mixed_up == len(wanted) or not left


@given(
    st.lists(st.sampled_from(PAIRS), max_size=30),
    st.lists(st.sampled_from(PAIRS), max_size=5),
)
def test_a_pair_never_follows_itself_while_another_waits(
    pairs: list[tuple[str, str]], just_shown: list[tuple[str, str]]
) -> None:
    left = [Waiting(number, pair, Why.DUE) for number, pair in enumerate(pairs)]
    shown = [Waiting(-1 - number, pair, Why.DUE) for number, pair in enumerate(just_shown)]
    ordered = interleave(left, after=shown)
    assert sorted(one.contrast_id for one in ordered) == list(range(len(pairs)))
    assert not repeats_needlessly([*shown[-1:], *ordered])


@given(st.lists(st.sampled_from(PAIRS), max_size=30))
def test_contrasts_of_one_pair_keep_the_order_they_were_given_in(
    pairs: list[tuple[str, str]],
) -> None:
    ordered = interleave([Waiting(n, pair, Why.DUE) for n, pair in enumerate(pairs)])
    for pair in PAIRS:
        of_pair = [one.contrast_id for one in ordered if one.pair == pair]
        assert of_pair == sorted(of_pair)


def test_with_enough_pairs_three_others_stand_between_two_contrasts_of_one() -> None:
    left = [Waiting(n, PAIRS[n // 5], Why.DUE) for n in range(25)]
    ordered = [one.pair for one in interleave(left)]
    for pair in PAIRS[:5]:
        places = [place for place, other in enumerate(ordered[:20]) if other == pair]
        assert all(later - earlier > 3 for earlier, later in pairwise(places)), ordered


def test_a_confused_pair_is_not_asked_again_first_thing_after_its_confusion() -> None:
    confused = cards(1, PAIRS[0], Why.CONFUSED)
    due = cards(2, PAIRS[0], Why.DUE, 10) + cards(2, PAIRS[1], Why.DUE, 20)
    planned = plan(confused, due, [], seconds=600)
    assert [one.contrast_id for one in planned] == [0, 20, 10, 21, 11]


@given(
    due=st.integers(min_value=0, max_value=60),
    unseen=st.integers(min_value=0, max_value=60),
    room=st.integers(min_value=1, max_value=60),
)
def test_one_card_in_four_is_unseen_however_much_is_due(due: int, unseen: int, room: int) -> None:
    old = [Waiting(n, PAIRS[n % 6], Why.DUE, 10) for n in range(due)]
    new = [Waiting(100 + n, PAIRS[n % 6], Why.UNSEEN, 10) for n in range(unseen)]
    planned = plan([], old, new, seconds=room * 10)
    number = sum(one.why is Why.UNSEEN for one in planned)
    share = len(planned) // 4
    # Where one kind runs out the other fills the time.
    assert number == min(unseen, max(share, len(planned) - due))


def test_due_cards_come_in_the_order_given_and_unseen_ones_too() -> None:
    due = [Waiting(n, PAIRS[n % 6], Why.DUE) for n in range(6)]
    unseen = [Waiting(100 + n, PAIRS[n % 6], Why.UNSEEN) for n in range(6)]
    planned = plan([], due, unseen, seconds=8 * USUAL_SECONDS)
    assert {one.contrast_id for one in planned} == {0, 1, 2, 3, 4, 5, 100, 101}


def test_what_is_due_and_unseen_at_once_is_shown_as_due() -> None:
    planned = plan([], cards(1, PAIRS[0], Why.DUE), cards(1, PAIRS[0], Why.UNSEEN), seconds=99)
    assert [one.why for one in planned] == [Why.DUE]


@pytest.mark.parametrize("seconds", [0.0, 1.0, 600.0])
def test_where_nothing_waits_nothing_is_planned(seconds: float) -> None:
    assert plan([], [], [], seconds=seconds) == []


@given(st.lists(st.floats(min_value=1, max_value=60), min_size=1, max_size=40), SECONDS)
def test_what_fits_is_counted_by_what_each_card_takes(takes: list[float], seconds: float) -> None:
    cards = [Waiting(n, PAIRS[0], Why.DUE, one) for n, one in enumerate(takes)]
    fitting = that_fit(cards, seconds)
    assert fitting == cards[: len(fitting)]
    assert fitting
    # The last is at least half over when the time is up; one more would not be.
    *before, last = takes[: len(fitting)]
    assert not before or sum(before) + last / 2 <= seconds
    if len(fitting) < len(takes):
        assert sum(takes[: len(fitting)]) + takes[len(fitting)] / 2 > seconds
