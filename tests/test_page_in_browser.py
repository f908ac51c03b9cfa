"""The page in a real browser: Chromium, headless, from disk, with no network and no graphics card.

Sources: WCAG 2.2, levels A and AA, as axe-core has them; 1.4.3 for the contrast of letters (4.5 to 1) where axe leaves
it undecided, measured on pixels; 1.4.10 for 320 CSS pixels; 2.1.1 for the keyboard. What a tap finds is compared with
`viewer.scene.visibility`, which draws nothing; what is printed is read back by pypdf.
"""

import io
import os
import re
import shutil
from collections import Counter
from dataclasses import replace
from math import ceil, floor

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import sync_playwright
from pypdf import PdfReader

from assembly.files.reading import read_design, read_workshop
from assembly.made.gap_classes import gap_scale_of
from assembly.planning.making import making_order
from assembly.solids.box import box_arrays, build
from viewer.commands import jobs, paging
from viewer.scene.box_scene import scene
from viewer.scene.camera import Direction, View
from viewer.scene.visibility import seen

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
if CHROMIUM is None and not os.environ.get("CI"):
    pytest.skip("no Chromium here: install it, or name it in CHROMIUM", allow_module_level=True)
SOFTWARE = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
SIZES = ((1366, 768), (1920, 1080), (768, 1024), (390, 844))
STATE = "window.lapwright.viewer.state()"


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """The pages that tests open: the pupils' and the teacher's, and one whose design has a hostile name."""
    folder, job = tmp_path_factory.mktemp("pages"), jobs.read("frost_watch")
    hostile = replace(job, design=job.design.model_copy(update={"name": HOSTILE}))
    made = {
        "pupil": paging.page_text(job, edition="pupil", seed=1),
        "hostile": paging.page_text(hostile, edition="pupil", seed=1),
    }
    for name, text in made.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return folder


HOSTILE = "</script><img src=x onerror=alert(1)>\u05e7\u05d5 \U0001f4e6 " + "W" * 160


@pytest.fixture(scope="module")
def playwright():
    assert CHROMIUM, "no Chromium: .ci/setup installs it"
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="module")
def browser(playwright):
    launched = playwright.chromium.launch(executable_path=CHROMIUM, args=SOFTWARE)
    yield launched
    launched.close()


def opened(browser, file, size=SIZES[0], **how):
    """Open a page with no network; whatever it asks for or complains of is kept."""
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, offline=True, **how)
    page = context.new_page()
    page.asked, page.said = [], []
    page.on("request", lambda request: page.asked.append(request.url))
    page.on("console", lambda message: page.said.append(message.text))
    page.on("pageerror", lambda error: page.said.append(str(error)))
    page.on("dialog", lambda dialog: (page.said.append(dialog.message), dialog.dismiss()))
    page.goto(file.as_uri())
    if how.get("java_script_enabled", True):
        page.wait_for_function("document.documentElement.classList.contains('scripted')")
    return page


@pytest.fixture(scope="module")
def page(browser, files):
    return opened(browser, files / "pupil.html")


def explode(page, percent):
    page.locator("#apart").evaluate(
        "(slider, value) => {slider.value = value; slider.dispatchEvent(new Event('input', {bubbles: true}))}", percent
    )


def order():
    design = read_design("frost_watch")
    return making_order(design, read_workshop(design.made_by))


def overlap(one, two):
    return min(one[2], two[2]) - max(one[0], two[0]) > 0.5 and min(one[3], two[3]) - max(one[1], two[1]) > 0.5


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_it_opens_from_disk_and_nothing_is_clipped_or_covered(browser, files, size):
    """Put together, half apart and apart: all within the stage, labels apart from each other and from the box."""
    page = opened(browser, files / "pupil.html", size)
    for percent in (0, 50, 100):
        explode(page, percent)
        state = page.evaluate(STATE)
        width, height = state["view"]["size"]
        left, top, right, bottom = state["bounds"]
        assert left >= 0
        assert top >= 0
        assert right <= width
        assert bottom <= height
        assert (right - left) * (bottom - top) > 0.05 * width * height
        boxes = [label["box"] for label in state["labels"]]
        assert len(boxes) >= (9 if percent == 100 else 4)
        assert all(box[0] >= 0 and box[1] >= 0 and box[2] <= width and box[3] <= height for box in boxes)
        assert not [(a, b) for i, a in enumerate(boxes) for b in boxes[:i] if overlap(a, b)]
        assert not [box for box in boxes if overlap(box, state["bounds"])]
        if width < 600:
            assert all(re.fullmatch(r"\d+", label["text"]) for label in state["labels"])
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    assert page.asked == [(files / "pupil.html").as_uri()]
    assert page.said == []
    page.context.close()


