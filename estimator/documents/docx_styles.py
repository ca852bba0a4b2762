"""The styles, lists and settings of our own that a Word document starts from."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from estimator.documents.docx_parts import parse, tag
from estimator.documents.look import ACCENT, BAND, FACE, HAIR, INK, MUTED, RULE, TONES

if TYPE_CHECKING:
    from docx.document import Document as WordDocument

LANGUAGE: Final = "en-US"


@dataclass(frozen=True, slots=True)
class Lists:
    """Numbers of the bullet list and of the first list of numbered steps, and of their two shapes.

    Each later list of steps takes the next number and restarts.
    """

    bullets: int = 1
    steps: int = 2
    bullet_shape: int = 1
    step_shape: int = 2


TABLE_STYLE: Final = "LedgerTable"
FACTS_STYLE: Final = "LedgerFacts"
SIGN_STYLE: Final = "LedgerSignOff"

BODY_PT: Final = 10.0
TABLE_PT: Final = 8.5


@dataclass(frozen=True, kw_only=True, slots=True)
class _Style:
    """One paragraph style; distances in points."""

    name: str
    based_on: str = "Normal"
    following: str = ""
    size: float = 0
    bold: bool = False
    italic: bool = False
    color: str = ""
    before: float = 0
    after: float = 0
    line: float = 0
    keep_next: bool = False
    keep_lines: bool = False
    align: str = ""
    indent: float = 0
    hanging: float = 0
    right: float = 0
    rule: str = ""
    under: str = ""
    fill: str = ""
    level: int = 0
    face: str = ""
    extra: str = ""


def style_id(name: str) -> str:
    """Return the identity of a style of this name, as the format wants it."""
    return "".join(word[0].upper() + word[1:] for word in name.replace("-", " ").split())


def _heading(level: int, size: float, color: str, before: float, after: float, under: str = "") -> _Style:
    return _Style(
        name=f"heading {level}",
        following="Normal",
        size=size,
        bold=True,
        color=color,
        before=before,
        after=after,
        under=under,
        level=level,
        keep_next=True,
        keep_lines=True,
    )


def _call(name: str, rule: str, fill: str) -> _Style:
    return _Style(name=name, before=6, after=8, keep_lines=True, indent=12, right=4, rule=rule, fill=fill)


_PARAGRAPHS: Final[Sequence[_Style]] = (
    _Style(name="Normal", based_on="", after=6, line=1.15),
    _heading(1, 16, ACCENT, 20, 6, RULE),
    _heading(2, 12.5, ACCENT, 16, 4),
    _heading(3, 10.5, INK, 12, 3),
    _Style(name="Title", size=28, bold=True, color=ACCENT, before=150, after=8, line=1.05),
    _Style(name="Subtitle", size=14, color=MUTED, after=22),
    _Style(name="State", size=11, bold=True, before=18, after=16, indent=6, right=6, keep_lines=True),
    _Style(name="Basis", size=8.5, color=MUTED, before=10, keep_lines=True),
    _Style(name="caption", size=9, color=INK, before=12, after=4, keep_next=True, keep_lines=True),
    _Style(name="Figure Caption", size=9, color=INK, after=10, keep_lines=True),
    _Style(name="Table Note", size=8.5, color=MUTED, after=10),
    _Style(name="Table Gap", size=4, after=4, line=1.0),
    _Style(name="Facts Heading", bold=True, size=10, before=10, after=3, keep_next=True),
    _Style(name="Lead-in", before=4, after=4, keep_next=True),
    _Style(name="List Bullet", after=3, indent=18, hanging=14, extra="bullet"),
    _Style(name="List Number", after=4, indent=22, hanging=18, extra="steps"),
    _call("Note", RULE, BAND),
    _call("Caution", TONES["poor"].ink, TONES["poor"].fill),
    _call("Warning", TONES["bad"].ink, TONES["bad"].fill),
    # Columns are measured in this face, so it stays where a company's base has another one.
    _Style(name="Table Text", size=TABLE_PT, before=2, after=2, line=1.0, face=FACE),
    _Style(name="Table Number", based_on="TableText", align="right"),
    _Style(name="Table Head", based_on="TableText", bold=True, color=ACCENT, keep_next=True),
    _Style(name="Table Head Number", based_on="TableHead", align="right"),
    _Style(name="Fact Label", based_on="TableText", color=MUTED),
    _Style(name="TOC Heading", size=16, bold=True, color=ACCENT, after=10, keep_next=True),
    _Style(name="toc 1", bold=True, before=6, after=2),
    _Style(name="toc 2", after=1, indent=14),
    _Style(name="toc 3", size=9, color=MUTED, after=1, indent=28),
    _Style(name="header", size=8, color=MUTED, line=1.0, under=HAIR),
    _Style(name="footer", size=8, color=MUTED, line=1.0),
    _Style(name="Running Line", size=8, color=MUTED, after=4, line=1.0),
    _Style(name="Marking", size=9.5, bold=True, color=TONES["bad"].ink, after=2, line=1.0, align="center"),
    _Style(name="Section End", size=1, line=1.0),
)

_BUILT_IN: Final = frozenset(
    (
        *("Normal", "Title", "Subtitle", "caption", "header", "footer", "TOC Heading", "List Bullet", "List Number"),
        *(f"{kind} {level}" for kind in ("heading", "toc") for level in (1, 2, 3)),
    )
)
"""Names that Word knows itself: its outline and its contents work with them."""


def _paragraph_style(style: _Style, lists: Lists) -> str:
    identity = style_id(style.name)
    own = ' w:customStyle="1"' if style.name not in _BUILT_IN else ""
    default = ' w:default="1"' if style.name == "Normal" else ""
    based = f'<w:basedOn w:val="{style.based_on}"/>' if style.based_on else ""
    following = f'<w:next w:val="{style.following}"/>' if style.following else ""
    return (
        f'<w:style w:type="paragraph"{default}{own} w:styleId="{identity}"><w:name w:val="{style.name}"/>'
        f"{based}{following}<w:uiPriority w:val='1'/><w:qFormat/>"
        f"<w:pPr>{_paragraph_properties(style, lists)}</w:pPr><w:rPr>{_run_properties(style)}</w:rPr></w:style>"
    )


def _twips(points: float) -> int:
    return int(points * 20)


def _paragraph_properties(style: _Style, lists: Lists) -> str:
    parts = ["<w:keepNext/>" if style.keep_next else "", "<w:keepLines/>" if style.keep_lines else ""]
    if style.extra:
        parts.append(
            f'<w:numPr><w:numId w:val="{lists.bullets if style.extra == "bullet" else lists.steps}"/></w:numPr>'
        )
    sides = "".join(
        f'<w:{side} w:val="single" w:sz="{width}" w:space="{space}" w:color="{color}"/>'
        for side, width, space, color in (
            # Edges in the color of the fill only give the words some room.
            ("top", 4, 3, style.fill),
            ("left", 24, 8, style.rule),
            ("bottom", 4, 3, style.under or style.fill),
            ("right", 4, 4, style.fill),
        )
        if color
    )
    parts.append(f"<w:pBdr>{sides}</w:pBdr>" if sides else "")
    parts.append(f'<w:shd w:val="clear" w:color="auto" w:fill="{style.fill}"/>' if style.fill else "")
    if style.based_on in ("", "Normal"):
        # A style on top of another one of ours takes that one's distances over.
        line = f' w:line="{int(style.line * 240)}" w:lineRule="auto"' if style.line else ""
        parts.append(f'<w:spacing w:before="{_twips(style.before)}" w:after="{_twips(style.after)}"{line}/>')
    if style.indent:
        hanging = f' w:hanging="{_twips(style.hanging)}"' if style.hanging else ""
        right = f' w:right="{_twips(style.right)}"' if style.right else ""
        parts.append(f'<w:ind w:left="{_twips(style.indent)}"{right}{hanging}/>')
    parts.append(f'<w:jc w:val="{style.align}"/>' if style.align else "")
    parts.append(f'<w:outlineLvl w:val="{style.level - 1}"/>' if style.level else "")
    return "".join(parts)


def _run_properties(style: _Style) -> str:
    fonts = f'<w:rFonts w:ascii="{style.face}" w:hAnsi="{style.face}" w:cs="{style.face}"/>' if style.face else ""
    parts = [fonts, "<w:b/><w:bCs/>" if style.bold else "", "<w:i/><w:iCs/>" if style.italic else ""]
    parts.append(f'<w:color w:val="{style.color}"/>' if style.color else "")
    if style.size:
        parts.append(f'<w:sz w:val="{int(style.size * 2)}"/><w:szCs w:val="{int(style.size * 2)}"/>')
    return "".join(parts)


def _line(side: str, color: str, width: int) -> str:
    return f'<w:{side} w:val="single" w:sz="{width}" w:space="0" w:color="{color}"/>'


def _table_style(name: str, identity: str, borders: str, parts: str = "") -> str:
    margins = '<w:tblCellMar><w:left w:w="80" w:type="dxa"/><w:right w:w="80" w:type="dxa"/></w:tblCellMar>'
    return (
        f'<w:style w:type="table" w:customStyle="1" w:styleId="{identity}"><w:name w:val="{name}"/>'
        '<w:basedOn w:val="TableNormal"/><w:uiPriority w:val="1"/><w:qFormat/>'
        f"<w:tblPr><w:tblBorders>{borders}</w:tblBorders>{margins}</w:tblPr>{parts}</w:style>"
    )


def _table_part(kind: str, run: str, borders: str, fill: str) -> str:
    shade = f'<w:shd w:val="clear" w:color="auto" w:fill="{fill}"/>' if fill else ""
    return (
        f'<w:tblStylePr w:type="{kind}"><w:rPr>{run}</w:rPr><w:tcPr><w:tcBorders>{borders}</w:tcBorders>'
        f"{shade}</w:tcPr></w:tblStylePr>"
    )


def _tables() -> tuple[str, ...]:
    head = _table_part("firstRow", "<w:b/>", _line("bottom", ACCENT, 8), BAND)
    last = _table_part("lastRow", "<w:b/>", _line("top", ACCENT, 8), "")
    ruled = _line("top", ACCENT, 8) + _line("bottom", ACCENT, 8) + _line("insideH", HAIR, 4)
    quiet = _line("bottom", HAIR, 4) + _line("insideH", HAIR, 4)
    signed = _line("bottom", RULE, 6) + _line("insideH", RULE, 6)
    return (
        '<w:style w:type="table" w:default="1" w:styleId="TableNormal"><w:name w:val="Normal Table"/>'
        '<w:uiPriority w:val="99"/><w:semiHidden/><w:unhideWhenUsed/><w:tblPr><w:tblInd w:w="0" '
        'w:type="dxa"/><w:tblCellMar><w:top w:w="0" w:type="dxa"/><w:left w:w="108" w:type="dxa"/>'
        '<w:bottom w:w="0" w:type="dxa"/><w:right w:w="108" w:type="dxa"/></w:tblCellMar></w:tblPr>'
        "</w:style>",
        _table_style("Ledger Table", TABLE_STYLE, ruled, head + last),
        _table_style("Ledger Facts", FACTS_STYLE, quiet, _table_part("firstRow", "", _line("bottom", RULE, 6), "")),
        _table_style("Ledger Sign-off", SIGN_STYLE, signed, _table_part("firstRow", "<w:b/>", "", "")),
    )


_CHARACTERS: Final = (
    '<w:style w:type="character" w:default="1" w:styleId="DefaultParagraphFont">'
    '<w:name w:val="Default Paragraph Font"/><w:uiPriority w:val="1"/><w:semiHidden/></w:style>',
    '<w:style w:type="character" w:styleId="Strong"><w:name w:val="Strong"/><w:qFormat/>'
    "<w:rPr><w:b/><w:bCs/></w:rPr></w:style>",
    '<w:style w:type="character" w:customStyle="1" w:styleId="CautionWord"><w:name w:val="Caution Word"/>'
    f'<w:rPr><w:b/><w:bCs/><w:color w:val="{TONES["poor"].ink}"/></w:rPr></w:style>',
    '<w:style w:type="character" w:customStyle="1" w:styleId="WarningWord"><w:name w:val="Warning Word"/>'
    f'<w:rPr><w:b/><w:bCs/><w:color w:val="{TONES["bad"].ink}"/></w:rPr></w:style>',
    '<w:style w:type="numbering" w:default="1" w:styleId="NoList"><w:name w:val="No List"/>'
    '<w:uiPriority w:val="99"/><w:semiHidden/></w:style>',
)

_DEFAULTS: Final = (
    f'<w:docDefaults><w:rPrDefault><w:rPr><w:rFonts w:ascii="{FACE}" w:hAnsi="{FACE}" w:eastAsia="{FACE}" '
    f'w:cs="{FACE}"/><w:color w:val="{INK}"/><w:sz w:val="{int(BODY_PT * 2)}"/>'
    f'<w:szCs w:val="{int(BODY_PT * 2)}"/>'
    f'<w:lang w:val="{LANGUAGE}" w:eastAsia="{LANGUAGE}" w:bidi="ar-SA"/></w:rPr></w:rPrDefault>'
    "<w:pPrDefault><w:pPr/></w:pPrDefault></w:docDefaults>"
)

_SETTINGS: Final = (
    '<w:zoom w:percent="100"/>',
    '<w:defaultTabStop w:val="720"/>',
    '<w:characterSpacingControl w:val="doNotCompress"/>',
    # Mode 15 is what Word itself writes since 2013; without it a document opens in compatibility mode.
    '<w:compat><w:compatSetting w:name="compatibilityMode" '
    'w:uri="http://schemas.microsoft.com/office/word" w:val="15"/></w:compat>',
    f'<w:themeFontLang w:val="{LANGUAGE}"/>',
    '<w:decimalSymbol w:val="."/>',
    '<w:listSeparator w:val=","/>',
)


def install(word: WordDocument) -> Lists:
    """Replace the starting document's styles, lists and settings by ours, and return the lists' numbers."""
    styles = word.styles.element
    latent = [child for child in styles if child.tag.endswith("}latentStyles")]
    for child in list(styles):
        styles.remove(child)
    styles.append(parse(_DEFAULTS))
    for child in latent:
        styles.append(child)
    for own in own_styles(Lists()):
        styles.append(parse(own.xml))
    numbering = word.part.numbering_part.element
    for child in list(numbering):
        numbering.remove(child)
    install_settings(word)
    return Lists()


def install_settings(word: WordDocument) -> None:
    """Replace the starting document's settings by ours."""
    settings = word.settings.element
    for child in list(settings):
        settings.remove(child)
    for xml in _SETTINGS:
        settings.append(parse(xml))


