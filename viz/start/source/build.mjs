// Writes start.js, start.css and the licence of preact into ../bundle, or into the folder named as the only
// argument (a test builds into a temporary one and compares).
import { build } from "esbuild";
import { copyFile, mkdir } from "node:fs/promises";

const out = process.argv[2] ?? new URL("../bundle", import.meta.url).pathname;
await mkdir(out, { recursive: true });
await build({
  entryPoints: { start: "src/main.jsx" },
  outdir: out,
  bundle: true,
  minify: true,
  treeShaking: true,
  format: "iife",
  target: "es2022",
  charset: "utf8",
  jsx: "automatic",
  jsxImportSource: "preact",
  legalComments: "none", // the licence goes beside the bundle, and into the page, once
});
await build({ entryPoints: ["src/start.css"], outfile: `${out}/start.css`, minify: true, target: "es2022" });
await copyFile(new URL("node_modules/preact/LICENSE", import.meta.url), `${out}/LICENSE-preact.txt`);
