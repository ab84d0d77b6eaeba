"""The drill as lines: for screen readers, for terminals without a cursor, and over a pipe.

No sign that moves the cursor or colours a text is written, and nothing is drawn. An answer is a
line; what it does to memory is decided where the screen's answers are.
"""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drills.commands import plain_text as text
from drills.commands.plain_keys import (
    DISPUTE,
    FINISH,
    HELP,
    LONGER,
    NEXT,
    TIME,
    UNDO,
    WHY,
    PlainKey,
    PlainKeys,
    own_letters,
)
from drills.commands.stopping import INTERRUPTED, Stopped, stops
from drills.errors import DrillsError

if TYPE_CHECKING:
    from drills.grading import Sureness
    from drills.service.desk import Desk
    from drills.service.drilling import DrillSession
    from drills.service.showing import Reveal, Showing


class Left(Exception):  # noqa: N818 - no error: the taster has finished, or the input has ended
    """The taster wants no further card."""


@dataclass(frozen=True, slots=True)
class Undone:
    """The card that comes back because its answer was taken back."""

    showing: Showing


class Lines:
    """The taster's lines, and ours; wrapped where a terminal shows them."""

    def __init__(self) -> None:
        self.asked = sys.stdin.isatty()
        self._width = shutil.get_terminal_size().columns if sys.stdout.isatty() else 0
        # Bytes that are no text make a line that is no answer, not an end of the drill.
        if hasattr(sys.stdin, "reconfigure"):
            sys.stdin.reconfigure(errors="replace")

    def say(self, lines: Iterable[str]) -> None:
        """Write lines."""
        for line in lines:
            if self._width:
                indent = line[: len(line) - len(line.lstrip())]
                line = textwrap.fill(line, max(self._width - 1, 20), subsequent_indent=indent)
            print(line)

    def ask(self, words: str) -> str:
        """One typed line, without its end; `Left` when there are no more."""
        # Typed on a terminal, the answer ends this line itself.
        print(words, end="" if self.asked else "\n", flush=True)
        line = sys.stdin.readline()
        if not line:
            if self.asked:
                print()
            raise Left
        return line.rstrip("\n")


class PlainDrill:
    """Runs one drill on lines."""

    def __init__(self, session: DrillSession, keys: PlainKeys, lines: Lines) -> None:
        self.session = session
        self._keys = keys
        self._lines = lines
        self._say = lines.say

    def run(self) -> int:
        """Ask until the time is up or the taster has had enough; returns the exit code."""
        try:
            self._say(text.heading(self.session, self._keys))
            self._cards()
        except Left:
            pass
        except (KeyboardInterrupt, Stopped) as stopped:
            self._end()
            return stopped.code if isinstance(stopped, Stopped) else INTERRUPTED
        self._end()
        return 0

    def _end(self) -> None:
        self._say(text.summary(self.session.end()))

    def _cards(self) -> None:
        showing = self._next()
        while showing is not None:
            self._say(text.card(self.session.answered + 1, self.session, showing))
            reveal = self._answered(showing)
            if isinstance(reveal, Undone):
                showing = reveal.showing
                continue
            self._say(text.reveal(reveal))
            self._ready()
            showing = self._gone_on(reveal)

    def _next(self) -> Showing | None:
        """The next card; where it cannot be read now, the taster says when to try again."""
        while True:
            try:
                return self.session.next()
            except DrillsError as error:
                self._say([f"{error}."])
                self._lines.ask("Enter tries again: ")

    def _ready(self) -> None:
        # What cannot be read now is read, and told, when the taster goes on.
        try:
            self.session.prepare()
        except DrillsError:
            return

    # ---- before the answer

    def _answered(self, showing: Showing) -> Reveal | Undone:
        """Ask until the card is answered and the answer kept, or an earlier one is taken back."""
        began = self.session.desk.clock.stopwatch()
        picked: int | None = None
        while True:
            words = text.asks(showing) if picked is None else text.how_sure(self._keys)
            line = self._lines.ask(words)
            options = len(showing.question.options)
            if (found := self._keys.picked(line, options)) is not None:
                picked, line = found
                if not line:
                    continue
            key = self._keys.meant(line)
            if key is not None and key.sureness is not None and (picked is not None or not options):
                given = picked if picked is not None else self._glass(showing, key)
                seconds = self.session.desk.clock.stopwatch() - began
                if (reveal := self._kept(given, key.sureness, seconds)) is not None:
                    return reveal
            elif key is not None and key.name == UNDO:
                if (undone := self._undone()) is not None:
                    return undone
            elif key is None or not self._does(key):
                self._say([text.not_an_answer(line, showing, self._keys)])

    @staticmethod
    def _glass(showing: Showing, key: PlainKey) -> str:
        return showing.question.left if key.side == "left" else showing.question.right

    def _kept(self, given: str | int, sureness: Sureness, seconds: float) -> Reveal | None:
        try:
            return self.session.answer(given, sureness, seconds)
        except DrillsError as error:
            # The card stays open, so nothing is lost: the same line tries again.
            self._say([f"Not kept: {error}. Answer again to try again."])
            return None

    def _undone(self) -> Undone | None:
        try:
            showing = self.session.undo()
        except DrillsError as error:
            self._say([f"Not undone: {error}."])
            return None
        if showing is None:
            self._say(["There is no answer to take back."])
            return None
        self._say(["The last answer is taken back."])
        return Undone(showing)

    def _does(self, key: PlainKey) -> bool:
        """Do what works at any time; False for a key that does not."""
        if key.name == HELP:
            self._say(text.help_lines(self._keys))
        elif key.name == TIME:
            self._say([f"{text.time_left(self.session)}."])
        elif key.name == LONGER:
            self.session.extend()
            self._say([f"Two minutes more: {text.time_left(self.session)}."])
        elif key.name == FINISH:
            raise Left
        else:
            return False
        return True

    # ---- after the answer

    def _gone_on(self, reveal: Reveal) -> Showing | None:
        """Ask what is to be done until that leads to a card, or to none."""
        doing: dict[str, Callable[[], list[str]]] = {
            WHY: lambda: text.why(self.session.desk, reveal),
            DISPUTE: lambda: text.dispute(reveal),
        }
        while True:
            line = self._lines.ask(text.after(self._keys, self.session))
            key = self._keys.meant(line)
            if key is None or key.sureness is not None:
                self._say([f"The card is answered. {self._keys.said(HELP)} and Enter for help."])
            elif key.name == NEXT:
                return self._next()
            elif key.name == UNDO:
                if (undone := self._undone()) is not None:
                    return undone.showing
            elif key.name in doing:
                self._say(doing[key.name]())
            else:
                self._does(key)


def run_plain(desk: Desk, begin: Callable[[], DrillSession]) -> int:
    """Run the drill that `begin` starts; returns the exit code."""
    try:
        keys = PlainKeys(own_letters(desk.settings.keys))
        with stops():
            return PlainDrill(begin(), keys, Lines()).run()
    finally:
        desk.close()
