"""One declaration of a field makes its reader, its JSON Schema entry and its line in the key table.

A record is a frozen dataclass whose fields are declared with ``spec(kind, help)``. The declared
kind decides how the text is read; nothing is guessed from what it looks like.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, Final, TypeVar, cast, dataclass_transform

from estimator.spec.faults import Place, ProblemError, nearest
from estimator.spec.nodes import FORBIDDEN, Mapping, Node, Scalar
from estimator.spec.nodes import Sequence as ListNode
from estimator.units.quantity import QuantityError, example, in_unit, read_number, read_quantity, show
from estimator.units.rounding import over, under
from estimator.units.table import FACTORS

if TYPE_CHECKING:
    from estimator.spec.reading import Reader

T = TypeVar("T")
JsonSchema = dict[str, Any]

REQUIRED: Final = object()
"""Default of a field that must be typed."""

ID_PATTERN: Final = r"[A-Za-z0-9][A-Za-z0-9\-./:_]{0,39}"
_ID: Final = re.compile(ID_PATTERN)
_DATE: Final = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_YES: Final = {"yes": True, "true": True, "on": True, "no": False, "false": False, "off": False}


def spec(kind: Kind, meaning: str, *, key: str = "", default: object = REQUIRED) -> Any:
    """Declare a field: its kind, what it means, its key where that isn't the attribute, its default."""
    metadata = {"kind": kind, "help": meaning, "key": key, "required": default is REQUIRED}
    return dataclasses.field(default=None if default is REQUIRED else default, metadata=metadata)


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(spec,))
def record(cls: type[T]) -> type[T]:
    """Make a class a frozen, keyword-only, slotted record of the project file."""
    return dataclasses.dataclass(frozen=True, kw_only=True, slots=True)(cls)


_NOTHING: Final = frozenset({"null", "Null", "NULL", "~"})
"""What YAML takes for no value where it stands without quotes."""


class Kind:
    """How a value is read; subclasses say what they expect."""

    expects = "a value"

    def read(self, node: Node, reader: Reader) -> object:
        """Return the value. Raises: ProblemError saying what was expected."""
        raise NotImplementedError

    def schema(self) -> JsonSchema:
        """Return the JSON Schema of the value as a YAML parser delivers it."""
        raise NotImplementedError

    def label(self) -> str:
        """Return the kind's name in the key table."""
        return self.expects

    def typed(self, value: object) -> str:
        """Return a value that was read as somebody would type it."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        return show(value, "") if isinstance(value, float) else str(value)

    def text(self, node: Node) -> str:
        """Return the node's text. Raises: ProblemError for a block, a list or an empty value."""
        if not isinstance(node, Scalar):
            what = "a list" if isinstance(node, ListNode) else "a block of keys"
            raise ProblemError(f"{what} stands here", self.expects, "write one value")
        if not node.value:
            raise ProblemError("the value is empty", self.expects, "write the value, in quotes if it starts with #")
        if node.plain and node.value in _NOTHING:
            raise ProblemError(f"{node.value} says no value", self.expects, "write the value, or leave the key out")
        if not node.plain and (hidden := FORBIDDEN.search(node.value)):
            raise ProblemError(f"an escape hides control character U+{ord(hidden.group()):04X}", "text", "delete it")
        return node.value


class Text(Kind):
    """Free text, kept as typed."""

    expects = "text"

    def __init__(self, most: int = 2000) -> None:
        self.most = most

    def read(self, node: Node, reader: Reader) -> str:
        text = self.text(node)
        if len(text) > self.most:
            raise ProblemError(f"the text has {len(text)} characters", f"at most {self.most}", "shorten it")
        return text

    def schema(self) -> JsonSchema:
        return {"type": ["string", "number", "boolean"], "maxLength": self.most}


