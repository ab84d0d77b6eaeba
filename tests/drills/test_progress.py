"""Progress: every number is what the statistics say of a log that is known."""

from __future__ import annotations

import json
import math
import random
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from cards.questions import Form
from cards.scale import Level
from drills.cli import main
from drills.errors import NotPossibleError
from drills.grading import Grade, Sureness
from drills.memory import MemoryModel
from drills.planner import USUAL_SECONDS
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.forecast import USUAL_DAYS, forecast
from drills.service.progress import (
    CHANCES,
    LATELY_DAYS,
    SHOWN_DAYS,
    basics,
    confusion_table,
    effort,
    progress,
    set_plan,
)
from drills.service.tasting import log_flight
from drills.statistics.calibration import brier, claimed, own_probabilities, stated
from drills.statistics.change import change_of_mind
from drills.statistics.dprime import estimate_d_prime
from drills.statistics.shares import wilson
from drills.statistics.structure import alcohol_calls
from drills.storage.counted import TimedAnswer
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Note, Verdict
from tests.desks import START, TODAY, Watch, answer, mix_up

PAIR = ("sauvignon-marlborough", "sauvignon-sancerre")
DAY = date.fromordinal(TODAY)
CALLED = [(16.1, 15.6), (13.5, 12.5), (12.5, 12.5), (14.0, 13.5)]


def drink(desk: Desk) -> None:
    """A flight with alcohol, acid, first and final calls that are known."""
    was, other = PAIR
    calls = [(was, was), (was, other), (other, was), (other, other)]
    log_flight(
        desk,
        FullFlight(
            "Tuesday",
            DAY,
            tuple(
                FullPour(
                    number + 1,
                    note=Note({"alcohol": alcohol, "acid": Level.HIGH}),
                    first=Verdict(first, first),
                    final=Verdict(final, final),
                    reveal=Named(was, was),
                    label_alcohol=label,
                )
                for number, ((alcohol, label), (first, final)) in enumerate(
                    zip(CALLED, calls, strict=True)
                )
            ),
        ),
    )


def drill(desk: Desk, watch: Watch, number: int = 24) -> None:
    rng = random.Random(4)
    session = DrillSession(desk, 1200)
    for _ in range(number):
        watch.go_on(10)
        answer(session, right=rng.random() < 0.7, sureness=rng.choice(list(Sureness)))
    session.end()


def test_sureness_is_what_the_statistics_say_of_the_answers(desk: Desk, watch: Watch) -> None:
    drill(desk, watch)
    watch.next_morning(9)
    drill(desk, watch)
    kept = desk.repository.answers_between(desk.taster.id, 0, TODAY + 99)
    found = {form.form: form for form in progress(desk).sureness}
    assert {one.form for one in kept} == {form.value for form in found}
    for form, shown in found.items():
        mine = [one for one in kept if one.form == form.value]
        given = Counter(one.sureness for one in mine)
        right = Counter(one.sureness for one in mine if one.correct)
        counts = {Sureness(s): (n, right[s]) for s, n in sorted(given.items())}
        assert {word.sureness: (word.n, word.right) for word in shown.words} == counts
        assert shown.brier == brier(stated(counts, CHANCES[form]))
        options = {Form.WHICH_GLASS: 2, Form.WHICH_LEVEL: 5}.get(form, 4)
        assert shown.d_prime == estimate_d_prime(right.total(), len(mine), options)
        own = own_probabilities(counts, CHANCES[form])
        for word in shown.words:
            assert word.observed == wilson(*reversed(counts[word.sureness]))
            assert word.claimed == claimed(word.sureness, CHANCES[form])
            assert word.own == own[word.sureness]


def test_every_form_has_its_chance() -> None:
    assert set(CHANCES) == set(Form)


def test_calls_are_what_the_statistics_say_of_the_pours(desk: Desk) -> None:
    drink(desk)
    found = progress(desk)
    # Half too high, one, right and half. 16.1 - 15.6 is a half, though not in binary.
    assert found.alcohol == alcohol_calls(4, 2.0, 1.5, 3)
    assert (found.both_right, found.both_wrong) == (1, 1)
    assert found.calls == change_of_mind(1, 1, 1, 1)
    (acid,) = found.structure
    assert (acid.attribute, acid.pours, acid.wines) == ("acid", 4, 1)
    assert found.confusions is not None
    table = dict(zip(found.confusions.wines, found.confusions.counts, strict=True))
    places = {wine: place for place, wine in enumerate(found.confusions.wines)}
    assert table[PAIR[0]][places[PAIR[0]]] == table[PAIR[0]][places[PAIR[1]]] == 2
    assert table[PAIR[1]] == (0, 0)


