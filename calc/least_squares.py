"""Least squares for a few unknowns whose figures are costly: `solve`, `widened`."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from calc.arrays import Array

JACOBIAN_STEP = 0.02
LARGEST_STEP = 0.15
SMALL_ENOUGH = 0.0005
MOST_STEPS = 12
STEPS_ON = 4
"""Gauss-Newton: difference step, longest step, last step [mm], rounds, rounds from a place already found."""


@dataclass(frozen=True, eq=False)
class Solved:
    """Answer of a least squares fit: place, figures there, their slopes, covariance of the place, misfit of the figures, whole cost."""

    place: Array
    state: Array
    slopes: Array
    covariance: Array
    chi_square: float
    cost: float


def solve(
    state: Callable[[Array], Array],
    wanted: Array,
    sigma: Array,
    prior: Array,
    prior_sigma: Array,
    limit: Array,
    start: Array | None = None,
    scale: Array | None = None,
) -> Solved:
    """Least squares place of a few unknowns, by damped Gauss-Newton with a forward difference.

    min over x of sum ((y(x) - wanted)/sigma)^2 + sum ((x - prior)/prior_sigma)^2

    state: figures at a place [-]
    wanted: figures wanted or read, in their own units [-]
    sigma: their standard deviations, infinite for what was not read [-]
    prior: where the unknowns are thought to be; the first a shift [mm]
    prior_sigma: how far from there [mm]
    limit: farthest place either way [mm]
    start: a place already found, if any; then a few rounds do [mm]
    scale: of the unknowns against the first; none: that of prior_sigma [1]
    Result: Solved, of the first unknown's scale [mm]. Range: smooth figures; shifts of tenths of a millimetre.
    Source: Gauss-Newton with step halving, any textbook on least squares.

    >>> one = np.array([1.0])
    >>> found = solve(lambda x: 2.0 * x, np.array([0.2]), np.array([0.001]), 0.0 * one, one, one)
    >>> round(float(found.place[0]), 4), round(found.chi_square, 4)
    (0.1, 0.0)
    """
    x = np.clip(prior if start is None else start, -limit, limit)
    scale = prior_sigma / prior_sigma[0] if scale is None else scale

    def cost(y: Array, place: Array) -> float:
        return float((((y - wanted) / sigma) ** 2).sum() + (((place - prior) / prior_sigma) ** 2).sum())

    y = state(x)
    best = cost(y, x)
    steps = JACOBIAN_STEP * scale
    for _ in range(MOST_STEPS if start is None else STEPS_ON):
        slopes = np.stack([(state(x + step) - y) / step[i] for i, step in enumerate(np.diag(steps))], axis=1)
        weighted = slopes / sigma[:, None]
        normal = weighted.T @ weighted + np.diag(prior_sigma**-2)
        slope = weighted.T @ ((y - wanted) / sigma) + (x - prior) / prior_sigma**2
        step = -np.linalg.solve(normal, slope)
        step /= max(1.0, float(np.max(np.abs(step) / (LARGEST_STEP * scale))))
        for _ in range(4):
            there = np.clip(x + step, -limit, limit)
            ahead = state(there)
            value = cost(ahead, there)
            if value <= best:
                break
            step = step / 2.0
        else:
            break
        moved = float(np.max(np.abs(there - x) / scale))
        x, y, best = there, ahead, value
        if moved < SMALL_ENOUGH:
            break
    chi = float((((y - wanted) / sigma) ** 2).sum())
    return Solved(x, y, slopes, np.asarray(np.linalg.inv(normal)), chi, best)


def widened(cost: Callable[[Array], float], solved: Solved, reach: float) -> Array:
    """Covariance with the least known direction as wide as the cost itself says.

    Along the weakest axis the step 2 sigma, 4 sigma, ... is taken until the cost has risen by 2; sigma = step / sqrt(rise), at least
    the linear one. A pattern that stands still however deep the pinion sits would else look well known.

    cost: whole cost at a place [1]
    solved: answer of `solve` [mm]
    reach: farthest place that is looked at [mm]
    Result: covariance, in the square of the unknowns' unit [mm2]. Range: one scale for all unknowns. Source: own choice, profile of the cost.

    >>> one = np.array([1.0])
    >>> found = solve(lambda x: x, 0.0 * one, 0.1 * one, 0.0 * one, one, one)
    >>> flat = widened(lambda x: 4.0 * float(x[0]) ** 2, found, 10.0)
    >>> round(float(flat[0, 0]) ** 0.5, 2)
    0.5
    """
    values, axes = np.linalg.eigh(solved.covariance)
    weak, sigma = axes[:, -1], math.sqrt(float(values[-1]))
    wide = sigma
    for sign in (1.0, -1.0):
        step = 2.0 * sigma
        while step < 2.0 * reach:
            there = solved.place + sign * step * weak
            if float(np.abs(there).max()) > reach:
                break
            risen = max(cost(there) - solved.cost, 0.0)
            wide = max(wide, step / math.sqrt(max(risen, 1.0)))
            if risen >= 2.0:
                break
            step *= 2.0
    values[-1] = wide**2
    return np.asarray((axes * values) @ axes.T)
