"""Imports a calendar, changes the plan, and imports again: one updated set must be left.

    python calendar_update_check.py --thawline target/release/thawline

The demo season is planned, changed (a group moved by a day, a group and a technician gone), and
changed back, each time into the same folder. Every season.ics goes to a CalDAV server (Radicale,
started here on localhost) as a client does it: an event is looked up by its UID with a REPORT, and
put in its place or beside the others. The server parses and keeps the events, and is asked what it
has. Where libical can be loaded, it reads every file, too, and checks it against its restrictions.
"""

import argparse
import ctypes
import ctypes.util
import http.client
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import icalendar
import yaml
from tally import Tally

DEMO = Path(__file__).resolve().parents[2] / "demo"
CALENDAR = "/crew/season/"
DAV = {"d": "DAV:", "c": "urn:ietf:params:xml:ns:caldav"}
QUERY = """<?xml version="1.0"?>
<c:calendar-query xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav">
<d:prop><d:getetag/><c:calendar-data/></d:prop>
<c:filter><c:comp-filter name="VCALENDAR"><c:comp-filter name="VEVENT">{}</c:comp-filter>
</c:comp-filter></c:filter></c:calendar-query>"""


class Server:
    """A CalDAV server of its own, with one calendar."""

    def __init__(self, folder):
        with socket.socket() as s:
            s.bind(("127.0.0.1", 0))
            self.port = s.getsockname()[1]
        command = [sys.executable, "-m", "radicale", "--config", ""]
        command += ["--server-hosts", f"127.0.0.1:{self.port}", "--auth-type", "none"]
        command += ["--storage-filesystem-folder", str(folder), "--logging-level", "critical"]
        # What goes wrong is told in its answers.
        self.process = subprocess.Popen(command, stderr=subprocess.DEVNULL)

    def ask(self, method, path, body="", **headers):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        headers = {k.replace("_", "-"): v for k, v in headers.items()}
        connection.request(method, path, body.encode(), headers)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()

    def begin(self):
        for _ in range(150):
            try:
                self.ask("MKCOL", "/crew/")
                status, text = self.ask("MKCALENDAR", CALENDAR)
                if status != 201:
                    raise SystemExit(f"no calendar could be made: {status} {text}")
                return
            except OSError:
                time.sleep(0.2)
        raise SystemExit("the CalDAV server did not come up")

    def find(self, what=""):
        """Path and calendar of all that fit."""
        status, text = self.ask("REPORT", CALENDAR, QUERY.format(what), Depth="1")
        if status != 207:
            raise SystemExit(f"REPORT: {status} {text}")
        found = []
        for response in ET.fromstring(text).iterfind("d:response", DAV):
            data = response.find(".//c:calendar-data", DAV).text
            found.append((response.find("d:href", DAV).text, icalendar.Calendar.from_ical(data)))
        return found

    def put(self, uid, event, zones):
        """As a client imports: in the place of the event with this UID, if there is one."""
        match = f'<c:text-match collation="i;octet">{uid}</c:text-match>'
        by_uid = f'<c:prop-filter name="UID">{match}</c:prop-filter>'
        places = [path for path, _ in self.find(by_uid)]
        one = icalendar.Calendar()
        one.add("VERSION", "2.0")
        one.add("PRODID", "-//A phone//EN")
        for part in [*zones, event]:
            one.add_component(part)
        place = places[0] if places else f"{CALENDAR}{uid}.ics"
        headers = {"Content_Type": "text/calendar; charset=utf-8"}
        status, text = self.ask("PUT", place, one.to_ical().decode(), **headers)
        return len(places), status, text

    def end(self):
        self.process.terminate()
        self.process.wait(timeout=20)


