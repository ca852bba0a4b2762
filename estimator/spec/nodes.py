"""A YAML file as a tree in which every key and value knows its line and column.

Built from the parser's events (the C parser where there is one), never from loaded values: text
stays text, so ``010``, ``1:12`` and ``no`` are what was typed and the declared type of the field
decides. Anchors, aliases, tags, merge keys, repeated keys and second documents are faults.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from estimator.spec.faults import Faults, Place

MOST_BYTES: Final = 64_000_000
MOST_DEPTH: Final = 16
BROKEN: Final = "this stops being YAML here"
"""What is wrong where a file breaks off; it ends the reading."""

_NOT_TEXT: Final = {
    b"PK\x03\x04": "a packed file, such as a workbook or a Word document",
    b"%PDF": "a PDF",
    b"\xd0\xcf\x11\xe0": "an old office file",
}
FORBIDDEN: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")


class Scalar:
    """A piece of text with its place; ``plain`` text was typed without quotes."""

    __slots__ = ("column", "line", "plain", "value")

    def __init__(self, value: str, line: int, column: int, plain: bool) -> None:
        self.value, self.line, self.column, self.plain = value, line, column, plain


class Mapping:
    """Keys with their values, each with its place."""

    __slots__ = ("column", "entries", "line")

    def __init__(self, line: int, column: int) -> None:
        self.line, self.column = line, column
        self.entries: dict[str, tuple[Scalar, Node]] = {}


class Sequence:
    """A list of values with its place."""

    __slots__ = ("column", "items", "line")

    def __init__(self, line: int, column: int) -> None:
        self.line, self.column = line, column
        self.items: list[Node] = []


Node = Scalar | Mapping | Sequence


@dataclass(frozen=True, slots=True)
class Source:
    """Where a record was typed: its file and its node, so that a fault can name a key's place."""

    file: str
    node: Node

    def at(self, key: str | None = None) -> Place:
        """Return the place of a key's value, or of the record itself."""
        if key is not None and isinstance(self.node, Mapping) and key in self.node.entries:
            value = self.node.entries[key][1]
            return Place(self.file, value.line, value.column)
        return Place(self.file, self.node.line, self.node.column)

    def typed(self, key: str) -> str | None:
        """Return the text that was typed for a key, or None where there is none."""
        entry = self.node.entries.get(key) if isinstance(self.node, Mapping) else None
        return entry[1].value if entry and isinstance(entry[1], Scalar) else None


def read_text(data: bytes, file: str, faults: Faults) -> str | None:
    """Return a file's text, or None with a fault where it is not clean UTF-8 text."""
    if len(data) > MOST_BYTES:
        faults.add(
            Place(file, 1, 1),
            f"the file holds {len(data):,} bytes",
            f"at most {MOST_BYTES:,}",
            "move large schedules into CSV files named by the project file",
        )
        return None
    for start, what in _NOT_TEXT.items():
        if data.startswith(start):
            faults.add(Place(file, 1, 1), f"the file is {what}", "a text file", "name the YAML or CSV file itself")
            return None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        before = data[: wrong.start].decode("utf-8", "replace")
        place = Place(file, before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1)
        faults.add(place, f"byte 0x{data[wrong.start]:02x} is not UTF-8 text", "UTF-8 text", "save the file as UTF-8")
        return None
    bad = FORBIDDEN.search(text)
    if bad:
        before = text[: bad.start()]
        place = Place(file, before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1)
        faults.add(place, f"control character U+{ord(bad.group()):04X}", "printable text", "delete it")
        return None
    return text


def read_yaml(data: bytes, file: str, faults: Faults) -> Node | None:
    """Return the tree of a YAML file, with a fault for everything that has no place in one.

    A syntax error ends the reading and is reported with all that was found before it.
    """
    import yaml

    text = read_text(data, file, faults)
    if text is None:
        return None
    loader = getattr(yaml, "CLoader", yaml.Loader)
    builder = _Builder(file, faults)
    try:
        return builder.build(yaml.parse(text, Loader=loader))
    except yaml.MarkedYAMLError as wrong:
        mark = wrong.problem_mark or wrong.context_mark
        place = Place(file, mark.line + 1, mark.column + 1) if mark else Place(file, 1, 1)
        faults.add(
            place,
            BROKEN,
            "`key: value` lines with even indentation",
            "check quotes, colons, tabs and indentation on this line and the one above",
        )
    except (yaml.YAMLError, RecursionError):
        faults.add(Place(file, 1, 1), "this file can't be read as YAML", "a YAML project file", "retype it")
    return builder.root


