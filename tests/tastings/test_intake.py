"""Tastings from files and pasted lines: what is read, what is refused, and what is said of it."""

from __future__ import annotations

import hashlib
import io
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cards.names import Resolution, WineNames
from cards.tables import load_table
from drills.errors import IntakeError
from drills.tastings.cells import LONGEST_FIELD, Row, delimited_rows, tidy
from drills.tastings.drafts import IntakeDraft, fingerprint
from drills.tastings.intake import read_intake
from tests.examples import examples

EXAMPLES = examples(100)
WINES = {"chablis": "chardonnay-chablis", "sancerre": "sauvignon-sancerre"}

Reading = Callable[..., IntakeDraft]


class FewNames:
    """Knows two wines, and that a Sauvignon could be the second of them."""

    def resolve(self, text: str) -> Resolution:
        wine = WINES.get(text.casefold())
        near = ("sauvignon-sancerre",) if "sauv" in text.casefold() and not wine else ()
        return Resolution(text, wine, near, "name" if wine else "unknown")


@pytest.fixture
def read(tmp_path: Path) -> Reading:
    """Write content to a file and read it."""

    def reading(
        content: str | bytes, name: str = "list.csv", encoding: str = "utf-8", **options: str
    ) -> IntakeDraft:
        file = tmp_path / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
        return read_intake(file, FewNames(), **options)  # type: ignore[arg-type]

    return reading


def pairs(draft: IntakeDraft) -> list[tuple[str, str]]:
    return [(pour.called.text, pour.was.text) for pour in draft.pours]


FULL = (
    "date,flight,called,was,first call,runner-up,note\n"
    '2025-05-03,Monday,Chablis,Sancerre,Sancerre,Sauvignon,"crisp, lemony"\n'
)


# A sound file


def test_every_column_is_read(read: Reading) -> None:
    draft = read(FULL)
    (pour,) = draft.pours
    assert (pour.row, pour.date, pour.flight, pour.position) == (2, date(2025, 5, 3), "Monday", 1)
    assert (pour.called.text, pour.called.wine) == ("Chablis", "chardonnay-chablis")
    assert (pour.was.text, pour.was.wine) == ("Sancerre", "sauvignon-sancerre")
    assert (pour.first.wine, pour.runner_up.wine) == ("sauvignon-sancerre", None)
    assert pour.note == "crisp, lemony"
    assert draft.source == "list.csv"
    assert draft.digest == hashlib.sha256(FULL.encode()).hexdigest()
    (waiting,) = draft.unresolved
    assert (waiting.row, waiting.column, waiting.text) == (2, "runner-up", "Sauvignon")
    assert waiting.suggestions == ("sauvignon-sancerre",)
    assert not draft.rejected
    assert not draft.warnings


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_delimiters_encodings_and_ends_of_lines(
    read: Reading, delimiter: str, encoding: str, newline: str
) -> None:
    rows = [
        ["Called", "Was", "Note"],
        ["Château Été", "Rosé", "crème"],
        ["Chablis", "Sancerre", ""],
    ]
    text = newline.join(delimiter.join(row) for row in rows) + newline
    draft = read(text, encoding=encoding)
    assert pairs(draft) == [("Château Été", "Rosé"), ("Chablis", "Sancerre")]
    assert [pour.note for pour in draft.pours] == ["crème", ""]


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be"])
def test_both_byte_orders(read: Reading, encoding: str) -> None:
    text = "\ufeffcalled,was\nChablis,Rosé\n"
    assert pairs(read(text, encoding=encoding)) == [("Chablis", "Rosé")]


@pytest.mark.parametrize(
    "heading",
    [
        "CALLED,WAS",
        " Called ,  was",
        "final_call,Reveal",
        "Final Call,REVEALED",
        "final-call,Wine",
        "verdict,vin",
        "Annoncé,Vin servi",
        "Ansage,Wein",
        "Letzte Ansage,Auflösung",
        "Chiamata,Vino",
        "Llamada,Vino servido",
        "Respuesta,Revelado",
        '"called","was"',
        "called,was,",
        "called,was,,,",
    ],
)
def test_headings_are_forgiven(read: Reading, heading: str) -> None:
    assert pairs(read(f"{heading}\nChablis,Sancerre\n")) == [("Chablis", "Sancerre")]


def test_columns_in_any_order(read: Reading) -> None:
    draft = read("Notiz;Aufgedeckt;Datum;Tipp\ngut;Sancerre;3.5.2025;Chablis\n")
    (pour,) = draft.pours
    assert (pour.called.text, pour.was.text, pour.note) == ("Chablis", "Sancerre", "gut")
    assert pour.date == date(2025, 5, 3)


