"""The most memory that a process has had."""

from __future__ import annotations

import re
import resource
import sys
from pathlib import Path

_STATUS = Path("/proc/self/status")


def peak() -> int:
    """Bytes of memory that this process held at its highest.

    On Linux from the kernel's account of this program alone: `ru_maxrss` begins with what the
    process had before it became this program, which is the memory of whoever started it.
    """
    if _STATUS.exists():
        found = re.search(r"VmHWM:\s+(\d+) kB", _STATUS.read_text(encoding="ascii"))
        if found:
            return int(found[1]) * 1024
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    # Kilobytes, but for macOS, which tells bytes.
    return most if sys.platform == "darwin" else most * 1024
