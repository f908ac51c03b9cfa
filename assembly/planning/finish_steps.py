"""The last steps: lines rubbed out and sharp edges eased; plaque, stem and lid put on."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.frame_steps import FRAME
from assembly.planning.steps import Step
from assembly.rules.shop import mm

if TYPE_CHECKING:
    from assembly.model.design import Design

_screwing = partial(Step, stage="screws", tool="screwdriver", face="top")

_UPPER = ("lid", "plaque", "plaque screw 1", "plaque screw 2")


def finish_steps(design: Design, also: tuple[str, ...]) -> tuple[Step, ...]:
    """Return the last steps: cleaning up, plaque on the lid, stem and cable, lid on the frame.

    `also` are operations whose cautions go with the stem and the cable besides those of low voltage.
    """
    plaque, lid = mm(design.plaque.screw.length), mm(design.lid.screw.length)
    return (
        _cleaned(),
        _screwing(
            part="plaque and lid",
            parts=_UPPER,
            operation="plaque screws",
            size=design.plaque.screw.length,
            also=("screw acrylic",),
            words=f"Screw the plaque to the lid with the two screws {plaque} long, the stem hole over the centre hole. "
            "Stop when the heads are down.",
        ),
        _stem_fitted(design, also),
        _screwing(
            part="lid and frame",
            parts=(*FRAME, "base", *_UPPER, "stem", "left lid screw", "right lid screw"),
            operation="lid screws",
            size=design.lid.screw.length,
            words=f"Lay the lid on, front to front, and drive the two screws {lid} long into the lapped walls.",
        ),
    )


def _cleaned() -> Step:
    return Step(
        stage="cleaning up",
        part="frame and lid",
        parts=(*FRAME, "base", "lid"),
        raised=("lid",),
        tool="rubber and sanding block",
        operation="clean up",
        face="every face",
        words="Rub out every pencil line, letter and name that you can reach, but leave FRONT under the lid: it will "
        "be hidden. The wall with the cable hole is the back. With the sanding block take the sharpness off all "
        "outside edges, two or three light strokes each.",
    )


def _stem_fitted(design: Design, also: tuple[str, ...]) -> Step:
    stem = design.stem
    return Step(
        stage="screws",
        part=f"{stem.name} and cable",
        parts=(*FRAME, "base", *_UPPER, "stem"),
        raised=(*_UPPER, "stem"),
        tool="hands",
        operation="stem",
        face="underside",
        from_where="inside",
        to_where="up through lid and plaque",
        size=stem.diameter,
        also=("low voltage", *also),
        words=f"Put the {stem.name} ({mm(stem.diameter)}) up through lid and plaque. If there is a cable, lead it "
        "out through the back wall.",
    )
