"""Corrected sheets: `corrects:` above a head names the sheet whose rows it replaces."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.field.batches import Stored
from estimator.field.preview import Listed
from estimator.field.rows import SHORT
from estimator.spec.faults import known_words

_LEAST_DIGITS = 8  # of a batch's hash, as judging takes them


def wrong_corrections(stored: Stored) -> Iterator[tuple[str, Listed]]:
    """Yield, with its batch, each sheet that corrects a sheet which was not collected before it."""
    order = {batch.id: place for place, batch in enumerate(stored.batches)}
    told: set[tuple[str, str, str]] = set()
    for row in stored.rows:
        named = row.stated.get("corrects", "").strip()
        key = (row.batch, row.tab, named)
        if not named or key in told:
            continue
        told.add(key)
        earlier = [one for one in stored.batches if one.kind == "sheet" and order[one.id] < order[row.batch]]
        if any(named == one.file or (len(named) >= _LEAST_DIGITS and one.id.startswith(named)) for one in earlier):
            continue
        known = known_words(f"{one.file} (batch {one.id[:SHORT]})" for one in reversed(earlier))
        where = f"{row.file}, sheet {row.tab}" if row.tab else row.file
        remark = (
            f"`corrects: {named[:60]}` names no sheet collected before, so that it replaces nothing; "
            f"expected one of: {known}; mend the name and collect it again"
        )
        yield row.batch, Listed(place=where, circuit="", remark=remark)
