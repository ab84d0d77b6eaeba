"""Lists that may grow very long: the first things are held in memory, the rest on disk."""

from __future__ import annotations

import pickle
import tempfile
from collections.abc import Iterator, Sequence
from typing import IO, Generic, TypeVar

T = TypeVar("T")

IN_MEMORY = 5_000


class Pile(Generic[T]):
    """Things in the order in which they came. They can be gone through as often as one likes."""

    def __init__(self) -> None:
        self._first: list[T] = []
        self._rest: IO[bytes] | None = None
        self._number = 0

    def append(self, thing: T) -> None:
        """Put one more on top."""
        self._number += 1
        if len(self._first) < IN_MEMORY:
            self._first.append(thing)
            return
        if self._rest is None:
            # Nobody else can open it, and it is gone with the program.
            self._rest = tempfile.TemporaryFile()  # noqa: SIM115
        self._rest.seek(0, 2)
        pickle.dump(thing, self._rest)

    def first(self) -> Sequence[T]:
        """Those that are held in memory: the first ones."""
        return self._first

    def __len__(self) -> int:
        return self._number

    def __iter__(self) -> Iterator[T]:
        yield from self._first
        place = 0
        for _ in range(self._number - len(self._first)):
            assert self._rest is not None
            self._rest.seek(place)
            thing: T = pickle.load(self._rest)
            place = self._rest.tell()
            yield thing
