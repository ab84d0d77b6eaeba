"""The taster's own cellar: take a list in, write it out, say what a name means, undo."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import chain
from typing import TYPE_CHECKING, Any

from cards.names import Resolution
from cards.naming.folding import words
from drills.errors import NotPossibleError, UsageError
from drills.paths import expanded
from drills.service.tasting import remember_name
from drills.service.writing import BEGINS, write_whole
from drills.storage.planned_records import StockChangeRecord, StockRow
from drills.tastings.bottles import COLUMNS, BottleList, ListedBottle, read_bottles
from drills.tastings.cells import printable
from drills.tastings.drafts import Rejected, Unresolved, even
from drills.tastings.figures import decimal_text
from drills.tastings.marks import guarded

if TYPE_CHECKING:
    from drills.service.desk import Desk


@dataclass(frozen=True, slots=True)
class Stocked:
    """What a list changed, or would change, in the cellar.

    `unresolved` names wait, as typed; `gone` rows were in the cellar and are not in the list.
    """

    source: str
    new: int
    changed: int
    same: int
    gone: int
    bottles: int
    unresolved: tuple[Unresolved, ...]
    rejected: tuple[Rejected, ...]
    warnings: tuple[str, ...]
    dry_run: bool


def cellar(desk: Desk) -> list[StockRow]:
    """Every wine of the cellar, those without a bottle left among them.

    A name that waited is looked up again: the table, or the taster, may have learnt it since.
    """
    found = []
    for row in desk.repository.stock(desk.taster.id):
        if row.wine is not None and row.wine not in desk.table.profiles:
            row = replace(row, wine=None)
        if row.wine is None:
            row = replace(row, wine=_resolve(desk, row.text).wine)
        found.append(row)
    return found


def import_cellar(
    desk: Desk, file: str, *, replace_all: bool = False, dry_run: bool = False
) -> Stocked:
    """Take a list in: its wines become what it says, others stay unless it is to replace all.

    A wine is known by its name as typed and its vintage. Taking the same list in twice changes
    nothing.

    Raises:
        IntakeError: the file cannot be read or has no column for the wine.
        StorageError: and its kinds; then nothing changed.
    """
    listed = read_bottles(expanded(file))
    kept = {_identity(row.text, row.vintage): row for row in desk.repository.stock(desk.taster.id)}
    rows: list[StockRow] = []
    unresolved: list[Unresolved] = []
    new = changed = 0
    for bottle in listed.bottles:
        before = kept.pop(_identity(bottle.text, bottle.vintage), None)
        meant = _meant(desk, bottle)
        if meant.wine is None:
            unresolved.append(Unresolved(bottle.row, "wine", bottle.text, meant.suggestions))
        row = StockRow(
            bottle.text,
            meant.wine,
            bottle.vintage,
            bottle.price,
            bottle.bottles,
            bottle.note,
            before.id if before else None,
        )
        new += before is None
        changed += before is not None and before != row
        rows.append(row)
    # What the table does not know is told, and what nobody could read must not cost a bottle.
    gone = [row.id for row in kept.values() if row.id is not None] if replace_all else []
    if gone and listed.rejected:
        raise NotPossibleError(
            f"row {listed.rejected[0].row} cannot be read ({listed.rejected[0].reason}), so the "
            "list may not replace the cellar; mend it, or leave --replace away"
        )
    if not dry_run:
        desk.repository.change_stock(desk.taster.id, f"list “{listed.label}”", rows, gone)
    return _stocked(listed, rows, new, changed, len(gone), unresolved, dry_run=dry_run)


def _stocked(
    listed: BottleList,
    rows: list[StockRow],
    new: int,
    changed: int,
    gone: int,
    unresolved: list[Unresolved],
    *,
    dry_run: bool,
) -> Stocked:
    return Stocked(
        source=listed.label,
        new=new,
        changed=changed,
        same=len(rows) - new - changed,
        gone=gone,
        bottles=sum(row.bottles for row in rows),
        unresolved=tuple(unresolved),
        rejected=listed.rejected,
        warnings=listed.warnings,
        dry_run=dry_run,
    )


def export_cellar(desk: Desk, file: str, *, overwrite: bool = False) -> int:
    """Write the cellar as CSV; return how many wines there were.

    Raises:
        UsageError: the name does not end in .csv.
        WriteError: the file is there already, or cannot be written.
    """
    path = expanded(file)
    if path.suffix.lower() != ".csv":
        raise UsageError(f"“{printable(file)}” should end in .csv")
    pieces = chain([BEGINS], _csv_rows(cellar(desk)))
    return write_whole(path, pieces, overwrite=overwrite) - 2


def name_bottle(desk: Desk, text: str, wine: str) -> int:
    """Say which wine a name of the cellar means, from now on; return how many rows waited for it.

    Raises:
        UnknownWine: no wine, or more than one, answers to `wine`.
        NotPossibleError: the cellar has no such name.
    """
    key = desk.names.key(wine)
    folded = "".join(words(text))
    names = [row.text for row in desk.repository.stock(desk.taster.id)]
    spellings = {name for name in names if "".join(words(name)) == folded}
    if not spellings:
        raise NotPossibleError(f"the cellar has no wine called “{printable(text)}”")
    remember_name(desk, text, key)
    return desk.repository.resolve_stock(desk.taster.id, spellings, key)


def undo_cellar(desk: Desk) -> StockChangeRecord:
    """Take the latest change of the cellar back, a list or a bottle that was poured.

    Raises:
        NotPossibleError: there is none.
    """
    undone = desk.repository.undo_stock_change(desk.taster.id)
    if undone is None:
        raise NotPossibleError("no change of the cellar is left to be taken back")
    return undone


def cellar_json(rows: list[StockRow]) -> list[dict[str, Any]]:
    """`[{wine, key, vintage, price, bottles, note}]`, in the order of the list."""
    return [
        {
            "wine": row.text,
            "key": row.wine,
            "vintage": row.vintage,
            "price": row.price,
            "bottles": row.bottles,
            "note": row.note,
        }
        for row in rows
    ]


def _identity(text: str, vintage: int | None) -> tuple[str, int | None]:
    return even(text), vintage


def _meant(desk: Desk, bottle: ListedBottle) -> Resolution:
    if bottle.key in desk.table.profiles:
        return Resolution(bottle.text, bottle.key, (), "key")
    return _resolve(desk, bottle.text)


def _resolve(desk: Desk, text: str) -> Resolution:
    return desk.names.resolve(text)


def _csv_rows(rows: list[StockRow]) -> Iterator[str]:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    for cells in (COLUMNS, *map(_cells, rows)):
        text.seek(0)
        text.truncate()
        writer.writerow(map(guarded, cells))
        yield text.getvalue()


def _cells(row: StockRow) -> tuple[str, ...]:
    return (
        row.text,
        "" if row.vintage is None else str(row.vintage),
        "" if row.price is None else decimal_text(row.price),
        str(row.bottles),
        row.note,
        row.wine or "",
    )
