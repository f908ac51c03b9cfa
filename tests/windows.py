"""Windows off screen, driven by their handlers, for the tests of the window."""

from dataclasses import replace

import numpy as np
from shown import SCALE, graded, parts

from viewer.commands import jobs
from viewer.scene.box_scene import scene
from viewer.scene.scene import Caption, TitleBlock
from viewer.window.controls import bar
from viewer.window.looking import seen_as_first
from viewer.window.state import Bounds, State

SIZE = (1000, 720)

SIZES = [(1280, 800), (1024, 768), (1920, 1080)]

SCENE = scene(parts(), graded(), SCALE, 0.0, TitleBlock(name="Test box", boxes=10_000))


class Shelf:
    """What a window is opened on in these tests: one scene for every state; a limit case that is found when asked."""

    def __init__(self):
        self.materials = {part.name: "pine" for part in SCENE.parts}
        self.reset()

    def reset(self):
        self.limit, self.fault, self.asked = None, None, []

    def bounds(self):
        return Bounds(steps=3, p95=6.2, limit=self.limit)

    def changed(self):
        return False

    def ready(self, state):
        return state.drawn != "p95"

    def scene(self, state):
        self.asked.append(state.scene_key)
        if state.drawn == "limit" and not state.step:
            if self.fault:
                raise self.fault
            if self.limit is None:
                return "working: looking"
        if state.step:
            return replace(SCENE, shows=f"step {state.step} of 3: sawing", joints=())
        return replace(SCENE, caption=Caption(lead=(f"{state.drawn} {state.times:g}",)))


def opened(source, size=SIZE):
    from viewer.window.window import Window  # noqa: PLC0415 - VTK, which the tests that need no window do without

    window = Window(State(bounds=source.bounds()), source, size, off_screen=True)
    window.plotter.show(interactive=False, auto_close=False)
    return window


def resize(window, size):
    """Resize a window as its frame does: the size changes, then the window is notified."""
    window.plotter.window_size = list(size)
    window.show(window.state)


def shot(window):
    window.plotter.render()
    return np.asarray(window.plotter.screenshot(return_img=True)).astype(int)


def place_of(window, key):
    """Return the middle of a button or a slider."""
    shown = bar(window.state, window.size)
    part = next(p for p in shown.parts if getattr(p, "key", getattr(p, "name", None)) == key)
    return round((part.box[0] + part.box[2]) / 2), round((part.box[1] + part.box[3]) / 2)


def slide(window, name, share):
    slider = bar(window.state, window.size).slider(name)
    x, y = round(slider.left + share * (slider.right - slider.left)), round((slider.box[1] + slider.box[3]) / 2)
    click(window, x, y)


def click(window, x, y):
    window.press(x, y)
    window.release(x, y)


def reopened(window):
    """Bring a window of this module back to what it is when it opens."""
    window.source.reset()
    resize(window, SIZE)
    window.show(seen_as_first(State(bounds=window.source.bounds()), SCENE))
    window.source.asked.clear()


def demo_scenes():
    """Return the scenes of the demo box."""
    from viewer.commands.watching import WatchedScenes  # noqa: PLC0415 - manifold3d

    return WatchedScenes(jobs.read("frost_watch"), seed=1)
