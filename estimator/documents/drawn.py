"""Where pictures stand in workbooks: on sheets of their own, as many on a page as it holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from estimator.documents.description import Block, Break, Paragraph, Picture, Section
from estimator.documents.picture_conduits import conduits_picture
from estimator.documents.picture_map import map_pictures
from estimator.documents.picture_results import lengths_picture, margins_picture, progress_picture
from estimator.documents.remembered import remembered
from estimator.field.job import Job
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff

_PAGE_MM: Final = 225.0  # of an upright sheet of either paper, under its head
_WORDS_MM: Final = 20.0  # title and caption of a picture with the room around them


def paged(pictures: Iterable[Picture]) -> Iterator[Block]:
    """Yield pictures with a page break before each that no longer fits; a spreadsheet would cut it in two."""
    used = 0.0
    for picture in pictures:
        high = picture.drawing.height_mm + _WORDS_MM
        if used and used + high > _PAGE_MM:
            yield Break.PAGE
            used = 0.0
        used += high
        yield picture


@remembered
def pathway_pictures(takeoff: Takeoff) -> tuple[Picture, ...]:
    """Return the maps of the pathways, then the fullest conduits cut across."""
    return _there((*map_pictures(takeoff), conduits_picture(takeoff.fill, takeoff.project)))


def _there(drawn: Iterable[Picture | None]) -> tuple[Picture, ...]:
    return tuple(picture for picture in drawn if picture is not None)


def pathways_drawn(takeoff: Takeoff) -> Iterator[Section]:
    """Yield the sheet of pictures of the pathways, where the job has any."""
    pictures = pathway_pictures(takeoff)
    if pictures:
        text = "The figures of these pictures stand on the sheets Pathways and In the pathways, each with its source."
        yield Section(title="Pathways drawn", blocks=(Paragraph(text), *paged(pictures)))


@remembered
def result_pictures(project: Project, job: Job) -> tuple[Picture, ...]:
    """Return progress by system, lengths against expectation, and the tightest margins."""
    return _there((progress_picture(job), lengths_picture(project, job), margins_picture(project, job)))


def results_drawn(project: Project, job: Job) -> Section:
    """Return the sheet of pictures of the tests."""
    text = "The figures of these pictures stand on the sheets Circuits, Results and Lengths learned."
    return Section(title="Tests drawn", blocks=(Paragraph(text), *paged(result_pictures(project, job))))
