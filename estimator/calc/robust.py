"""Fits that a few wild readings don't move: median, spread, and a linear fit by Huber's weights.

Lengths that a crew reads hold wrong cables and slips among hundreds of good ones, so that means and
least squares would be drawn away. A row of a fit names only its columns that aren't zero.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, median
from typing import Final

from estimator.calc.checked import finite

Row = Sequence[tuple[int, float]]

SIGMA_OF_MAD: Final = 1 / NormalDist().inv_cdf(0.75)
"""Standard deviation of a normal sample over its median absolute deviation."""

HUBER: Final = 1.345
"""Where Huber's weights begin to fall, in standard deviations: 95 % of the efficiency of least squares."""

_ROUNDS: Final = 50
_ENOUGH: Final = 1e-8
_SINGULAR: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Center:
    """The middle and the spread of a sample [the sample's unit]."""

    middle: float
    spread: float  # standard deviation that its median absolute deviation stands for
    count: int


@dataclass(frozen=True, slots=True)
class Fit:
    """A fit: its coefficients with their covariance, the spread about it, and the degrees of freedom left."""

    values: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    spread: float
    free: int

    def combined(self, parts: Row) -> tuple[float, float]:
        """Return a sum of coefficients and its standard error."""
        value = sum(self.values[column] * factor for column, factor in parts)
        variance = sum(self.covariance[a][b] * fa * fb for a, fa in parts for b, fb in parts)
        return value, math.sqrt(max(variance, 0.0))


def center(values: Sequence[float]) -> Center:
    """Return the median of a sample and the spread by its median absolute deviation [the sample's unit].

    Source: Huber, Robust Statistics (1981), scale by the median absolute deviation.
    Raises: ValueError for an empty sample, or a value that is no number.

    >>> center([9.0, 10.0, 11.0, 10.0, 500.0]).middle
    10.0
    """
    if not values:
        raise ValueError(f"values must hold at least one number, not {values!r}")
    for value in values:
        finite(values=value)
    middle = median(values)
    return Center(middle, SIGMA_OF_MAD * median([abs(value - middle) for value in values]), len(values))


def student(*, probability: float, free: int) -> float:
    """Return the two-sided quantile of Student's distribution [no unit].

    ``probability`` lies inside, such as 0.95; ``free`` degrees of freedom.
    Source: Cornish-Fisher expansion of Student's quantile, Abramowitz and Stegun 26.7.5.
    Raises: ValueError where the probability is not between 0 and 1, or fewer than 3 degrees are free.

    >>> round(student(probability=0.95, free=30), 3)
    2.042
    """
    if not 0 < probability < 1:
        raise ValueError(f"probability must lie between 0 and 1, not {probability!r}")
    if not free >= 3:
        raise ValueError(f"free must be 3 or more, not {free!r}")
    z = NormalDist().inv_cdf((1 + probability) / 2)
    return (
        z
        + (z**3 + z) / (4 * free)
        + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * free**2)
        + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * free**3)
    )


def fit(rows: Sequence[Row], values: Sequence[float], *, columns: int) -> Fit | None:
    """Return the linear fit by Huber's weights, or None where the rows can't tell the columns apart [as values].

    Iterative: least squares again and again with weights from the residuals, until nothing moves.
    The covariance is Huber's with the small-sample factor.
    Source: Huber, Robust Statistics (1981), 7.6; weights of the location-scale problem.
    Raises: ValueError where rows and values differ in number, a number isn't finite, or there is no column.
    """
    if columns < 1:
        raise ValueError(f"columns must be 1 or more, not {columns!r}")
    if len(rows) != len(values):
        raise ValueError(f"values must be as many as the {len(rows)} rows, not {len(values)!r}")
    for row, value in zip(rows, values, strict=True):
        finite(values=value)
        for column in row:
            if not math.isfinite(column[1]):
                raise ValueError(f"rows must hold finite numbers, not {row!r}")
    if len(values) < columns + 3:
        return None
    whole = _sums(rows, values, [1.0] * len(values), columns)
    sums, residuals, spread = whole, list(values), 0.0
    solved: tuple[float, ...] | None = None
    for _ in range(_ROUNDS):
        inverse = _inverse(sums.matrix)
        if inverse is None:
            return None
        found = _times(inverse, sums.right)
        residuals = [value - sum(found[c] * x for c, x in row) for row, value in zip(rows, values, strict=True)]
        spread = SIGMA_OF_MAD * _middle([abs(one) for one in residuals], columns)
        moved = solved is None or any(abs(a - b) > _ENOUGH for a, b in zip(found, solved, strict=True))
        solved = found
        if not moved or spread == 0:
            break
        sums = _less(whole, rows, values, residuals, HUBER * spread)
    return _with_covariance(whole, residuals, solved or (), spread)


