"""By what a pour is known again: its content, however it is written."""

from __future__ import annotations

from drills.tastings.drafts import fingerprint
from tests.tastings.reading_lists import Reading


def test_the_same_content_has_the_same_fingerprint(read: Reading) -> None:
    plain = read("date,called,was\n2025-05-03,Chablis,Sancerre\n")
    other = read("WAS;Called;Date\nsancerre;CHABLIS;3.5.2025\n", name="b.csv", encoding="utf-16")
    assert [p.fingerprint for p in plain.pours] == [p.fingerprint for p in other.pours]


def test_equal_rows_count_as_often_as_they_stand_there(read: Reading) -> None:
    text = "called,was\n" + "Chablis,Sancerre\n" * 3
    once, again = read(text), read(text)
    prints = [pour.fingerprint for pour in once.pours]
    assert len(set(prints)) == 3
    assert prints == [pour.fingerprint for pour in again.pours]


def test_every_field_counts(read: Reading) -> None:
    head = "date;flight;called;was;first;runner-up;note\n"
    rows = [
        "2025-05-03;A;x;y;;;",
        "2025-05-04;A;x;y;;;",
        "2025-05-03;B;x;y;;;",
        "2025-05-03;A;y;x;;;",
        "2025-05-03;A;x;y;z;;",
        "2025-05-03;A;x;y;;z;",
        "2025-05-03;A;x;y;;;z",
    ]
    prints = {pour.fingerprint for pour in read(head + "\n".join(rows)).pours}
    assert len(prints) == len(rows)
    assert fingerprint(("a", "b"), 1) != fingerprint(("a", "b1"), 1)
    assert fingerprint(("a,b",), 1) != fingerprint(("a", "b"), 1)
