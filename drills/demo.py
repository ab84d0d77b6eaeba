"""A throw-away database of an invented taster with a few flights, to look around in."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from drills.commands.asking import told_when_slow
from drills.paths import DATABASE_VARIABLE, HOME_VARIABLE, TASTER_VARIABLE
from drills.service.desk import Desk

FLIGHTS = Path(__file__).with_name("demo_flights.csv")


def run_demo(*, screens: bool, plain: bool = False) -> int:
    """Open the screens on a demonstration database, or print its weak pairs without a terminal.

    `plain` asks its cards in lines instead.

    The taster's own database is not touched, and the demonstration is gone afterwards.
    """
    with tempfile.TemporaryDirectory(prefix="crosspour-demo-") as folder:
        # The variables of this process only: everything below one folder, nothing from outside.
        os.environ[HOME_VARIABLE] = folder
        for name in (DATABASE_VARIABLE, TASTER_VARIABLE):
            os.environ.pop(name, None)
        desk = Desk(waiting=told_when_slow)
        fill(desk)
        if plain:
            from drills.commands.plain_drill import run_plain
            from drills.service.beginning import begin

            return run_plain(desk, lambda: begin(desk))
        if screens:
            from drills.screens.opening import run_home

            return run_home(desk)
        from drills.commands.printing import print_weak
        from drills.service.weak import weak

        print("An invented taster's weak pairs (on a terminal the screens open here):")
        print_weak(desk, weak(desk))
        desk.close()
        return 0


def fill(desk: Desk) -> None:
    """Put the invented flights into an empty database."""
    from drills.service.intake import read, take_in

    with read(desk, str(FLIGHTS)) as intake:
        take_in(desk, intake)
