"""Pictures of the documents: drawn from the invented library, inside their sheets, read and told in words."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import docx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.documents import picture_conduits, picture_results
from estimator.documents.binder import binder
from estimator.documents.calc_sheets import calc_sheets
from estimator.documents.closeout_book import closeout_book
from estimator.documents.description import Document, Paragraph, Picture, Section
from estimator.documents.docx_writer import write_docx
from estimator.documents.drawing import Area, Disc, Drawing, Line, Words, box_of, cut, hatched, label, words_mm
from estimator.documents.drawn import pathway_pictures, result_pictures
from estimator.documents.emf import SHADES, UNITS_PER_MM, emf
from estimator.documents.estimate_book import estimate_book
from estimator.documents.picture_battery import battery_picture
from estimator.documents.picture_lines import MOST_CIRCUITS, MOST_STOPS, MOST_SWITCHES, switch_pictures, unit_picture
from estimator.documents.picture_map import MOST_MAPS, MOST_SEGMENTS, layers, map_pictures
from estimator.documents.picture_results import margins
from estimator.documents.xlsx_writer import write_xlsx
from estimator.field.progress import by_system
from estimator.takeoff.battery_run import work_out_run
from estimator.takeoff.takeoff import Takeoff
from tests.documents.job_sample import empty_job, job, project, takeoff
from tests.documents.pages import LEFT_OUT, printed
from tests.documents.recalculate import program
from tests.documents.validity import schema_faults

WP = "{http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing}"
XDR = "{http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing}"
EMU_PER_MM = 36000
PT_PER_MM = 72 / 25.4


def _without_places(job_takeoff: Takeoff) -> Takeoff:
    """Return the job as if nobody had typed where its rooms and points lie."""
    held = job_takeoff.project
    rooms = {name: replace(room, x=None, y=None) for name, room in held.rooms.items()}
    nodes = {name: replace(node, x=None, y=None) for name, node in held.nodes.items()}
    return replace(job_takeoff, project=replace(held, rooms=rooms, nodes=nodes))


def _loops() -> Iterator[Picture]:
    """Yield a unit's diagram with class A circuits, one of more devices than are drawn, and more circuits than that."""
    sheet, held = takeoff().power.batteries.sheets[0], project()
    first = next(one for one in held.circuits.values() if one.feed == sheet.id)
    loop = replace(first, circuit_class="A", return_m=30.0, stops=first.stops * 3)
    for many in (1, MOST_CIRCUITS + 2):
        circuits = {f"L-{number}": replace(loop, id=f"L-{number}") for number in range(many)}
        yield unit_picture(sheet, replace(held, circuits=circuits))


def _empty_sets() -> Iterator[Picture | None]:
    """Yield batteries that are empty in standby and in alarm."""
    sheet = takeoff().power.batteries.sheets[0]
    assert sheet.run is not None
    yield battery_picture(replace(sheet, run=work_out_run(sheet.unit, 1.0, sheet.run.steps)))
    steps = ((sheet.standby_a, 86400.0), (sheet.alarm_a * 5, 1800.0))
    yield battery_picture(replace(sheet, run=work_out_run(sheet.unit, sheet.standby_a * 25, steps)))


@cache
def every() -> tuple[Picture, ...]:
    """Return all kinds of pictures: of the library, and of what the library does not have."""
    sheets = takeoff().power.batteries.sheets
    found = [
        *pathway_pictures(takeoff()),
        *map_pictures(_without_places(takeoff())),
        *(unit_picture(one, project()) for one in sheets),
        *(battery_picture(one) for one in sheets),
        *switch_pictures(takeoff().power.poe.switches),
        *(result_pictures(project(), job())),
        *(result_pictures(project(), empty_job())),
        *_loops(),
        *_empty_sets(),
    ]
    return tuple(picture for picture in found if picture is not None)


PICTURES = pytest.mark.parametrize("picture", every(), ids=[f"{place}-{one.name}" for place, one in enumerate(every())])


def _words(picture: Picture) -> list[Words]:
    return [mark for mark in picture.drawing.marks if isinstance(mark, Words) and mark.text]