class Name(Kind):
    """An id: up to 40 letters, digits and ``- . / : _``."""

    expects = "an id of up to 40 letters, digits and - . / : _"

    def read(self, node: Node, reader: Reader) -> str:
        text = self.text(node)
        if not _ID.fullmatch(text):
            raise ProblemError(f"{text!r} is not an id", self.expects, "shorten it or leave the other signs out")
        return text

    def schema(self) -> JsonSchema:
        return {"type": ["string", "number"], "pattern": f"^{ID_PATTERN}$"}


class Choice(Kind):
    """One of a few words, without regard to case."""

    def __init__(self, *words: str) -> None:
        self.words = words
        self._known = {w.lower(): w for w in words}
        self.expects = "one of " + ", ".join(words)

    def read(self, node: Node, reader: Reader) -> str:
        text = self.text(node)
        found = self._known.get(text.strip().lower())
        if found is None:
            close = nearest(text, self.words)
            raise ProblemError(
                f"{text!r} is none of the words known here",
                self.expects,
                f"write {close}" if close else "pick one of them",
            )
        return found

    def schema(self) -> JsonSchema:
        return {"type": ["string", "number", "boolean"], "examples": list(self.words)}


class YesNo(Kind):
    """An answer: yes or no."""

    expects = "yes or no"

    def read(self, node: Node, reader: Reader) -> bool:
        text = self.text(node)
        if text.lower() not in _YES:
            raise ProblemError(f"{text!r} is not an answer", self.expects, "write yes or no")
        return _YES[text.lower()]

    def schema(self) -> JsonSchema:
        return {"type": ["boolean", "string"]}


class Count(Kind):
    """A whole number."""

    def __init__(self, low: int = 0, high: int = 1_000_000, unit: str = "") -> None:
        self.low, self.high, self.unit = low, high, unit
        self.expects = f"a whole number from {low} to {high}" + (f" ({unit})" if unit else "")

    def read(self, node: Node, reader: Reader) -> int:
        text = self.text(node)
        if not re.fullmatch(r"-?\d{1,9}", text):
            raise ProblemError(f"{text!r} is not a whole number", self.expects, "write digits only")
        value = int(text)
        if not self.low <= value <= self.high:
            raise ProblemError(f"{value} is out of range", self.expects, "mend the number")
        return value

    def schema(self) -> JsonSchema:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


class Number(Kind):
    """A plain number whose unit the trade fixes, times ``scale`` (0.01 turns percent into a share)."""

    def __init__(self, low: float, high: float, unit: str, scale: float = 1.0) -> None:
        self.low, self.high, self.unit, self.scale = low, high, unit, scale
        self.expects = f"a number from {low:g} to {high:g} ({unit})"

    def read(self, node: Node, reader: Reader) -> float:
        text = self.text(node)
        typed = text[:-1].strip() if self.unit == "percent" and text.endswith("%") else text
        try:
            value = read_number(typed)
        except QuantityError as wrong:
            raise ProblemError(wrong.wrong, self.expects, wrong.mend) from wrong
        if not self.low <= value <= self.high:
            raise ProblemError(f"{value:g} is out of range", self.expects, "mend the number")
        return value / 100 if self.scale == 0.01 else value * self.scale

    def typed(self, value: object) -> str:
        return show(value / self.scale, "") if isinstance(value, int | float) else str(value)

    def schema(self) -> JsonSchema:
        return {"type": ["number", "string"], "minimum": self.low, "maximum": self.high}


def percent(low: float = 0, high: float = 100) -> Number:
    """Return a number typed in percent and kept as a share."""
    return Number(low, high, "percent", 0.01)


class Money(Kind):
    """An amount of money, kept exactly."""

    expects = "an amount such as 12.50"

    def __init__(self, low: int = 0) -> None:
        self.low = low

    def read(self, node: Node, reader: Reader) -> Decimal:
        text = self.text(node)
        try:
            value = Decimal(text) if re.fullmatch(r"-?\d{1,12}(\.\d{1,6})?", text) else None
        except InvalidOperation:
            value = None
        if value is None or value < self.low:
            raise ProblemError(
                f"{text!r} is not an amount of money here",
                self.expects,
                "write digits and a point, no signs or thousands marks",
            )
        return value

    def schema(self) -> JsonSchema:
        return {"type": ["number", "string"]}