def libical():
    """The C library, or None."""
    name = ctypes.util.find_library("ical") or "libical.so.3"
    try:
        lib = ctypes.CDLL(name)
    except OSError:
        return None
    pointer = ctypes.c_void_p
    for function, result, arguments in [
        ("icalparser_parse_string", pointer, [ctypes.c_char_p]),
        ("icalrestriction_check", ctypes.c_int, [pointer]),
        ("icalcomponent_count_errors", ctypes.c_int, [pointer]),
        ("icalcomponent_get_first_component", pointer, [pointer, ctypes.c_int]),
        ("icalcomponent_get_next_component", pointer, [pointer, ctypes.c_int]),
        ("icalcomponent_get_uid", ctypes.c_char_p, [pointer]),
        ("icalcomponent_get_sequence", ctypes.c_int, [pointer]),
        ("icalcomponent_get_status", ctypes.c_int, [pointer]),
        ("icalproperty_status_to_string", ctypes.c_char_p, [ctypes.c_int]),
        ("icalcomponent_string_to_kind", ctypes.c_int, [ctypes.c_char_p]),
        ("icalcomponent_free", None, [pointer]),
    ]:
        getattr(lib, function).restype = result
        getattr(lib, function).argtypes = arguments
    return lib


def by_libical(lib, data):
    """UID, SEQUENCE and STATUS of every event, and whether all of it is as RFC 5545 wants it."""
    calendar = lib.icalparser_parse_string(data)
    kind = lib.icalcomponent_string_to_kind(b"VEVENT")
    found = []
    event = lib.icalcomponent_get_first_component(calendar, kind)
    while event:
        status = lib.icalproperty_status_to_string(lib.icalcomponent_get_status(event))
        uid = (lib.icalcomponent_get_uid(event) or b"").decode()
        found.append((uid, lib.icalcomponent_get_sequence(event), status.decode()))
        event = lib.icalcomponent_get_next_component(calendar, kind)
    # The check marks what it finds as errors within the component.
    sound = lib.icalrestriction_check(calendar) == 1
    errors = lib.icalcomponent_count_errors(calendar)
    lib.icalcomponent_free(calendar)
    return sorted(found), sound and errors == 0


def run(binary, stamp, *arguments):
    """What the program prints; a plan that falls short is a plan, too."""
    environment = {**os.environ, "SOURCE_DATE_EPOCH": str(stamp)}
    done = subprocess.run([binary, *arguments], env=environment, capture_output=True)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{arguments}: {done.stderr.decode()}")
    return done.stdout


def told(calendar):
    """UID: SEQUENCE and STATUS."""
    events = calendar.walk("VEVENT")
    return {str(e["UID"]): (int(e["SEQUENCE"]), str(e["STATUS"])) for e in events}


def changed(season):
    """A group a day later, a group gone, a technician gone."""
    season = {**season, "groups": [dict(g) for g in season["groups"] if g["id"] != "late"]}
    for group in season["groups"]:
        if group["id"] == "mature":
            at = datetime.fromisoformat(str(group["start"])) + timedelta(days=1)
            group["start"] = at.strftime("%Y-%m-%dT%H:%M")
    season["crew"] = [t for t in season["crew"] if t["id"] != "coe"]
    return season


def check_import(server, data, alone, before, tally, what):
    """Imports a file, and looks at what the server then has."""
    calendar = icalendar.Calendar.from_ical(data)
    now = told(calendar)
    events = calendar.walk("VEVENT")
    tally.same(len(events), len(now), f"{what}: each UID once")
    zones = calendar.walk("VTIMEZONE")
    for event in events:
        uid = str(event["UID"])
        known, status, text = server.put(uid, event, zones)
        tally.same(known, int(uid in before), f"{what}: events with the UID {uid} before")
        tally.check(status in (200, 201, 204), f"{what}: PUT of {uid}: {status} {text}")
    kept = [c for _, c in server.find()]
    has = {}
    for one in kept:
        has.update(told(one))
    tally.same(len(kept), len(has), f"{what}: the server has no UID twice")
    tally.same(has, now, f"{what}: the server has what the file has")
    tally.check(before.keys() <= now.keys(), f"{what}: nothing is forgotten")
    for uid, (sequence, status) in before.items():
        later = now.get(uid, (-1, ""))
        tally.check(later[0] >= sequence, f"{what}: SEQUENCE of {uid} does not turn back")
        if later[0] == sequence:
            tally.same(later[1], status, f"{what}: {uid} changed without SEQUENCE")
    live = {uid for uid, (_, status) in has.items() if status == "CONFIRMED"}
    plan = set(told(icalendar.Calendar.from_ical(alone)))
    tally.same(live, plan, f"{what}: what is not cancelled is the plan")
    for one in kept:
        for event in one.walk("VEVENT"):
            gone = str(event["STATUS"]) == "CANCELLED"
            tally.same(str(event["SUMMARY"]).startswith("CANCELLED: "), gone, f"{what}: SUMMARY")
            if gone:
                tally.same(event.subcomponents, [], f"{what}: no alarm of what is cancelled")
    return now