# --- what is drawn -----------------------------------------------------------------------------


@PICTURES
def test_nothing_is_drawn_outside_the_sheet(picture: Picture) -> None:
    drawing = picture.drawing
    boxes = [(box_of(mark), mark) for mark in drawing.marks]

    out = [
        mark
        for box, mark in boxes
        if box.left < 0 or box.top < 0 or box.right > drawing.width_mm or box.bottom > drawing.height_mm
    ]
    assert not out
    assert len(boxes) > 5


@PICTURES
def test_no_words_stand_over_others(picture: Picture) -> None:
    placed = [(box_of(one), one.text) for one in _words(picture)]

    assert len(placed) > 2
    assert not [(one, other) for (a, one), (b, other) in combinations(placed, 2) if a.touches(b)]


@PICTURES
def test_a_picture_fits_a_page_and_is_told_in_words(picture: Picture) -> None:
    assert picture.drawing.width_mm <= 178.0  # between the margins of an upright page of either paper
    assert picture.drawing.height_mm <= 150.0  # of a page lying on its side, with its caption
    assert len(picture.alternative) > 40
    assert picture.alternative.endswith(".")
    assert picture.title
    assert picture.caption.endswith(".")


def test_gray_and_hatch_tell_the_parts_of_a_bar_and_the_cables_apart() -> None:
    parts = [(shade, hatch) for _, _, shade, hatch in picture_results._PARTS]
    fills = picture_conduits._FILLS
    assert len(set(parts)) == len(parts)
    assert len(set(fills)) == len(fills)
    plain = [shade for shade, hatch in parts if not hatch]
    grays = sorted(_gray(SHADES[shade]) for shade in plain)
    assert all(after - before >= 30 for before, after in pairwise(grays))  # of 255


def _gray(color: str) -> float:
    red, green, blue = bytes.fromhex(color)
    return 0.299 * red + 0.587 * green + 0.114 * blue


def test_a_conduit_shows_as_many_cables_as_it_holds() -> None:
    shown = picture_conduits.fullest(takeoff().fill)
    picture = picture_conduits.conduits_picture(takeoff().fill, project())
    assert picture is not None
    keys = len({cable.id for one in shown for cable, _ in one.lying}) + any(one.existing for one in shown)
    edges = [mark for mark in picture.drawing.marks if isinstance(mark, Disc) and mark.stroke and mark.radius_mm > 0]
    rings = sum(mark == "ring" for _, mark in picture_conduits._FILLS)
    cables = sum(one.lies for one in shown)
    assert len(shown) >= 4
    assert cables + keys <= len(edges) <= (cables + keys) * (1 + rings)
    assert shown[0].is_over
    assert "C1-K, 1 EMT: 9 c6; filled 41.4 % of at most 40.0 %, overfull." in picture.alternative


def test_the_fullest_conduits_come_first_and_equal_ones_once() -> None:
    fill = takeoff().fill
    twice = replace(fill, segments=fill.segments * 2)
    ratios = [one.share / one.limit.share for one in picture_conduits.fullest(fill) if one.share and one.limit]

    assert ratios == sorted(ratios, reverse=True)
    assert picture_conduits.fullest(twice) == picture_conduits.fullest(fill)


def test_a_map_names_every_segment_of_its_floor_and_the_way_to_others() -> None:
    first = map_pictures(takeoff())[0]
    texts = " ".join(one.text for one in _words(first))

    for segment in ("T1-0", "T1-1", "C1-K", "J1-E"):
        assert segment in texts
    assert "C1-K 41 %" in texts
    assert "Room 1A" in texts
    assert "To other floors: R1 from 1A to 2A" in first.caption


def test_a_large_map_keeps_the_segments_with_the_most_cables() -> None:
    base = takeoff()
    many = tuple(
        replace(one, segment=replace(one.segment, id=f"{one.id}-{number}"))
        for number in range(5)
        for one in base.fill.segments
    )
    picture = map_pictures(_without_places(replace(base, fill=replace(base.fill, segments=many))))[0]

    assert f"The {MOST_SEGMENTS} segments with the most cables; {len(many) - MOST_SEGMENTS} more" in picture.caption


