"""What a DXF file of every kind of shape comes to, for processes that are to agree."""

from hashlib import sha256

from assembly.model.pens import Pen, Pens
from assembly.outline.contours import Circle, Contour, Drawing, Layer, Line, Words, rectangle
from assembly.writers.dxf import dxf


def drawing_sum():
    """Return the sum over the file's bytes."""
    words = Words(text="x", place=(0, 0), height=3, wide=3)
    shapes = Line(start=(0, 0), end=(1, 0)), Circle(centre=(1, 1), radius=1), rectangle(0, 0, 9, 9), words
    contours = tuple(Contour(layer=layer, name="x", shape=shape) for layer, shape in zip(Layer, shapes, strict=True))
    pens = Pens(**dict.fromkeys(Pens.model_fields, Pen(colour="#123456", width=0.1)))
    return sha256(dxf(Drawing(title="x", contours=contours), pens, (0, 0, 9, 9))).hexdigest()
