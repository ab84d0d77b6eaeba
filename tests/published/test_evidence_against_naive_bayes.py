"""The arithmetic of evidence against scikit-learn's naive Bayes on open data.

Source of the data: the recognised-wine and breast-cancer sets of the UCI repository as scikit-learn
carries them. They are chemistry and cell shapes, not tasting: what is checked is arithmetic.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import spearmanr
from sklearn.datasets import load_breast_cancer, load_iris, load_wine
from sklearn.metrics import roc_auc_score
from sklearn.model_selection import train_test_split
from sklearn.naive_bayes import BernoulliNB, CategoricalNB, GaussianNB

from cards.evidence import (
    DECIBANS,
    Categorical,
    Gaussian,
    Picture,
    Reading,
    divergence,
    posterior,
    weight,
)

Numbers = npt.NDArray[np.float64]
Loader = Callable[[], Any]
DATA: list[Loader] = [load_wine, load_iris, load_breast_cancer]
names = [loader.__name__.removeprefix("load_") for loader in DATA]
each_data = pytest.mark.parametrize("loader", DATA, ids=names)


def halves(loader: Loader) -> tuple[Numbers, Numbers, Numbers, Numbers]:
    """Training readings, test readings, training classes, test classes."""
    data = loader()
    split = train_test_split(
        data.data, data.target, test_size=0.5, stratify=data.target, random_state=20
    )
    return tuple(np.asarray(part) for part in split)  # type: ignore[return-value]


def note_of(row: Numbers, kind: Callable[[Any], Reading]) -> dict[str, Reading]:
    return {f"x{column}": kind(value) for column, value in enumerate(row)}


def priors_of(classes: Numbers) -> dict[str, float]:
    kinds, counts = np.unique(classes, return_counts=True)
    return {
        str(kind): float(count) / len(classes) for kind, count in zip(kinds, counts, strict=True)
    }


def gaussian_pictures(readings: Numbers, classes: Numbers) -> list[Picture]:
    # GaussianNB widens every variance by a billionth of the largest one.
    floor = 1e-9 * float(np.var(readings, axis=0).max())
    pictures = []
    for kind in np.unique(classes):
        rows = readings[classes == kind]
        scales = {
            f"x{column}": Gaussian(
                sum(values) / len(values),
                math.sqrt(float(np.var(values)) + floor),
            )
            for column, values in enumerate(rows.T.tolist())
        }
        # One family for all: with no correlation the damping must make no difference.
        pictures.append(Picture(str(kind), scales, family_of=dict.fromkeys(scales, "one")))
    return pictures


def binary_pictures(noted: npt.NDArray[np.bool_], classes: Numbers) -> list[Picture]:
    pictures = []
    for kind in np.unique(classes):
        rows = noted[classes == kind]
        # One imagined presence and one imagined absence, as BernoulliNB's alpha of 1.
        chances = {
            f"x{column}": (int(values.sum()) + 1) / (len(values) + 2)
            for column, values in enumerate(rows.T)
        }
        pictures.append(
            Picture(str(kind), {}, noted=chances, family_of=dict.fromkeys(chances, "one"))
        )
    return pictures


def categorical_pictures(
    bins: npt.NDArray[np.int_], classes: Numbers, alpha: float = 0.5, size: int = 4
) -> list[Picture]:
    pictures = []
    for kind in np.unique(classes):
        rows = bins[classes == kind]
        scales = {}
        for column, values in enumerate(rows.T.tolist()):
            whole = len(values) + alpha * size
            scales[f"x{column}"] = Categorical(
                {value: (values.count(value) + alpha) / whole for value in range(size)}
            )
        pictures.append(Picture(str(kind), scales))
    return pictures


def quartiles(train: Numbers, other: Numbers) -> tuple[npt.NDArray[Any], npt.NDArray[Any]]:
    """Both sets in four bins with the edges of the first; a value on an edge falls above it."""
    edges = np.quantile(train, [0.25, 0.5, 0.75], axis=0)
    binned = [
        np.column_stack(
            [np.searchsorted(edges[:, c], rows[:, c], side="right") for c in range(rows.shape[1])]
        )
        for rows in (train, other)
    ]
    return binned[0], binned[1]


def assert_posteriors_equal(
    pictures: list[Picture],
    notes: list[dict[str, Reading]],
    prior: Mapping[str, float],
    expected: Numbers,
) -> None:
    kinds = [picture.wine for picture in pictures]
    for note, row in zip(notes, expected, strict=True):
        found = posterior(pictures, note, prior=prior, correlation=0)
        np.testing.assert_allclose([found[kind] for kind in kinds], row, rtol=1e-9, atol=1e-250)
        assert max(found, key=lambda kind: found[kind]) == next(iter(found))


def assert_weights_equal(
    pictures: list[Picture],
    notes: list[dict[str, Reading]],
    prior: Mapping[str, float],
    joint: Numbers,
) -> None:
    """Summed weights and prior log odds are the difference of the joint log probabilities."""
    for note, row in zip(notes, joint, strict=True):
        for i, a in enumerate(pictures):
            for j, b in enumerate(pictures):
                total = sum(weight(reading, name, a, b) for name, reading in note.items())
                total += DECIBANS * math.log(prior[a.wine] / prior[b.wine])
                assert total == pytest.approx((row[i] - row[j]) * DECIBANS, rel=1e-9, abs=1e-7)


@each_data
def test_numbers_alone_equal_gaussian_naive_bayes(loader: Loader) -> None:
    train, test, classes, _ = halves(loader)
    model = GaussianNB().fit(train, classes)
    pictures, prior = gaussian_pictures(train, classes), priors_of(classes)
    notes = [note_of(row, float) for row in test]
    assert_posteriors_equal(pictures, notes, prior, model.predict_proba(test))
    assert_weights_equal(pictures, notes[:20], prior, model.predict_joint_log_proba(test[:20]))


@each_data
def test_descriptors_alone_equal_bernoulli_naive_bayes(loader: Loader) -> None:
    train, test, classes, _ = halves(loader)
    medians = np.median(train, axis=0)
    model = BernoulliNB(binarize=None).fit(train > medians, classes)
    pictures, prior = binary_pictures(train > medians, classes), priors_of(classes)
    notes = [note_of(row, bool) for row in test > medians]
    assert_posteriors_equal(pictures, notes, prior, model.predict_proba(test > medians))
    joint = model.predict_joint_log_proba(test[:20] > medians)
    assert_weights_equal(pictures, notes[:20], prior, joint)


@each_data
def test_levels_alone_equal_categorical_naive_bayes(loader: Loader) -> None:
    train, test, classes, _ = halves(loader)
    binned, others = quartiles(train, test)
    model = CategoricalNB(alpha=0.5, min_categories=4).fit(binned, classes)
    pictures, prior = categorical_pictures(binned, classes), priors_of(classes)
    notes = [note_of(row, int) for row in others]
    assert_posteriors_equal(pictures, notes, prior, model.predict_proba(others))
    assert_weights_equal(pictures, notes[:20], prior, model.predict_joint_log_proba(others[:20]))


def test_a_mixed_note_adds_the_three_kinds() -> None:
    """Numbers, levels and descriptors of one glass: the joint logs of three models minus priors."""
    train, test, classes, _ = halves(load_wine)
    medians = np.median(train, axis=0)
    binned, others = quartiles(train, test)
    models = (
        GaussianNB().fit(train[:, :4], classes),
        CategoricalNB(alpha=0.5, min_categories=4).fit(binned[:, 4:9], classes),
        BernoulliNB(binarize=None).fit(train[:, 9:] > medians[9:], classes),
    )
    prior = priors_of(classes)
    joint = sum(
        model.predict_joint_log_proba(part)
        for model, part in zip(
            models, (test[:, :4], others[:, 4:9], test[:, 9:] > medians[9:]), strict=True
        )
    ) - 2 * np.log(list(prior.values()))
    expected = np.exp(joint - joint.max(axis=1, keepdims=True))
    expected /= expected.sum(axis=1, keepdims=True)
    # The columns are cut before GaussianNB sees them, so its floor is that of the four.
    numbers = gaussian_pictures(train[:, :4], classes)
    levels = categorical_pictures(binned, classes)
    words = binary_pictures(train > medians, classes)
    pictures = [
        Picture(
            number.wine,
            {**number.scales, **{f"x{c}": level.scales[f"x{c}"] for c in range(4, 9)}},
            noted=word.noted,
            family_of={f"x{c}": "one" for c in range(9, 13)},
        )
        for number, level, word in zip(numbers, levels, words, strict=True)
    ]
    notes: list[dict[str, Reading]] = [
        {
            **{f"x{c}": float(test[row, c]) for c in range(4)},
            **{f"x{c}": int(others[row, c]) for c in range(4, 9)},
            **{f"x{c}": bool(test[row, c] > medians[c]) for c in range(9, 13)},
        }
        for row in range(len(test))
    ]
    assert_posteriors_equal(pictures, notes, prior, expected)


# The strongest cues of each pair of cultivars and the rank correlation with folded ROC area:
# quartile bins of the pair's own samples, half a count added to each bin, both expected weights
# summed (twice what `divergence` returns, which is their mean).
STRONGEST = {
    (0, 1): ([("proline", 25.2), ("alcohol", 20.8), ("color_intensity", 16.5)], 0.929),
    (0, 2): (
        [("flavanoids", 27.5), ("od280/od315_of_diluted_wines", 26.8), ("total_phenols", 22.4)],
        0.978,
    ),
    (1, 2): (
        [("color_intensity", 21.4), ("flavanoids", 19.7), ("od280/od315_of_diluted_wines", 17.2)],
        1.000,
    ),
}


@pytest.mark.parametrize("pair", STRONGEST, ids=str)
def test_the_strongest_cues_of_two_cultivars_are_those_of_the_roc(pair: tuple[int, int]) -> None:
    data = load_wine()
    chosen = np.isin(data.target, pair)
    readings, classes = data.data[chosen], data.target[chosen]
    binned, _ = quartiles(readings, readings)
    one, other = categorical_pictures(binned, classes)
    names = data.feature_names
    weights = [2 * divergence(f"x{column}", one, other) for column in range(len(names))]
    areas = [roc_auc_score(classes == pair[1], column) for column in readings.T]
    folded = [max(area, 1 - area) for area in areas]

    ranked = sorted(zip(weights, names, strict=True), reverse=True)
    top, expected_rho = STRONGEST[pair]
    assert [(name, round(size, 1)) for size, name in ranked[:3]] == top
    assert ranked[0][1] == names[int(np.argmax(folded))]
    rho = float(spearmanr(weights, folded)[0])
    assert rho > 0.9
    assert rho == pytest.approx(expected_rho, abs=0.0005)


def test_the_divergence_of_normals_is_the_mean_expected_weight() -> None:
    """Half the Jeffreys divergence in closed form against a numerical integral of the weight."""
    a, b = Gaussian(13.1, 0.7), Gaussian(12.2, 0.9)
    grid = np.linspace(4, 22, 200_001)
    logs = [np.array([g.log(float(x)) for x in grid[::100]]) for g in (a, b)]
    grid = grid[::100]
    gap = logs[0] - logs[1]
    toward_a = np.trapezoid(np.exp(logs[0]) * gap, grid)
    toward_b = np.trapezoid(np.exp(logs[1]) * -gap, grid)
    assert a.divergence(b) == pytest.approx((toward_a + toward_b) / 2, rel=1e-6)
    assert a.divergence(b) == pytest.approx(b.divergence(a), rel=1e-12)