def test_what_is_too_much_to_draw_is_named() -> None:
    base = takeoff()
    held = base.project
    first = base.fill.segments[0].segment
    rooms = {f"R{number}": replace(held.rooms["1A"], id=f"R{number}", floor=f"{number}") for number in range(6)}
    nodes = {
        f"N{number}": replace(held.nodes[first.end], id=f"N{number}", floor=f"{number}", x=90.0) for number in range(6)
    }
    segments = tuple(
        replace(base.fill.segments[0], segment=replace(first, id=f"S{number}", start=f"R{number}", end=f"N{number}"))
        for number in range(6)
    )
    project_of_six = replace(held, rooms=rooms, nodes=nodes)
    maps = map_pictures(replace(base, project=project_of_six, fill=replace(base.fill, segments=segments)))
    switch = base.power.poe.switches[0]
    diagrams = switch_pictures([switch] * (MOST_SWITCHES + 3))
    conduit = picture_conduits.fullest(base.fill)[0]
    (cable, _), *_ = conduit.lying
    crowded = replace(conduit, counts=((cable, picture_conduits.MOST_CABLES + 1),))
    conduits = picture_conduits.conduits_picture(replace(base.fill, segments=(crowded, conduit)), held)

    assert len(maps) == MOST_MAPS
    assert maps[-1].caption.endswith("Not drawn, with fewer cables: floor 4, floor 5.")
    assert len(diagrams) == MOST_SWITCHES
    assert diagrams[-1].caption.endswith("The other 3 are in the table only.")
    assert conduits is not None
    assert conduits.caption.endswith(f"over {picture_conduits.MOST_CABLES} cables: {conduit.id}.")


def test_layers_count_the_steps_from_the_nearest_room() -> None:
    points = layers([("A", "n1"), ("n1", "n2"), ("n1", "n3"), ("B", "n3"), ("far", "away")], ["A", "B"])

    assert {name: point[0] for name, point in points.items()} == {
        "A": 0.0,
        "B": 0.0,
        "n1": 1.0,
        "n3": 1.0,
        "n2": 2.0,
        "far": 0.0,
        "away": 1.0,
    }
    assert len(set(points.values())) == len(points)


def test_a_battery_shows_its_cut_off_and_when_it_is_empty() -> None:
    through, empty = battery_picture(takeoff().power.batteries.sheets[0]), next(_empty_sets())
    assert through is not None
    assert empty is not None
    # Source: end of discharge of a lead-acid cell, 1.75 V (battery practice, IEEE Std 485); twelve cells.
    assert any(one.text == "cut-off 21.00 V" for one in _words(through))
    assert "It lasts." in through.alternative
    assert any(one.text.startswith("empty, ") for one in _words(empty))


def test_a_class_a_circuit_comes_back_and_more_devices_are_counted() -> None:
    loop, many = _loops()
    dashed = [one for one in loop.drawing.marks if isinstance(one, Line) and one.stroke.dashed]

    assert len(dashed) == 2
    assert "return of a class A circuit" in loop.caption
    circuit = next(one for one in project().circuits.values() if one.feed == takeoff().power.batteries.sheets[0].id)
    assert any(one.text == f"+ {len(circuit.stops) * 3 - MOST_STOPS}" for one in _words(loop))
    assert any(one.text == "2 more" for one in _words(many))


def test_bars_of_progress_count_all_circuits() -> None:
    picture = result_pictures(project(), job())[0]
    systems = by_system(job().result)

    assert all(f": {one.circuits} circuit" in picture.alternative for one in systems)
    assert sum("% complete" in one.text for one in _words(picture)) == len(systems)


def test_margins_are_the_least_of_each_circuit_least_first() -> None:
    found = margins(project(), job())

    assert len(found) > 3
    for own in found.values():
        assert [one.margin for one in own] == sorted(one.margin for one in own)
        assert len({one.circuit for one in own}) == len(own)