def check_time(server, first, tally):
    """The server finds the PG pass of the moved group on its new day, and not on the old."""
    for day, wanted in [(first, False), (first + timedelta(days=1), True)]:
        start = datetime(day.year, day.month, day.day, 12, tzinfo=timezone.utc)
        span = [t.strftime("%Y%m%dT%H%M%SZ") for t in (start, start + timedelta(hours=16))]
        events = server.find(f'<c:time-range start="{span[0]}" end="{span[1]}"/>')
        ids = [str(e.get("X-THAWLINE-PASS")) for _, c in events for e in c.walk("VEVENT")]
        tally.same("mature/1/pg" in ids, wanted, f"the PG pass by its time on {day}")


def check_state(binary, folder, season, old, stamp, tally, what):
    """`calendar --previous` gives what `plan --out` made of the folder's own calendar."""
    again = run(binary, stamp, "calendar", str(season), "--previous", str(old))
    tally.check(again == (folder / "season.ics").read_bytes(), f"{what}: --previous and the folder agree")


def main():
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--thawline", required=True)
    binary = arguments.parse_args().thawline
    tally = Tally()
    lib = libical()
    season = yaml.safe_load((DEMO / "season.yaml").read_text(encoding="utf-8"))
    work = Path(tempfile.mkdtemp(prefix="calendar-"))
    for table in DEMO.glob("*.csv"):
        shutil.copy(table, work)
    server = Server(work / "server")
    try:
        server.begin()
        before, old, stamp = {}, None, 1798761600
        for what, now in [("first", season), ("changed", changed(season)), ("back", season)]:
            stamp += 86400
            file = work / f"{what}.yaml"
            file.write_text(yaml.safe_dump(now, sort_keys=False), encoding="utf-8")
            run(binary, stamp, "plan", str(file), "--out", str(work / "plan"))
            data = (work / "plan" / "season.ics").read_bytes()
            alone = run(binary, stamp, "calendar", str(file))
            if old:
                check_state(binary, work / "plan", file, old, stamp, tally, what)
            before = check_import(server, data, alone, before, tally, what)
            if what == "changed":
                check_time(server, date(2027, 5, 24), tally)
                gone = {s for _, s in before.values()} - {"CONFIRMED"}
                tally.same(gone, {"CANCELLED"}, "what went away is cancelled")
                coe = icalendar.Calendar.from_ical((work / "plan" / "technician-coe.ics").read_bytes())
                left = {s for _, s in told(coe).values()}
                tally.same(left, {"CANCELLED"}, "the calendar of the technician who left")
            # Planned once more a day later: the same bytes.
            run(binary, stamp + 86400, "plan", str(file), "--out", str(work / "plan"))
            again = (work / "plan" / "season.ics").read_bytes()
            tally.check(again == data, f"{what}: planned again, the calendar is the same")
            for path in sorted((work / "plan").glob("*.ics")) if lib else []:
                text = path.read_bytes()
                events, sound = by_libical(lib, text)
                wanted = sorted((u, *r) for u, r in told(icalendar.Calendar.from_ical(text)).items())
                tally.same(events, wanted, f"{what}: {path.name} by libical")
                tally.check(sound, f"{what}: {path.name} keeps libical's restrictions")
                # One that does not must be noticed.
                spoiled = text.replace(b"\r\nSEQUENCE", b"\r\nSEQUENCE:0\r\nSEQUENCE", 1)
                _, sound = by_libical(lib, spoiled)
                tally.check(not sound or not events, f"{what}: {path.name} with two SEQUENCEs")
            old = work / f"{what}.ics"
            old.write_bytes(data)
    finally:
        server.end()
        shutil.rmtree(work, ignore_errors=True)
    for failure in tally.failures:
        print("FAILED", failure)
    print(f"libical: {'read every file' if lib else 'not to be had here, left out'}")
    print(f"{tally.passed} passed, {len(tally.failures)} failed")
    return 1 if tally.failures else 0


if __name__ == "__main__":
    sys.exit(main())
