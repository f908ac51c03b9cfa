"""What a class needs of the shipped designs, and what is on sale: common practice, no source."""

from functools import cache

from assembly.files.reading import read_design
from assembly.order.layouts import SheetOnSale
from assembly.order.lengths import LengthOnSale
from assembly.planning.cutting import cut_parts

DESIGNS = ("frost_watch", "label_box", "seed_box")
LENGTHS = (1800, 2400)  # mm
SHEETS = ((600, 300), (600, 600), (1000, 500), (1220, 610), (2440, 1220))


@cache
def needed(design, makers):
    """Return the pieces of a class, of sections and of sheets: {(material, thickness, width): (sizes, counts)}."""
    sections, sheets = {}, {}
    for part in cut_parts(read_design(design)):
        group = sheets if part.sheet else sections
        key = (part.material, part.thickness, None if part.sheet else part.width)
        sizes, counts = group.setdefault(key, ([], []))
        sizes.append((part.blank_length, part.blank_width) if part.sheet else part.blank_length)
        counts.append(makers * part.count)
    return sections, sheets


def length(size):
    return LengthOnSale(length=size, kerf=3, end_trim=10)


def sheet(size, *, straight, turn):
    """Return a sheet for a saw, or for a laser where cuts need not be straight."""
    return SheetOnSale(
        length=size[0],
        width=size[1],
        kerf=3 if straight else 0.2,
        edge_trim=10 if straight else 5,
        straight=straight,
        turn=turn,
    )
