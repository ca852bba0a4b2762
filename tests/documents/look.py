"""Prints documents and lays their pages out as pictures: ``python -m tests.documents.look FOLDER [DOCUMENT...]``.

Without documents the demo is made first. What the page tests would complain of is printed, and the exit
code is 1 where there is anything.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from estimator.cli.main import main as dropledger
from tests.documents.pages import (
    Page,
    captions_of,
    cut_cells,
    headings_of,
    nearly_empty,
    off_paper,
    orphans,
    overlaps,
    printed,
    too_wide,
    wide_sheets,
    wide_tables,
)

ENDINGS = (".docx", ".xlsx")
DOTS_PER_INCH = 60


def complaints(document: Path, pages: list[Page]) -> Iterator[str]:
    """Yield what a reader would stumble over on a document's pages."""
    book = document.suffix == ".xlsx"
    yield from too_wide(pages)
    yield from nearly_empty(pages, cover=not book)
    yield from overlaps(pages)
    yield from off_paper(pages)
    yield from orphans(pages, headings_of(document), captions_of(document) if book else ())
    yield from (*wide_sheets(document), *cut_cells(document)) if book else wide_tables(document)


def main() -> int:
    """Print the documents into the folder, a picture a page. Returns 1 where a page is poor."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    documents = [Path(name) for name in sys.argv[2:]]
    if not documents:
        dropledger(["demo", "--out", str(folder / "demo"), "--replace"])
        made = sorted((folder / "demo").glob("*"))
        documents = [path for path in made if path.suffix in ENDINGS and "-labels-" not in path.name]
    poor = 0
    for name, pages in printed(documents, folder).items():
        document = next(path for path in documents if path.name == name)
        pdf, picture = folder / f"{document.stem}.pdf", folder / document.stem
        subprocess.run(["pdftoppm", "-r", str(DOTS_PER_INCH), "-png", str(pdf), str(picture)], check=True)
        print(f"{name}: {len(pages)} pages")
        for complaint in complaints(document, pages):
            poor += 1
            print(f"  {complaint}")
    return int(poor > 0)


if __name__ == "__main__":
    sys.exit(main())