def test_every_step_by_keyboard_agrees_with_its_words_and_ticks(page):
    """From the first to the last by the key on one button; heading, list, ticks and drawing tell the same."""
    steps, parts = order().steps, [p.facts.name for p in build(read_design("frost_watch")).parts]
    page.locator("#next").focus()
    for step in steps:
        page.keyboard.press("Enter")
        found = page.evaluate(
            """() => ({state: window.lapwright.viewer.state(),
            title: document.querySelector('#stage-title').textContent,
            current: [...document.querySelectorAll('.step.current')].map((one) => one.id),
            said: document.querySelector('.step.current .action').textContent,
            ticked: [...document.querySelectorAll('#parts .shown')].map((one) => one.checked),
            focus: document.activeElement.id})"""
        )
        assert found["title"].startswith(f"Step {step.number} of {len(steps)}")
        assert found["current"] == [f"step-{step.number}"]
        assert found["said"] == step.action
        assert found["focus"] == "next"
        shown = {parts[i] for i in found["state"]["shown"]}
        assert shown == set(step.parts)
        assert [name in shown for name in parts] == found["ticked"]
        words = [label["text"] for label in found["state"]["labels"] if label["figure"]]
        named = [measure.text for measure in (*step.measures, *step.names)]
        assert len(words) >= min(1, len(named)), step.number
    page.locator("#show-box").focus()
    page.keyboard.press("Enter")
    assert page.evaluate(STATE)["step"] == 0


def test_every_part_by_keyboard_names_itself(page):
    page.evaluate("window.lapwright.viewer.state()")
    for index, part in enumerate(build(read_design("frost_watch")).parts):
        button = page.locator(f"#parts [data-part='{index}'] button.part")
        button.focus()
        page.keyboard.press("Enter")
        assert page.evaluate(STATE)["chosen"] == index
        assert button.get_attribute("aria-expanded") == "true"
        said = page.locator("#status").text_content()
        assert part.facts.name in said
        assert "mm" in said
        assert page.locator(f"#part-{index}").is_visible()
    page.keyboard.press("Enter")
    assert page.evaluate(STATE)["chosen"] == -1


def test_arrow_keys_turn_and_home_turns_back(page):
    first = page.evaluate(STATE)["direction"]
    page.locator("#view").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowUp")
    page.wait_for_timeout(400)
    turned = page.evaluate(STATE)["direction"]
    assert np.abs(np.subtract(turned, first)) == pytest.approx([15, 15])
    page.keyboard.press("Home")
    page.wait_for_timeout(400)
    assert page.evaluate(STATE)["direction"] == pytest.approx(first)


@pytest.mark.parametrize("percent", [0, 50, 100])
def test_a_tap_names_the_part_that_is_seen_there(page, percent):
    """A grid of places over the box, against the parts that lie nearest by the depth buffer, edges left out."""
    design = read_design("frost_watch")
    shown = scene(box_arrays(build(design)), None, gap_scale_of(design), 1.0)
    explode(page, percent)
    state = page.evaluate(STATE)
    told = state["view"]
    direction = Direction(round=told["direction"][0], up=told["direction"][1])
    view = View(
        direction=direction, focus=np.array(told["focus"]), scale=told["scale"], size=tuple(map(round, told["size"]))
    )
    marks = seen(replace(shown, explode=percent / 100), view)
    left, top, right, bottom = state["bounds"]
    places = [(int(x), int(y)) for x in np.linspace(left, right, 13) for y in np.linspace(top, bottom, 11)]
    inside = [(x, y) for x, y in places if 3 <= x < view.size[0] - 3 and 3 <= y < view.size[1] - 3]
    found = page.evaluate("all => all.map(([x, y]) => window.lapwright.viewer.partAt(x + 0.5, y + 0.5))", inside)
    compared = 0
    for (x, y), part in zip(inside, found, strict=True):
        around = {marks[y + dy, x + dx] for dx, dy in ((0, 0), (3, 3), (-3, 3), (3, -3), (-3, -3))}
        if len(around) == 1:
            assert part + 1 == around.pop(), (x, y)
            compared += part >= 0
    assert compared >= 25


