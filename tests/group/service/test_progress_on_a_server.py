"""The tests of tests/drills/test_progress.py, at a group's server."""

from __future__ import annotations

from tests.drills.test_progress import *  # noqa: F403
