"""Counts of what others mix up: on their way out, on their way in, and what follows from them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.confusions import PRIOR_POURS, CallCount, prior_rate
from drills.errors import IntakeError, NotPossibleError
from drills.service.desk import Desk
from drills.service.group_counts import (
    confusion_priors,
    counts_files,
    export_counts,
    pairs_of_group,
    take_counts_in,
    take_counts_out,
)
from drills.service.group_file import as_json, from_json, read_file
from drills.service.planned import Planned
from drills.service.weak import pair_page, weak
from drills.statistics.group_prior import GroupCounts, counts_of_taster
from drills.storage.repository import open_repository
from tests.desks import Watch, mix_up

NEAR = ("sauvignon-sancerre", "sauvignon-marlborough")
# Nobody who reads the table would take one for the other.
FAR = ("gewurztraminer-alsace", "nebbiolo-barolo")


def group(
    called: str, was: str, tasters: int = 6, confused: int = 3, right: int = 3
) -> GroupCounts:
    """Tasters who each confuse two wines so often."""
    whole = GroupCounts()
    for _ in range(tasters):
        whole += counts_of_taster([(was, called, confused), (was, was, right)])
    return whole


def file_of(folder: Path, counts: GroupCounts, name: str = "counts.json") -> str:
    path = folder / name
    path.write_text(json.dumps(as_json(counts)), encoding="utf-8")
    return str(path)


def test_a_tasters_own_counts_go_out_without_a_name_or_a_date(desk: Desk, tmp_path: Path) -> None:
    mix_up(desk, *NEAR, times=3, flight="Lighthouse cellar")
    path = tmp_path / "mine.json"
    export_counts(desk, str(path), group=False)
    text = path.read_text(encoding="utf-8")
    assert "Lighthouse" not in text
    assert "2026" not in text
    assert desk.taster.name not in text.replace('"poured', "")
    (wine,) = json.loads(text)["wines"]
    assert wine == {
        "wine": NEAR[1],
        "tasters": 1,
        "poured": 3,
        "poured_twice": 6,
        "called": [{"wine": NEAR[0], "confused": 3, "confused_twice": 6}],
    }
    assert read_file(path) == counts_of_taster([(NEAR[1], NEAR[0], 3)])


def test_nothing_logged_makes_no_file(desk: Desk, tmp_path: Path) -> None:
    with pytest.raises(NotPossibleError, match="no pour with a call is logged yet"):
        export_counts(desk, str(tmp_path / "x.json"), group=False)
    assert not (tmp_path / "x.json").exists()


def test_of_those_who_share_only_wines_of_three_go_out(
    home: Path, watch: Watch, tmp_path: Path
) -> None:
    database = str(home / "crosspour.sqlite3")
    with open_repository(database, clock=watch.clock) as repository:
        for name in ("Ada", "Ben", "Cem", "Dot"):
            repository.share(repository.add_taster(name).id, name != "Dot")
    for name in ("Ada", "Ben", "Cem", "Dot"):
        desk = Desk(clock=watch.clock, taster=name)
        mix_up(desk, *NEAR, times=2, flight=f"of {name}")
        if name in ("Ada", "Ben", "Dot"):
            mix_up(desk, *FAR, flight=f"more of {name}")
        desk.close()
    desk = Desk(clock=watch.clock, taster="Ada")
    path = tmp_path / "ours.json"
    export_counts(desk, str(path), group=True)
    found = read_file(path)
    # Dot does not share, so three were poured the one wine and two the other.
    assert set(found.poured) == {NEAR[1]}
    assert (found.poured[NEAR[1]].tasters, found.poured[NEAR[1]].pours) == (3, 6)
    assert found.confused[NEAR].times == 6
    desk.repository.share(desk.taster.id, False)
    with pytest.raises(NotPossibleError, match="no wine was poured to 3 tasters who share"):
        export_counts(desk, str(tmp_path / "two.json"), group=True)
    desk.close()


def test_without_counts_of_others_the_prior_is_the_tables(desk: Desk) -> None:
    prior = confusion_priors(desk, [])(*NEAR)
    assert prior.pours == PRIOR_POURS
    assert prior.rate == prior_rate(desk.cellar.separation(*NEAR))


def test_what_others_confuse_a_newcomer_is_expected_to(desk: Desk, tmp_path: Path) -> None:
    before = confusion_priors(desk, [])
    take_counts_in(desk, file_of(tmp_path, group(*FAR)))
    after = confusion_priors(desk, [])
    assert before(*FAR).rate < 0.001
    assert 0.25 < after(*FAR).rate < 0.5
    # Of the other way round, and of wines nobody poured, nothing is known beyond the table.
    assert after(*FAR[::-1]) == before(*FAR[::-1])
    assert after(*NEAR) == before(*NEAR)
    mix_up(desk, *FAR)
    (one,) = weak(desk)
    assert one.rate > 0.3
    assert one.prior_pours == pytest.approx(
        confusion_priors(desk, [CallCount(FAR[1], FAR[0], None, 1)])(*FAR).pours
    )
    (way,) = pair_page(desk, *FAR).ways
    assert way == one


def test_a_newcomer_who_is_unlike_the_group_is_judged_by_the_table_again(
    desk: Desk, tmp_path: Path
) -> None:
    take_counts_in(desk, file_of(tmp_path, group(*FAR)))
    told = [confusion_priors(desk, [CallCount(FAR[1], FAR[1], None, n)])(*FAR) for n in (0, 3, 40)]
    assert told[0].rate > told[1].rate > told[2].rate
    assert told[2].rate < 0.01


def test_a_pair_that_others_confuse_gets_cards_and_comes_early(desk: Desk, tmp_path: Path) -> None:
    pair = tuple(sorted(FAR))
    repository = desk.repository
    assert repository.contrasts_of_pair(*pair) == []
    take_counts_in(desk, file_of(tmp_path, group(*FAR)))
    records = repository.contrasts_of_pair(*pair)
    assert records
    assert pairs_of_group(desk) == {pair}
    first = Planned(desk)
    assert first.reason(records[0].id).startswith("pair 1 of ")
    # A changed table chooses all contrasts anew, and these stay.
    desk.choose_contrasts(repository)
    assert [one.id for one in repository.contrasts_of_pair(*pair)] == [one.id for one in records]


def test_a_tasters_own_counts_are_not_taken_in(desk: Desk, tmp_path: Path) -> None:
    mix_up(desk, *NEAR)
    own = str(tmp_path / "mine.json")
    export_counts(desk, own, group=False)
    with pytest.raises(IntakeError, match=r"mine\.json holds your own counts"):
        take_counts_in(desk, own)
    assert counts_files(desk) == []


def test_taking_counts_in_twice_changes_nothing_and_out_again_leaves_nothing(
    desk: Desk, tmp_path: Path
) -> None:
    one, other = file_of(tmp_path, group(*FAR)), file_of(tmp_path, group(*NEAR), "b.json")
    assert take_counts_in(desk, one).file is not None
    told = confusion_priors(desk, [])(*FAR)
    assert take_counts_in(desk, one).file is None
    assert confusion_priors(desk, [])(*FAR) == told
    taken = take_counts_in(desk, other).file
    assert taken is not None
    assert [(f.number, f.name, f.pours) for f in counts_files(desk)] == [
        (1, "counts.json", 36),
        (2, "b.json", 36),
    ]
    assert take_counts_out(desk, 1).name == "counts.json"
    assert take_counts_in(desk, one).file is not None
    for number in (2, 3):
        take_counts_out(desk, number)
    assert counts_files(desk) == []
    assert confusion_priors(desk, [])(*FAR).pours == PRIOR_POURS
    with pytest.raises(NotPossibleError, match="no counts 2"):
        take_counts_out(desk, 2)


def test_counts_belong_to_the_taster_who_took_them_in(
    home: Path, watch: Watch, tmp_path: Path
) -> None:
    with open_repository(home / "crosspour.sqlite3", clock=watch.clock) as repository:
        for name in ("Ada", "Ben"):
            repository.add_taster(name)
    ada, ben = (Desk(clock=watch.clock, taster=name) for name in ("Ada", "Ben"))
    take_counts_in(ada, file_of(tmp_path, group(*FAR)))
    assert len(counts_files(ada)) == 1
    assert counts_files(ben) == []
    assert confusion_priors(ben, [])(*FAR).pours == PRIOR_POURS
    ada.close()
    ben.close()


def test_wines_that_the_table_lacks_wait_until_it_has_them(
    open_desk: Callable[[], Desk], tmp_path: Path
) -> None:
    desk = open_desk()
    counts = group(*FAR) + group("moon-white", "moon-red") + group("moon-red", NEAR[1])
    assert take_counts_in(desk, file_of(tmp_path, counts)).unknown_wines == 2
    prior = confusion_priors(desk, [CallCount(NEAR[1], NEAR[1], None, 3)])
    assert prior(*FAR).rate > 0.1


@given(
    st.lists(
        st.tuples(st.sampled_from("abcd"), st.sampled_from("abcd"), st.integers(1, 9)), min_size=1
    ),
    st.integers(1, 4),
)
def test_a_file_says_what_was_counted(calls: list[tuple[str, str, int]], tasters: int) -> None:
    counts = GroupCounts()
    for number in range(tasters):
        counts += counts_of_taster(calls[number:] or calls)
    assert from_json(json.loads(json.dumps(as_json(counts)))) == counts


GOOD = as_json(group(*NEAR))


def changed(**wine: Any) -> dict[str, Any]:
    return {**GOOD, "wines": [{**GOOD["wines"][0], **wine}]}


def called(**other: Any) -> dict[str, Any]:
    return changed(called=[{**GOOD["wines"][0]["called"][0], **other}])


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ([], "no file of group counts"),
        ({}, "no file of group counts"),
        ({**GOOD, "version": 2}, "its version is 2, and this program reads 1"),
        ({**GOOD, "version": True}, "its version is true"),
        ({**GOOD, "wines": {}}, "the file should have a list “wines”"),
        ({**GOOD, "wines": [3]}, r"wines\[0\].wine should be the key of a wine"),
        ({**GOOD, "wines": GOOD["wines"] * 2}, r"wines\[1\]: sauvignon-marlborough is there twice"),
        (changed(wine="a\nb"), "should be the key"),
        (changed(poured="36"), r"wines\[0\].poured should be a whole number from 0, not \"36\""),
        (changed(poured=-1), "not -1"),
        (changed(poured=1.5), r"not 1\.5"),
        (changed(poured=True), "not true"),
        (changed(poured=10**8), "more than 10,000,000"),
        (changed(tasters=0), "36 pours cannot have been of 0 tasters"),
        (changed(tasters=37), "36 pours cannot have been of 37 tasters"),
        (changed(poured_twice=36 * 35 + 1), "poured_twice cannot be 1261 with 36 of 6 tasters"),
        (changed(poured_twice=0), "poured_twice cannot be 0 with 36 of 6 tasters"),
        (changed(called=None), r"wines\[0\] should have a list “called”"),
        (called(wine=NEAR[1]), "is the wine itself"),
        (called(confused_twice=10**6), "confused_twice cannot be 1000000 with 18 of 6"),
        (called(confused=60, confused_twice=3000), "confused_twice is more than poured_twice"),
        (changed(called=GOOD["wines"][0]["called"] * 2), "is there twice"),
        (
            changed(
                called=[
                    *GOOD["wines"][0]["called"],
                    {"wine": "x", "confused": 30, "confused_twice": 120},
                ]
            ),
            "48 confusions in 36 pours",
        ),
    ],
)
def test_what_no_group_can_have_counted_is_refused_with_its_place(
    desk: Desk, tmp_path: Path, told: object, words: str
) -> None:
    path = tmp_path / "bad.json"
    path.write_text(json.dumps(told), encoding="utf-8")
    with pytest.raises(IntakeError, match=words) as said:
        take_counts_in(desk, str(path))
    assert "bad.json" in str(said.value)
    assert "\n" not in str(said.value)
    assert counts_files(desk) == []


@pytest.mark.parametrize(
    "content", [b"", b"\xff\xfe\x00", b"[" * 100_000, b'{"version": ' + b"9" * 5000 + b"}"]
)
def test_what_is_no_json_is_said(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "bad.json"
    path.write_bytes(content)
    with pytest.raises(IntakeError, match=r"“.*bad.json” is no JSON"):
        read_file(path)


def test_a_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(IntakeError, match="cannot be read: No such file"):
        read_file(tmp_path / "none.json")
    with pytest.raises(IntakeError, match="cannot be read: Is a directory"):
        read_file(tmp_path)
