// Reads calendars with ical.js and holds them against their plan.
//
//     node calendar_check.mjs DIRECTORY
//
// The directory holds plan.json and the .ics files made from it. A file with the property
// X-THAWLINE-TECHNICIAN holds that technician's sessions; the one without holds the season. Each
// event names its pass (X-THAWLINE-PASS), session (X-THAWLINE-SESSION) or follow-up
// (X-THAWLINE-FOLLOW).
//
// Times are resolved through the VTIMEZONE of the file: ical.js has no zone database of its own.
// At the end each calendar is spoiled on purpose; a spoiled one that passes is a failure too.

import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { isDeepStrictEqual } from "node:util";
import ICAL from "ical.js";

ICAL.design.strict = true;
const HOUR = 3600;
const DAY = 24 * HOUR;
const IDS = ["x-thawline-pass", "x-thawline-session", "x-thawline-follow"];

/** Counts what held, and keeps what did not. */
class Tally {
  passed = 0;
  failures = [];

  check(holds, what) {
    if (holds) this.passed += 1;
    else this.failures.push(what);
  }

  same(got, wanted, what) {
    const text = JSON.stringify;
    this.check(isDeepStrictEqual(got, wanted), `${what}: ${text(got)}, not ${text(wanted)}`);
  }
}

// ical.js tells of doubts on the console; each is a failure here.
const complaints = [];
for (const way of ["warn", "error"]) {
  console[way] = (...words) => complaints.push(words.join(" "));
}

const seconds = (text) => Date.parse(text) / 1000;
const byTime = (a, b) => seconds(a) - seconds(b);
const iso = (unix) => new Date(unix * 1000).toISOString();
const value = (component, name) => component.getFirstPropertyValue(name);

/** RFC 5545, section 3.1. */
function checkLines(data, tally) {
  const text = data.toString("latin1");
  tally.check(text.endsWith("\r\n"), "the file ends with CRLF");
  tally.check(!/[\r\n]/.test(text.replaceAll("\r\n", "")), "every line end is CRLF");
  text.split("\r\n").forEach((line, n) => {
    tally.check(line.length <= 75, `line ${n + 1} has ${line.length} octets`);
    tally.check(!/[\x00-\x08\x0a-\x1f\x7f]/.test(line), `line ${n + 1} holds a control character`);
    try {
      new TextDecoder("utf-8", { fatal: true }).decode(Buffer.from(line, "latin1"));
      tally.passed += 1;
    } catch {
      tally.check(false, `line ${n + 1} splits a character`);
    }
  });
}

/** Components under a component, itself first. */
function* walk(component) {
  yield component;
  for (const part of component.getAllSubcomponents()) yield* walk(part);
}

/** What the parser lets pass in silence. */
function checkFrame(calendar, tally) {
  tally.same(calendar.name, "vcalendar", "the outermost component");
  tally.same(value(calendar, "version"), "2.0", "VERSION");
  tally.check(value(calendar, "prodid").includes("Thawline"), "PRODID");
  tally.check(!calendar.hasProperty("method"), "no METHOD");
  for (const component of walk(calendar)) {
    const wanted = component.name === "vevent" ? 1 : 0;
    for (const name of ["uid", "dtstamp"]) {
      const count = component.getAllProperties(name).length;
      tally.same(count, wanted, `${name} in ${component.name}`);
    }
    for (const property of component.getAllProperties()) {
      const known = property.name.startsWith("x-") || property.type !== "unknown";
      tally.check(known, `${property.name} has a type`);
    }
  }
}

/** A time as seconds since 1970, or undefined if its zone is not the file's own or UTC. */
function instant(time, zone) {
  const utc = time.zone === ICAL.Timezone.utcTimezone;
  if (!utc && time.zone?.component !== zone) return undefined;
  return time.toUnixTime();
}

/** 19:00 on the evening before a moment of the plan, by the file's zone. */
function eveningBefore(text, component) {
  const [year, month, day] = text.slice(0, 10).split("-").map(Number);
  const clock = { year, month, day: day - 1, hour: 19, minute: 0, second: 0 };
  return new ICAL.Time(clock, new ICAL.Timezone(component)).toUnixTime();
}

function checkAlarms(event, tally, what) {
  const alarms = event.getAllSubcomponents("valarm");
  tally.same(alarms.map((a) => value(a, "action")), ["DISPLAY", "DISPLAY"], `${what}: alarms`);
  return alarms.map((a) => value(a, "trigger").toSeconds());
}

