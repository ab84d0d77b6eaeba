"""Writes the sheets of a planned flight: HTML to print, CSV to fill in, perhaps PDF."""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import subprocess
import tempfile
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE
from drills.errors import DrillsError
from drills.paths import expanded
from drills.pouring.sheets import (
    KeyRow,
    OrderRow,
    Paper,
    ShoppingRow,
    key_page,
    shopping_page,
    taster_page,
)
from drills.service.flight_showing import Contents, PlannedFlight
from drills.service.guests import check_no_guest
from drills.service.planned_flights import find_record, look, own_record
from drills.service.writing import BEGINS, WriteError, check_free, write_whole
from drills.tastings.cells import printable
from drills.tastings.headings import (
    ABSENT,
    AGE,
    APPEARANCE,
    CALLED,
    CALLED_SURENESS,
    CALLED_VINTAGE,
    CANDIDATES,
    CLIMATE,
    CODE,
    DATE,
    DESCRIPTORS,
    FIRST,
    FIRST_SURENESS,
    FLIGHT,
    HEADINGS,
    NOSE,
    NOTE,
    PALATE,
    PLANNED,
    POSITION,
    RUNNER_UP,
    WORLD,
)
from drills.tastings.marks import guarded

if TYPE_CHECKING:
    from drills.service.desk import Desk

SHEET_COLUMNS = (
    *(PLANNED, CODE, DATE, FLIGHT, POSITION),
    *(HUE, DEPTH, APPEARANCE, NOSE, PALATE, DESCRIPTORS, ABSENT),
    *(*STRUCTURE, ALCOHOL, WORLD, CLIMATE, AGE, CANDIDATES),
    *(FIRST, FIRST_SURENESS, CALLED, CALLED_VINTAGE, CALLED_SURENESS, RUNNER_UP, NOTE),
)
"""Columns of a taster's sheet: what the intake reads, the identity left out."""

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
_PRINTING_SECONDS = 60


class NoBrowser(DrillsError):  # noqa: N818 - named as the taster meets it
    """No browser is there that could print the pages."""


@dataclass(frozen=True, slots=True)
class WrittenSheets:
    """The files that were written; `helper` are those that name the wines."""

    number: int
    folder: Path
    helper: tuple[Path, ...]
    tasters: tuple[Path, ...]


def write_sheets(
    desk: Desk,
    number: int | None,
    folder: str,
    *,
    overwrite: bool = False,
    pdf: bool = False,
    paper: Paper | None = None,
    only_tasters: bool = False,
    progress: Callable[[float], None] | None = None,
) -> WrittenSheets:
    """Write key sheet, shopping list and a blank sheet for each taster into a folder.

    With `only_tasters` nothing is written that names a wine. `progress` is told of the share that
    is printed; a page takes about a second.

    Raises:
        NotPossibleError: there is no such flight, or its key is another taster's.
        NoBrowser: a PDF is wanted and there is no Chromium; then nothing is written.
        WriteError: a file is there already, or cannot be written.
    """
    check_no_guest()
    record = find_record(desk, number) if only_tasters else own_record(desk, number)
    flight = look(record, unsealed=True)
    browser = _browser() if pdf else None
    into = expanded(folder)
    helper = {} if only_tasters else helper_files(desk, flight, paper)
    tasters = taster_files(flight, paper)
    wanted = {**helper, **tasters}
    pages = [into / name for name in wanted if name.endswith(".html")]
    targets = [into / name for name in wanted]
    if browser is not None:
        targets += [page.with_suffix(".pdf") for page in pages]
    for target in targets:
        check_free(target, overwrite=overwrite)
    try:
        into.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WriteError(
            f"the folder “{printable(str(into))}” cannot be made: {error.strerror}"
        ) from None
    for name, text in wanted.items():
        write_whole(into / name, [text], overwrite=overwrite)
    if browser is not None:
        for printed, page in enumerate(pages):
            if progress is not None:
                progress(printed / len(pages))
            _print(browser, page)
    return WrittenSheets(
        flight.number,
        into,
        tuple(path for path in targets if not path.name.startswith(_stem(flight, "taster"))),
        tuple(path for path in targets if path.name.startswith(_stem(flight, "taster"))),
    )


