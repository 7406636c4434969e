"""Reads calendars with the icalendar package and holds them against their plan.

    python calendar_check.py DIRECTORY

The directory holds plan.json and the .ics files made from it. A file with the property
X-THAWLINE-TECHNICIAN holds that technician's sessions; the one without holds the season. Each event
names its pass (X-THAWLINE-PASS), session (X-THAWLINE-SESSION) or follow-up (X-THAWLINE-FOLLOW).

Times are resolved through the VTIMEZONE of the file, and a second time through the zone database of
Python. At the end each calendar is spoiled on purpose; a spoiled one that passes is a failure too.
"""

import json
import re
import sys
import warnings
from bisect import bisect_right
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
from dateutil.rrule import rrulestr
from tally import Tally

warnings.simplefilter("error")
HOUR = timedelta(hours=1)
KEYS = ("X-THAWLINE-PASS", "X-THAWLINE-SESSION", "X-THAWLINE-FOLLOW")


def utc(text):
    return datetime.fromisoformat(text).astimezone(timezone.utc)


def check_lines(data, tally):
    """RFC 5545, section 3.1."""
    tally.check(data.endswith(b"\r\n"), "the file ends with CRLF")
    bare = data.replace(b"\r\n", b"")
    tally.check(b"\r" not in bare and b"\n" not in bare, "every line end is CRLF")
    for number, line in enumerate(data.split(b"\r\n"), 1):
        tally.check(len(line) <= 75, f"line {number} has {len(line)} octets")
        try:
            tally.check(line.decode().isprintable(), f"line {number} holds a control character")
        except UnicodeDecodeError:
            tally.check(False, f"line {number} splits a character")


def contents(data):
    """Content lines; where they fold is free, and so is the form of a duration."""
    lines = data.replace(b"\r\n ", b"").split(b"\r\n")
    return [line for line in lines if not line.startswith(b"TRIGGER:")]


def check_frame(calendar, data, tally):
    """What the parser lets pass in silence."""
    for component in calendar.walk():
        tally.same(component.errors, [], f"errors of {component.name}")
        for name in ("UID", "DTSTAMP"):
            wanted = component.name == "VEVENT"
            tally.same(name in component, wanted, f"{name} in {component.name}")
    tally.check("METHOD" not in calendar, "no METHOD")
    tally.same(str(calendar["VERSION"]), "2.0", "VERSION")
    tally.check("Thawline" in str(calendar["PRODID"]), "PRODID")
    # Escapes and parameters, written a second time.
    again, once = contents(calendar.to_ical(sorted=False)), contents(data)
    tally.check(again == once, "written again, the file is the same")


def check_zone(zone, plan, span, tally):
    """The offsets of the VTIMEZONE, for every half hour of the calendar, against Python's."""
    times, infos = zone.get_transitions()
    known = ZoneInfo(plan["zone"])
    at, end = span
    wrong = []
    while at <= end:
        n = bisect_right(times, at.replace(tzinfo=None)) - 1
        if n < 0 or infos[n][0] != at.astimezone(known).utcoffset():
            wrong.append(at.isoformat())
        at += HOUR / 2
    tally.check(not wrong, f"{plan['zone']}: offset wrong at {wrong[:3]} and {len(wrong)} in all")


def instants(event, name, zone):
    """An end of an event, by the file's own zone and by Python's."""
    at = event[name].dt
    own = at.replace(tzinfo=zone) if "TZID" in event[name].params else at
    return [own.astimezone(timezone.utc), at.astimezone(timezone.utc)]


def check_alarms(event, wanted, tally, what):
    """The lengths of time from the start of an event to its reminders."""
    alarms = [a for a in event.subcomponents if a.name == "VALARM"]
    tally.same([str(a["ACTION"]) for a in alarms], ["DISPLAY"] * 2, f"{what}: alarms")
    rings = [a["TRIGGER"].dt for a in alarms]
    tally.same(rings, wanted, f"{what}: alarms ring")


def check_timed(event, wanted, vtimezone, known, tally, what):
    zone = vtimezone.to_tz(lookup_tzid=False)
    for name, at in zip(("DTSTART", "DTEND"), wanted):
        for source, got in zip(("file", "database"), instants(event, name, zone)):
            told = f"{what} {name} by the zone of the {source}"
            tally.same(got.isoformat(), at.isoformat(), told)
    start = wanted[0]
    day = start.astimezone(known).date() - timedelta(days=1)
    evening = datetime(day.year, day.month, day.day, 19, tzinfo=known).astimezone(timezone.utc)
    check_alarms(event, [evening - start, -HOUR], tally, what)