def test_unknown_and_doubled_columns_are_named(read: Reading) -> None:
    draft = read("called,wine,reveal,score\nChablis,1,Sancerre,17\n")
    assert pairs(draft) == [("Chablis", "Sancerre")]
    assert len(draft.warnings) == 2
    assert any("“score”" in warning for warning in draft.warnings)
    assert any("“wine”" in warning and "“reveal”" in warning for warning in draft.warnings)


def test_headings_may_stand_below_a_title(read: Reading) -> None:
    draft = read("My tastings, spring\n\ncalled,was\nChablis,Sancerre\n")
    assert [pour.row for pour in draft.pours] == [4]


def test_the_spreadsheets_own_first_line_is_no_row(read: Reading) -> None:
    draft = read("sep=;\ncalled;was\nChablis;Sancerre\n")
    assert [pour.row for pour in draft.pours] == [2]


# Rows as a spreadsheet counts them


def test_empty_rows_are_passed_over_and_counted(read: Reading) -> None:
    draft = read("\ncalled,was\n\n,,\nChablis,Sancerre\n  , \nSancerre,Chablis")
    assert [pour.row for pour in draft.pours] == [5, 7]
    assert draft.rejected == ()


def test_a_cell_of_two_lines_is_one_row(read: Reading) -> None:
    draft = read('called,was,note\nChablis,Sancerre,"first\nsecond"\nSancerre,Chablis,\n')
    assert [pour.row for pour in draft.pours] == [2, 3]
    assert draft.pours[0].note == "first\nsecond"


def test_quotes_inside_cells(read: Reading) -> None:
    draft = read('called,was,note\n"Chablis ""Les Clos""", "Sancerre" ,6" of "mud"\n')
    assert pairs(draft) == [('Chablis "Les Clos"', "Sancerre")]
    assert draft.pours[0].note == '6" of "mud"'


def test_short_rows_are_filled_up(read: Reading) -> None:
    assert pairs(read("called,was,note,date\nChablis,Sancerre\n")) == [("Chablis", "Sancerre")]


def test_a_comma_without_quotes_is_refused_and_shifts_nothing(read: Reading) -> None:
    draft = read("called,was,note\nSauvignon Blanc, Marlborough,Sancerre,flinty\n")
    assert draft.pours == ()
    (one,) = draft.rejected
    assert one.row == 2
    assert "quotes" in one.reason


@pytest.mark.parametrize("nothing", ["", " ", "?", "-", "–", "n/a", "..."])
def test_no_reveal_no_pour(read: Reading, nothing: str) -> None:
    draft = read(f"called,Reveal\nChablis,{nothing}\nChablis,Sancerre\n")
    assert [pour.row for pour in draft.pours] == [3]
    (one,) = draft.rejected
    assert (one.row, one.column) == (2, "Reveal")


def test_no_call_no_pour(read: Reading) -> None:
    (one,) = read("called,was\n,Sancerre\n").rejected
    assert (one.row, one.column) == (2, "called")


def test_a_novel_is_no_name(read: Reading) -> None:
    (one,) = read(f"called,was\nChablis,{'x' * 501}\n").rejected
    assert (one.row, one.column) == (2, "was")


def test_names_that_do_not_resolve_are_kept_as_typed(read: Reading) -> None:
    draft = read("called,was\n  Sauvignon   Blanc ,Elsewhere\n")
    (pour,) = draft.pours
    assert (pour.called.text, pour.called.wine) == ("Sauvignon Blanc", None)
    assert [one.column for one in draft.unresolved] == ["called", "was"]


# Dates


def day_of(draft: IntakeDraft) -> list[date | None]:
    return [pour.date for pour in draft.pours]


def with_dates(*dates: str) -> str:
    return "date;called;was\n" + "".join(f"{day};Chablis;Sancerre\n" for day in dates)


@pytest.mark.parametrize(
    "written",
    [
        "2025-05-03",
        "2025/05/03",
        "2025.5.3",
        "20250503",
        "2025-05-03T19:30:00Z",
        "2025-05-03 19:30",
        "3.5.2025",
        "03.05.25",
        "3 May 2025",
        "May 3, 2025",
        "3rd of May 2025",
        "Sat 3 May 2025",
        "3-May-25",
        "3 mai 2025",
        "samedi 3 mai 2025",
        "3. Mai 2025",
        "3 maggio 2025",
        "3 de mayo de 2025",
    ],
)
def test_ways_to_write_a_date(read: Reading, written: str) -> None:
    assert day_of(read(with_dates(written))) == [date(2025, 5, 3)]


