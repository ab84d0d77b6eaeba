"""The taster's own folder, laid over the shipped table: the one module that writes there.

A file is written beside the old one, synced and renamed over it; the content it had before stays
as `<file>.before`. Several files change together: their names are written down first, so that
whoever comes after a power cut finishes what was begun.
"""

from __future__ import annotations

import json
import os
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from cards.checking import contradictions
from cards.errors import TableError
from cards.facts import Change
from cards.fields import ENCODING, Document, Layers
from cards.profiles import STYLES
from cards.spreadsheet.reading import valid_key
from cards.tables import SHIPPED, Table, build_table, read_documents, table_files
from drills.disk import sync_folder
from drills.errors import OverlayError, UsageError
from drills.own_files import amended, parsed
from drills.paths import unfinished_edit

BEFORE = ".before"
_NEW = ".new"
_LOCK = ".lock"


@dataclass(frozen=True, slots=True)
class Reading:
    """The table as it stands with the folder, the shipped one below it, and what is wrong.

    Where `problems` is not empty the tables have gaps.
    """

    table: Table
    shipped: Table
    problems: tuple[TableError, ...]
    documents: tuple[Document, ...] = field(repr=False)


class Overlay:
    """The folder of the taster's own profiles; it need not exist."""

    def __init__(self, folder: Path, shipped: Path = SHIPPED) -> None:
        self.folder = folder
        self._shipped = shipped

    def file_of(self, wine: str, style: str) -> Path:
        """Where the taster's file of a wine is; UsageError for what cannot be a wine's key."""
        if not valid_key(wine):
            raise UsageError(f"“{wine}” is no key: small letters, digits and hyphens between them")
        if style not in STYLES:
            raise UsageError(f"the style “{style}” is none of {', '.join(STYLES)}")
        return self.folder / style / f"{wine}.toml"

    def text_of(self, wine: str, style: str) -> str:
        """The text of a wine's file, empty where there is none; OverlayError if it is no text."""
        return _text(self.file_of(wine, style))

    def read(self) -> Reading:
        """Read both tables; nothing is raised, what is wrong is among the problems."""
        settle(self.folder)
        return self._read()

    def _read(self) -> Reading:
        below = _below(self._shipped, _stamp(self._shipped))
        problems = [*below.problems]
        own = read_documents(self.folder, problems, own=True)
        table = build_table([*below.documents, *own], problems)
        return Reading(table, below.table, tuple(problems), (*below.documents, *own))

    # ---- what a change would do

    def problems_with(self, texts: Mapping[Path, str], reading: Reading) -> list[TableError]:
        """What would be wrong if files had these texts, and is not wrong now."""
        return self._news(reading, _standing(reading), {f: (f, text) for f, text in texts.items()})

    def problems_of_draft(
        self, wine: str, style: str, text: str, draft: Path, reading: Reading
    ) -> list[TableError]:
        """All that would be wrong of a wine if `text`, as `draft` holds it, became its file.

        Problems name the draft and its lines.
        """
        file = self.file_of(wine, style)
        without = _rebuilt([d for d in reading.documents if d.file != file])
        return self._news(reading, _standing(without), {file: (draft, text)})

    def _news(
        self,
        reading: Reading,
        known: set[tuple[str, str | None, str]],
        texts: Mapping[Path, tuple[Path, str]],
    ) -> list[TableError]:
        documents = [d for d in reading.documents if d.file not in texts]
        for file, (shown, text) in texts.items():
            try:
                content = parsed(text, shown)
            except TableError as error:
                return [error]
            shelf = file.relative_to(self.folder).as_posix()
            documents.append(Document(shelf, shown, content, own=True))
        wines = {file.stem for file in texts}
        return [e for e in _all_problems(_rebuilt(documents), wines) if _identity(e) not in known]

    # ---- writing

    def save(self, changes: Sequence[Change]) -> tuple[Path, ...]:
        """Write changes, all of them or none; returns the files.

        Raises:
            TableError: the table would contradict itself, or a file cannot be amended.
            OverlayError: the folder cannot be written.
        """
        settle(self.folder)
        with _locked(self.folder):
            reading = self._read()
            texts = self.amended(changes, reading)
            for error in self.problems_with(texts, reading):
                # The lines on disk are not those of the text that was refused.
                raise TableError(error.problem, file=error.file, field=error.field)
            _write(self.folder, texts)
        return tuple(texts)

    def amended(self, changes: Sequence[Change], reading: Reading) -> dict[Path, str]:
        """The texts that the files of some wines would have after changes."""
        texts: dict[Path, str] = {}
        for change in changes:
            file = self.file_of(change.wine, change.style)
            profile = reading.table.profiles.get(change.wine)
            name = profile.name if profile else change.wine
            texts[file] = amended(texts.get(file) or _text(file), change, file, name)
        return texts

    def put(self, wine: str, style: str, text: str, draft: Path) -> Path:
        """Make `text`, as `draft` holds it, the file of a wine; returns the file.

        Raises:
            TableError: the wine would contradict itself or others; names the draft and its line.
            OverlayError: the folder cannot be written.
        """
        file = self.file_of(wine, style)
        settle(self.folder)
        with _locked(self.folder):
            for error in self.problems_of_draft(wine, style, text, draft, self._read()):
                raise error
            _write(self.folder, {file: text})
        return file


