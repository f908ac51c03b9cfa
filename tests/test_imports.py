"""Who may import what: the rows of the house, held in the code of every module and in fresh interpreters."""

import ast
import subprocess
import sys
from functools import cache
from itertools import accumulate
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
KERNEL, SCREEN, STATISTICS = {"OCP", "cadquery"}, {"pyvista", "vtkmodules"}, {"scipy.optimize", "scipy.stats"}
OTHERS = {
    "ezdxf",
    "fontTools",
    "highspy",
    "jinja2",
    "manifold3d",
    "numba",
    "numpy",
    "pydantic",
    "PIL",
    "rectpack",
    "rich",
    "trimesh",
    "typer",
}
MESHES = {"trimesh", "PIL", "scipy.optimize"}  # trimesh takes the others where they are there
HEAVY = KERNEL | SCREEN | STATISTICS | OTHERS

# A module imports only from its own row and the rows above it; `loads`: what a row may bring besides what the rows
# above it bring, when all its modules are loaded. The names are those of DEVELOPERS.md, "Where things are".
ROWS: tuple[tuple[str, set[str]], ...] = (
    ("assembly/errors.py", set()),
    ("assembly/text.py", set()),
    ("assembly/arrays.py", {"numpy"}),
    ("assembly/compiled.py", {"numba"}),
    ("assembly/letters.py", set()),
    ("assembly/data", set()),
    ("assembly/model", {"pydantic"}),
    ("assembly/rules", set()),
    ("assembly/files", set()),
    ("assembly/changes", set()),
    ("assembly/nominal", set()),
    ("assembly/materials", set()),
    ("assembly/contact", set()),
    ("assembly/made", set()),
    ("assembly/study", set()),
    ("assembly/limit_case", set()),
    ("assembly/rare", set()),
    ("assembly/section", set()),
    ("assembly/advice", set()),
    ("assembly/planning", set()),
    ("assembly/outline", {"fontTools"}),
    ("assembly/learning", set()),
    ("assembly/order", set()),
    ("assembly/solids", {"manifold3d"}),
    ("assembly/writers", set()),
    ("viewer/scene", set()),
    ("viewer/picture", {"PIL"}),
    ("viewer/window", set()),
    ("viewer/drawing", set()),
    ("viewer/sheets", set()),
    ("viewer/reports", {"rich"}),
    ("viewer/page", {"jinja2"}),
    ("viewer/commands", {"typer"}),
    ("viewer/front", set()),
    ("viewer/cli.py", set()),
    ("viewer/__main__.py", set()),
)
EXCEPTIONS = {  # the modules that load what their row may not, and what that is
    "assembly/solids/kernel.py": KERNEL | SCREEN,  # CadQuery loads VTK by itself
    "assembly/writers/dxf.py": {"ezdxf"},
    "assembly/writers/step.py": KERNEL | SCREEN,
    "assembly/writers/glb.py": MESHES,
    "assembly/writers/stl.py": MESHES,
    "assembly/writers/plates.py": MESHES,
    "assembly/writers/threemf.py": MESHES,
    "viewer/picture/render.py": SCREEN,
    "viewer/picture/meshes_and_lights.py": SCREEN,
    "viewer/window/window.py": SCREEN,
    "viewer/window/actors.py": SCREEN,
    "viewer/window/laid.py": SCREEN,
    "viewer/window/events.py": SCREEN,
}


@cache
def modules() -> tuple[str, ...]:
    """Return the path of every module of both packages, packages' own files left out."""
    files = [file for package in ("assembly", "viewer") for file in (ROOT / package).rglob("*.py")]
    return tuple(sorted(f.relative_to(ROOT).as_posix() for f in files if f.name != "__init__.py"))


def row_of(path: str) -> int | None:
    """Return the row that a module stands in."""
    found = (i for i, (name, _) in enumerate(ROWS) if path == name or path.startswith(f"{name}/"))
    return next(found, None)


def dotted(path: str) -> str:
    return path.removesuffix(".py").replace("/", ".")


@cache
def imported_by(path: str) -> dict[str, int]:
    """Return every module of the project that `path` imports, wherever in its code, with the line."""
    known, found = {dotted(each): each for each in modules()}, {}
    for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [f"{node.module}.{each.name}" for each in node.names] + [node.module]
        elif isinstance(node, ast.Import):
            names = [each.name for each in node.names]
        else:
            continue
        found |= {known[name]: node.lineno for name in names if name in known}
    return found


