"""Kill the program N times (200) at random, cut its power N times, and check what is left.

`python -m tests.faults [N]`, from the checkout. Cutting the power needs a C compiler.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path


def main() -> int:
    """Furnish a home, kill, and print how often each work was really cut short."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("times", nargs="?", type=int, default=200, metavar="N")
    parser.add_argument("--seed", type=int, default=1, metavar="S")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="crosspour-faults-") as name:
        folder = Path(name)
        # Before anything of the program is imported: nobody's own database is touched.
        os.environ["CROSSPOUR_HOME"] = str(folder / "furnished")
        os.environ.pop("CROSSPOUR_DATABASE", None)
        from drills.service.desk import Desk
        from tests.faults.killing import kill_at_random
        from tests.faults.power import compiled, cut_at_random
        from tests.faults.works import WORKS

        desk = Desk()
        _ = desk.taster
        desk.close()
        furnished = folder / "furnished"
        counted = kill_at_random(options.times, furnished, folder, options.seed)
        library = compiled(folder)
        if library is not None:
            each = max(options.times // len(WORKS), 1)
            steps = cut_at_random(each, furnished, folder, library, options.seed)
            print(f"power cut {each * len(WORKS)} times within {steps:,} steps of the disk")
        else:
            print("power not cut: no C compiler")
    for work in sorted({work for work, _ in counted}):
        print(f"{work:10} killed {counted[work, True]:4}, done before {counted[work, False]:4}")
    print("nothing lost, nothing by half")
    return 0


if __name__ == "__main__":
    sys.exit(main())
