"""The desk: what is kept when the table of wines is edited, and what the numbers mean."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from scipy import stats

from cards.cellar import Cellar
from cards.errors import TableError, UnknownWine
from drills.confusions import prior_rate
from drills.errors import UsageError
from drills.grading import Grade, Sureness
from drills.planner import Why
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.today import today
from drills.service.weak import weak
from drills.service.wines import laterals, pair_keys, pair_view
from drills.storage.records import IntakeDraft, MemoryRecord, PourDraft
from tests.desks import (
    TODAY,
    Watch,
    answer,
    answer_all,
    answers_of_pair,
    mix_up,
    right_answer,
)

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
FAR = ("aglianico-taurasi", "cabernet-napa")
# A pair of which acid alone is no contrast but oak alone is.
OAKED = ("chardonnay-chablis", "chardonnay-meursault")


@pytest.fixture
def start(home: Path, watch: Watch) -> Callable[[], Desk]:
    """Start the program anew, with the table as the files now say."""
    assert home.is_dir()
    return lambda: Desk(clock=watch.clock)


def overlay(home: Path, wine: str, text: str) -> Path:
    file = home / "table" / "white" / f"{wine}.toml"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")
    return file


def memory_of(desk: Desk, contrast: int) -> MemoryRecord | None:
    return desk.repository.memory(desk.taster.id, contrast)


def drilled(desk: Desk, pair: tuple[str, str]) -> None:
    session = DrillSession(desk, 600, pair=pair)
    while (showing := session.next()) is not None:
        session.answer(right_answer(showing), Sureness.SURE, 5.0)
    session.end()


# ---- editing the table


def test_an_edit_that_leaves_the_answer_keeps_its_memory(
    home: Path, start: Callable[[], Desk]
) -> None:
    desk = start()
    drilled(desk, OAKED)
    before = desk.repository.memories(desk.taster.id)
    desk.close()
    overlay(home, "chardonnay-chablis", 'telling = "Seashells."\n')
    desk = start()
    after = desk.repository.memories(desk.taster.id)
    assert [row.memory for row in after] == [row.memory for row in before]
    assert desk.table.profiles["chardonnay-chablis"].telling == "Seashells."
    desk.close()


def test_an_edit_that_turns_the_answer_starts_its_memory_anew_and_keeps_the_answers(
    home: Path, start: Callable[[], Desk], watch: Watch
) -> None:
    desk = start()
    drilled(desk, OAKED)
    (oak,) = (one for one in desk.repository.contrasts_of_pair(*OAKED) if one.cues == "oak")
    given = answers_of_pair(desk.repository, desk.taster.id, *OAKED)
    assert memory_of(desk, oak.id) is not None
    profiles = desk.table.profiles
    chablis, meursault = (profiles[wine].structure["oak"] for wine in OAKED)
    desk.close()
    # The two wines change places in oak.
    overlay(home, OAKED[0], f'[structure]\noak = "{meursault}"\n')
    overlay(home, OAKED[1], f'[structure]\noak = "{chablis}"\n')
    watch.next_morning()
    desk = start()
    turned = desk.repository.contrast(oak.id)
    assert turned is not None
    assert turned.retired_at is None
    assert turned.turned_at is not None
    assert turned.bearing != oak.bearing
    assert memory_of(desk, oak.id) is None
    assert oak.id in {row.contrast.id for row in desk.repository.unseen(desk.taster.id, 10_000)}
    assert answers_of_pair(desk.repository, desk.taster.id, *OAKED) == given
    # The new answer is learnt from nothing: the old answers say nothing of it.
    session = DrillSession(desk, 600, pair=OAKED)
    while (showing := session.next()) is not None:
        if showing.question.contrast.id == oak.id:
            break
        session.answer(right_answer(showing), Sureness.SURE, 5.0)
    assert showing is not None
    (read,) = showing.question.readings
    now = desk.table.profiles
    assert read.reading in now[showing.question.truth].structure["oak"]
    assert read.reading not in now[showing.question.other].structure["oak"]
    session.answer(right_answer(showing), Sureness.SURE, 5.0)
    fresh = memory_of(desk, oak.id)
    first = desk.memory.after(None, Grade.RECALLED, desk.clock.today())
    assert fresh is not None
    assert (fresh.answers, fresh.stability) == (1, first.stability)
    session.undo()
    assert memory_of(desk, oak.id) is None
    desk.close()


def test_an_edit_that_takes_a_cue_away_retires_its_contrast_and_keeps_the_answers(
    home: Path, start: Callable[[], Desk]
) -> None:
    desk = start()
    drilled(desk, OAKED)
    oaked = [one for one in desk.repository.contrasts_of_pair(*OAKED) if "oak" in one.cues]
    assert oaked
    given = answers_of_pair(desk.repository, desk.taster.id, *OAKED)
    remembered = {one.id: memory_of(desk, one.id) for one in oaked}
    level = desk.table.profiles[OAKED[1]].structure["oak"]
    desk.close()
    edit = overlay(home, OAKED[0], f'[structure]\noak = "{level}"\n')
    desk = start()
    for one in oaked:
        retired = desk.repository.contrast(one.id)
        assert retired is not None
        assert retired.retired_at is not None
    assert answers_of_pair(desk.repository, desk.taster.id, *OAKED) == given
    asked = {one.id for one in desk.repository.contrasts_of_pair(*OAKED)}
    assert asked
    assert not asked & set(remembered)
    seen = {row.contrast.id for row in desk.repository.memories(desk.taster.id)}
    assert not seen & set(remembered)
    desk.close()
    # Taken back, the edit has cost nothing.
    edit.unlink()
    desk = start()
    for contrast, memory in remembered.items():
        assert memory_of(desk, contrast) == memory
        back = desk.repository.contrast(contrast)
        assert back is not None
        assert back.retired_at is None
    desk.close()


def test_a_wine_of_ones_own_is_taught_beside_the_others(
    home: Path, start: Callable[[], Desk]
) -> None:
    shipped = Path(__file__).parents[2] / "cards" / "table" / "white" / "chardonnay-chablis.toml"
    text = shipped.read_text(encoding="utf-8")
    text = text.replace('name = "Chablis Chardonnay"', 'name = "House Chardonnay"')
    text = text.replace('short = "Chablis"', 'short = "House"').replace("Chablis", "House")
    text = text.replace('acid = "med+ to high"', 'acid = "low"')
    overlay(home, "house-white", text)
    desk = start()
    assert desk.short("house-white") == "House"
    assert desk.repository.contrasts_of_pair("house-white", "chardonnay-chablis")
    desk.close()


def test_a_pair_once_mixed_up_stays_however_the_table_changes(
    home: Path, start: Callable[[], Desk]
) -> None:
    desk = start()
    mix_up(desk, *FAR)
    kept = {one.id for one in desk.repository.contrasts_of_pair(*FAR)}
    assert kept
    desk.close()
    overlay(home, "chardonnay-chablis", 'telling = "Seashells."\n')
    desk = start()
    assert {one.id for one in desk.repository.contrasts_of_pair(*FAR)} == kept
    assert desk.repository.counts(desk.taster.id, TODAY).urgent == len(kept)
    desk.close()


def test_what_was_learnt_of_a_pair_only_asked_for_stays_in_use_after_an_edit(
    home: Path, start: Callable[[], Desk]
) -> None:
    desk = start()
    desk.ensure_pairs([FAR])
    group = {one.id for one in desk.repository.contrasts_of_pair(*FAR)}
    session = DrillSession(desk, 600, pair=FAR)
    learnt = {answer(session).showing.question.contrast.id for _ in range(3)}
    remembered = {contrast: memory_of(desk, contrast) for contrast in learnt}
    desk.close()
    overlay(home, "chardonnay-chablis", 'telling = "Seashells."\n')
    desk = start()
    assert {one.id for one in desk.repository.contrasts_of_pair(*FAR)} == learnt
    desk.ensure_pairs([FAR])
    assert {one.id for one in desk.repository.contrasts_of_pair(*FAR)} == group
    for contrast, memory in remembered.items():
        assert memory is not None
        assert memory_of(desk, contrast) == memory
    desk.close()


def test_a_broken_edit_stops_the_start_and_touches_no_memory(
    home: Path, start: Callable[[], Desk]
) -> None:
    desk = start()
    drilled(desk, OAKED)
    before = desk.repository.memories(desk.taster.id)
    desk.close()
    edit = overlay(home, "chardonnay-chablis", '[structure]\nacid = "enormous"\n')
    desk = start()
    with pytest.raises(TableError, match=r"line 2: structure\.acid"):
        _ = desk.repository
    desk.close()
    edit.unlink()
    desk = start()
    assert desk.repository.memories(desk.taster.id) == before
    desk.close()


def test_a_second_start_changes_nothing(start: Callable[[], Desk], watch: Watch) -> None:
    for _ in range(2):
        desk = start()
        counts = desk.repository.counts(desk.taster.id, TODAY)
        assert counts.unseen == len(desk.cellar.all_contrasts())
        assert len(desk.repository.tasters()) == 1
        desk.close()
        watch.next_morning()


def test_a_wine_that_left_the_table_is_shown_by_its_key_and_not_asked(
    home: Path, start: Callable[[], Desk], watch: Watch
) -> None:
    shipped = Path(__file__).parents[2] / "cards" / "table" / "white" / "chardonnay-chablis.toml"
    text = shipped.read_text(encoding="utf-8").replace("Chablis", "House")
    own = overlay(home, "house-white", text.replace('oak = "low"', 'oak = "high"'))
    desk = start()
    pair = ("chardonnay-chablis", "house-white")
    mix_up(desk, *pair)
    assert answer(DrillSession(desk, 600)).showing.why is Why.CONFUSED
    assert [one.called for one in weak(desk)] == [pair[0]]
    desk.close()
    own.unlink()
    watch.next_morning()
    desk = start()
    assert desk.short("house-white") == "house-white"
    reveals = answer_all(DrillSession(desk, 600), 15)
    assert all("house-white" not in one.showing.question.contrast.pair for one in reveals)
    assert weak(desk) == []
    desk.close()


# ---- numbers


def test_the_first_screen_counts_what_waits(desk: Desk, watch: Watch) -> None:
    first = today(desk)
    assert (first.confused, first.due, first.next_in, first.unresolved) == (0, 0, None, 0)
    assert first.wines == len(desk.table.profiles)
    assert first.unseen == len(desk.cellar.all_contrasts())
    mix_up(desk, *NEAR)
    assert today(desk).confused == len(desk.repository.contrasts_of_pair(*NEAR))
    reveals = answer_all(DrillSession(desk, 600), 4)
    after = today(desk)
    assert after.confused == first.confused + len(desk.repository.contrasts_of_pair(*NEAR)) - 4
    assert after.unseen == first.unseen - 4
    soonest = min(one.back_in for one in reveals if one.back_in is not None)
    assert after.next_in == soonest
    watch.next_morning(soonest)
    assert today(desk).due >= 1
    assert today(desk).next_in == 0


def test_a_name_the_table_does_not_know_waits_to_be_resolved(desk: Desk) -> None:
    pour = PourDraft("Tuesday", None, 1, "x", "Plonk", None, "Barolo", "nebbiolo-barolo")
    desk.repository.record_pours(
        desk.taster.id, IntakeDraft("typed", "d", desk.clock.now()), [pour]
    )
    assert today(desk).unresolved == 1
    assert weak(desk) == []


def test_weak_pairs_are_counted_from_the_log_by_hand(desk: Desk, cellar: Cellar) -> None:
    called, was = NEAR
    mix_up(desk, called, was, times=3)
    right = [
        PourDraft("Wednesday", date.fromordinal(TODAY), n, f"r{n}", was, was, was, was)
        for n in range(5)
    ]
    desk.repository.record_pours(desk.taster.id, IntakeDraft("w", "d", desk.clock.now()), right)
    (pair,) = weak(desk)
    prior = prior_rate(cellar.separation(called, was))
    posterior = stats.beta(4 * prior + 3, 4 * (1 - prior) + 5)
    assert (pair.called, pair.was, pair.times) == (called, was, 3)
    assert pair.rate == pytest.approx(posterior.mean())
    assert (pair.low, pair.high) == pytest.approx(posterior.interval(0.9))


# ---- what the table says


def test_a_pair_lists_every_cue_the_strongest_first(desk: Desk, cellar: Cellar) -> None:
    view = pair_view(desk, *NEAR)
    assert view.wines == NEAR
    assert view.separation_db == pytest.approx(cellar.separation(*NEAR), abs=0.005)
    assert len(view.cues) == len(cellar.cues(*NEAR))
    weights = [cue.weight_db for cue in view.cues]
    assert weights == sorted(weights, reverse=True)
    for cue in view.cues:
        assert cue.toward in NEAR
        assert cue.reading
        assert cue.basis


def test_a_pair_may_be_named_either_way_round_and_as_a_list_names_wines(desk: Desk) -> None:
    keys, names = pair_view(desk, *NEAR), pair_view(desk, "Sancerre", "NZ Sauvignon Blanc")
    assert names.wines == tuple(reversed(keys.wines))
    assert names.cues == keys.cues


def test_the_wine_of_a_pair_that_shows_more_of_a_cue_is_the_one_named(desk: Desk) -> None:
    oak = next(cue for cue in pair_view(desk, *OAKED).cues if cue.cue == "oak")
    assert oak.toward == "chardonnay-meursault"
    alcohol = next(cue for cue in pair_view(desk, *FAR).cues if cue.cue == "alcohol")
    profiles = desk.table.profiles
    more = max(FAR, key=lambda wine: profiles[wine].alcohol.low + profiles[wine].alcohol.high)
    assert alcohol.toward == more


def test_the_same_wine_twice_is_no_pair(desk: Desk) -> None:
    with pytest.raises(UsageError, match="same wine"):
        pair_view(desk, "Chablis", "chardonnay-chablis")
    with pytest.raises(UnknownWine, match="is no wine of the table"):
        pair_keys(desk, "Chablis", "Qwxz")


def test_laterals_are_of_the_same_style_or_named_and_the_nearest_come_first(
    desk: Desk, cellar: Cellar
) -> None:
    found = laterals(desk, "Sancerre")
    profiles = desk.table.profiles
    style = profiles["sauvignon-sancerre"].style
    wines = [one.wine for one in found]
    assert set(wines) == {
        key for key, p in profiles.items() if p.style == style and key != "sauvignon-sancerre"
    }
    gaps = [one.separation_db for one in found]
    assert gaps == sorted(gaps)
    for one in found[:5]:
        apart = cellar.separation("sauvignon-sancerre", one.wine)
        assert one.separation_db == pytest.approx(apart, abs=0.005)
    # A lateral of another style is listed too: nobody takes red Lambrusco for Prosecco first.
    assert laterals(desk, "Lambrusco")[0].wine == "dolcetto-dogliani"
