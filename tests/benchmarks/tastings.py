"""A long life of full notes: debriefs, the personal reading, and writing many pours at once."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from cards.evidence import posterior
from cards.lexicon import DEPTH
from drills.service import tasting
from drills.service.desk import Desk
from drills.service.pours import full_pour, pour_draft
from drills.storage.records import IntakeDraft, PourDraft
from drills.tastings.drafts import Named
from drills.tastings.notes import FullPour, Note, Verdict
from tests.benchmarks.timing import Line, in_turn, timed
from tests.tastings.tasters import Taster

POURS = 50_000
_A_FLIGHT = 6
_YEARS = 15
_SCALES = ("sweetness", "acid", "tannin", "body", "oak", "finish", "intensity", DEPTH)
_CONFUSED = 0.3


def tastings(folder: Path, repeats: int, pours: int = POURS) -> list[Line]:
    """Debriefs and the reading of a taster with so many full notes."""
    file = folder / f"notes-{pours}.sqlite3"
    desk = Desk(str(file))
    taster = desk.taster.id
    if not desk.repository.known_pours(taster):
        intake = IntakeDraft("notes", "digest", datetime.now(UTC))
        desk.repository.record_pours(taster, intake, _notes(desk, pours))
    flight = tasting.find_flight(desk)
    one = full_pour(desk.repository.pours(taster, flight.id, full=True)[0])
    pictures = [desk.cellar.picture(key) for key in desk.table.profiles]
    with closing(sqlite3.connect(file)) as plain:

        def latest_readings() -> object:
            return plain.execute(
                "SELECT was_wine, attribute, reading, count(*) FROM observation JOIN pour"
                " ON pour.id = pour_id WHERE pour_id > ? GROUP BY 1, 2, 3",
                (pours - tasting.LATEST,),
            ).fetchall()

        found = in_turn(
            {
                "posterior": timed(lambda: posterior(pictures, one.note.readings)),
                "debrief": timed(lambda: tasting.debrief_pours(desk, [one])),
                "flight": timed(lambda: tasting.debrief_flight(desk, flight)),
                "counted": timed(latest_readings),
                "reading": timed(lambda: tasting.read_log(desk)),
            },
            repeats,
        )
    desk.close()
    bare = "its posterior alone"
    return [
        Line(
            "tastings", "debrief of one pour", found["debrief"], bare, found["posterior"],
            0.020, absolute=True,
        ),
        Line("tastings", "debrief of a flight", found["flight"], bare, found["posterior"]),
        Line(
            "tastings", f"reading from {pours:,} noted pours", found["reading"],
            "one query that counts", found["counted"], 0.300, absolute=True,
        ),
    ]  # fmt: skip


def _notes(desk: Desk, pours: int) -> Iterator[PourDraft]:
    rng, average = random.Random(1), Taster()
    wines = sorted(desk.table.profiles)
    for number in range(pours):
        wine = rng.choice(wines)
        profile = desk.table.profiles[wine]
        label = round(2 * profile.alcohol.middle) / 2
        logged = average.log(desk.table, rng, 1, [wine])
        readings = {
            one.attribute: one.reading
            for one in logged.readings
            if isinstance(one.reading, bool) or one.attribute in _SCALES
        }
        called = rng.choice(wines) if rng.random() < _CONFUSED else wine
        pour = FullPour(
            position=number % _A_FLIGHT + 1,
            note=Note({**readings, "hue": profile.hues[0], "alcohol": label + 0.5}),
            final=Verdict(called, called),
            reveal=Named(wine, wine),
            label_alcohol=label,
        )
        flight = number // _A_FLIGHT
        day = date(2010, 1, 1) + timedelta(days=round(365 * _YEARS * number / pours))
        yield pour_draft(pour, flight=f"F{flight}", tasted_on=day, fingerprint=str(number))
