"""The last steps: lines rubbed out and sharp edges eased; plaque, stem and lid put on."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.cautions import HANDS
from assembly.planning.frame_steps import FRAME
from assembly.planning.home import air, damp_home
from assembly.planning.measures import Datum, Size
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
    """Return the last steps: cleaning up, finish, plaque on the lid, stem, cable, lid on the frame; of what there is.

    `also` are operations whose cautions go with the stem and the cable besides those of low voltage; without either
    they go with the last step.
    """
    upper = ("lid", *(("plaque", *_of_plaque(design.plaque)) if design.plaque else ()))
    fitted = bool(design.stem or design.cable_hole)
    return (
        *_cleaned(design),
        *_finished(design),
        *(_plaque_screwed(design.plaque, upper) if design.plaque else ()),
        *_stem_and_cable(design, upper, also),
        *_lid_screwed(design, upper, () if fitted else also),
    )


def _lid_screwed(design: Design, upper: tuple[str, ...], also: tuple[str, ...]) -> tuple[Step, ...]:
    screw, stem = design.lid.screw, ("stem",) if design.stem else ()
    parts = (*FRAME, "base", *upper, *stem)
    step = partial(_screwing, part="lid and frame", faces=on_parts(("lid",), Face.TOP))
    flush = "" if screw.round_head else ", until their heads are flush"
    return (
        step(
            kind=StepKind.LAY,
            parts=parts,
            tool=HANDS,
            operation="lid on",
            action="Lay the lid on the frame, front to front.",
        ),
        *_washered(step, screw, parts),
        step(
            parts=(*parts, *_of_lid(design)),
            operation="lid screws",
            sizes=(Size(of="length", mm=screw.length),),
            counted=screws_needed(screw, 2),
            also=also,
            action=f"Drive the two {screw_words(screw)} into the lapped walls{flush}.",
        ),
    )


def _plaque_screwed(plaque: Plaque, upper: tuple[str, ...]) -> tuple[Step, ...]:
    screw, over = plaque.screw, "its screw holes over the lid's"
    if plaque.stem_hole is not None:
        over = "the stem hole over the centre hole"
    step = partial(_screwing, part="plaque and lid", faces=on_parts(("plaque",), Face.TOP))
    return (
        step(
            kind=StepKind.LAY,
            parts=("lid", "plaque"),
            tool=HANDS,
            operation="plaque on",
            action=f"Lay the plaque on the lid, {over}.",
        ),
        *_washered(step, screw, ("lid", "plaque")),
        step(
            parts=upper,
            operation="plaque screws",
            sizes=(Size(of="length", mm=screw.length),),
            counted=screws_needed(screw, 2),
            also=("screw acrylic",),
            action=f"Drive the two {screw_words(screw)} into the lid.",
            notes=("The washers must just hold, no more.",),
        ),
    )


def _washered(step: partial[Step], screw: Screw, parts: tuple[str, ...]) -> tuple[Step, ...]:
    """Return the putting of washers on screws, where there are any."""
    if screw.round_head is None:
        return ()
    wide = screw.round_head.washer
    put = step(
        kind=StepKind.LAY,
        parts=parts,
        tool=HANDS,
        operation="washers",
        sizes=(Size(of="diameter", mm=wide),),
        counted=screws_needed(screw, 2),
        action=f"Put a washer of {mm(wide)} on each of the two screws.",
    )
    return (put,)


def _of_lid(design: Design) -> tuple[str, ...]:
    """Return the lid's screws and their washers, by name."""
    names = ("screw", "washer") if design.lid.screw.round_head else ("screw",)
    return tuple(f"{wall} lid {name}" for name in names for wall in design.box.lapped_walls)


def _of_plaque(plaque: Plaque) -> tuple[str, ...]:
    """Return the plaque's screws and their washers, by name."""
    names = ("screw", "washer") if plaque.screw.round_head else ("screw",)
    return tuple(f"plaque {name} {number}" for name in names for number in (1, 2))


def _cleaned(design: Design) -> tuple[Step, Step]:
    if design.cable_hole:
        left = "FRONT under the lid may stay: it will be hidden."
        known = "The wall with the cable hole is the back."
    else:
        left = "FRONT under the lid and inside the front wall must stay: it will be hidden."
        known = "It tells which way the lid goes on."
    step = partial(Step, stage="cleaning up", part="frame and lid", parts=(*FRAME, "base", "lid"), raised=("lid",))
    outside = (
        *on_parts(FRAME, *ALL_ROUND),
        *on_parts(("base",), Face.UNDERSIDE, *SHEET_EDGES),
        *on_parts(("lid",), Face.TOP, Face.UNDERSIDE, *SHEET_EDGES),
    )
    return (
        step(
            kind=StepKind.CLEAN,
            tool="rubber",
            operation="clean up",
            faces=outside,
            action="Rub out every pencil line, letter and name that you can reach.",
            notes=(left, known),
        ),
        step(
            kind=StepKind.TREAT,
            tool="sanding block",
            operation="ease edges",
            faces=outside,
            action="Sand the sharpness off all outside edges, with two or three light strokes each.",
        ),
    )


