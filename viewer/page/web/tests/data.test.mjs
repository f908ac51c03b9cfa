import assert from "node:assert/strict";
import test from "node:test";
import { zlibSync } from "fflate";
import { Arrays, unpacked } from "../src/data.ts";
import { close } from "./random.mjs";

const blob = Buffer.from([
  0, 0, 0, 0, 0, 0, // point 0
  0, 1, 10, 0, 0, 0, // point 1: 256, 10, 0, the low byte first
  1, 0, 0, 0, 2, 0, // point 2
  0, 0, 1, 0, 2, 0, // a triangle
  1, 0, 2, 0, // an edge
  0, 0, 0, 0, 0, 0, 100, 0, 0, 0, 0, 0, // a line
]);
const mesh = { low: [-1, 2, 3], step: 0.5, points: [0, 3], triangles: [18, 1], edges: [24, 1] };
const lines = { low: [1, 1, 1], step: 0.01, ends: [28, 1] };

test("a mesh's points are low + step * number, its triangles and edges name them", () => {
  const { points, triangles, ends } = new Arrays({ meshes: [mesh], lines: [], blob }).surface(0);
  assert.deepEqual([...points], [-1, 2, 3, 127, 7, 3, -0.5, 2, 4]);
  assert.deepEqual([...triangles], [0, 1, 2]);
  assert.deepEqual([...ends], [127, 7, 3, -0.5, 2, 4]);
});

test("lines have two ends each", () => {
  const ends = new Arrays({ meshes: [], lines: [lines], blob }).ends(0);
  assert.ok(close([...ends], [1, 1, 1, 2, 1, 1], 1e-6), String(ends));
});

test("what the page does not have is told", () => {
  const short = { ...mesh, edges: [24, 5] };
  const arrays = new Arrays({ meshes: [short], lines: [], blob });
  assert.throws(() => arrays.surface(0), { message: "array: ends at byte 44, the page has 40" });
  assert.throws(() => arrays.surface(1), { message: "mesh: got number 1, the page has 1" });
  assert.throws(() => arrays.ends(0), { message: "lines: got number 0, the page has 0" });
});

test("packed data are the JSON and the blob that went in, wherever the blob begins", () => {
  for (const key of ["", "a", "ab", "a longer one, × and ⌀"]) {
    const words = Buffer.from(JSON.stringify({ key, meshes: [mesh], lines: [lines] }));
    const length = Buffer.alloc(4);
    length.writeUInt32LE(words.length);
    const found = unpacked(Buffer.from(zlibSync(Buffer.concat([length, words, blob]))).toString("base64"));
    assert.equal(found.key, key);
    assert.deepEqual([...found.blob], [...blob]);
    assert.deepEqual([...new Arrays(found).surface(0).triangles], [0, 1, 2]);
  }
});
