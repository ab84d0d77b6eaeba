"""The taster's own table: disputes, wines edited as text, and the spreadsheet both ways."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from cards.errors import TableError
from cards.facts import Change, FactPath, Value, changed_facts, plain
from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE
from cards.names import WineNames
from cards.profiles import STYLES, UNLISTED, Span
from cards.scale import LevelRange, Typical
from cards.spreadsheet.changes import Told, changes_of, told
from cards.spreadsheet.columns import column_letters, header_of
from cards.spreadsheet.reading import Sheet, SheetProblem, read_sheet, valid_key
from cards.spreadsheet.writing import sheet_text
from drills import paths
from drills.errors import NotPossibleError, OverlayError, StorageError
from drills.overlay import Overlay, Reading, write_whole
from drills.own_files import new_wine_text, tidied, with_offers

if TYPE_CHECKING:
    from drills.service.desk import Desk

Disputed = LevelRange | Typical | Span | tuple[str, ...] | None
"""What a taster says instead: levels, how typical, % vol, hues; None takes a descriptor off."""

_SHORT = 24


def overlay() -> Overlay:
    """The taster's own folder."""
    return Overlay(paths.table_folder())


def _sound(reading: Reading) -> Reading:
    """What was read, if nothing is wrong with it; else the first TableError."""
    for error in reading.problems:
        raise error
    return reading


# ---- disputes


def dispute(desk: Desk, wine: str, attribute: str, value: Disputed, reason: str = "") -> bool:
    """Write what a taster says of one cue of a wine, and let the desk's cards follow.

    Returns False where the table says so already.

    Raises:
        TableError: it would contradict another fact of the wine.
        OverlayError: the folder cannot be written.
        StorageError: it is written, and the contrasts could not be brought into step.
    """
    folder = overlay()
    reading = _sound(folder.read())
    profile = reading.table.profiles.get(wine)
    if profile is None:
        raise NotPossibleError(f"“{wine}” is no wine of the table")
    shipped = reading.shipped.profiles.get(wine)
    facts = changed_facts(profile, shipped, _disputed(attribute, value))
    if not facts and desk.table.fingerprint == reading.table.fingerprint:
        return False
    if facts:
        folder.save([Change(wine, profile.style, facts, reason)])
    try:
        desk.reload_table()
    except StorageError as error:
        raise StorageError(
            f"your note is kept, but the cards cannot follow yet: {error}"
        ) from error
    return True


def _disputed(attribute: str, value: Disputed) -> dict[FactPath, Value]:
    if isinstance(value, Span):
        if attribute != ALCOHOL:
            raise ValueError(f"{attribute} is no range of numbers")
        return {(ALCOHOL, "low"): plain(value.low), (ALCOHOL, "high"): plain(value.high)}
    if isinstance(value, tuple):
        return {("colour", HUE): list(value)}
    said = UNLISTED if value is None else str(value)
    if attribute == DEPTH:
        return {("colour", DEPTH): said}
    return {("structure" if attribute in STRUCTURE else "descriptors", attribute): said}


# ---- a wine as text


@dataclass(frozen=True, slots=True)
class Draft:
    """A wine being edited: `file` holds the text, `first` the text that was put there.

    `begun` is true where the file was there before, from an edit that was not finished.
    """

    wine: str
    style: str
    file: Path
    first: str
    begun: bool = False

    @property
    def touched(self) -> bool:
        """Whether the file says anything but what was put there."""
        try:
            return self.file.read_text(encoding="utf-8-sig") != self.first
        except (OSError, UnicodeDecodeError):
            return True


def begin_edit(wine: str) -> Draft:
    """Put the facts of a wine, named by key or any name, into a draft, ready to be changed.

    An unfinished draft is gone on with. UnknownWine, OverlayError.
    """
    reading = overlay().read()
    waiting = _waiting_draft(wine)
    key = waiting.stem if waiting and wine not in reading.table.profiles else None
    key = key or WineNames(reading.table).key(wine)
    profile = reading.table.profiles.get(key)
    if profile is None:
        assert waiting is not None
        return Draft(key, waiting.parent.name, waiting, "", begun=True)
    style = profile.style if profile.style in STYLES else ""
    file = overlay().file_of(key, style)
    text = overlay().text_of(key, style)
    with suppress(TableError):
        # What is no TOML is opened as it is, to be mended.
        text = with_offers(text, profile, file)
    return _draft(key, style, text)


def begin_new(key: str, like: str, style: str | None = None) -> Draft:
    """Put a copy of a wine under a new key into a draft.

    Raises:
        NotPossibleError: the table has a wine of this key.
        UsageError: it is no key, or the style is none.
        UnknownWine: no wine, or more than one, answers to `like`.
        TableError: a file of the table is wrong.
    """
    reading = _sound(overlay().read())
    if key in reading.table.profiles:
        raise NotPossibleError(
            f"“{key}” is a wine of the table already; `table edit {key}` changes it"
        )
    profile = reading.table.profiles[WineNames(reading.table).key(like)]
    style = style or profile.style
    overlay().file_of(key, style)
    words = key.replace("-", " ")
    name = words[0].upper() + words[1:]
    laterals = [profile.key, *profile.laterals]
    return _draft(key, style, new_wine_text(key, name, name[:_SHORT].strip(), profile, laterals))