def test_a_click_on_the_box_chooses_the_part(page):
    explode(page, 100)
    state = page.evaluate(STATE)
    stage = page.locator("#view").bounding_box()
    left, top, right, bottom = state["bounds"]
    for x in np.linspace(left, right, 9):
        y = (top + bottom) / 2
        index = page.evaluate("([x, y]) => window.lapwright.viewer.partAt(x, y)", [x, y])
        page.mouse.click(stage["x"] + x, stage["y"] + y)
        assert page.evaluate(STATE)["chosen"] == index
        assert page.locator("#parts li.chosen").count() == (index >= 0)


def test_what_a_screen_reader_is_told_are_the_parts_and_the_steps(page):
    """From the browser's own tree of names and roles, in the order in which it is read."""
    tree = page.locator("body").aria_snapshot().replace("''", "'")  # as YAML has an apostrophe
    told = re.findall(r"""^\s*- '?(\w+) "((?:[^"\\]|\\.)*)\"""", tree, re.MULTILINE)
    design = read_design("frost_watch")
    shown = scene(box_arrays(build(design)), None, gap_scale_of(design), 1.0)
    titles = [part.title for part in shown.parts]
    listed = told[: told.index(("heading", "Making, step by step"))]
    buttons = [name for role, name in listed if role == "button"]
    assert [name for name in buttons if name in titles] == titles
    ticks = [name for role, name in told if role == "checkbox"]
    assert [name for name in ticks if name.startswith("Show ")] == [f"Show {title}" for title in titles]
    headings = [name for role, name in told if role == "heading"]
    assert [h for h in headings if re.match(r"Step \d+ ", h)] == [f"Step {s.number} {s.action}" for s in order().steps]


def luminance(colour):
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (v / 255 for v in colour)]
    return float(np.dot([0.2126, 0.7152, 0.0722], linear))


class Shot:
    """The page as it is seen, in pixels, taken anew where an element was scrolled to."""

    def __init__(self, page):
        self.page, self.pixels = page, None

    def of(self, element):
        before = element.bounding_box()
        element.scroll_into_view_if_needed()
        box = element.bounding_box()
        if self.pixels is None or box != before:
            self.pixels = np.asarray(Image.open(io.BytesIO(self.page.screenshot())).convert("RGB"))
        left, top = floor(box["x"]), floor(box["y"])
        right, bottom = ceil(box["x"] + box["width"]), ceil(box["y"] + box["height"])
        assert 0 <= left < right <= self.pixels.shape[1] + 1  # half a pixel may lie beyond the edge
        assert 0 <= top < bottom <= self.pixels.shape[0] + 1
        return self.pixels[top:bottom, left:right].reshape(-1, 3)


