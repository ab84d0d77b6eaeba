"""`crosspour profile`: all that the screen of a profile shows, in lines and as JSON."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drills.service.desk import Desk
from drills.service.profile import ProfileView, profile_view
from tests.cli.running import ROOT
from tests.cli.saying import printed_json, refused, said

pytestmark = pytest.mark.usefixtures("home")

WINE = "viognier-condrieu"


@pytest.fixture
def view(desk: Desk) -> ProfileView:
    return profile_view(desk, WINE)


def unwrapped(out: str) -> str:
    """What was printed as one line, however it was broken."""
    return " ".join(out.split())


def test_every_fact_of_the_screen_is_a_line(
    capsys: pytest.CaptureFixture[str], view: ProfileView
) -> None:
    out = said(capsys, "profile", "Condrieu")
    whole = unwrapped(out)
    assert whole.startswith(f"{view.name} {view.kind} {view.telling}")
    facts = [fact for section in view.sections for fact in section.facts]
    assert len(facts) > 20
    for fact in facts:
        assert f"{fact.label}: {fact.words}" in whole
        assert fact.because in whole
        for note in fact.notes:
            assert note.because in whole
    for near in view.laterals:
        assert f"  {near.short}: {near.separation_db:.1f} db\n" in out
    assert "bitterness: no bitterness, up to a touch of bitterness (low to med-)\n" in out
    assert "[" not in out


def test_with_sources_every_fact_and_descriptor_names_what_it_rests_on(
    capsys: pytest.CaptureFixture[str], view: ProfileView
) -> None:
    whole = unwrapped(said(capsys, "profile", "Condrieu", "--sources"))
    for section in view.sections:
        for fact in section.facts:
            for note in fact.notes:
                assert re.search(
                    rf"{re.escape(fact.label)}: {re.escape(note.name)}(, \w+)? \[{note.basis}\]",
                    whole,
                ), note
            if not fact.notes:
                assert re.search(
                    rf"{re.escape(f'{fact.label}: {fact.words}')}( \([^)]+\))? \[{fact.basis}\]",
                    whole,
                ), fact
    assert len(view.sources) > 1
    for basis, words in view.sources.items():
        assert f"{basis}: {words}" in whole


def test_no_line_of_any_wine_is_wider_than_eighty_columns(
    capsys: pytest.CaptureFixture[str], desk: Desk
) -> None:
    for wine in list(desk.table.profiles)[::12]:
        for more in ([], ["--sources"]):
            for line in said(capsys, "profile", wine, *more).splitlines():
                assert len(line) <= 80, line


def test_the_json_has_exactly_the_promised_keys(
    capsys: pytest.CaptureFixture[str], view: ProfileView
) -> None:
    found = printed_json(capsys, "profile", "Condrieu")
    assert list(found) == [
        *("wine", "name", "short", "kind", "telling", "sections", "laterals", "sources")
    ]
    assert found["wine"] == WINE
    assert [one["section"] for one in found["sections"]] == ["sight", "nose", "palate", "origin"]
    facts = {fact["fact"]: fact for one in found["sections"] for fact in one["facts"]}
    for fact in facts.values():
        assert list(fact) == ["fact", "words", "low", "high", "basis", "because", "descriptors"]
        for note in fact["descriptors"]:
            assert list(note) == ["name", "typical", "basis", "because"]
            assert note["basis"] in found["sources"]
    assert (facts["acid"]["low"], facts["acid"]["high"]) == ("low", "med-")
    assert facts["acid"]["basis"] in found["sources"]
    assert facts["hue"]["low"] is None
    assert {note["typical"] for note in facts["not met"]["descriptors"]} == {"never"}
    for near in found["laterals"]:
        assert list(near) == ["wine", "separation_db", "named"]
    assert found["sources"] == dict(view.sources)


def test_the_readme_tells_the_shape_of_the_json(capsys: pytest.CaptureFixture[str]) -> None:
    found = printed_json(capsys, "profile", "Condrieu")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    told = re.search(r"^- `profile`: `(.*?)`", readme, re.MULTILINE | re.DOTALL)
    assert told is not None
    fact = found["sections"][0]["facts"][0]
    note = found["sections"][1]["facts"][0]["descriptors"][0]
    for key in (*found, *found["sections"][0], *fact, *note, *found["laterals"][0]):
        assert re.search(rf"\b{key}\b", told[1]), key


@pytest.mark.parametrize("more", [[], ["--sources"], ["--json"]])
def test_a_name_that_is_none_or_several_is_one_line_with_suggestions(
    capsys: pytest.CaptureFixture[str], more: list[str]
) -> None:
    line = refused(capsys, "profile", "Riesling", *more)
    assert line.startswith("“Riesling” could be several wines; did you mean riesling-")
    assert refused(capsys, "profile", "Qwxz", *more) == "“Qwxz” is no wine of the table"


def test_a_taster_s_own_facts_and_signs_that_steer_a_terminal_are_shown_as_what_they_are(
    capsys: pytest.CaptureFixture[str], home: Path
) -> None:
    own = home / "table" / "white"
    own.mkdir(parents=True)
    (own / f"{WINE}.toml").write_text(
        'telling = "apricot \\u001b[2J[b]and oil[/b]"\n', encoding="utf-8"
    )
    out = said(capsys, "profile", WINE)
    assert "apricot \ufffd[2J[b]and oil[/b]" in out
    assert "\x1b" not in out
