import assert from "node:assert/strict";
import test from "node:test";
import { cornersOf, lit, shares, tint } from "../src/shading.ts";
import { close } from "./random.mjs";

// The lights of viewer/scene/tints.py, and what it makes of faces, printed by it.
const unit = ([x, y, z]) => [x, y, z].map((value) => value / Math.hypot(x, y, z));
const LIGHTS = {
  ambient: 0.56,
  sun: [[unit([0.1, -0.42, 0.9]), 0.43], [unit([-0.55, -0.8, 0.24]), 0.12], [unit([0.95, 0.2, 0.24]), 0.145]],
};
const FACES = { // three corners, anticlockwise seen from outside; seen from the right, from the left
  up: [[0, 0, 0, 3, 0, 0, 0, 2, 0], 1.0112953067187718, 1.0112953067187718],
  front: [[0, 0, 0, 3, 0, 0, 0, 0, 2], 0.8369211607174394, 0.8369211607174394],
  right: [[0, 0, 0, 0, 3, 0, 0, 0, 2], 0.7408207226254409, 0.6259967002474794],
  sloping: [[0, 0, 0, 4, 0, -3, 0, 5, 0], 1.006489830863889, 0.9069490916537609], // normal 0.6, 0, 0.8
};

test("faces are lit as in the pictures, from either side", () => {
  for (const [name, [corners, right, left]] of Object.entries(FACES)) {
    for (const [side, wanted] of [[1, right], [-1, left]]) {
      assert.ok(close([...shares(Float32Array.from(corners), LIGHTS, side)], [wanted], 1e-6), `${name} ${side}`);
    }
  }
});

test("a tint is that share of the colour, no more than full, at all three corners", () => {
  const [red, green, blue] = tint("#cc9900");
  assert.ok(close([red, green, blue], [0.8, 0.6, 0]));
  assert.ok(close([...lit(Float32Array.of(0.5, 1.5), [0.8, 0.6, 0])], [
    0.4, 0.3, 0, 0.4, 0.3, 0, 0.4, 0.3, 0, 1, 0.9, 0, 1, 0.9, 0, 1, 0.9, 0,
  ], 1e-6));
});

test("each triangle has its own corners", () => {
  const points = Float32Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0, 5, 6, 7);
  assert.deepEqual([...cornersOf({ points, triangles: Uint16Array.of(3, 0, 2) })], [5, 6, 7, 0, 0, 0, 0, 1, 0]);
});
