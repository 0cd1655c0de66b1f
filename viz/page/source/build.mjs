// Writes page.js, live.js, page.css and the licence of three into ../bundle, or into the folder
// named as the only argument (CI builds into a temporary one and compares).
import { build } from "esbuild";
import { copyFile, mkdir } from "node:fs/promises";

const out = process.argv[2] ?? new URL("../bundle", import.meta.url).pathname;
await mkdir(out, { recursive: true });
await build({
  entryPoints: { page: "src/main.js", live: "src/live.js" },
  outdir: out,
  bundle: true,
  minify: true,
  treeShaking: true,
  format: "iife",
  // ES2022 is what every browser with WebGL 2 and DecompressionStream speaks
  target: "es2022",
  charset: "utf8",
  legalComments: "none", // the licence goes beside the bundle, and into the page, once
});
for (const name of ["page", "compare"]) {
  await build({ entryPoints: [`src/${name}.css`], outfile: `${out}/${name}.css`, minify: true, target: "es2022" });
}
await copyFile(new URL("node_modules/three/LICENSE", import.meta.url), `${out}/LICENSE-three.txt`);