function checkTimed(event, [start, end], zone, tally, what) {
  [["dtstart", start], ["dtend", end]].forEach(([name, wanted]) => {
    const got = instant(value(event, name), zone);
    tally.same(got === undefined ? got : iso(got), iso(seconds(wanted)), `${what} ${name}`);
  });
  const [evening, hour] = checkAlarms(event, tally, what);
  const wanted = iso(eveningBefore(start, zone));
  tally.same(iso(seconds(start) + evening), wanted, `${what}: the evening before`);
  tally.same(hour, -HOUR, `${what}: an hour before`);
}

function checkDays(event, [first, last], tally, what) {
  const [start, end] = [value(event, "dtstart"), value(event, "dtend")];
  tally.check(start.isDate && end.isDate, `${what}: days, not moments`);
  tally.same(end.subtractDate(start).toSeconds(), DAY, `${what}: one day at a time`);
  tally.same(value(event, "transp"), "TRANSPARENT", `${what}: TRANSP`);
  const days = [];
  const each = new ICAL.Event(event).iterator();
  for (let day = each.next(); day && days.length < 400; day = each.next()) {
    days.push(day.toString());
  }
  const wanted = [];
  for (let at = seconds(`${first}T00:00Z`); at <= seconds(`${last}T00:00Z`); at += DAY) {
    wanted.push(iso(at).slice(0, 10));
  }
  tally.same(days, wanted, `${what}: the days`);
  tally.same(checkAlarms(event, tally, what), [-5 * HOUR, 6 * HOUR], `${what}: alarms ring`);
}

/** One stretch of whole days, which repeats never. */
function checkSpan(event, [first, last], tally, what) {
  const [start, end] = [value(event, "dtstart"), value(event, "dtend")];
  tally.check(start.isDate && end.isDate, `${what}: days, not moments`);
  const after = iso(seconds(`${last}T00:00Z`) + DAY).slice(0, 10);
  tally.same([start.toString(), end.toString()], [first, after], `${what}: the stretch`);
  tally.check(!event.hasProperty("rrule"), `${what}: no RRULE`);
  tally.same(value(event, "transp"), "TRANSPARENT", `${what}: TRANSP`);
  tally.same(checkAlarms(event, tally, what), [-5 * HOUR, 6 * HOUR], `${what}: alarms ring`);
}

/** What follows AI: all of it for the season, for a technician the return heats of groups bred. */
function* followUps(plan, technician) {
  const slots = plan.sessions.flatMap((s) => s.slots);
  const bred = new Set(slots.filter((s) => s.technician === technician).map((s) => s.group));
  for (const { group, events } of plan.follow_up) {
    const { site } = plan.groups.find((g) => g.id === group);
    for (const f of events) {
      const daily = f.kind === "return-heat";
      if (technician !== null && !(daily && bred.has(group))) continue;
      const span = [f.first_day, f.last_day ?? f.first_day];
      yield [`x-thawline-follow ${f.id}`, { kind: daily ? "days" : "span", site, span }];
    }
  }
}

/** LOCATION by name, and GEO where the plan knows it. */
function checkPlace(event, site, tally, what) {
  tally.same(value(event, "location"), site.name, `${what}: LOCATION`);
  const told = value(event, "geo")?.map((x) => Number(x)) ?? [null, null];
  tally.same(told, [site.latitude, site.longitude], `${what}: GEO`);
}

/** Id, kind, site and span of every event that a calendar should hold. */
function wantedEvents(plan, technician) {
  const found = new Map(followUps(plan, technician));
  for (const p of technician === null ? plan.passes : []) {
    const id = `x-thawline-pass ${p.id}`;
    if (p.first_day) {
      found.set(id, { kind: "days", site: p.site, span: [p.first_day, p.last_day] });
    } else if (p.work !== "breeding") {
      found.set(id, { kind: "timed", site: p.site, span: [p.start, p.end] });
    }
  }
  for (const s of plan.sessions) {
    const crew = s.technicians.filter((t) => technician === null || t.id === technician);
    if (technician !== null && crew.length === 0) continue;
    const first = crew.map((t) => t.begins).sort(byTime)[0] ?? s.open;
    const last = crew.map((t) => t.last_cow).sort(byTime).at(-1) ?? s.close;
    const span = [first, last];
    found.set(`x-thawline-session ${s.id}`, { kind: "timed", site: s.site, span });
  }
  return found;
}

