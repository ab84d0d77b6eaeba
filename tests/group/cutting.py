"""A wire between the program and its server that can be cut at a chosen moment."""

from __future__ import annotations

import socket
import threading
from contextlib import suppress
from dataclasses import dataclass, field

_AT_ONCE = 65536


@dataclass
class Wire:
    """Carries bytes to a server on loopback and back.

    With `cut_after` set to some words, the next message that holds them still reaches the server
    and is carried out, but its answer does not come back: the wire breaks in between.

    `hang` lets nothing through any more and closes nothing, from the next message that holds
    `hang_at` on where that is set; `mend` ends it, and what was held goes on.
    """

    server_port: int
    cut_after: bytes | None = None
    hang_at: bytes | None = None
    broken: bool = False
    _through: threading.Event = field(default_factory=threading.Event)
    _pairs: list[tuple[socket.socket, socket.socket]] = field(default_factory=list)
    _lost: list[socket.socket] = field(default_factory=list)
    _listening: socket.socket = field(init=False)

    def __post_init__(self) -> None:
        self._through.set()
        self._listening = socket.create_server(("127.0.0.1", 0))
        threading.Thread(target=self._accept, daemon=True).start()

    @property
    def port(self) -> int:
        """Where the program finds the server."""
        port: int = self._listening.getsockname()[1]
        return port

    def cut(self) -> None:
        """Break every connection and take no new one."""
        self.broken = True
        for pair in self._pairs:
            for end in pair:
                _end(end)
        self._pairs.clear()

    def hang(self) -> None:
        """Let nothing through, and close nothing; new connections are taken and not answered."""
        self._through.clear()

    def lose(self) -> None:
        """Forget the connections without a word to the server, which goes on waiting for them."""
        for pair in self._pairs:
            self._lost += pair
        self._pairs.clear()

    def mend(self) -> None:
        """Take connections again, and let through."""
        self.broken = False
        self._through.set()

    def close(self) -> None:
        """Take the wire away."""
        self.cut()
        self._through.set()
        for end in (*self._lost, self._listening):
            _end(end)

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listening.accept()
            except OSError:
                return
            if self.broken:
                _end(near)
                continue
            try:
                far = socket.create_connection(("127.0.0.1", self.server_port))
            except OSError:
                _end(near)
                continue
            self._pairs.append((near, far))
            hold = threading.Event()
            threading.Thread(target=self._there, args=(near, far, hold), daemon=True).start()
            threading.Thread(target=self._back, args=(near, far, hold), daemon=True).start()

    def _there(self, near: socket.socket, far: socket.socket, hold: threading.Event) -> None:
        while data := _read(near):
            if self.hang_at is not None and self.hang_at in data:
                self.hang_at = None
                self.hang()
            self._through.wait()
            if far in self._lost:
                return
            if self.cut_after is not None and self.cut_after in data:
                self.cut_after = None
                hold.set()
            try:
                far.sendall(data)
            except OSError:
                break
        self._through.wait()
        if far not in self._lost:
            _end(far)

    def _back(self, near: socket.socket, far: socket.socket, hold: threading.Event) -> None:
        while data := _read(far):
            if hold.is_set():
                # The server has done what it was asked; nobody hears of it.
                self.cut()
                return
            self._through.wait()
            try:
                near.sendall(data)
            except OSError:
                break
        _end(near)


def _read(end: socket.socket) -> bytes:
    try:
        return end.recv(_AT_ONCE)
    except OSError:
        return b""


def _end(end: socket.socket) -> None:
    with suppress(OSError):
        end.shutdown(socket.SHUT_RDWR)
    end.close()
