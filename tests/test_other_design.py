"""Readings of another design's timber are warned of; a batch that came a little thick is not."""

import pytest

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.learning.instrument_files import read_instruments
from assembly.learning.other_design import others
from assembly.learning.readings import COLUMNS, read_readings
from viewer.reports.learning_report import another_sentences

DESIGN, WORKSHOP, INSTRUMENTS = read_design("frost_watch"), read_workshop("new_to_tools"), read_instruments()


def read(folder, *lines):
    file = folder / "r.csv"
    file.write_text("\n".join([",".join(COLUMNS), *lines]), encoding="utf-8")
    return read_readings([str(file)], DESIGN, WORKSHOP, INSTRUMENTS)


def walls(*values):
    """Thickness of left and right, drawn 15."""
    return [
        f"1,{maker},{('right', 'left')[maker % 2]},,thickness,,{value},caliper"
        for maker, value in enumerate(values, start=1)
    ]


def test_timber_of_18_for_15_is_told(tmp_path):
    (found,) = others(read(tmp_path, *walls(18.1, 17.9, 18.0, 18.2)), DESIGN, WORKSHOP)
    assert (found.readings, found.drawn, found.read) == (4, 15, pytest.approx(18.05))
    assert another_sentences((found,)) == [
        "The readings of thickness of left and right look like another design's: 18.05 read, 15 drawn.",
        (
            "Is this the right design? If it is, give it the size that was read: till then no habit is told, and "
            "nothing learned is to be relied on."
        ),
    ]
    assert another_sentences(()) == []


@pytest.mark.parametrize("values", [(15.3, 15.4, 15.3), (18.0, 18.1), (18.0, 18.1, 18.0, 15.1), (12.0, 18.0, 18.0)])
def test_a_thick_batch_few_readings_and_single_slips_are_not_told(tmp_path, values):
    assert others(read(tmp_path, *walls(*values)), DESIGN, WORKSHOP) == []


def test_what_to_write_of_a_stack_of_blades_is_told(tmp_path):
    with pytest.raises(InputError) as caught:
        read(tmp_path, "1,1,left,front,line_drift_plan,,1.4,try square with feelers")
    assert str(caught.value).endswith(
        "1 to fix\n  line 2: measured_mm: got 1.4, which 'try square with feelers' does not show: its blades are 0, "
        "0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.25, 1.5, 2; of a stack write the thickest "
        "of these that is no thicker; write what was read, or name the instrument that it was read with"
    )
