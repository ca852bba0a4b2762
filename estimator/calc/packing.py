"""How round cables come to lie in a round conduit: a picture to scale, not a proof that no better one exists."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import each, positive

_PLAY: Final = 1e-9  # of the wall's radius: circles that touch don't overlap, whatever the last digit says


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle by its middle, from the middle of the conduit, y up, and its radius [m]."""

    x_m: float
    y_m: float
    radius_m: float


def packed(*, radii_m: Sequence[float], wall_m: float) -> tuple[Circle, ...]:
    """Return the circles that find room inside a round wall, each as low as it can lie.

    ``radii_m`` [m] are the cables', ``wall_m`` [m] the inside radius of the conduit. Method: largest
    first; each takes the lowest place in which it touches the wall and another, or two others, and
    overlaps none; a circle without such a place is left out. Where that leaves some out, places farthest
    from the middle are tried before low ones, and what holds more is kept. Seven equal circles need a
    wall of three diameters.

    Source: plane geometry, circles that touch; greedy placement, common practice, no published source.
    Raises: ValueError if a radius is not above zero.

    >>> len(packed(radii_m=[1.0] * 7, wall_m=3.0)), len(packed(radii_m=[1.0] * 7, wall_m=2.99))
    (7, 5)
    """
    positive(wall_m=wall_m)
    each(positive, radii_m=radii_m)
    low = _laid(radii_m, wall_m, outward=False)
    if len(low) == len(radii_m):
        return low
    return max(low, _laid(radii_m, wall_m, outward=True), key=len)


def _laid(radii_m: Sequence[float], wall_m: float, *, outward: bool) -> tuple[Circle, ...]:
    sizes = sorted(radii_m, reverse=True)
    bed = _Bed(wall_m, sizes[0] if sizes else wall_m, outward=outward)
    for size in dict.fromkeys(sizes):
        bed.lay(size, sizes.count(size))
    return tuple(bed.circles)


class _Bed:
    """The circles that lie already, in a grid whose squares are as wide as the largest of them."""

    def __init__(self, wall_m: float, largest_m: float, *, outward: bool) -> None:
        self.circles: list[Circle] = []
        self._wall = wall_m
        self._side = 2 * largest_m
        self._outward = outward
        self._grid: dict[tuple[int, int], list[Circle]] = {}

    def lay(self, size: float, count: int) -> None:
        """Lay circles of one size; places stay in order as new neighbors open more of them."""
        places: list[tuple[float, float, float, float]] = []
        if self._wall - size >= -_PLAY * self._wall:
            self._offer(places, 0.0, -max(self._wall - size, 0.0))
        for number, circle in enumerate(self.circles):
            self._open(places, circle, size, self.circles[:number])
        while places and count:
            _, _, x, y = heapq.heappop(places)
            if not self._is_free(x, y, size):
                continue
            circle = Circle(x, y, size)
            self._open(places, circle, size, list(self._near(x, y, 2)))
            self.circles.append(circle)
            self._grid.setdefault(self._square(x, y), []).append(circle)
            count -= 1

    def _offer(self, places: list[tuple[float, float, float, float]], x: float, y: float) -> None:
        """Add a place to those in order: low before high, or far out before near the middle."""
        first = -math.hypot(x, y) if self._outward else y
        # Digits beyond the tenth are chance; without them a place on the left comes before its twin on the right.
        heapq.heappush(places, (round(first / self._wall, 10), round(x / self._wall, 10), x, y))

    def _open(
        self, places: list[tuple[float, float, float, float]], circle: Circle, size: float, others: Sequence[Circle]
    ) -> None:
        """Offer the places beside a circle: between it and the wall, between it and each other one."""
        reach = circle.radius_m + size
        for x, y in _meets(circle.x_m, circle.y_m, reach, 0.0, 0.0, self._wall - size):
            self._offer(places, x, y)
        for other in others:
            for x, y in _meets(circle.x_m, circle.y_m, reach, other.x_m, other.y_m, other.radius_m + size):
                self._offer(places, x, y)

    def _square(self, x: float, y: float) -> tuple[int, int]:
        return math.floor(x / self._side), math.floor(y / self._side)

    def _near(self, x: float, y: float, squares: int) -> Iterator[Circle]:
        across, up = self._square(x, y)
        around = range(-squares, squares + 1)
        for column in around:
            for row in around:
                yield from self._grid.get((across + column, up + row), ())

    def _is_free(self, x: float, y: float, size: float) -> bool:
        play = _PLAY * self._wall
        if math.hypot(x, y) + size > self._wall + play:
            return False
        return all(math.hypot(x - one.x_m, y - one.y_m) >= size + one.radius_m - play for one in self._near(x, y, 1))


def _meets(x: float, y: float, reach: float, x2: float, y2: float, reach2: float) -> Iterator[tuple[float, float]]:
    """Yield the two points at ``reach`` from one middle and at ``reach2`` from another, where there are such."""
    apart = math.hypot(x2 - x, y2 - y)
    if reach2 < 0 or apart == 0:
        return
    along = (apart**2 + reach**2 - reach2**2) / (2 * apart)
    aside2 = reach**2 - along**2
    if aside2 < -_PLAY * reach**2:
        return
    aside = math.sqrt(max(aside2, 0.0))
    across, up = (x2 - x) / apart, (y2 - y) / apart
    foot_x, foot_y = x + along * across, y + along * up
    yield foot_x - aside * up, foot_y + aside * across
    yield foot_x + aside * up, foot_y - aside * across
