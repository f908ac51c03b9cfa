"""How long learning takes, and that other commands start without it: python tests/bench_learning.py [OLD_TREE] [many].

Told are, of the example class (26 makers, 27 readings asked of each): `lapwright learn` from start to learned table,
with nothing compiled yet and with what an earlier run compiled; of commands that do not learn, how many modules they
load, how many of them are `assembly.learning`, what the modules of its commands themselves take, and processor time
beside that of OLD_TREE, a checkout from before learning, run in turn; with "many" instead of the first, 10,000 readings
of 200 makers, with the memory they take.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

HERE = Path(__file__).parent.parent
RUNS = 7
LEARN = ("learn", "frost_watch", "example_readings")
OTHERS = {
    "--help": ("--help",),
    "check --help": ("check", "--help"),
    "check, 100 boxes": ("check", "frost_watch", "--boxes", "100"),
}


def timed(words, tree=HERE, flags=(), **environment):
    """Return wall time, processor time and what was printed to stderr of a command of a tree."""
    used, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-P", *flags, "-m", "viewer", *words],
        env=os.environ | {"PYTHONPATH": str(tree)} | environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode in {0, 1}, done.stderr
    wall, after = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - used.ru_utime - used.ru_stime, done.stderr


def learning(folder):
    words = (*LEARN, "--to", str(folder))
    for name in ("nothing compiled yet", "compiled before"):
        wall, processor, _ = timed(words, NUMBA_CACHE_DIR=str(folder / "cache"))
        print(f"learn, {name:22}{wall:8.1f} s{processor:8.1f} s of processor")


def others(old):
    trees = {"now": HERE} | ({"before": old} if old else {})
    for name, words in OTHERS.items():
        for tree in trees.values():
            timed(words, tree)
        found = {each: [] for each in trees}
        for _ in range(RUNS):
            for each, tree in trees.items():
                found[each].append(timed(words, tree)[1])
        lines = timed(words, flags=("-X", "importtime"))[2].splitlines()
        loaded = [line.rpartition("|")[2].strip() for line in lines if line.startswith("import time:")]
        of_it = sum(each.startswith("assembly.learning") for each in loaded)
        own = sum(int(line.split("|")[0].split(":")[1]) for line in lines if line.endswith(".learning"))
        told = ", ".join(f"{each} {median(some):.3f} s (least {min(some):.3f})" for each, some in found.items())
        print(
            f"{name:18}{len(loaded):5} modules, {of_it} of assembly.learning; its commands' own {own / 1000:.1f} ms; "
            f"processor {told}"
        )


def many(folder):
    import numpy as np  # noqa: PLC0415 - for this part alone

    from assembly.files.reading import read_design, read_workshop  # noqa: PLC0415
    from assembly.learning.example_class import true_workshop  # noqa: PLC0415
    from assembly.learning.features import FEATURES  # noqa: PLC0415
    from assembly.learning.instrument_files import read_instruments  # noqa: PLC0415
    from assembly.learning.readings import COLUMNS  # noqa: PLC0415
    from assembly.learning.simulated import figures_of, simulate  # noqa: PLC0415
    from assembly.model.workshop import quantities  # noqa: PLC0415

    design, instruments = read_design("frost_watch"), read_instruments()
    rows = [
        (each.name, spot, instruments[each.instrument]) for each in FEATURES.values() for spot in each.spots(design)[:4]
    ][:50]
    figures = figures_of(true_workshop(), quantities())
    found = simulate(design, read_workshop("new_to_tools"), figures, rows, {1: 200}, np.random.default_rng(1))
    lines = [",".join(COLUMNS)] + [
        f"{each.maker[0]},{each.maker[1]},{each.spot.part},{each.spot.end},{each.feature},{each.spot.at},"
        f"{round(each.value, 3) + 0.0},{each.instrument.name}"
        for each in found
    ]
    (folder / "many.csv").write_text("\n".join(lines), encoding="utf-8")
    wall, processor, _ = timed(("learn", "frost_watch", str(folder / "many.csv"), "--to", str(folder)))
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"learn, {len(found):,} readings {wall:8.1f} s{processor:8.1f} s of processor, at most {most:.0f} MB")


if __name__ == "__main__":
    asked = sys.argv[1:]
    with tempfile.TemporaryDirectory() as made:
        others(next((Path(each) for each in asked if each != "many"), None))
        if "many" in asked:
            many(Path(made))
        else:
            learning(Path(made))