def _draft_file(key: str, style: str) -> Path:
    return paths.draft_folder() / style / f"{key}.toml"


def _waiting_draft(key: str) -> Path | None:
    if not valid_key(key):
        return None
    return next((file for style in STYLES if (file := _draft_file(key, style)).is_file()), None)


def _draft(key: str, style: str, text: str) -> Draft:
    file = _draft_file(key, style)
    if file.is_file():
        begun = Draft(key, style, file, text, begun=True)
        if begun.touched:
            return begun
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        write_whole(file, text.encode())
    except OSError as error:
        raise OverlayError(f"{file} cannot be written ({error.strerror})") from None
    return Draft(key, style, file, text)


def problems_of(draft: Draft) -> list[TableError]:
    """What is wrong with a draft, with its lines; OverlayError if it cannot be read."""
    return overlay().problems_of_draft(
        draft.wine, draft.style, _read(draft.file), draft.file, overlay().read()
    )


def take(draft: Draft, *, keep_offers: bool = False) -> Path:
    """Lay a draft over the table and remove it; returns the wine's own file.

    Facts that were offered and left as they were do not go with it, unless `keep_offers`.
    TableError names the draft and its line, and leaves it where it is.
    """
    text = _read(draft.file)
    if not keep_offers:
        text = tidied(text, overlay().read().table.profiles.get(draft.wine))
    file = overlay().put(draft.wine, draft.style, text, draft.file)
    with suppress(OSError):
        draft.file.unlink()
        draft.file.parent.rmdir()
    return file


def _read(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise OverlayError(f"{file} is not UTF-8 ({error.reason})") from None
    except OSError as error:
        raise OverlayError(f"{file} cannot be read ({error.strerror})") from None


# ---- the spreadsheet


def export_sheet(*, decimal_comma: bool = False) -> bytes:
    """The table with the taster's own facts, as a CSV file; the first TableError there is."""
    table = _sound(overlay().read()).table
    # Spreadsheets tell UTF-8 by its mark.
    return sheet_text(table, decimal_comma=decimal_comma).encode("utf-8-sig")


def export_to(file: Path, *, decimal_comma: bool = False) -> int:
    """Write the table to a new file; returns the number of wines. OverlayError where it exists."""
    if os.path.exists(file):
        raise OverlayError(f"{file} exists already; choose another name")
    content = export_sheet(decimal_comma=decimal_comma)
    try:
        write_whole(file, content)
    except OSError as error:
        raise OverlayError(f"{file} cannot be written ({error.strerror})") from None
    return len(overlay().read().table.profiles)


@dataclass(frozen=True, slots=True)
class WineChanges:
    """What an import changes of one wine."""

    wine: str
    new: bool
    facts: tuple[Told, ...]


@dataclass(frozen=True, slots=True)
class Imported:
    """What a sheet changed, or would change; with any problem nothing is changed.

    `unchanged` wines of the sheet say what the table says; `absent` wines are not in the sheet and
    stay as they are.
    """

    changes: tuple[WineChanges, ...]
    unchanged: int
    absent: int
    problems: tuple[SheetProblem, ...]
    warnings: tuple[str, ...]
    dry_run: bool


def import_sheet(content: bytes, *, dry_run: bool = False) -> Imported:
    """Take a sheet in, whole or not at all: what differs from the table goes to the own folder.

    Raises:
        IntakeError: the file is no text.
        TableError: the own folder is broken already.
        OverlayError: the folder cannot be written.
    """
    from drills.tastings.texts import decode

    folder = overlay()
    reading = _sound(folder.read())
    text, warnings = decode(content)
    sheet = read_sheet(text, reading.table)
    problems = list(sheet.problems)
    changes = changes_of(sheet, reading.table, reading.shipped)
    if not problems:
        texts = folder.amended(changes, reading)
        for error in folder.problems_with(texts, reading):
            problems.append(_placed(error, sheet))
    told_changes = tuple(
        WineChanges(
            change.wine,
            change.wine not in reading.table.profiles,
            tuple(told(change, reading.table, reading.shipped)),
        )
        for change in changes
    )
    if not problems and not dry_run and changes:
        folder.save(changes)
    present = {row.key for row in sheet.rows}
    return Imported(
        changes=() if problems else told_changes,
        unchanged=len(sheet.rows) - len(changes),
        absent=len(reading.table.profiles.keys() - present),
        problems=tuple(problems),
        warnings=warnings,
        dry_run=dry_run,
    )


def _placed(error: TableError, sheet: Sheet) -> SheetProblem:
    """A problem of the table that a sheet would make, by row and column of the sheet."""
    rows: Mapping[str, int] = {row.key: row.number for row in sheet.rows}
    row = rows.get(Path(error.file).stem, 0)
    path = tuple((error.field or "").split("."))
    while path:
        column = sheet.columns.get(path)
        if column is not None:
            return SheetProblem(row, column_letters(column), header_of(path), error.problem)
        path = path[:-1]
    return SheetProblem(row, "", "", str(error) if not row else error.problem)
