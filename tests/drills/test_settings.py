"""Settings: every value has a default, and a mistake is named with the file it stands in."""

from __future__ import annotations

from pathlib import Path

import pytest

from drills.errors import UsageError
from drills.settings import Settings, load_settings


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
    with pytest.raises(UsageError, match="cannot be read"):
        load_settings(file)
