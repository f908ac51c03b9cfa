"""The last steps: lines rubbed out and sharp edges eased; plaque, stem and lid put on."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.cautions import HANDS
from assembly.planning.frame_steps import FRAME
from assembly.planning.measures import Size
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import SHEET_EDGES, Face, on_parts
from assembly.planning.wall_steps import ALL_ROUND
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.design import Design

_screwing = partial(Step, stage="screws", kind=StepKind.JOIN, tool="screwdriver")

_UPPER = ("lid", "plaque", "plaque screw 1", "plaque screw 2")


def finish_steps(design: Design, also: tuple[str, ...]) -> tuple[Step, ...]:
    """Return the last steps: cleaning up, plaque on the lid, stem and cable, lid on the frame.

    `also` are operations whose cautions go with the stem and the cable besides those of low voltage.
    """
    plaque, lid = design.plaque.screw.length, design.lid.screw.length
    return (
        _cleaned(),
        _screwing(
            part="plaque and lid",
            parts=_UPPER,
            operation="plaque screws",
            faces=on_parts(("plaque",), Face.TOP),
            sizes=(Size(of="length", mm=plaque),),
            also=("screw acrylic",),
            sentences=(
                (
                    f"Screw the plaque to the lid with the two screws {mm(plaque)} long, the stem hole over the centre "
                    "hole."
                ),
                "Stop when the heads are down.",
            ),
        ),
        _stem_fitted(design, also),
        _screwing(
            part="lid and frame",
            parts=(*FRAME, "base", *_UPPER, "stem", "left lid screw", "right lid screw"),
            operation="lid screws",
            faces=on_parts(("lid",), Face.TOP),
            sizes=(Size(of="length", mm=lid),),
            sentences=(
                f"Lay the lid on, front to front, and drive the two screws {mm(lid)} long into the lapped walls.",
            ),
        ),
    )


def _cleaned() -> Step:
    return Step(
        stage="cleaning up",
        kind=StepKind.CLEAN,
        part="frame and lid",
        parts=(*FRAME, "base", "lid"),
        raised=("lid",),
        tool="rubber and sanding block",
        operation="clean up",
        faces=(
            *on_parts(FRAME, *ALL_ROUND),
            *on_parts(("base",), Face.UNDERSIDE, *SHEET_EDGES),
            *on_parts(("lid",), Face.TOP, Face.UNDERSIDE, *SHEET_EDGES),
        ),
        sentences=(
            (
                "Rub out every pencil line, letter and name that you can reach, but leave FRONT under the lid: it will "
                "be hidden."
            ),
            "The wall with the cable hole is the back.",
            "With the sanding block take the sharpness off all outside edges, two or three light strokes each.",
        ),
    )


def _stem_fitted(design: Design, also: tuple[str, ...]) -> Step:
    stem = design.stem
    return Step(
        stage="screws",
        kind=StepKind.JOIN,
        part=f"{stem.name} and cable",
        parts=(*FRAME, "base", *_UPPER, "stem"),
        raised=(*_UPPER, "stem"),
        tool=HANDS,
        operation="stem",
        faces=on_parts(("lid",), Face.UNDERSIDE),
        sizes=(Size(of="diameter", mm=stem.diameter),),
        also=("low voltage", *also),
        sentences=(
            f"Put the {stem.name} ({mm(stem.diameter)}) up through lid and plaque.",
            "If there is a cable, lead it out through the back wall.",
        ),
    )