class Day(Kind):
    """A date."""

    expects = "a date as YYYY-MM-DD"

    def read(self, node: Node, reader: Reader) -> date:
        text = self.text(node)
        match = _DATE.fullmatch(text)
        try:
            if match:
                return date(*(int(part) for part in match.groups()))
        except ValueError:
            pass
        raise ProblemError(f"{text!r} is not a date", self.expects, "write it as 2026-03-31")

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"}


class Quantity(Kind):
    """A number with a unit, kept in the SI unit of its dimension (Ah and degrees as they are)."""

    def __init__(self, dimension: str, low: float = 0.0, high: float = 1e9, strict: bool = False) -> None:
        self.dimension, self.low, self.high, self.strict = dimension, low, high, strict
        self.expects = f"{dimension} with its unit, such as {example(dimension)}"
        self._sound: dict[str, float] = {}  # values by their text: a schedule has the same ones again and again

    def read(self, node: Node, reader: Reader) -> float:
        text = self.text(node)
        known = self._sound.get(text)
        if known is not None:
            return known
        value = self._sound[text] = self._read(text)
        return value

    def _read(self, text: str) -> float:
        try:
            value = read_quantity(text, self.dimension)
        except QuantityError as wrong:
            raise ProblemError(wrong.wrong, wrong.expected, wrong.mend) from wrong
        if under(value, self.low) or over(value, self.high) or (self.strict and value <= self.low):
            at_least = "more than" if self.strict else "at least"
            limits = f"{at_least} {self._limit(self.low, text)}"
            if self.high < 1e9:
                limits += f" and at most {self._limit(self.high, text)}"
            raise ProblemError(f"{text!r} is out of range", limits, "mend the value")
        return value

    def typed(self, value: object) -> str:
        return show(value, next(iter(FACTORS[self.dimension]))) if isinstance(value, int | float) else str(value)

    def _limit(self, value: float, text: str) -> str:
        """Return a limit in the unit that was typed, where it is one of the trade's, else in SI."""
        units = FACTORS[self.dimension]
        written = [unit for unit in units if text.rstrip().endswith(f" {unit}")]
        unit = written[0] if written else next(iter(units))
        return f"{in_unit(value, self.dimension, unit):g} {unit}"

    def schema(self) -> JsonSchema:
        return {"type": "string", "examples": [example(self.dimension)]}


class ListOf(Kind):
    """A list of values; one value alone counts as a list of one, and so does text split at spaces."""

    def __init__(self, kind: Kind, split: bool = False, least: int = 0) -> None:
        self.kind, self.split, self.least = kind, split, least
        self.expects = f"a list of {kind.label()}"

    def read(self, node: Node, reader: Reader) -> tuple[object, ...]:
        if isinstance(node, ListNode):
            items: Sequence[Node] = node.items
        elif self.split and isinstance(node, Scalar):
            words = re.split(r"[\s;,]+", self.text(node).strip())
            items = [Scalar(w, node.line, node.column, node.plain) for w in words if w]
        else:
            items = [node]
        if len(items) < self.least:
            raise ProblemError("the list is empty", self.expects, "write at least one")
        values = []
        for item in items:
            try:
                values.append(self.kind.read(item, reader))
            except ProblemError as wrong:
                reader.fault(Place(reader.file, item.line, item.column), wrong)
        return tuple(v for v in values if v is not None)

    def schema(self) -> JsonSchema:
        inner = self.kind.schema()
        several = [{"type": "string"}] if self.split else []
        return {"anyOf": [{"type": "array", "items": inner}, inner, *several]}


