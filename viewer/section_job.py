"""What `lapwright section` does, in a few steps: read, try, tell; no geometry kernel is loaded."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from assembly.errors import InputError
from viewer.jobs import folder_for, read
from viewer.libraries import loading
from viewer.progress import progress
from viewer.steps import Answer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.soundness.variants import Keep
    from viewer.jobs import Job

KEEPS: dict[str, Keep] = {"outside": "outside", "inside": "inside"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the command's words ask for; None: as the design has it."""

    lapped: float | None = None
    plain: float | None = None
    height: float | None = None
    timber: str | None = None
    keep: str = "outside"
    stock: str | None = None
    boxes: int = 20_000
    seed: int = 1
    to: str = "exports"

    @property
    def kept(self) -> Keep:
        """The size that stays."""
        if self.keep not in KEEPS:
            msg = f"--keep: got {self.keep!r}, must be outside or inside"
            raise InputError(msg)
        return KEEPS[self.keep]


def answered(design: str, settings: Sequence[str] | None, workshop: str | None, asked: Asked) -> Answer:
    """Return what is told of one section, or of every pair of a stock file where no thickness is asked about."""
    kept = asked.kept
    job = _unproven(read(design, settings, workshop), settings)
    with loading("judging a section"):
        from assembly.soundness.stock import read_stock  # noqa: PLC0415 - loaded when it is needed

        stock = read_stock(asked.stock) if asked.stock is not None else None
    if asked.lapped is None and asked.plain is None:
        if stock is None and asked.height is None and asked.timber is None:
            msg = "section: nothing to try; give --lapped and --plain in mm, or --stock FILE for every pair on sale"
            raise InputError(msg)
        if stock is not None:
            return _table(job, stock, kept, asked)
    return _one(job, stock, kept, asked)


def _unproven(job: Job, settings: Sequence[str] | None) -> Job:
    """Take the mark "proven" from a section that was changed on the command line."""
    changed = [s.split("=", 1)[0].strip() for s in settings or ()]
    if not any(key.startswith("timber.") or key == "box.height" for key in changed) or "timber.proven" in changed:
        return job
    timber = job.design.timber.model_copy(update={"proven": False})
    return replace(job, design=job.design.model_copy(update={"timber": timber}))


def _one(job: Job, stock: tuple[float, ...] | None, kept: Keep, asked: Asked) -> Answer:
    from assembly.soundness.section import study_section  # noqa: PLC0415 - loaded when it is needed
    from assembly.soundness.variants import varied  # noqa: PLC0415 - loaded when it is needed
    from viewer.section import section_text  # noqa: PLC0415 - loaded when it is needed
    from viewer.section_data import section_data  # noqa: PLC0415 - loaded when it is needed

    tried = varied(
        job.design, lapped=asked.lapped, plain=asked.plain, height=asked.height, timber=asked.timber, keep=kept
    )
    with progress(f"making {asked.boxes:,} boxes of either section on paper"):
        study = study_section(
            job.design, tried, job.workshop, keep=kept, stock=stock, boxes=asked.boxes, seed=asked.seed
        )
    return Answer(text=section_text(study), data=section_data(study), kept=study.verdict.verdict != "not sound")


def _table(job: Job, stock: tuple[float, ...], kept: Keep, asked: Asked) -> Answer:
    from assembly.soundness.section import section_table  # noqa: PLC0415 - loaded when it is needed
    from assembly.soundness.variants import varied  # noqa: PLC0415 - loaded when it is needed
    from viewer.section import table_text  # noqa: PLC0415 - loaded when it is needed
    from viewer.section_data import table_data  # noqa: PLC0415 - loaded when it is needed
    from viewer.section_map import section_map, write_map  # noqa: PLC0415 - loaded when it is needed

    with progress(f"trying {len(stock) ** 2} pairs of sections") as tell:
        cells = section_table(
            job.design,
            stock,
            job.workshop,
            vary=partial(varied, job.design, height=asked.height, timber=asked.timber, keep=kept),
            boxes=asked.boxes,
            seed=asked.seed,
            progress=tell,
        )
    timber = job.design.timber
    with loading("drawing the map"):
        figure = section_map(cells, f"{job.design.name}: which sections are sound", (timber.lapped, timber.plain))
    file = folder_for(asked.to) / f"{job.stem}_sections.png"
    write_map(figure, file)
    return Answer(
        text=f"{table_text(job.design, cells)}\n\nwrote {file.as_posix()}",
        data={**table_data(cells), "files": [file.as_posix()]},
        kept=any(cell.verdict is not None and cell.verdict.verdict != "not sound" for cell in cells),
    )
