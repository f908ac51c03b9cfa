// Builds ../built/page.js, the one script of the page, and the licences beside it; with --check it only compares.

import { build } from "esbuild";
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { three, withoutUnused } from "./three_left_out.mjs";

const here = dirname(fileURLToPath(import.meta.url));
const built = join(here, "..", "built");
const MOST = 420_000; // bytes; every page that a pupil opens carries the script

const result = await build({
  absWorkingDir: here,
  entryPoints: ["src/main.ts"],
  bundle: true,
  minify: true,
  format: "iife",
  target: "es2020",
  charset: "ascii",
  legalComments: "none", // the licence stands at the head, whole
  write: false,
  plugins: [withoutUnused],
});

const licences = [
  ["three.js", join(three, "LICENSE")],
  ["fflate", join(here, "node_modules", "fflate", "LICENSE")],
].map(([name, file]) => `With parts of ${name}, whose licence follows.\n\n${readFileSync(file, "utf8").trim()}\n`);
const licence = licences.join("\n");
const head = `/* ${licence}*/\n`;
const script = head + result.outputFiles[0].text;

if (script.includes("</script") || script.includes("<!--")) throw new Error("the script would end its own element");
if (/#include <\w+>/.test(script)) throw new Error("a shader of three.js is in the script; see three_left_out.mjs");
const bytes = Buffer.byteLength(script);
if (bytes > MOST) throw new Error(`the script has ${bytes} bytes, may have ${MOST}`);

for (const [name, text] of [["page.js", script], ["LICENCES.txt", licence]]) {
  const path = join(built, name);
  if (!process.argv.includes("--check")) {
    writeFileSync(path, text);
  } else if (!existsSync(path) || readFileSync(path, "utf8") !== text) {
    console.error(`viewer/page/built/${name} is not what viewer/page/web makes`);
    console.error("run `npm ci && npm run build` in viewer/page/web, and commit what changes in viewer/page/built");
    process.exitCode = 1;
  }
}
console.log(`page.js: ${bytes} bytes`);
