"""The activation model of the simulated tasters, by the formulas of Pavlik and Anderson (2005).

Cognitive Science 29, 559: m = ln sum t^-d, d = c e^m + a, recall 1 / (1 + e^((tau - m) / s)). The
formulas and a = 0.177, c = 0.217, tau = -0.704, s = 0.255 are from memory; no printed worked
example was at hand. So m is held against a reference library, pyactr 0.3.2 (base-level learning of
the ACT-R theory), and the rest against numbers worked out by hand from the formulas.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyactr.utilities import baselevel_learning

from tests.simulations.tasters import PowerLaw


def plain() -> PowerLaw:
    """One taster with the usual parameters and one contrast that nothing was known of."""
    model = PowerLaw(1, 1, np.random.default_rng(1))
    model.a, model.c = np.array([PowerLaw.A]), np.array([PowerLaw.C])
    model.s, model.tau = np.array([PowerLaw.S]), np.array([PowerLaw.TAU])
    model.known_before = np.zeros((1, 1))
    return model


ONLY = np.zeros(1, int)


def recall(model: PowerLaw, seconds: float) -> float:
    return float(model.recall_of(ONLY, ONLY, seconds / PowerLaw.SECONDS_A_DAY)[0])


def study(model: PowerLaw, seconds: float) -> None:
    model.study(ONLY, ONLY, seconds / PowerLaw.SECONDS_A_DAY, np.array([True]))


# Studied after so many seconds each; asked for so many seconds after the last.
GAPS = st.lists(st.floats(40, 1e6), min_size=1, max_size=20)
LATER = st.floats(40, 1e6)


@given(GAPS, LATER, st.floats(0.05, 0.9))
def test_activation_of_traces_that_decay_alike_is_that_of_the_reference_library(
    gaps: list[float], later: float, decay: float
) -> None:
    model = plain()
    model.a, model.c = np.array([decay]), np.zeros(1)
    times = np.cumsum(gaps)
    for time in times:
        study(model, time)
    now = times[-1] + later
    m = float(model.activation(ONLY, ONLY, now / PowerLaw.SECONDS_A_DAY)[0])
    # A trace keeps when it was laid to seven digits of the days since the beginning.
    assert m == pytest.approx(baselevel_learning(now, times, True, decay), abs=0.02)


@given(GAPS, LATER)
def test_activation_is_the_joint_one_of_its_traces_each_with_a_decay_of_its_own(
    gaps: list[float], later: float
) -> None:
    """A trace alone is the library's base level; levels are joined as it joins them."""
    model = plain()
    times = np.cumsum(gaps)
    for time in times:
        study(model, time)
    now = times[-1] + later
    joint = None
    for time, decay in zip(times, model.decay[0, 0, : len(times)], strict=True):
        joint = baselevel_learning(now, np.array([time]), True, float(decay), activation=joint)
    m = float(model.activation(ONLY, ONLY, now / PowerLaw.SECONDS_A_DAY)[0])
    assert m == pytest.approx(joint, abs=0.02)


def test_two_presentations_worked_out_by_hand() -> None:
    model = plain()
    study(model, 0)
    # 100 s later m = ln 100^-0.177 = -0.8151, so the second trace decays by 0.217 e^m + 0.177.
    study(model, 100)
    assert model.decay[0, 0, :2] == pytest.approx([0.177, 0.2730], abs=1e-4)
    # 200 s after that: 300^-0.177 + 200^-0.2730 = 0.3644 + 0.2354, m = -0.5113.
    m = float(model.activation(ONLY, ONLY, 300 / PowerLaw.SECONDS_A_DAY)[0])
    assert m == pytest.approx(-0.5113, abs=2e-4)
    assert recall(model, 300) == pytest.approx(0.6804, abs=5e-4)


def test_spaced_repetition_is_worse_soon_and_better_late() -> None:
    """What the paper's model is for: the crossing of massed and spaced practice."""
    found = {}
    for name, gap in (("massed", 60), ("spaced", 3000)):
        model = plain()
        for nth in range(4):
            study(model, nth * gap)
        last = 3 * gap
        found[name] = [recall(model, last + wait) for wait in (60, 400_000)]
    assert found["massed"][0] > found["spaced"][0]
    assert found["massed"][1] < found["spaced"][1]


def test_recall_is_logistic_in_activation() -> None:
    model = plain()
    study(model, 0)
    for seconds in (40, 400, 40_000):
        m = math.log(seconds**-0.177)
        expected = 1 / (1 + math.exp((-0.704 - m) / 0.255))
        assert recall(model, seconds) == pytest.approx(expected, rel=1e-4)