def _finished(design: Design) -> tuple[Step, ...]:
    damp = damp_home(design)
    step = partial(
        Step,
        stage="finish",
        kind=StepKind.TREAT,
        part="frame and lid",
        parts=(*FRAME, "base", "lid"),
        raised=("lid",),
        tool="brush and finish",
    )
    sawn = (*on_parts(("base",), *SHEET_EDGES), *on_parts(("lid",), *SHEET_EDGES))
    which = "an exterior finish" if damp else "a thin coat of an indoor finish"
    lives = () if damp is None else (f"The box will live where it is {air(design)}.",)
    outdoors = ("A box outdoors or in the damp needs an exterior finish, end grain and edges twice.",)
    ends = step(
        operation="seal ends",
        faces=sawn,
        action="Brush end grain and sawn edges of sheets twice, until they soak up no more.",
        notes=("They drink the most.",),
    )
    return (
        step(
            operation="finish",
            faces=(*on_parts(FRAME, Face.OUTSIDE), *on_parts(("lid",), Face.TOP), *sawn),
            action=f"Brush {which} on the outside, as its label says.",
            notes=(*(lives or outdoors), "The holes stay free of finish."),
        ),
        *((ends,) if damp else ()),
        step(kind=StepKind.WAIT, tool=HANDS, operation="finish dry", action="Let the finish dry."),
    )


def _stem_and_cable(design: Design, upper: tuple[str, ...], also: tuple[str, ...]) -> tuple[Step, ...]:
    """Return the fitting of stem and cable; cautions of wires go with the first of them."""
    stem, cable = design.stem, design.cable_hole
    lifted = (*upper, *(("stem",) if stem else ()))
    wires = (*(("low voltage",) if cable or (stem and stem.soldered) else ()), *also)
    step = partial(Step, stage="screws", kind=StepKind.JOIN, parts=(*FRAME, "base", *lifted), raised=lifted, tool=HANDS)
    led = step(
        part="cable",
        operation="cable",
        faces=on_parts(("back wall",), Face.INSIDE),
        also=() if stem else wires,
        action="Lead the cable, if there is one, out through the back wall.",
    )
    return (*(_stem_held(design, stem, step, wires) if stem else ()), *((led,) if cable else ()))


def _stem_held(design: Design, stem: Stem, step: partial[Step], wires: tuple[str, ...]) -> tuple[Step, Step]:
    """Return how the stem is put in and what holds it, by how much smaller it is than its smallest hole."""
    through = "lid and plaque" if design.plaque else "the lid"
    top = on_parts(("plaque" if design.plaque else "lid",), Face.TOP)
    of_stem = partial(step, part=stem.name, faces=top)
    put = partial(of_stem, operation="stem", also=wires)
    sizes = (Size(of="diameter", mm=stem.diameter),)
    room = _room(design, stem)
    if room <= _FRICTION:
        return (
            put(
                sizes=sizes,
                action=f"Press the {stem.name} ({mm(stem.diameter)}) up through {through} by hand.",
                notes=("It must hold by friction.",),
            ),
            of_stem(
                operation="tape stem",
                besides=(Item.TAPE,),
                action="Wind one turn of tape round it if it drops.",
            ),
        )
    return (
        put(sizes=sizes, action=f"Put the {stem.name} ({mm(stem.diameter)}) up through {through}."),
        of_stem(
            operation="fix stem",
            besides=(Item.GROMMET,),
            sizes=(Size(of="distance", mm=room, datum=Datum.HOLE),),
            action="Fix it under the lid with a grommet, or with glue that its label allows for both.",
            notes=(f"Its hole is {mm(room)} wider, so it does not hold by itself.",),
        ),
    )


def _room(design: Design, stem: Stem) -> float:
    """Return how much smaller the stem is than its smallest hole, mm."""
    plaque = design.plaque.stem_hole if design.plaque else None
    holes = [size for size in (design.lid.centre_hole, plaque) if size is not None]
    return round(min(holes, default=stem.diameter) - stem.diameter, 2)
