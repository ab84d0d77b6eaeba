"""Being told to stop by a signal, in a command that waits for a person: an orderly end."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager

# As shells count: 128 and the number of the signal.
SIGNALLED = 128
INTERRUPTED = SIGNALLED + signal.SIGINT
# Windows knows no hang-up.
STOPPING = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))


class Stopped(Exception):  # noqa: N818 - no error: the program was told to end
    """A signal told the program to end; `code` is the exit code that says so."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.code = SIGNALLED + number


@contextmanager
def stops() -> Iterator[None]:
    """Raise `Stopped` where a signal tells the program to end."""

    def stop(number: int, _: object) -> None:
        raise Stopped(number)

    before = {one: signal.signal(one, stop) for one in STOPPING}
    try:
        yield
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)
