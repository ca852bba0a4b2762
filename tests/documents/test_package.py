"""The last pass makes the same bytes of the same content."""

from __future__ import annotations

import io
import zipfile
from datetime import date
from xml.etree import ElementTree

import pytest

from estimator.documents.package import Properties, finish, xml_text

_PARTS = {
    "xl/workbook.xml": b"<workbook/>",
    "docProps/core.xml": b"<stamped at=now/>",
    "docProps/app.xml": b"<library version=9/>",
    "[Content_Types].xml": b"<Types/>",
    "_rels/.rels": b"<Relationships/>",
}


def _archive(order: list[str], year: int) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in order:
            archive.writestr(zipfile.ZipInfo(name, (year, 5, 6, 7, 8, 10)), _PARTS[name])
    return out.getvalue()


def test_order_and_times_of_the_entries_leave_no_trace() -> None:
    said = Properties(title="Estimate", author="A. Writer", shown_date=date(2026, 3, 4))

    one = finish(_archive(list(_PARTS), 2024), properties=said)
    other = finish(_archive(sorted(_PARTS), 2025), properties=said)

    assert one == other
    with zipfile.ZipFile(io.BytesIO(one)) as archive:
        assert archive.namelist() == [
            "[Content_Types].xml", "_rels/.rels", "docProps/app.xml", "docProps/core.xml", "xl/workbook.xml",
        ]  # fmt: skip
        # As a file of a Unix system that all may read, packed: the same whatever machine wrote it.
        assert {
            (entry.create_system, entry.external_attr >> 16, entry.compress_type) for entry in archive.infolist()
        } == {(3, 0o100644, zipfile.ZIP_DEFLATED)}
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert archive.read("xl/workbook.xml") == b"<workbook/>"


def test_properties_come_from_the_document_alone() -> None:
    said = Properties(title="Bid < 5", subject="cabling", author="A & B", shown_date=date(2026, 3, 4))

    with zipfile.ZipFile(io.BytesIO(finish(_archive(list(_PARTS), 2024), properties=said))) as archive:
        core = archive.read("docProps/core.xml").decode()
        app = archive.read("docProps/app.xml").decode()

    assert "<dc:title>Bid &lt; 5</dc:title>" in core
    assert "<dc:creator>A &amp; B</dc:creator>" in core
    assert core.count("2026-03-04T00:00:00Z") == 2
    assert "stamped" not in core
    assert "version" not in app.replace('version="1.0"', "")


def test_each_part_of_ours_is_sound_xml() -> None:
    said = Properties(title="Bid < 5", author="A & B")

    with zipfile.ZipFile(io.BytesIO(finish(_archive(list(_PARTS), 2024), properties=said))) as archive:
        for name in ("docProps/core.xml", "docProps/app.xml"):
            part = archive.read(name)
            assert part.startswith(b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<')
            ElementTree.fromstring(part)


def test_parts_stand_by_name_and_folders_leave_no_entry() -> None:
    parts = {**_PARTS, "xl/b.xml": b"<b/>", "xl/a.xml": b"<a/>", "a/": b"", "custom/item.xml": b"<c/>"}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, part in parts.items():
            archive.writestr(name, part)

    with zipfile.ZipFile(io.BytesIO(finish(out.getvalue(), properties=Properties()))) as archive:
        assert archive.namelist() == [
            "[Content_Types].xml", "_rels/.rels", "docProps/app.xml", "docProps/core.xml",
            "custom/item.xml", "xl/a.xml", "xl/b.xml", "xl/workbook.xml",
        ]  # fmt: skip


def test_a_document_without_a_date_carries_a_fixed_one() -> None:
    with zipfile.ZipFile(io.BytesIO(finish(_archive(list(_PARTS), 2024), properties=Properties()))) as archive:
        assert archive.read("docProps/core.xml").decode().count("1980-01-01T00:00:00Z") == 2


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_an_entry_twice_is_refused() -> None:
    with pytest.raises(ValueError, match=r"holds an entry twice: _rels/\.rels, docProps/core\.xml$"):
        finish(_archive([*_PARTS, "docProps/core.xml", "_rels/.rels"], 2024), properties=Properties())


def test_an_archive_without_properties_is_refused() -> None:
    with pytest.raises(ValueError, match=r"has no docProps/core\.xml"):
        finish(_archive(["_rels/.rels"], 2024), properties=Properties())


@pytest.mark.parametrize(
    ("text", "escaped"),
    [("a\x00b", "a\ufffdb"), ("\ud800", "\ufffd"), ("tab\tline\n", "tab\tline\n"), ('<"&">', None)],
)
def test_what_xml_cannot_hold_is_replaced(text: str, escaped: str | None) -> None:
    assert xml_text(text) == (escaped or "&lt;&quot;&amp;&quot;&gt;")
