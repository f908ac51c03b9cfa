"""Who may import what: each light module is loaded in a fresh interpreter, and what it brought with it is looked at."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
KERNEL = {"OCP", "cadquery", "manifold3d"}
SCREEN = {"pyvista", "vtkmodules", "vtk"}
SLOW_STATISTICS = {"scipy.optimize", "scipy.stats"}
HEAVY = KERNEL | SCREEN | SLOW_STATISTICS
EXACT = KERNEL - {"manifold3d"}  # the mesh kernel takes a hundredth of a second
KERNEL_ROOMS = ("assembly.solids", "assembly.writers")
SCREEN_ROOMS = (
    "viewer.picture.render",
    "viewer.picture.meshes",
    "viewer.window.window",
    "viewer.window.actors",
    "viewer.window.events",
    "viewer.picture.write",
)


def modules() -> list[str]:
    """Return the dotted name of every module of both packages."""
    files = [file for package in ("assembly", "viewer") for file in (ROOT / package).rglob("*.py")]
    names = [".".join(file.relative_to(ROOT).with_suffix("").parts) for file in files]
    return sorted(name.removesuffix(".__init__") for name in names)


def loaded_by(statement: str) -> set[str]:
    """Return every module that a fresh interpreter has loaded after `statement`."""
    code = f"{statement}\nimport sys\nprint('\\n'.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return set(done.stdout.split())


def test_light_modules_load_neither_kernel_nor_screen():
    """Everything outside solids, writers and picture, loaded together, brings none of the heavy libraries."""
    light = [
        name for name in modules() if not name.startswith((*KERNEL_ROOMS, *SCREEN_ROOMS)) and name != "viewer.__main__"
    ]
    heavy = loaded_by("import " + ", ".join(light)) & HEAVY
    guilty = {name: sorted(loaded_by(f"import {name}") & HEAVY) for name in light} if heavy else {}
    assert not heavy, {name: found for name, found in guilty.items() if found}


def test_assembly_never_imports_viewer():
    light = [name for name in modules() if name.startswith("assembly") and not name.startswith(KERNEL_ROOMS)]
    assert not {name for name in loaded_by("import " + ", ".join(light)) if name.split(".")[0] == "viewer"}
    for file in (ROOT / "assembly").rglob("*.py"):
        assert "viewer" not in {word for line in file.read_text().splitlines() for word in imported(line)}, file


def imported(line: str) -> set[str]:
    """Return the top package that an import line names."""
    words = line.split()
    return {words[1].split(".")[0]} if len(words) > 1 and words[0] in {"import", "from"} else set()


@pytest.mark.parametrize("room", KERNEL_ROOMS)
def test_the_kernel_s_rooms_bring_no_screen(room):
    """Solids and writers work where no window can be opened: CadQuery itself loads VTK, PyVista is not loaded."""
    names = [name for name in modules() if name.startswith(room)]
    assert "pyvista" not in loaded_by("import " + ", ".join(names))


def test_only_the_exact_solids_and_their_file_load_the_exact_kernel():
    """Numbers, triangles, edges and the mesh formats do without CadQuery."""
    exact = {"assembly.solids.kernel", "assembly.writers.step"}
    names = [name for name in modules() if name.startswith(KERNEL_ROOMS) and name not in exact]
    assert not loaded_by("import " + ", ".join(names)) & EXACT


def test_a_picture_is_made_without_the_exact_kernel():
    """What a picture shows of the nominal box, of a box as made and of a step of the making, up to its drawing."""
    loaded = loaded_by(
        "from viewer.commands import jobs, showing\n"
        "from assembly.solids.as_made import as_made\n"
        "job = jobs.read('frost_watch')\n"
        "jobs.shown(job, seed=1, explode=1.0)\n"
        "showing.step_shown(job, 1)\n"
        "as_made(job.design, showing.settled_box(job, 'p95', seed=1)[0], 2.0)"
    )
    assert "viewer.scene.step_scene" in loaded
    assert not loaded & EXACT


@pytest.mark.parametrize("room", SCREEN_ROOMS)
def test_the_screen_s_rooms_bring_no_kernel(room):
    """A picture gets arrays, so it is drawn without the kernel."""
    names = [name for name in modules() if name.startswith(room)]
    if names:
        assert not loaded_by("import " + ", ".join(names)) & KERNEL


def test_help_loads_no_library_that_help_does_not_need():
    """`lapwright check --help` starts without numpy, pydantic and rich."""
    loaded = loaded_by("import viewer.cli")
    assert not loaded & {"numpy", "numba", "pydantic", "rich", "tree_sitter", "scipy"}


def test_a_compiled_loop_loads_no_linear_algebra_of_scipy():
    """Numba would load it at the first call of any loop, for 0.1 s, though no loop here multiplies matrices."""
    loaded = loaded_by(
        "import numpy as np\nfrom assembly.made.frame_outcomes import face_closed_share\n"
        "face_closed_share(np.zeros((1, 4, 1)), 0.2)"
    )
    assert "numba" in loaded
    assert "scipy.linalg" not in loaded
