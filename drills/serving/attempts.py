"""Wrong tokens, counted by the address they came from: slowed down, then refused for a while. Pure.

Nobody waits here: whoever comes too early is told when to come again. So guessing holds no
connection open, and an address at which several people sit is slow for all who have to show a
token; who has shown it is let in by a cookie and not asked again.
"""

from __future__ import annotations

import ipaddress
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

from drills.phrases import count

FREE = 3
"""Wrong tokens after which the next is looked at without waiting."""

MOST = 10
"""Wrong tokens after which none is looked at for `REFUSED_SECONDS`."""

REFUSED_SECONDS = 15 * 60.0
"""How long an address is refused; wrong tokens that are older are forgotten."""

KNOWN = 1024
"""How many addresses are remembered, the latest ones."""

_MINUTE = 60
# A home or a company has so many bits of an address of the newer kind to itself.
_OWN_BITS = 64


@dataclass(slots=True)
class _Wrong:
    """How many wrong tokens came, when the last of them, and when the next is looked at."""

    times: int
    last: float
    open_at: float


class Attempts:
    """Counts wrong tokens; `stopwatch` gives seconds from any moment on."""

    def __init__(self, stopwatch: Callable[[], float]) -> None:
        self._stopwatch = stopwatch
        self._known: OrderedDict[str, _Wrong] = OrderedDict()

    def wait(self, address: str | None) -> float:
        """Seconds until a token from an address is looked at; 0 for now."""
        wrong = self._known.get(_place(address))
        return 0.0 if wrong is None else max(wrong.open_at - self._stopwatch(), 0.0)

    def wrong(self, address: str | None) -> float:
        """Count a wrong token; returns the seconds until the next is looked at."""
        place, now = _place(address), self._stopwatch()
        before = self._known.pop(place, None)
        fresh = before is not None and now - before.last < REFUSED_SECONDS and before.times < MOST
        times = before.times + 1 if before is not None and fresh else 1
        rest = _rest(times)
        self._known[place] = _Wrong(times, now, now + rest)
        while len(self._known) > KNOWN:
            self._known.popitem(last=False)
        return rest

    def right(self, address: str | None) -> None:
        """Forget the wrong tokens of an address: the right one came from it."""
        self._known.pop(_place(address), None)


def _rest(times: int) -> float:
    """The seconds after so many wrong tokens: none, then 1, 2, 4 ... then the refusal."""
    if times >= MOST:
        return REFUSED_SECONDS
    return 0.0 if times < FREE else float(2 ** (times - FREE))


def span(seconds: float) -> str:
    """How long a visitor has to wait, rounded up."""
    whole = ceil(seconds)
    if whole >= _MINUTE:
        return count(ceil(whole / _MINUTE), "minute")
    return count(whole, "second")


def _place(address: str | None) -> str:
    """Whom an address stands for."""
    try:
        found = ipaddress.ip_address((address or "").partition("%")[0])
    except ValueError:
        return ""
    if isinstance(found, ipaddress.IPv6Address):
        if found.ipv4_mapped is not None:
            return str(found.ipv4_mapped)
        return str(ipaddress.ip_network((found, _OWN_BITS), strict=False))
    return str(found)
