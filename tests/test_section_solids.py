"""Sections called sound, or sound with care, as solids: they build, go together without overlap, and export."""

from functools import partial

import pytest
from sections import frost_watch, workshop
from together import overlaps
from wrote import wrote

from assembly.files.reading import maker, read_design
from assembly.section.pairs import section_table
from assembly.section.variants import varied
from assembly.solids.box import box_arrays, build
from assembly.writers.step import step_files


def pairs_at(level, design, made_by, stock):
    """Return the pairs of a stock that are judged so."""
    found = section_table(design, stock, made_by, vary=partial(varied, design), boxes=200)
    return [(c.lapped, c.plain) for c in found.cells if c.verdict and c.verdict.verdict == level]


def goes_together(design, file):
    solids = build(design)
    assert overlaps([part for part in box_arrays(solids) if part.facts.group != "fittings"]) == {}
    assert wrote(step_files, solids, file)


def test_every_pair_called_sound_builds_assembles_and_exports(tmp_path):
    """Pairs of a small stock, in a roomy box, so that some are sound."""
    words = ["timber.lapped=22", "box.length=200", "timber.proven=true"]
    design = frost_watch(*words)
    sound = pairs_at("sound", design, workshop(), (9.0, 20.0, 24.0))
    assert sound
    for lapped, plain in sound:
        goes_together(varied(design, lapped=lapped, plain=plain), tmp_path / f"{lapped}_{plain}.step")


@pytest.mark.parametrize("name", ["frost_watch", "label_box", "seed_box", "starter"])
def test_pairs_with_care_build_in_every_shipped_design(name, tmp_path):
    """The thinnest and the thickest pair of the shipped stock's ends that is judged with care."""
    design = read_design(name)
    held = pairs_at("with care", design, maker(design, name), (8.0, 12.0, 20.0))
    assert held
    for lapped, plain in {held[0], held[-1]}:
        goes_together(varied(design, lapped=lapped, plain=plain), tmp_path / f"{lapped}_{plain}.step")
