"""A flight is logged, corrected, debriefed and read from, at a desk and from the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from cards.scale import Level
from drills.cli import main
from drills.errors import NotPossibleError, StorageError, UsageError
from drills.grading import Sureness
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.pours import (
    fingerprint_of,
    full_pour,
    observation_rows,
    pour_draft,
    read_observations,
)
from drills.service.senses import not_smelt
from drills.service.tasting import (
    change_pour,
    debrief_flight,
    debrief_pours,
    find_flight,
    log_flight,
    pick_pour,
    reading,
    remember_name,
)
from drills.storage.records import ObservationRow, PourDraft
from drills.tastings.drafts import Named
from drills.tastings.notes import Candidate, FullFlight, FullPour, Note, Verdict
from tests.tastings.test_notes import pours

SANCERRE, MARLBOROUGH = "sauvignon-sancerre", "sauvignon-marlborough"
DAY = date(2026, 3, 1)


def pour(position: int = 1, called: str | None = MARLBOROUGH, **changes: Any) -> FullPour:
    values: dict[str, Any] = {
        "note": Note(
            {"acid": Level.MED, "alcohol": 13.5, "passion-fruit": True, "petrol": False},
            free=("zesty",),
            nose="passion fruit, no petrol",
            typed={"passion-fruit": "maracuja"},
        ),
        "candidates": (Candidate("Sancerre", SANCERRE, "too ripe"), Candidate("Steen?")),
        "first": Verdict("Sancerre", SANCERRE, 2021, 1),
        "final": Verdict("Marlborough", called, 2022, 3),
        "runner_up": Named("Rueda"),
        "reveal": Named("Sancerre", SANCERRE),
        "reveal_vintage": 2020,
        "label_alcohol": 13.0,
        "price": "18 €",
        "seconds": 201.5,
        "remark": "corked?",
    }
    return FullPour(position, **(values | changes))


def flight(*entered: FullPour, name: str = "Club", day: date | None = DAY) -> FullFlight:
    return FullFlight(name, day, entered or (pour(),))


# ---- keeping


def test_a_flight_is_kept_as_it_was_entered_and_its_draft_goes(desk: Desk) -> None:
    draft = desk.repository.save_draft(desk.taster.id, "{}")
    entered = (pour(1), pour(2, note=Note(), candidates=(), final=Verdict()))
    kept = log_flight(desk, flight(*entered), draft_id=draft)
    records = desk.repository.pours(desk.taster.id, kept, full=True)
    assert tuple(full_pour(one) for one in records) == entered
    assert desk.repository.drafts(desk.taster.id) == []


@settings(max_examples=80, deadline=None)
@given(pours)
def test_no_field_of_a_pour_is_lost_between_note_and_storage(one: FullPour) -> None:
    kept = full_pour(pour_draft(one, flight="x", tasted_on=None, fingerprint="f"))
    noted = one.note.readings
    # What was typed is kept where something was typed, and of what was read.
    typed = {name: word for name, word in one.note.typed.items() if word and name in noted}
    expected = one.to_plain()
    expected.get("note", {}).pop("typed", None)
    if typed:
        expected.setdefault("note", {})["typed"] = typed
    if not expected.get("note", True):
        expected.pop("note")
    assert kept.to_plain() == expected


def test_observations_stand_in_the_order_of_noting() -> None:
    rows = observation_rows(pour().note)
    assert [(row.attribute, row.reading, row.typed) for row in rows] == [
        ("acid", "med", ""),
        ("alcohol", "13.5", ""),
        ("passion-fruit", "yes", "maracuja"),
        ("petrol", "no", ""),
        ("", "", "zesty"),
    ]


def test_an_observation_that_nobody_can_read_is_left_out_not_guessed() -> None:
    odd = [
        ObservationRow("acid", "enormous"),
        ObservationRow("acid", "yes"),
        ObservationRow("alcohol", "strong"),
        ObservationRow("hue", "13"),
        ObservationRow("petrol", "high"),
    ]
    assert read_observations(odd) == {}


def test_a_confusion_that_was_logged_heads_the_next_drill(desk: Desk) -> None:
    far = pour(1, "nebbiolo-barolo")
    log_flight(desk, flight(far))
    urgent = desk.repository.urgent(desk.taster.id, 50)
    assert {row.contrast.wine_a for row in urgent} == {"nebbiolo-barolo"}
    assert {row.contrast.wine_b for row in urgent} == {SANCERRE}


def test_two_equal_pours_and_two_equal_flights_are_all_kept(desk: Desk) -> None:
    entered = flight(pour(1), pour(1), pour(2))
    first, second, third = (log_flight(desk, entered) for _ in range(3))
    unnamed = log_flight(desk, flight(name=""))
    again = log_flight(desk, flight(name=""))
    names = {one.id: one.name for one in desk.repository.flights(desk.taster.id)}
    assert [names[key] for key in (first, second, third)] == ["Club", "Club (2)", "Club (3)"]
    assert [names[key] for key in (unnamed, again)] == ["", "(2)"]
    assert len(desk.repository.pours(desk.taster.id)) == 11
    other_day = log_flight(desk, flight(day=date(2026, 3, 2)))
    found = {one.id: one.name for one in desk.repository.flights(desk.taster.id)}
    assert found[other_day] == "Club"


def test_a_list_that_holds_a_logged_pour_adds_nothing(desk: Desk) -> None:
    log_flight(desk, flight(pour(1), pour(1)))
    known = desk.repository.known_pours(desk.taster.id)
    assert known == {fingerprint_of(pour(), "Club", DAY), fingerprint_of(pour(), "Club", DAY, 2)}


def test_nothing_is_kept_of_a_flight_that_cannot_be(desk: Desk) -> None:
    draft = desk.repository.save_draft(desk.taster.id, "{}")
    with pytest.raises(UsageError, match="without a pour"):
        log_flight(desk, FullFlight("Club", DAY), draft_id=draft)
    broken = pour(1, price=None)
    with pytest.raises(StorageError):
        log_flight(desk, flight(pour(2), broken), draft_id=draft)
    assert desk.repository.flights(desk.taster.id) == []
    assert len(desk.repository.drafts(desk.taster.id)) == 1


# ---- corrections


def test_a_pour_may_be_revealed_later_and_corrected_with_its_history(desk: Desk) -> None:
    hidden = pour(reveal=Named(""), reveal_vintage=None, label_alcohol=None)
    kept = log_flight(desk, flight(hidden))
    record = desk.repository.pours(desk.taster.id, kept)[0]
    assert desk.repository.confusions(desk.taster.id) == []
    assert debrief_flight(desk, find_flight(desk)).pours[0].debrief is None
    changed = change_pour(desk, record.id, pour())
    assert full_pour(changed) == pour()
    assert changed.draft.flight == "Club"
    assert changed.draft.fingerprint == record.draft.fingerprint
    fields = {(one.field, one.before, one.after) for one in desk.repository.changes(record.id)}
    assert fields == {
        ("was_text", "", "Sancerre"),
        ("was_wine", None, SANCERRE),
        ("was_vintage", None, "2020"),
        ("label_alcohol", None, "13.0"),
    }
    assert len(desk.repository.confusions(desk.taster.id)) == 1
    assert debrief_flight(desk, find_flight(desk)).pours[0].debrief is not None
    with pytest.raises(StorageError, match="no pour"):
        change_pour(desk, 999, pour())


# ---- which flight


def test_a_flight_is_found_by_name_date_or_number(desk: Desk) -> None:
    with pytest.raises(NotPossibleError, match="no tasting is logged"):
        find_flight(desk)
    old = log_flight(desk, flight(name="Club", day=date(2026, 1, 5)))
    new = log_flight(desk, flight(name="club  night", day=date(2026, 2, 5)))
    undated = log_flight(desk, flight(name="1", day=None))
    same_day = log_flight(desk, flight(name="Late", day=date(2026, 2, 5)))
    for said, meant in (
        (None, same_day),
        ("CLUB", old),
        ("Club Night", new),
        ("2026-01-05", old),
        ("2026-02-05", same_day),
        (str(new), new),
        ("1", undated),  # a name before a number
    ):
        assert find_flight(desk, said).id == meant, said
    with pytest.raises(NotPossibleError, match=r"no flight is called “x”.*Late, 2026-02-05"):
        find_flight(desk, "x")


def test_one_pour_of_a_flight_is_picked_by_its_place(desk: Desk) -> None:
    log_flight(desk, flight(pour(1), pour(3)))
    whole = debrief_flight(desk, find_flight(desk))
    assert [one.pour.position for one in pick_pour(whole, 3).pours] == [3]
    with pytest.raises(NotPossibleError, match="has no pour 2; it has 1, 3"):
        pick_pour(whole, 2)


# ---- the taster's own reading


def peppery(number: int, heard: bool) -> FullPour:
    note = Note({"black-pepper": heard, "acid": Level.LOW, "alcohol": 14.5})
    wine = "syrah-northern-rhone"
    return FullPour(
        number, note, final=Verdict("x", wine), reveal=Named("x", wine), label_alcohol=13.0
    )


def test_debriefs_use_how_this_taster_reads(open_desk: Callable[[], Desk]) -> None:
    desk = open_desk()
    one = FullPour(
        1,
        Note({"black-pepper": False}),
        final=Verdict("x", "malbec-mendoza"),
        reveal=Named("y", "syrah-northern-rhone"),
    )
    (before,) = debrief_pours(desk, [one])
    assert before.debrief is not None
    assert reading(desk).pours == 0
    log_flight(desk, flight(*(peppery(number, False) for number in range(1, 13))))
    found = reading(desk)
    assert found.pours == 12
    assert found.alcohol is not None
    assert found.alcohol.labels == 12
    assert any("rotundone" in words for words in found.sentences)
    (after,) = debrief_pours(desk, [one])
    assert after.debrief is not None
    assert before.debrief.balance < -3
    assert after.debrief.balance > -0.5
    (elsewhere,) = debrief_pours(open_desk(), [one])
    assert elsewhere == after


def test_a_reading_is_made_anew_only_when_the_log_has_changed(desk: Desk) -> None:
    kept = log_flight(desk, flight(peppery(1, True)))
    first = reading(desk)
    assert reading(desk) is first
    record = desk.repository.pours(desk.taster.id, kept)[0]
    desk.repository.keep_meta("something", "else")
    assert reading(desk) is first
    change_pour(desk, record.id, peppery(1, False))
    second = reading(desk)
    assert second != first
    log_flight(desk, flight(peppery(1, False)))
    assert reading(desk) != second


def test_a_name_that_is_remembered_counts_in_the_reading(desk: Desk) -> None:
    one = peppery(1, True)
    unknown = FullPour(1, one.note, final=Verdict("x"), reveal=Named("Zzyxcru"))
    log_flight(desk, flight(unknown))
    assert reading(desk).pours == 0
    desk.repository.remember_name(desk.taster.id, "Zzyxcru", "syrah-northern-rhone")
    assert reading(desk).pours == 1


def test_wines_of_no_table_are_debriefed_with_a_reason(desk: Desk) -> None:
    log_flight(desk, flight(pour(1, reveal=Named("Inconnu")), pour(2)))
    found = debrief_flight(desk, find_flight(desk)).pours
    assert found[0].debrief is None
    assert "“Inconnu” is no wine of the table" in found[0].reason
    assert found[1].debrief is not None
    assert found[1].reason == ""


def test_calls_without_any_note_are_debriefed_too(desk: Desk) -> None:
    """As they come from a list of called and was."""
    draft = PourDraft(
        flight="Club",
        tasted_on=DAY,
        position=1,
        fingerprint="f",
        called_text="Marl",
        called_wine=MARLBOROUGH,
        was_text="Sanc",
        was_wine=SANCERRE,
    )
    desk.repository.record_flight(desk.taster.id, "Club", DAY, [draft])
    (one,) = debrief_flight(desk, find_flight(desk)).pours
    assert one.debrief is not None
    assert one.debrief.rank is None
    assert one.debrief.missed


# ---- the commands


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(list(arguments))
    said = capsys.readouterr()
    return code, said.out, said.err


def test_the_debrief_command_says_the_sentence_first(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    log_flight(desk, flight(pour(1), pour(2, SANCERRE), pour(3, reveal=Named("Inconnu"))))
    code, out, err = run(capsys, "debrief")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].startswith("Club, 2026-03-01 (number ")
    assert lines[2] == "1. called Marlborough, was Sancerre"
    assert lines[3].startswith("   You had Sancerre and struck it off (“too ripe”); next time")
    assert "The first call was right" in out
    assert "no debrief: “Inconnu” is no wine of the table" in out
    assert "zesty" in out
    code, out, _ = run(capsys, "debrief", "club", "2")
    assert out.count(". called ") == 1
    assert "   Right" in out


def test_the_debrief_command_prints_json(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    log_flight(desk, flight(pour(1), pour(2, reveal=Named("Inconnu"))))
    code, out, _ = run(capsys, "debrief", "2026-03-01", "--json")
    found = json.loads(out)
    assert code == 0
    assert found["flight"]["date"] == "2026-03-01"
    one, other = found["pours"]
    assert one["called"] == {"text": "Marlborough", "wine": MARLBOROUGH}
    told = one["debrief"]
    assert told["right"] is False
    assert told["against"] == MARLBOROUGH
    assert sum(cue["weight_db"] for cue in told["cues"]) == pytest.approx(
        told["balance_db"], abs=0.03
    )
    assert told["first_call"]["better"] == "first"
    assert told["vintage_off"] == 2
    assert told["unknown_words"] == ["zesty"]
    assert told["wines"] == len(desk.table.profiles)
    assert {"cue", "reading", "weight_db", "settles", "because", "basis"} == set(told["missed"][0])
    assert other["debrief"] is None
    assert "Inconnu" in other["reason"]


def test_the_debrief_command_says_what_it_cannot_do(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "debrief")
    assert (code, out) == (1, "")
    assert err == "crosspour: no tasting is logged yet\n"
    log_flight(desk, flight())
    assert run(capsys, "debrief", "nothing")[0] == 1
    assert run(capsys, "debrief", "Club", "7")[0] == 1
    with pytest.raises(SystemExit):
        main(["debrief", "Club", "first"])


def test_control_characters_never_reach_the_terminal(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = pour(1, final=Verdict("\x1b[31mred\u202e", None), note=Note(free=("a\x07b",)))
    log_flight(desk, flight(odd, name="x\x1b]0;y"))
    _, out, _ = run(capsys, "debrief")
    assert all(character.isprintable() or character == "\n" for character in out)


def test_the_reading_command(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "reading")
    assert "you count as an average taster" in out
    log_flight(desk, flight(*(peppery(number, False) for number in range(1, 13))))
    _, out, _ = run(capsys, "reading")
    assert out.startswith("You may not be able to smell rotundone")
    assert out.splitlines()[-1] == "From 12 noted pours and 12 labels."
    _, out, _ = run(capsys, "reading", "--json")
    found = json.loads(out)
    assert found["pours"] == 12
    assert found["alcohol"]["labels"] == 12
    assert found["alcohol"]["bias"]["value"] > 0.5
    (smell,) = found["perhaps_not_smelt"]
    assert smell["base_rate"] == 0.225
    assert smell["source"].startswith("Nutrients (2020)")
    assert {one["cue"] for one in found["levels"]} == {"acid"}


# ---- names that the taster explains


def test_a_name_once_explained_is_known_everywhere(open_desk: Callable[[], Desk]) -> None:
    desk = open_desk()
    waiting = [
        pour(1, None, final=Verdict("Zzyxcru")),
        pour(2, None, final=Verdict("  ZZYXCRÚ ")),
        pour(3, reveal=Named("Zzyxcru"), candidates=(Candidate("zzyxcru"),)),
        pour(4, None, final=Verdict("Zzyxcru", MARLBOROUGH)),
    ]
    log_flight(desk, flight(*waiting))
    assert desk.names.resolve("zzyxcru").wine is None
    syrah = "syrah-northern-rhone"
    assert remember_name(desk, "Zzyxcru", syrah) == 3
    assert desk.names.resolve("zzyxcru").wine == syrah
    assert open_desk().names.resolve("Zzyxcru").wine == syrah
    kept = [one.draft for one in desk.repository.pours(desk.taster.id, full=True)]
    assert [one.called_wine for one in kept] == [syrah, syrah, MARLBOROUGH, MARLBOROUGH]
    assert [one.called_text for one in kept] == ["Zzyxcru", "  ZZYXCRÚ ", "Marlborough", "Zzyxcru"]
    assert kept[2].was_wine == syrah
    urgent = {
        (row.contrast.wine_a, row.contrast.wine_b)
        for row in desk.repository.urgent(desk.taster.id, 99)
    }
    assert (SANCERRE, syrah) in urgent
    assert (MARLBOROUGH, syrah) in urgent
    assert remember_name(desk, "Zzyxcru", syrah) == 0


def test_a_name_cannot_stand_for_nothing(desk: Desk) -> None:
    with pytest.raises(UsageError, match="is no name"):
        remember_name(desk, " ?! ", SANCERRE)
    with pytest.raises(NotPossibleError, match="has no wine “no-such-wine”"):
        remember_name(desk, "Zzyxcru", "no-such-wine")
    assert desk.repository.own_names(desk.taster.id) == []


def test_looking_up_a_wine_makes_no_database(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "new.sqlite3"
    assert run(capsys, "--database", str(file), "laterals", "Sancerre")[0] == 0
    assert not file.exists()
    file.write_bytes(b"no database at all" * 99)
    assert run(capsys, "--database", str(file), "laterals", "Sancerre")[0] == 0
    assert file.read_bytes() == b"no database at all" * 99


# ---- the choice of cards


def test_cards_on_a_smell_that_a_taster_lacks_come_last(open_desk: Callable[[], Desk]) -> None:
    """The order alone changes: the same contrasts, with the same ids, sides and bearing."""
    pair = ("malbec-mendoza", "syrah-northern-rhone")

    def asked() -> list[str]:
        session = DrillSession(open_desk(), 600, pair=pair)
        found = []
        for _ in range(8):
            showing = session.next()
            if showing is None:
                break
            found.append("+".join(showing.question.contrast.cues))
            session.answer(showing.question.truth, Sureness.GUESS, 5.0)
        return list(dict.fromkeys(found))

    desk = open_desk()
    desk.ensure_pairs([pair])
    kept = desk.repository.contrasts_of_pair(*pair)
    with_pepper = {one.cues for one in kept if "pepper" in one.cues}
    assert with_pepper
    assert len(with_pepper) < len(kept)
    assert not_smelt(desk) == frozenset()
    log_flight(desk, flight(*(peppery(number, False) for number in range(1, 13))))
    reading(desk)
    assert not_smelt(open_desk()) == {"white-pepper", "black-pepper"}
    shown = asked()
    places = [place for place, cues in enumerate(shown) if cues in with_pepper]
    assert places == list(range(len(shown) - len(places), len(shown)))
    assert desk.repository.contrasts_of_pair(*pair) == kept


def test_a_smell_that_is_met_again_is_no_longer_kept_back(desk: Desk) -> None:
    log_flight(desk, flight(*(peppery(number, False) for number in range(1, 13))))
    reading(desk)
    assert not_smelt(desk)
    log_flight(desk, flight(*(peppery(number, True) for number in range(1, 13)), name="Later"))
    reading(desk)
    assert not_smelt(desk) == frozenset()