class Block(Kind):
    """A block of keys, read as a record."""

    def __init__(self, cls: Callable[[], type[object]] | type[object]) -> None:
        self._cls = cls
        self.expects = "a block of keys"

    @property
    def cls(self) -> type[object]:
        """Return the record that the block is read as."""
        if isinstance(self._cls, type):
            return self._cls
        return self._cls()

    def read(self, node: Node, reader: Reader) -> object:
        if not isinstance(node, Mapping):
            raise ProblemError("no block of keys stands here", self.expects, "indent the keys below this one")
        return reader.record(self.cls, node)

    def schema(self) -> JsonSchema:
        return {"$ref": f"#/$defs/{self.cls.__name__}"}

    def label(self) -> str:
        return "blocks of keys"


class Pairs(Kind):
    """Free keys with values of one kind, such as settings by name."""

    def __init__(self, kind: Kind, what: str) -> None:
        self.kind = kind
        self.expects = f"keys ({what}), each with {kind.expects}"

    def read(self, node: Node, reader: Reader) -> tuple[tuple[str, object], ...]:
        if not isinstance(node, Mapping):
            raise ProblemError("no block of keys stands here", self.expects, "indent the keys below this one")
        pairs = []
        for key, (mark, value) in node.entries.items():
            try:
                pairs.append((key, self.kind.read(value, reader)))
            except ProblemError as wrong:
                reader.fault(Place(reader.file, value.line, value.column or mark.column), wrong)
        return tuple(pairs)

    def schema(self) -> JsonSchema:
        return {"type": "object", "additionalProperties": self.kind.schema()}


@dataclasses.dataclass(frozen=True, slots=True)
class Declared:
    """A declared field as the reader uses it."""

    key: str
    attribute: str
    kind: Kind
    help: str
    required: bool
    default: object


_DECLARED: Final[dict[type, dict[str, Declared]]] = {}


def declared(cls: type) -> dict[str, Declared]:
    """Return a record's fields by key, in the order they were declared."""
    if cls in _DECLARED:
        return _DECLARED[cls]
    fields = _DECLARED[cls] = {}
    for field in dataclasses.fields(cast(Any, cls)):
        if "kind" not in field.metadata:
            continue
        meta = field.metadata
        key = meta["key"] or field.name
        fields[key] = Declared(key, field.name, meta["kind"], meta["help"], meta["required"], field.default)
    return fields


_REQUIRED: Final[dict[type, tuple[Declared, ...]]] = {}


def required(cls: type) -> tuple[Declared, ...]:
    """Return a record's fields that must be typed."""
    if cls not in _REQUIRED:
        _REQUIRED[cls] = tuple(field for field in declared(cls).values() if field.required)
    return _REQUIRED[cls]


_SOURCED: Final[dict[type, bool]] = {}


def has_source(cls: type) -> bool:
    """Return whether the record keeps the place it was typed at."""
    if cls not in _SOURCED:
        _SOURCED[cls] = any(field.name == "source" for field in dataclasses.fields(cast(Any, cls)))
    return _SOURCED[cls]


def schema_of(root: type, title: str, also: Sequence[type] = ()) -> JsonSchema:
    """Return the JSON Schema of a record, of all records below it and of those that also stand in it."""
    defs: JsonSchema = {}

    def visit(cls: type) -> None:
        if cls.__name__ in defs:
            return
        properties: JsonSchema = {}
        defs[cls.__name__] = {
            "type": "object",
            "description": (cls.__doc__ or "").split("\n")[0],
            "additionalProperties": False,
            "properties": properties,
            "required": [f.key for f in declared(cls).values() if f.required],
        }
        for field in declared(cls).values():
            properties[field.key] = {"description": field.help, **field.kind.schema()}
            kind = field.kind
            while isinstance(kind, ListOf | Pairs):
                kind = kind.kind
            if isinstance(kind, Block):
                visit(kind.cls)

    for cls in (root, *also):
        visit(cls)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        "$ref": f"#/$defs/{root.__name__}",
        "$defs": defs,
    }