def check_days(event, first, last, tally, what):
    start, end = event["DTSTART"].dt, event["DTEND"].dt
    tally.check(type(start) is date and type(end) is date, f"{what}: days, not moments")
    tally.same(end - start, timedelta(days=1), f"{what}: one day at a time")
    tally.same(str(event.get("TRANSP")), "TRANSPARENT", f"{what}: TRANSP")
    days = [start]
    if "RRULE" in event:
        rule = event["RRULE"].to_ical().decode()
        midnight = datetime.combine(start, datetime.min.time())
        days = [d.date() for d in rrulestr(rule, dtstart=midnight)]
    length = (last - first).days + 1
    tally.same(days, [first + timedelta(days=n) for n in range(length)], f"{what}: the days")
    check_alarms(event, [-5 * HOUR, 6 * HOUR], tally, what)


def check_span(event, first, last, tally, what):
    """One stretch of whole days, which repeats never."""
    start, end = event["DTSTART"].dt, event["DTEND"].dt
    tally.check(type(start) is date and type(end) is date, f"{what}: days, not moments")
    tally.same((start, end), (first, last + timedelta(days=1)), f"{what}: the stretch")
    tally.check("RRULE" not in event, f"{what}: no RRULE")
    tally.same(str(event.get("TRANSP")), "TRANSPARENT", f"{what}: TRANSP")
    check_alarms(event, [-5 * HOUR, 6 * HOUR], tally, what)


def follow_ups(plan, technician):
    """What follows AI: all of it in the season's calendar, return heats of the groups that a
    technician bred in his or hers."""
    sites = {g["id"]: g["site"] for g in plan["groups"]}
    slots = [slot for s in plan["sessions"] for slot in s["slots"]]
    bred = {slot["group"] for slot in slots if slot["technician"] == technician}
    for group in plan["follow_up"]:
        for f in group["events"]:
            daily = f["kind"] == "return-heat"
            if technician is not None and not (daily and group["group"] in bred):
                continue
            days = date.fromisoformat(f["first_day"])
            days = (days, date.fromisoformat(f["last_day"] or f["first_day"]))
            of = {"site": sites[group["group"]]}
            yield ("X-THAWLINE-FOLLOW", f["id"]), ("days" if daily else "span", of, days)


def check_place(event, site, tally, what):
    """LOCATION by name, and GEO where the plan knows it."""
    tally.same(str(event["LOCATION"]), site["name"], f"{what}: LOCATION")
    known = site["latitude"] is not None
    tally.same("GEO" in event, known, f"{what}: has GEO")
    if known and "GEO" in event:
        told = [round(float(x), 6) for x in event["GEO"].to_ical().split(";")]
        wanted = [round(site["latitude"], 6), round(site["longitude"], 6)]
        tally.same(told, wanted, f"{what}: GEO")


def wanted_events(plan, technician):
    """Key, id and what is wanted of every event of a calendar."""
    found = dict(follow_ups(plan, technician))
    if technician is None:
        for p in plan["passes"]:
            if p["first_day"]:
                days = (date.fromisoformat(p["first_day"]), date.fromisoformat(p["last_day"]))
                found["X-THAWLINE-PASS", p["id"]] = ("days", p, days)
            elif p["work"] != "breeding":
                found["X-THAWLINE-PASS", p["id"]] = ("timed", p, (utc(p["start"]), utc(p["end"])))
    for s in plan["sessions"]:
        crew = [t for t in s["technicians"] if technician in (None, t["id"])]
        if technician is not None and not crew:
            continue
        if crew:
            span = min(utc(t["begins"]) for t in crew), max(utc(t["last_cow"]) for t in crew)
        else:
            span = utc(s["open"]), utc(s["close"])
        found["X-THAWLINE-SESSION", s["id"]] = ("timed", s, span)
    return found


