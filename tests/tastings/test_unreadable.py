"""Files that cannot be read as such, and those that can in spite of a little damage."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from drills.errors import IntakeError
from drills.tastings.cells import LONGEST_FIELD
from drills.tastings.intake import read_intake
from tests.tastings.reading_lists import FewNames, Reading, pairs


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf", "empty"),
        (b"\n \r\n\t\n", "empty"),
        (b"PK\x03\x04\x14\x00\x06\x00", "damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1", "XLS"),
        (b"%PDF-1.7\n", "PDF"),
        (b"\x89PNG\r\n\x1a\n", "picture"),
        (b"\x1f\x8b\x08\x00", "compressed"),
        (bytes(range(256)) * 4, "no text"),
        ("called,was\nChablis,Sancerre\n".encode("utf-16-le"), "no text"),
        ("\ufeffcalled,was\nChablis".encode("utf-16-le")[:-1], "damaged"),
        (b'called,was\nChablis,"Sanc', "row 2"),
        (b'called,was\nChablis,Sancerre\n"Chablis', "row 3"),
        (b'"called,was\nChablis,Sancerre\n', "row 1"),
        (b"name,place\nChablis,France\n", "“name”, “place”"),
        (b"called,colour\nChablis,white\n", "“was”"),
        (b"was,colour\nChablis,white\n", "“called”"),
        (b"Chablis,Sancerre\n", "“called”"),
        (b"Chablis > Sancerre\n", "“called”"),
        (b"hello\n", "“hello”"),
        (b"{}", "“{}”"),
        (b'called,was\nChablis,"' + b"x" * (LONGEST_FIELD + 1) + b'"\n', "row 2"),
        (b"called,was\nChablis," + b"x" * (LONGEST_FIELD + 1) + b"\n", "row 2"),
    ],
)
def test_one_error_for_a_file_that_cannot_be_read(read: Reading, content: bytes, says: str) -> None:
    with pytest.raises(IntakeError) as caught:
        read(content)
    assert says in str(caught.value)
    assert "list.csv" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_missing_files_and_folders(tmp_path: Path) -> None:
    with pytest.raises(IntakeError, match="there is no file"):
        read_intake(tmp_path / "gone.csv", FewNames())
    with pytest.raises(IntakeError, match="folder"):
        read_intake(tmp_path, FewNames())
    with pytest.raises(IntakeError):
        read_intake(Path("bad\x00name.csv"), FewNames())


@pytest.mark.skipif(sys.platform == "win32", reason="no such files there")
def test_endless_files_are_not_begun() -> None:
    with pytest.raises(IntakeError, match="no ordinary file"):
        read_intake(Path("/dev/zero"), FewNames())


def test_a_cell_may_be_nearly_a_million_characters(read: Reading) -> None:
    draft = read(f'called,was,note\nChablis,Sancerre,"{"x" * (LONGEST_FIELD - 1)}"\n')
    assert len(draft.pours[0].note) == LONGEST_FIELD - 1


def test_stray_control_characters_are_taken_out(read: Reading) -> None:
    draft = read("called,was,note\nCha\x00blis,\u202eSancerre\u200b,bell\x07 and\x0btab\n")
    assert pairs(draft) == [("Chablis", "Sancerre")]
    assert draft.pours[0].note == "bell and tab"


def test_a_few_damaged_letters_do_not_spoil_a_file(read: Reading) -> None:
    good = "called,was\n" + "Rosé,Château\n" * 20
    draft = read(good.encode() + b"Ros\xe9,Sancerre\n")
    assert draft.pours[0].was.text == "Château"
    assert draft.pours[-1].called.text == "Ros\ufffd"
    assert any("damaged" in warning for warning in draft.warnings)


def test_headings_alone_hold_no_pours(read: Reading) -> None:
    assert read("called,was\n").pours == ()
