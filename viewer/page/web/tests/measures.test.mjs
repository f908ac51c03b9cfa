import assert from "node:assert/strict";
import test from "node:test";
import { drawnHoles, drawnMeasures, free, heads, passes } from "../src/measures.ts";
import { close, random } from "./random.mjs";

const FRONT = { direction: [0, 0], focus: [0, 0, 0], scale: 2, size: [600, 400] }; // x to the right, z up
const ROOM = { room: [0, 0, 600, 400], boxes: [], leaders: [] };

test("a line passes through a box where one of many of its points is inside", () => {
  const draw = random(4);
  const box = [40, 30, 70, 60];
  let passed = 0;
  for (let turn = 0; turn < 2000; turn++) {
    const [from, to] = [[100 * draw(), 100 * draw()], [100 * draw(), 100 * draw()]];
    const inside = Array.from({ length: 4001 }, (_, i) => i / 4000).filter((share) => {
      const [x, y] = [0, 1].map((k) => from[k] + share * (to[k] - from[k]));
      return box[0] < x && x < box[2] && box[1] < y && y < box[3];
    }).length;
    passed += inside > 0;
    assert.equal(passes([from, to], box), inside > 0);
  }
  assert.ok(passed > 300);
  assert.equal(passes([[40, 0], [40, 100]], box), false); // along its side
});

test("a size stands 1.1 ems off the part, with arrows from end to end", () => {
  const measure = { text: "60", from: [-30, 0, 0], to: [30, 0, 0], away: [0, 0, -1] };
  const [drawn] = drawnMeasures([measure], [[24, 12]], FRONT, ROOM, 10);
  assert.deepEqual(drawn.line, [[240, 211], [360, 211]]);
  assert.ok(close(drawn.box, [288, 205, 312, 217]));
  assert.deepEqual(drawn.ticks, [[[240, 200], [240, 214]], [[360, 200], [360, 214]]]);
  const [left, right] = heads(drawn.line, 10);
  assert.ok(close(left.flat(), [240, 211, 244.5, 212.44, 244.5, 209.56]), String(left));
  assert.ok(close(right.flat(), [360, 211, 355.5, 212.44, 355.5, 209.56]), String(right));
  // 100 long with slope 3 to 4: 4.5 back is 3.6 and 2.7, 1.44 aside is 0.864 and 1.152
  const [slanted] = heads([[0, 0], [80, 60]], 10);
  assert.ok(close(slanted.flat(), [0, 0, 2.736, 3.852, 4.464, 1.548]), String(slanted));
});

test("a short size has its arrows outside and its figure beyond", () => {
  const measure = { text: "3", from: [0, 0, 0], to: [3, 0, 0], away: [0, 0, 1] };
  const [drawn] = drawnMeasures([measure], [[12, 12]], FRONT, ROOM, 10);
  assert.ok(close(drawn.box, [297, 172.5, 309, 184.5]), String(drawn.box)); // over its middle
  const [left] = heads(drawn.line, 10);
  assert.ok(left[1][0] < 300 && left[2][0] < 300);
});

test("a name stands on its line, or beyond it where the line is too short", () => {
  const name = (to) => ({ text: "datum", from: [0, 0, 0], to, away: null });
  const [on] = drawnMeasures([name([50, 0, 0])], [[40, 12]], FRONT, ROOM, 10);
  assert.ok(close(on.box, [350, 194, 390, 206])); // at 0.7 of 100 pixels
  assert.equal(on.line, null);
  const [beyond] = drawnMeasures([name([15, 0, 0])], [[40, 12]], FRONT, ROOM, 10);
  assert.ok(close(beyond.box, [258, 194, 298, 206]), String(beyond.box)); // before its start, 0.2 ems off
});

test("figures keep clear of each other, of labels and of leaders, or are left out", () => {
  const draw = random(5);
  let [shown, all] = [0, 0];
  for (let turn = 0; turn < 300; turn++) {
    const place = () => [240 * draw() - 120, 0, 160 * draw() - 80];
    const away = [[0, 0, 1], [0, 0, -1], [1, 0, 0], null];
    const measure = (_, i) => ({ text: "12", from: place(), to: place(), away: away[i % 4] });
    const measures = Array.from({ length: 8 }, measure);
    const sizes = measures.map(() => [20 + 30 * draw(), 14]);
    const taken = { ...ROOM, boxes: [[500, 100, 590, 140], [10, 200, 90, 240]], leaders: [[[500, 120], [300, 180]]] };
    const found = drawnMeasures(measures, sizes, FRONT, taken, 12);
    found.forEach((one, i) => {
      const others = found.filter((_, j) => j !== i).map(({ box }) => box);
      assert.ok(free(one.box, { ...taken, boxes: [...taken.boxes, ...others] }, 0));
    });
    shown += found.length;
    all += measures.length;
  }
  assert.ok(shown > 0.8 * all && shown < all, `${shown} of ${all}`);
});

test("labels of holes keep clear of each other, of holes and of leaders, and lead to their own hole", () => {
  const draw = random(11);
  let labelled = 0;
  for (let turn = 0; turn < 300; turn++) {
    const holes = Array.from({ length: 1 + Math.floor(6 * draw()) }, () => {
      const [x, z, r] = [240 * (draw() - 0.5), 150 * (draw() - 0.5), 1 + 4 * draw()];
      const rim = Array.from({ length: 8 }, (_, i) => [x + r * Math.cos(0.785 * i), 0, z + r * Math.sin(0.785 * i)]);
      return { text: "8 through", rim };
    });
    const sizes = holes.map(() => [70, 16]);
    const blocked = { ...ROOM, boxes: [[280, 150, 330, 240]] };
    const found = drawnHoles(holes, sizes, FRONT, blocked, 14);
    labelled += found.length / holes.length;
    const seen = holes.map(({ rim }) => rim.map(([x, , z]) => [300 + 2 * x, 200 - 2 * z]));
    for (const { index, box, leader } of found) {
      assert.ok(free(box, { ...blocked, boxes: [] }, 0));
      const others = [...blocked.boxes, ...found.filter((one) => one.index !== index).map((one) => one.box)];
      assert.ok(others.every((one) => box[2] <= one[0] || one[2] <= box[0] || box[3] <= one[1] || one[3] <= box[1]));
      assert.ok(others.every((one) => !passes(leader, one)));
      assert.ok(seen.flat().every(([x, y]) => x <= box[0] || box[2] <= x || y <= box[1] || box[3] <= y));
      const [x, y] = leader[0];
      assert.ok(seen[index].some(([a, b]) => Math.hypot(a - x, b - y) < 1e-9));
      const [p, q] = leader[1];
      assert.ok(box[0] <= p && p <= box[2] && box[1] <= q && q <= box[3]);
    }
  }
  assert.ok(labelled > 285, String(labelled));
});
