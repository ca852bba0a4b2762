"""Trees to records: unknown keys, missing keys and every field's own complaint, all collected."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import TypeVar

from estimator.spec.faults import Faults, Place, ProblemError, known_words, nearest
from estimator.spec.fields import declared, has_source, required
from estimator.spec.nodes import Mapping, Scalar, Source, read_text, read_yaml

T = TypeVar("T")


def resolved(path: Path) -> Path | None:
    """Return where a path leads, or None where links lead in a circle."""
    try:
        return path.resolve()
    except (OSError, RuntimeError):
        return None


def regular_bytes(path: Path) -> bytes | None:
    """Return the bytes of a regular file, or None: pipes and devices would never end."""
    try:
        return path.read_bytes() if path.is_file() else None
    except OSError:
        return None


class Reader:
    """Reads records of one project: knows the file it is in, collects faults, remembers files read."""

    def __init__(self, folder: Path, faults: Faults) -> None:
        self.folder, self.faults = folder, faults
        self.file = ""
        self.files: dict[str, bytes] = {}

    def fault(self, place: Place, problem: ProblemError) -> None:
        """Add a problem at its place."""
        self.faults.add(place, problem.wrong, problem.expected, problem.mend)

    def record(self, cls: type[T], node: Mapping) -> T | None:
        """Return the record typed in a block, or None where a required key is missing or unusable."""
        fields = declared(cls)
        values: dict[str, object] = {}
        usable = True
        for key, (mark, value) in node.entries.items():
            field = fields.get(key)
            if field is None:
                self._unknown(key, mark, list(fields))
                continue
            try:
                values[field.attribute] = found = field.kind.read(value, self)
                usable = usable and not (found is None and field.required)
            except ProblemError as wrong:
                where = value if not isinstance(value, Scalar) or value.value else mark
                self.faults.add(
                    Place(self.file, where.line, where.column),
                    f"`{key}`: {wrong.wrong}",
                    wrong.expected,
                    wrong.mend,
                )
                usable = usable and not field.required
        for field in required(cls):
            if field.key not in node.entries:
                self.faults.add(
                    Place(self.file, node.line, node.column),
                    f"key `{field.key}` is missing",
                    field.kind.expects,
                    f"add `{field.key}:` ({field.help})",
                )
                usable = False
        if not usable:
            typed = {key: value.value for key, (_, value) in node.entries.items() if isinstance(value, Scalar)}
            self.faults.lost.append((cls.__name__, typed))
            return None
        if has_source(cls):
            values["source"] = Source(self.file, node)
        return cls(**values)

    def _unknown(self, key: str, mark: Scalar, known: list[str]) -> None:
        if key == "<<":
            return
        close = nearest(key, known)
        mend = f"write `{close}`" if close else "delete it or mend the name"
        place = Place(self.file, mark.line, mark.column)
        self.faults.add(place, f"key `{key}` is not known here", f"one of {known_words(known, 40)}", mend)

    def open(self, name: str, place: Place) -> bytes | None:
        """Return an included file's bytes, or None with a fault; nothing outside the folder is read."""
        path = resolved(self.folder / name)
        if path is not None and not path.is_relative_to(self.folder.resolve()):
            self.faults.add(
                place, f"{name!r} leaves the project's folder", "a file beside the project file", "move the file there"
            )
            return None
        data = None if path is None else regular_bytes(path)
        if data is None:
            self.faults.add(
                place,
                f"file {name!r} can't be read",
                "a file beside the project file",
                "mend the name or put the file there",
            )
            return None
        self.files[name] = data
        return data

    def yaml(self, name: str, place: Place) -> Mapping | None:
        """Return the tree of an included YAML file, or None with a fault."""
        data = self.open(name, place)
        if data is None:
            return None
        node = read_yaml(data, name, self.faults)
        if isinstance(node, Mapping):
            return node
        if node is not None or not self.faults.found:
            self.faults.add(Place(name, 1, 1), "the file has no keys", "`key: value` lines", "fill it")
        return None

    def within(self, file: str) -> _Within:
        """Return a context in which places belong to another file."""
        return _Within(self, file)

    def csv(self, name: str, place: Place) -> Iterator[Mapping]:
        """Yield the rows of an included CSV file as blocks of keys; empty cells are left out."""
        data = self.open(name, place)
        text = None if data is None else read_text(data, name, self.faults)
        if text is None:
            return
        first = text.split("\n", 1)[0]
        # The head row holds keys alone, so whichever sign stands between them parts the cells.
        delimiter = max(",;\t", key=first.count)
        lines = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        shown = name
        try:
            head = [h.strip() for h in next(lines, [])]
            if not head or len(set(head)) != len(head):
                self.faults.add(
                    Place(shown, 1, 1),
                    "the head row is empty or repeats a column",
                    "one column a key, each once",
                    "mend the first row",
                )
                return
            for cells in lines:
                row = self._row(head, cells, lines.line_num, shown)
                if row is not None:
                    yield row
        except csv.Error as wrong:
            self.faults.add(
                Place(shown, lines.line_num, 1),
                f"the row can't be read ({wrong})",
                "comma-separated cells, quotes in pairs",
                "mend the row",
            )

    def _row(self, head: list[str], cells: list[str], line: int, shown: str) -> Mapping | None:
        if not any(c.strip() for c in cells):
            return None
        if len(cells) > len(head) and any(c.strip() for c in cells[len(head) :]):
            self.faults.add(
                Place(shown, line, sum(len(c) + 1 for c in cells[: len(head)]) + 1),
                f"the row has {len(cells)} cells",
                f"{len(head)}, as the head row",
                "delete the extra cells, or quote a text that holds a comma",
            )
            return None
        row = Mapping(line, 1)
        column = 1
        for key, cell in zip(head, cells, strict=False):
            if cell.strip():
                value = cell.strip()
                # A spreadsheet guard that our own writer puts before = + - @ is taken off again.
                value = value[1:] if value[0] == "'" and value[1:2] in ("=", "+", "-", "@") else value
                row.entries[key] = (Scalar(key, 1, 1, True), Scalar(value, line, column, False))
            column += len(cell) + 1
        return row


class _Within:
    """Switches the reader's file for the length of a block."""

    def __init__(self, reader: Reader, file: str) -> None:
        self.reader, self.file, self.before = reader, file, reader.file

    def __enter__(self) -> None:
        self.reader.file = self.file

    def __exit__(self, *_: object) -> None:
        self.reader.file = self.before
