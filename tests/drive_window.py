"""Drives the real window under a virtual screen: `python tests/drive_window.py [FOLDER]` writes its screenshots there.

Needs Xvfb and xdotool. Mouse and keys are the window system's own; beside the window runs a twin off screen, driven by
its handlers, and after every action both must look alike. At the end the command must have left without a word, and
written nothing but the lists of fonts and compiled shaders that libraries keep.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image, ImageGrab

from assembly.files.shipped import shipped_designs
from viewer.commands import jobs
from viewer.commands.showing import ViewRequest, opened
from viewer.picture.write import possible_windows
from viewer.window.controls import bar

ROOT, DISPLAY = Path(__file__).parent.parent, ":93"
LIBRARIES = {"matplotlib", "ezdxf", "mesa_shader_cache"}  # lists of fonts and compiled shaders, of no use to this
ALIKE = 0.01  # of the pixels may differ by more than 24 levels: edges, drawn by two ways into the same library


class Driver:
    """The window, its twin, and what is done to both."""

    def __init__(self, folder, home):
        self.folder, self.count = folder, 0
        env = {**os.environ, "DISPLAY": DISPLAY, "HOME": str(home), "PYTHONPATH": str(ROOT)}
        self.env = {**env, "PYTHONDONTWRITEBYTECODE": "1", "XDG_CACHE_HOME": str(home / ".cache")}
        self.env.pop("VTK_DEFAULT_OPENGL_WINDOW")  # the twin's
        self.design = home / "mine.toml"
        self.design.write_text(shipped_designs()["frost_watch"].read_text(encoding="utf-8"), encoding="utf-8")
        command = [sys.executable, "-m", "viewer", "view", str(self.design)]
        self.app = subprocess.Popen(
            command, env=self.env, cwd=home, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        self.scenes, self.twin = opened(jobs.read(str(self.design)), ViewRequest(), off_screen=True)
        self.twin.plotter.show(interactive=False, auto_close=False)
        self.window = ""
        while not self.window:
            assert self.app.poll() is None, self.app.communicate()[0]
            time.sleep(0.2)
            self.window = self.tool("search", "--name", "lapwright", check=False)
        self.tool("windowfocus", self.window)
        time.sleep(2)

    def tool(self, *words, check=True):
        command = ["xdotool", *map(str, words)]
        done = subprocess.run(command, env=self.env, capture_output=True, text=True, check=check)
        return done.stdout.strip()

    def key(self, *names):
        for name in names:
            self.tool("key", name)
            self.twin.key(name)

    def point(self, x, y):
        self.tool("mousemove", "--window", self.window, x, y)
        time.sleep(0.1)

    def drag(self, start, end, button=1):
        self.point(*start)
        self.tool("mousedown", button)
        self.twin.press(*start, moves=button == 2)
        for share in (0.25, 0.5, 0.75, 1.0):
            x, y = (round(a + share * (b - a)) for a, b in zip(start, end, strict=True))
            self.point(x, y)
            self.twin.move(x, y)
        self.tool("mouseup", button)
        self.twin.release(*end)

    def wheel(self, x, y, clicks):
        """Turn the wheel at a place: nearer, or farther off where `clicks` are below 0."""
        self.point(x, y)
        for _ in range(abs(clicks)):
            self.tool("click", 4 if clicks > 0 else 5)
            self.twin.wheel(1.1 if clicks > 0 else 1 / 1.1, x, y)

    def rewrite(self, before, after):
        """Change the design's file, and let the twin look twice, as the window does by itself."""
        text = self.design.read_text(encoding="utf-8")
        assert before in text
        self.design.write_text(text.replace(before, after, 1), encoding="utf-8")
        self.twin.tick()
        self.twin.tick()

    def click(self, x, y):
        self.drag((x, y), (x, y))

    def press(self, name):
        """Click a button."""
        left, top, right, bottom = next(
            p.box for p in bar(self.twin.state, self.twin.size).parts if getattr(p, "key", "") == name
        )
        self.click(round((left + right) / 2), round((top + bottom) / 2))

    def slide(self, name, share):
        """Drag a slider's knob."""
        slider = bar(self.twin.state, self.twin.size).slider(name)
        long, y = slider.right - slider.left, round((slider.box[1] + slider.box[3]) / 2)
        self.drag((round(slider.left + slider.share * long), y), (round(slider.left + share * long), y))

    def resize(self, width, height):
        self.tool("windowsize", "--sync", self.window, width, height)
        self.twin.plotter.window_size = [width, height]
        self.twin.show(self.twin.state)

    def look(self, name):
        """Take both pictures and compare them."""
        deadline = time.monotonic() + 30
        while True:
            time.sleep(0.7)
            width, height = self.twin.size
            rows = dict(row.split("=") for row in self.tool("getwindowgeometry", "--shell", self.window).splitlines())
            x, y = int(rows["X"]), int(rows["Y"])
            shot = ImageGrab.grab(xdisplay=DISPLAY, bbox=(x, y, x + width, y + height)).convert("RGB")
            self.twin.plotter.render()
            twin = np.asarray(self.twin.plotter.screenshot(return_img=True)).astype(int)
            off = (np.abs(np.asarray(shot).astype(int) - twin).max(axis=2) > 24).mean()
            if off < ALIKE or time.monotonic() > deadline:
                break
        self.count += 1
        shot.save(self.folder / f"{self.count:02d}_{name}.png")
        sys.stdout.write(f"{name}: {width} x {height}, {off:.2%} of the pixels differ from the twin's\n")
        if off >= ALIKE:
            Image.fromarray(twin.astype(np.uint8)).save(self.folder / f"{self.count:02d}_{name}_twin.png")
        assert off < ALIKE

    def part(self, name):
        """Return a pixel where a part is seen: the middle of one of its triangles."""
        part = next(part for part in self.twin.scene.parts if part.name == name)
        middles = part.points[part.triangles].mean(axis=1) + self.twin.state.explode * part.away
        pixels = self.twin.view().pixels(middles).round().astype(int).tolist()
        return next((x, y) for x, y in pixels if self.twin.part_under(x, y) == name)

    def pick(self, name):
        self.click(*self.part(name))
        assert self.twin.state.picked == name