/** One file. Returns its technician (null for the season) and its UIDs. */
function checkCalendar(data, plan, tally) {
  checkLines(data, tally);
  const calendar = new ICAL.Component(ICAL.parse(data.toString("utf8")));
  checkFrame(calendar, tally);
  const technician = value(calendar, "x-thawline-technician");
  const zones = calendar.getAllSubcomponents("vtimezone");
  tally.same(zones.map((z) => value(z, "tzid")), [plan.zone], "the zones");
  const sites = new Map(plan.sites.map((s) => [s.id, s]));

  const wanted = wantedEvents(plan, technician);
  const uids = [];
  for (const event of calendar.getAllSubcomponents("vevent")) {
    uids.push(value(event, "uid"));
    const ids = IDS.filter((k) => event.hasProperty(k)).map((k) => `${k} ${value(event, k)}`);
    const what = ids.join(", ") || "an event without an id";
    const known = ids.length === 1 && wanted.has(what);
    tally.check(known, `${what} is in the plan, once`);
    if (!known) continue;
    const { kind, site, span } = wanted.get(what);
    wanted.delete(what);
    checkPlace(event, sites.get(site), tally, what);
    tally.same(value(event, "status"), "CONFIRMED", `${what}: STATUS`);
    const stamps = ["dtstamp", "last-modified"].map((n) => value(event, n).toString());
    tally.same(stamps[0], stamps[1], `${what}: LAST-MODIFIED`);
    tally.check(value(event, "summary").length > 0, `${what}: SUMMARY`);
    tally.same(value(event, "sequence"), 0, `${what}: SEQUENCE`);
    if (kind === "days") checkDays(event, span, tally, what);
    else if (kind === "span") checkSpan(event, span, tally, what);
    else checkTimed(event, span, zones[0], tally, what);
  }
  tally.same([...wanted.keys()], [], "left out");
  tally.same(complaints.splice(0), [], "complaints of the parser");
  return [technician, uids];
}

/** The same calendar with one thing wrong each, where it has the thing. */
function* spoiled(data) {
  const text = data.toString("utf8");
  // By more than an hour, which a change of the clocks could hide.
  const more = (_, before, number) => before + String((Number(number) + 5) % 24).padStart(2, "0");
  const ways = {
    "an event begins at another hour": /(BEGIN:VEVENT.*?DTSTART;TZID=[^:]*:\d{8}T)(\d\d)/s,
    "an event ends at another hour": /(BEGIN:VEVENT.*?DTEND;TZID=[^:]*:\d{8}T)(\d\d)/s,
    "feeding goes on too long": /(COUNT=)(\d+)/,
    "a site is elsewhere": /(GEO:)(\d\d)/,
    "the zone is wrong": /(TZOFFSETTO:[+-])(\d\d)/g,
  };
  for (const [what, pattern] of text.includes("BEGIN:VEVENT") ? Object.entries(ways) : []) {
    const changed = text.replace(pattern, more);
    if (changed !== text) yield [what, changed];
  }
  const event = text.match(/BEGIN:VEVENT\r\n.*?END:VEVENT\r\n/s)?.[0];
  if (event) {
    yield ["an event is left out", text.replace(event, () => "")];
    yield ["an event comes twice", text.replace(event, () => event + event)];
  }
  yield ["a line is too long", text.replace("X-WR-CALNAME:", `X-WR-CALNAME:${"x".repeat(75)}`)];
  yield ["a line ends without CR", text.replace("\r\n", "\n")];
}

function main(directory) {
  const tally = new Tally();
  const plan = JSON.parse(readFileSync(join(directory, "plan.json"), "utf8"));
  const [seen, uids] = [[], []];
  for (const name of readdirSync(directory).filter((n) => n.endsWith(".ics")).sort()) {
    const data = readFileSync(join(directory, name));
    const one = new Tally();
    const [technician, found] = checkCalendar(data, plan, one);
    seen.push(technician);
    uids.push(...found);
    for (const [what, changed] of spoiled(data)) {
      const second = new Tally();
      try {
        checkCalendar(Buffer.from(changed, "utf8"), plan, second);
      } catch (error) {
        second.check(false, String(error));
      }
      one.check(second.failures.length > 0, `noticed that ${what}`);
    }
    tally.passed += one.passed;
    tally.failures.push(...one.failures.map((f) => `${name}: ${f}`));
  }
  tally.same(seen.filter((t) => t === null).length, 1, "calendars of the season");
  tally.same(new Set(seen).size, seen.length, "each technician has one calendar");
  tally.same(new Set(uids).size, uids.length, "UIDs are unique in all files together");
  for (const failure of tally.failures) console.log("FAILED", failure);
  console.log(`${tally.passed} passed, ${tally.failures.length} failed`);
  return tally.failures.length ? 1 : 0;
}

if (process.argv.length !== 3) {
  console.log("usage: node calendar_check.mjs DIRECTORY");
  process.exit(2);
}
process.exit(main(process.argv[2]));
