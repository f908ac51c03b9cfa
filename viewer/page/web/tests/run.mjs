// Runs all tests: each is bundled with the modules that it imports, as the page's script is, for Node's runner.

import { build } from "esbuild";
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { withoutUnused } from "../three_left_out.mjs";

const here = dirname(fileURLToPath(import.meta.url));
const names = readdirSync(here).filter((name) => name.endsWith(".test.mjs"));
const folder = mkdtempSync(join(tmpdir(), "lapwright-page-"));
try {
  await build({
    entryPoints: names.filter((name) => name !== "left_out.test.mjs").map((name) => join(here, name)),
    outdir: folder,
    outExtension: { ".js": ".mjs" },
    bundle: true,
    format: "esm",
    platform: "node",
    plugins: [{ ...withoutUnused, setup: (one) => withoutUnused.setup({ ...one, onEnd: () => {} }) }],
  });
  const bundled = readdirSync(folder).map((name) => join(folder, name));
  const files = [...bundled, join(here, "left_out.test.mjs")];
  const ran = spawnSync(process.execPath, ["--test", ...files], { stdio: "inherit" });
  process.exitCode = ran.status ?? 1;
} finally {
  rmSync(folder, { recursive: true });
}
