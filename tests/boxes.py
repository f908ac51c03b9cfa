"""The box of MODEL.md, 3 and 7, and small helpers to set one error at a time."""

import math

import numpy as np

from assembly.made.faces import Making
from assembly.made.records import MadeFaces
from assembly.made.sampling import values
from assembly.model.workshop import ANGLES, Disturbance, Pare, Workshop
from assembly.nominal.frame import Frame

# t = 10, T = 15, r = 0.5, L = 160, W = 90, H = 45: so D = K = 7.5, plain walls 145 long
TABLE_BOX = Frame(along_x=160, along_y=90, height=45, lapped=15, plain=10, depth=7.5, length_axis="x")


def still_workshop(**settings) -> Workshop:
    """Return a workshop whose hands make no error and never pare."""
    return Workshop(name="no errors", pare=Pare(), **settings)


def with_rows(workshop: Workshop, rows: dict[str, Disturbance]) -> Workshop:
    """Return the workshop with some quantities' rows replaced whole, by their dotted names."""
    operations = workshop.operations
    for quantity, row in rows.items():
        operation, name = quantity.split(".")
        changed = getattr(operations, operation).model_copy(update={name: row})
        operations = operations.model_copy(update={operation: changed})
    return workshop.model_copy(update={"operations": operations})


def faces_with(errors: dict[tuple[str, int], float], *, box: Frame = TABLE_BOX, **settings) -> MadeFaces:
    """Return one box's faces with these errors alone, by (quantity, place); mm or degrees."""
    making = Making(frame=box, workshop=still_workshop(**settings))
    value = {name: array.copy() for name, array in values(making.inputs, {}).items()}
    for (name, place), amount in errors.items():
        value[name][place] += math.radians(amount) if name in ANGLES else amount
    return making.faces(value)


def gaps_with(errors: dict[tuple[str, int], float], *, box: Frame = TABLE_BOX, **settings) -> np.ndarray:
    """Return the gaps before settling, (4 corners, 2 faces, 4 points), with these errors alone."""
    return faces_with(errors, box=box, **settings).gaps().reshape(4, 2, 4)
