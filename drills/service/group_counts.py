"""Counts of what others mix up: written to a file, taken from one, and made a prior of.

Taken in, they belong to one taster and are kept with the facts about the database, a file's counts
each, so that any can be taken out again. Nothing of them says who was counted.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from itertools import permutations
from typing import TYPE_CHECKING, Any

from cards.contrasts import ordered_pair
from drills.confusions import PRIOR_POURS, CallCount, PriorOf, prior_rate, recency, table_prior
from drills.errors import IntakeError, NotPossibleError
from drills.paths import expanded
from drills.service.desk import GROUP_COUNTS
from drills.service.group_file import as_json, from_json, read_file
from drills.service.writing import write_whole
from drills.statistics.group_prior import (
    LEAST_EXPECTED,
    WORTH_ASKING,
    Credit,
    GroupCounts,
    Pair,
    Prior,
    counts_of_taster,
    credit,
    group_prior,
    of_both,
    trust,
)

if TYPE_CHECKING:
    from drills.service.desk import Desk

# Fewest tasters who were poured a wine, where a file holds the counts of several: of two, each
# could take their own from the sum and be left with the other's.
LEAST_TASTERS = 3
# A pair that the group confuses at least so often gets cards, however far apart the table puts it
# (our assumption).
TAUGHT_FROM = 1 / 20


@dataclass(frozen=True, slots=True)
class CountsFile:
    """A file that was taken in: its number here, its name, when, and how many wines and pours."""

    number: int
    name: str
    taken_at: datetime
    wines: int
    pours: int


@dataclass(frozen=True, slots=True)
class CountsTaken:
    """What became of a file: the file, None where it was known already; wines the table lacks."""

    file: CountsFile | None
    unknown_wines: int


@dataclass(frozen=True)
class _Kept:
    files: list[dict[str, Any]]
    credit: Credit

    @property
    def counts(self) -> GroupCounts:
        whole = GroupCounts()
        for one in self.files:
            whole += from_json(one["counts"])
        return whole


# ---- files


def export_counts(desk: Desk, to: str, *, group: bool, overwrite: bool = False) -> GroupCounts:
    """Write counts to a file: one's own, or those of all in this database who share.

    Raises:
        NotPossibleError: there is nothing to count, or too few share.
        WriteError: the file is there already, or cannot be written.
    """
    counts = _of_all_who_share(desk) if group else _of(desk, desk.taster.id)
    if not counts.poured:
        raise NotPossibleError(
            f"no wine was poured to {LEAST_TASTERS} tasters who share"
            if group
            else "no pour with a call is logged yet"
        )
    text = json.dumps(as_json(counts), indent=1, ensure_ascii=False)
    write_whole(expanded(to), [text, "\n"], overwrite=overwrite)
    return counts


def take_counts_in(desk: Desk, file: str) -> CountsTaken:
    """Take in the counts of a file; one that was taken in already changes nothing.

    Raises:
        IntakeError: the file cannot be read, or holds the taster's own counts and nothing else.
    """
    path = expanded(file)
    counts = read_file(path)
    told = as_json(counts)
    if told == as_json(_of(desk, desk.taster.id)):
        raise IntakeError(f"{path.name} holds your own counts, which are known already")
    digest = hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()
    kept = _kept(desk)
    known = desk.table.profiles.keys()
    unknown = len(({w for p in counts.confused for w in p} | counts.poured.keys()) - known)
    if any(one["digest"] == digest for one in kept.files):
        return CountsTaken(None, unknown)
    made = {
        "number": max((one["number"] for one in kept.files), default=0) + 1,
        "name": path.name,
        "digest": digest,
        "taken_at": desk.clock.now().isoformat(),
        "counts": told,
    }
    _keep(desk, [*kept.files, made])
    desk.ensure_pairs(sorted(pair for pair in taught_pairs(counts) if set(pair) <= known))
    return CountsTaken(_file(made), unknown)


def counts_files(desk: Desk) -> list[CountsFile]:
    """The files that were taken in, oldest first."""
    return [_file(one) for one in _kept(desk).files]


def take_counts_out(desk: Desk, number: int) -> CountsFile:
    """Forget the counts of a file again.

    Raises:
        NotPossibleError: there is no file of that number.
    """
    files = _kept(desk).files
    gone = next((one for one in files if one["number"] == number), None)
    if gone is None:
        raise NotPossibleError(f"there are no counts {number}; --list shows them")
    _keep(desk, [one for one in files if one is not gone])
    return _file(gone)


def _file(kept: dict[str, Any]) -> CountsFile:
    counts = from_json(kept["counts"])
    return CountsFile(
        kept["number"],
        kept["name"],
        datetime.fromisoformat(kept["taken_at"]),
        len(counts.poured),
        sum(one.pours for one in counts.poured.values()),
    )


def _of(desk: Desk, taster: int) -> GroupCounts:
    calls = Counter((row.was, row.called) for row in desk.repository.reveals(taster))
    return counts_of_taster((was, called, n) for (was, called), n in calls.items() if was)


def _of_all_who_share(desk: Desk) -> GroupCounts:
    if desk.repository.is_member:
        raise NotPossibleError(
            "your login sees your own pours alone; whoever runs the group exports"
        )
    whole = GroupCounts()
    for one in desk.repository.tasters():
        if one.shares:
            whole += _of(desk, one.id)
    return whole.of_at_least(LEAST_TASTERS)


def _kept(desk: Desk) -> _Kept:
    text = desk.repository.meta(f"{GROUP_COUNTS}{desk.taster.id}")
    if text is None:
        return _Kept([], Credit())
    told = json.loads(text)
    return _Kept(told["files"], Credit(**told["credit"]))


def _keep(desk: Desk, files: list[dict[str, Any]]) -> None:
    """Keep files, with what all of them together let one believe: it needs every pair."""
    text = None
    if files:
        counts = _Kept(files, Credit()).counts
        believed = credit(_of_the_table(desk, counts), _expected(desk))
        told = {"table": believed.table, "likeness": believed.likeness}
        text = json.dumps({"files": files, "credit": told})
    desk.repository.keep_meta(f"{GROUP_COUNTS}{desk.taster.id}", text)


def kept_pairs(text: str | None) -> set[Pair]:
    """The pairs to be taught for what a taster took in; `text` is what is kept for them."""
    return (
        set() if text is None else taught_pairs(_Kept(json.loads(text)["files"], Credit()).counts)
    )


def taught_pairs(counts: GroupCounts) -> set[Pair]:
    """The pairs, sorted, that a group confuses often enough to get cards."""
    return {
        ordered_pair(called, was)
        for (called, was), one in counts.confused.items()
        if one.times >= TAUGHT_FROM * counts.poured[was].pours
    }


# ---- the prior


def confusion_priors(desk: Desk, calls: Iterable[CallCount]) -> PriorOf:
    """What to expect of each confusion before a taster's own calls of it, by (called, was).

    The one place that says so: weak pairs, the order of unseen pairs, the planner and planned
    flights ask here. Without counts of others it is the table's prior; with them the group's,
    trusted as far as `calls`, all of the taster's own, look like the group's.
    """
    kept = _kept(desk)
    if not kept.files:
        return table_prior(desk.cellar.separation)
    return _with_group(desk, _of_the_table(desk, kept.counts), kept.credit, calls)


def pairs_of_group(desk: Desk) -> set[Pair]:
    """The pairs, sorted, that others confuse by the counts taken in."""
    known = desk.table.profiles.keys()
    return {ordered_pair(*pair) for pair in _kept(desk).counts.confused if set(pair) <= known}


def _with_group(
    desk: Desk, counts: GroupCounts, believed: Credit, calls: Iterable[CallCount]
) -> PriorOf:
    today = date.fromordinal(desk.clock.today())
    poured: defaultdict[str, float] = defaultdict(float)
    confused: defaultdict[Pair, float] = defaultdict(float)
    for call in calls:
        if call.called is not None:
            weight = call.times * recency(call.tasted_on, today)
            poured[call.was] += weight
            if call.called != call.was:
                confused[call.called, call.was] += weight
    expected = _expected(desk)

    @cache
    def both(called: str, was: str) -> tuple[Prior | None, Prior]:
        rate = max(expected(called, was), LEAST_EXPECTED)
        return group_prior(counts, believed, called, was, rate), Prior(rate, PRIOR_POURS)

    rows = []
    # In the table's order, so that the same calls give the same sum to the last bit.
    for called, was in permutations(desk.table.profiles, 2):
        if was in poured and was in counts.poured:
            pair = (called, was)
            group, plain = both(*pair)
            told = pair in counts.confused or pair in confused or plain.rate >= WORTH_ASKING
            if told and group is not None:
                # Adding in another order may leave a hair more confused than was poured.
                times = min(confused.get(pair, 0.0), poured[was])
                rows.append((times, poured[was], group, plain))
    trusted = trust(rows)

    @cache
    def prior(called: str, was: str) -> Prior:
        group, plain = both(called, was)
        if group is None:
            return Prior(expected(called, was), PRIOR_POURS)
        return of_both(group, plain, trusted)

    return prior


def _of_the_table(desk: Desk, counts: GroupCounts) -> GroupCounts:
    """The counts of wines that the table holds; those of others are kept for when it does."""
    known = desk.table.profiles.keys()
    return GroupCounts(
        {wine: one for wine, one in counts.poured.items() if wine in known},
        {pair: one for pair, one in counts.confused.items() if set(pair) <= known},
    )


def _expected(desk: Desk) -> Callable[[str, str], float]:
    """The table's rate of every pair, worked out at once: one by one takes ten times as long."""
    from cards.apart import separations

    wines = list(desk.table.profiles)
    apart = separations([desk.cellar.picture(wine) for wine in wines]).tolist()
    place = {wine: number for number, wine in enumerate(wines)}

    @cache
    def expected(called: str, was: str) -> float:
        return prior_rate(apart[place[called]][place[was]])

    return expected
