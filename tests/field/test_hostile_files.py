"""Whatever bytes a file holds, taking it in ends with rows or with a reason, never with a traceback."""

from __future__ import annotations

import json

from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.field.batch_content import read_content, sheet_content
from estimator.field.intake import read_data
from estimator.field.mapping import read_mapping
from estimator.field.taken import How
from estimator.spec.faults import Faults
from tests.field.test_mapping import BENCH, LONG, mapping

WAYS = (How(), How(mapping=mapping()), How(mapping=mapping(LONG)), How(options={"decimals": "comma", "dates": "dmy"}))
CELLS = st.sampled_from(
    ("Circuit", "Closet", "Port", "Verdict", "Len 12", "Pair", "1-2", "1A-A02", "OK", "50,1", '"', "")
)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-9, 9) | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(("dropledger_rows", "sheets", "medium", "rows", "cells", "circuit", "stated", "note", "x")),
            inner,
            max_size=5,
        )
    ),
    max_leaves=12,
)
FILES = st.one_of(
    st.tuples(st.just("a.csv"), st.lists(st.lists(CELLS, max_size=9).map(";".join), max_size=8).map("\n".join)),
    st.tuples(st.just("a.json"), VALUES.map(json.dumps)),
    st.tuples(
        st.just("a.json"),
        VALUES.map(lambda rows: json.dumps({"dropledger_rows": 1, "sheets": [{"medium": "coax", "rows": [rows]}]})),
    ),
    st.tuples(st.sampled_from(("a.csv", "a.json", "a.xlsx", "a")), st.text(max_size=60)),
).map(lambda file: (file[0], file[1].encode("utf-8", "surrogatepass")))


@settings(max_examples=300, deadline=None)
@given(
    file=FILES | st.tuples(st.sampled_from(("a.csv", "a.json", "a.xlsx")), st.binary(max_size=80)),
    how=st.sampled_from(WAYS),
)
def test_any_bytes_end_in_rows_or_a_reason(file: tuple[str, bytes], how: How) -> None:
    """What is taken comes back from its batch as it was read."""
    taken = read_data(*file, None, how)
    assert taken.sheets or taken.aside
    assert all(aside.wrong and aside.expected and aside.mend for aside in taken.aside)
    if taken.sheets:
        rows = list(read_content(sheet_content(taken)).rows("b" * 64, 0))
        assert [(row.circuit, dict(row.cells), row.numbers) for row in rows] == [
            (row.circuit, dict(row.cells), row.numbers) for sheet in taken.sheets for row in sheet.rows
        ]


@settings(max_examples=150, deadline=None)
@given(place=st.integers(0, len(BENCH)), length=st.integers(0, 30), put=st.text(max_size=6))
def test_a_damaged_mapping_is_a_fault_or_a_mapping(place: int, length: int, put: str) -> None:
    """A piece cut out and another put in; a fault has a line of the file."""
    data = (BENCH[:place] + put + BENCH[place + length :]).encode("utf-8", "surrogatepass")
    faults = Faults()
    found = read_mapping("m.yaml", data, faults)
    assert (found is None) == bool(faults.found)
    assert all(fault.place.file == "m.yaml" and fault.place.line >= 1 for fault in faults.found)