def test_nothing_is_drawn_where_nothing_was_read() -> None:
    assert [one.name for one in result_pictures(project(), empty_job())] == ["progress_drawn"]


# --- the vocabulary ----------------------------------------------------------------------------


@settings(max_examples=80, deadline=None)
@given(
    left=st.floats(0, 50), top=st.floats(0, 50), width=st.floats(0.1, 60), height=st.floats(0.1, 60),
    hatch=st.sampled_from(["rising", "falling", "crossed", "level"]),
)  # fmt: skip
def test_a_hatch_stays_in_its_box(left: float, top: float, width: float, height: float, hatch: str) -> None:
    lines = list(hatched(left, top, width, height, hatch))  # type: ignore[arg-type]

    for one in lines:
        for x, y in one.points:
            assert left - 1e-9 <= x <= left + width + 1e-9
            assert top - 1e-9 <= y <= top + height + 1e-9
    assert lines or min(width, height) < 2.0


@settings(max_examples=60, deadline=None)
@given(text=st.text(max_size=60), room=st.floats(1.0, 60.0))
def test_cut_text_fits_its_room(text: str, room: float) -> None:
    assert words_mm(cut(text, 7.0, room), 7.0) <= room


# --- the metafile ------------------------------------------------------------------------------


def _records(data: bytes) -> Iterator[tuple[int, bytes]]:
    at = 0
    while at < len(data):
        kind, size = struct.unpack_from("<II", data, at)
        assert size >= 8
        assert size % 4 == 0
        yield kind, data[at + 8 : at + size]
        at += size
    assert at == len(data)


# Source: [MS-EMF], section 2.3.4.2, the header record: signature, version, size, records, handles, device.
@PICTURES
def test_a_metafile_says_truly_what_it_holds(picture: Picture) -> None:
    data = emf(picture.drawing)
    records = list(_records(data))
    kinds = [kind for kind, _ in records]
    signature, version, size, count, handles = struct.unpack_from("<4sIIIH", data, 40)

    assert (kinds[0], kinds[-1]) == (1, 14)
    assert (signature, version, size, count) == (b" EMF", 0x10000, len(data), len(records))
    made = [struct.unpack_from("<I", body)[0] for kind, body in records if kind in (38, 39, 82)]
    assert made == list(range(1, len(made) + 1))
    assert handles == len(made) + 1
    frame = struct.unpack_from("<4i", data, 24)
    assert frame == (0, 0, round(picture.drawing.width_mm * 100), round(picture.drawing.height_mm * 100))
    assert set(kinds) <= {1, 3, 4, 9, 10, 11, 12, 14, 17, 18, 19, 22, 24, 37, 38, 39, 42, 82, 84}


def test_a_metafile_holds_the_words_and_the_shapes() -> None:
    marks = (
        label((10.0, 20.0), "Gauge 14 \N{DEGREE SIGN}C"),
        Area(points=((1.0, 1.0), (5.0, 1.0), (5.0, 4.0))),
        Line(points=((0.0, 0.0), (9.0, 9.0))),
        label((5.0, 25.0), "\N{ARABIC LETTER AIN}\N{ARABIC LETTER REH}"),
    )
    records = list(_records(emf(Drawing(width_mm=40.0, height_mm=30.0, marks=marks))))
    texts = [body for kind, body in records if kind == 84]

    assert "Gauge 14 \N{DEGREE SIGN}C".encode("utf-16-le") in texts[0]
    assert struct.unpack_from("<ii", texts[0], 28) == (10 * UNITS_PER_MM, 20 * UNITS_PER_MM)
    steps = struct.unpack("<11i", texts[0][-44:])
    assert sum(steps) == pytest.approx(words_mm("Gauge 14 \N{DEGREE SIGN}C", 7.0) * UNITS_PER_MM, abs=1)
    # Letters of a script that joins them are left to the program that shows them.
    assert struct.unpack_from("<I", texts[1], 28 + 36)[0] == 0
    assert [len(body) for kind, body in records if kind == 3] == [16 + 4 + 3 * 8]


