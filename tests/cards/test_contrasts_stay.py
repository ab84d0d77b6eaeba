"""Contrasts stay: the same table makes the same ones, and an edit keeps what it does not touch."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace

from cards.cellar import Cellar
from cards.contrasts import (
    Contrast,
)
from cards.profiles import Profile, Span
from cards.scale import LevelRange, Typical
from cards.tables import Table


def with_profile(table: Table, profile: Profile) -> Cellar:
    return Cellar(replace(table, profiles={**table.profiles, profile.key: profile}))


def test_other_facts_do_not_touch_a_pair(table: Table, cellar: Cellar) -> None:
    changed = replace(
        table.profiles["riesling-mosel"],
        descriptors={"lemon": Typical.SIGNATURE},
        alcohol=Span(11, 12),
    )
    pair = ("chardonnay-chablis", "sauvignon-sancerre")
    assert with_profile(table, changed).contrasts(*pair) == cellar.contrasts(*pair)
    fewer = Cellar(replace(table, profiles={key: table.profiles[key] for key in pair}))
    assert fewer.contrasts(*pair) == cellar.contrasts(*pair)


def test_an_edited_fact_keeps_the_ids_of_the_cues_that_stand(table: Table, cellar: Cellar) -> None:
    pair = ("chardonnay-chablis", "sauvignon-sancerre")
    before = {contrast.cues: contrast.id for contrast in cellar.contrasts(*pair)}
    sancerre = table.profiles["sauvignon-sancerre"]
    edited = replace(
        sancerre,
        alcohol=Span(12.0, 13.1),
        descriptors={**sancerre.descriptors, "lime": Typical.COMMON},
    )
    after = {c.cues: c.id for c in with_profile(table, edited).contrasts(*pair)}
    assert len(before.keys() & after.keys()) >= 2
    assert all(before[cues] == after[cues] for cues in before.keys() & after.keys())


def test_a_fact_turned_round_changes_the_bearing_and_keeps_the_id(table: Table) -> None:
    pair = ("riesling-alsace", "riesling-clare")
    low, high = LevelRange.parse("low"), LevelRange.parse("high")

    def acid(mine: LevelRange, theirs: LevelRange) -> Contrast:
        profiles = {
            key: replace(
                table.profiles[key], structure={**table.profiles[key].structure, "acid": level}
            )
            for key, level in zip(pair, (mine, theirs), strict=True)
        }
        found = Cellar(replace(table, profiles=profiles)).contrasts(*pair)
        return next(contrast for contrast in found if contrast.cues == ("acid",))

    there, back = acid(high, low), acid(low, high)
    assert there.id == back.id
    assert (there.bearing, back.bearing) == ("a", "b")


PRINT_ALL = """
import random
from cards.cellar import Cellar
from cards.explaining import explain
from cards.questions import Form, ask
from cards.tables import load_table
cellar = Cellar(load_table())
print(cellar.table.fingerprint)
every = cellar.all_contrasts()
print(*every, sep="\\n")
rng = random.Random(5)
for contrast in every[::40]:
    question = ask(cellar, contrast, rng, form=rng.choice(list(Form)))
    print(question, explain(cellar, question))
"""


def test_two_processes_with_other_hash_seeds_make_the_same_cards() -> None:
    printed = []
    for seed in ("0", "4711"):
        run = subprocess.run(
            [sys.executable, "-c", PRINT_ALL],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            capture_output=True,
            text=True,
            check=True,
        )
        printed.append(run.stdout)
    assert printed[0].count("Contrast(") > 2000
    assert printed[0] == printed[1]
