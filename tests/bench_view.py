"""Prints how fast a box is seen, measured in one run: `python tests/bench_view.py`.

Solids: triangles and true edges of all parts of the demo box as checked arrays, over the same box built with
CadQuery's fluent calls and tessellated as finely, in processor time; the exact volumes of both are compared first.
Slider: the median time of one step of the window's explode slider, off screen, and how much of it is VTK's drawing.
Picture: from the command `lapwright picture` to the file, and where that time goes.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import cadquery as cq
import numpy as np

from assembly.files.reading import read_design
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import frame
from assembly.solids.bodies import CHORD, TURN
from assembly.solids.box import box_arrays, build
from assembly.solids.kernel import exact
from viewer.commands import jobs
from viewer.commands.showing import ViewRequest, opened
from viewer.picture.write import possible_windows
from viewer.window.controls import bar

DESIGN = read_design("frost_watch")
ROOT = Path(__file__).parent.parent
RUNS = 9


def seconds(work, runs=RUNS, clock=time.perf_counter):
    """Return the median time of some runs, after one that does not count."""
    work()
    times = []
    for _ in range(runs):
        start = clock()
        work()
        times.append(clock() - start)
    return statistics.median(times)


def wall(length, lap):
    """Return a wall with its laps, (length, depth), cut from the inside at both ends."""
    box = frame(DESIGN)
    thick = box.lapped if lap else box.plain
    blank = cq.Workplane("XY").box(length, box.height, thick)
    if not lap:
        return blank
    ends = [(side * (length - box.plain) / 2, 0) for side in (-1, 1)]
    return blank.faces(">Z").workplane().pushPoints(ends).rect(box.plain, box.height).cutBlind(-lap)


def sheet(of, name):
    """Return a sheet with its holes."""
    found = cq.Workplane("XY").box(of.along_x, of.along_y, of.thickness)
    mouths = {hole.centre: hole.diameter for hole in fittings(DESIGN).holes_of(name, "countersink")}
    for hole in (each for each in fittings(DESIGN).holes_of(name) if each.use != "countersink"):
        at = found.faces(">Z").workplane(origin=hole.centre)
        if hole.centre in mouths:
            found = at.cskHole(hole.diameter, mouths[hole.centre], 90)
        else:
            found = at.hole(hole.diameter, min(hole.depth, of.thickness))
    return found


def plaque():
    """Return the bent plaque with its holes."""
    of = fittings(DESIGN).plaque
    p = [tuple(point) for point in of.profile().tolist()]
    bent = cq.Workplane("YZ").moveTo(*p[0]).lineTo(*p[1]).threePointArc(p[2], p[3]).lineTo(*p[4]).lineTo(*p[5])
    bent = bent.lineTo(*p[6]).threePointArc(p[7], p[8]).lineTo(*p[9]).close().extrude(of.width / 2, both=True)
    for hole in fittings(DESIGN).holes_of("plaque"):
        x, y, _ = hole.centre
        bent = bent.faces("<Z").workplane(origin=(x, y, 0)).hole(hole.diameter, hole.depth)
    return bent


def screw(fastener):
    """Return a screw, countersunk or with a round head."""
    of, inner = fastener.screw, fastener.screw.diameter / 2
    head = fastener.dome or ((0, 0), (of.head / 2, 0))
    outline = cq.Workplane("XZ").polyline(head).lineTo(inner, -fastener.head_height)
    return (
        outline.lineTo(inner, fastener.tip_height - of.length)
        .lineTo(0, -of.length)
        .close()
        .revolve(360, (0, 0), (0, 1))
    )


def fluent():
    """Return the parts built with CadQuery's fluent calls, by name."""
    box, fitted = frame(DESIGN), fittings(DESIGN)
    short, long = box.along_y, box.along_x - 2 * (box.lapped - box.depth)
    made = {}
    for side in ("left", "right"):
        (pilot,) = fitted.holes_of(f"{side} wall")
        lapped = wall(short, box.depth).faces(">Y").workplane(origin=(0, 0, 0)).hole(pilot.diameter, pilot.depth)
        made[f"{side} wall"] = lapped
    (cable,) = fitted.holes_of("back wall")
    made["front wall"] = wall(long, 0)
    made["back wall"] = wall(long, 0).faces(">Z").workplane().hole(cable.diameter)
    made |= {"base": sheet(fitted.base, "base"), "lid": sheet(fitted.lid, "lid"), "plaque": plaque()}
    made |= {fastener.name: screw(fastener) for fastener in fitted.fasteners}
    for washer in fitted.washers:
        disc = cq.Workplane("XY").circle(washer.diameter / 2).circle(washer.hole / 2)
        made[washer.name] = disc.extrude(washer.thickness)
    made["stem"] = cq.Workplane("XY").circle(fitted.stem.diameter / 2).extrude(fitted.stem.length)
    return made


def arrays_of(shape):
    """Return a fluent shape's points and triangles; the kernel's chords turn by half of what it is given."""
    points, triangles = shape.val().tessellate(CHORD, 2 * TURN)
    return np.array([point.toTuple() for point in points]), np.array(triangles)


