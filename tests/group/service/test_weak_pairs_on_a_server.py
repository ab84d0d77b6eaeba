"""The tests of tests/drills/test_weak_pairs.py, at a group's server."""

from __future__ import annotations

from tests.drills.test_weak_pairs import *  # noqa: F403
