// Plans seasons in WebAssembly, apart from the native program, and compares byte for byte.
//
//   node tests/outside/wasm_check.mjs [--thawline target/release/thawline] [SEASON.yaml ...]
//
// - Each season (the demo's, where none is named), with all tables beside it, against `thawline plan --json`.
// - What is wrong is told alike: the season with a key it does not know, and the JSON that the native program prints.
// - A file that is not handed in is named in a finding or in the plan.
// It prints the size and the times. Where `scripts/build-wasm` could build nothing, that is told.

import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { gzipSync } from "node:zlib";
import { load } from "../../web/thawline.mjs";

const args = process.argv.slice(2);
const at = args.indexOf("--thawline");
const program = at < 0 ? "target/release/thawline" : args.splice(at, 2)[1];
const seasons = args.length ? args : ["demo/season.yaml"];
const file = "target/thawline.wasm";
if (!existsSync(file)) {
  console.log(`skipped: there is no ${file}; scripts/build-wasm makes it, and says why if it cannot`);
  process.exit(0);
}

const faults = [];
const bytes = readFileSync(file);
const mb = (n) => `${(n / 1e6).toFixed(2)} MB`;
let began = performance.now();
const thawline = await load(bytes);
console.log(`${file}: ${mb(bytes.length)}, ${mb(gzipSync(bytes, { level: 9 }).length)} by gzip -9, ready in ${Math.round(performance.now() - began)} ms`);

const native = (path) => {
  const ran = spawnSync(program, ["plan", path, "--json"], { encoding: "utf8", maxBuffer: 1 << 30 });
  if (ran.error || ran.status > 2) throw new Error(`${program} plan ${path}: ${ran.error ?? ran.stderr}`);
  return ran.stdout;
};

const beside = (path) =>
  Object.fromEntries(
    readdirSync(dirname(path) || ".")
      .filter((name) => name.endsWith(".csv"))
      .map((name) => [name, readFileSync(join(dirname(path) || ".", name), "utf8")]),
  );

// Line by line, where two texts part first.
const part = (a, b) => {
  const [x, y] = [a.split("\n"), b.split("\n")];
  const n = x.findIndex((line, k) => line !== y[k]);
  return n < 0 ? "one is longer" : `line ${n + 1}: ${x[n]} against ${y[n]}`;
};

const alike = (what, path, question) => {
  began = performance.now();
  const inside = thawline.plan(question);
  const took = Math.round(performance.now() - began);
  began = performance.now();
  const outside = native(path);
  console.log(`${what}: ${inside.length} bytes, ${took} ms in WebAssembly, ${Math.round(performance.now() - began)} ms by ${program}, memory ${mb(thawline.memoryBytes())}`);
  if (inside !== outside) faults.push(`${what}: WebAssembly and native differ, ${part(inside, outside)}`);
  return inside;
};

for (const path of seasons) {
  alike(path, path, { name: path, season: readFileSync(path, "utf8"), files: beside(path) });
}

// A key that no season has: both refuse it in the same words.
const folder = mkdtempSync(join(tmpdir(), "thawline-"));
try {
  const path = join(folder, "season.yaml");
  const season = readFileSync(seasons[0], "utf8") + "\nno_such_key: 1\n";
  writeFileSync(path, season);
  const told = JSON.parse(alike("a season that is refused", path, { name: path, season }));
  if (!(told.errors > 0)) faults.push("a season with a key that none has is not refused");
} finally {
  rmSync(folder, { recursive: true });
}

const demo = readFileSync("demo/season.yaml", "utf8");
const without = JSON.parse(thawline.plan({ name: "demo/season.yaml", season: demo }));
if (!without.findings.some((f) => JSON.stringify(f).includes("heifers.csv")))
  faults.push("a herd file that is not handed in is not named");

for (const fault of faults) console.error(`fault: ${fault}`);
if (faults.length) process.exit(1);
console.log("WebAssembly and the native program agree.");
