"""What the lengths of a whole job say together: velocity of an instrument, slack, exchanged labels.

A measured length is the true one times the instrument's ratio; the true one is the expected one with
what slack was left more or less, and scatter. In logarithms an instrument's ratio is a step, a slack
that is off falls with the length, and two cables behind each other's labels are off against each
other by the ratio of their expected lengths.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from statistics import NormalDist, median
from typing import Final

from estimator.calc.robust import Center, Fit, Row, center, fit, student
from estimator.field.learned import Exchanged, Learned, Ratio, Sample, Slack
from estimator.field.readings import named_instrument, set_velocity, velocity_is_wrong
from estimator.field.said import Said, Typed
from estimator.spec.quality import Acceptance
from estimator.takeoff.footage import Length

MEDIA: Final = ("balanced_pair", "coax")
"""Media whose length is measured by a velocity."""

LEAST: Final = 12
"""Lengths of one cable from which anything is concluded."""

CONFIDENCE: Final = 0.95
_CHANCE: Final = 0.01  # that a clean job shows one exchanged pair by scatter alone
_FLOOR: Final = 0.01  # spread below which lengths aren't told apart: rounding, legs
_ODD: Final = 2.5  # spreads beyond which a length doesn't fit its own label
_FIT_AFTER: Final = 3.5  # spreads within which an exchanged pair must fit the other label
_MARKED: Final = 3  # rows with marks from which they decide
_STEPS: Final = 3  # of the slack's own logarithm
_ROOM_LEAST: Final = 8  # lengths in a room that has a level of its own
_SMALL: Final = "(small rooms)"
_FITTED: Final = 1000  # lengths of a cable that a fit is made from

ROUTES: Final = "the expected lengths"
"""What an instrument alone is compared with."""
_NORMAL: Final = NormalDist()


def instrument_of(said: Said, acceptance: Acceptance) -> str:
    """Return the listed instrument that a row names, by its id; else the name as typed."""
    found = named_instrument(said.word("instrument"), acceptance)
    return found.id if found else said.word("instrument")


def sound_lengths_of(said: Iterable[Said], acceptance: Acceptance, lengths: Mapping[str, Length]) -> tuple[Sample, ...]:
    """Return the last sound length of every circuit; ``lengths`` are the expected ones by circuit."""
    last: dict[str, Sample] = {}
    for one in said:
        criteria = one.criteria
        if criteria.medium not in MEDIA or criteria.link == "channel" or one.trouble or not criteria.expected_m:
            continue
        typed = one.typed("length")
        length = lengths.get(criteria.circuit)
        # A line that is shorted reads the way to its fault.
        if typed is None or length is None or not _sound(typed) or one.word("open_short") == "short":
            continue
        first, second = one.numbers.get("mark_room"), one.numbers.get("mark_far")
        last[criteria.id] = Sample(
            circuit=criteria.id,
            room=criteria.room,
            cable=length.cable.id,
            method=length.method,
            instrument=instrument_of(one, acceptance),
            expected_m=criteria.expected_m,
            measured_m=_measured(one, typed.number or math.nan),
            marked_m=abs(first - second) if first is not None and second is not None else None,
        )
    return tuple(last.values())


def _sound(typed: Typed) -> bool:
    number = typed.number
    by_velocity = typed.distance is None and not typed.why and not typed.text.startswith("marks")
    return by_velocity and number is not None and math.isfinite(number) and number > 0


def _measured(said: Said, number: float) -> float:
    """Return a length with a velocity that is known to be wrong set right."""
    own, true = set_velocity(said), said.criteria.settings.nvp
    return number * true / own if own and true and velocity_is_wrong(said) else number


def learn(found: Sequence[Sample]) -> Learned:
    """Return what the lengths say together, cable by cable; velocities belong to a cable."""
    by_cable: dict[str, list[Sample]] = {}
    for one in found:
        by_cable.setdefault(one.cable, []).append(one)
    ratios: list[Ratio] = []
    levels: dict[tuple[str, str], Ratio] = {}
    slacks: list[Slack] = []
    exchanged: list[Exchanged] = []
    for cable, own in by_cable.items():
        if len(own) < LEAST:
            continue
        model = _Model(cable, own)
        ratios += model.ratios()
        levels |= {(one.instrument, cable): one for one in model.levels()}
        slacks += model.slack()
        exchanged += _exchanged(own, model)
    return Learned(
        samples=tuple(found),
        ratios=tuple(ratios),
        slacks=tuple(slacks),
        exchanged=tuple(exchanged),
        levels=levels,
    )


class _Model:
    """The fit of one cable: a level for each room, a step for each instrument beside the first of its
    group, and the slack. Rooms with few lengths share a level.

    Of a cable with more than about a thousand lengths the fit is made from that many, evenly spaced
    in every room of every instrument: they tell a ratio to a thousandth already. Everything else,
    labels that are exchanged above all, looks at every length.
    """

    def __init__(self, cable: str, own: Sequence[Sample]) -> None:
        self.cable, self.own = cable, own
        self.groups = _together(own)
        counted = Counter(one.room for one in own)
        self.rooms = {name: name if number >= _ROOM_LEAST else _SMALL for name, number in counted.items()}
        self.columns: dict[tuple[str, str], int] = {}
        self.slack_m = 0.0
        by_level: dict[str, list[float]] = {}
        for one in own:
            room = self._room(one)
            self._column("room", room)
            by_level.setdefault(room, []).append(one.expected_m)
            if one.instrument != self.groups[one.instrument]:
                self._column("instrument", one.instrument)
        # A level takes up what all lengths of its room have in common: only how they vary in it tells a slack.
        self.with_slack = any(map(_varied, by_level.values()))
        self.fitted = self._fit()

    def _column(self, kind: str, name: str) -> int:
        return self.columns.setdefault((kind, name), len(self.columns))

    def _room(self, one: Sample) -> str:
        return f"{self.groups[one.instrument]}/{self.rooms[one.room]}"

    def _row(self, one: Sample) -> list[tuple[int, float]]:
        return [(self.columns["room", self._room(one)], 1.0), *self._step(one.instrument, 1.0)]

    def _step(self, name: str, factor: float) -> list[tuple[int, float]]:
        return [] if self.groups[name] == name else [(self.columns["instrument", name], factor)]

    def _fit(self) -> Fit | None:
        """Fit, and again about the slack found: its logarithm isn't straight."""
        columns = len(self.columns) + self.with_slack
        found: Fit | None = None
        fitted = _thinned(self.own)
        plain = [self._row(one) for one in fitted]
        for _ in range(_STEPS if self.with_slack else 1):
            whole = [one.expected_m + self.slack_m for one in fitted]
            values = [math.log(one.measured_m / length_m) for one, length_m in zip(fitted, whole, strict=True)]
            rows = plain
            if self.with_slack:
                rows = [[*row, (columns - 1, 1.0 / length_m)] for row, length_m in zip(plain, whole, strict=True)]
            found = fit(rows, values, columns=columns)
            if found is None or not self.with_slack:
                break
            self.slack_m = max(self.slack_m + found.values[-1], -0.5 * min(one.expected_m for one in self.own))
        return found

    @property
    def spread(self) -> float:
        """Return the spread of the lengths about the fit, as a share."""
        known = self.fitted.spread if self.fitted else center([one.off for one in self.own]).spread
        return max(known, _FLOOR)

    def reading(self, one: Sample) -> float:
        """Return the logarithm of a length as read, its instrument's step taken off."""
        step = sum(self.fitted.values[column] for column, _ in self._step(one.instrument, 1.0)) if self.fitted else 0.0
        return math.log(one.measured_m) - step

    def expected(self, one: Sample) -> float:
        """Return the logarithm of the length to be expected, with slack and room level as they were found."""
        if self.fitted is None:
            return math.log(one.expected_m) + median([each.off for each in self.own])
        return math.log(one.expected_m + self.slack_m) + self.fitted.values[self.columns["room", self._room(one)]]

    @property
    def instruments(self) -> list[str]:
        """Return the instruments in the order in which they come up."""
        return list(dict.fromkeys(one.instrument for one in self.own))

    def ratios(self) -> Iterable[Ratio]:
        """Yield how each instrument reads: by jacket marks where there are some, else against the others."""
        for name in self.instruments:
            by_marks = _by_marks(name, self.cable, self.own)
            if by_marks is not None:
                yield by_marks
            elif self.fitted is not None:
                yield self._against_others(name, self.fitted)

    def levels(self) -> Iterable[Ratio]:
        """Yield how each instrument reads by itself: by jacket marks where there are some, else by the routes."""
        for name in self.instruments:
            by_marks = _by_marks(name, self.cable, self.own)
            if by_marks is not None:
                yield by_marks
            elif self.fitted is not None:
                yield self._ratio(name, self.fitted, [*self._level(name), *self._step(name, 1.0)], ROUTES)

    def _against_others(self, name: str, fitted: Fit) -> Ratio:
        """Return an instrument against those that it shares rooms with, else against the routes."""
        group = self.groups[name]
        others = [other for other, its in self.groups.items() if its == group and other != name]
        if others:
            parts = self._step(name, 1.0)
            for other in others:
                parts += self._step(other, -1.0 / len(others))
            return self._ratio(name, fitted, parts, ", ".join(others))
        rooms = ", ".join(dict.fromkeys(one.room or "no room" for one in self.own if one.instrument == name))
        alone = len(set(self.groups.values())) > 1
        undecided = f"only {name} was used in {rooms}: instrument and room can't be told apart" if alone else ""
        return self._ratio(name, fitted, self._level(name), ROUTES, undecided)

    def _ratio(self, name: str, fitted: Fit, parts: Row, against: str, undecided: str = "") -> Ratio:
        value, error = fitted.combined(parts)
        reach = student(probability=CONFIDENCE, free=fitted.free) * error
        return Ratio(
            instrument=name,
            cable=self.cable,
            value=math.exp(value),
            low=math.exp(value - reach),
            high=math.exp(value + reach),
            count=sum(one.instrument == name for one in self.own),
            against=against,
            undecided=undecided,
        )

    def _level(self, name: str) -> list[tuple[int, float]]:
        """Return the mean level of an instrument's rooms, each as often as it was used there."""
        rooms = Counter(self._room(one) for one in self.own if one.instrument == name)
        total = sum(rooms.values())
        return [(self.columns["room", room], number / total) for room, number in rooms.items()]

    def slack(self) -> Iterable[Slack]:
        """Yield what every run has more than expected, where lengths vary enough to tell it from a ratio."""
        if self.fitted is None or not self.with_slack:
            return
        _, error = self.fitted.combined([(len(self.columns), 1.0)])
        reach = student(probability=CONFIDENCE, free=self.fitted.free) * error
        yield Slack(
            cable=self.cable,
            value_m=self.slack_m,
            low_m=self.slack_m - reach,
            high_m=self.slack_m + reach,
            count=len(self.own),
        )


