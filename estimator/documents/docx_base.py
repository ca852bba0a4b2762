"""A company's own Word document as the base of ours: what is taken over, and what is left behind.

Taken are its styles, lists, theme, paper and margins, and what runs along the head and foot of its
pages with the pictures in it. A new package is made of these parts alone, so nothing else comes
along: no text of the body, macro, comment, tracked change, embedded object, or link to outside.
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from estimator.documents.docx_base_parts import PartError, Tree, cleaned, parsed, written
from estimator.documents.docx_pages import Page
from estimator.documents.package import APP, CORE, Properties, app_part, core_part

_MOST_BYTES: Final = 50_000_000
_MOST_INSIDE: Final = 200_000_000
_MOST_RATIO: Final = 200
_MOST_PARTS: Final = 5_000
"""A base document is a few hundred kB; more than this is somebody's attack or mistake."""

_LEAST_TEXT: Final = 5000  # between the margins, in both directions [twips]
_SIDES: Final = ("top", "right", "bottom", "left", "header", "footer")
_RUNNING: Final = tuple((kind, page) for kind in ("header", "footer") for page in ("default", "first"))
_PICTURES: Final = ("png", "jpg", "jpeg", "gif", "bmp", "tif", "tiff", "emf", "wmf")
_RESAVE: Final = "open it in Word and save it as Word document (.docx)"
_BROKEN: Final = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, KeyError, OSError)

_WORD: Final = "application/vnd.openxmlformats-officedocument.wordprocessingml"
_MAINS: Final = (f"{_WORD}.document.main+xml", f"{_WORD}.template.main+xml")
_OFFICE: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE: Final = "http://schemas.openxmlformats.org/package/2006"
_CORE_KIND: Final = "application/vnd.openxmlformats-package.core-properties+xml"
_APP_KIND: Final = "application/vnd.openxmlformats-officedocument.extended-properties+xml"
_OLD_WORD: Final = b"\xd0\xcf\x11\xe0"
_HEAD: Final = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


class BaseError(Exception):
    """A document that can't be the base of ours: what is wrong, and how to mend it."""

    def __init__(self, what: str, mend: str) -> None:
        super().__init__(f"{what}; {mend}")
        self.what: Final = what
        self.mend: Final = mend


@dataclass(frozen=True, kw_only=True, slots=True)
class Base:
    """A base document that was checked: a package of the parts taken over, and its upright page.

    ``running`` are the relations of what runs along its pages, by kind and page.
    """

    package: bytes
    page: Page
    running: Mapping[tuple[str, str], str]


def read_base(path: Path) -> Base:
    """Return a company's document as a base.

    Raises: BaseError where the file is none, or more than a base should be.
    """
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except OSError as wrong:
        raise BaseError(f"can't be read: {wrong.strerror}", "name a Word document (.docx)") from wrong
    if len(data) > _MOST_BYTES:
        raise BaseError(f"is larger than {_MOST_BYTES:,} bytes", "take the text and large pictures out of it")
    if data.startswith(_OLD_WORD):
        raise BaseError("is an old .doc file, or has a password", f"{_RESAVE}, without a password")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            _guard(archive, len(data))
            return _Reader(archive).base()
    except _BROKEN as wrong:
        raise BaseError("is not a whole Word document", _RESAVE) from wrong
    except PartError as wrong:
        raise BaseError(wrong.what, wrong.mend or _RESAVE) from wrong


def _guard(archive: zipfile.ZipFile, size: int) -> None:
    entries = archive.infolist()
    inside = sum(entry.file_size for entry in entries)
    if inside > _MOST_INSIDE or inside > _MOST_RATIO * size or len(entries) > _MOST_PARTS:
        raise BaseError(f"unpacks to {inside:,} bytes in {len(entries):,} parts", "don't trust this file")
    if len({entry.filename.casefold() for entry in entries}) != len(entries):
        raise BaseError("names one of its parts twice", _RESAVE)
    if any("vbaproject" in entry.filename.casefold() for entry in entries):
        raise BaseError("holds macros", f"{_RESAVE}, which has none")


