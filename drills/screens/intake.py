"""Adding a tasting: a file or pasted lines, a preview of every row, then kept whole or not."""

from __future__ import annotations

import io
from typing import ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Resize
from textual.widgets import DataTable, Input, ProgressBar, Static, TextArea

from drills.errors import DrillsError
from drills.phrases import count
from drills.screens.base import DeskScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service.intake import MOST_SHOWN, Taken, is_confusion, read, read_lines, take_in
from drills.tastings.dates import DateOrder
from drills.tastings.drafts import Named, PourDraft, Rejected
from drills.tastings.intake import Intake
from drills.tastings.tables import Progress

# Above this size, in bytes, reading takes long enough to show how far it is.
_LONG = 300_000
_ORDERS: tuple[tuple[DateOrder | None, str], ...] = (
    (None, "dates are read as the file shows"),
    ("dmy", "dates are read day first"),
    ("mdy", "dates are read month first"),
)
_NAMES_TOLD = 4


class IntakeScreen(DeskScreen[None]):
    """Reads, shows what each row became, and keeps it when told to."""

    ABOUT = (
        "Give a file (CSV, TSV, XLSX, ODS, JSON, JSON Lines), or type lines of “called > was”. "
        "Preview first; nothing is kept before you say so. A name that is not clear is kept as "
        "typed and waits in the tray."
    )
    DEFAULT_CSS = """
    IntakeScreen {
        .label { height: 1; padding: 0 1; color: $text-muted; }
        Input { border: round $foreground 40%; height: 3; }
        Input:focus { border: round $accent; }
        TextArea { height: 4; border: round $foreground 40%; }
        TextArea:focus { border: round $accent; }
        #told { height: auto; min-height: 1; max-height: 6; padding: 0 1; }
        &.low #told { max-height: 4; }
        &.low TextArea { height: 3; }
        ProgressBar { height: 1; padding: 0 1; display: none; }
        &.busy ProgressBar { display: block; }
        DataTable { height: 1fr; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "preview", "preview", id="preview", tooltip="read it and show every row"),
        Binding("f3", "keep", "keep", id="keep", tooltip="keep what the preview shows"),
        Binding("f5", "imports", "imports", id="imports", tooltip="earlier imports; take one back"),
        Binding("f6", "tray", "tray", id="intake-tray", tooltip="names that are not clear yet"),
        Binding("f7", "dates", "dates", id="dates", tooltip="read dates day or month first"),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._intake: Intake | None = None
        self._order = 0
        self._from_lines = False
        # Counts what was asked for: an answer to something older is not shown.
        self._asked = 0

    def compose(self) -> ComposeResult:
        """Two ways in, how far the reading is, and the preview."""
        yield Input(placeholder="a file, such as ~/flights.xlsx", id="file")
        yield TextArea(id="lines", placeholder="or lines: 2026-11-12 Sancerre > NZ Sauvignon")
        yield Static(id="told", markup=False)
        yield ProgressBar(total=100, show_eta=False)
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield KeyLine("preview", "keep", "intake-tray", "imports", "dates", "help", "back")

    def on_mount(self) -> None:
        """Name the columns of the preview."""
        # A screen that was left no longer knows its app; what it keeps meanwhile must be told.
        self._program = self.app
        table = self.query_one(DataTable)
        # So that what became of a row stands on the screen too.
        wide = self.app.size.width
        name_width = 24 if wide >= 100 else 16 if wide >= 76 else 12
        columns = (
            ("row", 4),
            ("date", 10),
            ("called", name_width),
            ("was", name_width),
            ("", None),
        )
        for name, width in columns:
            table.add_column(name, width=width)
        self.query_one("#file", Input).focus()
        first, then = self.key_of("preview"), self.key_of("keep")
        self._say(f"{first} shows what each row becomes; {then} keeps it.")

    def on_resize(self, event: Resize) -> None:
        """Where there are few lines, more of them are the preview's."""
        self.set_class(event.size.height < 24, "low")

    def on_unmount(self) -> None:
        """Let go of the file."""
        self._forget()

    def on_descendant_focus(self) -> None:
        """Where one types, ? is a letter and help is on another key."""
        self.query_one(KeyLine).redraw()

    def on_input_submitted(self) -> None:
        """Enter in the file's line."""
        self.action_preview()

    def on_input_changed(self) -> None:
        """Another file: the preview no longer speaks of it."""
        self._from_lines = False
        self._forget()

    def on_text_area_changed(self) -> None:
        """Other lines: the preview no longer speaks of them."""
        self._from_lines = True
        self._forget()

    def _forget(self) -> None:
        self._asked += 1
        intake, self._intake = self._intake, None
        if intake is not None:
            intake.close()

    def action_preview(self) -> None:
        """Read in the background and show what each row becomes."""
        file = self.query_one("#file", Input).value.strip()
        lines = self.query_one("#lines", TextArea).text
        self._forget()
        # Where both are filled, the one that was changed last is meant.
        if lines.strip() and (self._from_lines or not file):
            self._read(None, lines, self._asked)
        elif file:
            self._read(file, "", self._asked)
        else:
            self._say("Give a file or some lines first.")

    def action_dates(self) -> None:
        """Read dates the other way round, and show what comes of it."""
        self._order = (self._order + 1) % len(_ORDERS)
        if self._intake is not None:
            self.action_preview()
        else:
            self._say(f"From now on {_ORDERS[self._order][1]}.")

    @work(thread=True, exclusive=True)
    def _read(self, file: str | None, lines: str, asked: int) -> None:
        self._call(self._begin, "reading…", 0, asked)
        intake: Intake | None = None
        try:
            if file:
                intake = read(
                    self.desk,
                    file,
                    date_order=_ORDERS[self._order][0],
                    progress=self._progress(0, 40, asked),
                )
            else:
                intake = read_lines(
                    self.desk, io.StringIO(lines), date_order=_ORDERS[self._order][0]
                )
            self._call(self._begin, "reading…", intake.size, asked)
            taken = take_in(
                self.desk, intake, dry_run=True, progress=self._progress(40, 100, asked)
            )
        except DrillsError as error:
            if intake is not None:
                intake.close()
            self._call(self._fail, str(error), asked)
        else:
            self._call(self._show, intake, taken, asked)

    def _progress(self, start: int, end: int, asked: int) -> Progress:
        """Moves the bar from one place to another; as often as it can be seen to move."""
        shown = -1

        def tell(share: float) -> None:
            nonlocal shown
            place = start + int(share * (end - start))
            if place != shown:
                shown = place
                self._call(self._move, place, asked)

        return tell

    def _call(self, *what: object) -> None:
        """Do something on the screen, from the thread that reads."""
        self._program.call_from_thread(*what)  # type: ignore[arg-type]

    def _begin(self, words: str, size: int, asked: int) -> None:
        if self._stands(asked):
            self._say(words)
            self.set_class(size > _LONG, "busy")

    def _move(self, place: int, asked: int) -> None:
        if self._stands(asked):
            self.query_one(ProgressBar).update(progress=place)

    def _fail(self, words: str, asked: int) -> None:
        if self._stands(asked):
            self.remove_class("busy")
            self._say(words)

    def _stands(self, asked: int) -> bool:
        """Whether the screen is still there and nothing else was asked for since."""
        return self.is_mounted and self.is_attached and asked == self._asked

    def _say(self, words: str) -> None:
        self.query_one("#told", Static).update(Content(words))

    def _show(self, intake: Intake, taken: Taken, asked: int) -> None:
        if not self._stands(asked):
            intake.close()
            return
        self._intake = intake
        self.remove_class("busy")
        table = self.query_one(DataTable)
        table.clear()
        # What is left out stands last.
        for one in sorted(taken.shown, key=lambda one: isinstance(one.outcome, Rejected)):
            self._add_row(table, one.outcome, known=one.known)
        after = f"{self.key_of('keep')} keeps this." if taken.pours else "Nothing new in it."
        if taken.pours + taken.already_known > MOST_SHOWN:
            after += f" The first {MOST_SHOWN:,} rows are shown."
        self._say(self._told(taken, after))

    def _add_row(
        self, table: DataTable[str | Text], outcome: PourDraft | Rejected, *, known: bool
    ) -> None:
        if isinstance(outcome, Rejected):
            table.add_row(f"{outcome.row}", "", "", "", Text(f"left out: {outcome.reason}"))
            return
        state = "known already" if known else "mixed up" if is_confusion(outcome) else ""
        if outcome.full is not None and (noted := len(outcome.full.note.readings)):
            state = f"{state}; {noted} noted".removeprefix("; ")
        table.add_row(
            f"{outcome.row}",
            f"{outcome.date or ''}",
            self._named(outcome.called),
            self._named(outcome.was),
            state,
        )

    def _named(self, name: Named) -> Text:
        # Text, unlike a plain string, is never read as markup.
        if name.wine:
            return Text(self.desk.short(name.wine))
        return Text(f"? {name.text}" if name.text else "")

    def action_keep(self) -> None:
        """Keep what the preview shows."""
        if self._intake is None:
            first = self.key_of("preview")
            self._say(f"Nothing to keep yet: {first} reads and shows it first.")
            return
        # It belongs to the keeping now: whatever is typed or left meanwhile does not close it.
        intake, self._intake = self._intake, None
        self._asked += 1
        self._keep(intake, self._asked)

    @work(thread=True, exclusive=True)
    def _keep(self, intake: Intake, asked: int) -> None:
        self._call(self._begin, "keeping…", intake.size, asked)
        try:
            taken = take_in(self.desk, intake, progress=self._progress(0, 100, asked))
        except DrillsError as error:
            self._call(self._not_kept, intake, f"Nothing was kept: {error}", asked)
        else:
            intake.close()
            self._call(self._kept, taken, asked)

    def _not_kept(self, intake: Intake, words: str, asked: int) -> None:
        if self._stands(asked):
            # The same key tries again.
            self._intake = intake
            self._fail(words, asked)
        else:
            intake.close()
            self._program.notify(words, severity="error", markup=False)

    def _kept(self, taken: Taken, asked: int) -> None:
        if not self._stands(asked):
            # Whoever has left meanwhile is told all the same.
            self._program.notify(self._told(taken, "Kept."), markup=False)
            return
        self.remove_class("busy")
        self._forget()
        after = "Their cards come first in the next drill." if taken.confusions else ""
        self._say(self._told(taken, f"Kept. {after}".strip()))

    def _told(self, taken: Taken, after: str) -> str:
        parts = [
            f"{count(taken.pours, 'new pour')}, {count(taken.confusions, 'confusion')}",
            f"{taken.already_known:,} known already" if taken.already_known else "",
            f"{count(len(taken.rejected), 'row')} left out" if taken.rejected else "",
        ]
        lines = ["; ".join(part for part in parts if part) + f". {after}"]
        hints = {one.text: one.suggestions for one in taken.unresolved.first()}
        for text, times in list(taken.waiting.items())[:_NAMES_TOLD]:
            near = hints.get(text, ())[:3]
            hint = f": perhaps {', '.join(map(self.desk.short, near))}" if near else ""
            often = f" ({times} times)" if times > 1 else ""
            lines.append(f"“{text}”{often} is kept as typed{hint}")
        if len(taken.waiting) > _NAMES_TOLD:
            lines.append(
                f"and {len(taken.waiting) - _NAMES_TOLD:,} more such names;"
                f" {self.key_of('intake-tray')} is the tray"
            )
        if taken.unread:
            one = next(iter(taken.unread))
            lines.append(
                f"{count(len(taken.unread), 'part')} of notes kept as typed, such as "
                f"“{one.text[:30]}” in row {one.row}"
            )
        lines += taken.warnings[:2]
        return "\n".join(lines)

    def action_imports(self) -> None:
        """Earlier imports, to take one back."""
        from drills.screens.imports import ImportsScreen

        self.app.push_screen(ImportsScreen())

    def action_tray(self) -> None:
        """The names that wait."""
        from drills.screens.tray import TrayScreen

        self.app.push_screen(TrayScreen())
