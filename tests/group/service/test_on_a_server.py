"""What the service does for a taster on their own it does at a group's server too."""

from __future__ import annotations

from tests.drills.test_drilling import *  # noqa: F403
from tests.drills.test_weak_pairs import *  # noqa: F403