@dataclass(slots=True)
class _Reader:
    """Reads the parts of one archive; ``made`` is the new package as it grows."""

    archive: zipfile.ZipFile
    made: dict[str, bytes] = field(default_factory=dict)
    types: dict[str, str] = field(default_factory=dict)
    relations: list[tuple[str, str, str]] = field(default_factory=list)
    pictures: dict[str, str] = field(default_factory=dict)

    def base(self) -> Base:
        main = self._main()
        links = self._links(main)
        body = parsed(self.archive.read(main), main)
        if "purl.oclc.org" in body.root.tag:
            raise BaseError("is saved as Strict Open XML", f"{_RESAVE}, not the strict one")
        for kind in ("styles", "theme", "numbering"):
            self._take(kind, next((part for part, what in links.values() if what == kind), None))
        setup = _Setup.of(body)
        running = {}
        for key in _RUNNING:
            part = links.get(setup.running.get(key, ""), ("", ""))[0]
            if part and (key[1] == "default" or setup.first):
                running[key] = self._take_running(key, part)
        return Base(package=self._packed(), page=setup.page(), running=running)

    def _main(self) -> str:
        """Return the name of the main part, after its kind was checked."""
        main = next((part for part, kind in self._links("").values() if kind == "officeDocument"), "")
        types = parsed(self.archive.read("[Content_Types].xml"), "[Content_Types].xml").root
        kinds = {one.get("PartName", "").lstrip("/"): one.get("ContentType", "") for one in types}
        if any("macroEnabled" in kind or "vbaProject" in kind for kind in kinds.values()):
            raise BaseError("holds macros", f"{_RESAVE}, which has none")
        if not main or kinds.get(main) not in _MAINS:
            raise BaseError("is not a Word document", "name a .docx or .dotx file")
        return main

    def _links(self, part: str) -> dict[str, tuple[str, str]]:
        """Return where a part's relations lead inside the package: id to (part, kind)."""
        folder, name = posixpath.split(part)
        source = posixpath.join(folder, "_rels", f"{name}.rels")
        if source not in self.archive.namelist():
            return {}
        found = {}
        for one in parsed(self.archive.read(source), source).root:
            if one.get("TargetMode") != "External":
                target = posixpath.normpath(posixpath.join("/", folder, one.get("Target", ""))).lstrip("/")
                if target in self.archive.namelist():
                    found[one.get("Id", "")] = (target, one.get("Type", "").rsplit("/", 1)[-1])
        return found

    def _take(self, kind: str, part: str | None) -> None:
        """Take styles, theme or lists; lists are made empty where there are none."""
        if part is None:
            if kind == "theme":
                return
            content = (
                f'{_HEAD}<w:{kind} xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"/>'.encode()
            )
        else:
            content = written(cleaned(parsed(self.archive.read(part), part), keep={}))
        name, path = (
            (f"{kind}.xml", f"word/{kind}.xml") if kind != "theme" else ("theme/theme1.xml", "word/theme/theme1.xml")
        )
        self.made[path] = content
        media = "application/vnd.openxmlformats-officedocument.theme+xml" if kind == "theme" else f"{_WORD}.{kind}+xml"
        self.types[path] = media
        self.relations.append((f"base_{kind}", f"{_OFFICE}/{kind}", name))

    def _take_running(self, key: tuple[str, str], part: str) -> str:
        """Take a header or footer with its pictures, and return its relation in the new package."""
        kind, page = key
        links = self._links(part)
        keep = {
            link: self._take_picture(target)
            for link, (target, what) in links.items()
            if what == "image" and target.rpartition(".")[2].casefold() in _PICTURES
        }
        name, relation = f"base_{kind}_{page}.xml", f"base_{kind}_{page}"
        path = f"word/{name}"
        self.made[path] = written(cleaned(parsed(self.archive.read(part), part), keep=keep))
        self.types[path] = f"{_WORD}.{kind}+xml"
        self.relations.append((relation, f"{_OFFICE}/{kind}", name))
        if keep:
            own = [(link, f"{_OFFICE}/image", target) for link, target in sorted(keep.items())]
            self.made[f"word/_rels/{name}.rels"] = _relations(own)
        return relation

    def _take_picture(self, part: str) -> str:
        """Take a picture once, and return its place as seen from the folder of the main part."""
        if part not in self.pictures:
            ending = part.rpartition(".")[2].casefold()
            target = f"media/base{len(self.pictures) + 1}.{ending}"
            self.pictures[part] = target
            self.made[f"word/{target}"] = self.archive.read(part)
        return self.pictures[part]

    def _packed(self) -> bytes:
        """Return the new package, with an empty body."""
        space = 'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'
        main = "word/document.xml"
        kinds = {main: f"{_WORD}.document.main+xml", CORE: _CORE_KIND, APP: _APP_KIND}
        links = [
            ("base_main", f"{_OFFICE}/officeDocument", main),
            ("base_core", f"{_PACKAGE}/relationships/metadata/core-properties", CORE),
            ("base_app", f"{_OFFICE}/extended-properties", APP),
        ]
        parts = {
            "[Content_Types].xml": _types({**self.types, **kinds}),
            "_rels/.rels": _relations(links),
            # What the file says about itself is written anew with the document's own words.
            CORE: core_part(Properties()),
            APP: app_part(),
            main: f"{_HEAD}<w:document {space}><w:body><w:sectPr/></w:body></w:document>".encode(),
            "word/_rels/document.xml.rels": _relations(self.relations),
            **self.made,
        }
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, content in parts.items():
                archive.writestr(zipfile.ZipInfo(name), content)
        return out.getvalue()


