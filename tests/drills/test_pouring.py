"""The next flight pours what is confused, keeps it sealed, and is revealed glass by glass."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from drills.errors import DrillsError, NotPossibleError, PouringError, StorageError, UsageError
from drills.service.desk import Desk
from drills.service.export import export
from drills.service.flight_sheets import helper_files, taster_files
from drills.service.flight_showing import Asked, Contents, PlannedFlight
from drills.service.planned_flights import (
    find_record,
    look,
    planned_flights,
    reveal_codes,
    reveal_next,
)
from drills.service.pouring import plan, tasters_said
from drills.service.staking import field_of
from drills.service.stock import cellar, undo_cellar
from drills.storage.planned_records import StockRow
from tests.desks import mix_up

CONFUSED = [
    ("sauvignon-sancerre", "sauvignon-marlborough", 3),
    ("nebbiolo-barolo", "sangiovese-brunello", 2),
    ("chardonnay-chablis", "melon-muscadet", 1),
]


@pytest.fixture
def desk(open_desk: Callable[[], Desk]) -> Desk:
    return open_desk()


@pytest.fixture
def confused(desk: Desk) -> Desk:
    """A desk with three weak pairs."""
    for called, was, times in CONFUSED:
        mix_up(desk, called, was, times=times)
    return desk


def held(desk: Desk, flight: PlannedFlight) -> list[Contents]:
    """What is in the glasses, opened as for a helper."""
    opened = look(find_record(desk, flight.number), unsealed=True)
    return [glass.contents for glass in opened.glasses if glass.contents is not None]


def wines(desk: Desk, flight: PlannedFlight) -> list[str]:
    return [one.wine for one in held(desk, flight)]


def fill(desk: Desk, *rows: StockRow) -> None:
    desk.repository.change_stock(desk.taster.id, "list", rows)


def test_wines_too_many_for_one_are_shared_out_among_the_tasters(confused: Desk) -> None:
    tasters = tuple(f"taster {number}" for number in range(1, 7))
    flight = plan(confused, Asked(bottles=12, tasters=tasters, shared=True, seed=3))
    assert len(flight.glasses) == 12
    served = {name: [glass.code for glass in flight.in_order(name)] for name in tasters}
    assert {len(codes) for codes in served.values()} == {8}
    # 6 x 8 pours of 12 wines: each is tasted by four, and as near that as can be.
    times = Counter(code for codes in served.values() for code in codes)
    assert set(times) == {glass.code for glass in flight.glasses}
    assert set(times.values()) == {4}
    for name, sheet in taster_files(flight).items():
        if name.endswith(".csv"):
            assert sum(str(code) in sheet for code in times) == 8
    key = helper_files(confused, look(find_record(confused, flight.number), unsealed=True))
    assert all(str(code) in key[f"flight-{flight.number}-helper-key.csv"] for code in times)
    # What the first taster is not served is revealed as well, after the rest.
    for _ in range(12):
        flight, _ = reveal_next(confused, flight.number)
    assert flight.sealed == 0


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (Asked(bottles=6, tasters=("Ada", "Ben"), shared=True), "every taster has them all"),
        (Asked(bottles=20, tasters=("Ada", "Ben"), shared=True), "need 3 tasters"),
        (Asked(bottles=12, tasters=("Ada", "Ben"), shared=True, white_first=True), "served mixed"),
    ],
)
def test_wines_that_cannot_be_shared_out_are_refused(
    confused: Desk, asked: Asked, words: str
) -> None:
    with pytest.raises(UsageError, match=words):
        plan(confused, asked)
    assert planned_flights(confused) == []


def test_weak_pairs_are_poured_together_and_each_wine_has_its_reason(confused: Desk) -> None:
    flight = plan(confused, Asked(bottles=7, decoys=1, seed=3))
    poured = wines(confused, flight)
    assert len(poured) == len(set(poured)) == 7
    for called, was, _ in CONFUSED:
        assert {called, was} <= set(poured)
    reasons = {one.wine: one.sentence for one in held(confused, flight)}
    assert reasons["sauvignon-sancerre"] == (
        "Sancerre against Marlborough Sauvignon: mixed up 3 times."
    )
    decoy = next(one for one in held(confused, flight) if one.role == "decoy")
    assert decoy.sentence.startswith("A decoy: ")
    covered = flight.coverage
    assert (covered.weak, covered.pairs) == (3, 3)
    assert covered.expected == pytest.approx(covered.expected_all)
    assert "covers 3 of 3 weak pairs" in covered.sentence


def test_without_any_confusion_near_laterals_are_drawn_and_it_says_so(desk: Desk) -> None:
    flights = [plan(desk, Asked(seed=seed)) for seed in (1, 2)]
    assert all("no weak pair yet" in one.coverage.sentence for one in flights)
    assert set(wines(desk, flights[0])) != set(wines(desk, flights[1]))
    profiles = desk.table.profiles
    pairs = [one for one in held(desk, flights[0]) if one.role == "pair"]
    assert len(pairs) >= 4
    for one in pairs:
        others = {other.wine for other in pairs} - {one.wine}
        assert others & set(profiles[one.wine].laterals) or any(
            one.wine in profiles[other].laterals for other in others
        )


def test_the_same_seed_pours_the_same_wines(confused: Desk) -> None:
    first, again = (plan(confused, Asked(seed=5)) for _ in range(2))
    assert sorted(wines(confused, first)) == sorted(wines(confused, again))
    assert {one.code for one in first.glasses}.isdisjoint(one.code for one in again.glasses)


def test_nothing_a_taster_looks_at_names_a_sealed_wine(confused: Desk, tmp_path: Path) -> None:
    flight = plan(confused, Asked(bottles=8, seed=5, tasters=("Ada", "Ben")))
    contents = held(confused, flight)
    assert len(contents) == 8
    confused.repository.close()
    with closing(sqlite3.connect(confused.location)) as reader:
        rows = [
            repr(row)
            for table in ("planned_flight", "planned_pour", "planned_serving")
            for row in reader.execute(f"SELECT * FROM {table}")
        ]
    looked_at = [*rows, repr(flight), repr(planned_flights(confused)), flight.coverage.sentence]
    for one in contents:
        assert not [words for words in looked_at if one.wine in words or one.text in words]
    # The log names what was confused; a decoy stands nowhere in it.
    export(confused, str(tmp_path / "all.csv"))
    exported = (tmp_path / "all.csv").read_text(encoding="utf-8")
    decoys = [one.wine for one in contents if one.role == "decoy"]
    assert len(decoys) == 2
    assert not [wine for wine in decoys if wine in exported]


def test_every_taster_has_every_glass_in_an_order_of_their_own(confused: Desk) -> None:
    flight = plan(confused, Asked(bottles=6, seed=5, tasters=("Ada", "Ben", "Cleo")))
    orders = [tuple(one.code for one in flight.in_order(name)) for name in flight.tasters]
    assert len(set(orders)) == 3
    assert {frozenset(order) for order in orders} == {frozenset(g.code for g in flight.glasses)}
    # A Williams square of six: nobody has a glass where somebody else has it.
    for places in zip(*orders, strict=True):
        assert len(set(places)) == 3


def test_white_comes_before_red_where_that_is_asked(confused: Desk) -> None:
    flight = plan(confused, Asked(bottles=7, decoys=1, seed=5, white_first=True))
    styles = [confused.table.profiles[wine].style for wine in wines(confused, flight)]
    assert styles == sorted(styles, key=["sparkling", "white", "rose", "red"].index)


def test_only_the_cellar_is_poured_where_that_is_asked(confused: Desk) -> None:
    with pytest.raises(PouringError, match="holds no bottle"):
        plan(confused, Asked(bottles=2, decoys=0, cellar_only=True))
    fill(
        confused,
        StockRow("Sancerre 2022", "sauvignon-sancerre", 2022, 20.0, 1),
        StockRow("Cloud of Marlborough", "sauvignon-marlborough", 2023, 18.0, 2),
        StockRow("Barolo", "nebbiolo-barolo", 2019, 50.0, 0),
        StockRow("who knows", None, None, 5.0, 3),
    )
    flight = plan(confused, Asked(bottles=2, decoys=0, cellar_only=True, seed=1))
    assert sorted(one.text for one in held(confused, flight)) == [
        "Cloud of Marlborough",
        "Sancerre 2022",
    ]
    assert flight.coverage.to_buy == 0
    with pytest.raises(PouringError, match="1 short"):
        plan(confused, Asked(bottles=3, decoys=0, cellar_only=True))


def test_a_cellar_without_a_decoy_still_makes_a_flight_and_says_so(confused: Desk) -> None:
    fill(
        confused,
        *(
            StockRow(wine, wine, None, 20.0, 1)
            for called, was, _ in CONFUSED[:2]
            for wine in (called, was)
        ),
    )
    with pytest.raises(PouringError, match="1 decoy is wanted and 0 can be had"):
        plan(confused, Asked(bottles=4, decoys=1, cellar_only=True, seed=1))
    flight = plan(confused, Asked(bottles=4, cellar_only=True, seed=1))
    assert flight.coverage.pairs == 2
    assert flight.asked.decoys == 0
    assert flight.coverage.sentence.endswith("confusions to expect; no decoy fitted")


def test_a_budget_bounds_what_must_be_bought(confused: Desk) -> None:
    with pytest.raises(PouringError, match="usual-price says what such a bottle costs"):
        plan(confused, Asked(bottles=4, decoys=0, budget=100))
    with pytest.raises(PouringError, match="over the budget"):
        plan(confused, Asked(bottles=4, decoys=0, budget=30, usual_price=20))
    fill(
        confused,
        StockRow("Barolo", "nebbiolo-barolo", 2019, 50.0, 1),
        StockRow("Brunello", "sangiovese-brunello", 2019, 60.0, 1),
    )
    flight = plan(
        confused, Asked(bottles=4, decoys=0, budget=45, usual_price=20, dearest=60, seed=1)
    )
    assert {"nebbiolo-barolo", "sangiovese-brunello"} <= set(wines(confused, flight))
    assert (flight.coverage.to_buy, flight.coverage.cost) == (2, 40)


def test_glasses_are_revealed_in_order_and_reasons_wait_for_the_last(confused: Desk) -> None:
    flight = plan(confused, Asked(bottles=2, decoys=0, seed=1))
    now, glass = reveal_next(confused, flight.number)
    assert glass.code == flight.glasses[0].code
    assert glass.contents is not None
    assert glass.contents.wine == wines(confused, flight)[0]
    # The reason would name the other wine.
    assert (glass.contents.sentence, glass.contents.role) == ("", "")
    assert now.glasses[1].contents is None
    assert (now.state, now.sealed) == ("poured", 1)
    done, last = reveal_next(confused, code=flight.glasses[1].code)
    assert (done.state, done.sealed) == ("done", 0)
    assert last.contents is not None
    assert last.contents.sentence
    with pytest.raises(NotPossibleError, match="revealed already"):
        reveal_next(confused, flight.number)


def test_a_bottle_of_the_cellar_is_counted_off_once_and_can_be_put_back(confused: Desk) -> None:
    fill(
        confused,
        StockRow("Sancerre 2022", "sauvignon-sancerre", 2022, 20.0, 1),
        StockRow("Cloud of Marlborough", "sauvignon-marlborough", 2023, 18.0, 2),
    )
    flight = plan(confused, Asked(bottles=2, decoys=0, cellar_only=True, seed=1))
    codes = [glass.code for glass in flight.glasses]
    for _ in range(2):
        reveal_codes(confused, flight.number, codes)
        assert [row.bottles for row in cellar(confused)] == [0, 1]
    assert undo_cellar(confused).why == "poured in flight 1"
    assert [row.bottles for row in cellar(confused)] == [1, 2]
    reveal_codes(confused, flight.number, codes)
    assert [row.bottles for row in cellar(confused)] == [1, 2]


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (Asked(bottles=1), "2 to 24 bottles"),
        (Asked(bottles=99), "2 to 24 bottles"),
        (Asked(budget=-1), "the budget should be a price"),
        (Asked(dearest=float("nan")), "the dearest bottle should be a price"),
        (Asked(decoys=5), "0 to 4 can be decoys"),
        (Asked(seed=-1), "a seed lies between"),
        (Asked(tasters=("Ada", "ada")), "the same name"),
        (Asked(tasters=("",)), "plain characters"),
        (Asked(tasters=("a\nb",)), "plain characters"),
    ],
)
def test_what_cannot_be_meant_is_answered_and_nothing_is_kept(
    desk: Desk, asked: Asked, words: str
) -> None:
    with pytest.raises(UsageError, match=words):
        plan(desk, asked)
    assert planned_flights(desk) == []


def test_tasters_are_a_number_or_names() -> None:
    assert tasters_said("3") == ("taster 1", "taster 2", "taster 3")
    assert tasters_said(" Ada ,  Ben  Bee") == ("Ada", "Ben Bee")
    for wrong in ("0", "99", ",", "Ada,,Ben"):
        with pytest.raises(UsageError):
            tasters_said(wrong)


def test_flights_glasses_and_keys_that_are_not_there_are_named(confused: Desk) -> None:
    with pytest.raises(NotPossibleError, match="no flight is planned yet"):
        find_record(confused)
    flight = plan(confused, Asked(bottles=2, decoys=0, seed=1))
    with pytest.raises(NotPossibleError, match="no planned flight 9; there is 1"):
        find_record(confused, 9)
    with pytest.raises(NotPossibleError, match="flight 1 has no glass 1; it has"):
        reveal_codes(confused, 1, [1])
    record = find_record(confused)
    damaged = replace(record, pours=tuple(replace(one, sealed="x") for one in record.pours))
    with pytest.raises(StorageError, match="the sealed key of glass"):
        look(damaged, unsealed=True)
    assert planned_flights(confused) == [flight]


def test_what_was_asked_is_kept_with_the_flight(desk: Desk) -> None:
    asked = Asked(bottles=3, budget=90.5, usual_price=20, tasters=("Ada",), decoys=1, seed=4)
    flight = plan(desk, asked)
    assert look(find_record(desk, flight.number)).asked == asked
    assert json.loads(find_record(desk).asked)["asked"]["seed"] == 4
    assert issubclass(PouringError, DrillsError)


def test_first_flights_are_drawn_from_the_whole_table_and_from_no_wine_again_and_again(
    desk: Desk,
) -> None:
    fields = [field_of(desk, Asked(bottles=6, seed=seed)) for seed in range(12)]
    drawn = [Counter(wine for stake in one.stakes for wine in stake.pair) for one in fields]
    assert {sum(one.values()) for one in drawn} == {24}
    assert {max(one.values()) for one in drawn} <= {1, 2}
    assert len(set().union(*drawn)) > len(desk.table.profiles) / 2
    # What is near a drawn wine can be had too, as a decoy.
    for field, wines_drawn in zip(fields, drawn, strict=True):
        there = {bottle.wine for bottle in field.bottles}
        assert all(there.issuperset(desk.table.profiles[wine].laterals) for wine in wines_drawn)


def test_pairs_of_the_cellar_are_among_those_that_are_weighed(desk: Desk) -> None:
    own = ("chardonnay-chablis", "melon-muscadet", "nebbiolo-barolo", "sangiovese-brunello")
    fill(desk, *(StockRow(wine, wine, None, 20.0, 1) for wine in own))
    for seed in range(5):
        pairs = {stake.pair for stake in field_of(desk, Asked(seed=seed)).stakes}
        assert {own[:2], own[2:]} <= pairs
    only = field_of(desk, Asked(seed=1, cellar_only=True))
    assert {wine for stake in only.stakes for wine in stake.pair} == set(own)
