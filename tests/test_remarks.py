"""What is remarked of a design that no rule refuses, in words and in data."""

import pytest
from commands import FEW

from assembly.data.tables import is_acrylic
from assembly.files.reading import read_design
from assembly.files.shipped import shipped_designs
from assembly.rules.remarks import remarks

SHEETS = (
    "MDF; medium-density fibreboard; medium density fibreboard; standard MDF; MDF, second source; plywood; ply; birch "
    "plywood; birch ply; poplar plywood; softwood plywood; acrylic, cast; cast acrylic; cast PMMA; acrylic, extruded; "
    "extruded acrylic; extruded PMMA"
)


def remarks_on(*settings):
    return [str(each) for each in remarks(read_design("frost_watch", settings))]


@pytest.mark.parametrize("name", shipped_designs())
def test_of_the_shipped_designs_nothing_is_remarked(name):
    assert remarks(read_design(name)) == ()


@pytest.mark.parametrize("part", ["base", "lid"])
def test_a_sheet_without_figures_is_remarked(part):
    assert remarks_on(f"{part}.material=cardboard") == [
        (
            f"{part}.material: no figures here for 'cardboard'. The {part} is cut, drawn and checked as any sheet is. "
            "What other air does to it is not known here, nor whether it can be glued, sanded and screwed. "
            f"There are figures for {SHEETS}."
        )
    ]
    assert remarks_on(f"{part}.material=Birch plywod")[0].endswith("Did you mean 'birch plywood'?")
    # A lid of acrylic wants screws with round heads, which this design's lid has not: it is refused, not remarked.
    for known in SHEETS.split("; "):
        if part == "lid" and is_acrylic(known):
            continue
        assert remarks_on(f'{part}.material="{known.upper()}"') == []


def test_a_timber_without_figures_is_remarked_unless_its_kind_is_given():
    assert remarks_on("timber.name=balsa") == [
        (
            "timber.name: no figures here for 'balsa'. The walls are cut, drawn and checked as any timber is. Whether "
            "they make a sound joint can't be judged. Give timber.kind and its properties for that."
        )
    ]
    assert remarks_on("timber.name=balsa", "timber.kind=hardwood") == []
    assert remarks_on("timber.name=plywood") == []


def test_check_tells_remarks_in_words_and_in_data(both):
    odd = ("--set", "base.material=cardboard", "--set", "timber.name=balsa")
    code, out, data = both("check", "frost_watch", *FEW, *odd)
    assert code == 1
    words = " ".join(out.split())
    for each in remarks_on(*odd[1::2]):
        assert f"Note: {each}" in words
    assert [each["where"] for each in data["remarks"]] == ["base.material", "timber.name"]
    assert [f"{each['where']}: {each['what']}" for each in data["remarks"]] == remarks_on(*odd[1::2])
    _, out, data = both("check", "frost_watch", *FEW)
    assert data["remarks"] == []
    assert "Note:" not in out
