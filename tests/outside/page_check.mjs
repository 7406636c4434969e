// Reads the program's pages as a browser and a validator do, apart from the program.
//
//   node page_check.mjs PLAN_DIR [WALL_SHEET.html] [--pictures DIR]
//
// - HTML: html-validate, its standard rules (which follow the WHATWG HTML standard).
// - Accessibility: axe-core in headless Chromium, WCAG 2.1 A and AA and best practice, on a phone, on a
//   desktop and at 200 % zoom (half the width, as WCAG 1.4.10 counts it), light and dark.
// - No console error, no request outside the file, nothing wider than the screen or the sheet.
// - Today and next: with the clock set to days of the plan, by plan.json and not by the page.
// - Keyboard: the first stop is the link that skips to the work; every drawing that scrolls can be reached.
// - Paper: Letter and A4, nothing wider than the sheet, no row, card or drawing cut by a page's end.

import { existsSync, mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import puppeteer from "puppeteer-core";

const require = createRequire(import.meta.url);
const AXE = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const args = process.argv.slice(2);
const at = args.indexOf("--pictures");
const pictures = at < 0 ? null : args.splice(at, 2)[1];
const [dir, wall] = args;
if (!dir) {
  console.error("usage: node page_check.mjs PLAN_DIR [WALL_SHEET.html] [--pictures DIR]");
  process.exit(2);
}
const page_file = resolve(join(dir, "season.html"));
const plan = JSON.parse(readFileSync(join(dir, "plan.json"), "utf8"));
if (pictures) mkdirSync(pictures, { recursive: true });

const faults = [];
let checks = 0;
const hold = (good, what) => {
  checks += 1;
  if (!good) faults.push(what);
};

const BROWSERS = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];
const executablePath = BROWSERS.find((b) => b && existsSync(b));
if (!executablePath) {
  console.error("no Chromium: set CHROMIUM to one");
  process.exit(3);
}

// The program writes void elements and quotes in one way; style is not what is asked here.
const validator = new HtmlValidate({ extends: ["html-validate:standard"] });
for (const file of [page_file, wall].filter(Boolean)) {
  const report = await validator.validateString(readFileSync(file, "utf8"));
  const messages = report.results.flatMap((r) => r.messages);
  hold(messages.length === 0, `${file}: ${messages.slice(0, 5).map((m) => `${m.line}:${m.column} ${m.ruleId} ${m.message}`).join("; ")}`);
}

const browser = await puppeteer.launch({ executablePath, args: ["--no-sandbox", "--disable-gpu"], protocolTimeout: 600_000 });

/// A tab that tells of errors and of whatever it asks for.
async function open(file, { width, height = 800, dark = false, now = null, media = null }) {
  const tab = await browser.newPage();
  const name = `${file.split("/").pop()} at ${width}${dark ? ", dark" : ""}${media ? `, ${media}` : ""}`;
  tab.on("console", (m) => ["error", "warn"].includes(m.type()) && faults.push(`${name}: console: ${m.text()}`));
  tab.on("pageerror", (e) => faults.push(`${name}: ${e}`));
  tab.on("request", (r) => r.url() !== pathToFileURL(file).href && faults.push(`${name}: asks for ${r.url()}`));
  await tab.setOfflineMode(true);
  await tab.setViewport({ width, height });
  await tab.emulateMediaFeatures([{ name: "prefers-color-scheme", value: dark ? "dark" : "light" }]);
  if (media) await tab.emulateMediaType(media);
  if (now) {
    await tab.evaluateOnNewDocument((moment) => {
      const Real = Date;
      globalThis.Date = class extends Real {
        constructor(...a) {
          super(...(a.length ? a : [moment]));
        }
      };
    }, now);
  }
  await tab.goto(pathToFileURL(file).href);
  return { tab, name };
}