def test_another_program_prints_the_words_where_they_stand(tmp_path: Path) -> None:
    """LibreOffice shows each word within a millimeter of its place, in the size that was asked for."""
    program("soffice", LEFT_OUT)
    spots = {"alpha": (12.0, 15.0, "left"), "beta": (60.0, 30.0, "center"), "gamma": (90.0, 45.0, "right")}
    marks = tuple(label((x, y), text, 9.0, align=align) for text, (x, y, align) in spots.items())  # type: ignore[arg-type]
    picture = replace(every()[0], drawing=Drawing(width_mm=100.0, height_mm=50.0, marks=marks))
    (tmp_path / "p.docx").write_bytes(write_docx(_document(picture)))
    words = {word.text: word for page in printed([tmp_path / "p.docx"], tmp_path)["p.docx"] for word in page.words}
    first = words["alpha"]
    origin_x = first.left - 12.0 * PT_PER_MM
    for text, (x, y, align) in spots.items():
        word = words[text]
        at = {"left": word.left, "center": (word.left + word.right) / 2, "right": word.right}[align]
        assert at == pytest.approx(origin_x + x * PT_PER_MM, abs=PT_PER_MM)
        assert word.bottom - first.bottom == pytest.approx((y - 15.0) * PT_PER_MM, abs=PT_PER_MM)
        assert word.right - word.left == pytest.approx(words_mm(text, 9.0) * PT_PER_MM, rel=0.05)


def _document(*pictures: Picture) -> Document:
    blocks = (*pictures, Paragraph("After it."))
    section = Section(title="One", blocks=blocks)
    return Document(
        title="Sample", subtitle="", job="Job", number="1", revision="A", shown_date=None, author="Maker", subject="",
        sections=(section,),
    )  # fmt: skip


# --- in the documents --------------------------------------------------------------------------


@cache
def _word(which: str) -> bytes:
    made = {"binder": lambda: binder(takeoff(), job(), None), "sheets": lambda: calc_sheets(takeoff(), None)}
    return write_docx(made[which]())


@cache
def _book(which: str) -> bytes:
    made = {
        "estimate": lambda: estimate_book(takeoff(), None),
        "closeout": lambda: closeout_book(takeoff(), job(), None),
    }
    return write_xlsx(made[which]())


@pytest.mark.parametrize(("which", "least"), [("binder", 8), ("sheets", 6)])
def test_every_picture_of_a_word_document_has_words_and_a_caption(which: str, least: int) -> None:
    word = docx.Document(io.BytesIO(_word(which)))
    paragraphs = list(word.paragraphs)
    found = [number for number, one in enumerate(paragraphs) if one._p.findall(f".//{WP}inline")]

    assert len(found) >= least
    for count, number in enumerate(found, start=1):
        properties = paragraphs[number]._p.find(f".//{WP}docPr")
        assert properties is not None
        assert len(properties.get("descr", "")) > 40
        assert properties.get("title")
        assert paragraphs[number].paragraph_format.keep_with_next
        assert paragraphs[number + 1].text.startswith(f"Figure {count}. ")
        assert paragraphs[number + 1].style is not None
        assert paragraphs[number + 1].style.name == "Figure Caption"  # of a table it would keep with what follows
    identities = [one.get("id") for one in word.element.body.iter(f"{WP}docPr")]
    assert len(set(identities)) == len(identities)
    images = [part for name, part in _parts(_word(which)).items() if name.endswith(".emf")]
    assert len(images) == len(found)
    assert all(struct.unpack_from("<4s", image, 40)[0] == b" EMF" for image in images)


def _parts(archive: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(archive)) as held:
        return {name: held.read(name) for name in held.namelist()}


def test_a_wide_picture_is_shrunk_to_the_text(tmp_path: Path) -> None:
    wide = replace(every()[0], drawing=replace(every()[0].drawing, width_mm=400.0, height_mm=100.0))
    word = docx.Document(io.BytesIO(write_docx(_document(wide))))
    extent = next(word.element.body.iter(f"{WP}extent"))
    across, down = (int(extent.get(side)) / EMU_PER_MM for side in ("cx", "cy"))

    assert across < 173.0  # Letter, less its margins of 21.6 mm
    assert across / down == pytest.approx(4.0, rel=1e-4)


