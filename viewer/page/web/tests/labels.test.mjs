import assert from "node:assert/strict";
import test from "node:test";
import { arranged, cross, distance, layOut, spread, strain } from "../src/labels.ts";
import { close, random } from "./random.mjs";

const COLUMNS = { left: 100, right: 500, top: 10, bottom: 390, gap: 4 };

function someLabels(draw) {
  const count = Math.floor(13 * draw());
  const anchors = Array.from({ length: count }, () => [110 + 380 * draw(), 20 + 360 * draw()]);
  const heights = Array.from({ length: count }, () => 15 + 40 * draw());
  return { anchors, heights };
}

function rightNow({ onRight, middles, ports }, anchors, heights) {
  middles.forEach((middle, i) => {
    assert.ok(middle - heights[i] / 2 >= COLUMNS.top - 1e-6 && middle + heights[i] / 2 <= COLUMNS.bottom + 1e-6);
    assert.deepEqual(ports[i], [onRight[i] ? COLUMNS.right : COLUMNS.left, middle]);
    for (let j = 0; j < i; j++) {
      const apart = Math.abs(middle - middles[j]) - (heights[i] + heights[j]) / 2;
      assert.ok(onRight[i] !== onRight[j] || apart >= COLUMNS.gap - 1e-6, `labels ${i} and ${j} are ${apart} apart`);
      assert.ok(!cross(ports[i], anchors[i], ports[j], anchors[j]), `leaders ${i} and ${j} cross`);
    }
  });
}

test("labels stay in their columns and apart, and leaders do not cross", () => {
  const draw = random(2);
  let placed = 0;
  for (let turn = 0; turn < 3000; turn++) {
    const { anchors, heights } = someLabels(draw);
    const layout = layOut(anchors, heights, COLUMNS);
    if (!layout) continue;
    placed += 1;
    rightNow(layout, anchors, heights);
  }
  assert.ok(placed > 2500, `only ${placed} of 3000 were placed`);
});

test("with places to choose from that still holds, and less is wrong than at first", () => {
  const draw = random(3);
  let [before, after] = [0, 0];
  for (let turn = 0; turn < 300; turn++) {
    const { anchors, heights } = someLabels(draw);
    const places = anchors.map(([x, y]) => [[x, y], [x, y + 9 * draw()], [x - 9 * draw(), y], [x + 9 * draw(), y]]);
    const found = arranged(places, heights, COLUMNS, 7);
    const first = layOut(anchors, heights, COLUMNS);
    assert.equal(found === null, first === null);
    if (!found || !first) continue;
    rightNow(found.layout, found.anchors, heights);
    found.anchors.forEach((anchor, i) => assert.ok(places[i].includes(anchor)));
    before += strain(first, anchors, 7);
    after += strain(found.layout, found.anchors, 7);
  }
  assert.ok(after < 0.7 * before, `${after} of ${before}`);
});

test("the layout is that of viewer/picture/labels.py, printed by it", () => {
  const anchors = [[150, 50], [160, 60], [420, 55], [300, 200], [310, 210], [480, 300]];
  const { onRight, middles } = layOut(anchors, [30, 40, 30, 30, 50, 20], COLUMNS);
  assert.deepEqual(onRight, [false, false, true, false, true, true]);
  assert.ok(close(middles, [35.5, 74.5, 55, 200, 210, 300]), String(middles));
  assert.ok(close(spread([20, 25, 30, 300, 380], [30, 40, 20, 50, 60], COLUMNS), [25, 64, 98, 300, 360]));
});

test("labels that are too high for two columns are not placed", () => {
  assert.equal(layOut([[200, 50], [300, 60], [400, 70]], [200, 200, 200], COLUMNS), null);
  assert.notEqual(layOut([[200, 50], [300, 60], [400, 70]], [188, 188, 188], COLUMNS), null);
  assert.equal(arranged([[[200, 50]]], [381], COLUMNS, 7), null);
});

test("lines cross, touch or miss each other", () => {
  assert.equal(cross([0, 0], [4, 4], [0, 4], [4, 0]), true);
  assert.equal(cross([0, 0], [4, 4], [4, 4], [8, 0]), false);
  assert.equal(cross([0, 0], [4, 4], [3, 0], [8, 4]), false);
  assert.equal(distance([3, 4], [0, 0], [10, 0]), 4);
  assert.equal(distance([13, 4], [0, 0], [10, 0]), 5); // 3, 4, 5 beyond the end
});
