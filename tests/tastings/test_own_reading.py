"""How a taster reads is learnt from the log, and debriefs and drills go by it."""

from __future__ import annotations

from collections.abc import Callable

from drills.grading import Sureness
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.senses import not_smelt
from drills.service.tasting import change_pour, debrief_pours, log_flight, reading
from drills.tastings.drafts import Named
from drills.tastings.notes import FullPour, Note, Verdict
from tests.tastings.logged import flight, peppery


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
