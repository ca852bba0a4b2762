"""The house's own rules: arrows point down, no knots, small functions, everything documented."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "estimator"
ROOMS = {
    "cli": {"documents", "field", "acceptance", "takeoff", "spec", "calc", "reference", "units"},
    "documents": {"field", "acceptance", "takeoff", "spec", "calc", "reference", "units"},
    "field": {"acceptance", "takeoff", "spec", "calc", "reference", "units"},
    "acceptance": {"takeoff", "spec", "calc", "reference", "units"},
    "takeoff": {"spec", "calc", "reference", "units"},
    "spec": {"calc", "reference", "units"},
    "calc": {"units"},
    "reference": {"units"},
    "units": set(),
}
"""What each room may import besides itself."""

MOST_LINES = 500
MOST_FUNCTION_LINES = 40
HEAVY = ("yaml", "jinja2", "openpyxl", "docx", "pint")
MODULES = sorted(ROOT.rglob("*.py"))


def _name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__")


def _imports(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


def _functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def _code_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = function.body[1:] if ast.get_docstring(function) else function.body
    lines = {line for node in body for part in ast.walk(node) if hasattr(part, "lineno") for line in (part.lineno,)}
    return len(lines)


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_arrows_only_point_down(path: Path) -> None:
    """A room imports itself and the rooms below it, and never the house as a whole."""
    parts = path.relative_to(ROOT).parts
    if len(parts) < 2:
        return
    room = parts[0]
    for name in _imports(ast.parse(path.read_text(encoding="utf-8"))):
        if name == "estimator" or name.startswith("estimator."):
            target = name.split(".")[1] if "." in name else ""
            assert target == room or target in ROOMS[room], f"{room} imports {name}"


def test_no_module_imports_itself_in_a_circle() -> None:
    """Imports at load never lead back."""
    known = {_name(path) for path in MODULES}
    arrows: dict[str, set[str]] = {}
    for path in MODULES:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        tree.body = [node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)]
        arrows[_name(path)] = {name for name in _imports(tree) if name in known}
    done: set[str] = set()

    def walk(name: str, above: tuple[str, ...]) -> None:
        assert name not in above, " > ".join((*above, name))
        if name not in done:
            for below in sorted(arrows[name]):
                walk(below, (*above, name))
            done.add(name)

    for name in arrows:
        walk(name, ())


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_modules_and_functions_stay_small_and_documented(path: Path) -> None:
    """At most 500 lines a module and 40 code lines a function; public names say what they are."""
    text = path.read_text(encoding="utf-8")
    tree = ast.parse(text)
    assert ast.get_docstring(tree), "the module says what it is for"
    assert len(text.splitlines()) <= MOST_LINES
    for function in _functions(tree):
        assert _code_lines(function) <= MOST_FUNCTION_LINES, f"{function.name} has {_code_lines(function)} lines"
    for node in tree.body:
        public = isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
        if public:
            assert ast.get_docstring(node), f"{node.name} has no docstring"  # type: ignore[arg-type]


@pytest.mark.parametrize("path", [p for p in MODULES if p.parent.name == "calc"], ids=_name)
def test_each_formula_names_its_source(path: Path) -> None:
    """A public function of calc cites where its rule stands."""
    if path.stem in ("__init__", "formula", "checked", "interpolation"):
        return
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            assert "Source:" in (ast.get_docstring(node) or ""), f"{path.stem}.{node.name} names no source"


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_heavy_libraries_are_imported_late(path: Path) -> None:
    """No module loads yaml, jinja2, openpyxl, docx or pint while it is imported itself."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    tree.body = [node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)]
    assert not {name.split(".")[0] for name in _imports(tree)} & set(HEAVY)


@pytest.mark.parametrize("path", sorted((ROOT / "documents").glob("*.py")), ids=lambda path: path.stem)
def test_documents_describe_and_do_not_define_formulas(path: Path) -> None:
    """A formula belongs to the room that works it out; documents only point at a figure or write a formula's text."""
    allowed = {"common": 1, "xlsx_formula": 1}  # the figure of another place, and the writer of spreadsheet text
    tree = ast.parse(path.read_text(encoding="utf-8"))
    made = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Expression"
    ]
    assert len(made) == allowed.get(path.stem, 0)