@pytest.mark.parametrize(("which", "least"), [("estimate", 3), ("closeout", 3)])
def test_every_picture_of_a_workbook_has_words_and_lies_on_paper(which: str, least: int) -> None:
    parts = _parts(_book(which))
    drawings = [name for name in parts if name.startswith("xl/drawings/drawing")]
    anchors = [
        anchor for name in drawings for anchor in ElementTree.fromstring(parts[name]).iter(f"{XDR}oneCellAnchor")
    ]

    assert len(anchors) >= least
    for anchor in anchors:
        named = anchor.find(f"{XDR}pic/{XDR}nvPicPr/{XDR}cNvPr")
        assert named is not None
        assert len(named.get("descr", "")) > 40
        assert named.get("title")
    assert b'Extension="emf"' in parts["[Content_Types].xml"]
    assert len([name for name in parts if name.endswith(".emf")]) == len(anchors)


def test_sheets_and_drawings_of_a_workbook_keep_to_the_schema(tmp_path: Path) -> None:
    (tmp_path / "book.xlsx").write_bytes(_book("estimate"))

    assert not [fault for fault in schema_faults(tmp_path / "book.xlsx") if not fault.startswith("/xl/styles.xml")]


def test_a_sheet_gives_a_picture_the_room_it_takes() -> None:
    parts = _parts(write_xlsx(_document(every()[0], every()[1])))
    sheet, drawing = (
        ElementTree.fromstring(parts[name]) for name in ("xl/worksheets/sheet1.xml", "xl/drawings/drawing1.xml")
    )
    main = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    heights = {int(row.get("r", 0)): float(row.get("ht", 0)) for row in sheet.iter(f"{main}row")}
    wide = sum(
        float(column.get("width", 0)) * (int(column.get("max", 0)) - int(column.get("min", 0)) + 1)
        for column in sheet.iter(f"{main}col")
    )
    previous = 0
    for anchor, picture in zip(drawing.iter(f"{XDR}oneCellAnchor"), every()[:2], strict=True):
        row = int(anchor.findtext(f"{XDR}from/{XDR}row", "")) + 1
        assert row > previous
        left, previous = picture.drawing.height_mm * PT_PER_MM, row - 1
        while left > 0:
            previous += 1
            left -= heights[previous]
            assert heights[previous] == 18.0
        assert picture.drawing.width_mm <= wide * 7 * 25.4 / 96  # a digit is 7 dots of 96 an inch


def test_the_same_pictures_are_the_same_bytes() -> None:
    assert write_docx(_document(*every())) == write_docx(_document(*every()))
    assert write_xlsx(_document(*every())) == write_xlsx(_document(*every()))


HOSTILE = ("=1+1", "<b>&'\"", "\N{RIGHT-TO-LEFT OVERRIDE}ABC", "\N{GRINNING FACE} x", "W" * 5000)


@pytest.mark.parametrize("text", HOSTILE, ids=["formula", "markup", "direction", "emoji", "long"])
def test_any_name_is_drawn_inside_the_sheet_and_told_as_it_is(text: str) -> None:
    sheet = takeoff().power.batteries.sheets[0]
    picture = unit_picture(replace(sheet, unit=replace(sheet.unit, name=text)), project())
    test_nothing_is_drawn_outside_the_sheet(picture)
    test_no_words_stand_over_others(picture)
    assert text in picture.alternative
    word = docx.Document(io.BytesIO(write_docx(_document(picture))))
    properties = next(word.element.body.iter(f"{WP}docPr"))
    assert text in str(properties.get("descr"))
    drawing = ElementTree.fromstring(_parts(write_xlsx(_document(picture)))["xl/drawings/drawing1.xml"])
    assert text in next(drawing.iter(f"{XDR}cNvPr")).get("descr", "")