@pytest.mark.parametrize(
    ("written", "month"),
    [
        ("1er août 2024", 8),
        ("1 Dez 2024", 12),
        ("1 dic. 2024", 12),
        ("1 März 2024", 3),
        ("1 Jänner 2024", 1),
        ("1 luglio 2024", 7),
        ("1 juil. 2024", 7),
        ("1 set 2024", 9),
        ("1 ene 2024", 1),
        ("1 gen 2024", 1),
        ("1 févr. 2024", 2),
    ],
)
def test_months_of_five_languages(read: Reading, written: str, month: int) -> None:
    assert day_of(read(with_dates(written))) == [date(2024, month, 1)]


def test_one_clear_date_settles_the_column(read: Reading) -> None:
    assert day_of(read(with_dates("3/5/2025", "13/5/2025"))) == [
        date(2025, 5, 3),
        date(2025, 5, 13),
    ]
    assert day_of(read(with_dates("3/5/2025", "5/13/2025"))) == [
        date(2025, 3, 5),
        date(2025, 5, 13),
    ]


def test_dates_that_could_be_two_days_are_refused(read: Reading) -> None:
    draft = read(with_dates("3/5/2025", "6/6/2025"))
    assert day_of(draft) == [date(2025, 6, 6)]
    (one,) = draft.rejected
    assert (one.row, one.column) == (2, "date")
    assert "2025-05-03" in one.reason
    assert "2025-03-05" in one.reason


@pytest.mark.parametrize(("order", "day"), [("dmy", date(2025, 5, 3)), ("mdy", date(2025, 3, 5))])
def test_the_order_of_dates_can_be_given(read: Reading, order: str, day: date) -> None:
    assert day_of(read(with_dates("3/5/2025"), date_order=order)) == [day]


def test_a_column_in_both_orders_settles_nothing(read: Reading) -> None:
    draft = read(with_dates("13/5/2025", "5/13/2025", "3/5/2025"))
    assert day_of(draft) == [date(2025, 5, 13), date(2025, 5, 13)]
    assert [one.row for one in draft.rejected] == [4]


@pytest.mark.parametrize(
    "written",
    [
        "31.2.2025",
        "2025-13-01",
        "0/0/2025",
        "yesterday",
        "3/5",
        "May 2025",
        "25-05-03",
        "3 Smarch 2025",
        "99999999",
        "3.5.1212",
        "2025",
        "3 May 2025 or so",
    ],
)
def test_what_is_no_date_is_refused(read: Reading, written: str) -> None:
    draft = read(with_dates(written, "2025-05-03"))
    assert day_of(draft) == [date(2025, 5, 3)]
    assert [(one.row, one.column) for one in draft.rejected] == [(2, "date")]


def test_serial_numbers_of_a_spreadsheet(read: Reading) -> None:
    assert day_of(read(with_dates("45780", "45780.8125", ""))) == [
        date(2025, 5, 3),
        date(2025, 5, 3),
        None,
    ]
    # Among written dates a bare number is more likely a slip.
    assert [one.row for one in read(with_dates("45780", "3.5.2025")).rejected] == [2]


# Places in the flight


def test_places_follow_the_rows_of_each_flight(read: Reading) -> None:
    draft = read("flight,called,was\nA,x,y\nB,x,y\nA,p,q\nB,p,q\nA,r,s\n")
    assert [(p.flight, p.position) for p in draft.pours] == [
        ("A", 1),
        ("B", 1),
        ("A", 2),
        ("B", 2),
        ("A", 3),
    ]


def test_places_may_be_given(read: Reading) -> None:
    draft = read("Glass #,called,was\n3,x,y\n1,p,q\n")
    assert [pour.position for pour in draft.pours] == [1, 2]  # the heading is not known
    draft = read("#,called,was\n3,x,y\nWine 1,p,q\n2.0,r,s\nleft,t,u\n,v,w\n")
    assert [pour.position for pour in draft.pours] == [3, 1, 2, 4, 5]
    assert any("1 place" in warning for warning in draft.warnings)


# Fingerprints


def test_the_same_content_has_the_same_fingerprint(read: Reading) -> None:
    plain = read("date,called,was\n2025-05-03,Chablis,Sancerre\n")
    other = read("WAS;Called;Date\nsancerre;CHABLIS;3.5.2025\n", name="b.csv", encoding="utf-16")
    assert [p.fingerprint for p in plain.pours] == [p.fingerprint for p in other.pours]


def test_equal_rows_count_as_often_as_they_stand_there(read: Reading) -> None:
    text = "called,was\n" + "Chablis,Sancerre\n" * 3
    once, again = read(text), read(text)
    prints = [pour.fingerprint for pour in once.pours]
    assert len(set(prints)) == 3
    assert prints == [pour.fingerprint for pour in again.pours]