def check_calendar(data, plan, tally):
    """One file. Returns its technician (None for the season) and its UIDs."""
    check_lines(data, tally)
    calendar = icalendar.Calendar.from_ical(data)
    check_frame(calendar, data, tally)
    technician = calendar.get("X-THAWLINE-TECHNICIAN")
    technician = None if technician is None else str(technician)
    zones = [c for c in calendar.walk("VTIMEZONE")]
    tally.same([str(z["TZID"]) for z in zones], [plan["zone"]], "the zones")
    known = ZoneInfo(plan["zone"])
    sites = {s["id"]: s for s in plan["sites"]}

    wanted = wanted_events(plan, technician)
    moments, uids = [], []
    for event in calendar.walk("VEVENT"):
        uids.append(str(event["UID"]))
        keys = [(k, str(event[k])) for k in KEYS if k in event]
        what = " ".join(keys[0]) if keys else "an event without an id"
        tally.check(len(keys) == 1 and keys[0] in wanted, f"{what} is in the plan, once")
        if len(keys) != 1 or keys[0] not in wanted:
            continue
        kind, of, span = wanted.pop(keys[0])
        check_place(event, sites[of["site"]], tally, what)
        categories = [str(c) for c in event["CATEGORIES"].cats]
        tally.check(len(categories) == 2, f"{what}: two categories")
        tally.same(categories[-1], sites[of["site"]]["name"], f"{what}: the site's category")
        tally.same(str(event["STATUS"]), "CONFIRMED", f"{what}: STATUS")
        stamps = [event[name].dt for name in ("DTSTAMP", "LAST-MODIFIED")]
        tally.same(stamps[0], stamps[1], f"{what}: LAST-MODIFIED")
        tally.check(len(str(event["SUMMARY"])) > 0, f"{what}: SUMMARY")
        tally.same(int(event["SEQUENCE"]), 0, f"{what}: SEQUENCE")
        if kind == "days":
            check_days(event, *span, tally, what)
        elif kind == "span":
            check_span(event, *span, tally, what)
        else:
            check_timed(event, span, zones[0], known, tally, what)
            moments.extend(span)
    tally.same(sorted(wanted), [], "left out")
    if moments:
        check_zone(zones[0], plan, (min(moments), max(moments)), tally)
    return technician, uids


def spoiled(data):
    """The same calendar with one thing wrong each, where it has the thing."""
    ways = {
        "an event begins at another hour": rb"(BEGIN:VEVENT.*?DTSTART;TZID=[^:]*:\d{8}T)(\d\d)",
        "an event ends at another hour": rb"(BEGIN:VEVENT.*?DTEND;TZID=[^:]*:\d{8}T)(\d\d)",
        "feeding goes on too long": rb"(COUNT=)(\d+)",
        "a check ends on another day": rb"(TRANSP:TRANSPARENT.*?DTEND;VALUE=DATE:\d{6})(\d\d)",
        "a site is elsewhere": rb"(GEO:)(\d\d)",
        "the zone is wrong": rb"(TZOFFSETTO:[+-])(\d\d)",
    }

    def more(found):
        # By more than an hour, which a change of the clocks could hide.
        return found[1] + b"%02d" % ((int(found[2]) + 5) % 24)

    for what, pattern in ways.items() if b"BEGIN:VEVENT" in data else ():
        count = 0 if b"TZOFFSETTO" in pattern else 1
        changed = re.sub(pattern, more, data, count=count, flags=re.DOTALL)
        if changed != data:
            yield what, changed
    event = re.search(rb"BEGIN:VEVENT\r\n.*?END:VEVENT\r\n", data, re.DOTALL)
    if event:
        yield "an event is left out", data.replace(event[0], b"")
        yield "an event comes twice", data.replace(event[0], event[0] * 2)
    yield "a line is too long", data.replace(b"X-WR-CALNAME:", b"X-WR-CALNAME:" + b"x" * 75)
    yield "a line ends without CR", data.replace(b"\r\n", b"\n", 1)


def main(directory):
    tally = Tally()
    plan = json.loads((directory / "plan.json").read_text(encoding="utf-8"))
    seen, uids = [], []
    for path in sorted(directory.glob("*.ics")):
        data, one = path.read_bytes(), Tally()
        technician, found = check_calendar(data, plan, one)
        seen.append(technician)
        uids.extend(found)
        for what, changed in spoiled(data):
            second = Tally()
            try:
                check_calendar(changed, plan, second)
            except (ValueError, KeyError, IndexError) as error:
                second.check(False, str(error))
            one.check(second.failures, f"noticed that {what}")
        tally.passed += one.passed
        tally.failures.extend(f"{path.name}: {f}" for f in one.failures)
    tally.same(seen.count(None), 1, "calendars of the season")
    tally.check(len(seen) == len(set(seen)), "each technician has one calendar")
    tally.check(len(uids) == len(set(uids)), "UIDs are unique in all files together")
    for failure in tally.failures:
        print("FAILED", failure)
    print(f"{tally.passed} passed, {len(tally.failures)} failed")
    return 1 if tally.failures else 0


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    sys.exit(main(Path(sys.argv[1])))
