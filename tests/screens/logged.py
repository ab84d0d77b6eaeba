"""A log with something in it: pairs that were mixed up, answers, a flight with its notes."""

from __future__ import annotations

from datetime import date

from cards.scale import Level
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.tasting import log_flight
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Note, Verdict
from tests.desks import TODAY, Watch, answer, mix_up

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
FAR = ("aglianico-taurasi", "cabernet-napa")


def confuse(desk: Desk) -> None:
    """Mix up one pair three times, another once."""
    mix_up(desk, *NEAR, times=3)
    mix_up(desk, *FAR, flight="Wednesday")


def live(desk: Desk, watch: Watch) -> None:
    """Answers and a flight with a note, under a name that looks like markup."""
    session = DrillSession(desk, 1200)
    for number in range(22):
        watch.go_on(8)
        answer(session, right=number % 3 != 0)
    session.end()
    was, called = NEAR
    pours = tuple(
        FullPour(
            number + 1,
            note=Note({"alcohol": 13.5, "acid": Level.HIGH}),
            first=Verdict(was, was),
            final=Verdict(called, called),
            reveal=Named(was, was),
            label_alcohol=13.0,
        )
        for number in range(2)
    )
    log_flight(desk, FullFlight("Cellar [bold]b[/] [", date.fromordinal(TODAY), pours))