def _thinned(own: Sequence[Sample]) -> Sequence[Sample]:
    """Return about a thousand lengths of more, evenly spaced in every room of every instrument, else all."""
    if len(own) <= _FITTED:
        return own
    groups: dict[tuple[str, str], list[Sample]] = {}
    for one in own:
        groups.setdefault((one.room, one.instrument), []).append(one)
    kept: list[Sample] = []
    for group in groups.values():
        share = len(group) / min(len(group), max(_ROOM_LEAST, round(_FITTED * len(group) / len(own))))
        kept += [group[int(place * share)] for place in range(int(len(group) / share + 0.5))]
    return kept


def _varied(lengths: Sequence[float]) -> bool:
    """Return whether the lengths differ enough for a slack to show beside a ratio."""
    ordered = sorted(lengths)
    return ordered[-len(ordered) // 10 or -1] > 1.5 * ordered[len(ordered) // 10]


def _together(own: Sequence[Sample]) -> dict[str, str]:
    """Return, by instrument, the first of those that share rooms with it, directly or through others."""
    first_in: dict[str, str] = {}
    leader: dict[str, str] = {}

    def find(name: str) -> str:
        while leader[name] != name:
            name = leader[name]
        return name

    for one in own:
        leader.setdefault(one.instrument, one.instrument)
        met = first_in.setdefault(one.room, one.instrument)
        leader[find(one.instrument)] = find(met)
    return {name: find(name) for name in leader}


def _by_marks(instrument: str, cable: str, own: Sequence[Sample]) -> Ratio | None:
    """Return an instrument's ratio to the jacket's own marks, which know no velocity."""
    offs = [math.log(one.measured_m / one.marked_m) for one in own if one.instrument == instrument and one.marked_m]
    if len(offs) < _MARKED:
        return None
    found: Center = center(offs)
    error = max(found.spread, _FLOOR / 2) * math.sqrt(math.pi / 2 / found.count)  # of a median
    reach = student(probability=CONFIDENCE, free=max(found.count - 1, 3)) * error
    return Ratio(
        instrument=instrument,
        cable=cable,
        value=math.exp(found.middle),
        low=math.exp(found.middle - reach),
        high=math.exp(found.middle + reach),
        count=found.count,
        against="footage marks on the jacket",
    )


def _exchanged(own: Sequence[Sample], model: _Model) -> Iterable[Exchanged]:
    """Yield pairs of circuits that fit each other's label far better than their own.

    The gain in likelihood of an exchange is ``d * (x - y - d) / spread ** 2``, d the difference of
    the expected logarithms; by scatter alone it is exponential, and every pair of the job had a chance.
    """
    spread = model.spread
    expected = {one.circuit: model.expected(one) for one in own}
    residual = {one.circuit: model.reading(one) - expected[one.circuit] for one in own}
    odd = [one for one in own if abs(residual[one.circuit]) > _ODD * spread]
    pairs = len(own) * (len(own) - 1) / 2
    found: list[Exchanged] = []
    for short in odd:
        for long in odd:
            x, y = residual[short.circuit], residual[long.circuit]
            apart = expected[long.circuit] - expected[short.circuit]
            if not (x < 0 < y and apart < 0) or max(abs(x - apart), abs(y + apart)) > _FIT_AFTER * spread:
                continue
            gain = apart * (x - y - apart) / spread**2
            chance = min(1.0, pairs * 2 * _NORMAL.cdf(-math.sqrt(2 * max(gain, 0.0))))
            if chance < _CHANCE:
                found.append(Exchanged(first=short, second=long, chance=chance))
    yield from _best(found)


def _best(found: Iterable[Exchanged]) -> Iterable[Exchanged]:
    """Yield each circuit in its likeliest exchange alone."""
    taken: set[str] = set()
    for one in sorted(found, key=lambda each: (each.chance, each.first.circuit, each.second.circuit)):
        names = {one.first.circuit, one.second.circuit}
        if not names & taken:
            taken |= names
            yield one
