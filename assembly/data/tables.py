"""Published values from `assembly/data/*.csv`: timber, sheets, screws; each row says where it comes from.

species : one kind of tree, or a trade group that its source gives as one row; never a bare genus ("pine", "oak")
system  : who defined a movement figure; the US coefficient spreads the whole shrinkage over 30 % moisture content, the
          European differential value is the slope near room conditions, so the two are not to be mixed
source  : publication and table, and how the figure came here: read there (or in a public page that repeats it), from
          memory, or recomputed (a formula or a second figure gives it again)
band    : a row that holds from one size to another, both included; on a shared bound the row that stands first holds

Files are read when first asked for, never at import. Lengths are mm, shrinkage and moisture content percent, movement
coefficients change per unit size per 1 % of moisture content.
"""

from __future__ import annotations

import csv
import functools
from dataclasses import dataclass, fields
from importlib import resources
from typing import TYPE_CHECKING, Literal, TypeVar

from assembly.errors import InputError
from assembly.text import near_names

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

# Systems whose coefficients are slopes near room conditions.
NEAR_ROOM = frozenset({"European differential, table A", "European differential, table B"})
INCH = 25.4  # mm; exact, by definition of the inch (1959)

Row = dict[str, str]
GrainDirection = Literal["radial", "tangential"]


