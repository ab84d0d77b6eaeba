"""What a power cut must not take back."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path


def sync_folder(folder: Path) -> None:
    """Make a new or renamed file in `folder` survive a power cut, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
