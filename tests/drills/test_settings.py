"""Settings: every value has a default, and a mistake is named with the file it stands in."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from drills.errors import NotPossibleError, UsageError
from drills.settings import Settings, load_settings, read_exam, read_minutes, save_settings


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "settings.toml"


def test_without_a_file_everything_has_a_default(file: Path) -> None:
    assert load_settings(file) == Settings(minutes=10, theme="", keys={})


def test_an_empty_file_is_as_good_as_none(file: Path) -> None:
    file.touch()
    assert load_settings(file) == Settings()


def test_what_the_readme_shows_is_understood(file: Path) -> None:
    readme = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
    _, _, rest = readme.partition("```toml\nminutes")
    example, _, _ = rest.partition("```")
    file.write_text("minutes" + example, encoding="utf-8")
    settings = load_settings(file)
    assert settings.minutes == 10
    assert settings.theme == "crosspour-light"
    assert settings.keys == {"left-sure": "q"}


@pytest.mark.parametrize("minutes", [1, 120])
def test_a_drill_may_last_from_one_minute_to_two_hours(file: Path, minutes: int) -> None:
    file.write_text(f"minutes = {minutes}")
    assert load_settings(file).minutes == minutes


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("minutes = 0", "from 1 to 120"),
        ("minutes = 121", "from 1 to 120"),
        ("minutes = -5", "from 1 to 120"),
        ("minutes = 7.5", "from 1 to 120"),
        ("minutes = true", "from 1 to 120"),
        ('minutes = "10"', "from 1 to 120"),
        ("theme = 3", "theme should be a text"),
        ("keys = 3", "keys should be lines"),
        ("[keys]\nleft-sure = 1", "keys should be lines"),
        ("minuts = 5", "minuts is no setting; known are minutes, exam, theme, keys"),
        ("minutes = ", "is no valid TOML"),
        ("[keys\n", "is no valid TOML"),
    ],
)
def test_a_mistake_is_named_in_one_line_with_its_file(file: Path, content: str, said: str) -> None:
    file.write_text(content, encoding="utf-8")
    with pytest.raises(UsageError) as refused:
        load_settings(file)
    message = str(refused.value)
    assert said in message
    assert message.startswith(str(file))
    assert "\n" not in message
    assert refused.value.exit_code == 2


def test_a_file_in_another_encoding_is_named(file: Path) -> None:
    file.write_bytes('theme = "Grüner"'.encode("utf-16"))
    with pytest.raises(UsageError, match="is not UTF-8"):
        load_settings(file)


def test_a_folder_in_the_place_of_the_file_is_named(file: Path) -> None:
    file.mkdir()
    with pytest.raises(NotPossibleError, match="cannot be read"):
        load_settings(file)


# ---- the exam, and settings that the program changes


def test_an_exam_is_a_date_without_quotes(file: Path) -> None:
    file.write_text("exam = 2027-03-14")
    assert load_settings(file).exam == date(2027, 3, 14)
    for content in ('exam = "2027-03-14"', "exam = 2027-03-14T10:00:00", "exam = 14"):
        file.write_text(content)
        with pytest.raises(UsageError, match="exam should be a date without quotes"):
            load_settings(file)


def test_an_exam_and_minutes_are_read_as_they_are_typed() -> None:
    assert read_exam(" 2027-03-14 ") == date(2027, 3, 14)
    assert read_exam("  ") is None
    assert read_minutes(" 15 ") == 15
    for text in ("14.3.2027", "spring"):
        with pytest.raises(UsageError, match="write the date as"):
            read_exam(text)
    for text in ("0", "121", "ten", ""):
        with pytest.raises(UsageError, match="from 1 to 120"):
            read_minutes(text)


@pytest.mark.parametrize(
    "before",
    [
        "",
        "# mine\n[keys] # own\nleft-sure = 'q'\n",
        "minutes = 5 # five\ntheme = 'x'\n\n[keys]\nundo = 'b'\n",
        "theme = 'x' # no end of line",
    ],
)
def test_changed_settings_leave_the_rest_as_it_was_written(file: Path, before: str) -> None:
    file.write_text(before, encoding="utf-8")
    old = load_settings(file)
    save_settings(file, minutes=12, exam=date(2027, 3, 14))
    new = load_settings(file)
    assert (new.minutes, new.exam) == (12, date(2027, 3, 14))
    assert (new.theme, new.keys) == (old.theme, old.keys)
    for words in ("# mine", "# own", "# five", "# no end of line"):
        assert (words in file.read_text(encoding="utf-8")) == (words in before)
    save_settings(file, minutes=12, exam=None)
    assert load_settings(file).exam is None
    assert [path.name for path in file.parent.iterdir()] == [file.name]


def test_settings_in_a_new_folder_are_written_there(tmp_path: Path) -> None:
    file = tmp_path / "new" / "settings.toml"
    save_settings(file, minutes=3, exam=None)
    assert load_settings(file) == Settings(minutes=3)


def test_broken_settings_are_not_written_over(file: Path) -> None:
    file.write_text("minutes = \n")
    with pytest.raises(UsageError, match="is no valid TOML"):
        save_settings(file, minutes=3, exam=None)
    assert file.read_text() == "minutes = \n"