@lru_cache(maxsize=1)
def _below(shipped: Path, _: tuple[tuple[str, int, int], ...]) -> Reading:
    """The shipped table alone, kept while its files stand: to parse it is most of a reading."""
    problems: list[TableError] = []
    documents = read_documents(shipped, problems)
    table = build_table(documents, [])
    return Reading(table, table, tuple(problems), tuple(documents))


def _stamp(folder: Path) -> tuple[tuple[str, int, int], ...]:
    """The files of a table, with their times and sizes."""
    told = ((str(file), file.stat()) for file in table_files(folder))
    return tuple((name, found.st_mtime_ns, found.st_size) for name, found in told)


def _rebuilt(documents: Sequence[Document]) -> Reading:
    problems: list[TableError] = []
    table = build_table(documents, problems)
    return Reading(table, table, tuple(problems), tuple(documents))


def _all_problems(reading: Reading, changed: Collection[str] = ()) -> list[TableError]:
    """Problems of files and contradictions; those of `changed` wines lie with the last file."""
    found = list(reading.problems)
    layers: dict[str, Layers] = {}
    for document in reading.documents:
        wine = document.shelf.rpartition("/")[2].removesuffix(".toml")
        layers.setdefault(wine, Layers(document.shelf)).documents.append(document)
    for wine in changed:
        del layers[wine].documents[:-1]
    found += [layers[one.wine].problem(one.text, one.path) for one in contradictions(reading.table)]
    return found


def _standing(reading: Reading) -> set[tuple[str, str | None, str]]:
    return {_identity(error) for error in _all_problems(reading)}


def _identity(error: TableError) -> tuple[str, str | None, str]:
    return (error.file, error.field, error.problem)


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding=ENCODING)
    except FileNotFoundError:
        return ""
    except UnicodeDecodeError as error:
        raise OverlayError(f"{file} is not UTF-8 ({error.reason})") from None
    except OSError as error:
        raise OverlayError(f"{file} cannot be read ({error.strerror})") from None


# ---- the disk


def settle(folder: Path) -> None:
    """Finish what was begun when the program last died between two files of one change."""
    pending = unfinished_edit(folder)
    if pending.exists():
        # Who may only read the folder reads it as it is.
        with suppress(OverlayError, OSError, ValueError), _locked(folder):
            _finish(pending)


def write_whole(file: Path, content: bytes) -> None:
    """Put `content` in the place of a file, whole or not at all; OSError."""
    _write_beside(file, content)
    os.replace(_beside(file), file)
    sync_folder(file.parent)


def _beside(file: Path) -> Path:
    return file.with_name(file.name + _NEW)


def _write_beside(file: Path, content: bytes) -> None:
    with open(_beside(file), "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _write(folder: Path, texts: Mapping[Path, str]) -> None:
    # A file may be a link into a folder that the taster keeps elsewhere: the link stays.
    wanted = {Path(os.path.realpath(file)): text.encode() for file, text in texts.items()}
    wanted = {file: content for file, content in wanted.items() if _content(file) != content}
    pending = unfinished_edit(folder)
    try:
        for file, content in wanted.items():
            file.parent.mkdir(parents=True, exist_ok=True)
            _write_beside(file, content)
        if len(wanted) > 1:
            write_whole(pending, json.dumps(list(map(str, wanted))).encode())
            _finish(pending)
        else:
            for file in wanted:
                _swap(file)
    except OSError as error:
        # Once the names are written down the change stands, and is finished at the next start.
        if not pending.exists():
            for file in wanted:
                with suppress(OSError):
                    _beside(file).unlink()
        raise _unwritable(folder, error) from None


def _content(file: Path) -> bytes | None:
    try:
        return file.read_bytes()
    except OSError:
        return None


def _finish(pending: Path) -> None:
    for name in json.loads(pending.read_text(encoding="utf-8")):
        if _beside(Path(name)).exists():
            _swap(Path(name))
    pending.unlink()


def _swap(file: Path) -> None:
    """Let the new file take the place of the old one, whose content stays beside it."""
    if (content := _content(file)) is not None:
        write_whole(file.with_name(file.name + BEFORE), content)
    os.replace(_beside(file), file)
    sync_folder(file.parent)


def _unwritable(folder: Path, error: OSError) -> OverlayError:
    reason = error.strerror or str(error)
    return OverlayError(f"your own table in {folder} cannot be written ({reason})")


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Keep other programs from writing the folder meanwhile."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle = os.open(folder / _LOCK, os.O_RDWR | os.O_CREAT, 0o644)
    except OSError as error:
        raise _unwritable(folder, error) from None
    try:
        # Where a file system knows no locks, the last one to write wins.
        with suppress(ImportError, OSError):
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)
