"""The six keys that say which glass and how sure, on the home row; a taster may set others."""

from __future__ import annotations

from drills.grading import Sureness

ANSWER_KEYS = (
    ("a", "left", Sureness.SURE),
    ("s", "left", Sureness.LEANING),
    ("d", "left", Sureness.GUESS),
    ("j", "right", Sureness.GUESS),
    ("k", "right", Sureness.LEANING),
    ("l", "right", Sureness.SURE),
)
"""The key, the side it answers for, and how sure."""
