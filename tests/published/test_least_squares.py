"""NIST Statistical Reference Datasets (StRD): Norris, NoInt1, NoInt2; certified values (read).

Brownlee's stack-loss data with Huber's weights, threshold 1.345, scale from the median: as printed in the
documentation of statsmodels' robust linear models (read). Both go through the very code that fits digs.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from overlapsim.questions.least_squares import least_squares

NORRIS = np.array([
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0,
    995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2,
    448.9),
    (0.2, 0.5),
])  # fmt: skip

#: Air flow, temperature of the water, concentration of the acid, loss.
STACK_LOSS = np.array([
    (80, 27, 89, 42), (80, 27, 88, 37), (75, 25, 90, 37), (62, 24, 87, 28), (62, 22, 87, 18), (62, 23, 87,
    18),
    (62, 24, 93, 19), (62, 24, 93, 20), (58, 23, 87, 15), (58, 18, 80, 14), (58, 18, 89, 14), (58, 17, 88,
    13),
    (58, 18, 82, 11), (58, 19, 93, 12), (50, 18, 89, 8), (50, 18, 86, 7), (50, 19, 72, 8), (50, 19, 79, 8),
    (50, 20, 80, 9), (56, 20, 82, 15), (70, 20, 91, 15),
], dtype=float)  # fmt: skip

# StRD certifies 15 digits; a solver that reaches ten of them is held to be a good one, Norris being of the
# lower level of difficulty.
TEN_DIGITS = 1e-10


def test_norris() -> None:
    y, x = NORRIS.T
    # Pairs are listed as in the certificate: y first.
    fit = least_squares(np.stack([np.ones(len(x)), x], axis=1), y, threshold=math.inf)
    assert len(x) == 36
    assert fit.value == pytest.approx([-0.262323073774029, 1.00211681802045], rel=TEN_DIGITS)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(
        [0.232818234301152, 0.429796848199937e-3], rel=TEN_DIGITS
    )
    assert fit.sigma == pytest.approx(0.884796396144373, rel=TEN_DIGITS)
    assert fit.free == 34


@pytest.mark.parametrize(
    ("x", "y", "slope", "error"),
    [
        (range(60, 71), range(130, 141), 2.07438016528926, 0.165289256198347e-1),
        ((4, 5, 6), (3, 4, 4), 0.727272727272727, 0.420827318078432e-1),
    ],
    ids=["NoInt1", "NoInt2"],
)
def test_without_intercept(x: list[int], y: list[int], slope: float, error: float) -> None:
    fit = least_squares(np.array(x, dtype=float)[:, None], np.array(y, dtype=float), threshold=math.inf)
    assert float(fit.value[0]) == pytest.approx(slope, rel=TEN_DIGITS)
    assert float(fit.covariance[0, 0]) ** 0.5 == pytest.approx(error, rel=TEN_DIGITS)


def stack_loss(threshold: float = 1.345) -> np.ndarray:
    design = np.column_stack([np.ones(len(STACK_LOSS)), STACK_LOSS[:, :3]])
    fit = least_squares(design, STACK_LOSS[:, 3], threshold=threshold)
    return np.stack([fit.value, np.sqrt(np.diag(fit.covariance))])


def test_stack_loss_by_huber() -> None:
    """Half of the last digit printed."""
    found = stack_loss()
    assert found[0] == pytest.approx([-41.026498, 0.829384, 0.926066, -0.127847], abs=5e-7)
    assert found[1] == pytest.approx([9.791899, 0.111005, 0.302930, 0.128650], abs=5e-7)


def test_another_threshold_would_be_noticed() -> None:
    assert abs(stack_loss(1.5) - stack_loss())[0].max() > 0.01


def test_against_statsmodels() -> None:
    """The same sums by another program, heavy tails, on seeded data."""
    api = pytest.importorskip("statsmodels.api", reason="statsmodels is not installed")
    chance = np.random.default_rng(4)
    design = np.column_stack([np.ones(40), chance.normal(size=(40, 2))])
    observed = design @ [1.0, 2.0, 3.0] + chance.standard_t(2, size=40)
    own = least_squares(design, observed)
    other = api.RLM(observed, design, M=api.robust.norms.HuberT(1.345)).fit(
        tol=1e-13, maxiter=500, conv="coefs"
    )
    assert own.value == pytest.approx(other.params, rel=1e-9)
    assert np.sqrt(np.diag(own.covariance)) == pytest.approx(other.bse, rel=1e-9)
