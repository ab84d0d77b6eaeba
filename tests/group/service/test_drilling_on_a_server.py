"""The tests of a drill in tests/drills, at a group's server."""

from __future__ import annotations

from tests.drills.test_drilling import *  # noqa: F403
from tests.drills.test_drilling_confusions import *  # noqa: F403
from tests.drills.test_drilling_forms import *  # noqa: F403
from tests.drills.test_drilling_undo import *  # noqa: F403
