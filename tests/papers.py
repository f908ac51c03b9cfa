"""Printed pages as tests read them: strokes in the PDF, and records with nothing off the page or over anything."""

import io

import numpy as np
from pypdf import PdfReader

from viewer.sheets.page import extent

POINT = 25.4 / 72  # mm
UNPRINTED = 5.0  # mm at every edge of the paper that a printer may leave white; common practice, no source


def strokes_in(data, number):
    """Return every straight piece of a page, mm from its lower left corner, as pypdf reads it."""
    found, at = [], None

    def seen(operator, operands, matrix, _):
        nonlocal at
        if operator not in {b"m", b"l"}:
            return
        x, y = (float(value) for value in operands)
        a, b, c, d, e, f = matrix
        point = ((a * x + c * y + e) * POINT, (b * x + d * y + f) * POINT)
        if operator == b"l":
            found.append((at, point))
        at = point

    PdfReader(io.BytesIO(data)).pages[number].extract_text(visitor_operand_before=seen)
    return found


def shrunk(words):
    """Return what the letters of words surely take up: the box of a line is higher than most of its letters."""
    x0, y0, x1, y1 = words.box
    return (x0 + 0.5, y0 + 0.1, x1 - 0.9, y1 - 0.1) if words.turned else (x0 + 0.1, y0 + 0.4, x1 - 0.1, y1 - 0.7)


def check_pages(pages):
    for one in pages:
        left, top, right, bottom = extent(one.items)
        assert min(left, top) >= UNPRINTED
        assert right <= one.size[0] - UNPRINTED
        assert bottom <= one.size[1] - UNPRINTED
        boxes = np.array([shrunk(words) for words in one.words])
        low, high = boxes[:, :2], boxes[:, 2:]
        over = np.triu(((low[:, None] < high[None]) & (low[None] < high[:, None])).all(axis=-1), 1)
        assert not over.any(), [(one.words[i].text, one.words[j].text) for i, j in np.argwhere(over)]
