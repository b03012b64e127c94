"""Robust least squares: straight sums where all is well, and little say for what lies far off."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Bools, Floats
from overlapsim.questions.loose import RANK_SHARE, loose_directions, settled

HUBER = 1.345
"""Huber's threshold (no unit): 95 % as efficient as plain sums where errors are normal (Huber 1964)."""

MAD_SHARE = 0.6744897501960817
"""Median distance from the middle of normal errors, as a share of their standard deviation."""

ROUNDS = 200
"""Most rounds of reweighting; a dozen is usual."""

SETTLED = 1e-12
"""Relative change at which reweighting has come to rest."""


@dataclass(frozen=True)
class Known:
    """What is known of the unknowns besides the observations, each with its own error.

    Attributes
    ----------
    design : ndarray, shape (k, p)
        Rows: how the unknowns add up to each known value.
    value : ndarray, shape (k,)
        The known values, in the unit of the observations.
    error : ndarray, shape (k,)
        Their standard errors, same unit, above zero.
    """

    design: Floats
    value: Floats
    error: Floats

    @classmethod
    def nothing(cls, count: int) -> Known:
        """Know nothing.

        Parameters
        ----------
        count : int
            Number of unknowns.

        Returns
        -------
        Known
            Without a row.
        """
        return cls(np.empty((0, count)), np.empty(0), np.empty(0))


@dataclass(frozen=True)
class Fit:
    """A fit of a linear model.

    Attributes
    ----------
    value : ndarray, shape (p,)
        The unknowns; along directions of `loose` this is one choice of many.
    covariance : ndarray, shape (p, p)
        Of `value`, across all directions that are not loose.
    residual : ndarray, shape (n,)
        Observed less fitted, in the unit of the observations.
    weight : ndarray, shape (n,)
        How much say each observation has, 0 to 1.
    scale : float
        Median residual, raised to a standard deviation; in its unit, that of the observations.
    sigma : float
        Standard deviation of one observation, same unit.
    free : int
        Degrees of freedom that `sigma` rests on; 0 = it was taken as given.
    loose : ndarray, shape (p, k)
        Directions of the unknowns that nothing in the data speaks of, orthonormal; no unit.
    """

    value: Floats
    covariance: Floats
    residual: Floats
    weight: Floats
    scale: float
    sigma: float
    free: int
    loose: Floats

    def is_known(self, combination: Floats) -> bool:
        """Tell whether the data settle a combination of the unknowns.

        Parameters
        ----------
        combination : ndarray, shape (p,)
            Its coefficients.

        Returns
        -------
        bool
            True if it does not change along any loose direction.
        """
        return settled(combination, self.loose)

    def of(self, combination: Floats) -> tuple[float, float]:
        """Give a combination of the unknowns that the data settle.

        Parameters
        ----------
        combination : ndarray, shape (p,)
            Its coefficients.

        Returns
        -------
        value, standard_error : float
            In the unit that the coefficients give it.
        """
        spread = float(combination @ self.covariance @ combination)
        return float(combination @ self.value), math.sqrt(max(spread, 0.0))

    def quantile(self, share: float = 0.95) -> float:
        """Tell by how many standard errors an interval reaches to both sides.

        Parameters
        ----------
        share : float
            How often the interval is to hold the truth, 0 to 1.

        Returns
        -------
        float
            Student's quantile for `free` degrees of freedom, or the normal one where there are none; a ratio.
        """
        return student(self.free, share)


def student(free: int, share: float = 0.95) -> float:
    """Tell by how many standard errors an interval reaches to both sides.

    Parameters
    ----------
    free : int
        Degrees of freedom that the scatter rests on; 0 = it is known.
    share : float
        How often the interval is to hold the truth, 0 to 1.

    Returns
    -------
    float
        Student's quantile, or the normal one; a ratio.
    """
    from scipy.special import ndtri, stdtrit

    upper = (1 + share) / 2
    return float(stdtrit(free, upper) if free else ndtri(upper))