def _types(parts: Mapping[str, str]) -> bytes:
    images = {ending: f"image/{_MEDIA.get(ending, ending)}" for ending in _PICTURES}
    defaults = {"rels": "application/vnd.openxmlformats-package.relationships+xml", "xml": "application/xml", **images}
    lines = [f'<Default Extension="{ending}" ContentType="{kind}"/>' for ending, kind in defaults.items()]
    lines += [f'<Override PartName="/{part}" ContentType="{kind}"/>' for part, kind in parts.items()]
    return f'{_HEAD}<Types xmlns="{_PACKAGE}/content-types">{"".join(lines)}</Types>'.encode()


_MEDIA: Final = {"jpg": "jpeg", "tif": "tiff", "emf": "x-emf", "wmf": "x-wmf"}


def _relations(links: list[tuple[str, str, str]]) -> bytes:
    lines = [f'<Relationship Id="{link}" Type="{kind}" Target="{target}"/>' for link, kind, target in links]
    return f'{_HEAD}<Relationships xmlns="{_PACKAGE}/relationships">{"".join(lines)}</Relationships>'.encode()


@dataclass(frozen=True, kw_only=True, slots=True)
class _Setup:
    """Paper and running lines as the last section of a document has them."""

    size: tuple[int, int]
    margins: Mapping[str, int]
    running: Mapping[tuple[str, str], str]
    first: bool

    @staticmethod
    def of(body: Tree) -> _Setup:
        """Return the page setup; a section that names no header has that of the section before."""
        running: dict[tuple[str, str], str] = {}
        size, margins, first = (12240, 15840), dict.fromkeys(_SIDES, 1440), False
        for section in body.root.iter(body.name("sectPr")):
            first = any(
                one.get(body.name("val"), "1") not in ("0", "false", "off")
                for one in section.iter(body.name("titlePg"))
            )
            for kind in ("header", "footer"):
                for one in section.iter(body.name(f"{kind}Reference")):
                    running[kind, one.get(body.name("type"), "default")] = one.get(f"{{{_OFFICE}}}id", "")
            for one in section.iter(body.name("pgSz")):
                size = (_twips(one.get(body.name("w"))), _twips(one.get(body.name("h"))))
            for one in section.iter(body.name("pgMar")):
                margins = {side: abs(_twips(one.get(body.name(side), "720"))) for side in _SIDES}
                margins["left"] += abs(_twips(one.get(body.name("gutter"), "0")))
        return _Setup(size=size, margins=margins, running=running, first=first)

    def page(self) -> Page:
        """Return the page as it stands upright. Raises: BaseError where its margins leave no room."""
        width, height = min(self.size), max(self.size)
        top, right, bottom, left, header, footer = (self.margins[side] for side in _SIDES)
        page = Page(width, height, left=left, right=right, top=top, bottom=bottom, header=header, footer=footer)
        if min(page.text_width, height - top - bottom, width - top - bottom) < _LEAST_TEXT:
            room = f"{width / 1440:.1f} in by {height / 1440:.1f} in"
            raise BaseError(f"leaves too little room between its margins (paper of {room})", "make them smaller")
        return page


def _twips(text: str | None) -> int:
    """Return a measure [twips]. Raises: BaseError where it is none that paper can have."""
    if text is None or not re.fullmatch(r"-?\d{1,5}(\.\d+)?", text):
        raise BaseError(f"has a paper size or margin of {text!r}", "set them anew in Word")
    return int(float(text))
