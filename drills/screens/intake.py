"""Adding a tasting: a file or pasted lines, a preview of every row, then kept whole or not."""

from __future__ import annotations

import io
from typing import ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import DataTable, Input, Static, TextArea

from drills.errors import DrillsError
from drills.phrases import count
from drills.screens.base import DeskScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service.intake import Taken, is_confusion, read, read_lines, take_in
from drills.tastings.drafts import IntakeDraft, Named


class IntakeScreen(DeskScreen[None]):
    """Reads, shows what each row became, and keeps it when told to."""

    ABOUT = (
        "Give a CSV file, or type lines of “called > was”. Preview first; nothing is kept before "
        "you say so. A name that is not clear is kept as typed."
    )
    DEFAULT_CSS = """
    IntakeScreen {
        .label { height: 1; padding: 0 1; color: $text-muted; }
        Input { border: round $foreground 40%; height: 3; }
        Input:focus { border: round $accent; }
        TextArea { height: 5; border: round $foreground 40%; }
        TextArea:focus { border: round $accent; }
        #told { height: auto; min-height: 1; max-height: 6; padding: 0 1; }
        DataTable { height: 1fr; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "preview", "preview", id="preview", tooltip="read it and show every row"),
        Binding("f3", "keep", "keep", id="keep", tooltip="keep what the preview shows"),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._draft: IntakeDraft | None = None
        self._from_lines = False

    def compose(self) -> ComposeResult:
        """Two ways in, and the preview."""
        yield Input(placeholder="a file, such as ~/flights.csv", id="file")
        yield TextArea(id="lines", placeholder="or lines: 2026-11-12 Sancerre > NZ Sauvignon")
        yield Static("F2 shows what each row becomes; F3 keeps it.", id="told", markup=False)
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield KeyLine("preview", "keep", "help", "back")

    def on_mount(self) -> None:
        """Name the columns of the preview."""
        table = self.query_one(DataTable)
        for name, width in (("row", 4), ("date", 10), ("called", 24), ("was", 24), ("", None)):
            table.add_column(name, width=width)
        self.query_one("#file", Input).focus()

    def on_descendant_focus(self) -> None:
        """Where one types, ? is a letter and help is on another key."""
        self.query_one(KeyLine).redraw()

    def on_input_submitted(self) -> None:
        """Enter in the file's line."""
        self.action_preview()

    def on_input_changed(self) -> None:
        """Another file: the preview no longer speaks of it."""
        self._draft, self._from_lines = None, False

    def on_text_area_changed(self) -> None:
        """Other lines: the preview no longer speaks of them."""
        self._draft, self._from_lines = None, True

    def action_preview(self) -> None:
        """Read in the background and show what each row becomes."""
        file = self.query_one("#file", Input).value.strip()
        lines = self.query_one("#lines", TextArea).text
        # Where both are filled, the one that was changed last is meant.
        if lines.strip() and (self._from_lines or not file):
            self._read(None, lines)
        elif file:
            self._read(file, "")
        else:
            self._say("Give a file or some lines first.")

    @work(thread=True, exclusive=True)
    def _read(self, file: str | None, lines: str) -> None:
        self.app.call_from_thread(self._say, "reading…")
        try:
            draft = read(self.desk, file) if file else read_lines(self.desk, io.StringIO(lines))
            taken = take_in(self.desk, draft, dry_run=True)
        except DrillsError as error:
            self.app.call_from_thread(self._say, str(error))
        else:
            self.app.call_from_thread(self._show, draft, taken)

    def _say(self, words: str) -> None:
        self.query_one("#told", Static).update(Content(words))

    def _show(self, draft: IntakeDraft, taken: Taken) -> None:
        self._draft = draft
        table = self.query_one(DataTable)
        table.clear()
        for pour in draft.pours:
            mixed_up = "mixed up" if is_confusion(pour) else ""
            state = "known already" if pour.fingerprint in taken.known else mixed_up
            table.add_row(
                f"{pour.row}",
                f"{pour.date or ''}",
                self._named(pour.called),
                self._named(pour.was),
                state,
            )
        for one in draft.rejected:
            table.add_row(f"{one.row}", "", "", "", Text(f"left out: {one.reason}"))
        self._say(_told(taken, "F3 keeps this." if taken.pours else "Nothing new in it."))

    def _named(self, name: Named) -> Text:
        # Text, unlike a plain string, is never read as markup.
        if name.wine:
            return Text(self.desk.short(name.wine))
        return Text(f"? {name.text}" if name.text else "")

    def action_keep(self) -> None:
        """Keep what the preview shows."""
        if self._draft is None:
            self._say("Nothing to keep yet: F2 reads and shows it first.")
            return
        try:
            taken = take_in(self.desk, self._draft)
        except DrillsError as error:
            self._say(f"Nothing was kept: {error}")
            return
        self._draft = None
        after = "Their cards come first in the next drill." if taken.confusions else ""
        self._say(_told(taken, f"Kept. {after}".strip()))


def _told(taken: Taken, after: str) -> str:
    parts = [
        f"{count(taken.pours, 'new pour')}, {count(taken.confusions, 'confusion')}",
        f"{taken.already_known} known already" if taken.already_known else "",
        f"{count(len(taken.rejected), 'row')} left out" if taken.rejected else "",
    ]
    lines = ["; ".join(part for part in parts if part) + f". {after}"]
    for one in taken.unresolved[:4]:
        hint = f": perhaps {', '.join(one.suggestions[:3])}" if one.suggestions else ""
        lines.append(f"row {one.row}: “{one.text}” is kept as typed{hint}")
    if len(taken.unresolved) > 4:
        lines.append(f"and {len(taken.unresolved) - 4} more such names")
    lines += taken.warnings[:2]
    return "\n".join(lines)
