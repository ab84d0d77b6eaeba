"""The tests of tests/drills/test_drilling.py, at a group's server."""

from __future__ import annotations

from tests.drills.test_drilling import *  # noqa: F403
