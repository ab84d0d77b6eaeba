"""Cuts the power: what the program had synced is on the disk, of the rest some, none or torn parts.

`log_writes.c`, preloaded, notes every write, truncation, sync, link, renaming and removal below a
home. From that the disk of any moment can be made. Assumed, as of journalling file systems: names
change at once and in order, a sector of 512 bytes is written whole or not at all. Simpler than what
research tools try (all reorderings across files), and harsher than most disks.
"""

from __future__ import annotations

import random
import shutil
import struct
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from tests.faults.killing import Ended, Server, check, new_home
from tests.faults.works import SAID, WORKS

SOURCE = Path(__file__).with_name("log_writes.c")
SECTOR = 512


def compiled(folder: Path) -> Path | None:
    """The library to preload, or None where there is no compiler (or none that makes one)."""
    compiler = shutil.which("cc")
    if compiler is None:
        return None
    library = folder / "log_writes.so"
    command = [compiler, "-shared", "-fPIC", "-O1", "-o", str(library), str(SOURCE), "-ldl"]
    made = subprocess.run(command, capture_output=True, check=False)
    return library if made.returncode == 0 else None


@dataclass(frozen=True)
class Step:
    """One thing asked of the disk: write, truncate, sync, unlink, rename or link."""

    kind: str
    path: str
    other: str
    place: int
    data: bytes


def read_steps(log: Path) -> Iterator[Step]:
    """The steps in the order in which they were asked for."""
    content, at = log.read_bytes(), 0
    while at < len(content):
        kind, first = struct.unpack_from("<cH", content, at)
        at += 3
        path = content[at : at + first].decode()
        at += first
        (second,) = struct.unpack_from("<H", content, at)
        at += 2
        other = content[at : at + second].decode()
        at += second
        place, size = struct.unpack_from("<qI", content, at)
        at += 12
        yield Step(kind.decode(), path, other, place, content[at : at + size])
        at += size


@dataclass
class Content:
    """What a file holds for sure, and what was asked for since it was last synced."""

    sure: bytearray = field(default_factory=bytearray)
    asked: list[Step] = field(default_factory=list)

    def sync(self) -> None:
        for step in self.asked:
            _apply(self.sure, step, len(step.data))
        self.asked.clear()

    def after_a_cut(self, rng: random.Random) -> bytes:
        """What is found when the power is back."""
        found = bytearray(self.sure)
        for step in self.asked:
            sectors = -(-len(step.data) // SECTOR)
            whole = rng.choice((0, rng.randint(0, sectors), sectors))
            if step.kind == "w" and whole:
                _apply(found, step, min(whole * SECTOR, len(step.data)))
            elif step.kind == "t" and rng.random() < 0.5:
                _apply(found, step, 0)
        return bytes(found)


def _apply(content: bytearray, step: Step, number: int) -> None:
    if step.kind == "t":
        del content[step.place :]
        content.extend(b"\0" * (step.place - len(content)))
        return
    content.extend(b"\0" * (step.place - len(content)))
    content[step.place : step.place + number] = step.data[:number]


class Disk:
    """The files of a home as steps change them; names change at once, contents when synced."""

    def __init__(self, home: Path, *, syncs: bool = True) -> None:
        self.home, self.syncs = home, syncs
        self.files = {
            str(file): Content(bytearray(file.read_bytes()))
            for file in home.rglob("*")
            if file.is_file()
        }
        self.said = ""

    def take(self, step: Step) -> None:
        """Change the disk by one step."""
        if Path(step.path).name == SAID:
            self.said += step.data.decode()
        elif step.kind in "wt":
            self.files.setdefault(step.path, Content()).asked.append(step)
        elif step.kind == "s" and self.syncs and step.path in self.files:
            self.files[step.path].sync()
        elif step.kind == "u":
            self.files.pop(step.path, None)
        elif step.kind == "r" and step.path in self.files:
            self.files[step.other] = self.files.pop(step.path)
        elif step.kind == "l" and step.path in self.files:
            self.files[step.other] = self.files[step.path]

    def cut(self, home: Path, rng: random.Random) -> list[str]:
        """Lay out in `home` what is found after a cut now; returns what had been said."""
        for name, content in self.files.items():
            # The index of the log lives in memory alone.
            if name.endswith("-shm"):
                continue
            file = home / Path(name).relative_to(self.home)
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(content.after_a_cut(rng))
        return self.said.split("\n")[:-1]


def cut_at_random(
    cuts: int,
    furnished: Path,
    folder: Path,
    library: Path,
    seed: int = 1,
    *,
    works: tuple[str, ...] = tuple(WORKS),
    syncs: bool = True,
) -> int:
    """Do each work once, cut its power so often, and check; returns how many steps there were.

    With `syncs` False no sync counts: a check of the check. AssertionError says what was lost.
    """
    rng = random.Random(seed)
    number = 0
    with Server(library) as server:
        for work in works:
            home = new_home(furnished, folder / f"power-{work}", work, seed)
            disk = Disk(home, syncs=syncs)
            ended = server.run(work, home, seed)
            assert not ended.killed
            steps = list(read_steps(home.with_suffix(".log")))
            number += len(steps)
            moments = sorted(rng.randint(1, len(steps)) for _ in range(cuts))
            for place, step in enumerate(steps, 1):
                disk.take(step)
                for _ in range(moments.count(place)):
                    _check_cut(disk, ended, folder / f"power-{work}-{place}", rng)
    return number


def _check_cut(disk: Disk, ended: Ended, home: Path, rng: random.Random) -> None:
    said = disk.cut(home, rng)
    check(replace(ended, home=home, killed=True, said=said))
    shutil.rmtree(home)