@dataclass(frozen=True, slots=True)
class OwnStyle:
    """A style of ours: its kind, the name people see, the identity that parts refer to, and its text."""

    kind: str
    name: str
    identity: str
    xml: str


def own_styles(lists: Lists) -> tuple[OwnStyle, ...]:
    """Return all styles of ours, paragraphs first."""
    texts = (*(_paragraph_style(style, lists) for style in _PARAGRAPHS), *_CHARACTERS, *_tables())
    found = (re.search(r'w:type="(\w+)".*?w:styleId="(\w+)".*?<w:name w:val="([^"]+)"', text) for text in texts)
    return tuple(OwnStyle(one[1], one[3], one[2], text) for one, text in zip(found, texts, strict=True) if one)


def install_lists(word: WordDocument, lists: Lists, step_lists: int) -> None:
    """Add a list of bullets and so many of steps, each counting from one; shapes stand before lists."""
    numbering = word.part.numbering_part.element
    shapes = [
        parse(_list_shape(lists.bullet_shape, "bullet", "\N{BULLET}", 18, 14)),
        parse(_list_shape(lists.step_shape, "decimal", "%1.", 22, 18)),
    ]
    first = next((place for place, child in enumerate(numbering) if child.tag == tag("num")), len(list(numbering)))
    for shape in reversed(shapes):
        numbering.insert(first, shape)
    made = [f'<w:num w:numId="{lists.bullets}"><w:abstractNumId w:val="{lists.bullet_shape}"/></w:num>']
    made += [
        f'<w:num w:numId="{number}"><w:abstractNumId w:val="{lists.step_shape}"/>'
        '<w:lvlOverride w:ilvl="0"><w:startOverride w:val="1"/></w:lvlOverride></w:num>'
        for number in range(lists.steps, lists.steps + max(step_lists, 1))
    ]
    last = [child for child in numbering if child.tag == tag("num") or child.tag == tag("abstractNum")][-1]
    for xml in reversed(made):
        last.addnext(parse(xml))


def _list_shape(number: int, form: str, sign: str, left: float, hanging: float) -> str:
    return (
        f'<w:abstractNum w:abstractNumId="{number}"><w:multiLevelType w:val="singleLevel"/>'
        f'<w:lvl w:ilvl="0"><w:start w:val="1"/><w:numFmt w:val="{form}"/><w:lvlText w:val="{sign}"/>'
        '<w:lvlJc w:val="left"/>'
        f'<w:pPr><w:ind w:left="{_twips(left)}" w:hanging="{_twips(hanging)}"/></w:pPr>'
        f'<w:rPr><w:color w:val="{ACCENT}"/></w:rPr></w:lvl></w:abstractNum>'
    )
