"""How long all exports take against their bare writers: `.venv/bin/python tests/bench_export.py [DESIGN]`.

Bare: the kernel's STEP export, trimesh's STL and GLB, ezdxf's DXF and the text of the 3MF and SVG files, called on
solids, meshes and drawings that are ready; nothing is put in order, read back or moved into place. As exported: what
`lapwright export` calls, from the same numbers, exact solids made and every file read back. Plates are nested besides,
and a model with clearance is built, neither of which a bare writer does: their lines, after that of all formats, show
what it takes. The last line is that of two processes, from their start: `lapwright export`, and one that loads the same
libraries, builds the box and calls the bare writers of its four formats.

Times are processor time, the least of several runs: ratios of one run hold on a busy machine.
"""

import resource
import subprocess
import sys
import tempfile
import time
from io import StringIO
from pathlib import Path

import ezdxf
from trimesh.exchange.stl import export_stl

from assembly.files.pens import read_pens
from assembly.files.reading import read_design
from assembly.files.writing import publish_each
from assembly.nominal.fittings import fittings
from assembly.outline.contours import Layer
from assembly.outline.plaque_drawing import plaque_drawing
from assembly.outline.strip import strip_drawing, strip_of
from assembly.solids.box import box_arrays, build
from assembly.solids.lying import lain
from assembly.writers.formats import FORMATS
from assembly.writers.glb import scene_of
from assembly.writers.outlines import OUTLINES, outline_files
from assembly.writers.plates import Plate, on_plates, plate_files
from assembly.writers.step import assembly_of
from assembly.writers.stl import mesh_of
from assembly.writers.threemf import Item, lying_parts, package

ROUNDS = 7
PLATE = Plate(220, 220)
CLEARANCE = 0.2  # mm


def bare(box, folder):
    """Return what calls the bare writers of each format, everything that they need made beforehand."""
    parts, whole = box_arrays(box), assembly_of(box)
    meshes, scene = [mesh_of(part, 1.0) for part in parts], scene_of(parts, 1.0)
    placed = [Item(part, part.placed()) for part in parts]
    alone = [[Item(part, lain(part.vertices, part.triangles))] for part in parts]
    return {
        "step": lambda: whole.export(str(folder / "bare.step"), exportType="STEP", write_pcurves=False),
        "stl": lambda: [(folder / "bare.stl").write_bytes(export_stl(mesh)) for mesh in meshes],
        "glb": lambda: (folder / "bare.glb").write_bytes(scene.export(file_type="glb")),
        "3mf": lambda: [(folder / "bare.3mf").write_bytes(package("bare", items)) for items in (placed, *alone)],
    }


def bare_drawings(design, folder):
    """Return what calls the bare writers of the plaque's outline: DXF documents that are ready, and the text of SVG."""
    drawings, pens = drawings_of(design), read_pens()
    files = outline_files("dxf", *drawings, pens).values()
    documents = [ezdxf.read(StringIO(file.content.decode())) for file in files]
    whole, strips = drawings
    ready = [whole, *(whole.only(layer) for layer in Layer if whole.on(layer)), strips]
    text = OUTLINES["svg"]().content
    return {
        "dxf": lambda: [document.saveas(folder / "bare.dxf") for document in documents],
        "svg": lambda: [(folder / "bare.svg").write_bytes(text(each, pens, whole.box)) for each in ready],
    }


def drawings_of(design):
    plaque = fittings(design).plaque
    drawn = plaque_drawing(plaque, name=design.name, wording=design.plaque.wording, kerf=0.2)
    return drawn, strip_drawing(strip_of(plaque), name=design.name, kerf=0.2)


def least(work):
    """Return the least processor time of several runs, in ms."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return 1e3 * min(times)


def child(*words):
    """Return the processor time of a process, in ms."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return 1e3 * (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def told(name, alone, exported):
    print(f"{name:9} bare {alone:7.0f} ms, as exported {exported:7.0f} ms: {exported / alone:.2f}")


def drawn(design, form, folder):
    """Write the outline of a plaque in a format, from the design on, each file read back."""
    files = outline_files(form, *drawings_of(design), read_pens())
    publish_each({folder / name: file for name, file in files.items()})


def models(design, box, folder):
    """Tell what plates take, and a model with clearance, against the bare text of the same 3MF files."""
    items = lying_parts(box_arrays(box), 1.0)
    plates = on_plates(items, PLATE)
    eased = build(design, gap=CLEARANCE)
    whole = [Item(part, part.placed()) for part in box_arrays(eased)]
    threemf = FORMATS["3mf"].load()
    alone = [[Item(part, lain(part.vertices, part.triangles))] for part in box_arrays(eased)]
    told(
        "plates",
        least(lambda: [(folder / "bare.3mf").write_bytes(package("bare", laid)) for laid in plates]),
        least(lambda: publish_each(plate_files("x", on_plates(items, PLATE), PLATE, folder / "plates"))),
    )
    told(
        "clearance",
        least(lambda: [(folder / "bare.3mf").write_bytes(package("bare", each)) for each in (whole, *alone)]),
        least(lambda: publish_each(threemf(build(design, gap=CLEARANCE), folder / "eased", 1.0))),
    )


def main(name_of_design):
    design = read_design(name_of_design)
    box = build(design)
    with tempfile.TemporaryDirectory() as name:
        folder, sums = Path(name), [0.0, 0.0]
        for format_name, work in bare(box, folder).items():
            suffix, load = FORMATS[format_name]
            files_of, target = load(), folder / f"all{suffix}"
            pair = least(work), least(lambda make=files_of, to=target: publish_each(make(box, to, 1.0)))
            sums = [total + each for total, each in zip(sums, pair, strict=True)]
            told(format_name, *pair)
        for form, work in bare_drawings(design, folder).items():
            pair = least(work), least(lambda form=form: drawn(design, form, folder / form))
            sums = [total + each for total, each in zip(sums, pair, strict=True)]
            told(form, *pair)
        told("all", *sums)
        models(design, box, folder)
        pairs = [
            (child(__file__, name_of_design, "bare"), child("-m", "viewer", "export", name_of_design, "--to", name))
            for _ in range(3)
        ]
        told("processes", *map(min, zip(*pairs, strict=True)))


if __name__ == "__main__":
    asked = sys.argv[1] if len(sys.argv) > 1 else "frost_watch"
    if sys.argv[2:] == ["bare"]:
        with tempfile.TemporaryDirectory() as into:
            for write in bare(build(read_design(asked)), Path(into)).values():
                write()
    else:
        main(asked)