def test_every_field_counts(read: Reading) -> None:
    head = "date;flight;called;was;first;runner-up;note\n"
    rows = [
        "2025-05-03;A;x;y;;;",
        "2025-05-04;A;x;y;;;",
        "2025-05-03;B;x;y;;;",
        "2025-05-03;A;y;x;;;",
        "2025-05-03;A;x;y;z;;",
        "2025-05-03;A;x;y;;z;",
        "2025-05-03;A;x;y;;;z",
    ]
    prints = {pour.fingerprint for pour in read(head + "\n".join(rows)).pours}
    assert len(prints) == len(rows)
    assert fingerprint(("a", "b"), 1) != fingerprint(("a", "b1"), 1)
    assert fingerprint(("a,b",), 1) != fingerprint(("a", "b"), 1)


# Files that cannot be read as such


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


# Pasted lines


def typed(text: str, **options: str) -> IntakeDraft:
    return read_intake(io.StringIO(text), FewNames(), **options)  # type: ignore[arg-type]


@pytest.mark.parametrize("arrow", [">", " > ", "->", " → ", "=>", "-->", "  =>  "])
def test_arrows(arrow: str) -> None:
    assert pairs(typed(f"Chablis{arrow}Sancerre")) == [("Chablis", "Sancerre")]


def test_lines_with_dates_and_notes() -> None:
    draft = typed(
        "# spring\n\n2025-05-03 Chablis > Sancerre # flinty\n3 May 2025; Sancerre > Chablis\n"
        "  Côte-Rôtie -> Chablis #\n"
    )
    assert [(p.row, p.date, p.note) for p in draft.pours] == [
        (3, date(2025, 5, 3), "flinty"),
        (4, date(2025, 5, 3), ""),
        (5, None, ""),
    ]
    assert draft.pours[2].called.text == "Côte-Rôtie"
    assert draft.source == "typed"


def test_lines_that_are_none_say_so() -> None:
    draft = typed(
        "Chablis > Sancerre\nChablis\na > b > c\nnonsense; a > b\n> Sancerre\nChablis >\n"
    )
    assert [pour.row for pour in draft.pours] == [1]
    assert [(one.row, one.column) for one in draft.rejected] == [
        (2, "line"),
        (3, "line"),
        (4, "date"),
        (5, "called"),
        (6, "was"),
    ]


def test_lines_may_have_a_heading_and_tables_may_be_pasted() -> None:
    assert pairs(typed("called > was\nChablis > Sancerre")) == [("Chablis", "Sancerre")]
    assert pairs(typed("called\twas\nChablis\tSancerre")) == [("Chablis", "Sancerre")]


def test_a_text_file_holds_lines_or_a_table(read: Reading) -> None:
    assert pairs(read("Chablis > Sancerre\n", name="a.txt")) == [("Chablis", "Sancerre")]
    assert pairs(read("called;was\nChablis;Sancerre\n", name="b.txt")) == [("Chablis", "Sancerre")]


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing yet\n", "Chablis\nSancerre\n"])
def test_nothing_typed_is_an_error(text: str) -> None:
    with pytest.raises(IntakeError, match="what was typed"):
        typed(text)


def test_a_stream_of_bytes_is_decoded_as_a_file_is() -> None:
    raw = io.TextIOWrapper(io.BytesIO("Rosé > Chablis\n".encode("cp1252")), encoding="utf-8")
    assert pairs(read_intake(raw, FewNames())) == [("Rosé", "Chablis")]


def test_lines_and_tables_agree_on_fingerprints(read: Reading) -> None:
    (line,) = typed("2025-05-03 Chablis > Sancerre # flinty").pours
    (row,) = read("called,was,date,note\nChablis,Sancerre,3.5.2025,flinty\n").pours
    assert line.fingerprint == row.fingerprint


# Names of the shipped table


def test_shipped_names_resolve_in_a_file(tmp_path: Path) -> None:
    file = tmp_path / "list.csv"
    file.write_text(
        'called;was\nNZ SB;"Sauvignon Blanc, Loire"\nCab;Left Bank Bordeaux 2015\n', "utf-8"
    )
    draft = read_intake(file, WineNames(load_table()))
    first, second = draft.pours
    assert (first.called.wine, first.was.wine) == ("sauvignon-marlborough", "sauvignon-sancerre")
    assert (second.called.wine, second.was.wine) == (None, "cabernet-left-bank")
    (waiting,) = draft.unresolved
    assert waiting.text == "Cab"
    assert "cabernet-left-bank" in waiting.suggestions


# Anything at all

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