def least_squares(
    design: Floats,
    observed: Floats,
    *,
    threshold: float = HUBER,
    known: Known | None = None,
    least_sigma: float = 0.0,
    given_sigma: float = 0.0,
) -> Fit:
    """Fit a linear model, with less say for what lies far off.

    Parameters
    ----------
    design : ndarray, shape (n, p)
        How the unknowns add up to each observation.
    observed : ndarray, shape (n,)
        Observations, in any unit.
    threshold : float
        Residuals of more than so many scales lose their say, ratio; `math.inf` = plain least squares.
    known : Known, optional
        What is known besides, with its errors.
    least_sigma : float
        Standard deviation below which one observation cannot scatter, same unit as the observations.
    given_sigma : float
        What is taken where nothing is left to tell the scatter from, same unit.

    Returns
    -------
    Fit
        Unknowns, covariance, residuals.

    Notes
    -----
    Weights ``min(1, threshold scale / |residual|)``, `scale` = median |residual| / 0.6745, taken anew in
    every round. The covariance is Huber's first one (1981, section 7.6): ``k² (sum psi² scale² / free)
    / mean(psi')² (X'X)^-1`` with ``k = 1 + p/n var(psi') / mean(psi')²``; without a threshold it is the usual
    one. Known values come in as rows that are weighted by `sigma` over their own error and never lose say.

    References
    ----------
    Huber, P. J., "Robust Statistics" (1981), sections 7.6 and 7.8 (from memory).

    Examples
    --------
    >>> fit = least_squares(np.array([[4.0], [5.0], [6.0]]), np.array([3.0, 4.0, 4.0]), threshold=math.inf)
    >>> round(float(fit.value[0]), 6), fit.free
    (0.727273, 2)
    """
    known = known or Known.nothing(design.shape[1])
    loose = loose_directions(np.vstack([design, known.design]))
    rank = design.shape[1] - loose.shape[1]
    free = max(len(observed) + len(known.value) - rank, 0)
    weight = np.ones(len(observed))
    sigma = max(given_sigma, least_sigma) or 1.0
    value, scale = np.zeros(design.shape[1]), 0.0
    for _ in range(ROUNDS):
        old, value = value, _weighted(design, observed, weight, known, sigma)
        residual = observed - design @ value
        scale = max(float(np.median(np.abs(residual))) / MAD_SHARE, least_sigma)
        weight = _weights(residual, threshold * scale)
        sigma = _sigma(residual, scale, threshold, free, rank) if free else given_sigma
        sigma = max(sigma, least_sigma)
        if np.abs(value - old).max() <= SETTLED * max(float(np.abs(value).max()), 1e-9):
            break
    return Fit(value, _covariance(design, known, sigma), residual, weight, scale, sigma, free, loose)


def _weights(residual: Floats, far: float) -> Floats:
    """Say of each observation: all of it within `far`, less beyond."""
    size = np.abs(residual)
    beyond: Bools = size > far
    return np.where(beyond, far / np.where(beyond, size, 1.0), 1.0)


def _weighted(design: Floats, observed: Floats, weight: Floats, known: Known, sigma: float) -> Floats:
    """Solve one round; along loose directions the shortest solution is taken."""
    root, share = np.sqrt(weight), sigma / known.error
    rows = np.vstack([design * root[:, None], known.design * share[:, None]])
    right = np.append(observed * root, known.value * share)
    found: Floats = np.linalg.lstsq(rows, right, rcond=RANK_SHARE)[0]
    return found


def _sigma(residual: Floats, scale: float, threshold: float, free: int, rank: int) -> float:
    """Standard deviation of one observation, from residuals cut off at the threshold."""
    if math.isinf(threshold):
        return math.sqrt(float(residual @ residual) / free)
    if scale <= 0.0:
        return 0.0
    inside: Bools = np.abs(residual) <= threshold * scale
    share = float(inside.mean())
    cut = np.clip(residual, -threshold * scale, threshold * scale)
    small = 1 + rank / len(residual) * share * (1 - share) / share**2
    return small / share * math.sqrt(float(cut @ cut) / free)


def _covariance(design: Floats, known: Known, sigma: float) -> Floats:
    """Covariance of the unknowns, across the directions that are not loose."""
    if sigma <= 0.0:
        return np.zeros((design.shape[1], design.shape[1]))
    rows = np.vstack([design, known.design * (sigma / known.error)[:, None]])
    back = np.linalg.pinv(rows, rcond=RANK_SHARE)
    return np.asarray(back @ back.T * sigma**2)
