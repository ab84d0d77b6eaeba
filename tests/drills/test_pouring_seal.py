"""A sealed glass tells nothing at a glance, and opens with its seal alone."""

from __future__ import annotations

import base64

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.pouring.seal import mark_of, opened, sealed

TEXTS = st.text(max_size=60)


@given(st.dictionaries(TEXTS, TEXTS | st.none() | st.integers() | st.booleans()), TEXTS)
def test_what_was_sealed_opens_with_its_seal(content: dict[str, object], seal: str) -> None:
    assert opened(sealed(content, seal), seal) == content


@given(st.text("abcdefghijklmnopqrstuvwxyz -", min_size=6, max_size=80))
def test_no_identity_can_be_read_in_a_sealed_glass(wine: str) -> None:
    text = sealed({"wine": wine}, "one seal")
    assert wine not in text
    assert wine.encode() not in base64.b64decode(text)
    assert len(text) == len(sealed({"wine": "port"}, "one seal"))


def test_another_seal_or_a_damaged_text_is_refused_with_a_sentence() -> None:
    text = sealed({"wine": "port"}, "one seal")
    for wrong, seal in ((text, "another"), (text[40:], "one seal"), ("not sealed", "one seal")):
        with pytest.raises(ValueError, match="damaged"):
            opened(wrong, seal)


def test_the_same_wine_in_two_glasses_does_not_look_the_same() -> None:
    assert sealed({"wine": "port"}, "seal 208") != sealed({"wine": "port"}, "seal 371")


def test_glasses_have_marks_of_their_own() -> None:
    marks = {mark_of(seal, code) for seal in ("a", "b") for code in (208, 371)}
    assert len(marks) == 4