def compare_solids():
    """Print the volumes' largest difference and the times of both ways."""
    ours = {part.facts.name: exact(part.shape).Volume() for part in build(DESIGN).parts}
    theirs = {name: shape.val().Volume() for name, shape in fluent().items()}
    assert ours.keys() == theirs.keys()
    off = max(abs(theirs[name] / volume - 1) for name, volume in ours.items())
    assert off < 1e-9, {name: (ours[name], theirs[name]) for name in ours}
    print(f"solids: {len(ours)} parts, volumes of both ways the same within {off:.0e}")
    own = seconds(lambda: box_arrays(build(DESIGN)), clock=time.process_time)
    other = seconds(lambda: [arrays_of(shape) for shape in fluent().values()], clock=time.process_time)
    other_build = seconds(fluent, clock=time.process_time)
    shapes = {part.shape: None for part in build(DESIGN).parts}
    both = own + seconds(lambda: [exact(shape) for shape in shapes], clock=time.process_time)
    print(
        f"arrays, built and checked: {own * 1e3:.0f} ms of processor time; with fluent calls {other * 1e3:.0f} ms, of"
    )
    print(f"that building {other_build * 1e3:.0f} ms: {other / own:.1f} times as long; with exact solids as well,")
    print(f"checked too, {both * 1e3:.0f} ms")


def slider_step():
    """Print the median time of a step of the slider at three sizes of the window."""
    os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = possible_windows()[0]
    scenes, window = opened(jobs.read("frost_watch"), ViewRequest(), off_screen=True)
    window.plotter.show(interactive=False, auto_close=False)
    for size in ((1024, 768), (1280, 800), (1920, 1080)):
        window.plotter.window_size = list(size)
        window.show(window.state)
        whole, drawing = [], []
        for share in range(42):
            slider = bar(window.state, window.size).slider("apart")
            x = round(slider.left + share % 21 / 20 * (slider.right - slider.left))
            start = time.perf_counter()
            window.press(x, round((slider.box[1] + slider.box[3]) / 2))
            middle = time.perf_counter()
            window.plotter.render()
            drawing.append(time.perf_counter() - middle)
            whole.append(middle - start)
            window.release(x, 0)
        step, drawn = (1e3 * statistics.median(times) for times in (whole, drawing))
        print(
            f"slider step at {size[0]} x {size[1]}: {step:.0f} ms, the quickest {1e3 * min(whole):.0f}; "
            f"of that VTK's drawing {drawn:.0f} ms"
        )
    window.plotter.close()
    scenes.end()


# What the command does before it starts the child that draws, with the time after each stage.
_PARENT = """
import time
def stage(name, since=[BEGAN]):
    print(f"{name}|{time.time() - since[0]:.3f}"); since[0] = time.time()
stage("start of Python")
from viewer import cli; from viewer.commands import jobs
job = jobs.read("frost_watch"); stage("reading the design")
import assembly.solids.box, assembly.solids.meshes; stage("loading solids")
parts = assembly.solids.box.box_arrays(jobs.built(job)); stage("solids to arrays")
from assembly.study.check import sampled_box; stage("loading numba")
settled = sampled_box(job.design, job.workshop, seed=1, quantile=jobs.PICTURED); stage("settling 10,000 boxes")
from viewer.scene.box_scene import scene
shown = scene(parts, settled, job.gap_scale_of(job.design), 1.0); stage("scene")
import pickle, pathlib, sys
pathlib.Path(sys.argv[1]).write_bytes(pickle.dumps([(shown, (1600, 1200), False, sys.argv[1] + ".png", 0)]))
"""
# What the child does, by the time that each of the viewer's functions took.
_CHILD = """
import time
import viewer.picture.render
print(f"start of the child, loading PyVista and VTK|{time.time() - BEGAN:.3f}")
import cProfile, pstats
profile = cProfile.Profile()
profile.runcall(viewer.picture.render.main)
for (file, _, name), (_, _, _, took, _) in sorted(pstats.Stats(profile).stats.items(), key=lambda row: -row[1][3]):
    if "viewer" in file and took > 0.1 or name.endswith("'Render' of 'vtkmodules"):
        print(f"in {name} (inside one another)|{took:.3f}")
"""


def stages(code, file, stdin=None):
    """Return the stages of a piece of code in a fresh interpreter with their seconds."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "VTK_DEFAULT_OPENGL_WINDOW": possible_windows()[0]}
    command = [sys.executable, "-c", code.replace("BEGAN", repr(time.time())), file]
    done = subprocess.run(command, env=env, stdin=stdin, stdout=subprocess.PIPE, check=True)
    rows = [line.rpartition("|") for line in done.stdout.decode().splitlines() if "|" in line]
    return [(name.lstrip("."), float(took)) for name, _, took in rows]  # the child says a point for every picture


def first_picture(folder):
    """Print the time from the command to its picture, and where it goes."""
    command = [sys.executable, "-m", "viewer", "picture", "frost_watch", "--to", folder]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    whole = seconds(lambda: subprocess.run(command, env=env, capture_output=True, check=True), runs=3)
    print(f"picture: {whole:.2f} s from the command to the file; stage by stage, one after another:")
    asked = Path(folder) / "asked"
    found = stages(_PARENT, str(asked))
    with asked.open("rb") as stdin:
        found += stages(_CHILD, str(asked), stdin)
    for name, took in found:
        print(f"  {took:5.2f} s  {name}")


def main():
    compare_solids()
    slider_step()
    with tempfile.TemporaryDirectory() as folder:
        first_picture(folder)


if __name__ == "__main__":
    main()