class _Builder:
    """Turns parser events into the tree."""

    def __init__(self, file: str, faults: Faults) -> None:
        self.file, self.faults = file, faults
        self.root: Node | None = None
        self.documents = 0
        self.stack: list[tuple[Mapping | Sequence, Scalar | None]] = []
        self.key: Scalar | None = None

    def _fault(self, line: int, column: int, wrong: str, expected: str, mend: str) -> None:
        self.faults.add(Place(self.file, line, column), wrong, expected, mend)

    def build(self, events: Iterator[Any]) -> Node | None:
        """Return the root of the first document."""
        import yaml

        handlers = {
            yaml.ScalarEvent: self._scalar,
            yaml.MappingStartEvent: self._mapping,
            yaml.SequenceStartEvent: self._sequence,
            yaml.MappingEndEvent: self._end,
            yaml.SequenceEndEvent: self._end,
            yaml.AliasEvent: self._alias,
            yaml.DocumentStartEvent: self._document,
        }
        for event in events:
            handler = handlers.get(type(event))
            if handler is not None and not handler(event):
                break
        return self.root

    def _document(self, event: Any) -> bool:
        self.documents += 1
        if self.documents > 1:
            mark = event.start_mark
            self._fault(
                mark.line + 1,
                mark.column + 1,
                "a second document starts here",
                "one document a file",
                "delete the `---` line and what follows it",
            )
            return False
        return True

    def _scalar(self, event: Any) -> bool:
        mark = event.start_mark
        node = Scalar(event.value, mark.line + 1, mark.column + 1, not event.style)
        if event.anchor or event.tag:
            self._marks(event, node.line, node.column)
        parent = self.stack[-1][0] if self.stack else None
        key = self.key
        if type(parent) is Mapping and key is not None and key.value not in parent.entries:
            parent.entries[key.value] = (key, node)  # most of a file
            self.key = None
            return True
        if key is None and type(parent) is Mapping:
            self.key = node
            if node.value == "<<" and node.plain:
                self._fault(
                    node.line,
                    node.column,
                    "`<<` merges another block",
                    "every key written out",
                    "copy the keys in its place",
                )
            return True
        self._place(node)
        return True

    def _marks(self, event: Any, line: int, column: int) -> None:
        anchor, tag = event.anchor, event.tag
        what = f"anchor `&{anchor}`" if anchor else f"tag `{tag}`"
        self._fault(
            line,
            column,
            f"{what} is not part of a project file",
            "plain keys, lists and text",
            "delete it and write the value out",
        )

    def _alias(self, event: Any) -> bool:
        mark = event.start_mark
        self._fault(
            mark.line + 1,
            mark.column + 1,
            f"alias `*{event.anchor}` repeats another block",
            "every value written out",
            "copy the value in its place",
        )
        node = Scalar("", mark.line + 1, mark.column + 1, True)
        if self.stack and self.key is None and type(self.stack[-1][0]) is Mapping:
            self.key = node
        else:
            self._place(node)
        return True

    def _open(self, event: Any, node: Mapping | Sequence) -> bool:
        if event.anchor or event.tag:
            self._marks(event, node.line, node.column)
        if len(self.stack) >= MOST_DEPTH:
            self._fault(
                node.line,
                node.column,
                f"blocks are nested over {MOST_DEPTH} deep",
                "the few levels of a project file",
                "check the brackets and indentation",
            )
            return False
        if self.stack and self.key is None and type(self.stack[-1][0]) is Mapping:
            self._fault(
                node.line,
                node.column,
                "a block stands where a key belongs",
                "a plain word as key",
                "check the brackets and indentation",
            )
            return False
        self._place(node)
        self.stack.append((node, self.key))
        self.key = None
        return True

    def _mapping(self, event: Any) -> bool:
        mark = event.start_mark
        return self._open(event, Mapping(mark.line + 1, mark.column + 1))

    def _sequence(self, event: Any) -> bool:
        mark = event.start_mark
        return self._open(event, Sequence(mark.line + 1, mark.column + 1))

    def _end(self, _event: Any) -> bool:
        self.stack.pop()
        self.key = None
        return True

    def _place(self, node: Node) -> None:
        if not self.stack:
            self.root = node
            return
        parent = self.stack[-1][0]
        if type(parent) is Sequence:
            parent.items.append(node)
            return
        assert isinstance(parent, Mapping)
        assert self.key is not None
        key, self.key = self.key, None
        if key.value in parent.entries:
            first = parent.entries[key.value][0]
            self._fault(
                key.line,
                key.column,
                f"key `{key.value}` is repeated",
                "each key once in a block",
                f"delete one; the first stands at line {first.line}",
            )
            return
        parent.entries[key.value] = (key, node)
