"""Wines in the taster's own editor: nothing typed is lost, nothing unsound is laid on the table."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from cards.checking import check_folders
from cards.facts import facts_of
from cards.profiles import Profile
from cards.tables import load_table
from drills import cli
from drills.commands import asking
from drills.own_files import fact_line, new_wine_text, offered_lines, parsed, tidied, with_offers

WINE = "sauvignon-sancerre"
SHELF = f"white/{WINE}.toml"
Edit = Callable[..., Path]


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The taster's folder of everything; no editor is set and nobody sits at a terminal."""
    monkeypatch.setenv("CROSSPOUR_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("VISUAL", raising=False)
    monkeypatch.delenv("EDITOR", raising=False)
    monkeypatch.setattr(asking, "has_terminal", lambda: False)
    return tmp_path / "home"


@pytest.fixture
def editor(place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Edit:
    """Sit at a terminal with an editor that replaces lines; each opening makes the next change.

    A change is a list of (old line's beginning, new line), or an exit code.
    """

    def sit(
        *changes: list[tuple[str, str]] | int, answers: str = "", variable: str = "EDITOR"
    ) -> Path:
        assert not place.exists() or place.is_dir()
        script, opened = tmp_path / "an editor.py", tmp_path / "opened"
        script.write_text(
            "import sys\nfrom pathlib import Path\n"
            f"changes = {list(changes)!r}\nopened = Path({str(opened)!r})\n"
            "number = len(opened.read_text()) if opened.exists() else 0\n"
            "opened.write_text('x' * (number + 1))\n"
            "change = changes[number]\nfile = Path(sys.argv[1])\n"
            "if isinstance(change, int):\n    sys.exit(change)\n"
            "lines = file.read_text(encoding='utf-8').splitlines()\n"
            "for old, new in change:\n"
            "    at = next(n for n, line in enumerate(lines) if line.startswith(old))\n"
            "    lines[at] = new\n"
            "if change:\n    file.write_text('\\n'.join(lines) + '\\n', encoding='utf-8')\n",
            encoding="utf-8",
        )
        monkeypatch.setenv(variable, f'"{sys.executable}" "{script}"')
        monkeypatch.setattr(asking, "has_terminal", lambda: True)
        monkeypatch.setattr("sys.stdin", io.StringIO(answers))
        return opened

    return sit


def own_table(place: Path) -> dict[str, Profile]:
    return dict(load_table(place / "table").profiles)


def drafts(place: Path) -> list[Path]:
    return sorted((place / "drafts").rglob("*.toml"))


# ---- changing a wine


def test_taking_the_sign_away_overrides_a_fact(
    place: Path, editor: Edit, capsys: pytest.CaptureFixture[str]
) -> None:
    editor(
        [("# acid = ", 'acid = "low"  # by my glass'), ("# lemon = ", "# lemon? I never find it")]
    )
    assert cli.main(["table", "edit", "Sancerre"]) == 0
    file = place / "table" / SHELF
    assert f"kept in {file}" in capsys.readouterr().out
    text = file.read_text(encoding="utf-8")
    assert parsed(text, file) == {"structure": {"acid": "low"}, "descriptors": {}}
    # The taster's own comments stay, the offers that were left go.
    assert text.splitlines() == [
        "[structure]",
        'acid = "low"  # by my glass',
        "",
        "[descriptors]",
        "# lemon? I never find it",
    ]
    assert own_table(place)[WINE].basis_of("acid") == "own"
    assert drafts(place) == []


def test_visual_comes_before_editor(
    place: Path, editor: Edit, monkeypatch: pytest.MonkeyPatch
) -> None:
    editor([("# acid = ", 'acid = "low"')], variable="VISUAL")
    monkeypatch.setenv("EDITOR", "false")
    assert cli.main(["table", "edit", WINE]) == 0
    assert own_table(place)[WINE].structure["acid"].high == 0


def test_what_is_wrong_is_told_with_its_line_and_edited_again(
    place: Path, editor: Edit, capsys: pytest.CaptureFixture[str]
) -> None:
    opened = editor([("# acid = ", 'acid = "hihg"')], [("acid = ", 'acid = "high"')], answers="y\n")
    assert cli.main(["table", "edit", WINE]) == 0
    assert len(opened.read_text()) == 2
    said = capsys.readouterr()
    (problem,) = said.err.splitlines()
    draft = place / "drafts" / SHELF
    assert problem.startswith(f"{draft}, line ")
    assert "structure.acid: “hihg” is no level" in problem
    assert "edit again? (y/n)" in said.out
    assert str(own_table(place)[WINE].structure["acid"]) == "high"


@pytest.mark.parametrize("answers", ["n\n", "", "no\n"])
def test_a_draft_that_is_left_wrong_is_never_lost(
    place: Path, editor: Edit, capsys: pytest.CaptureFixture[str], answers: str
) -> None:
    editor([("# acid = ", 'acid = "hihg" # an evening\'s work')], answers=answers)
    assert cli.main(["table", "edit", WINE]) == 1
    (draft,) = drafts(place)
    assert str(draft) in capsys.readouterr().out
    assert not (place / "table" / SHELF).exists()
    assert "an evening's work" in draft.read_text(encoding="utf-8")
    editor([], [("acid = ", 'acid = "high" # an evening\'s work')], answers="y\n")
    (draft.parents[2].parent / "opened").unlink(missing_ok=True)
    assert cli.main(["table", "edit", WINE]) == 0
    assert "going on with the draft" in capsys.readouterr().out
    assert "an evening's work" in (place / "table" / SHELF).read_text(encoding="utf-8")
    assert drafts(place) == []


def test_no_toml_at_all_is_told_with_its_line_and_kept(
    place: Path, editor: Edit, capsys: pytest.CaptureFixture[str]
) -> None:
    editor([("# acid = ", "acid = high")], answers="n\n")
    assert cli.main(["table", "edit", WINE]) == 1
    (draft,) = drafts(place)
    lines = draft.read_text(encoding="utf-8").splitlines()
    line = lines.index("acid = high") + 1
    assert f"{draft}, line {line}: is no valid TOML" in capsys.readouterr().err


def test_a_contradiction_between_facts_is_told_before_it_is_laid_on_the_table(
    place: Path, editor: Edit, capsys: pytest.CaptureFixture[str]
) -> None:
    editor([("# class = ", 'class = "sweet"')], answers="n\n")
    assert cli.main(["table", "edit", WINE]) == 1
    assert "sugar.class: sugar: " in capsys.readouterr().err
    assert not (place / "table").exists() or not list((place / "table").rglob("*.toml"))


def test_an_editor_that_fails_or_changes_nothing_changes_nothing(
    place: Path, editor: Edit, capsys: pytest.CaptureFixture[str]
) -> None:
    editor([], 3)
    assert cli.main(["table", "edit", WINE]) == 0
    assert "nothing was changed" in capsys.readouterr().out
    assert cli.main(["table", "edit", WINE]) == 1
    assert "the editor ended with 3" in capsys.readouterr().out
    assert not (place / "table" / SHELF).exists()


def test_an_editor_that_is_not_there_is_said(
    place: Path, editor: Edit, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    editor()
    for command in ("no-such-editor-anywhere", "'unclosed"):
        monkeypatch.setenv("EDITOR", command)
        assert cli.main(["table", "edit", WINE]) == 1
        assert f"the editor “{command}” cannot be started" in capsys.readouterr().err
    assert drafts(place)


def test_a_second_edit_shows_what_stands_and_offers_the_rest(place: Path, editor: Edit) -> None:
    opened = editor(
        [("# acid = ", 'acid = "low" # one')],
        [("acid = ", 'acid = "med" # two'), ("# body = ", 'body = "med"')],
    )
    assert cli.main(["table", "edit", WINE]) == 0
    assert cli.main(["table", "edit", WINE]) == 0
    assert len(opened.read_text()) == 2
    text = (place / "table" / SHELF).read_text(encoding="utf-8")
    assert text.splitlines() == ["[structure]", 'acid = "med" # two', 'body = "med"']
    before = (place / "table" / f"{SHELF}.before").read_text(encoding="utf-8")
    assert before.splitlines() == ["[structure]", 'acid = "low" # one']


def test_a_broken_own_file_can_be_opened_and_mended(
    place: Path, editor: Edit, capsys: pytest.CaptureFixture[str]
) -> None:
    file = place / "table" / SHELF
    file.parent.mkdir(parents=True)
    file.write_text('[structure]\nacid = "low\n', encoding="utf-8")
    assert cli.main(["weak"]) == 1
    assert f"{file}, line 2" in capsys.readouterr().err
    editor([("acid = ", 'acid = "low"')])
    assert cli.main(["table", "edit", WINE]) == 0
    assert own_table(place)[WINE].structure["acid"].high == 0


def test_an_unknown_wine_is_said(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["table", "edit", "Zlatibor Prosecco Reserve"]) == 1
    assert "no wine of the table" in capsys.readouterr().err
    assert drafts(place) == []


def test_a_broken_own_file_is_told_with_its_line_before_the_screens_open(
    place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(asking, "has_terminal", lambda: True)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("LINES", "30")
    file = place / "table" / SHELF
    file.parent.mkdir(parents=True)
    for text, line, said in (
        ("# mine\n[structure]\nacid = high\n", 3, "is no valid TOML"),
        ('# mine\n[structure]\nacid = "hihg"\n', 3, "structure.acid: “hihg” is no level"),
        ('[descriptors]\nlime = "never"\nlemmon = "common"\n', 3, "descriptors.lemmon"),
    ):
        file.write_text(text, encoding="utf-8")
        for command in ([], ["drill"]):
            assert cli.main(command) == 1
            told = capsys.readouterr()
            assert told.out == ""
            assert told.err.startswith(f"crosspour: {file}, line {line}: ")
            assert said in told.err
        assert cli.main(["table", "check"]) == 1
        assert f"{file}, line {line}: " in capsys.readouterr().out


# ---- a wine of one's own


def test_a_new_wine_is_a_copy_under_its_own_name(
    place: Path, editor: Edit, capsys: pytest.CaptureFixture[str]
) -> None:
    editor(
        [
            ("name = ", 'name = "House white"'),
            ("acid = ", 'acid = "low"'),
            ("laterals", 'laterals = ["chardonnay-chablis"]'),
        ]
    )
    assert cli.main(["table", "new", "house-white", "--like", "Chablis"]) == 0
    assert "kept in" in capsys.readouterr().out
    table = load_table(place / "table")
    mine, like = table.profiles["house-white"], table.profiles["chardonnay-chablis"]
    assert (mine.name, mine.style, str(mine.structure["acid"])) == ("House white", "white", "low")
    assert mine.synonyms == ()
    changed = {p for p, v in facts_of(mine).items() if v != facts_of(like).get(p)}
    assert changed == {("name",), ("short",), ("synonyms",), ("laterals",), ("structure", "acid")}
    # Sources speak of the wine that was copied, not of this one.
    assert set(mine.bases.values()) == {"own"}
    assert "house-white" in like.laterals
    assert check_folders(place / "table").problems == ()


def test_a_key_that_is_taken_or_no_key_is_refused(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for key, said, code in (
        (WINE, "already", 1),
        ("House White", "no key", 2),
        ("../x", "no key", 2),
    ):
        assert cli.main(["table", "new", key, "--like", "Chablis"]) == code
        assert said in capsys.readouterr().err
    assert cli.main(["table", "new", "x", "--like", "Chablis", "--style", "orange"]) == 2
    assert "none of white" in capsys.readouterr().err
    assert cli.main(["table", "new", "x", "--like", "No such wine"]) == 1
    assert not place.exists() or not [*place.rglob("*.toml")]


def test_another_style_is_checked_too(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    fizz = ["table", "new", "fizz", "--like", "Chablis", "--style", "sparkling"]
    assert cli.main(fizz) == 1
    said = capsys.readouterr()
    (draft,) = drafts(place)
    assert draft == place / "drafts" / "sparkling" / "fizz.toml"
    assert f"{draft}, line " in said.err
    assert "does not fit “dry”" in said.err
    # The draft is mended by hand, and the same command lays it on the table.
    draft.write_text(draft.read_text(encoding="utf-8").replace('"dry"', '"brut"'), encoding="utf-8")
    assert cli.main(["table", "edit", "fizz"]) == 0
    assert own_table(place)["fizz"].sugar_class == "brut"


# ---- without a terminal


def test_without_a_terminal_the_path_is_printed_and_the_file_is_there(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = load_table().profiles
    assert cli.main(["table", "edit", "Sancerre"]) == 0
    file = Path(capsys.readouterr().out.strip())
    assert file == place / "table" / SHELF
    # Every fact is offered, none is changed by it.
    assert own_table(place) == dict(before)
    text = file.read_text(encoding="utf-8")
    for path, value in facts_of(before[WINE]).items():
        assert f"# {fact_line(path, value)}" in text.splitlines()
    assert cli.main(["table", "new", "mine", "--like", "Sancerre"]) == 0
    assert Path(capsys.readouterr().out.strip()) == place / "table" / "white" / "mine.toml"
    assert own_table(place)["mine"].name == "Mine"
    assert cli.main(["table", "check"]) == 0


# ---- texts


def test_every_wine_can_be_offered_uncommented_and_tidied() -> None:
    table = load_table()
    for profile in table.profiles.values():
        offered = with_offers("", profile, Path("x"))
        assert parsed(offered, Path("x")) == {name: {} for name in offered_lines(profile) if name}
        assert tidied(offered, profile).strip() == ""
        bare = [line[2:] if line[2:].partition(" =")[1] else line for line in offered.splitlines()]
        content = parsed("\n".join(bare), Path("x"))
        for path, value in facts_of(profile).items():
            node = content
            for name in path:
                node = node[name]
            assert node == value, (profile.key, path)


def test_every_wine_can_be_copied() -> None:
    table = load_table()
    for profile in table.profiles.values():
        text = new_wine_text("mine", "Mine", "Mine", profile, list(profile.laterals))
        content = parsed(text, Path("x"))
        assert content["descriptors"] == {k: str(v) for k, v in profile.descriptors.items()}
        assert content["name"] == "Mine"


@pytest.mark.parametrize(
    "text",
    [
        'telling = """\n# acid = "high"\n[structure]\n\n\n# end\n"""\n',
        'structure = { acid = "med" }\n',
        'structure.acid = "med"\n',
        '"structure".acid = "med"\n[ descriptors ] # mine\nlime = "never"\n',
    ],
)
def test_offers_never_change_what_a_file_says(text: str) -> None:
    profile = load_table().profiles[WINE]
    offered = with_offers(text, profile, Path("x"))
    kept = {k: v for k, v in parsed(offered, Path("x")).items() if v != {}}
    assert kept == parsed(text, Path("x"))
    assert {k: v for k, v in parsed(tidied(offered, profile), Path("x")).items() if v != {}} == kept
