"""The plaque's outline as files for a machine: what is asked for, what is refused, and what is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.text import listed, mm
from viewer.commands.libraries import loading
from viewer.commands.sheets_job import whole

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from assembly.files.writing import Meant
    from assembly.model.pens import Pens
    from assembly.outline.contours import Drawing
    from assembly.outline.strip import Strip
    from viewer.commands.jobs import Job

PAPER = "A4"
PAGE = "test_strip.pdf"


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """What is told of the machine that cuts, as it was typed: the width of its cut, mm, and a file of pens."""

    kerf: float | None = None  # None: usual for the sheet
    pens: str | None = None


AS_USUAL = Machine()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlines:
    """The drawings of a design's plaque and of the strips to try its bend on, ready to be written."""

    plaque: Drawing
    strips: Drawing
    pens: Pens
    page: bytes  # PDF: what to do with the strips
    remarks: tuple[str, ...]  # on what the cut paths allow for, what no machine is to run, and what can hurt


def refuse_idle(names: Sequence[str], machine: Machine) -> None:
    """Refuse options that only the outline's formats take, where none of these is asked for.

    Raises
    ------
    InputError
        With the option.
    """
    from assembly.writers.outlines import OUTLINES

    given = {"--kerf": machine.kerf, "--pens": machine.pens}
    idle = [option for option, value in given.items() if value is not None]
    if idle and not names:
        msg = f"{idle[0]}: is for {listed(list(OUTLINES))}, which were not asked for; add --as {','.join(OUTLINES)}"
        raise InputError(msg)


def outlines(job: Job, names: Sequence[str], machine: Machine, scale: float) -> Outlines:
    """Return what is drawn of a job's plaque; nothing is written yet.

    Raises
    ------
    InputError
        If there is nothing for a machine to cut, the scale is not true size, the kerf is none or as wide as a hole, or
        the wording does not fit or can't be written.
    ConfigError
        With every fault of the file of pens.
    """
    refuse_what_is_not_cut(job, names, scale)
    with loading(f"writing {listed(list(names))}"):
        from assembly.outline.plaque_drawing import plaque_drawing
    from assembly.files.pens import read_pens
    from assembly.nominal.fittings import fittings
    from assembly.outline.kerf import checked_kerf, usual_kerf
    from assembly.outline.strip import strip_drawing, strip_of

    drawn, plaque = job.design.plaque, fittings(job.design).plaque
    assert drawn
    assert plaque
    pens = read_pens(machine.pens)
    kerf = usual_kerf(plaque.thickness) if machine.kerf is None else checked_kerf(machine.kerf)
    kerf_remark = _of_kerf(kerf, plaque.thickness, given=machine.kerf is not None)
    name, strip = job.design.name, strip_of(plaque)
    return Outlines(
        plaque=plaque_drawing(plaque, name=name, wording=drawn.wording, kerf=kerf),
        strips=strip_drawing(strip, name=name, kerf=kerf),
        pens=pens,
        page=_page(strip, name),
        remarks=_remarks(names, kerf_remark),
    )


def refuse_what_is_not_cut(job: Job, names: Sequence[str], scale: float) -> None:
    """Refuse an outline of a plaque that no machine cuts, or one that is not in true size."""
    plaque, which = job.design.plaque, f"{listed(list(names))} {'is' if len(names) == 1 else 'are'}"
    if plaque is None:
        msg = (
            f"--as: {which} for the outline of the plaque, and this design has none; ask for other formats, or add "
            "[plaque] to its file"
        )
        raise InputError(msg)
    if plaque.cut != "laser":
        msg = (
            f"--as: {which} for a machine, and the plaque is cut by hand; print its full-size template with "
            "`lapwright sheets`, or give --set plaque.cut=laser"
        )
        raise InputError(msg)
    if scale != 1:
        msg = f"--scale: {which} for a machine that cuts the plaque itself, in true size; export other formats to scale"
        raise InputError(msg)


def _remarks(names: Sequence[str], of_kerf: str) -> tuple[str, ...]:
    from assembly.planning.cautions import machine_cautions

    aside = ("reference.svg is for people: keep it from the machine.",) if "svg" in names else ()
    return (of_kerf, *aside, *machine_cautions())


def _of_kerf(kerf: float, thickness: float, *, given: bool) -> str:
    if not kerf:
        return "Cut paths are true sizes: the machine must allow for its kerf."
    whose = "" if given else f", usual in {mm(thickness)} acrylic; give your machine's with --kerf"
    return f"Cut paths lie half a kerf outside edges and inside holes: the kerf is {mm(kerf)}{whose}."


def _page(strip: Strip, name: str) -> bytes:
    with loading("setting the page of the test strips"):
        from viewer.sheets.page import paper_size
        from viewer.sheets.strip_page import strip_pages
        from viewer.sheets.typeset import pdf, refuse_unknown
    refuse_unknown([name])
    return pdf(strip_pages(strip, name, paper_size(PAPER)), f"{name}: test strips")


def files_of(found: Outlines, name: str, folder: Path) -> dict[Path, Meant]:
    """Return the folder of one format."""
    with loading(f"writing {name}"):
        from assembly.writers.outlines import outline_files
    from assembly.files.writing import Meant

    files = outline_files(name, found.plaque, found.strips, found.pens)
    return {folder / each: file for each, file in files.items()} | {folder / PAGE: Meant(found.page, whole)}