@dataclass(frozen=True, slots=True)
class _Sums:
    """The weighted normal equations."""

    matrix: list[list[float]]
    right: list[float]


def _sums(rows: Sequence[Row], values: Sequence[float], weights: Sequence[float], columns: int) -> _Sums:
    matrix = [[0.0] * columns for _ in range(columns)]
    right = [0.0] * columns
    for row, value, weight in zip(rows, values, weights, strict=True):
        for a, x in row:
            right[a] += weight * x * value
            line = matrix[a]
            for b, y in row:
                line[b] += weight * x * y
    return _Sums(matrix, right)


def _less(
    whole: _Sums, rows: Sequence[Row], values: Sequence[float], residuals: Sequence[float], bound: float
) -> _Sums:
    """Return the sums with Huber's weights: only the few rows beyond the bound weigh less than one."""
    far = [place for place, one in enumerate(residuals) if abs(one) > bound]
    loss = [1.0 - bound / abs(residuals[place]) for place in far]
    off = _sums([rows[place] for place in far], [values[place] for place in far], loss, len(whole.right))
    return _Sums(
        [[a - b for a, b in zip(line, less, strict=True)] for line, less in zip(whole.matrix, off.matrix, strict=True)],
        [a - b for a, b in zip(whole.right, off.right, strict=True)],
    )


def _middle(sizes: list[float], columns: int) -> float:
    """Return the median of the residuals' sizes, less those that the fit itself makes zero."""
    return median(sorted(sizes)[min(columns, len(sizes) - 1) :])


def _with_covariance(whole: _Sums, residuals: Sequence[float], values: tuple[float, ...], spread: float) -> Fit | None:
    count, columns = len(residuals), len(values)
    inverse = _inverse(whole.matrix)
    if inverse is None:
        return None
    inside = sum(abs(one) <= HUBER * spread for one in residuals) / count
    clipped = sum(min(abs(one), HUBER * spread) ** 2 for one in residuals)
    correction = 1 + columns / count * (1 - inside) / inside if inside else 1.0
    scale = correction**2 * (clipped / (count - columns)) / inside**2 if inside else 0.0
    return Fit(values, tuple(tuple(scale * one for one in line) for line in inverse), spread, count - columns)


def _inverse(matrix: Sequence[Sequence[float]]) -> list[list[float]] | None:
    """Return the inverse of a normal matrix by elimination with pivots, or None where it has none."""
    columns = len(matrix)
    wide = [[*line, *(float(a == b) for b in range(columns))] for a, line in enumerate(matrix)]
    for a in range(columns):
        best = max(range(a, columns), key=lambda line: abs(wide[line][a]))
        wide[a], wide[best] = wide[best], wide[a]
        pivot = wide[a][a]
        if abs(pivot) <= _SINGULAR * matrix[a][a]:
            return None
        wide[a] = [one / pivot for one in wide[a]]
        for b in range(columns):
            if b != a and (share := wide[b][a]):
                wide[b] = [one - share * other for one, other in zip(wide[b], wide[a], strict=True)]
    return [line[columns:] for line in wide]


def _times(matrix: Sequence[Sequence[float]], vector: Sequence[float]) -> tuple[float, ...]:
    return tuple(sum(a * b for a, b in zip(line, vector, strict=True)) for line in matrix)
