// Builds ../static/editor.js and its list of licences from npm packages:
//   npm install && node build.mjs
import { build } from "esbuild";
import { existsSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

const made = await build({
  entryPoints: ["editor.js"], outfile: "../static/editor.js", bundle: true, minify: true,
  format: "iife", target: "es2020", legalComments: "none", charset: "utf8", metafile: true,
});
const packages = new Set();
for (const path of Object.keys(made.metafile.inputs)) {
  const found = path.match(/node_modules\/((?:@[^/]+\/)?[^/]+)\//);
  if (found) packages.add(found[1]);
}
const told = ["The editor (editor.js) is bundled from these packages, each under its licence.\n"];
for (const name of [...packages].sort()) {
  const folder = join("node_modules", name);
  const facts = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const file = readdirSync(folder).find((n) => /^licen[cs]e/i.test(n));
  const text = file && existsSync(join(folder, file)) ? readFileSync(join(folder, file), "utf8") : "";
  told.push(`\n${"=".repeat(78)}\n${name} ${facts.version}: ${facts.license}\n\n${text.trim()}\n`);
}
writeFileSync("../static/editor-licences.txt", told.join(""));
