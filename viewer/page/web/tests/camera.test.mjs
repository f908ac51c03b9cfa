import assert from "node:assert/strict";
import test from "node:test";
import {
  allowed, axesOf, boundsIn, draggedBy, fitted, nothing, seenAt, UNZOOMED, widen, zoomed, zoomedAt,
} from "../src/camera.ts";
import { close, random } from "./random.mjs";

// Directions, views and pixels as viewer/scene/camera.py has them, printed by it.
const POINTS = [[-80, -45, 0], [80, -45, 0], [80, 45, 0], [-80, 45, 0], [-80, -45, 54], [60, 30, 70]];
const AXES = [
  [[33, 32], [
    [0.838670567945424, 0.5446390350150271, 0],
    [-0.2886147167078459, 0.4444276902996832, 0.848048096156426],
    [0.4618800967369667, -0.7112329784485454, 0.5299192642332049],
  ]],
  [[-120, -10], [
    [-0.4999999999999998, -0.8660254037844387, 0],
    [-0.1503837331804353, 0.08682408883346512, 0.984807753012208],
    [-0.8528685319524433, 0.4924038765061038, -0.17364817766693033],
  ]],
  [[24, 90], [[0.9135454576426009, 0.4067366430758002, 0], [-0.4067366430758002, 0.9135454576426009, 0], [0, 0, 1]]],
];
const FITTED = [
  {
    direction: [33, 32], room: [120, 10, 500, 390], scale: 2.074181416951716,
    focus: [2.2697149573195707, 5.357008464912768, 5.21163337214798],
    pixels: [[120, 206.33769086732232], [448.263699379845, 97.88002400400603]],
  },
  {
    direction: [-120, -10], room: [20, 40, 300, 360], scale: 1.7727994604066037,
    focus: [-48.6288391646553, -76.1390083723873, 22.936398449606934],
    pixels: [[300, 226.88736637340375], [60.75733513197804, 130.45660146080326]],
  },
  {
    direction: [10, 60], room: [30, 90, 630, 380], scale: 2.8438952210076245,
    focus: [-3.973273962313421, 2.283968987813045, 20.67649492975167],
    pixels: [[83.72211999062097, 311.5719071825399], [512.8565204222705, 90]],
  },
];

function extentOf(points, direction) {
  const extent = nothing();
  widen(extent, points.flat(), axesOf(direction));
  return extent;
}

test("axes of directions", () => {
  for (const [direction, [right, up, towards]] of AXES) {
    const axes = axesOf(direction);
    assert.ok(close(axes.right, right) && close(axes.up, up) && close(axes.towards, towards), String(direction));
  }
});

test("a fitted view, and where it shows points", () => {
  for (const { direction, room, scale, focus, pixels } of FITTED) {
    const view = fitted(extentOf(POINTS, direction), direction, [640, 400], room);
    assert.ok(close([view.scale], [scale]));
    assert.ok(close(view.focus, focus), String(view.focus));
    assert.ok(close(seenAt(view, POINTS[0]), pixels[0]) && close(seenAt(view, POINTS[5]), pixels[1]));
    const [x, y] = [0, 1].map((k) => POINTS.map((point) => seenAt(view, point)[k]));
    const around = [Math.min(...x), Math.min(...y), Math.max(...x), Math.max(...y)];
    assert.ok(close(boundsIn(view, extentOf(POINTS, direction)), around), String(around));
  }
});

test("moved points reach as far as points that stand there", () => {
  const [direction, by] = [[33, 32], [3, -7, 20]];
  const moved = nothing();
  widen(moved, POINTS.flat(), axesOf(direction), by);
  const there = extentOf(POINTS.map((point) => point.map((value, k) => value + by[k])), direction);
  assert.ok(close(moved.low, there.low) && close(moved.high, there.high));
});

test("directions go round, and up from -10 to 90", () => {
  assert.deepEqual(allowed([190, 95]), [-170, 90]);
  assert.deepEqual(allowed([-180, -40]), [180, -10]);
  assert.deepEqual(allowed([725, 12]), [5, 12]);
});

test("a zoom keeps what is under the pointer, from 1 to 12 times, and a drag moves it", () => {
  const draw = random(1);
  for (let turn = 0; turn < 300; turn++) {
    const direction = [360 * draw() - 180, 100 * draw() - 10];
    const view = fitted(extentOf(POINTS, direction), direction, [640, 400], [20, 20, 600, 380]);
    const place = [640 * draw(), 400 * draw()];
    const first = zoomedAt(UNZOOMED, 1.5 + 3 * draw(), [640 * draw(), 400 * draw()], view);
    const { right, up } = axesOf(direction);
    const before = zoomed(view, first);
    const off = [(place[0] - 320) / before.scale, (200 - place[1]) / before.scale];
    const under = before.focus.map((value, k) => value + off[0] * right[k] + off[1] * up[k]);
    const second = zoomedAt(first, 1.2 + draw(), place, view);
    assert.ok(close(seenAt(zoomed(view, second), under), place, 1e-6));
    const dragged = zoomed(view, draggedBy(second, [30, -12], view));
    assert.ok(close(seenAt(dragged, under), [place[0] + 30, place[1] - 12], 1e-6));
    assert.equal(zoomedAt(second, 100, place, view).times, 12);
    assert.deepEqual(zoomedAt(second, 0.01, place, view), UNZOOMED);
    assert.equal(draggedBy(UNZOOMED, [30, -12], view), UNZOOMED);
  }
});
