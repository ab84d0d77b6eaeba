"""Whatever stands in a file or is pasted is read or refused in words, and no row is lost."""

from __future__ import annotations

import io
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drills.errors import IntakeError
from drills.tastings.cells import Row, delimited_rows, tidy
from drills.tastings.drafts import IntakeDraft
from drills.tastings.intake import read_intake
from tests.examples import examples
from tests.tastings.reading_lists import FewNames

EXAMPLES = examples(100)
CELLS = st.text(
    st.one_of(st.sampled_from(' ,;\t|"\n\r>#'), st.characters(codec="utf-8")), max_size=12
)


def lines_in(text: str) -> list[str]:
    lines = text.split("\n")
    return lines if lines[-1] else lines[:-1]


def rows_of(file: Path, delimiter: str) -> list[Row]:
    text = tidy(file.read_bytes().decode("utf-8"))
    return list(delimited_rows(lines_in(text), delimiter))


def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"'


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    table=st.lists(st.lists(CELLS, min_size=1, max_size=5), max_size=6),
    delimiter=st.sampled_from(",;\t|"),
)
def test_quoted_tables_come_back_as_they_were(table: list[list[str]], delimiter: str) -> None:
    text = "".join(delimiter.join(map(_quoted, row)) + "\n" for row in table)
    read = [list(row.cells) for row in delimited_rows(lines_in(text), delimiter)]
    assert read == table


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(content=st.one_of(st.binary(max_size=300), st.text(max_size=200).map(str.encode)))
def test_random_bytes_are_read_or_refused(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "random.bin"
    for start in (b"", b"called,was\n", "\ufeffcalled;was\n".encode("utf-16")):
        file.write_bytes(start + content)
        _read_or_refuse(file)


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    rows=st.lists(st.lists(CELLS, max_size=8), max_size=8),
    heading=st.permutations(["date", "flight", "called", "was", "first", "second", "pour", "note"]),
    delimiter=st.sampled_from(",;\t|"),
)
def test_random_tables_lose_no_row(
    tmp_path: Path, rows: list[list[str]], heading: list[str], delimiter: str
) -> None:
    file = tmp_path / "random.csv"
    lines = [delimiter.join(heading), *(delimiter.join(map(_quoted, row)) for row in rows)]
    file.write_bytes("\n".join(lines).encode("utf-8", "replace"))
    draft = _read_or_refuse(file)
    if draft is None:
        return
    numbers = [pour.row for pour in draft.pours] + [one.row for one in draft.rejected]
    assert len(numbers) == len(set(numbers))
    filled = [
        number
        for number, row in enumerate(rows_of(file, delimiter), 1)
        if number > 1 and any(str(cell).split() for cell in row.cells)
    ]
    assert sorted(numbers) == filled


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(text=st.text(st.one_of(st.sampled_from(" >-;#\n25/."), st.characters()), max_size=80))
def test_random_lines_are_read_or_refused(text: str) -> None:
    _read_or_refuse(io.StringIO(text))


def _read_or_refuse(source: Path | io.StringIO) -> IntakeDraft | None:
    refusal = ""
    draft = None
    try:
        draft = read_intake(source, FewNames())
    except IntakeError as error:
        refusal = str(error)
    if draft is None:
        assert refusal
        assert refusal.isprintable()
        return None
    prints = [pour.fingerprint for pour in draft.pours]
    assert len(prints) == len(set(prints))
    for pour in draft.pours:
        assert pour.called.text
        assert pour.was.text
        assert pour.position >= 1
        (pour.called.text + pour.note).encode("utf-8")
    for one in draft.rejected:
        assert one.reason
    return draft
