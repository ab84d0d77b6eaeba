"""What runs in a visitor's process: `python -m drills.serving.visitor home`, or `drill`.

Database and taster come by the environment, where no list of processes shows them.
"""

from __future__ import annotations

import sys
from typing import ClassVar

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from cards.errors import CardsError
from drills.collector import hold_collector
from drills.errors import DrillsError

HOME, DRILL = "home", "drill"
DOORS = (HOME, DRILL)
"""Where a visitor may come in."""


class Sorry(App[int]):
    """Says in the browser why the program cannot be opened; on a terminal the shell would."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("q,escape,enter,space", "quit", "leave", id="leave-sorry")
    ]
    ENABLE_COMMAND_PALETTE = False

    def __init__(self, words: str) -> None:
        super().__init__()
        self._words = words

    def compose(self) -> ComposeResult:
        """One sentence."""
        yield Static(Content(f"crosspour: {self._words}\n\nQ leaves."))


def main(door: str) -> int:
    """Open the program for one visitor; returns the exit code."""
    hold_collector()
    from drills.screens.opening import run_drill, run_home
    from drills.service.beginning import begin
    from drills.service.desk import Desk

    try:
        desk = Desk()
        return run_drill(desk, lambda: begin(desk)) if door == DRILL else run_home(desk)
    except (CardsError, DrillsError) as error:
        Sorry(str(error)).run()
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
