"""How long all exports take against their bare writers: `.venv/bin/python tests/bench_export.py [DESIGN]`.

Bare: the kernel's STEP export, trimesh's STL and GLB and the text of the 3MF files, called on solids and meshes that
are ready; nothing is put in order, read back or moved into place. As exported: what `lapwright export` calls, from
the same numbers, exact solids made and every file read back. The last line is that of two processes, from their
start: `lapwright export`, and one that loads the same libraries, builds the box and calls the bare writers.

Times are processor time, the least of several runs: ratios of one run hold on a busy machine.
"""

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from trimesh.exchange.stl import export_stl

from assembly.files.reading import read_design
from assembly.solids.box import box_arrays, build
from assembly.solids.lying import lain
from assembly.writers.formats import FORMATS
from assembly.writers.glb import scene_of
from assembly.writers.step import assembly_of
from assembly.writers.stl import mesh_of
from assembly.writers.threemf import Item, package

ROUNDS = 7


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


def main(design):
    box = build(read_design(design))
    with tempfile.TemporaryDirectory() as name:
        folder, sums = Path(name), [0.0, 0.0]
        for format_name, work in bare(box, folder).items():
            suffix, load = FORMATS[format_name]
            write = load()
            pair = least(work), least(lambda write=write, suffix=suffix: write(box, folder / f"all{suffix}", 1.0))
            sums = [total + each for total, each in zip(sums, pair, strict=True)]
            told(format_name, *pair)
        told("all", *sums)
        pairs = [
            (child(__file__, design, "bare"), child("-m", "viewer", "export", design, "--to", name)) for _ in range(3)
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
