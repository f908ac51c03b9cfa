import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import test from "node:test";
import { check, LEFT_OUT, three } from "../three_left_out.mjs";

const text = (path) => readFileSync(join(three, "src", path), "utf8");
const entry = LEFT_OUT.find(({ as }) => as === "shadowMap");
const see = "; see three_left_out.mjs";
const path = "three.js no longer fits: src/renderers/webgl/WebGLShadowMap.js";

test("three.js as it is installed fits", () => {
  const used = text("renderers/WebGLRenderer.js") + text("renderers/webgl/WebGLBackground.js");
  for (const one of LEFT_OUT) check(one, text, used);
});

test("a member that what replaces a file does not have stops the build", () => {
  assert.throws(() => check(entry, text, "if ( shadowMap.enabled ) shadowMap.warm();"), {
    message: `${path} is asked for warm, which what replaces it does not have${see}`,
  });
  assert.throws(() => check(entry, text, "shadows.render()"), {
    message: `${path} is no longer called shadowMap by the renderer${see}`,
  });
});

test("other exports, or none, stop the build", () => {
  assert.throws(() => check(entry, () => "export { WebGLShadowMap, Cascade };", ""), {
    message: `${path} exports Cascade, WebGLShadowMap, what replaces it WebGLShadowMap${see}`,
  });
  const gone = () => {
    throw new Error("no such file");
  };
  assert.throws(() => check(entry, gone, ""), { message: `${path} is not there${see}` });
});