const SCREENS = [
  { width: 320, dark: false }, // 640 at 200 %
  { width: 390, dark: false },
  { width: 390, dark: true },
  { width: 1280, dark: false },
  { width: 1280, dark: true },
];
for (const file of [page_file, wall && resolve(wall)].filter(Boolean)) {
  for (const screen of SCREENS) {
    const { tab, name } = await open(file, { ...screen, now: "2027-05-17T15:00:00Z" });
    const wide = await tab.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    hold(wide <= 0, `${name}: ${wide} px wider than the screen`);
    await tab.evaluate(AXE);
    const found = await tab.evaluate(() =>
      globalThis.axe.run(document, {
        runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"],
      }),
    );
    hold(found.passes.length > 10, `${name}: axe looked at nothing`);
    for (const v of found.violations) {
      hold(false, `${name}: ${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.html.slice(0, 120)).join(" | ")}`);
    }
    if (pictures) await tab.screenshot({ path: join(pictures, `${file.split("/").pop()}-${screen.width}${screen.dark ? "-dark" : ""}.png`), fullPage: true });
    await tab.close();
  }
}

// What is on a day, by the plan's own times: passes that begin or go on, and sessions.
const local = (moment) => moment.slice(0, 10);
const on = new Set();
for (const p of plan.passes.filter((p) => p.work !== "breeding")) {
  const from = p.first_day ?? local(p.start);
  const to = p.last_day ?? from;
  for (let d = new Date(`${from}T00:00Z`); d <= new Date(`${to}T00:00Z`); d.setUTCDate(d.getUTCDate() + 1)) {
    on.add(d.toISOString().slice(0, 10));
  }
}
for (const s of plan.sessions) on.add(local(s.first_cow ?? s.open));
const days = [...on].sort();
const follow = plan.follow_up.flatMap((g) => g.events);
const ends = (f) => f.last_day ?? f.first_day;
const local_day = (moment) => new Intl.DateTimeFormat("sv-SE", { timeZone: plan.zone }).format(new Date(moment));
const moments = ["1999-12-31T12:00:00Z", "2100-01-01T12:00:00Z"];
// Noon of every day of work; for a few of them late that evening and the night before, where the zone matters.
for (const day of days) moments.push(`${day}T18:00:00Z`);
for (const f of [follow.at(0), follow.at(-1)].filter(Boolean)) moments.push(`${ends(f)}T18:00:00Z`);
for (const day of days.slice(0, 4)) moments.push(`${day}T05:30:00Z`, `${day}T00:30:00Z`);
{
  const { tab, name } = await open(page_file, { width: 390 });
  await tab.close();
  for (const moment of moments) {
    const { tab } = await open(page_file, { width: 390, now: moment });
    const told = await tab.evaluate(() => {
      const all = [...document.querySelectorAll("#now li")];
      const work = all.filter((l) => !l.classList.contains("after-ai"));
      return {
        hidden: document.getElementById("now").hidden,
        words: all.map((l) => l.textContent),
        work: work.map((l) => {
          const h = l.querySelector("a")?.getAttribute("href");
          const day = h && document.querySelector(`#days a[href="${h}"]`).closest("li").dataset;
          return { word: l.textContent.split(":")[0], span: day ? [day.from, day.to] : null };
        }),
        after: all.filter((l) => l.classList.contains("after-ai")).map((l) => {
          const row = document.querySelector(l.querySelector("a").getAttribute("href"));
          return { word: l.textContent.split(":")[0], id: row?.dataset.follow };
        }),
      };
    });
    const today = local_day(moment);
    hold(!told.hidden, `${name} on ${moment}: today is hidden`);
    const busy = told.work.find((w) => w.word === "Today" && w.span)?.span;
    hold(Boolean(busy) === on.has(today), `${name} on ${moment}: ${told.words.join(" / ")}`);
    if (busy) hold(busy[0] <= today && today <= busy[1], `${name} on ${moment}: ${busy}`);
    const next = told.work.find((w) => w.word === "Next")?.span;
    // A stretch that goes on today holds the days that follow in it.
    const expected = days.find((d) => d > (busy ? busy[1] : today));
    hold(next?.[0] === expected, `${name} on ${moment}: next is ${next}, the plan has ${expected}`);
    // What follows AI, by the plan's own days.
    const now_on = follow.filter((f) => f.first_day <= today && today <= ends(f)).map((f) => f.id);
    const told_on = told.after.filter((a) => a.word === "Today").map((a) => a.id);
    // Of more than eight the first eight are told, and how many more there are.
    if (now_on.length > 8) {
      const more = told.words.some((w) => w === `Today: ${now_on.length - 8} more after AI`);
      hold(more && told_on.filter((id) => now_on.includes(id)).length === 8, `${name} on ${moment}: ${told.words.join(" / ")}`);
    } else hold(`${now_on.sort()}` === `${told_on.sort()}`, `${name} on ${moment}: after AI ${told_on}, the plan has ${now_on}`);
    const first = follow.map((f) => f.first_day).filter((d) => d > today).sort()[0];
    const told_next = told.after.find((a) => a.word === "Next after AI")?.id;
    hold(follow.find((f) => f.id === told_next)?.first_day === first, `${name} on ${moment}: next after AI ${told_next}, the plan has ${first}`);
    const idle = !on.has(today) && now_on.length === 0;
    hold(idle === told.words.includes("Today: nothing is planned."), `${name} on ${moment}: ${told.words.join(" / ")}`);
    await tab.close();
  }
}