def drive(driver):
    """Do with the box what can be done, then with the limit case and the steps."""
    driver.resize(1280, 800)
    driver.look("as_opened")
    for explode in (1.0, 0.3, 0.0):
        driver.slide("apart", explode)
        for name in ("front wall", "plaque"):
            driver.pick(name)
        driver.look(f"picked_at_{explode:g}")
    driver.resize(1024, 768)
    driver.pick("right wall")
    driver.look("after_resizing")
    driver.press("2")
    driver.slide("errors", 3 / 19)
    driver.look("as_made_4_times")
    driver.drag((700, 300), (780, 340))
    driver.look("turned")
    driver.drag((700, 300), (640, 260), button=2)
    driver.key("shift+Right", "shift+Up")
    driver.look("moved")
    driver.wheel(800, 250, 6)
    driver.look("wheel_at_the_pointer")
    for key, side in (("5", "above"), ("6", "front"), ("7", "side")):
        driver.press(key)
        driver.look(f"from_{side}")
    driver.resize(1920, 1080)
    driver.press("h")
    driver.key("e", "e", "e", "f")
    driver.look("keys_e_e_e_f")
    driver.key("f")
    drive_on(driver)


def drive_on(driver):
    driver.rewrite("height = 45", "height = 60")
    driver.look("higher_walls_in_the_file")
    driver.rewrite("height = 60", "height = -3")
    driver.look("a_fault_in_the_file")
    driver.rewrite("height = -3", "height = 45")
    driver.look("put_right")
    driver.press("2")
    driver.slide("errors", 5 / 19)
    driver.press("3")
    driver.look("limit_case_is_sought")
    while driver.twin.working:
        time.sleep(0.2)
        driver.twin.tick()
    assert driver.twin.state.drawn == "limit"
    driver.look("limit_case")
    driver.resize(420, 900)
    driver.look("narrow")
    driver.resize(1280, 800)
    driver.key("n")
    driver.look("first_step")
    driver.key("n", "n")
    driver.press("n")
    driver.slide("apart", 0.5)
    assert driver.twin.state.step == 4
    driver.look("step")
    driver.key("f")
    driver.press("0")
    driver.press("1")
    driver.press("f")
    driver.look("without_marks")
    driver.press("f")
    driver.press("question")
    driver.look("key_words")
    driver.key("question", "2", "minus", "minus", "minus", "minus")
    driver.slide("apart", 0.5)
    driver.pick("front wall")
    driver.look("for_the_readme")
    driver.key("Escape")
    driver.tool("key", "q")
    driver.design.unlink()


def main():
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp())
    os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = possible_windows()[0]
    screen = subprocess.Popen(["Xvfb", DISPLAY, "-screen", "0", "2000x1200x24"], stderr=subprocess.DEVNULL)
    home = Path(tempfile.mkdtemp())
    try:
        time.sleep(1)
        driver = Driver(folder, home)
        try:
            drive(driver)
            said = driver.app.communicate(timeout=30)[0]
            assert (driver.app.returncode, said) == (0, ""), said
        finally:
            driver.app.kill()
            driver.scenes.end()
        written = [file.relative_to(home) for file in home.rglob("*") if file.is_file()]
        assert all(file.parts[1] in LIBRARIES for file in written), written
        sys.stdout.write(f"closed without a word; written: {', '.join(map(str, written)) or 'nothing'}\n")
    finally:
        screen.terminate()
        screen.wait()
        shutil.rmtree(home)


if __name__ == "__main__":
    main()