def loaded_by(*names: str) -> set[str]:
    """Return every module that a fresh interpreter has loaded after importing `names`."""
    return loaded_after("import " + ", ".join(names))


def loaded_after(code: str) -> set[str]:
    code = f"{code}\nimport sys\nprint('\\n'.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return set(done.stdout.split())


def test_every_module_stands_in_a_row():
    assert not [path for path in modules() if row_of(path) is None]
    assert not [name for name, _ in ROWS if not (ROOT / name).exists()]
    assert not [path for path in EXCEPTIONS if path not in modules()]


def test_the_rows_are_those_that_developers_read():
    """DEVELOPERS.md names them all, in this order."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text[text.index("## Where things are") : text.index("## How a box flows through")]
    places = [table.find(f"`{name}`") for name, _ in ROWS]
    assert -1 not in places, [name for name, _ in ROWS if f"`{name}`" not in table]
    assert places == sorted(places)


def test_a_module_imports_from_its_own_row_and_those_above():
    """Imports inside functions and those for types alone count as well: who names a thing depends on it."""
    wrong = [
        f"{path}:{line} imports {other}"
        for path in modules()
        for other, line in imported_by(path).items()
        if row_of(other) > row_of(path)
    ]
    assert not wrong, "\n".join(wrong)


def test_no_modules_import_each_other_in_a_circle():
    """What can be taken away, one module at a time, is free of circles; what is left is not."""
    left = {path: set(imported_by(path)) - {path} for path in modules()}
    while free := [path for path, needs in left.items() if not needs & left.keys()]:
        for path in free:
            del left[path]
    assert not left, {path: sorted(needs & left.keys()) for path, needs in left.items()}


@pytest.mark.parametrize("row", range(len(ROWS)), ids=[name for name, _ in ROWS])
def test_a_row_loads_only_what_it_may(row):
    """All its modules in one fresh interpreter: neither a library that is not named here, nor a module further down."""
    names = [dotted(path) for path in modules() if row_of(path) == row and path not in EXCEPTIONS]
    loaded = loaded_by(*names) if ROWS[row][0] != "viewer/__main__.py" else loaded_after("import viewer.__main__")
    may = list(accumulate((loads for _, loads in ROWS), set.union))[row]
    assert not loaded & (HEAVY - may)
    assert not [path for path in modules() if dotted(path) in loaded and row_of(path) > row]


@pytest.mark.parametrize("path", EXCEPTIONS)
def test_an_exception_loads_what_it_is_one_for_and_no_more(path):
    loaded = loaded_by(dotted(path)) & HEAVY
    assert loaded & EXCEPTIONS[path], "no exception is needed"
    assert not loaded & (KERNEL | SCREEN) - EXCEPTIONS[path]
    assert "pyvista" not in loaded or path.startswith("viewer/")


def test_a_picture_is_made_without_the_exact_kernel():
    """What a picture shows of the nominal box, of a box as made and of a step of the making, up to its drawing."""
    loaded = loaded_after(
        "from viewer.commands import jobs, made_boxes, showing\n"
        "from assembly.solids.as_made import as_made\n"
        "job = jobs.read('frost_watch')\n"
        "showing.shown(job, showing.PictureRequest())\n"
        "showing.step_shown(job, 1)\n"
        "as_made(job.design, made_boxes.box_as_made(job, 'p95', seed=1).settled, 2.0)"
    )
    assert "viewer.scene.step_scene" in loaded
    assert not loaded & KERNEL


def test_help_loads_no_library_that_help_does_not_need():
    """`lapwright check --help` starts without numpy, pydantic and rich."""
    loaded = loaded_by("viewer.cli")
    assert not loaded & {"numpy", "numba", "pydantic", "rich", "tree_sitter", "scipy"}


def test_a_compiled_loop_loads_no_linear_algebra_of_scipy():
    """Numba would load it at the first call of any loop, for 0.1 s, though no loop here multiplies matrices."""
    loaded = loaded_after(
        "import numpy as np\nfrom assembly.made.frame_outcomes import face_closed_share\n"
        "face_closed_share(np.zeros((1, 4, 1)), 0.2)"
    )
    assert "numba" in loaded
    assert "scipy.linalg" not in loaded
