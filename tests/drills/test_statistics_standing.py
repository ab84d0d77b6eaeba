"""Resolved in the glass: leaving the list of weak pairs, and coming back to it."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from drills.statistics.difference import p_value_any_habit
from drills.statistics.standing import CLEAN, RECENT, Standing, State, standings, unresolved
from drills.storage.records import RevealRow

# Machines that do other work too may take long over one example.
patient = settings(deadline=None)

START = date(2025, 1, 1)
PAIR = ("chablis", "muscadet")
# Each letter is a pour: C and M called rightly, c Chablis taken for Muscadet, m the other way.
MEANING = {
    "C": ("chablis", "chablis"),
    "M": ("muscadet", "muscadet"),
    "c": ("chablis", "muscadet"),
    "m": ("muscadet", "chablis"),
}


def log(pours: str) -> list[RevealRow]:
    """One pour a day."""
    return [RevealRow(*MEANING[one], START + timedelta(day)) for day, one in enumerate(pours)]


def standing(pours: str) -> Standing:
    return standings(log(pours))[PAIR]


def test_a_pair_never_confused_stands_nowhere() -> None:
    assert standings(log("CMCMCM")) == {}
    assert standings([]) == {}


def test_one_confusion_puts_it_on_the_list() -> None:
    found = standing("CMCMCMc")
    assert found.state is State.CONFUSED
    assert (found.times, found.clean, found.right, found.n) == (1, 0, 6, 7)
    assert found.last_confused == START + timedelta(6)


def test_it_leaves_when_right_beyond_luck_and_clean_of_late() -> None:
    # One wrong and then right: with balanced pours 7 of 8 are needed at 5% (ISO 5495).
    assert standing("cMCMCM").state is State.CONFUSED
    assert standing("cMCMCMC").state is State.CONFUSED
    found = standing("cMCMCMCM")
    assert found.state is State.RESOLVED
    assert (found.right, found.n, found.clean) == (7, 8, 7)
    assert found.p_value == p_value_any_habit(7, 4, 4)


def test_a_confusion_brings_it_back_and_it_can_leave_again() -> None:
    resolved = "cMCMCMCM"
    back = standing(resolved + "c")
    assert (back.state, back.resolved_before, back.clean) == (State.CONFUSED_AGAIN, 1, 0)
    # Two right ones are not enough, though the count is beyond luck again with the second.
    assert standing(resolved + "cMC").state is State.CONFUSED_AGAIN
    assert standing(resolved + "cMCM").state is State.RESOLVED
    again = standing(resolved + "cMCM" + "m")
    assert (again.state, again.resolved_before, again.times) == (State.CONFUSED_AGAIN, 2, 3)


def test_two_confusions_in_a_row_end_one_time_of_being_resolved() -> None:
    # Still 17 of the last 20 right, but no longer clean when the second one comes.
    assert standing("c" + "MC" * 10 + "cM" + "m").resolved_before == 1
    assert standing("c" + "MC" * 10 + "cMCM" + "m").resolved_before == 2


def test_right_calls_before_the_first_confusion_do_not_count_as_resolved() -> None:
    # Ten right ones and then a slip: it was never on the list that it could have left.
    assert standing("CMCMCMCMCMc").resolved_before == 0
    assert standing("CMCMCMCMCMc").state is State.CONFUSED
    assert standing("CMCMCMCMCMcMCM").state is State.RESOLVED


def test_old_pours_are_forgotten() -> None:
    bad = "cm" * 15
    assert standing(bad + "CM" * 7).state is State.CONFUSED
    # 15 of the latest 20 are needed (ISO 5495 at 5%), however bad the years before.
    assert standing(bad + "CM" * 7 + "C").right == 15
    assert standing(bad + "CM" * 8).state is State.RESOLVED
    assert standing(bad + "CM" * 8).n == RECENT


def test_a_habit_resolves_nothing() -> None:
    # Everything is called Chablis, and nearly everything is Chablis.
    assert standing("m" + "C" * 19).state is State.CONFUSED
    assert standing("m" + "C" * 400).state is State.CONFUSED
    # The same number right on both wines is another matter.
    assert standing("m" + "CM" * 9 + "C").state is State.RESOLVED


def test_third_wines_and_pours_without_a_call_are_no_comparison() -> None:
    base = log("cMCMCMCM")
    more = [
        RevealRow("chablis", None, START + timedelta(20)),
        RevealRow("chablis", "sancerre", START + timedelta(21)),
        RevealRow("sancerre", "muscadet", START + timedelta(22)),
        RevealRow("sancerre", "sancerre", START + timedelta(23)),
    ]
    assert standings(base + more)[PAIR] == standings(base)[PAIR]
    assert set(standings(base + more)) == {
        PAIR,
        ("chablis", "sancerre"),
        ("muscadet", "sancerre"),
    }


def test_dates_order_the_calls_and_undated_ones_are_the_oldest() -> None:
    calls = log("CMCMCMCM")
    late = RevealRow("chablis", "muscadet", START + timedelta(300))
    assert standings([late, *calls])[PAIR].state is State.CONFUSED
    undated = RevealRow("chablis", "muscadet", None)
    assert standings([*calls, undated])[PAIR].state is State.RESOLVED
    assert standings([*calls, undated])[PAIR].last_confused is None


def test_how_far_apart_the_two_stand_is_d_prime_of_yes_and_no() -> None:
    # Chablis 4 of 5 right, Muscadet 3 of 5; half a call and one pour are added to each share
    # (Hautus 1995).
    found = standing("cCCCC" + "mmMMM")
    told = found.d_prime
    assert told is not None
    assert told.value == pytest.approx(stats.norm.ppf(4.5 / 6) - stats.norm.ppf(2.5 / 6))
    assert told.low < 0 < told.high
    surely = standing("c" + "CM" * 10).d_prime
    assert surely is not None
    assert surely.low > told.value


def test_of_one_wine_alone_nobody_knows_how_far_the_two_are_apart() -> None:
    assert standing("cCCC").d_prime is None
    assert standing("c" + "M" * RECENT).d_prime is None


def test_always_the_same_name_is_not_apart_at_all() -> None:
    told = standing("CmCmCmCm").d_prime
    assert told is not None
    assert told.value == pytest.approx(0)


def test_the_list_holds_what_is_not_resolved() -> None:
    calls = [*log("cMCMCMCM"), RevealRow("barolo", "brunello", START)]
    found = unresolved(standings(calls).values())
    assert [(one.wine_a, one.wine_b) for one in found] == [("barolo", "brunello")]


@patient
@given(
    # Mostly right, so that pairs are resolved and come back.
    st.lists(st.sampled_from("CCCCCMMMMMcm"), max_size=70),
    st.integers(1, 25),
    st.integers(1, 5),
)
def test_the_rule_by_brute_force(pours: list[str], recent: int, clean: int) -> None:
    recent = max(recent, clean)

    def passes(history: list[str]) -> bool:
        tail = history[-recent:]
        of_a = sum(one in "Cc" for one in tail)
        right = sum(one.isupper() for one in tail)
        return (
            len(history) >= clean
            and all(one.isupper() for one in history[-clean:])
            and p_value_any_habit(right, of_a, len(tail) - of_a) <= 0.05
        )

    found = standings(log("".join(pours)), recent=recent, clean=clean).get(PAIR)
    wrong = [place for place, one in enumerate(pours) if one.islower()]
    if not wrong:
        assert found is None
        return
    assert found is not None
    tail = pours[-recent:]
    assert (found.right_a, found.n_a) == (tail.count("C"), sum(one in "Cc" for one in tail))
    assert (found.right, found.n) == (sum(one.isupper() for one in tail), len(tail))
    assert found.times == len(wrong)
    assert found.clean == len(pours) - wrong[-1] - 1
    left = 0
    for before, place in pairwise(wrong):
        if place - before - 1 >= clean and passes(pours[:place]):
            left += 1
    assert found.resolved_before == left
    if found.clean >= clean and passes(pours):
        assert found.state is State.RESOLVED
    else:
        assert found.state is (State.CONFUSED_AGAIN if left else State.CONFUSED)


@pytest.mark.parametrize(("habit", "share"), [(0.5, 0.5), (0.8, 0.8), (0.5, 0.8), (1.0, 0.9)])
def test_who_cannot_tell_them_apart_seldom_stands_as_resolved(habit: float, share: float) -> None:
    # A guesser with a habit: at any one moment at most 5% of such pairs may stand as resolved.
    rng = np.random.default_rng(12)
    runs, moments = 300, (10, 20, 40, 60)
    stood = dict.fromkeys(moments, 0)
    for _ in range(runs):
        poured = rng.random(60) < share
        called = rng.random(60) < habit
        pours = "".join(
            ("C" if says else "c") if is_a else ("m" if says else "M")
            for is_a, says in zip(poured, called, strict=True)
        )
        for moment in moments:
            found = standings(log(pours[:moment])).get(PAIR)
            stood[moment] += found is not None and found.state is State.RESOLVED
    for times in stood.values():
        assert times / runs <= 0.05


def test_who_can_tell_them_apart_is_told_so_soon() -> None:
    # Right nine times in ten: by 25 pours three in four pairs have been resolved at least once.
    rng = np.random.default_rng(13)
    done = 0
    for _ in range(200):
        pours = "c" + "".join(
            one if rng.random() < 0.9 else one.lower() for one in rng.choice(["C", "M"], size=24)
        )
        done += any(
            standings(log(pours[:many]))[PAIR].state is State.RESOLVED for many in range(5, 26)
        )
    assert done / 200 > 0.75


def test_windows_that_cannot_be_are_refused() -> None:
    assert CLEAN <= RECENT
    for recent, clean in ((0, 0), (3, 0), (2, 3)):
        with pytest.raises(ValueError, match="clean"):
            standings([], recent=recent, clean=clean)
