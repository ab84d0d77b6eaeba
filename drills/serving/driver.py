"""The screens' driver in a visitor's process."""

from __future__ import annotations

from textual.drivers.web_driver import WebDriver
from textual.messages import ExitApp


class VisitorDriver(WebDriver):
    """Leaves the program when the server is gone, however it went: nobody can type any more."""

    def run_input_thread(self) -> None:
        """Take keys until there can be no more."""
        super().run_input_thread()
        if not self.exit_event.is_set():
            self.send_message(ExitApp())
