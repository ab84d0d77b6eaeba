"""Every place on disk that the program uses, and the environment variables that move them.

`CROSSPOUR_HOME` puts everything under one folder (for tests, demonstrations, a memory stick).
`CROSSPOUR_DATABASE` names another database, as a path or a database URL, and `CROSSPOUR_TASTER` who
of several tasters in it works here. `CROSSPOUR_GUEST` is set for visitors from other machines.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import SupportsIndex

HOME_VARIABLE = "CROSSPOUR_HOME"
DATABASE_VARIABLE = "CROSSPOUR_DATABASE"
TASTER_VARIABLE = "CROSSPOUR_TASTER"
GUEST_VARIABLE = "CROSSPOUR_GUEST"

_APP = "crosspour"


def expanded(given: str | Path) -> Path:
    """Return the path of what was given, `~` read as a shell reads it."""
    try:
        return Path(given).expanduser()
    except RuntimeError:
        # Nobody has the name behind the tilde: a shell leaves it as it is, too.
        return Path(given)


def home() -> Path | None:
    """Return the folder of `CROSSPOUR_HOME`, or None where the system's own folders are used."""
    given = os.environ.get(HOME_VARIABLE, "").strip()
    return expanded(given).absolute() if given else None


def data_folder() -> Path:
    """Return the folder of what the taster made: answers, tastings, own profiles."""
    if (own := home()) is not None:
        return own
    import platformdirs

    return platformdirs.user_data_path(_APP, appauthor=False)


def cache_folder() -> Path:
    """Return the folder of what can be made again at any time."""
    if (own := home()) is not None:
        return own / "cache"
    import platformdirs

    return platformdirs.user_cache_path(_APP, appauthor=False)


def settings_file() -> Path:
    """Return the file of settings; it need not exist."""
    if (own := home()) is not None:
        return own / "settings.toml"
    import platformdirs

    return platformdirs.user_config_path(_APP, appauthor=False) / "settings.toml"


def table_folder() -> Path:
    """Return the folder of the taster's own profiles, laid over the table of the program."""
    return data_folder() / "table"


def unfinished_edit(folder: Path) -> Path:
    """Return the file that stands in a table folder while a change of several files is under way.

    It is still there only after a power cut.
    """
    return folder / "pending.json"


def outbox_folder() -> Path:
    """Return the folder of answers that wait for a server that did not answer."""
    return data_folder() / "outbox"


def draft_folder() -> Path:
    """Return the folder of wines that are being edited and not yet laid over the table."""
    return data_folder() / "drafts"


def database_file() -> Path:
    """Return the file of the database where nothing else is asked for."""
    return data_folder() / "crosspour.sqlite3"


class Place(str):
    """Where a database is; a URL may hold a password, so a traceback must not show the text."""

    __slots__ = ()

    def __repr__(self) -> str:
        return "<database URL>" if "://" in self else super().__repr__()

    def __getitem__(self, place: SupportsIndex | slice) -> Place:
        # Tracebacks show long texts by their beginnings.
        return Place(super().__getitem__(place))


def database_location(given: str | None = None) -> Place:
    """Return where the database is: `given`, else `CROSSPOUR_DATABASE`, else the usual file.

    The answer is a database URL (it holds `://`) or the path of a file.
    """
    chosen = Place((given or os.environ.get(DATABASE_VARIABLE, "")).strip())
    if not chosen:
        return Place(database_file())
    if "://" in chosen:
        return chosen
    return Place(expanded(chosen).absolute())


def taster_name() -> str:
    """Return who `CROSSPOUR_TASTER` says works here, empty where it says nothing."""
    return os.environ.get(TASTER_VARIABLE, "").strip()


def is_guest() -> bool:
    """Return whether the screens are shown to somebody at another machine."""
    return bool(os.environ.get(GUEST_VARIABLE))
