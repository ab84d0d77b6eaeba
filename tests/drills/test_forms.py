"""Every form of a card can be asked, has its share, and its words on the screen."""

from __future__ import annotations

import random

import pytest

from cards.cellar import Cellar
from cards.questions import Form, ask
from drills.service.choosing import FORMS


@pytest.fixture(scope="module")
def asked(cellar: Cellar) -> set[Form]:
    """The forms that contrasts of the table come out in, each asked for in turn."""
    rng = random.Random(4)
    contrasts = cellar.all_contrasts()[::150]
    return {ask(cellar, one, rng, form=form).form for one in contrasts for form in Form}


@pytest.mark.parametrize("form", Form)
def test_some_contrast_can_be_asked_in_every_form(asked: set[Form], form: Form) -> None:
    assert form in asked


def test_every_form_has_its_share_of_the_cards() -> None:
    assert FORMS.keys() == set(Form)
    assert sum(FORMS.values()) == pytest.approx(1.0)
