"""How fast the program is, as ratios to baselines measured in the same run.

`python -m tests.benchmarks [PART ...] [--repeats N] [--keep FOLDER]`, from the checkout. Nothing
here fails on a time: machines differ, and the table is for people to read.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

PARTS = (
    "first",
    "keys",
    "cards",
    "plan",
    "printing",
    "intake",
    "tastings",
    "growth",
    "home",
    "weak",
    "progress",
    "planner",
    "pouring",
    "group",
    "disk",
    "memory",
)


def main() -> int:
    """Measure the parts asked for and print one table."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("parts", nargs="*", metavar="PART", help=", ".join(PARTS))
    parser.add_argument("--repeats", type=int, default=11, metavar="N", help="runs of each (11)")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="keep the databases here")
    options = parser.parse_args()
    if unknown := [part for part in options.parts if part not in PARTS]:
        parser.error(f"{unknown[0]} is no part; there are {', '.join(PARTS)}")
    with tempfile.TemporaryDirectory(prefix="crosspour-benchmarks-") as temporary:
        folder = options.keep.absolute() if options.keep else Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        # Before anything of the program is imported: nobody's own database is touched.
        os.environ["CROSSPOUR_HOME"] = str(folder)
        os.environ.pop("CROSSPOUR_DATABASE", None)
        _measure(options.parts or list(PARTS), folder, max(options.repeats, 1))
    return 0


def _measure(parts: Sequence[str], folder: Path, repeats: int) -> None:
    from tests.benchmarks import screens, timing, work

    lines: list[timing.Line | timing.Amount] = []
    if {"first", "keys"} & set(parts):
        databases = screens.Databases(folder)
        if "first" in parts:
            lines += screens.first_card(databases, folder, repeats)
        if "keys" in parts:
            # A key takes milliseconds, so its times are taken more often.
            lines += screens.keys(databases, repeats * 6)
    if "cards" in parts:
        lines += work.building(folder, repeats)
    if "plan" in parts:
        from tests.benchmarks import planning

        lines += planning.planning(repeats)
    if "printing" in parts:
        lines += work.printing(repeats)
    if "intake" in parts:
        from tests.benchmarks import intake

        lines += intake.intake(folder, repeats)
    if "tastings" in parts:
        from tests.benchmarks import tastings

        lines += tastings.tastings(folder, repeats)
    if "growth" in parts:
        from tests.benchmarks import growing

        lines += growing.tables(repeats)
    if {"home", "weak", "progress", "planner"} & set(parts):
        from tests.benchmarks import growing

        lines += growing.answers(folder, repeats, [p for p in growing.COUNTED if p in parts])
    if "pouring" in parts:
        from tests.benchmarks import pouring

        lines += pouring.pouring(repeats)
    if "group" in parts:
        from tests.benchmarks import group

        lines += group.group()
    if {"disk", "memory"} & set(parts):
        from tests.benchmarks import disk

        lines += [line for line in disk.disk(folder) if line.part in parts]
    if lines:
        print(timing.table(lines))


if __name__ == "__main__":
    sys.exit(main())
