"""Full notes: kept as typed, changed with their history, resolved when a name is remembered."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from drills.errors import StorageError
from drills.storage.counted import AlcoholCount, ReadingCount
from drills.storage.records import CandidateRow, ObservationRow, PourDraft
from drills.storage.repository import Repository, open_repository
from drills.storage.upgrade import REVISIONS, read_revision
from tests.storage.making import contrast, dump, intake, pour

FIRST = Path(__file__).parent / "old" / "revision-0001.sqlite3"
OBSERVED = (
    ObservationRow("acid", "high"),
    ObservationRow("alcohol", "13.5", "13,5"),
    ObservationRow("petrol", "yes", "kerosene"),
    ObservationRow("lime", "no"),
    ObservationRow("", "", "zesty"),
)
CONSIDERED = (
    CandidateRow("Clare Riesling", "riesling-clare", "no lime"),
    CandidateRow("Mosl"),
)


def full(fingerprint: str = "f1", **changes: object) -> PourDraft:
    values: dict[str, object] = {
        "called_vintage": 2019,
        "was_vintage": 2021,
        "first_vintage": 2020,
        "called_sureness": 3,
        "first_sureness": 1,
        "label_alcohol": 12.5,
        "seconds": 240.5,
        "price": "≈ 18 €",
        "world": "old",
        "climate": "cool",
        "age": "3 to 5",
        "appearance": "pale",
        "nose": "[flint]",
        "palate": "steely",
        "observations": OBSERVED,
        "candidates": CONSIDERED,
    }
    return pour(fingerprint, **(values | changes))


def test_a_file_of_the_first_revision_keeps_all_it_held(tmp_path: Path) -> None:
    file = tmp_path / "crosspour.sqlite3"
    shutil.copy(FIRST, file)
    with closing(sqlite3.connect(FIRST)) as reader:
        old = {
            name: reader.execute(f"SELECT * FROM {name}").fetchall()
            for (name,) in reader.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            if name != "alembic_version"
        }
    assert all(old.values()), "the fixture has something in every table"
    with open_repository(file) as repository:
        assert repository.upgrade_copy is not None
        assert dump(repository.upgrade_copy) == dump(FIRST)
        me = repository.taster().id
        barolo = repository.unresolved(me)[0]
        assert barolo.draft.called_text == "Barollo??"
        assert (barolo.draft.price, barolo.draft.label_alcohol) == ("", None)
        assert repository.pour(barolo.id) == barolo
        assert len(repository.confusions(me)) == 1
        changed = repository.change_pour(barolo.id, replace(barolo.draft, observations=OBSERVED))
        assert changed.draft.observations == OBSERVED
    assert read_revision(file) == REVISIONS[-1]
    with closing(sqlite3.connect(file)) as reader:
        for name, rows in old.items():
            if name == "meta":
                continue
            wide = len(rows[0])
            now = [row[:wide] for row in reader.execute(f"SELECT * FROM {name}")]
            assert now == rows, name
        assert reader.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        with pytest.raises(sqlite3.IntegrityError):
            reader.execute("UPDATE pour SET pair_a = 'z', pair_b = 'a'")


def test_a_flight_is_kept_as_typed_and_its_draft_goes_with_it(
    repository: Repository, me: int, file: Path
) -> None:
    draft = repository.save_draft(me, '{"pours": []}')
    pours = [full("f1"), full("f2", position=2, observations=(), candidates=())]
    before = dump(file)
    with pytest.raises(StorageError):
        repository.record_flight(
            me, "Club", None, [*pours, full("f3", position=None)], draft_id=draft
        )
    assert dump(file) == before, "an error keeps nothing and the draft stays"
    flight = repository.record_flight(me, "Club", date(2026, 3, 1), pours, draft_id=draft)
    assert repository.drafts(me) == []
    kept = repository.pours(me, flight, full=True)
    assert [one.draft for one in kept] == [replace(one, flight="Club") for one in pours]
    assert repository.pour(kept[0].id) == kept[0]
    assert repository.observations([kept[0].id, kept[1].id]) == {kept[0].id: OBSERVED}
    bare = repository.pours(me)[0].draft
    assert bare == replace(kept[0].draft, observations=(), candidates=())


def test_two_flights_of_one_name_and_day_stay_two(repository: Repository, me: int) -> None:
    one = repository.record_flight(me, "Club", date(2026, 3, 1), [full("f1")])
    other = repository.record_flight(me, "Club", date(2026, 3, 1), [full("f2")])
    assert one != other
    assert len(repository.pours(me, one)) == 1


def test_notes_of_an_intake_are_kept_and_go_when_it_is_undone(
    repository: Repository, me: int, file: Path
) -> None:
    outcome = repository.record_pours(
        me, intake(), [pour("p0"), full("f1"), pour("p1"), full("f1"), full("f2")]
    )
    assert (outcome.added, outcome.already_known) == (4, 1)
    notes = {p.draft.fingerprint: p.draft.observations for p in repository.pours(me, full=True)}
    assert notes == {"p0": (), "f1": OBSERVED, "p1": (), "f2": OBSERVED}
    assert outcome.intake_id is not None
    assert repository.intakes(me)[0].pours == 4
    assert repository.undo_intake(outcome.intake_id) == 4
    with closing(sqlite3.connect(file)) as reader:
        for table in ("observation", "candidate", "pour", "flight"):
            assert reader.execute(f"SELECT count(*) FROM {table}").fetchone() == (0,), table


def test_an_intake_of_many_batches_is_one_intake(repository: Repository, me: int) -> None:
    def rows() -> object:
        for number in range(2500):
            yield full(f"f{number}", flight=f"F{number % 3}", candidates=())

    outcome = repository.record_pours(me, intake(), rows())  # type: ignore[arg-type]
    assert outcome.added == 2500
    assert [one.pours for one in repository.intakes(me)] == [2500]
    assert len(repository.flights(me)) == 3
    assert all(one.draft.observations == OBSERVED for one in repository.pours(me, full=True))


def test_a_source_that_breaks_off_leaves_nothing(
    repository: Repository, me: int, file: Path
) -> None:
    before = dump(file)

    def rows() -> object:
        yield from (full(f"f{number}") for number in range(1500))
        raise ValueError("the file breaks off")

    with pytest.raises(ValueError, match="breaks off"):
        repository.record_pours(me, intake(), rows())  # type: ignore[arg-type]
    assert dump(file) == before


def test_an_edit_keeps_what_was_there_before(repository: Repository, me: int) -> None:
    repository.record_flight(me, "Club", date(2026, 3, 1), [full("f1")])
    kept = repository.pours(me, full=True)[0]
    after = replace(
        kept.draft,
        price="20 €",
        called_vintage=None,
        label_alcohol=13.0,
        observations=(
            ObservationRow("acid", "med+"),
            *OBSERVED[1:4],
            ObservationRow("", "", "lean"),
            ObservationRow("flint", "yes"),
        ),
        candidates=CONSIDERED[:1],
    )
    changed = repository.change_pour(kept.id, after)
    assert changed.draft == after
    assert repository.pour(kept.id) == changed
    found = {(one.field, one.before, one.after) for one in repository.changes(kept.id)}
    assert found == {
        ("price", "≈ 18 €", "20 €"),
        ("called_vintage", "2019", None),
        ("label_alcohol", "12.5", "13.0"),
        ("noted acid", "high", "med+"),
        ("noted words", "zesty", "lean"),
        ("noted flint", None, "yes"),
        (
            "candidates",
            '[["Clare Riesling", "riesling-clare", "no lime"], ["Mosl", null, ""]]',
            '[["Clare Riesling", "riesling-clare", "no lime"]]',
        ),
    }
    assert changed.logged_at == kept.logged_at, "no other confusion than before"
    assert repository.change_pour(kept.id, after) == changed
    assert len(repository.changes(kept.id)) == len(found), "saving unchanged is no change"
    with pytest.raises(StorageError, match="no pour"):
        repository.change_pour(99, after)


def test_an_edit_never_moves_a_pour_to_another_flight_or_identity(
    repository: Repository, me: int
) -> None:
    repository.record_flight(me, "Club", date(2026, 3, 1), [full("f1")])
    kept = repository.pours(me, full=True)[0]
    odd = replace(kept.draft, flight="else", tasted_on=None, fingerprint="else")
    assert repository.change_pour(kept.id, odd) == kept
    assert repository.changes(kept.id) == []


def test_an_edit_that_makes_another_confusion_brings_its_pair_up(
    repository: Repository, me: int
) -> None:
    repository.keep_contrasts([contrast(1)], "f")
    right = full("f1", called_wine="albarino-0000")
    repository.record_flight(me, "Club", date(2026, 3, 1), [right])
    assert repository.urgent(me, 9) == []
    kept = repository.pours(me)[0]
    changed = repository.change_pour(kept.id, replace(right, called_wine="verdejo-0000"))
    assert changed.logged_at > kept.logged_at
    assert [row.contrast.id for row in repository.urgent(me, 9)] == [1]


def test_a_half_entered_flight_survives_closing_the_program(file: Path) -> None:
    with open_repository(file) as repository:
        me = repository.taster().id
        number = repository.save_draft(me, "1")
        assert repository.save_draft(me, "2 [b]ü", number) == number
    with open_repository(file) as repository:
        assert [(one.id, one.content) for one in repository.drafts(me)] == [(number, "2 [b]ü")]
        other = repository.save_draft(me, "another")
        assert [one.id for one in repository.drafts(me)] == [other, number]
        assert repository.drafts(repository.taster("Ada").id) == []
        repository.drop_draft(number)
        repository.drop_draft(number)
        again = repository.save_draft(me, "written on", number)
        assert {one.content for one in repository.drafts(me)} == {"another", "written on"}
        assert again in {one.id for one in repository.drafts(me)}


def test_a_name_that_is_remembered_resolves_what_waits_for_it(
    repository: Repository, me: int
) -> None:
    repository.keep_contrasts([contrast(1)], "f")
    waits = {"called_text": "Verdjo", "called_wine": None}
    repository.record_flight(
        me,
        "Club",
        None,
        [
            full("f1", **waits),
            full("f2", **(waits | {"called_text": "verdjo "}), position=2),
            full("f3", runner_text="Verdjo", position=3, was_wine="verdejo-0000"),
            full("f4", was_text="??", was_wine=None, position=4),
            full("f5", called_text="Verdjo", called_wine="gavi", position=5),
            full("f6", candidates=(CandidateRow("Verdjo"), CandidateRow("x")), position=6),
        ],
    )
    other = repository.taster("Ada").id
    repository.record_flight(other, "Club", None, [full("f1", **waits)])
    assert repository.waiting_names(me) == {"Verdjo": 2, "verdjo ": 1, "??": 1}
    before = {one.draft.fingerprint: one for one in repository.pours(me)}
    assert repository.remember_name(me, "Verdjo", "verdejo-0000", ["verdjo "]) == 3
    after = {one.draft.fingerprint: one for one in repository.pours(me, full=True)}
    assert after["f1"].draft.called_wine == after["f2"].draft.called_wine == "verdejo-0000"
    assert after["f1"].draft.called_text == "Verdjo"
    assert after["f3"].draft.runner_wine == "verdejo-0000"
    told = [(one.field, one.before, one.after) for one in repository.changes(after["f1"].id)]
    assert told == [("called_wine", None, "verdejo-0000")]
    assert repository.changes(after["f5"].id) == []
    assert after["f5"].draft.called_wine == "gavi", "what was resolved stays"
    assert [one.wine for one in after["f6"].draft.candidates] == ["verdejo-0000", None]
    moved = [name for name in after if after[name].logged_at > before[name].logged_at]
    assert moved == ["f1", "f2"]
    assert repository.waiting_names(me) == {"??": 1}
    assert [row.contrast.id for row in repository.urgent(me, 9)] == [1]
    confused = {(row.called, row.was) for row in repository.confusions(me)}
    assert ("verdejo-0000", "albarino-0000") in confused
    assert len(repository.unresolved(other)) == 1
    assert [(one.text, one.wine) for one in repository.own_names(me)] == [
        ("Verdjo", "verdejo-0000")
    ]
    assert repository.own_names(other) == []


def test_a_call_that_proves_right_when_resolved_is_no_confusion(
    repository: Repository, me: int
) -> None:
    repository.record_flight(me, "", None, [full("f1", called_text="Albarnio", called_wine=None)])
    repository.remember_name(me, "Albarnio", "albarino-0000")
    assert repository.confusions(me) == []
    assert repository.reveals(me)[0].called == "albarino-0000"


def test_a_name_may_be_given_another_meaning_and_forgotten(repository: Repository, me: int) -> None:
    repository.remember_name(me, "Verdjo", "verdejo-0000")
    assert repository.remember_name(me, "Verdjo", "gavi") == 0
    assert [(one.text, one.wine) for one in repository.own_names(me)] == [("Verdjo", "gavi")]
    repository.forget_name(me, "Verdjo")
    repository.forget_name(me, "Verdjo")
    assert repository.own_names(me) == []


def test_readings_are_counted_over_the_latest_noted_pours(repository: Repository, me: int) -> None:
    def noted(number: int, reading: str, **changes: object) -> PourDraft:
        rows = (ObservationRow("acid", reading), ObservationRow("", "", "word"), *OBSERVED[1:3])
        return full(f"f{number}", observations=rows, position=number, **changes)

    repository.record_flight(me, "old", date(2020, 1, 1), [noted(1, "low")])
    repository.record_flight(me, "undated", None, [noted(2, "med-")])
    repository.record_flight(
        me,
        "new",
        date(2026, 1, 1),
        [
            noted(3, "high"),
            noted(4, "high"),
            noted(5, "med", was_wine=None),
            full("f6", observations=(), position=6),
            noted(7, "high", was_wine="gavi", label_alcohol=None),
        ],
    )
    assert {row for row in repository.reading_counts(me, 3) if row.attribute == "acid"} == {
        ReadingCount("albarino-0000", "acid", "high", 2),
        ReadingCount("gavi", "acid", "high", 1),
    }
    every = {row for row in repository.reading_counts(me, 99) if row.wine == "albarino-0000"}
    assert every == {
        ReadingCount("albarino-0000", "acid", "high", 2),
        ReadingCount("albarino-0000", "acid", "low", 1),
        ReadingCount("albarino-0000", "acid", "med-", 1),
        ReadingCount("albarino-0000", "petrol", "yes", 4),
    }
    assert repository.noted_pours(me, 99) == {"albarino-0000": 4, "gavi": 1}
    assert set(repository.alcohol_counts(me, 99)) == {
        AlcoholCount("albarino-0000", 13.5, 12.5, 4),
        AlcoholCount(None, 13.5, 12.5, 1),
    }
    assert repository.alcohol_counts(me, 1) == [AlcoholCount(None, 13.5, 12.5, 1)]
    assert repository.reading_counts(repository.taster("Ada").id, 99) == []