@pytest.mark.parametrize("step", ["", "#step-20"])
def test_axe_finds_nothing_and_what_it_leaves_open_is_measured(browser, files, step):
    """WCAG 2.2, A and AA. Contrast that axe can't decide is taken from the pixels round the letters."""
    page = opened(browser, files / "pupil.html", bypass_csp=True)
    shot = Shot(page)
    if step:
        page.goto((files / "pupil.html").as_uri() + step)
        page.wait_for_function("document.querySelector('.step.current')")
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    asked = {"runOnly": {"type": "tag", "values": tags}, "resultTypes": ["violations", "incomplete"]}
    found = Axe().run(page, options=asked).response
    assert [(v["id"], [node["html"][:200] for node in v["nodes"]]) for v in found["violations"]] == []
    undecided = [
        node["target"][0] for one in found["incomplete"] if one["id"] == "color-contrast" for node in one["nodes"]
    ]
    for target in undecided[:40]:
        element = page.locator(target).first
        if not element.is_visible():
            continue
        ink = [int(v) for v in re.findall(r"\d+", element.evaluate("one => getComputedStyle(one).color"))[:3]]
        ground = Counter(map(tuple, shot.of(element).tolist())).most_common(1)[0][0]
        light, dark = sorted((luminance(ink), luminance(ground)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, target
    assert not [one["id"] for one in found["incomplete"] if one["id"] != "color-contrast"]
    page.context.close()


def test_it_prints_on_one_page_of_a4_with_every_name(page):
    (sheet,) = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages
    width, height = (float(side) * 25.4 / 72 for side in sheet.mediabox[2:])
    assert (width, height) == pytest.approx((210, 297), abs=0.5)
    text = re.sub(r"\s+", " ", sheet.extract_text())
    design = read_design("frost_watch")
    for part in scene(box_arrays(build(design)), None, gap_scale_of(design), 1.0).parts:
        assert part.title in text
        assert part.sizes[0] in text
    assert "2 lid screws" in text  # a label, which the list does not have


def test_without_scripts_every_step_has_its_drawing_and_its_words(browser, files):
    page = opened(browser, files / "pupil.html", java_script_enabled=False)
    assert page.locator("#still svg").first.is_visible()
    assert not page.locator("#controls").is_visible()
    for step in order().steps[::12]:
        entry = page.locator(f"#step-{step.number}")
        assert step.action in entry.text_content()
        assert entry.locator("svg").is_visible()
    assert page.locator(".step .step-still svg:visible").count() == len(order().steps)
    page.context.close()


def test_without_3d_drawings_stand_in(playwright, files):
    launched = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-3d-apis"])
    page = opened(launched, files / "pupil.html")
    assert page.evaluate("document.documentElement.className").split() == ["scripted", "no-webgl"]
    assert page.locator("#still svg").first.is_visible()
    assert not page.locator("#apart").is_visible()
    page.locator("#next").click()
    assert page.locator("#step-still svg").is_visible()
    assert page.locator("#step-still svg").get_attribute("aria-label") == "Drawing of step 1"
    assert page.said == [] or all("WebGL" in said for said in page.said)
    launched.close()


def test_narrow_and_enlarged_pages_need_no_sideways_scrolling(browser, files):
    """320 CSS pixels, which is 1280 at 400 % as well; and 200 % of a laptop's screen."""
    for size in ((320, 640), (683, 384)):
        page = opened(browser, files / "hostile.html", size)
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        page.context.close()


def test_a_hostile_name_stays_text_in_the_browser(browser, files):
    page = opened(browser, files / "hostile.html")
    assert page.title() == f"{HOSTILE}: parts and making"
    assert page.locator("h1").text_content() == HOSTILE
    assert page.locator("img").count() == 0
    assert page.said == []
    assert page.asked == [(files / "hostile.html").as_uri()]
    page.context.close()


def test_with_less_motion_asked_for_a_turn_is_at_once(browser, files):
    page = opened(browser, files / "pupil.html", reduced_motion="reduce")
    first = page.evaluate(STATE)["direction"][0]
    page.locator("#turn-right").click()
    assert abs(page.evaluate(STATE)["direction"][0] - first) == pytest.approx(15)
    page.context.close()


def test_a_trade_word_is_explained_and_put_away_by_keyboard(page):
    page.locator("#next").click()
    term = page.locator(".step.current a.term").first
    meaning = page.locator(f"{term.get_attribute('href')} + dd").text_content()
    term.focus()
    page.keyboard.press("Enter")
    assert meaning in page.locator(".step.current .meaning").text_content()
    page.keyboard.press("Escape")
    assert page.locator(".meaning").count() == 0
    page.locator("#show-box").click()


def test_touch_turns_and_pinch_enlarges(browser, files):
    page = opened(browser, files / "pupil.html", (390, 844), has_touch=True, is_mobile=True)
    page.evaluate(STATE)
    stage = page.locator("#view").bounding_box()
    x, y = stage["x"] + stage["width"] / 2, stage["y"] + stage["height"] / 2
    session = page.context.new_cdp_session(page)

    def touch(kind, *points):
        found = [{"x": px, "y": py, "id": i} for i, (px, py) in enumerate(points)]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": found})

    before = page.evaluate(STATE)
    touch("touchStart", (x, y))
    for step in range(1, 6):
        touch("touchMove", (x + 12 * step, y))
    touch("touchEnd")
    turned = page.evaluate(STATE)
    assert abs(turned["direction"][0] - before["direction"][0]) > 5
    touch("touchStart", (x - 20, y), (x + 20, y))
    for step in range(1, 6):
        touch("touchMove", (x - 20 - 10 * step, y), (x + 20 + 10 * step, y))
    touch("touchEnd")
    assert page.evaluate(STATE)["zoom"] > 1.5
    page.context.close()
