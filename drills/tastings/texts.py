"""Text from bytes: which encoding a file is in, and its lines, a few at a time."""

from __future__ import annotations

import codecs
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from drills.errors import IntakeError
from drills.phrases import count
from drills.tastings.cells import tidy
from drills.tastings.sources import Source, Told

LONGEST_LINE = 4_000_000  # characters

_SIGNATURES = (
    (b"\xd0\xcf\x11\xe0", "is an old spreadsheet (XLS) or a protected one; save it as XLSX or CSV"),
    (b"%PDF", "is a PDF, not a table"),
    (b"\x89PNG", "is a picture, not a table"),
    (b"\xff\xd8\xff", "is a picture, not a table"),
    (b"GIF8", "is a picture, not a table"),
    (b"\x1f\x8b", "is compressed; unpack it first"),
    (b"BZh", "is compressed; unpack it first"),
    (b"7z\xbc\xaf", "is compressed; unpack it first"),
    (b"Rar!", "is compressed; unpack it first"),
    (b"SQLite format 3\x00", "is a database, not a table"),
)
PACKED = b"PK\x03\x04"
# UTF-32 begins like UTF-16, so it is looked for first.
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_TEXT_CONTROLS = b"\t\n\r\x0b\x0c\x1a"
_CONTROLS = bytes(set(range(32)) - set(_TEXT_CONTROLS)) + b"\x7f"
# Bytes that mean nothing in Windows' western encoding.
_UNDEFINED = b"\x81\x8d\x8f\x90\x9d"


@dataclass(frozen=True, slots=True)
class Encoding:
    """How the bytes of a source become text; `begins` is the number of bytes before the text."""

    name: str
    begins: int = 0
    strict: bool = False
    warnings: tuple[str, ...] = ()


def find_encoding(source: Source) -> Encoding | None:
    """Read all bytes once and say how they are to be read, None where the file is a packed one.

    IntakeError: it is no text. Files without a mark are UTF-8 where they can be, else Windows'
    western encoding; single damaged characters do not spoil a file.
    """
    return _encoding_of(source.chunks())


def _encoding_of(chunks: Iterable[bytes]) -> Encoding | None:
    found: Encoding | None = None
    counter = _Counter()
    for number, chunk in enumerate(chunks):
        if number == 0:
            if chunk.startswith(PACKED):
                return None
            found = _marked(chunk)
            counter.skip = found.begins if found else 0
            if found is None:
                _refuse_binary(chunk)
        if found is None or found.name == "utf-8":
            counter.add(chunk)
    if found is not None and found.name != "utf-8":
        return found
    return counter.verdict()


def decode(content: bytes) -> tuple[str, tuple[str, ...]]:
    """The text of a whole content and what is to be said of it; IntakeError if it is no text."""
    if content.startswith(PACKED):
        raise IntakeError("is a spreadsheet or another packed file; save the sheet as CSV first")
    encoding = _encoding_of([content])
    assert encoding is not None
    try:
        text = content[encoding.begins :].decode(
            encoding.name, "strict" if encoding.strict else "replace"
        )
    except UnicodeDecodeError:
        raise _damaged_text(encoding) from None
    return tidy(text), encoding.warnings


def _marked(chunk: bytes) -> Encoding | None:
    for signature, problem in _SIGNATURES:
        if chunk.startswith(signature):
            raise IntakeError(problem)
    for mark, name in _MARKS:
        if chunk.startswith(mark):
            return Encoding(name, len(mark), strict=name != "utf-8")
    return None


def _refuse_binary(sample: bytes) -> None:
    controls = len(sample) - len(sample.translate(None, _CONTROLS))
    if controls * 20 > len(sample):
        raise IntakeError("is no text file; save the sheet as CSV in UTF-8")


class _Counter:
    """Counts what in the bytes speaks for UTF-8 and what against it."""

    def __init__(self) -> None:
        self.skip = 0
        self._begun = False
        self._decoder = codecs.getincrementaldecoder("utf-8")("replace")
        self._lost = 0
        self._meant = 0
        self._beyond_ascii = 0
        self._undefined = 0

    def add(self, chunk: bytes) -> None:
        """Take in the next bytes."""
        if not self._begun:
            self._begun = True
            chunk = chunk[self.skip :]
        if chunk.isascii() and not self._decoder.getstate()[0]:
            return
        self._undefined += len(chunk) - len(chunk.translate(None, _UNDEFINED))
        self._meant += chunk.count(b"\xef\xbf\xbd")
        self._count(self._decoder.decode(chunk))

    def _count(self, text: str) -> None:
        self._lost += text.count("\ufffd")
        self._beyond_ascii += len(text) - len(text.encode("ascii", "ignore"))

    def verdict(self) -> Encoding:
        """The encoding, all bytes having been taken in."""
        self._count(self._decoder.decode(b"", final=True))
        if self._lost <= self._meant:
            return Encoding("utf-8", self.skip)
        # Far more letters that are good UTF-8 than not: it is UTF-8 with a few damaged places.
        if self._beyond_ascii - self._lost > self._lost:
            return Encoding("utf-8", self.skip, warnings=_damaged(self._lost))
        return Encoding("cp1252", self.skip, warnings=_damaged(self._undefined))


def _damaged(number: int) -> tuple[str, ...]:
    return (f"{count(number, 'damaged character')} stand as “\ufffd”",) if number else ()


def lines_of(source: Source, encoding: Encoding, told: Told | None = None) -> Iterator[str]:
    """The lines of a text without their ends, and without characters that are no text.

    IntakeError names the line that is longer than `LONGEST_LINE`, or says that bytes of UTF-16 or
    UTF-32 are damaged.
    """
    make = codecs.getincrementaldecoder(encoding.name)
    decoder = io.IncrementalNewlineDecoder(
        make("strict" if encoding.strict else "replace"), translate=True
    )
    number = 0
    rest = ""
    skip = encoding.begins
    try:
        for chunk in source.chunks(told):
            text = tidy(decoder.decode(chunk[skip:] if skip else chunk))
            skip = 0
            parts = (rest + text).split("\n")
            rest = parts.pop()
            yield from parts
            number += len(parts)
            if len(rest) > LONGEST_LINE:
                raise IntakeError(f"has more than {LONGEST_LINE:,} characters in line {number + 1}")
        rest += tidy(decoder.decode(b"", final=True))
    except UnicodeDecodeError:
        raise _damaged_text(encoding) from None
    if rest:
        yield rest


def _damaged_text(encoding: Encoding) -> IntakeError:
    return IntakeError(f"is damaged: it begins as {encoding.name.upper()} and does not go on so")
