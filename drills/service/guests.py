"""What a visitor from another machine may not do: name files of this one."""

from __future__ import annotations

from drills import paths
from drills.errors import NotPossibleError


def check_no_guest() -> None:
    """Raise NotPossibleError where somebody at another machine uses the screens."""
    if paths.is_guest():
        raise NotPossibleError(
            "in a browser no file of the server is read or written: paste lines instead, or ask "
            "whoever runs the server"
        )
