"""Feed many altered inputs to the program: `python -m tests.fuzz [TARGET ...] [N]`.

N inputs a target (1,000), shared by worker processes with limits of time and memory. Prints each
kind of finding once and keeps its input where `--keep` says. Inputs are numbered, and a number
gives the same input everywhere: `--first M` goes on where another run ended.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from tests.fuzz.running import fuzz
from tests.fuzz.targets import TARGETS


def main() -> int:
    """Run the targets asked for; 1 where something was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("what", nargs="*", metavar="TARGET or N", help=", ".join(TARGETS))
    parser.add_argument("--first", type=int, default=0, metavar="M", help="the first number (0)")
    parser.add_argument("--workers", type=int, default=2, metavar="W", help="processes (2)")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="keep what is found here")
    options = parser.parse_args()
    names = [word for word in options.what if not word.isdecimal()]
    numbers = [int(word) for word in options.what if word.isdecimal()]
    if unknown := [name for name in names if name not in TARGETS]:
        parser.error(f"{unknown[0]} is no target; there are {', '.join(TARGETS)}")
    if len(numbers) > 1:
        parser.error("give one number of inputs")
    found = 0
    with tempfile.TemporaryDirectory(prefix="crosspour-fuzz-") as temporary:
        for name in names or TARGETS:
            done = fuzz(
                name,
                range(options.first, options.first + (numbers or [1000])[0]),
                Path(temporary) / name,
                workers=options.workers,
            )
            print(done.line(), flush=True)
            for finding in done.findings:
                print(finding.text, flush=True)
                found += 1
                if options.keep:
                    file = options.keep / name / f"{finding.number}"
                    file.parent.mkdir(parents=True, exist_ok=True)
                    file.write_bytes(finding.content)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
