"""How long the silence of a server is borne: one that hangs closes nothing, and says nothing.

Keepalives find a dead cable, in time. They do not find a server that stands still while its machine
acknowledges every packet. So silence is measured here: the seconds in which a connection waits for
the server and nothing at all comes.

Loaded only with the driver of a server.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from threading import get_ident
from typing import Any

import psycopg

from drills.clock import Clock

USUAL_SECONDS = 60.0
"""Silence that is borne outside a drill: a report over years of answers may take its time."""

DRILL_SECONDS = 3.0
"""Silence that is borne within a drill, and by the question whether a connection still lives."""

CONNECT_SECONDS = 3
"""How long making a connection may take."""

PATIENCE = "crosspour_patience"
"""Execution option of a server's engine: its `Patience`."""


# Always of the machine: a clock that stands still would wait for ever.
_seconds = Clock().stopwatch


@dataclass
class Patience:
    """What is known of a server's silence; one for all connections of an engine.

    `drilling`: a taster sits before a card. `silent`: the last thing known of the server is that it
    did not answer in time; then a taster who drills is not made to wait for it again, and only the
    thread that is the `scout` tries.
    """

    drilling: bool = False
    silent: bool = False
    scout: int | None = None

    @property
    def seconds(self) -> float:
        """How long silence is borne now."""
        return DRILL_SECONDS if self.drilling else USUAL_SECONDS

    def connect(self, *given: Any, **named: Any) -> PatientConnection:
        """Make a connection that is as patient as this.

        Raises:
            psycopg.OperationalError: no server, or it did not answer in time, or it was silent
                before and a taster drills.
        """
        if self.silent and self.drilling and get_ident() != self.scout:
            raise psycopg.OperationalError("the server is silent")
        try:
            made = PatientConnection.connect(*given, **named)
        except psycopg.errors.ConnectionTimeout:
            self.silent = True
            raise
        self.silent = False
        made.patience = self
        return made


class PatientConnection(psycopg.Connection[Any]):
    """A connection that is given up when the server has been silent for too long.

    `bears` is how many seconds of silence the work of the moment may take, None for any number.
    """

    patience: Patience | None = None
    bears: float | None = DRILL_SECONDS

    def at_rest(self) -> None:
        """Nothing is asked: what comes next is the question whether the connection still lives."""
        self.bears = DRILL_SECONDS

    # The driver waits for the server here and, but for making a connection, nowhere else.
    def wait(self, gen: Generator[Any, Any, Any], *given: Any, **named: Any) -> Any:
        """Wait for the server.

        Raises:
            psycopg.OperationalError: it was silent for too long; the connection is closed.
        """
        return super().wait(self._bearing(gen), *given, **named)

    def _bearing(self, asking: Generator[Any, Any, Any]) -> Generator[Any, Any, Any]:
        try:
            wanted = next(asking)
            since = _seconds()
            while True:
                ready = yield wanted
                if ready:
                    since = _seconds()
                elif self.bears is not None and _seconds() - since > self.bears:
                    self._give_up()
                # The driver looks up several times a second, also where nothing has come.
                wanted = asking.send(ready)
        except StopIteration as done:
            return done.value

    def _give_up(self) -> None:
        if self.patience is not None:
            self.patience.silent = True
        # Without a word to the server: it does not listen.
        self.pgconn.finish()
        raise psycopg.OperationalError(f"the server said nothing for {self.bears:g} seconds")
