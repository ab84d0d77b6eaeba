"""Whoever works on a file loads nothing of a server."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

CARD = """
import json, sys
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
desk = Desk()
session = DrillSession(desk, 600)
assert session.next() is not None
print(json.dumps(sorted(sys.modules)))
"""
OF_A_SERVER = {
    "psycopg",
    "sqlalchemy.dialects.postgresql",
    "drills.storage.server",
    "drills.storage.posting",
    "drills.storage.outbox",
    "drills.storage.rights",
    "drills.storage.moving",
}


def test_the_first_card_from_a_file_loads_nothing_of_a_server(home: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", CARD],
        env={**os.environ, "CROSSPOUR_HOME": str(home)},
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = set(json.loads(done.stdout))
    assert "drills.storage.repository" in loaded
    assert not OF_A_SERVER & loaded
