"""A file of a group's counts: JSON with sums over tasters, no names, no dates, no single taster.

    {"crosspour": "group counts", "version": 1, "wines": [
        {"wine": KEY, "tasters": 5, "poured": 23, "poured_twice": 96,
         "called": [{"wine": KEY, "confused": 7, "confused_twice": 12}]}]}

`poured_twice` sums n (n - 1) over tasters who were poured n, `confused_twice` likewise: ordered
pairs of pours of one taster. A wine that is not in `called` was never called in place of it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from drills.errors import IntakeError
from drills.statistics.group_prior import Confused, GroupCounts, Poured
from drills.tastings.cells import printable

KIND, VERSION = "group counts", 1
# A file of all pairs of a thousand wines has some 60 MB; one of a real group has some kilobytes.
MOST_BYTES = 64 * 1024 * 1024
_MOST_COUNT = 10_000_000
_LONGEST_KEY = 200


def as_json(counts: GroupCounts) -> dict[str, Any]:
    """What a file says of counts, wines by key."""
    called: dict[str, list[dict[str, Any]]] = {}
    for (name, was), one in sorted(counts.confused.items()):
        called.setdefault(was, []).append(
            {"wine": name, "confused": one.times, "confused_twice": one.twice}
        )
    wines = [
        {
            "wine": wine,
            "tasters": one.tasters,
            "poured": one.pours,
            "poured_twice": one.twice,
            "called": called.get(wine, []),
        }
        for wine, one in sorted(counts.poured.items())
    ]
    return {"crosspour": KIND, "version": VERSION, "wines": wines}


def read_file(path: Path) -> GroupCounts:
    """The counts in a file.

    Raises:
        IntakeError: it cannot be read, is no such file, or says what cannot be.
    """
    name = f"“{printable(str(path))}”"
    try:
        with path.open("rb") as stream:
            content = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise IntakeError(f"{name} cannot be read: {why}") from None
    if len(content) > MOST_BYTES:
        raise IntakeError(f"{name} is larger than {MOST_BYTES // 1024**2} MB")
    try:
        told = json.loads(content)
    except (ValueError, RecursionError):
        raise IntakeError(f"{name} is no JSON") from None
    try:
        return from_json(told)
    except IntakeError as error:
        raise IntakeError(f"{name}: {error}") from None


def from_json(told: object) -> GroupCounts:
    """The counts that JSON says; IntakeError where it says what no group can have."""
    if not isinstance(told, dict) or told.get("crosspour") != KIND:
        raise IntakeError("this is no file of group counts; crosspour group export makes one")
    version = told.get("version")
    if type(version) is not int or version != VERSION:
        raise IntakeError(f"its version is {_short(version)}, and this program reads {VERSION}")
    poured: dict[str, Poured] = {}
    confused: dict[tuple[str, str], Confused] = {}
    for place, wine in enumerate(_list(told, "wines", "the file")):
        where = f"wines[{place}]"
        was = _key(wine, where)
        if was in poured:
            raise IntakeError(f"{where}: {was} is there twice")
        one = Poured(*(_count(wine, name, where) for name in ("tasters", "poured", "poured_twice")))
        if not 1 <= one.tasters <= one.pours:
            raise IntakeError(
                f"{where}: {one.pours} pours cannot have been of {one.tasters} tasters"
            )
        _check_twice(one.pours, one.twice, one.tasters, f"{where}.poured_twice")
        poured[was] = one
        whole = 0
        for nth, other in enumerate(_list(wine, "called", where)):
            pair = (_key(other, f"{where}.called[{nth}]"), was)
            inside = f"{where}.called[{nth}]"
            if pair in confused or pair[0] == was:
                why = "is the wine itself" if pair[0] == was else "is there twice"
                raise IntakeError(f"{inside}: {pair[0]} {why}")
            two = Confused(*(_count(other, n, inside) for n in ("confused", "confused_twice")))
            _check_twice(two.times, two.twice, one.tasters, f"{inside}.confused_twice")
            if two.twice > one.twice:
                raise IntakeError(f"{inside}.confused_twice is more than poured_twice")
            confused[pair] = two
            whole += two.times
        if whole > one.pours:
            raise IntakeError(f"{where}: {whole} confusions in {one.pours} pours")
    return GroupCounts(poured, confused)


def _check_twice(times: int, twice: int, tasters: int, where: str) -> None:
    # Most when one taster had all; fewest when they were shared out evenly.
    if twice > times * (times - 1) or tasters * (twice + times) < times * times:
        raise IntakeError(f"{where} cannot be {twice} with {times} of {tasters} tasters")


def _list(told: Mapping[str, Any], name: str, where: str) -> list[Any]:
    found = told.get(name)
    if not isinstance(found, list):
        raise IntakeError(f"{where} should have a list “{name}”")
    return found


def _key(told: object, where: str) -> str:
    key = told.get("wine") if isinstance(told, dict) else None
    if not isinstance(key, str) or not 0 < len(key) <= _LONGEST_KEY or not key.isprintable():
        raise IntakeError(f"{where}.wine should be the key of a wine")
    return key


def _count(told: Mapping[str, Any], name: str, where: str) -> int:
    value = told.get(name)
    if type(value) is not int or not 0 <= value <= _MOST_COUNT**2:
        raise IntakeError(f"{where}.{name} should be a whole number from 0, not {_short(value)}")
    if not name.endswith("_twice") and value > _MOST_COUNT:
        raise IntakeError(f"{where}.{name} is more than {_MOST_COUNT:,}")
    return value


def _short(value: object) -> str:
    if value is None:
        return "missing"
    try:
        text = json.dumps(value)
    except ValueError:
        text = "such a number"
    return printable(text if len(text) <= 40 else f"{text[:40]}…")
