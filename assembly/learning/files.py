"""The learned workshop as files: a workshop file of the figures, and the draws beside it, which say how sure they are.

draws : W.draws.npz beside W.toml, a NumPy archive: quantities (Q,), draws (D, 4, Q) and medians (4, Q), the four being
        bias, class, maker and cut spread in the file's units. They hold for a quantity as long as the workshop has its
        medians: one that is changed by hand, or by an aid, is as the file says and no longer unsure
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import ConfigError, Problem
from assembly.files.reading import read_workshop
from assembly.files.writing import Meant, misread
from assembly.learning.posterior import LEVELS
from assembly.model.workshop import Operations, quantities, quantities_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from assembly.arrays import FloatArray
    from assembly.learning.learned import Learned
    from assembly.model.workshop import Disturbance, Workshop

PLACES = 4  # decimals of a figure in the file
SUFFIX = ".draws.npz"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Joint draws of a workshop's figures, those of which the workshop still has the medians."""

    quantities: tuple[str, ...]
    draws: FloatArray  # (D, 4, Q)


def learned_files(learned: Learned, workshop_file: Path, option: str = "--to") -> dict[Path, Meant]:
    """Return what the workshop file and that of the draws beside it are to hold, for `publish_each`."""
    text = workshop_text(learned, workshop_file.stem + SUFFIX)
    draws_file = workshop_file.with_name(workshop_file.stem + SUFFIX)

    def check_workshop(draft: Path) -> None:
        try:
            back = read_workshop(draft)
        except ConfigError as error:
            raise misread(draft, f"with faults ({error})", option) from error
        if back.shoulder_from != learned.workshop.shoulder_from:
            raise misread(draft, "as another workshop", option)

    def check_draws(draft: Path) -> None:
        if _read(draft)[1].shape != learned.posterior.draws.shape:
            raise misread(draft, "with other draws", option)

    return {
        workshop_file: Meant(text.encode(), check_workshop),
        draws_file: Meant(_archive(learned), check_draws),
    }


def _archive(learned: Learned) -> bytes:
    found, page = learned.posterior, io.BytesIO()
    np.savez_compressed(
        page, quantities=np.array(found.quantities), draws=found.draws, medians=_medians(learned).round(PLACES)
    )
    return page.getvalue()


def _medians(learned: Learned) -> FloatArray:
    medians = np.zeros((len(LEVELS), len(learned.posterior.quantities)))
    for each in learned.figures:
        medians[LEVELS.index(each.number), learned.posterior.quantities.index(each.quantity)] = each.value
    return medians


def workshop_text(learned: Learned, draws: str) -> str:
    """Return the learned workshop as a file: figures in place of the old ones, all else as it was."""
    before, dates = learned.workshop, learned.dates
    when = f"taken {', '.join(dates)}" if dates else "without a date"
    classes = "1 class" if learned.classes == 1 else f"{learned.classes} classes"
    head = [
        f"# Learned from {len(learned.readings)} readings of {learned.makers} makers in {classes}, {when}.",
        f"# Before: the workshop {before.name!r}. A learned figure is the middle of what the readings leave possible;",
        f"# {draws} beside this file holds how sure it is: copy or rename both, to one name,",
        "# or the forecast is told as if all were known. Lengths in mm, angles in degrees.",
        "",
        f"name = {_quoted(_named(before.name))}",
        f'shoulder_from = "{before.shoulder_from}"',
        f'gauge_from = "{before.gauge_from}"',
        "",
        "[pare]",
        *(f"{key} = {value}" for key, value in before.pare.model_dump().items()),
        "",
        "[scrap]",
        *(f"{key} = {value}" for key, value in before.scrap.model_dump().items()),
        "",
        "[operations]",
    ]
    figures: dict[tuple[str, ...], float] = {}
    for each in learned.figures:
        figures[before.key_of(each.quantity, each.number)] = round(each.value, PLACES) + 0.0
    rows = [row for operation in Operations.model_fields for row in _operation(operation, learned, figures)]
    return "\n".join([*head, *rows, *_aids(before, figures)]) + "\n"


def _named(name: str) -> str:
    return f"{name[:70]}, learned"


def _quoted(text: str) -> str:
    return '"' + "".join({'"': '\\"', "\\": "\\\\"}.get(letter, letter) for letter in text) + '"'


def _operation(operation: str, learned: Learned, figures: dict[tuple[str, ...], float]) -> Iterator[str]:
    for name in quantities_of(operation):
        key = ("operations", operation, name.rpartition(".")[2])
        row = getattr(getattr(learned.workshop.operations, operation), key[2])
        words = _row(row, {number: figures[*key, number] for number in LEVELS if (*key, number) in figures})
        told = learned.behind.get(name)
        if told:
            yield f"{name} = {words}  # {told.readings} readings of {told.makers} makers"
        elif words != "{ }":
            yield f"{name} = {words}"


def _row(row: Disturbance, figures: dict[str, float]) -> str:
    """Return a disturbance as a table in a line, figures laid over it."""
    numbers = {number: figures.get(number, getattr(row, number)) for number in LEVELS}
    cells = [f"{number} = {value}" for number, value in numbers.items() if value]
    cells += [f'family = "{row.family}"'] if row.family != "normal" else []
    return f"{{ {', '.join(cells)} }}" if cells else "{ }"


def _aids(before: Workshop, figures: dict[tuple[str, ...], float]) -> Iterator[str]:
    for name, aid in before.aids.items():
        yield from ("", f"[aids.{_quoted(name)}]", f"title = {_quoted(aid.title)}")
        yield from (["used = true"] if aid.used else [])
        yield f"[aids.{_quoted(name)}.replaces]"
        for quantity in aid.replaces:
            given = {
                key: figures.get(("aids", name, "replaces", quantity, key), value)
                for key, value in aid.given(quantity).items()
            }
            cells = (
                f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value}" for key, value in given.items()
            )
            yield f'"{quantity}" = {{ {", ".join(cells)} }}'


def draws_beside(file: Path, workshop: Workshop) -> Draws | None:
    """Return the draws beside a workshop's file that the workshop still has the medians of; None where there are none.

    Raises
    ------
    ConfigError
        If the file beside it is none of draws.
    """
    beside = file.with_name(file.stem + SUFFIX)
    if not beside.is_file():
        return None
    names, draws, medians = _read(beside)
    held = [
        at
        for at, name in enumerate(names)
        if all(
            abs(float(getattr(workshop.disturbance(name), number)) - medians[level, at]) < 10**-PLACES / 2
            for level, number in enumerate(LEVELS)
        )
    ]
    if not held:
        return None
    return Draws(quantities=tuple(names[at] for at in held), draws=draws[:, :, held])


def _read(file: Path) -> tuple[list[str], FloatArray, FloatArray]:
    what = "holds no draws of a workshop; run `lapwright learn` again, or move it away"
    fault = ConfigError(str(file), [Problem(where="file", line=None, what=what)])
    try:
        with np.load(file, allow_pickle=False) as archive:
            names = [str(name) for name in archive["quantities"]]
            draws, medians = np.asarray(archive["draws"], float), np.asarray(archive["medians"], float)
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        raise fault from None
    known = set(quantities())
    whole = draws.ndim == 3 and draws.shape[1:] == medians.shape == (len(LEVELS), len(names)) and len(draws) > 0
    if not whole or not set(names) <= known or not np.isfinite(draws).all() or (draws[:, 1:] < 0).any():
        raise fault
    return names, draws, medians
