"""A whole note's posterior over all wines, and the debrief's ranks, against scikit-learn.

A note is of mixed kind: levels (CategoricalNB), descriptors (BernoulliNB), alcohol (GaussianNB).
Each of scikit-learn's classifiers is given the table's chances as its fitted parameters; the joint
log-likelihoods of the three add up to that of the note.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from sklearn.naive_bayes import BernoulliNB, CategoricalNB, GaussianNB

from cards.cellar import Cellar
from cards.evidence import AVERAGE_READER, DECIBANS, Gaussian, Picture, Reading, posterior
from cards.lexicon import ALCOHOL, DEPTH, HUE, HUES, STRUCTURE
from cards.scale import Level
from drills.tastings.debrief import debrief
from drills.tastings.drafts import Named
from drills.tastings.notes import FullPour, Note, Verdict

ALL_HUES = [hue for group in HUES.values() for hue in group]
SCALES = (*STRUCTURE, DEPTH)


class PlainAlcohol(Cellar):
    """The cellar without blunders in alcohol: with them it is a mixture, unknown to GaussianNB."""

    def picture(self, wine: str) -> Picture:
        """The picture of one wine by key."""
        found = super().picture(wine)
        span = found.scales[ALCOHOL]
        assert isinstance(span, Gaussian)
        return replace(found, scales={**found.scales, ALCOHOL: Gaussian(span.mean, span.sd)})


@pytest.fixture(scope="module")
def exact(cellar: Cellar) -> Cellar:
    return PlainAlcohol(cellar.table)


def one_of_each_family(cellar: Cellar, rng: random.Random, size: int) -> list[str]:
    """Descriptors of which no two are damped for the other's sake."""
    lexicon = cellar.table.lexicon
    families: dict[str, list[str]] = {}
    for key in sorted(lexicon.descriptors):
        families.setdefault(lexicon.family_of(key), []).append(key)
    return [rng.choice(families[name]) for name in rng.sample(sorted(families), size)]


def random_note(cellar: Cellar, rng: random.Random) -> dict[str, Reading]:
    note: dict[str, Reading] = {
        name: Level(rng.randrange(5)) for name in rng.sample(SCALES, rng.randint(1, 8))
    }
    note[HUE] = rng.choice(ALL_HUES)
    note[ALCOHOL] = rng.choice([8.5, 11.0, 12.5, 13.0, 14.5, 19.0])
    return note | {word: rng.random() < 0.7 for word in one_of_each_family(cellar, rng, 5)}


def log_joint(cellar: Cellar, note: dict[str, Reading]) -> npt.NDArray[np.float64]:
    """log P(note, wine) by scikit-learn, a value for every wine, with even priors."""
    wines = list(cellar.table.profiles)
    pictures = [cellar.picture(key) for key in wines]
    classes = np.arange(len(wines))
    even = np.full(len(wines), -math.log(len(wines)))

    scales = [name for name in note if name in (*SCALES, HUE)]
    categories = {name: ALL_HUES if name == HUE else list(Level) for name in scales}
    levels = CategoricalNB()
    levels.classes_, levels.class_log_prior_ = classes, even
    levels.class_count_ = np.ones(len(wines))
    levels.n_features_in_ = len(scales)
    levels.n_categories_ = np.array([len(categories[name]) for name in scales])
    levels.feature_log_prob_ = [
        np.array(
            [
                [picture.scales[name].log(reading) for reading in categories[name]]
                for picture in pictures
            ]
        )
        for name in scales
    ]
    read = np.array([[categories[name].index(note[name]) for name in scales]])

    words = [name for name, reading in note.items() if isinstance(reading, bool)]
    noted = BernoulliNB()
    noted.classes_, noted.class_log_prior_ = classes, even
    noted.n_features_in_ = len(words)
    noted.feature_log_prob_ = np.log(
        [[picture.chance_noted(word) for word in words] for picture in pictures]
    )
    heard = np.array([[int(note[word]) for word in words]])

    spans = [picture.scales[ALCOHOL] for picture in pictures]
    assert all(isinstance(span, Gaussian) for span in spans)
    strength = GaussianNB()
    strength.classes_, strength.class_prior_ = classes, np.exp(even)
    strength.n_features_in_ = 1
    strength.theta_ = np.array([[span.mean] for span in spans])  # type: ignore[attr-defined]
    strength.var_ = np.array([[span.sd**2] for span in spans])  # type: ignore[attr-defined]
    called = np.array([[note[ALCOHOL]]])

    joint: npt.NDArray[np.float64] = (
        levels.predict_joint_log_proba(read)
        + noted.predict_joint_log_proba(heard)
        + strength.predict_joint_log_proba(called)
        - 2 * even
    )[0]
    return joint


@pytest.mark.parametrize("seed", range(25))
def test_the_posterior_of_a_note_is_scikit_learns(exact: Cellar, seed: int) -> None:
    note = random_note(exact, random.Random(seed))
    wines = list(exact.table.profiles)
    joint = log_joint(exact, note)
    theirs = np.exp(joint - np.logaddexp.reduce(joint))
    ours = posterior([exact.picture(key) for key in wines], note)
    assert [ours[key] for key in wines] == pytest.approx(list(theirs), rel=1e-5, abs=1e-12)


@pytest.mark.parametrize("seed", range(25))
def test_ranks_and_balance_of_a_debrief_are_scikit_learns(exact: Cellar, seed: int) -> None:
    rng = random.Random(1000 + seed)
    note = random_note(exact, rng)
    wines = list(exact.table.profiles)
    called, was = rng.sample(wines, 2)
    joint = dict(zip(wines, log_joint(exact, note), strict=True))
    found = debrief(
        FullPour(1, Note(note), final=Verdict("x", called), reveal=Named("y", was)),
        exact,
        AVERAGE_READER,
    )
    assert found.balance == pytest.approx(DECIBANS * (joint[was] - joint[called]), rel=1e-4)
    higher = sum(value > joint[was] + 1e-9 for value in joint.values())
    level = sum(abs(value - joint[was]) <= 1e-9 for value in joint.values())
    assert found.rank is not None
    assert higher < found.rank <= higher + level
    assert found.likeliest[0][0] in {
        wine for wine, value in joint.items() if value >= max(joint.values()) - 1e-9
    }


def test_the_average_taster_reads_with_blunders(exact: Cellar, cellar: Cellar) -> None:
    """What the checks above leave out: a misread alcohol is bounded, as scikit-learn's is not."""
    plain, bounded = (
        which.picture("riesling-mosel").scales[ALCOHOL].log(20.0) for which in (exact, cellar)
    )
    assert bounded > plain + 10
