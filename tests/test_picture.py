"""The README's picture shows what the program shows."""

from __future__ import annotations

import re
from html import unescape

from drills.service.desk import Desk
from tests.picture import FILE, draw


def words(svg: str) -> list[str]:
    """What stands in a picture, word for word."""
    texts = re.findall(r"<text\b[^>]*>([^<]*)</text>", svg)
    return unescape(" ".join(texts)).split()


async def test_the_picture_of_the_readme_is_what_a_reveal_says_today(desk: Desk) -> None:
    shown = words(await draw(desk))
    assert "left" in shown
    assert "✓" in shown
    assert words(FILE.read_text(encoding="utf-8")) == shown, "python -m tests.picture draws it anew"