def helper_files(desk: Desk, flight: PlannedFlight, paper: Paper | None = None) -> dict[str, str]:
    """The helper's files by name: key and shopping list, each as page and as table."""
    held = {glass.code: _held(glass.contents) for glass in flight.glasses}
    keys = [
        KeyRow(code, _label(one), "cellar" if one.owned else "to buy", one.sentence)
        for code, one in held.items()
    ]
    orders = [OrderRow(name, _sittings(flight, name)) for name in flight.tasters]
    # By name, not by code: the list goes to the shop.
    bottles = sorted(
        (_shopping(desk, one) for one in held.values() if one.role != "repeat"),
        key=lambda row: (row.owned, row.wine),
    )
    places = [f"place for {name}" for name in flight.tasters]
    key_table = _csv(
        ("flight number", "code", "wine", "vintage", "key", "bottle", *places, "why"),
        [
            (
                str(flight.number),
                str(glass.code),
                held[glass.code].text,
                _year(held[glass.code]),
                held[glass.code].wine,
                "cellar" if held[glass.code].owned else "to buy",
                *(
                    str(glass.places[name].position) if name in glass.places else ""
                    for name in flight.tasters
                ),
                held[glass.code].sentence,
            )
            for glass in sorted(flight.glasses, key=lambda one: one.code)
        ],
    )
    shopping = _csv(
        ("wine", "what to look for", "price", "from"),
        [(row.wine, row.look_for, row.price, "cellar" if row.owned else "shop") for row in bottles],
    )
    key, shop = _stem(flight, "helper-key"), _stem(flight, "helper-shopping")
    return {
        f"{key}.html": key_page(flight.name, keys, orders, paper, flight.coverage.balance),
        f"{key}.csv": key_table,
        f"{shop}.html": shopping_page(flight.name, bottles, paper),
        f"{shop}.csv": shopping,
    }


def taster_files(flight: PlannedFlight, paper: Paper | None = None) -> dict[str, str]:
    """The blank sheets by name, page and table for each taster; no wine is named in them."""
    found: dict[str, str] = {}
    for taster in flight.tasters:
        stem = _stem(flight, f"taster-{_plain(taster)}")
        number = 2
        while f"{stem}.html" in found:
            stem, number = _stem(flight, f"taster-{_plain(taster)}-{number}"), number + 1
        found[f"{stem}.html"] = taster_page(flight.name, taster, _sittings(flight, taster), paper)
        found[f"{stem}.csv"] = blank_table(flight, taster)
    return found


def blank_table(flight: PlannedFlight, taster: str) -> str:
    """A taster's blank sheet as CSV, a row a glass in the order of serving."""
    rows = []
    for place, glass in enumerate(flight.in_order(taster), 1):
        filled = {
            PLANNED: str(flight.number),
            CODE: str(glass.code),
            FLIGHT: flight.name,
            POSITION: str(place),
        }
        rows.append([filled.get(role, "") for role in SHEET_COLUMNS])
    return _csv([HEADINGS[role][0] for role in SHEET_COLUMNS], rows)


def _held(contents: Contents | None) -> Contents:
    assert contents is not None, "the helper's files are made of an unsealed flight"
    return contents


def _sittings(flight: PlannedFlight, taster: str) -> list[list[int]]:
    found: dict[int, list[int]] = {}
    for glass in flight.in_order(taster):
        found.setdefault(glass.places[taster].sitting, []).append(glass.code)
    return list(found.values())


def _shopping(desk: Desk, held: Contents) -> ShoppingRow:
    profile = desk.table.profiles.get(held.wine)
    look_for = held.text if profile is None else f"{profile.region}, {profile.country}"
    price = "" if held.price is None else f"{held.price:,.2f}"
    return ShoppingRow(_label(held), look_for, price, held.owned)


def _label(held: Contents) -> str:
    year = _year(held)
    return held.text if not year or year in held.text else f"{held.text} {year}"


def _year(held: Contents) -> str:
    return "" if held.vintage is None else str(held.vintage)


def _stem(flight: PlannedFlight, what: str) -> str:
    return f"flight-{flight.number}-{what}"


def _plain(name: str) -> str:
    """A name that any file system takes."""
    bare = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
    return re.sub(r"[^a-z0-9]+", "-", bare).strip("-") or "unnamed"


def _csv(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    text.write(BEGINS)
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(heads)
    for row in rows:
        writer.writerow(map(guarded, row))
    return text.getvalue()


# ---- paper


def _browser() -> str:
    found = next(filter(None, map(shutil.which, BROWSERS)), None)
    if found is None:
        raise NoBrowser(
            "a PDF is printed by Chromium and none is installed; without --pdf the pages are HTML, "
            "which any browser prints"
        )
    return found


def _print(browser: str, page: Path) -> None:
    """Print one page to a PDF beside it."""
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "page.pdf"
        command = [
            browser,
            "--headless",
            "--disable-gpu",
            "--no-pdf-header-footer",
            f"--user-data-dir={folder}",
            f"--print-to-pdf={made}",
            page.absolute().as_uri(),
        ]
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            # Chromium refuses its sandbox to the administrator; the page is our own.
            command.insert(1, "--no-sandbox")
        try:
            done = subprocess.run(
                command, capture_output=True, timeout=_PRINTING_SECONDS, check=False
            )
        except (OSError, subprocess.TimeoutExpired) as error:
            raise WriteError(f"{Path(browser).name} could not print: {error}") from None
        if done.returncode or not made.exists():
            raise WriteError(
                f"{Path(browser).name} could not print “{printable(page.name)}”; the HTML is there"
            )
        try:
            shutil.copyfile(made, page.with_suffix(".pdf"))
        except OSError as error:
            target = printable(str(page.with_suffix(".pdf")))
            raise WriteError(f"“{target}” cannot be written: {error.strerror}") from None
