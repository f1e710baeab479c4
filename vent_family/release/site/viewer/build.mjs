// Bundles viewer.mjs and what it uses of three into ../static/viewer.js, one classic script: pages
// opened from a disk may load neither modules nor data. `npm ci && npm run build` in this folder.

import { build } from "esbuild";
import { createHash } from "node:crypto";
import { copyFileSync, readFileSync } from "node:fs";

const own = createHash("sha256").update(readFileSync("viewer.mjs")).digest("hex");
const { version } = JSON.parse(readFileSync("node_modules/three/package.json", "utf8"));

await build({
  entryPoints: ["viewer.mjs"],
  outfile: "../static/viewer.js",
  bundle: true,
  minify: true,
  format: "iife",
  globalName: "ventViewer",
  legalComments: "eof",
  target: "es2022",
  charset: "ascii",
  // A test compares the hash: a changed source with an old bundle is noticed.
  banner: { js: `/* three ${version} (MIT, viewer-licence.txt) and viewer.mjs, SHA-256 ${own} */` },
});
copyFileSync("node_modules/three/LICENSE", "../static/viewer-licence.txt");