@functools.cache
def rows(table: str) -> tuple[Row, ...]:
    """Return the rows of `assembly/data/<table>.csv` as they stand, in file order."""
    text = resources.files("assembly").joinpath("data", f"{table}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def number(row: Mapping[str, str], column: str) -> float | None:
    """Return a cell as a number, None where the source gives none."""
    return float(row[column]) if row[column] else None


def given(row: Mapping[str, str], column: str) -> float:
    """Return a cell that its table always fills, as a number."""
    return float(row[column])


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A row that people ask for by name."""

    name: str
    also: tuple[str, ...]  # other names of the same thing
    genus: tuple[str, ...]  # names too wide to be answered: this row is one of several that they could mean
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Species(Named):
    """A timber; None where the source gives no figure, which then has to be given in the design.

    Specific gravity is oven-dry mass over volume at 12 %, mean of small clear pieces. Shrinkage is green to oven-dry.
    """

    kind: Literal["softwood", "hardwood"]
    system: str
    specific_gravity: float | None
    shrinkage_radial: float | None  # percent
    shrinkage_tangential: float | None  # percent
    start_mc: float | None  # moisture content at which drying wood starts to shrink, percent
    coefficient_radial: float | None  # as tabulated; derived ones come from `assembly.materials.moisture`
    coefficient_tangential: float | None

    @property
    def near_room(self) -> bool:
        """Whether its coefficients are slopes near room conditions, not the whole shrinkage spread over its range."""
        return self.system in NEAR_ROOM

    def shrinkage(self, direction: GrainDirection) -> float | None:
        """Return the shrinkage across the grain in one direction, percent."""
        return self.shrinkage_radial if direction == "radial" else self.shrinkage_tangential

    def coefficient(self, direction: GrainDirection) -> float | None:
        """Return the tabulated movement coefficient in one direction, per 1 % moisture content."""
        return self.coefficient_radial if direction == "radial" else self.coefficient_tangential


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetMaterial(Named):
    """A sheet: change per unit size per 1 % moisture content, per 1 % humidity, per kelvin; None: no figure."""

    plane_per_mc: float | None
    thickness_per_mc: float | None
    plane_per_rh: float | None
    expansion_per_k: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewSize(Named):
    """A wood screw's sizes and the holes that go with it, mm; None where the source gives no figure."""

    system: str
    diameter: float  # outside the thread, also the smooth shank
    core: float | None  # root of the thread
    pitch: float | None
    clearance_least: float | None
    clearance_most: float | None
    pilot_softwood_least: float | None
    pilot_softwood_most: float | None
    pilot_hardwood_least: float | None
    pilot_hardwood_most: float | None
    holes_source: str  # of clearance and pilot holes; `source` is that of the screw itself


_NamedT = TypeVar("_NamedT", bound=Named)
_TEXTS = frozenset({"name", "source", "holes_source", "kind", "system"})
_LISTS = frozenset({"also", "genus"})


def _records(table: str, record: Callable[..., _NamedT]) -> tuple[_NamedT, ...]:
    """Return every row of a table as a record whose fields are the table's columns."""
    columns = [f.name for f in fields(record)]  # type: ignore[arg-type]
    return tuple(record(**{c: _cell(r, c) for c in columns}) for r in rows(table))


def _cell(row: Row, column: str) -> str | tuple[str, ...] | float | None:
    if column in _LISTS:
        return tuple(part.strip() for part in row[column].split(";") if part.strip())
    return row[column] if column in _TEXTS else number(row, column)


@functools.cache
def all_species() -> tuple[Species, ...]:
    """Return every timber of the table; one that two systems describe stands once for each."""
    return _records("species", Species)


@functools.cache
def all_sheets() -> tuple[SheetMaterial, ...]:
    """Return every sheet material of the table."""
    return _records("sheets", SheetMaterial)


@functools.cache
def all_screws() -> tuple[ScrewSize, ...]:
    """Return every wood screw of the table."""
    return _records("screws", ScrewSize)


def round_head(diameter_mm: float) -> Row:
    """Return the row of the least round head and washer for a screw of a diameter (mm), or of the largest."""
    table = rows("round_heads")
    return next((row for row in table if given(row, "diameter") >= diameter_mm), table[-1])


def is_acrylic(name: str) -> bool:
    """Return whether a sheet of that name is acrylic."""
    wanted = _plain(name)
    kinds = (row for row in all_sheets() if "acrylic" in row.genus)
    return any(wanted in map(_plain, (*_names(row), *row.genus)) for row in kinds)


def sheet(name: str) -> SheetMaterial:
    """Return a sheet material by name.

    Raises
    ------
    InputError
        If several go by the name (they are listed), or none does (the nearest names are).
    """
    return _named("sheet", name, all_sheets())[0]


@functools.cache
def wall_material(name: str) -> Species | SheetMaterial:
    """Return what walls may be cut from, by name, "pine, Scots" or "Scots pine": a timber or a sheet; as in `sheet`."""
    known: tuple[Species | SheetMaterial, ...] = (*all_species(), *all_sheets())
    return _named("timber", name, known)[0]


def meant_by(name: str) -> tuple[str, ...]:
    """Return the timbers and sheets that a name too wide to be answered could mean; none where it is no such name."""
    known: tuple[Species | SheetMaterial, ...] = (*all_species(), *all_sheets())
    wanted = _plain(name)
    if any(wanted in map(_plain, _names(row)) for row in known):
        return ()
    return tuple(dict.fromkeys(row.name for row in known if wanted in map(_plain, row.genus)))


def screw(name: str) -> ScrewSize:
    """Return a wood screw by name, "4 mm" or "US gauge 8"; a bare gauge number is refused as in `sheet`."""
    return _named("screw", name, all_screws())[0]


def core_mm(diameter_mm: float) -> tuple[float, str]:
    """Return the thread's core for an outside diameter (mm), and where it comes from.

    The metric table's own row within 0.05 mm, else 0.7 of the diameter, which that table keeps to throughout.
    """
    for size in all_screws():
        if size.system == "metric" and size.core and abs(size.diameter - diameter_mm) <= 0.05:
            return size.core, size.source
    return 0.7 * diameter_mm, "0.7 of the diameter, as DIN 7998 has it within 3 %"


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _names(record: Named) -> tuple[str, ...]:
    """Return a record's names; "pine, Scots" is also "Scots pine"."""
    head, comma, tail = record.name.partition(", ")
    turned = (f"{tail} {head}",) if comma else ()
    return (record.name, *turned, *record.also)


def _named(what: str, name: str, records: tuple[_NamedT, ...]) -> tuple[_NamedT, ...]:
    """Return every record of that name, in table order; refuse a name that is too wide or unknown."""
    wanted = _plain(name)
    found = tuple(r for r in records if wanted in map(_plain, _names(r)))
    if found:
        return found
    wide = dict.fromkeys(r.name for r in records if wanted in map(_plain, r.genus))
    if wide:
        msg = f"{what} {name!r}: several go by that name and differ; name one of: {'; '.join(wide)}"
        raise InputError(msg)
    raise InputError(_unknown(what, name, records))


def _unknown(what: str, name: str, records: tuple[_NamedT, ...]) -> str:
    known = {_plain(n): r.name for r in records for n in _names(r)}
    near = near_names(_plain(name), known, most=4, alike=0.5)
    listed = dict.fromkeys(known[n] for n in near) or dict.fromkeys(r.name for r in records)
    words = "nearest" if near else "there are"
    return f"{what} {name!r}: not in the table; {words}: {'; '.join(listed)}"
