"""The YAML reader: text stays text, every key has its place, and what hides is a fault."""

from __future__ import annotations

import pytest

from estimator.spec.faults import Faults
from estimator.spec.nodes import MOST_DEPTH, Mapping, Scalar, Sequence, read_yaml


def read(text: str | bytes) -> tuple[object, list[str]]:
    """Return the tree and the faults of a text."""
    faults = Faults()
    data = text.encode() if isinstance(text, str) else text
    return read_yaml(data, "x.yaml", faults), [str(fault) for fault in faults.sorted()]


@pytest.mark.parametrize("typed", ["010", "1:12", "no", "on", "1_000", "1e3", "0x1F", "2026-01-01", "~", "null", "="])
def test_plain_text_stays_what_was_typed(typed: str) -> None:
    """Source: YAML 1.1 types that turn labels into numbers, answers and dates (YAML 1.1, 10.2)."""
    node, faults = read(f"a: {typed}\n")
    assert not faults
    assert isinstance(node, Mapping)
    value = node.entries["a"][1]
    assert isinstance(value, Scalar)
    assert value.value == typed


def test_every_key_and_value_knows_its_place() -> None:
    """Lines and columns count from one."""
    node, _ = read("a: 1\nb:\n  - {c: 2}\n")
    assert isinstance(node, Mapping)
    key, listed = node.entries["b"]
    assert (key.line, key.column) == (2, 1)
    assert isinstance(listed, Sequence)
    inner = listed.items[0]
    assert isinstance(inner, Mapping)
    value = inner.entries["c"][1]
    assert (value.line, value.column) == (3, 9)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("a: &x 1\n", "x.yaml:1:4: anchor `&x` is not part of a project file"),
        ("a: *x\n", "x.yaml:1:4: alias `*x` repeats another block"),
        ("a: !!int 3\n", "x.yaml:1:4: tag `tag:yaml.org,2002:int` is not part of a project file"),
        ("<<: {a: 1}\n", "x.yaml:1:1: `<<` merges another block"),
        ("a: 1\na: 2\n", "x.yaml:2:1: key `a` is repeated"),
        ("a: 1\n---\nb: 2\n", "x.yaml:2:1: a second document starts here"),
        ("a: [1, 2\nb: 3\n", "x.yaml:2:2: this stops being YAML here"),
        ("? [a]\n: b\n", "x.yaml:1:3: a block stands where a key belongs"),
        ("a: \x07\n", "x.yaml:1:4: control character U+0007"),
        (b"a: \xff\n", "x.yaml:1:4: byte 0xff is not UTF-8 text"),
        ("a: " + "[" * (MOST_DEPTH + 2), f"x.yaml:1:{MOST_DEPTH + 3}: blocks are nested over {MOST_DEPTH} deep"),
    ],
)
def test_what_has_no_place_in_a_project_file_is_a_fault(text: str | bytes, fault: str) -> None:
    """Each with its place and its mend."""
    _, faults = read(text)
    assert any(line.startswith(fault) for line in faults), faults
    assert all(line.count("; ") >= 2 for line in faults)


def test_a_syntax_error_comes_with_all_that_was_found_before_it() -> None:
    """Nothing found earlier is lost."""
    _, faults = read("a: &x 1\nb: 1\nb: 2\nc: [\n")
    assert len(faults) == 3


def test_deep_nesting_is_refused_without_a_crash() -> None:
    """Source: a known crash of YAML parsers on a hundred thousand open brackets."""
    _, faults = read("a: " + "[" * 100_000)
    assert len(faults) == 1
