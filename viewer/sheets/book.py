"""All sheets of a design in order: the assembly page, a sheet for each different part, the full-size templates."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from assembly.nominal.fittings import fittings
from assembly.nominal.frame import frame
from assembly.planning.dimensions import drawn_parts
from assembly.planning.making import making_order
from assembly.planning.marks import bench_walls
from viewer.sheets.assembly_page import assembly_pages
from viewer.sheets.frame import content, page
from viewer.sheets.page import PAPERS
from viewer.sheets.part_sheet import part_sheet, steps_of, together, views_of
from viewer.sheets.readings import measuring_blocks, readings
from viewer.sheets.teacher import teacher_pages
from viewer.sheets.templates import (
    cable_template,
    lap_template,
    lid_template,
    plaque_template,
    template_pages,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.planning.dimensions import Dimension, DrawnPart
    from viewer.scene.scene import Scene
    from viewer.sheets.page import Page, Point
    from viewer.sheets.part_sheet import PartSheet
    from viewer.sheets.templates import Template


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """All pages, and the part sheets among them."""

    pages: tuple[Page, ...]
    parts: tuple[PartSheet, ...]


def book(
    design: Design,
    workshop: Workshop,
    scene: Scene,
    paper: Point,
    causes: Sequence[str] = (),
    teacher: str | None = None,
) -> Book:
    """Return all sheets of a design.

    Parameters
    ----------
    design, workshop : Design, Workshop
        What is made, and where.
    scene : Scene
        The box taken apart.
    paper : (float, float)
        Width and height of the upright paper, mm.
    causes : sequence of str
        Operations by their total effect on the joint gap, the largest first.
    teacher : str, optional
        What the teacher's own pages say, which come first; None leaves them out.

    Raises
    ------
    InputError
        If a part does not fit on the paper at the smallest scale.
    """
    order, box = making_order(design, workshop), frame(design)
    parts = drawn_parts(design, workshop)
    caliper = decisive(parts, causes)
    sheets = []
    for part in parts:
        measured = partial(measuring_blocks, [one for one in readings(design) if one.spot.part in part.called], order)
        views = views_of(part, box, order, design.overlength)
        sheets.append(part_sheet(part, views, steps_of(part, order), measured, paper, caliper))
    larger = [name for name, size in PAPERS.items() if size[0] * size[1] > paper[0] * paper[1] and size[1] > paper[1]]
    contents = (
        *(teacher_pages(teacher, design.name, paper) if teacher is not None else ()),
        *assembly_pages(scene, order, together(order), paper),
        *(each for sheet in sheets for each in sheet.pages),
        *template_pages(templates(design, paper), paper, larger),
    )
    pages = tuple(
        page(size, head, items, f"Page {number} of {len(contents)}")
        for number, (head, size, items) in enumerate(contents, 1)
    )
    return Book(pages=pages, parts=tuple(sheets))


def decisive(parts: Sequence[DrawnPart], causes: Sequence[str]) -> Dimension | None:
    """Return the dimension that is decided by the first of some operations that decides one."""
    printed = [one for part in parts for one in part.dimensions if one.how == "measured"]
    return next((one for cause in causes for one in printed if cause in one.after), None)


def templates(design: Design, paper: Point) -> list[Template]:
    """Return the templates of a design; that of a cable hole is as long as its wall where the paper takes it."""
    fitted = fittings(design)
    walls = {wall.part: wall for wall in bench_walls(frame(design), overlength=design.overlength)}
    left, _, right, _ = content(paper)
    cable = [hole for hole in fitted.holes if hole.use == "cable"]
    return [
        lap_template(next(iter(walls.values()))),
        *(cable_template(walls[hole.part], hole, right - left) for hole in cable),
        *([plaque_template(fitted.plaque, fitted.holes_of("plaque"))] if fitted.plaque else []),
        lid_template(fitted),
    ]