{
  const { tab, name } = await open(page_file, { width: 390 });
  await tab.keyboard.press("Tab");
  const first = await tab.evaluate(() => document.activeElement.getAttribute("href"));
  hold(first === "#work", `${name}: the first stop of the keyboard is ${first}`);
  const unreached = await tab.evaluate(() => {
    const wide = [...document.querySelectorAll("*")].filter((e) => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX === "auto");
    return { all: wide.length, lost: wide.filter((e) => e.tabIndex !== 0).map((e) => e.outerHTML.slice(0, 80)) };
  });
  hold(unreached.all > 0, `${name}: nothing scrolls on a phone, so nothing was tried`);
  hold(unreached.lost.length === 0, `${name}: no keyboard reaches ${unreached.lost}`);
  await tab.close();
}

// Paper: the page's own margins are 14 and 13 mm, those of the sheet for the wall 11 and 12.
const MM = 96 / 25.4;
const SHEETS = { letter: [215.9, 279.4], a4: [210, 297] };
for (const [file, [top, side]] of [[page_file, [14, 13]], [wall && resolve(wall), [11, 12]]].filter(([f]) => f)) {
  for (const [sheet, [wide, high]] of Object.entries(SHEETS)) {
    const width = Math.floor((wide - 2 * side) * MM);
    const { tab, name } = await open(file, { width, height: Math.floor((high - 2 * top) * MM), media: "print" });
    const cut = await tab.evaluate((width, high) => {
      const shown = [...document.body.querySelectorAll("*")].filter((e) => e.checkVisibility() && !e.closest(".unseen, .skip"));
      const over = shown.filter((e) => e.getBoundingClientRect().right > width + 1);
      const kept = shown.filter((e) => ["tr", "svg"].includes(e.localName) || e.matches(".card h4, .remark, .verdict"));
      const split = shown.filter((e) => e.localName === "tr" && getComputedStyle(e).breakInside !== "avoid");
      const tall = kept.filter((e) => e.getBoundingClientRect().height > high);
      const say = (e) => e.outerHTML.slice(0, 90);
      return { over: over.slice(0, 3).map(say), split: split.slice(0, 3).map(say), tall: tall.slice(0, 3).map(say), kept: kept.length };
    }, width, (high - 2 * top) * MM);
    hold(cut.kept > 5, `${name}: no rows found`);
    for (const what of ["over", "split", "tall"]) hold(cut[what].length === 0, `${name}, ${sheet}: ${what}: ${cut[what].join(" | ")}`);
    const pdf = await tab.pdf({ format: sheet, path: pictures ? join(pictures, `${file.split("/").pop()}-${sheet}.pdf`) : undefined });
    hold(pdf.length > 10_000, `${name}: an empty print`);
    await tab.close();
  }
}

await browser.close();
console.log(`pages: ${checks} checks, ${faults.length} faults`);
for (const f of faults) console.error(`- ${f}`);
process.exit(faults.length ? 1 : 0);
