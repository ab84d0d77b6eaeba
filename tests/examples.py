"""How many examples the properties look at."""

from __future__ import annotations

import os


def examples(usual: int) -> int:
    """The usual number of examples, or as many times that as CROSSPOUR_EXAMPLES says."""
    return max(1, round(usual * float(os.environ.get("CROSSPOUR_EXAMPLES", "1"))))
