"""Parts without a screen: cards built, the table loaded, and commands that only print."""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

from cards.cellar import Cellar
from cards.tables import SHIPPED, load_table, table_files
from drills.table_cache import load_cached_table
from tests.benchmarks.timing import Line, in_turn, timed

PER_THOUSAND_TARGET = 0.5


def building(folder: Path, repeats: int) -> list[Line]:
    """Every contrast of the table, per 1,000 pairs; the table from its files and from the cache."""
    table = load_table()
    cellar = Cellar(table)
    pairs = cellar.pairs()
    attributes = {
        key: {
            **dict.fromkeys(cellar.picture(key).scales, 1.0),
            **dict(cellar.picture(key).noted),
        }
        for key in table.profiles
    }

    def one_pass() -> float:
        total = 0.0
        for one, other in pairs:
            for values in (attributes[one], attributes[other]):
                for value in values.values():
                    total += value
        return total

    def fresh() -> int:
        return len(Cellar(table).all_contrasts())

    texts = [file.read_text(encoding="utf-8") for file in table_files(SHIPPED)]
    cache = folder / "cache"
    load_cached_table(cache)
    as_json = json.dumps([tomllib.loads(text) for text in texts])
    found = in_turn(
        {
            "pass": timed(one_pass),
            "contrasts": timed(fresh),
            "toml": timed(lambda: [tomllib.loads(text) for text in texts]),
            "cold": timed(load_table),
            "json": timed(lambda: json.loads(as_json)),
            "cached": timed(lambda: load_cached_table(cache)),
        },
        repeats,
    )
    share = 1000 / len(pairs)
    return [
        Line(
            "cards",
            f"all contrasts, per 1,000 of {len(pairs)} pairs",
            [seconds * share for seconds in found["contrasts"]],
            "one sum over their attributes",
            [seconds * share for seconds in found["pass"]],
            PER_THOUSAND_TARGET,
            absolute=True,
        ),
        Line("cards", "table from its TOML", found["cold"], "tomllib alone", found["toml"]),
        Line(
            "cards",
            "table from the cache, read late",
            found["cached"],
            "the same facts by json alone",
            found["json"],
        ),
    ]


def printing(repeats: int) -> list[Line]:
    """Commands that only print, against the interpreter alone."""

    def command(*arguments: str) -> Callable[[], float]:
        return timed(
            lambda: subprocess.run(
                [sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL
            )
        )

    main = "import sys; from drills.cli import main; sys.exit(main())"
    found = in_turn(
        {
            "nothing": command("-c", "pass"),
            "--help": command("-c", main, "--help"),
            "--version": command("-c", main, "--version"),
        },
        repeats,
    )
    return [
        Line("printing", name, found[name], "python -c pass", found["nothing"])
        for name in ("--help", "--version")
    ]
