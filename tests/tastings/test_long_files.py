"""A long file takes hardly more memory than a short one, where it is read in parts."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from drills.tastings.assembling import Tally
from drills.tastings.piles import IN_MEMORY, Pile

_TAKE_IN = """
import sys
from drills.service.desk import Desk
from drills.service.intake import read, take_in
from tests.peaks import peak

desk = Desk()
def take(file):
    with read(desk, file) as intake:
        return take_in(desk, intake).pours
short, long = sys.argv[1:]
pours = [take(short)]
before = peak()
pours.append(take(long))
print(*pours, (peak() - before) // 1024)
"""


def write(file: Path, rows: int) -> None:
    calls = ("Sancerre", "Chablis", "Barolo", "NZ Sauvignon Blanc")
    with file.open("w", encoding="utf-8") as stream:
        if file.suffix == ".csv":
            stream.write("date,flight,called,was,note\n")
        for number in range(rows):
            flight = number // 6
            row = {
                "date": f"{2000 + flight % 25}-{flight % 12 + 1:02d}-{flight % 28 + 1:02d}",
                "flight": f"evening {flight}",
                "called": calls[number % 4],
                "was": calls[number // 4 % 4],
                "note": f"number {number}, and nothing that stands anywhere else",
            }
            if file.suffix == ".csv":
                stream.write(",".join(f'"{cell}"' for cell in row.values()) + "\n")
            else:
                stream.write(json.dumps(row) + "\n")


@pytest.mark.skipif(sys.platform != "linux", reason="memory is counted in other units elsewhere")
@pytest.mark.parametrize("suffix", [".csv", ".jsonl"])
def test_memory_stays_flat(home: Path, tmp_path: Path, suffix: str) -> None:
    short, long = tmp_path / f"short{suffix}", tmp_path / f"long{suffix}"
    write(short, 1_000)
    write(long, 41_000)
    assert home.is_dir()
    ran = subprocess.run(
        [sys.executable, "-c", _TAKE_IN, str(short), str(long)],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        capture_output=True,
        text=True,
        check=True,
    )
    few, many, kilobytes = map(int, ran.stdout.split())
    assert (few, many) == (1_000, 40_000)
    # Fingerprints of all rows and the meanings of some cells take 12 MB; forty thousand rows held
    # at once would take more than 16 MB besides.
    assert kilobytes < 16_000, f"{kilobytes:,} KB more"


def test_a_pile_gives_back_what_lies_in_memory_and_on_disk() -> None:
    pile: Pile[tuple[int, str]] = Pile()
    for number in range(IN_MEMORY + 500):
        pile.append((number, "é" * (number % 7)))
        if number == IN_MEMORY + 100:
            assert sum(1 for _ in pile) == number + 1
    assert len(pile) == IN_MEMORY + 500
    assert list(pile) == [(number, "é" * (number % 7)) for number in range(IN_MEMORY + 500)]
    assert len(pile.first()) == IN_MEMORY


def test_a_tally_counts_as_a_dictionary_would() -> None:
    tally = Tally()
    counted: dict[int, int] = {}
    for number in range(20_000):
        key = (number * number * 7919) % 9_973 - 3_000
        counted[key] = counted.get(key, 0) + 1
        # Nought has no place of its own and is counted with one.
        assert tally.add(key) == counted[key] or key in (0, 1)
