"""The program in a browser."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

from drills.commands.asking import Commands, database_of, tell, told_when_slow

if TYPE_CHECKING:
    import socket
    from collections.abc import Sequence

_PORT = 8000
_PLACES, _MOST_PLACES = 4, 64


def add_to(commands: Commands) -> None:
    """Put this command on the command line."""
    serve = commands.add("serve", _serve, "open the program in a browser")
    serve.add_argument(
        "--host",
        metavar="HOST",
        default="127.0.0.1",
        help="listen at this address; one that others reach demands a token (CROSSPOUR_TOKEN, or "
        "one made at random and shown once); without it only this machine is served",
    )
    serve.add_argument(
        "--port",
        type=_within(0, 65535),
        metavar="N",
        default=_PORT,
        help=f"listen at this port, {_PORT} unless told; 0 takes a free one",
    )
    serve.add_argument(
        "--visitors",
        type=_within(1, _MOST_PLACES),
        metavar="N",
        default=_PLACES,
        help=f"how many tabs at once, 1 to {_MOST_PLACES}; {_PLACES} unless told",
    )


def _serve(options: argparse.Namespace) -> int:
    from importlib.util import find_spec

    from drills.errors import NotPossibleError
    from drills.phrases import how_to_add

    if find_spec("textual_serve") is None:
        raise NotPossibleError(f"this needs an extra: {how_to_add('serve')}")
    from drills import paths
    from drills.serving.guard import TOKEN_VARIABLE, Guard, checked_token, is_loopback, random_token

    database = database_of(options)
    # Whatever is wrong with table or database is said here, and not to a visitor.
    tasters_of(database, options.taster)
    given = os.environ.get(TOKEN_VARIABLE, "")
    token = checked_token(given) if given.strip() else None
    with _listening(options.host, options.port) as listening:
        address, port = listening.getsockname()[:2]
        near = is_loopback(address)
        if not near and token is None:
            token = random_token()
            _show_once(token)
        place = f"http://{_name(address, options.host)}:{port}"

        def told() -> None:
            print(f"The program is at {place}; Ctrl+C ends it.", flush=True)
            if not near:
                print(
                    "Warning: others can reach it. Whoever has the token answers as the taster "
                    "and reads the tastings. What they type travels in the clear unless a proxy "
                    "in front speaks HTTPS.",
                    file=sys.stderr,
                    flush=True,
                )

        from drills.serving.server import Server

        server = Server(
            Guard(token, {options.host.lower()}),
            places=options.visitors,
            database=paths.database_location(database),
            tasters=lambda: tasters_of(database, options.taster),
        )
        server.listen(listening, told)
    return 0


def tasters_of(database: str | None, taster: str | None) -> Sequence[str]:
    """Who may drill: the one who was named, else all in the database, made if it is not there.

    Named by the command line, by CROSSPOUR_TASTER or in the settings.
    """
    from drills import paths
    from drills.service.desk import Desk

    desk = Desk(database, taster=taster, waiting=told_when_slow, tell=tell)
    try:
        named = taster or paths.taster_name() or desk.settings.taster
        found = [one.name for one in desk.repository.tasters()]
        return [desk.taster.name] if named or len(found) < 2 else found
    finally:
        desk.close()


def _name(address: str, host: str) -> str:
    """By what name the server is asked: an address that stands for all has none of its own."""
    from ipaddress import ip_address
    from socket import gethostname

    found = ip_address(address.partition("%")[0])
    if found.is_loopback and found.version == 4:
        return "localhost"
    if found.is_unspecified:
        return gethostname()
    return f"[{host}]" if ":" in host else host


def _show_once(token: str) -> None:
    """Show a token on the terminal and nowhere else: what is redirected may be kept.

    Raises:
        NotPossibleError: there is no terminal.
    """
    from drills.errors import NotPossibleError
    from drills.serving.guard import TOKEN_VARIABLE

    for stream in (sys.stdout, sys.stderr):
        if stream.isatty():
            print(f"Token, shown this once: {token}", file=stream, flush=True)
            return
    raise NotPossibleError(
        f"others could reach that address, and there is no terminal to show a token on: set "
        f"{TOKEN_VARIABLE} to one of your own"
    )


def _listening(host: str, port: int) -> socket.socket:
    """A socket at an address, before anything is started for it.

    Raises:
        NotPossibleError: there is no such address here, or the port is taken.
    """
    import socket

    from drills.errors import NotPossibleError

    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
        family, _, _, _, address = found[0]
        return socket.create_server(address[:2], family=family)
    except (OSError, UnicodeError) as error:
        why = getattr(error, "strerror", None) or "it is no address"
        raise NotPossibleError(f"cannot listen at {host} port {port}: {why}") from error


def _within(least: int, most: int) -> Callable[[str], int]:
    def number(text: str) -> int:
        try:
            value = int(text)
        except ValueError:
            raise argparse.ArgumentTypeError(f"“{text}” is no whole number") from None
        if not least <= value <= most:
            raise argparse.ArgumentTypeError(f"{value} is not {least} to {most}")
        return value

    return number
