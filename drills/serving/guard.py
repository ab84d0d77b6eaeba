"""Who may come in: the token, a browser's pass for it, and where a request comes from. Pure."""

from __future__ import annotations

import hmac
import ipaddress
import re
import secrets
from collections.abc import Collection
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from drills.errors import UsageError

TOKEN_VARIABLE = "CROSSPOUR_TOKEN"
COOKIE = "crosspour_token"
# A token of one's own has at least so many characters: `attempts` slows guessing down for each
# address, but there may be many.
LEAST_TOKEN = 16
_RANDOM_BYTES = 24
# Of what a browser sends as the host it asked; anything else would have to be escaped.
_HOST = re.compile(r"(?P<name>[A-Za-z0-9._-]+|\[[0-9A-Fa-f:.]+\])(?::\d{1,5})?")
_LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "[::1]"})


def is_loopback(address: str) -> bool:
    """Whether an IP address is reached from this machine only."""
    return ipaddress.ip_address(address.partition("%")[0]).is_loopback


def random_token() -> str:
    """A token nobody can guess: 192 random bits."""
    return secrets.token_urlsafe(_RANDOM_BYTES)


def checked_token(given: str) -> str:
    """A token that the owner chose, without the space around it.

    Raises:
        UsageError: it is too short, or holds what no cookie can carry.
    """
    token = given.strip()
    if len(token) < LEAST_TOKEN:
        raise UsageError(
            f"the token in CROSSPOUR_TOKEN has {len(token)} characters; {LEAST_TOKEN} are the least"
        )
    if not re.fullmatch(r"[A-Za-z0-9._~+/=-]+", token):
        raise UsageError(
            "the token in CROSSPOUR_TOKEN may hold letters, digits and . _ ~ + / = - only"
        )
    return token


@dataclass(frozen=True, slots=True)
class Guard:
    """Lets visitors in.

    `token` is what they must show; None where the server is reached from its own machine only.
    `names` are further hosts by which a server without a token may be asked. `pass_` is what their
    browser shows from then on, random for each run: the token itself may be one that can be
    guessed, so it is looked at in one place, where wrong ones are counted.
    """

    token: str | None
    names: Collection[str] = ()
    pass_: str = field(default_factory=random_token)

    def knows_host(self, host: str) -> bool:
        """Whether the server may be asked by that name.

        Without a token only by names of this machine: otherwise a page elsewhere could let its own
        name point here, and the browser would take it for us (DNS rebinding).
        """
        found = _HOST.fullmatch(host)
        if found is None:
            return False
        name = found["name"].lower()
        return self.token is not None or name in _LOOPBACK_NAMES or name in self.names

    def knows_token(self, given: str | None) -> bool:
        """Whether a visitor shows the token, or need not; takes as long for every wrong one."""
        return self.token is None or _same(given, self.token)

    def knows_pass(self, given: str | None) -> bool:
        """Whether a browser shows that its visitor has shown the token, or need not."""
        return self.token is None or _same(given, self.pass_)

    @staticmethod
    def same_origin(origin: str | None, host: str) -> bool:
        """Whether a page that makes a request is one of ours; a missing origin is not."""
        if not origin:
            return False
        parts = urlsplit(origin)
        return parts.scheme in ("http", "https") and parts.netloc.lower() == host.lower()


def _same(given: str | None, wanted: str) -> bool:
    return hmac.compare_digest((given or "").encode(), wanted.encode())
