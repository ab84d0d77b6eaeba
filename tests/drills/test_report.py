"""The page to print: one page, no script, nothing from elsewhere, every text escaped."""

from __future__ import annotations

import re
import shutil
import struct
import subprocess
import xml.etree.ElementTree as ET
from datetime import date, timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest

from cards.tables import Table
from drills.cli import main
from drills.report import report_page
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.progress import progress, set_plan
from drills.service.tasting import log_flight
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Note, Verdict
from tests.desks import TODAY, Watch, answer

PAIR = ("sauvignon-marlborough", "sauvignon-sancerre")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def lived(desk: Desk, watch: Watch) -> Desk:
    """A desk with answers, confusions, notes and an exam to come."""
    session = DrillSession(desk, 1200)
    for number in range(24):
        watch.go_on(9)
        answer(session, right=number % 4 != 0)
    session.end()
    was, called = PAIR
    pours = tuple(
        FullPour(
            number + 1,
            note=Note({"alcohol": 13.0 + number / 2}),
            first=Verdict(was, was),
            final=Verdict(called, called),
            reveal=Named(was, was),
            label_alcohol=13.0,
        )
        for number in range(3)
    )
    log_flight(desk, FullFlight("<b>Tuesday</b>", date.fromordinal(TODAY), pours))
    set_plan(desk, minutes=12, exam=date.fromordinal(TODAY) + timedelta(days=40))
    return desk


class Elements(HTMLParser):
    """Collects elements and what they refer to."""

    def __init__(self) -> None:
        super().__init__()
        self.names: list[str] = []
        self.attributes: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]


def test_the_page_has_no_script_and_nothing_from_elsewhere(desk: Desk, watch: Watch) -> None:
    page = report_page(desk, progress(lived(desk, watch)))
    found = Elements()
    found.feed(page)
    assert found.names.count("svg") == 7
    assert {"script", "link", "img", "iframe", "object", "embed", "use", "image"}.isdisjoint(
        found.names
    )
    names = {name for name, _ in found.attributes}
    assert {"src", "href", "xlink:href", "onload", "onclick", "srcset"}.isdisjoint(names)
    assert "url(" not in page
    assert "@import" not in page
    assert "http:" not in page
    assert "https:" not in page
    assert "default-src 'none'" in page
    assert "does not make driving safe" in page


def test_every_picture_is_well_formed_and_holds_its_numbers(desk: Desk, watch: Watch) -> None:
    found = progress(lived(desk, watch))
    page = report_page(desk, found)
    pictures = [ET.fromstring(svg) for svg in re.findall(r"<svg.*?</svg>", page, re.DOTALL)]
    by_label = {picture.get("aria-label"): picture for picture in pictures}
    assert None not in by_label
    points = len(found.forecast.points)
    assert len(by_label["Forecast of recall"].findall("circle")) == 2 * points
    assert len(by_label["Calibration of sureness"].findall("circle")) == len(
        found.sureness[0].words
    )
    said = {text.text for text in by_label["Confusions"].findall("text")}
    assert "3" in said
    assert {desk.short(wine) for wine in PAIR} <= said
    assert "+0.50" in {text.text for text in by_label["Bias of calls"].findall("text")}
    assert "lost by changing 3" in {
        text.text for text in by_label["First call against final call"].findall("text")
    }
    for picture in pictures:
        for element in picture.iter():
            for value in element.attrib.values():
                assert "nan" not in value
                assert "inf" not in value


def test_what_a_taster_may_have_named_is_escaped(home: Path, watch: Watch, table: Table) -> None:
    assert table.profiles
    name = '<img src=x>"&amp;'
    shipped = Path(__file__).parents[2] / "cards" / "table" / "white" / "chardonnay-chablis.toml"
    own = home / "table" / "white" / "own.toml"
    own.parent.mkdir(parents=True)
    text = shipped.read_text(encoding="utf-8").replace('"Chablis"', f"'{name}'")
    own.write_text(text, encoding="utf-8")
    desk = Desk(clock=watch.clock)
    was, called = "own", "sauvignon-sancerre"
    assert desk.short(was) == name
    pours = (FullPour(1, final=Verdict(called, called), reveal=Named(was, was)),)
    log_flight(desk, FullFlight("x", date.fromordinal(TODAY), pours))
    page = report_page(desk, progress(desk))
    desk.close()
    assert "<img" not in page
    assert "&lt;img src=x&gt;&quot;&amp;amp;" in page


def test_an_empty_database_gives_a_page_that_says_what_is_missing(desk: Desk) -> None:
    found = progress(desk)
    page = report_page(desk, found)
    assert page.count("<svg") == 1
    for words in found.missing:
        assert words.replace("'", "&#x27;") in page


def test_the_command_writes_the_page_or_says_why_not(
    desk: Desk, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert desk.taster
    file = tmp_path / "report.html"
    assert main(["report", str(file)]) == 0
    assert capsys.readouterr().out == f"written to {file}\n"
    assert file.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert main(["report", str(tmp_path / "nowhere" / "report.html")]) == 1
    assert "cannot be written" in capsys.readouterr().err


@pytest.mark.skipif(
    CHROMIUM is None,
    reason="NOT CHECKED: no Chromium is installed, so the report was not opened in a browser",
)
def test_a_browser_shows_the_page_and_prints_it_on_one_sheet(
    desk: Desk, watch: Watch, tmp_path: Path
) -> None:
    assert CHROMIUM is not None
    page, picture, sheet = (tmp_path / name for name in ("r.html", "r.png", "r.pdf"))
    page.write_text(report_page(desk, progress(lived(desk, watch))), encoding="utf-8")

    def browse(*arguments: str) -> str:
        folder = tmp_path / f"profile{len(list(tmp_path.iterdir()))}"
        done = subprocess.run(
            [CHROMIUM, *FLAGS, f"--user-data-dir={folder}", *arguments, page.as_uri()],
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        return done.stdout

    # The page as the browser has understood it: all pictures are there, none was cut off.
    understood = browse("--dump-dom")
    assert understood.count("<svg") == understood.count("</svg>") == 7
    browse("--window-size=900,1200", f"--screenshot={picture}")
    data = picture.read_bytes()
    assert struct.unpack(">II", data[16:24]) == (900, 1200)
    # A blank page compresses to a few thousand bytes.
    assert len(data) > 20_000
    browse("--no-pdf-header-footer", f"--print-to-pdf={sheet}")
    assert re.findall(rb"/Count (\d+)", sheet.read_bytes()) == [b"1"]
