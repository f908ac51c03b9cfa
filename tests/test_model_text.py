"""MODEL.md, the specification: cited in one way, what is cited is there, and nothing cites what is not built."""

import re
import tomllib
from importlib import resources
from pathlib import Path

from assembly.model.outcomes import OUTCOMES
from assembly.model.workshop import quantities

ROOT = Path(__file__).parent.parent
MODEL = resources.files("assembly").joinpath("MODEL.md").read_text(encoding="utf-8")
SECTIONS = dict(re.findall(r"^#{2,3} (\d+(?:\.\d+)?)\.? (.+)$", MODEL, re.MULTILINE))
CITED = re.compile(r"MODEL\.md,\s+((?:\d+(?:\.\d+)?(?:, | and )?)+)")
READERS = [
    *(file for folder in ("assembly", "viewer", "tests") for file in (ROOT / folder).rglob("*.py")),
    *(ROOT / name for name in ("DEVELOPERS.md", "README.md", "assembly/MODEL.md")),
]


def citations() -> list[tuple[Path, str]]:
    """Return every citation as the file and the section that it cites."""
    texts = ((file, file.read_text(encoding="utf-8")) for file in READERS if file != Path(__file__))
    return [
        (file.relative_to(ROOT), section)
        for file, text in texts
        for cited in CITED.findall(text)
        for section in re.findall(r"\d+(?:\.\d+)?", cited)
    ]


def test_every_cited_section_exists():
    missing = [(str(file), section) for file, section in citations() if section not in SECTIONS]
    assert missing == []


def test_every_chapter_that_is_built_is_cited():
    """Nobody has to guess where a formula is worked out: chapters 1 to 7 are each cited by some module or test."""
    cited = {section.split(".")[0] for file, section in citations() if file.suffix == ".py"}
    assert {str(chapter) for chapter in range(1, 8)} <= cited


def test_every_mention_names_a_section():
    """A bare mention would escape the test above, and so would another way of citing."""
    bare = re.compile(r"(?<!assembly/)MODEL\.md(?!,\s+\d)|\b[Mm]odel, section \d|\(model, \d[.)]")
    found = [
        (str(file.relative_to(ROOT)), hit)
        for file in READERS
        if file.suffix == ".py" and file.name not in {"test_model_text.py", "test_figures.py"}
        for hit in bare.findall(file.read_text(encoding="utf-8"))
    ]
    assert found == []


def test_sections_are_numbered_without_gaps():
    chapters = [number for number in SECTIONS if "." not in number]
    assert chapters == [str(number) for number in range(1, 9)]
    for chapter in chapters:
        parts = [number for number in SECTIONS if number.startswith(f"{chapter}.")]
        assert parts == [f"{chapter}.{number}" for number in range(1, len(parts) + 1)]


def test_nothing_cites_what_is_marked_as_not_built():
    """Whoever builds one of these parts, and cites it, takes its mark away."""
    parts = re.split(r"^#{2,3} (\d+(?:\.\d+)?)\.? .+$", MODEL, flags=re.MULTILINE)
    planned = {number for number, text in zip(parts[1::2], parts[2::2], strict=True) if "**Not built yet.**" in text}
    assert [(str(file), section) for file, section in citations() if file.suffix == ".py" and section in planned] == []


def test_every_outcome_is_defined():
    """The first cells of the table of chapter 4, several in one where one definition serves them."""
    rows = MODEL.split("\n| outcome | definition |")[1].split("\n\n")[0].splitlines()[2:]
    named = [name.strip().replace(" ", "_") for row in rows for name in row.split("|")[1].split(",")]
    assert named == list(OUTCOMES)


def test_every_quantity_is_named():
    assert [name for name in quantities() if f"`{name}`" not in MODEL] == []


def test_references_between_sections_lead_somewhere():
    inside = re.findall(r"\((?:section )?(\d(?:\.\d+)?)\)|(?:as in|see|section) (\d(?:\.\d+)?)\b", MODEL)
    assert [number for pair in inside for number in pair if number and number not in SECTIONS] == []


def test_it_travels_with_the_code():
    """Wheel and sdist take the folder whole; nothing there is left out by its ending."""
    build = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["hatch"]["build"]
    assert "assembly" in build["targets"]["wheel"]["only-include"]
    assert "assembly" in build["targets"]["sdist"]["include"]
    left_out = [path for target in build["targets"].values() for path in target.get("exclude", [])]
    assert not [path for path in left_out if not path.startswith("viewer/page/")]
