"""Our styles and lists beside those of a company's own document, whose words for the same thing win.

Styles are matched by the name that people see, because Word's own names are the same in every
language while identities differ. A style of the company's takes on our identity, so that what we
write refers to it; one of ours is added where the company has none of that name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Final, Protocol

from estimator.documents.docx_parts import Element, parse, tag
from estimator.documents.docx_styles import LANGUAGE, Lists, OwnStyle, install_settings, own_styles

if TYPE_CHECKING:
    from docx.document import Document as WordDocument


class Part(Protocol):
    """A part with a tree."""

    @property
    def element(self) -> Element:
        """The outermost element."""


_REFERS: Final = frozenset(
    map(tag, ("basedOn", "next", "link", "pStyle", "rStyle", "tblStyle", "numStyleLink", "styleLink"))
)
_KEPT_WITH_NEXT: Final = frozenset({"heading 1", "heading 2", "heading 3", "caption", "TOC Heading"})
"""Styles of paragraphs that must not end a page, whatever the company's own say."""

_LISTED: Final = {"List Bullet": "bullets", "List Number": "steps"}


def install(word: WordDocument, running: Sequence[Part]) -> Lists:
    """Blend our styles into those of a base document, replace its settings, and return our lists' numbers.

    ``running`` are its headers and footers, which refer to styles too.
    """
    styles, numbering = word.styles.element, word.part.numbering_part.element
    lists = _free(numbering)
    own = own_styles(lists)
    theirs = {(_kind(style), _name(style).casefold()): style for style in _styles(styles)}
    matched = [(one, theirs.get((one.kind, one.name.casefold()))) for one in own]
    taken = {style.get(tag("styleId")) for style in _styles(styles)}
    changed = _identities(matched, taken)
    for holder in (styles, numbering, *(part.element for part in running)):
        _rename(holder, changed)
    names = {name for _, name in theirs}
    default = any(style.get(tag("default")) and _kind(style) == "paragraph" for style in _styles(styles))
    for one, style in matched:
        if style is None:
            styles.append(parse(_added(one, names, default=default)))
        else:
            _mend(style, one, lists)
    _speak(styles)
    install_settings(word)
    return lists


def _styles(styles: Element) -> list[Element]:
    return [child for child in styles if child.tag == tag("style")]


def _kind(style: Element) -> str:
    return style.get(tag("type")) or "paragraph"


def _name(style: Element) -> str:
    return next((child.get(tag("val")) or "" for child in style if child.tag == tag("name")), "")


def _free(numbering: Element) -> Lists:
    """Return numbers for our lists that the base doesn't use."""
    lists, shapes = [0], [0]
    for child in numbering:
        if child.tag == tag("num"):
            lists.append(_number(child.get(tag("numId"))))
        elif child.tag == tag("abstractNum"):
            shapes.append(_number(child.get(tag("abstractNumId"))))
    return Lists(max(lists) + 1, max(lists) + 2, max(shapes) + 1, max(shapes) + 2)


def _number(text: str | None) -> int:
    return int(text) if text and text.isdecimal() else 0


def _identities(matched: Iterable[tuple[OwnStyle, Element | None]], taken: set[str | None]) -> dict[str, str]:
    """Return the new identity of each style of the base that takes or blocks one of ours."""
    changed: dict[str, str] = {}
    pairs = list(matched)
    ours = {own.identity for own, _ in pairs}
    for own, style in pairs:
        if style is not None and (before := style.get(tag("styleId"))) and before != own.identity:
            changed[before] = own.identity
    for identity in ours & {one for one in taken if one}:
        holder = next(
            (own for own, style in pairs if style is not None and style.get(tag("styleId")) == identity), None
        )
        if holder is None:  # another style of the base has the identity that ours needs
            changed[identity] = _unused(f"{identity}Base", {*ours, *taken})
    return changed


def _unused(identity: str, taken: set[str | None]) -> str:
    number = 1
    while f"{identity}{number}" in taken:
        number += 1
    return f"{identity}{number}"


def _rename(holder: Element, changed: Mapping[str, str]) -> None:
    for node in holder.iter():
        key = tag("styleId") if node.tag == tag("style") else tag("val") if node.tag in _REFERS else ""
        before = node.get(key) if key else None
        if before is not None and before in changed:
            node.set(key, changed[before])


def _added(own: OwnStyle, names: set[str], *, default: bool) -> str:
    """Return the text of a style of ours for a base that lacks it; no second default, no name twice."""
    text = own.xml.replace(' w:default="1"', "", 1) if default and own.kind == "paragraph" else own.xml
    if own.name.casefold() in names:  # the base has a style of another kind by this name
        text = text.replace(f'<w:name w:val="{own.name}"/>', f'<w:name w:val="{own.name} of the ledger"/>', 1)
    return text


def _mend(style: Element, own: OwnStyle, lists: Lists) -> None:
    """Give a style of the base what our pages rely on: heads stay with their text, bullets are bullets."""
    if own.kind != "paragraph":
        return
    properties = next((child for child in style if child.tag == tag("pPr")), None)
    if properties is None:
        properties = parse("<w:pPr/>")
        behind = [child for child in style if child.tag in _AHEAD][-1]
        behind.addnext(properties)
    has = {child.tag for child in properties}
    if own.name in _LISTED and tag("numPr") not in has:
        number = getattr(lists, _LISTED[own.name])
        numbered = parse(f'<w:numPr><w:numId w:val="{number}"/></w:numPr>')
        ahead = [child for child in properties if child.tag in _BEFORE_LISTS]
        if ahead:
            ahead[-1].addnext(numbered)
        else:
            properties.insert(0, numbered)
    if own.name in _KEPT_WITH_NEXT and tag("keepNext") not in has:
        properties.insert(0, parse("<w:keepNext/>"))


_AHEAD: Final = frozenset(
    map(
        tag,
        (
            *("name", "aliases", "basedOn", "next", "link", "autoRedefine", "hidden", "uiPriority", "semiHidden"),
            *("unhideWhenUsed", "qFormat", "locked", "personal", "personalCompose", "personalReply", "rsid"),
        ),
    )
)
"""What stands in front of the paragraph properties of a style."""

_BEFORE_LISTS: Final = frozenset(
    map(tag, ("pStyle", "keepNext", "keepLines", "pageBreakBefore", "framePr", "widowControl"))
)


def _speak(styles: Element) -> None:
    """Set the language to ours where the base's is another one: our words are English."""
    for node in styles.iter():
        if node.tag == tag("lang") and not (node.get(tag("val")) or LANGUAGE).startswith("en"):
            node.set(tag("val"), LANGUAGE)
    defaults = next((child for child in styles if child.tag == tag("docDefaults")), None)
    if defaults is None:
        defaults = parse("<w:docDefaults/>")
        styles.insert(0, defaults)
    runs = next((node for node in defaults.iter() if node.tag == tag("rPrDefault")), None)
    if runs is None:
        runs = parse("<w:rPrDefault/>")
        defaults.insert(0, runs)
    properties = next((child for child in runs if child.tag == tag("rPr")), None)
    if properties is None:
        properties = parse("<w:rPr/>")
        runs.append(properties)
    if not any(child.tag == tag("lang") for child in properties):
        properties.append(parse(f'<w:lang w:val="{LANGUAGE}"/>'))