def test_the_json_holds_the_numbers_of_the_service(
    desk: Desk, watch: Watch, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    drill(desk, watch)
    drink(desk)
    monkeypatch.setattr("drills.commands.standing.desk_of", lambda _: desk)
    assert main(["progress", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    found = progress(desk)
    assert list(said) == [
        "day",
        "exam",
        "minutes",
        "recall",
        "forecast",
        "effort",
        "sureness",
        "r_index",
        "alcohol",
        "structure",
        "confusions",
        "calls",
        "pairs",
        "missing",
    ]
    assert said["recall"] == {
        "today": pytest.approx(found.basics.recall, abs=1e-4),
        "met": len(desk.repository.memories(desk.taster.id)),
        "unseen": found.basics.unseen,
    }
    assert found.r_index is not None
    assert said["r_index"]["value"] == pytest.approx(found.r_index.value, abs=1e-4)
    assert found.alcohol is not None
    assert said["alcohol"]["bias"] == pytest.approx(found.alcohol.spread.bias.value, abs=1e-4)
    assert said["alcohol"]["bias"] == pytest.approx(0.5)
    assert said["calls"] | {"gain": 0} == {
        "both_right": 1,
        "lost": 1,
        "gained": 1,
        "both_wrong": 1,
        "p": 1.0,
        "gain": 0,
        "low": pytest.approx(-0.693, abs=1e-3),
        "high": pytest.approx(0.693, abs=1e-3),
    }
    (pair,) = said["pairs"]
    assert pair["wines"] == list(PAIR)
    assert pair["state"] == "confused"
    # Of the two only one was poured, and no card was answered.
    assert pair["d_prime"] == {"glass": None, "cards": None}
    assert all(one["d_prime"]["low"] < one["d_prime"]["high"] for one in said["sureness"])
    assert said["structure"][0]["kappa"] is None  # one wine has one level
    assert said["missing"] == []
    assert main(["progress"]) == 0
    printed = capsys.readouterr().out
    for words in ("recall today", "sureness, which glass", "alcohol against label: +0.50"):
        assert words in printed
    assert found.calls is not None
    assert f"luck alone goes as far in {found.calls.p_exact:.1%} of tries" in printed
    readme = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
    entry = readme[readme.index("- `progress`:") :].partition("\n- `")[0]
    assert not {name for name in names_in(said) if name not in entry}


def names_in(value: Any) -> set[str]:
    """Every key of some JSON."""
    if isinstance(value, dict):
        return set(value).union(*map(names_in, value.values()))
    return set().union(*map(names_in, value)) if isinstance(value, list) else set()


def test_an_empty_database_says_what_each_part_waits_for(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert home.is_dir()
    assert main(["progress", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    for part in ("r_index", "alcohol", "confusions", "calls"):
        assert said[part] is None
    assert said["recall"]["today"] is None
    assert said["sureness"] == said["structure"] == said["pairs"] == []
    assert len(said["missing"]) == 6
    assert all(words.endswith(".") for words in said["missing"])
    assert main(["progress"]) == 0
    assert "note: No confusion is logged yet." in capsys.readouterr().out


# ---- minutes


def test_minutes_run_from_answer_to_answer_without_the_pauses() -> None:
    first = TODAY - SHOWN_DAYS + 1
    times = [10, 30, 400, 410]
    answers = [
        TimedAnswer(TODAY, 1, START, START + timedelta(seconds=seconds)) for seconds in times
    ]
    late = START + timedelta(hours=2)
    answers.append(TimedAnswer(TODAY, 2, late, late + timedelta(seconds=20)))
    found = effort(answers, first, TODAY)
    # 10 + 20 + a pause cut to 60 + 10 seconds, and 20 of the second drill.
    assert found.days[-1].minutes == pytest.approx(2.0)
    assert found.days[-1].answers == 5
    assert len(found.days) == SHOWN_DAYS
    assert found.lately == pytest.approx(2.0 / LATELY_DAYS)
    # Five answers make no pace of one's own.
    assert found.pace == USUAL_SECONDS


def test_a_pace_of_ones_own_comes_from_enough_answers(desk: Desk, watch: Watch) -> None:
    drill(desk, watch, 24)
    found = basics(desk)
    assert found.effort.pace == pytest.approx(10, abs=0.5)
    assert found.effort.days[-1].answers == 24
    # Some of the answers were checks of a slip.
    assert found.met == len(desk.repository.memories(desk.taster.id)) < 24


# ---- the forecast


def seen(model: MemoryModel, number: int) -> list[Any]:
    return [
        model.after(model.after(None, Grade.RECALLED, TODAY - 12), Grade.RECALLED, TODAY - 8)
        for _ in range(number)
    ]


def looked(minutes: int, days: int | None = 60, *, met: int = 60, unseen: int = 300) -> Any:
    model = MemoryModel()
    exam = None if days is None else DAY + timedelta(days=days)
    return forecast(
        model, seen(model, met), unseen, today=TODAY, exam=exam, minutes=minutes, pace=12.0
    )


def test_more_minutes_reach_more_and_none_lets_recall_sink() -> None:
    little, much = looked(2), looked(30)
    assert little.met < much.met
    assert much.recall > little.points[-1].stop
    stops = [point.stop for point in little.points]
    assert stops == sorted(stops, reverse=True)
    assert little.points[0].stop == little.points[0].practise
    model = MemoryModel()
    now = sum(model.recall(trace, TODAY) for trace in seen(model, 60)) / 60
    assert little.points[0].stop == pytest.approx(now)
    last = sum(model.recall(trace, TODAY + 60) for trace in seen(model, 60)) / 60
    assert little.points[-1].stop == pytest.approx(last)


def test_the_minutes_for_all_are_enough_and_fewer_are_not() -> None:
    found = looked(10)
    assert found.for_all is not None
    assert looked(math.ceil(found.for_all * 1.3)).met >= 0.99 * 360
    assert looked(max(math.floor(found.for_all * 0.4), 1)).met < 0.99 * 360


def test_the_same_memories_give_the_same_forecast() -> None:
    assert looked(10) == looked(10)


@pytest.mark.parametrize(
    ("minutes", "days", "said"),
    [
        (10, None, f"No exam date is set; looking {USUAL_DAYS} days ahead"),
        (10, -3, "is past"),
        (10, 0, "The exam is today"),
        (1, 30, "minutes a day"),
        (120, 200, "all of the table is within reach"),
        (10, 1, "1 day to the exam"),
    ],
)
def test_the_forecast_says_honestly_what_is_reachable(
    minutes: int, days: int | None, said: str
) -> None:
    found = looked(minutes, days)
    assert said in found.sentence
    assert found.is_exam == (days is not None and days >= 0)


def test_what_cannot_be_kept_is_said() -> None:
    found = looked(1, 30, met=600)
    assert found.to_keep > 1
    assert "not all of it can be kept" in found.sentence


def test_a_large_memory_is_sampled_and_little_changes() -> None:
    small, large = looked(10, met=900, unseen=0), looked(20, met=1800, unseen=0)
    assert large.to_keep == pytest.approx(2 * small.to_keep, rel=0.1)
    assert large.recall == pytest.approx(small.recall, abs=0.05)


def test_nothing_met_is_no_trouble() -> None:
    found = looked(10, met=0)
    assert found.points[0].stop == 0.0
    assert found.met > 0


# ---- confusions, settings


def test_the_table_of_confusions_takes_whole_pairs_and_counts_who_is_left(desk: Desk) -> None:
    calls = {
        (PAIR[0], PAIR[1]): 5,
        (PAIR[0], PAIR[0]): 9,
        ("nebbiolo-barolo", "sangiovese-brunello"): 2,
        ("riesling-clare", "semillon-hunter"): 1,
    }
    found = confusion_table(desk, calls, most=5)
    assert found is not None
    assert set(found.wines) == {*PAIR, "nebbiolo-barolo", "sangiovese-brunello"}
    assert found.left_out == 2
    assert sum(map(sum, found.counts)) == 16
    assert confusion_table(desk, {(PAIR[0], PAIR[0]): 4}) is None


def test_exam_and_minutes_are_kept_and_the_forecast_follows(desk: Desk, watch: Watch) -> None:
    drill(desk, watch, 20)
    exam = DAY + timedelta(days=100)
    set_plan(desk, minutes=25, exam=exam)
    found = progress(desk)
    assert (found.forecast.day, found.forecast.is_exam, found.forecast.minutes) == (exam, True, 25)
    assert desk.settings.minutes == 25
    set_plan(desk, minutes=25, exam=None)
    assert not progress(desk).forecast.is_exam


def test_settings_that_cannot_be_written_change_nothing(desk: Desk, home: Path) -> None:
    (home / "settings.toml").mkdir()
    desk.settings = desk.settings if "settings" in desk.__dict__ else _defaults()
    with pytest.raises(NotPossibleError, match="cannot be changed"):
        set_plan(desk, minutes=5, exam=None)
    assert desk.settings.minutes == 10


def _defaults() -> Any:
    from drills.settings import Settings

    return Settings()


def test_confusions_alone_are_enough_for_a_page(desk: Desk) -> None:
    mix_up(desk, *PAIR)
    found = progress(desk)
    assert found.confusions is not None
    assert [one.wines for one in found.overview.corners] == [PAIR]
