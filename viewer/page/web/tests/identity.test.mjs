import assert from "node:assert/strict";
import test from "node:test";
import { distances, placesOf } from "../src/identity.ts";
import { notesOf } from "../src/overlay.ts";
import { random } from "./random.mjs";

function marksOf(rows, step = 1) {
  return { width: rows[0].length, height: rows.length, at: Uint16Array.from(rows.join("").replace(/\./g, "0")), step };
}

test("how far a pixel is from another mark: 1 at the rim, and 4/3 for a diagonal step", () => {
  const found = distances(marksOf([".......", ".11111.", ".11111.", ".11111.", ".11111.", ".11111.", "......."]));
  assert.equal(found[3 * 7 + 3], 3);
  assert.equal(found[2 * 7 + 2], 2);
  assert.equal(found[1 * 7 + 1], 1);
  const diagonal = ["1111111", "1111111", "1111111", "1112111", "1111111", "1111111", "1111111"];
  const cut = distances(marksOf(diagonal));
  for (const pixel of [2 * 7 + 2, 2 * 7 + 4, 4 * 7 + 2, 4 * 7 + 4]) {
    assert.ok(Math.abs(cut[pixel] - 4 / 3) < 1e-6, `${pixel}: ${cut[pixel]}`); // over a corner from 2
  }
});

test("a leader ends in the middle of what is seen, at the right scale", () => {
  const places = placesOf(marksOf([".......", ".11111.", ".11111.", ".11111.", ".11111.", ".11111.", "....2.."], 3));
  assert.deepEqual(places.get(1)[0], { at: [10.5, 10.5], inside: 9 });
  assert.deepEqual(places.get(2), [{ at: [13.5, 19.5], inside: 3 }]);
  assert.equal(places.has(0), false);
});

test("leaders end on their own mark, the best place first, none at less than half of its distance to the rim", () => {
  const draw = random(6);
  for (let turn = 0; turn < 60; turn++) {
    const at = new Uint16Array(60 * 40);
    for (let mark = 1; mark < 6; mark++) {
      const [x, y, r] = [60 * draw(), 40 * draw(), 2 + 14 * draw()];
      at.forEach((_, i) => {
        if (Math.hypot((i % 60) - x, Math.floor(i / 60) - y) < r) at[i] = mark;
      });
    }
    const marks = { width: 60, height: 40, at, step: 2 };
    const [far, places] = [distances(marks), placesOf(marks)];
    assert.deepEqual([...places.keys()].sort(), [...new Set(at)].filter(Boolean).sort());
    for (const [mark, some] of places) {
      const best = Math.max(...[...at.keys()].filter((i) => at[i] === mark).map((i) => far[i]));
      assert.ok(Math.abs(some[0].inside - 2 * best) < 1e-5);
      for (const { at: [x, y], inside } of some) {
        assert.equal(at[Math.floor(y / 2) * 60 + Math.floor(x / 2)], mark);
        assert.ok(inside >= best && inside <= some[0].inside);
      }
    }
  }
});

test("parts of a kind share a label, numbers do not, and the worst joint has one that points at its patches", () => {
  const part = (number, kind) => ({ part: number, kind, label: [`2 ${kind}s`, "3 × 10 mm"] });
  const patches = [{ part: 0 }, { part: 1 }];
  const joint = (name, words, worst) => ({ name, words, worst, patches });
  const joints = [joint("a", "closed", false), joint("b", "open", true)];
  const subject = { parts: [part(4, "screw"), part(5, "lid"), part(7, "screw")], joints };
  const notes = notesOf(subject, false);
  assert.deepEqual(notes.map(({ marks }) => marks), [[1, 3], [2], [6, 7]]);
  assert.deepEqual(notes[0].lines, ["2 screws", "3\u00a0×\u00a010\u00a0mm"]);
  assert.deepEqual(notes[2].lines, ["b", "open"]);
  subject.parts[2].label = ["right screw", "3 × 10 mm"]; // a label that names one part does not point at another
  assert.deepEqual(notesOf(subject, false).map(({ marks }) => marks), [[1], [2], [6, 7]]);
  const numbers = notesOf(subject, true);
  assert.deepEqual(numbers.map(({ marks, lines }) => [marks, lines]), [[[1], ["5"]], [[2], ["6"]], [[3], ["8"]]]);
});
