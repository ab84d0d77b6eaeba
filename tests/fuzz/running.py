"""Running a target in worker processes that may take so much time and memory, and no more."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import resource
import signal
import sys
import time
import traceback
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from queue import Empty
from types import FrameType
from typing import Any

SECONDS = 2.0
"""Of the processor's time that one input may take."""
MEMORY = 1024 * 1024 * 1024
"""Bytes of address space that a worker may take beyond what it has when it begins."""
_SILENT = 60.0
_A_PART = 200


class TooLong(BaseException):
    """One input took more than SECONDS."""


@dataclass(frozen=True, slots=True)
class Finding:
    """An input that broke the program, and how; `kind` is the same where the cause is."""

    kind: str
    number: int
    content: bytes
    text: str


@dataclass(slots=True)
class Done:
    """What a run did: so many inputs, the slowest of them, the most memory, what was found."""

    name: str
    inputs: int = 0
    slowest: float = 0.0
    slowest_number: int = 0
    memory: float = 0.0
    findings: list[Finding] = field(default_factory=list)

    def line(self) -> str:
        """The run in one line."""
        return (
            f"{self.name:10} {self.inputs:>8,} inputs  slowest {self.slowest * 1000:>6,.0f} ms"
            f" (number {self.slowest_number})  {self.memory:>5,.0f} MB"
            f"  {len(self.findings)} kinds of findings"
        )


@contextlib.contextmanager
def limited(seconds: float = SECONDS) -> Iterator[None]:
    """Raise TooLong once the work has taken so much of the processor's time."""

    def end(_number: int, _frame: FrameType | None) -> None:
        raise TooLong(f"more than {seconds:g} s")

    before = signal.signal(signal.SIGPROF, end)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def tried(target: Any, number: int, content: bytes) -> Finding | None:
    """Give one input to a target; a finding where anything but a refusal is raised."""
    try:
        with limited():
            target.run(content)
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # noqa: BLE001 - whatever it is, it is what is looked for
        return _finding(target.name, number, content, error)
    return None


def _finding(name: str, number: int, content: bytes, error: BaseException) -> Finding:
    frames = traceback.extract_tb(error.__traceback__)
    ours = [
        frame for frame in frames if "/cards/" in frame.filename or "/drills/" in frame.filename
    ]
    last = (ours or frames)[-1]
    place = f"{Path(last.filename).name}:{last.lineno} {last.name}"
    kind = f"{type(error).__name__} at {place}"
    shown = "".join(traceback.format_exception(error))[-1500:]
    return Finding(kind, number, content, f"-- {name} {number}: {kind}\n{content[:300]!r}\n{shown}")


def fuzz(name: str, numbers: range, folder: Path, workers: int = 2) -> Done:
    """Run a target on the inputs of these numbers."""
    done = Done(name)
    kinds: dict[str, Finding] = {}
    context = multiprocessing.get_context("spawn")
    told: Any = context.Queue()
    parts = [numbers[place::workers] for place in range(workers)]
    living = {
        place: _Worker(context, name, part, folder / str(place), told, place)
        for place, part in enumerate(parts)
        if part
    }
    while living:
        try:
            place, what, value = told.get(timeout=1.0)
        except Empty:
            for place, worker in list(living.items()):
                if (lost := worker.lost()) is not None:
                    finding = lost(name)
                    kinds.setdefault(finding.kind, finding)
                    if not worker.go_on():
                        del living[place]
            continue
        living[place].heard = time.monotonic()
        if what == "done":
            inputs, slowest, slowest_number, memory, last = value
            living[place].last = last
            done.inputs += inputs
            done.memory = max(done.memory, memory)
            if slowest > done.slowest:
                done.slowest, done.slowest_number = slowest, slowest_number
        elif what == "found":
            kinds.setdefault(value.kind, value)
        else:
            living.pop(place).process.join()
    done.findings = list(kinds.values())
    return done


class _Worker:
    """One process, and what is known of it."""

    def __init__(
        self, context: Any, name: str, numbers: range, folder: Path, told: Any, place: int
    ) -> None:
        self._context, self._name, self._told, self._place = context, name, told, place
        self._numbers, self._folder = numbers, folder
        self.last = -1
        self._at = context.Value("q", -1)
        self._start()

    def _start(self) -> None:
        self.heard = time.monotonic()
        self.process = self._context.Process(
            target=_work,
            args=(self._name, self._numbers, self._folder, self._told, self._place, self._at),
        )
        self.process.start()

    def lost(self) -> Any:
        """How the process was lost, if it was: it died, or has said nothing for a minute."""
        silent = time.monotonic() - self.heard > _SILENT
        if self.process.is_alive() and not silent:
            return None
        how = "silent for a minute" if self.process.is_alive() else "the process died"
        self.process.kill()
        self.process.join()
        number = self._at.value

        def finding(name: str) -> Finding:
            from tests.fuzz.targets import TARGETS

            content = b""
            if number >= 0:
                with contextlib.suppress(Exception):
                    content = TARGETS[name](self._folder).input(number)
            return Finding(how, number, content, f"-- {name} {number}: {how}\n{content[:300]!r}\n")

        return finding

    def go_on(self) -> bool:
        """Begin again behind the input that ended it; False where none is left."""
        at = self._at.value
        if at < 0:
            return False
        self._numbers = range(at + self._numbers.step, self._numbers.stop, self._numbers.step)
        if self._numbers:
            self._start()
        return bool(self._numbers)


def _work(name: str, numbers: range, folder: Path, told: Any, place: int, at: Any) -> None:
    from tests.fuzz.targets import TARGETS

    folder.mkdir(parents=True, exist_ok=True)
    os.environ["CROSSPOUR_HOME"] = str(folder / "home")
    os.environ.pop("CROSSPOUR_DATABASE", None)
    target = TARGETS[name](folder)
    tried(target, -1, target.input(0))
    _limit_memory()
    inputs, slowest, slowest_number = 0, 0.0, 0
    known: set[str] = set()
    for number in numbers:
        at.value = number
        content = target.input(number)
        began = time.process_time()
        finding = tried(target, number, content)
        took = time.process_time() - began
        inputs += 1
        if took > slowest:
            slowest, slowest_number = took, number
        if finding is not None and finding.kind not in known:
            known.add(finding.kind)
            told.put((place, "found", finding))
        if inputs == _A_PART:
            told.put((place, "done", (inputs, slowest, slowest_number, _memory(), number)))
            inputs, slowest = 0, 0.0
    told.put((place, "done", (inputs, slowest, slowest_number, _memory(), -1)))
    told.put((place, "left", None))


def _memory() -> float:
    """The most memory that this process has had, MB."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1024 * 1024 if sys.platform == "darwin" else 1024)


def _limit_memory() -> None:
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[0])
    except OSError:
        return
    limit = pages * resource.getpagesize() + MEMORY
    resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
