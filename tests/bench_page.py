"""Times of the page, each beside what it is measured against, in one run: `.venv/bin/python tests/bench_page.py`.

It needs Chromium and, for the bare page, `npm ci` in viewer/page/web. First frame: from the start of loading to the
first draw call, the next animation frame and a pixel read back, in 15 alternating pairs.
"""

import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402 - after the path
from playwright.sync_api import sync_playwright  # noqa: E402

from tests.pages import Page, mesh_of  # noqa: E402
from viewer.commands import jobs, paging  # noqa: E402

DESIGNS, PAIRS = ("frost_watch", "label_box", "seed_box"), 15
WEB = ROOT / "viewer" / "page" / "web"
FIRST_FRAME = """
(() => {
  for (const kind of [WebGL2RenderingContext, globalThis.WebGLRenderingContext].filter(Boolean)) {
    for (const name of ["drawElements", "drawArrays", "drawElementsInstanced", "drawArraysInstanced"]) {
      const draw = kind.prototype[name];
      if (!draw) continue;
      kind.prototype[name] = function (...given) {
        draw.apply(this, given);
        if (window.began) return;
        window.began = true;
        requestAnimationFrame(() => {
          this.readPixels(0, 0, 1, 1, this.RGBA, this.UNSIGNED_BYTE, new Uint8Array(4));
          window.firstFrame = performance.now();
        });
      };
    }
  }
})();
"""
BARE = """
import {
  BufferAttribute, BufferGeometry, Mesh, MeshBasicMaterial, OrthographicCamera, Scene, WebGLRenderer,
} from "three";
const geometry = new BufferGeometry();
geometry.setAttribute("position", new BufferAttribute(new Float32Array(window.points), 3));
geometry.setIndex(window.triangles);
const scene = new Scene();
scene.add(new Mesh(geometry, new MeshBasicMaterial({ color: 0xcc995c })));
const camera = new OrthographicCamera(-300, 300, 200, -200, 0.1, 2000);
camera.position.set(300, -600, 300);
camera.up.set(0, 0, 1);
camera.lookAt(0, 0, 0);
const renderer = new WebGLRenderer({ antialias: true });
renderer.setSize(800, 520);
document.body.append(renderer.domElement);
renderer.render(scene, camera);
"""


def making():
    """Print how long a page takes to make once libraries are loaded, and how large it is."""
    paging.page_text(jobs.read("starter"), edition="pupil", seed=1)
    texts = {}
    for name in DESIGNS:
        job, began = jobs.read(name), time.perf_counter()
        texts[name] = paging.page_text(job, edition="pupil", seed=1)
        took = time.perf_counter() - began
        size = len(texts[name].encode()) / 1000
        print(f"{name}: page made in {took:.2f} s (aim 0.5), {size:.0f} KB (aim 600, at most 900)")
    return texts["frost_watch"]


def bare(text, folder):
    """Write a page that draws the same triangles by three.js and does nothing else."""
    data, points, triangles, count = Page(text).data, [], [], 0
    for part in data["boxes"][0]["parts"]:
        corners, ends, _ = mesh_of(data, part["mesh"])
        points.append(corners + part["away"])
        triangles.append(ends + count)
        count += len(corners)
    (WEB / "bare.tmp.js").write_text(BARE, encoding="utf-8")
    try:
        command = [
            "node_modules/.bin/esbuild",
            "bare.tmp.js",
            "--bundle",
            "--minify",
            "--format=iife",
            "--target=es2020",
        ]
        script = subprocess.run(command, cwd=WEB, capture_output=True, text=True, check=True).stdout
    finally:
        (WEB / "bare.tmp.js").unlink()
    arrays = (
        f"window.points = {np.concatenate(points).round(2).ravel().tolist()};"
        f"window.triangles = {np.concatenate(triangles).ravel().tolist()};"
    )
    html = f"<!DOCTYPE html><meta charset=utf-8><body><script>{arrays}</script><script>{script}</script>"
    (folder / "bare.html").write_text(html, encoding="utf-8")
    return folder / "bare.html"


def first_frame(browser, file):
    page = browser.new_page(viewport={"width": 1366, "height": 768})
    page.add_init_script(FIRST_FRAME)
    page.goto(file.as_uri())
    page.wait_for_function("window.firstFrame")
    took = page.evaluate("window.firstFrame")
    page.close()
    return took


def slider(browser, file):
    """Return the median time of a frame while the box is taken apart, ms."""
    page = browser.new_page(viewport={"width": 1366, "height": 768})
    page.goto(file.as_uri())
    page.wait_for_function("window.lapwright")
    took = page.evaluate(
        """async () => {
          const slider = document.querySelector('#apart'), found = [];
          for (let i = 0; i <= 40; i += 1) {
            slider.value = 100 - 2.5 * i;
            const began = performance.now();
            slider.dispatchEvent(new Event('input', {bubbles: true}));
            window.lapwright.viewer.state();
            const canvas = document.querySelector('#view'), gl = canvas.getContext('webgl2');
            gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
            found.push(performance.now() - began);
          }
          return found;
        }"""
    )
    page.close()
    return statistics.median(took)


def main():
    text = making()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as started:
        ours, other = Path(folder) / "ours.html", bare(text, Path(folder))
        ours.write_text(text, encoding="utf-8")
        software = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
        browser = started.chromium.launch(executable_path=shutil.which("chromium"), args=software)
        first_frame(browser, ours), first_frame(browser, other)  # what the browser keeps is kept for both
        pairs = [(first_frame(browser, ours), first_frame(browser, other)) for _ in range(PAIRS)]
        one, two = (statistics.median(times) for times in zip(*pairs, strict=True))
        ratio = statistics.median(a / b for a, b in pairs)
        print(f"first frame: {one:.0f} ms, of a bare page {two:.0f} ms: median of {PAIRS} ratios {ratio:.2f} (aim 1.3)")
        print(f"a step of the slider: median {slider(browser, ours):.0f} ms, with labels worked out anew")
        browser.close()


if __name__ == "__main__":
    main()
