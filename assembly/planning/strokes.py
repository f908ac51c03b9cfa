"""Letters as a pencil writes them: single strokes on a grid four units wide and six high.

stroke : a line that is drawn without lifting the pencil, through points of the grid
em     : what a letter and the space after it take up along the line of writing

Words are written in capitals; a character that has no strokes here is written as an empty frame, a space as nothing.
"""

from __future__ import annotations

from itertools import pairwise

PlanePoint = tuple[float, float]

WIDE, HIGH, EM = 4.0, 6.0, 5.5  # units of the grid

# Two digits are a point, x then y from the lower left; a slash lifts the pencil. Drawn for this project.
_LETTERS = {
    "A": "00 26 40/13 33",
    "B": "00 06 36 45 44 33 03/33 42 41 30 00",
    "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00",
    "E": "46 06 00 40/03 33",
    "F": "46 06 00/03 33",
    "G": "45 36 16 05 01 10 30 41 43 23",
    "H": "00 06/40 46/03 43",
    "I": "20 26",
    "J": "46 41 30 10 01",
    "K": "00 06/46 03 40",
    "L": "06 00 40",
    "M": "00 06 23 46 40",
    "N": "00 06 40 46",
    "O": "10 01 05 16 36 45 41 30 10",
    "P": "00 06 36 45 44 33 03",
    "Q": "10 01 05 16 36 45 41 30 10/22 40",
    "R": "00 06 36 45 44 33 03/23 40",
    "S": "45 36 16 05 04 13 33 42 41 30 10 01",
    "T": "06 46/26 20",
    "U": "06 01 10 30 41 46",
    "V": "06 20 46",
    "W": "06 10 23 30 46",
    "X": "00 46/06 40",
    "Y": "06 23 46/23 20",
    "Z": "06 46 00 40",
    "0": "10 01 05 16 36 45 41 30 10/11 35",
    "1": "15 26 20/10 30",
    "2": "05 16 36 45 44 00 40",
    "3": "05 16 36 45 44 33 23/33 42 41 30 10 01",
    "4": "30 36 02 42",
    "5": "46 06 04 34 43 41 30 10 01",
    "6": "45 36 16 05 01 10 30 41 42 33 13 02",
    "7": "06 46 10",
    "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
    "9": "01 10 30 41 45 36 16 05 04 13 33 44",
    "-": "13 33",
    "+": "13 33/22 24",
    ".": "20 21",
    ",": "10 21",
    ":": "21 22/24 25",
    "'": "25 26",
    "!": "20 21/22 26",
    "/": "00 46",
    " ": "",
}
_FRAME = "00 06 46 40 00"


def width(text: str) -> float:
    """Return the length of a written text as a multiple of its letters' height.

    Examples
    --------
    >>> width("AB") == (5.5 + 4) / 6
    True
    """
    return (EM * (len(text) - 1) + WIDE) / HIGH


def strokes(text: str) -> list[tuple[PlanePoint, PlanePoint]]:
    """Return the straight pieces of a written text, letters one unit high, its middle at the origin."""
    pieces: list[tuple[PlanePoint, PlanePoint]] = []
    left = -width(text) / 2
    for place, letter in enumerate(text.upper()):
        for stroke in _LETTERS.get(letter, _FRAME).split("/"):
            grid = [(int(point[0]), int(point[1])) for point in stroke.split()]
            pieces += pairwise([(left + (EM * place + x) / HIGH, y / HIGH - 0.5) for x, y in grid])
    return pieces
