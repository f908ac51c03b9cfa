// What of three.js stays out of the bundle, each with its reason, and the checks that three.js still fits.
//
// The page draws with `RawShaderMaterial` alone, which brings its whole shader; nothing else of three.js' shaders, and
// none of its lights, shadows or environments, is ever reached. Each file here is replaced by one with the same
// exports and with the members that the renderer touches. Where three.js moves a file, renames an export or touches
// another member, the build stops: look at the file again, then amend its entry.

import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

export const three = join(dirname(fileURLToPath(import.meta.url)), "node_modules", "three");
const source = join(three, "src");

/**
 * path: of the file in three's src; reason: why it is never reached; contents: what stands in its place;
 * as: what the renderer calls it; members: what it has of what is touched; guarded: what is touched in a branch that
 * is not taken, with the condition.
 */
export const LEFT_OUT = [
  {
    path: "renderers/shaders/ShaderChunk.js",
    reason: "pieces of shaders, put in for #include; ours include none",
    contents: "export const ShaderChunk = {};",
  },
  {
    path: "renderers/shaders/ShaderLib.js",
    reason: "shaders of three's own materials and backgrounds; we use neither",
    contents: "export const ShaderLib = {};",
  },
  {
    path: "extras/PMREMGenerator.js",
    reason: "blurs environment maps; there are none",
    contents: "export class PMREMGenerator {}",
  },
  {
    path: "renderers/WebGLCubeRenderTarget.js",
    reason: "environment maps and shadows of lamps; there are none",
    contents: "export class WebGLCubeRenderTarget {}",
  },
  {
    path: "renderers/shaders/DFGLUTData.js",
    reason: "a table for lit materials; faces are lit beforehand",
    contents: "export const getDFGLUT = () => null;",
  },
  {
    path: "renderers/webgl/WebGLOutput.js",
    reason: "effects after drawing; only made for another type of output buffer than bytes",
    contents: "export class WebGLOutput {}",
    as: "output",
    members: [],
    guarded: { "output is null": ["setSize", "setEffects", "begin", "end", "hasRenderPass", "isCompositing"] },
  },
  {
    path: "renderers/webgl/WebGLShadowMap.js",
    reason: "shadows; there are no lights",
    contents: `export class WebGLShadowMap {
      constructor() { this.enabled = false; this.autoUpdate = false; this.needsUpdate = false; this.type = 0; }
      render() {}
    }`,
    as: "shadowMap",
    members: ["enabled", "autoUpdate", "needsUpdate", "type", "render"],
    guarded: {},
  },
  {
    path: "renderers/webxr/WebXRManager.js",
    reason: "headsets; the page draws on its canvas only",
    contents: `import { EventDispatcher } from "../../core/EventDispatcher.js";
    export class WebXRManager extends EventDispatcher {
      constructor() { super(); this.enabled = false; this.isPresenting = false; this.cameraAutoUpdate = false; }
      setAnimationLoop() {}
      getEnvironmentBlendMode() {}
      dispose() {}
    }`,
    as: "xr",
    members: [
      "enabled", "isPresenting", "cameraAutoUpdate", "setAnimationLoop", "dispose", "addEventListener",
      "removeEventListener",
      "getEnvironmentBlendMode",
    ],
    guarded: {
      "xr.enabled or xr.isPresenting": [
        "updateCamera", "getCamera", "hasDepthSensing", "getDepthSensingMesh",
      ],
    },
  },
];

const renderer = () => {
  const folder = join(source, "renderers/webgl");
  const files = readdirSync(folder).filter((name) => name.endsWith(".js")).map((name) => join(folder, name));
  return [join(source, "renderers/WebGLRenderer.js"), ...files].map((path) => readFileSync(path, "utf8")).join("\n");
};

const exportsOf = (text) => {
  const named = [...text.matchAll(/^\s*export\s*\{([^}]*)\}/gm)].flatMap((found) => found[1].split(","));
  const direct = [...text.matchAll(/^\s*export\s+(?:const|class|function)\s+(\w+)/gm)].map((found) => found[1]);
  return [...named, ...direct].map((name) => name.trim()).filter(Boolean).sort().join(", ");
};

const fault = ({ path }, words) => new Error(`three.js no longer fits: src/${path} ${words}; see three_left_out.mjs`);

/** Stop where an entry no longer fits three.js. `text` reads a file of three's src; `used` is the renderer's source. */
export function check(entry, text, used) {
  let original;
  try {
    original = text(entry.path);
  } catch {
    throw fault(entry, "is not there");
  }
  const [theirs, ours] = [exportsOf(original), exportsOf(entry.contents)];
  if (theirs !== ours) throw fault(entry, `exports ${theirs || "nothing"}, what replaces it ${ours}`);
  if (!entry.as) return;
  const touched = [...used.matchAll(new RegExp(`(?<![.\\w])(?:_this\\.|renderer\\.)?${entry.as}\\.(\\w+)`, "g"))];
  const known = new Set([...entry.members, ...Object.values(entry.guarded).flat()]);
  const names = new Set(touched.map((found) => found[1]));
  if (!names.size) throw fault(entry, `is no longer called ${entry.as} by the renderer`);
  const unknown = [...names].filter((name) => !known.has(name));
  if (unknown.length) throw fault(entry, `is asked for ${unknown.join(", ")}, which what replaces it does not have`);
}

/** An esbuild plugin: three.js from its single modules, without what is left out. */
export const withoutUnused = {
  name: "three without what is never reached",
  setup(build) {
    const used = renderer();
    for (const entry of LEFT_OUT) check(entry, (path) => readFileSync(join(source, path), "utf8"), used);
    const met = new Set();
    const places = new Map(LEFT_OUT.map((entry) => [resolve(source, entry.path), entry]));
    build.onResolve({ filter: /^three$/ }, () => ({ path: join(source, "Three.js"), sideEffects: false }));
    build.onLoad({ filter: /three[\\/]src[\\/].*\.js$/ }, ({ path }) => {
      const entry = places.get(path);
      if (!entry) return null;
      met.add(entry);
      return { contents: entry.contents, loader: "js", resolveDir: dirname(path) };
    });
    build.onEnd((result) => {
      const unmet = LEFT_OUT.filter((entry) => !met.has(entry));
      if (unmet.length && !result.errors.length) throw fault(unmet[0], "is imported by nothing");
    });
  },
};
