"""The last steps: lines rubbed out and sharp edges eased; plaque, stem and lid put on."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.materials.sheets import DRY_HUMIDITY
from assembly.planning.cautions import HANDS
from assembly.planning.frame_steps import FRAME
from assembly.planning.measures import Size
from assembly.planning.needs import Item, screw_words, screws_needed
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import SHEET_EDGES, Face, on_parts
from assembly.planning.wall_steps import ALL_ROUND
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.design import Design, Plaque, Screw, Stem

_screwing = partial(Step, stage="screws", kind=StepKind.JOIN, tool="screwdriver")

_FRICTION = 0.2  # mm; what a stem may be smaller than its hole and still be held by it: common practice, no source


def finish_steps(design: Design, also: tuple[str, ...]) -> tuple[Step, ...]:
    """Return the last steps: cleaning up, plaque on the lid, stem and cable, lid on the frame; of what there is.

    `also` are operations whose cautions go with the stem and the cable besides those of low voltage; without either
    they go with the last step.
    """
    screw, on_lid = design.lid.screw, _of_lid(design)
    upper = ("lid", *(("plaque", *_of_plaque(design.plaque)) if design.plaque else ()))
    fitted, stem = design.stem or design.cable_hole, ("stem",) if design.stem else ()
    return (
        _cleaned(design),
        _finished(design),
        *((_plaque_screwed(design.plaque, upper),) if design.plaque else ()),
        *((_stem_fitted(design, upper, also),) if fitted else ()),
        _screwing(
            part="lid and frame",
            parts=(*FRAME, "base", *upper, *stem, *on_lid),
            operation="lid screws",
            faces=on_parts(("lid",), Face.TOP),
            sizes=(Size(of="length", mm=screw.length),),
            counted=screws_needed(screw, 2),
            also=() if fitted else also,
            sentences=(
                "Lay the lid on, front to front.",
                *_washered(screw),
                (
                    f"Drive the two {screw_words(screw)} into the lapped walls"
                    f"{'.' if screw.round_head else ', until their heads are flush.'}"
                ),
            ),
        ),
    )


def _plaque_screwed(plaque: Plaque, upper: tuple[str, ...]) -> Step:
    screw, over = plaque.screw, "its holes over the lid's"
    if plaque.stem_hole is not None:
        over = "the stem hole over the centre hole"
    return _screwing(
        part="plaque and lid",
        parts=upper,
        operation="plaque screws",
        faces=on_parts(("plaque",), Face.TOP),
        sizes=(Size(of="length", mm=screw.length),),
        counted=screws_needed(screw, 2),
        also=("screw acrylic",),
        sentences=(
            f"Lay the plaque on the lid, {over}.",
            *_washered(screw),
            f"Drive the two {screw_words(screw)} into the lid.",
            "Stop when the washers just hold.",
        ),
    )


def _washered(screw: Screw) -> tuple[str, ...]:
    """Return what is done with washers, where there are any."""
    return (f"Put a washer of {mm(screw.round_head.washer)} on each screw.",) if screw.round_head else ()


def _of_lid(design: Design) -> tuple[str, ...]:
    """Return the lid's screws and their washers, by name."""
    names = ("screw", "washer") if design.lid.screw.round_head else ("screw",)
    return tuple(f"{wall} lid {name}" for name in names for wall in design.box.lapped_walls)


def _of_plaque(plaque: Plaque) -> tuple[str, ...]:
    """Return the plaque's screws and their washers, by name."""
    names = ("screw", "washer") if plaque.screw.round_head else ("screw",)
    return tuple(f"plaque {name} {number}" for name in names for number in (1, 2))


def _cleaned(design: Design) -> Step:
    if design.cable_hole:
        left = "but leave FRONT under the lid: it will be hidden."
        known = "The wall with the cable hole is the back."
    else:
        left = "but leave FRONT under the lid and inside the front wall."
        known = "They tell which way the lid goes on, and will be hidden."
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
            f"Rub out every pencil line, letter and name that you can reach, {left}",
            known,
            "With the sanding block take the sharpness off all outside edges, two or three light strokes each.",
        ),
    )


def _finished(design: Design) -> Step:
    home = design.climate.home if design.climate else None
    air = "" if home is None else f" ({home.humidity:g} % humidity)"
    outside = (
        f"The box will live where it is damp{air}: brush on an exterior finish, as its label says.",
        "Brush end grain and sawn edges of sheets twice, until they soak up no more: they drink the most.",
    )
    inside = (f"The box will live where it is dry{air}: brush on a thin coat of an indoor finish, as its label says.",)
    either = (
        "Indoors brush on a thin coat of an indoor finish, as its label says.",
        "Where the box will live outdoors or in the damp, take an exterior finish and seal end grain and edges twice.",
    )
    said = either if home is None else outside if home.humidity > DRY_HUMIDITY else inside
    return Step(
        stage="finish",
        kind=StepKind.TREAT,
        part="frame and lid",
        parts=(*FRAME, "base", "lid"),
        raised=("lid",),
        tool="brush and finish",
        operation="finish",
        faces=(
            *on_parts(FRAME, Face.OUTSIDE),
            *on_parts(("base",), *SHEET_EDGES),
            *on_parts(("lid",), Face.TOP, *SHEET_EDGES),
        ),
        sentences=(
            *said,
            "Coat the outside, keep the holes free, and let it dry before you go on.",
        ),
    )


def _held(design: Design, stem: Stem) -> tuple[str, Item]:
    """Return what holds the stem, in words and as a need, by how much smaller it is than its smallest hole."""
    plaque = design.plaque.stem_hole if design.plaque else None
    holes = [size for size in (design.lid.centre_hole, plaque) if size is not None]
    room = round(min(holes, default=stem.diameter) - stem.diameter, 2)
    if room <= _FRICTION:
        return (
            "It must hold by friction: press it in by hand, and if it drops wind one turn of tape round it.",
            Item.TAPE,
        )
    words = (
        f"Its hole is {mm(room)} wider, so it does not hold by itself: fix it under the lid with a grommet, or with "
        "glue that its label allows for both."
    )
    return words, Item.GROMMET


def _stem_fitted(design: Design, upper: tuple[str, ...], also: tuple[str, ...]) -> Step:
    stem, cable, through = design.stem, design.cable_hole, "lid and plaque" if design.plaque else "the lid"
    lifted = (*upper, *(("stem",) if stem else ()))
    sizes, parts, sentences, besides = [], [], [], []
    if stem:
        sizes.append(Size(of="diameter", mm=stem.diameter))
        parts.append(stem.name)
        sentences.append(f"Put the {stem.name} ({mm(stem.diameter)}) up through {through}.")
        held, by = _held(design, stem)
        sentences.append(held)
        besides.append(by)
    if cable:
        parts.append("cable")
        sentences.append("If there is a cable, lead it out through the back wall.")
    return Step(
        stage="screws",
        kind=StepKind.JOIN,
        part=" and ".join(parts),
        parts=(*FRAME, "base", *lifted),
        raised=lifted,
        tool=HANDS,
        besides=tuple(besides),
        operation="stem" if stem else "cable",
        faces=on_parts(("plaque" if design.plaque else "lid",), Face.TOP)
        if stem
        else on_parts(("back wall",), Face.INSIDE),
        sizes=tuple(sizes),
        also=(*(("low voltage",) if cable or (stem and stem.soldered) else ()), *also),
        sentences=tuple(sentences),
    )
