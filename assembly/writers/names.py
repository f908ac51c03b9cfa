"""What files are called in a folder that one export of one format fills, and which of them a later one leaves over.

left over : a file there with a name that this program gives, which the export that fills the folder now does not write
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from assembly.files.writing import reraised_as_export_errors

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

WHOLE = "whole"  # the closed box
_PART = r"(left|right|front|back)-(wall|lid-(screw|washer))|base|lid|plaque|plaque-(screw|washer)-[12]|stem"
_PLATE = r"plate_[0-9.]+x[0-9.]+_[0-9]+"
_DRAWING = "all|engrave|bend|cut|test_strip"
_GIVEN = {  # by format; one that is a single file has no folder
    "stl": re.compile(rf"({_PART})\.stl"),
    "3mf": re.compile(rf"({_PART}|{WHOLE}|{_PLATE})\.3mf"),
    "dxf": re.compile(rf"({_DRAWING})\.dxf|test_strip\.pdf"),
    "svg": re.compile(rf"({_DRAWING}|reference)\.svg|test_strip\.pdf"),
}


def stem_of(part: str) -> str:
    """Return what the file of a part is called, without its suffix."""
    return part.replace(" ", "-")


def left_over(form: str, folder: Path, files: Collection[Path]) -> tuple[Path, ...]:
    """Return what an export of a format leaves over in its folder when it writes `files` there, by name.

    Raises
    ------
    ExportError
        If the folder can't be read.
    """
    given = _GIVEN.get(form)
    if given is None or not folder.is_dir():
        return ()
    with reraised_as_export_errors(folder):
        found = sorted(folder.iterdir())
    return tuple(path for path in found if given.fullmatch(path.name) and path.is_file() and path not in files)
