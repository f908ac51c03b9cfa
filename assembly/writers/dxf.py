"""DXF: a drawing for a machine that cuts and engraves, R2010, in millimetres, a layer for each thing that it does.

Circles stay circles; loops are closed polylines, whose straight pieces keep within 0.01 mm of curves. No date and no
running number goes into the file, so that the same drawing gives the same bytes.
"""

from __future__ import annotations

import math
from contextlib import contextmanager
from io import StringIO
from typing import TYPE_CHECKING

import ezdxf
from ezdxf import units
from ezdxf.entities import LWPolyline
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

from assembly.files.writing import misread
from assembly.outline.contours import Circle, Layer, Line, Loop, Words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from ezdxf.entities import DXFEntity
    from ezdxf.layouts import Modelspace

    from assembly.model.pens import Pens
    from assembly.outline.contours import Box, Contour, Drawing, Point, Shape

UNPLOTTED = True  # what is for people stands in the drawing, on a layer that is not plotted

_NEAR = 1e-6  # mm
_TYPES = {Circle: "CIRCLE", Loop: "LWPOLYLINE", Line: "LINE"}  # words are TEXT


def dxf(drawing: Drawing, pens: Pens, _: Box) -> bytes:
    """Return a drawing as a DXF file, with the layers on which it has a contour."""
    stream = StringIO()
    with _undated():
        document = ezdxf.new("R2010", units=units.MM)
        for layer in filter(drawing.on, Layer):
            pen = pens.of(layer)
            entry = document.layers.add(layer, lineweight=_weight(pen.width))
            entry.rgb = pen.rgb
            if pen.number is not None:
                entry.dxf.color = pen.number
            entry.dxf.plot = int(layer != Layer.REFERENCE)
        for contour in drawing.in_order():
            _draw(document.modelspace(), contour)
        for kind in sorted(document.entitydb.dxf_types_in_use()):  # the library takes them in no certain order
            document.classes.add_class(kind)
        document.write(stream)
    return stream.getvalue().encode(document.output_encoding, errors="dxfreplace")


@contextmanager
def _undated() -> Iterator[None]:
    """Have the library write the same dates and identities each time, and whatever it did before afterwards."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _weight(width: float) -> int:
    """Return the DXF line weight nearest to a width in mm: hundredths of a millimetre, of which there are 24."""
    return min((weight for weight in VALID_DXF_LINEWEIGHTS if weight >= 0), key=lambda each: abs(each - 100 * width))


def _draw(space: Modelspace, contour: Contour) -> None:
    shape, on = contour.shape, {"layer": contour.layer}
    if isinstance(shape, Circle):
        space.add_circle(shape.centre, shape.radius, dxfattribs=on)
    elif isinstance(shape, Loop):
        space.add_lwpolyline(shape.points(), close=True, dxfattribs=on)
    elif isinstance(shape, Line):
        space.add_line(shape.start, shape.end, dxfattribs=on)
    else:
        space.add_text(shape.text, height=shape.height, dxfattribs=on).set_placement(shape.place)


def check_dxf(draft: Path, drawing: Drawing, _: Box) -> None:
    """Refuse a file that is not a drawing: its faults, unit, layers, kinds and closed contours, and sizes of each.

    Raises
    ------
    ExportError
        With what it reads back as.
    """
    try:
        document = ezdxf.readfile(draft)
    except (OSError, ezdxf.DXFError) as error:
        raise misread(draft, f"as no DXF file ({error})") from error
    faults = document.audit()
    if faults.has_errors or faults.has_fixes:
        found = [*faults.errors, *faults.fixes][0].message
        raise misread(draft, f"with a fault ({found})")
    if document.units != units.MM:
        raise misread(draft, "in another unit than mm")
    if Layer.REFERENCE in document.layers and document.layers.get(Layer.REFERENCE).dxf.plot:
        raise misread(draft, "with notes that would be plotted")
    for layer in Layer:
        there, meant = document.modelspace().query(f'*[layer=="{layer}"]'), drawing.on(layer)
        kinds = [entity.dxftype() for entity in there]
        if kinds != [_TYPES.get(type(contour.shape), "TEXT") for contour in meant]:
            raise misread(draft, f"with other contours on layer {layer}")
        for entity, contour in zip(there, meant, strict=True):
            if not _same(entity, contour.shape):
                raise misread(draft, f"with {contour.name} of another size or place")


def _same(entity: DXFEntity, shape: Shape) -> bool:
    """Tell whether an entity is as large as a shape, stands where it stands, and is closed where it is."""
    if isinstance(entity, LWPolyline) and isinstance(shape, Loop):
        return bool(entity.closed) and _near(entity.get_points("xy"), shape.points())
    held = entity.dxf
    if isinstance(shape, Circle):
        return _near([held.center], [shape.centre]) and abs(held.radius - shape.radius) < _NEAR
    if isinstance(shape, Line):
        return _near([held.start, held.end], [shape.start, shape.end])
    return isinstance(shape, Words) and held.text == shape.text and _near([held.insert], [shape.place])


def _near(found: Sequence[Sequence[float]], meant: Sequence[Point]) -> bool:
    return len(found) == len(meant) and all(
        math.dist((a[0], a[1]), b) < _NEAR for a, b in zip(found, meant, strict=True)
    )
