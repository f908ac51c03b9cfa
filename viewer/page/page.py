"""One page for a browser, as text: everything that it needs is in it, and it asks nothing of any other place.

What comes of the design is escaped by the template, or packed into the data, so a name is text whatever it holds. The
content policy lets the browser run the one script and the one style sheet whose hashes it names, and load nothing.
"""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup, escape

from viewer.page.arrays import Coarse
from viewer.page.scenes import packed_data
from viewer.page.sections import listed_parts, outside, stages, terms_of
from viewer.page.stills import Stills, stills_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.planning.making import MakingOrder
    from assembly.solids.parts import Facts
    from viewer.page.sections import Piece
    from viewer.page.teacher import ShownBox
    from viewer.scene.scene import Scene

_HERE = Path(__file__).parent


def page(
    order: MakingOrder,
    facts: Sequence[Facts],
    boxes: Sequence[ShownBox],
    steps: Sequence[Scene],
    *,
    teacher: str = "",
    key: str = "",
) -> str:
    """Return the page.

    Parameters
    ----------
    order : MakingOrder
        How the box is made.
    facts : sequence of Facts
        What is known of each part.
    boxes : sequence of ShownBox
        Boxes that can be shown, all taken apart; the nominal one first.
    steps : sequence of Scene
        The scene of every step.
    teacher : str
        HTML of the sections that only the teacher's edition has; empty in the pupils'.
    key : str
        HTML of what the patterns on the joints stand for; empty where no box with its joints marked can be shown.
    """
    coarse = Coarse()
    shown, made = [coarse.scene(box.scene) for box in boxes], [coarse.scene(scene) for scene in steps]
    stills, terms = stills_of(shown[0], made), terms_of(order)
    style, script = _style(), _script()
    known = [part.name for part in shown[0].parts]
    titled = [(box.title, scene) for box, scene in zip(boxes, shown, strict=True)]
    data = packed_data(_key(stills), titled, made, known)
    return _template().render(
        name=shown[0].name,
        edition="teacher" if teacher else "pupil",
        outside=outside(shown[0]),
        parts=listed_parts(shown[0], facts, order.steps),
        count=len(order.steps),
        first=[caution.words for caution in order.first],
        stages=stages(order, [Markup(still) for still in stills.steps], terms),
        terms=terms,
        boxes=boxes,
        stills=Stills(
            shared=Markup(stills.shared),
            shared_by_steps=Markup(stills.shared_by_steps),
            wide=Markup(stills.wide),
            narrow=Markup(stills.narrow),
            steps=stills.steps,
        ),
        teacher=Markup(teacher),
        key=Markup(key),
        words=_worded,
        style=Markup(style),
        style_hash=Markup(_hash(style)),
        script=Markup(script),
        script_hash=Markup(_hash(script)),
        data=data,
    )


def _worded(pieces: Sequence[Piece]) -> Markup:
    """Return a sentence whose trade words lead to what they mean."""
    return Markup("").join(
        Markup('<a class="term" href="#term-{0}" data-term="{0}">{1}</a>').format(piece.term, piece.text)
        if piece.term
        else escape(piece.text)
        for piece in pieces
    )


def _key(stills: Stills) -> str:
    """Return by what a browser knows the page again: its drawings; ticks of another box are none of its own."""
    return hashlib.sha256("".join(stills.steps).encode()).hexdigest()[:16]


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


@cache
def _style() -> str:
    return (_HERE / "style.css").read_text(encoding="utf-8")


@cache
def _script() -> str:
    return (_HERE / "built" / "page.js").read_text(encoding="utf-8")


@cache
def _template() -> Template:
    found = Environment(
        loader=FileSystemLoader(_HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return found.get_template("template.html")
