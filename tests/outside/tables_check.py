"""Every table of comma-separated values against the JSON of the same command.

Python's own csv module reads the tables of the demo and of a season of twelve groups; rows, totals,
dates and clock times must be those of the JSON, and no cell may be one that a spreadsheet runs.
"""

import argparse
import csv
import io
import json
import math
import subprocess
import sys
import tempfile
from datetime import date, datetime, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WEEKDAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]


def twelve_groups():
    """Text of a season: three sites, four people, dates on both sides of a change of the clocks."""
    sites = "\n".join(
        f"  - {{id: s{n}, name: Place {n}, injections_head_per_hour: 70, inserts_head_per_hour: 50,"
        f" breeding_boxes: 2{', minutes_to: {s1: 30, s2: 45}' if n == 0 else ', minutes_to: {s2: 50}' if n == 1 else ''}}}"
        for n in range(3)
    )
    groups = "\n".join(
        f"  - {{id: g{n}, name: 'Group, no. {n}', site: s{n % 3}, class: cow, head: {40 + 9 * n},"
        f" protocol: {['cow-7-day-co-synch-insert', 'cow-select-synch-insert'][n % 4 == 3]},"
        f" start: {date(2027, 2, 25) + timedelta(days=4 * n)}T{12 + n % 4}:00, pens: {1 + n % 2},"
        f" order: {['kept', 'mixed'][n % 2]}, bulls: [B{n % 3}, B{(n + 1) % 3}],"
        f" calves: {{clean_up: {{in: 2027-06-15, out: 2027-07-15, head: 2}}}}}}"
        for n in range(12)
    )
    crew = "\n".join(
        f"  - {{id: p{n}, name: Person {n}, minutes_per_cow: {3 + n * 0.5}, helper: {str(n < 2).lower()},"
        f" home_site: s{n % 3}}}"
        for n in range(4)
    )
    semen = "\n".join(
        f"  - {{bull: B{n % 3}, straws: 10, straw_ml: 0.5, tank: big, canister: {1 + n % 6}, cane: C{n}}}"
        for n in range(120)
    )
    return (
        "format: thawline.season/1\nname: Twelve\nzone: America/Denver\n"
        f"sites:\n{sites}\ngroups:\n{groups}\ncrew:\n{crew}\n"
        "tanks:\n  - {id: big, canisters: 6, canes_a_canister: 20, liters: 20, full_inches: 18, filled: [2027-02-01],"
        " readings: [{date: 2027-02-11, inches: 16.5}, {date: 2027-02-20, inches: 15}]}\n"
        f"semen:\n{semen}\n"
    )


class Checker:
    def __init__(self, program):
        self.program, self.tables, self.rows, self.faults, self.headings = program, 0, 0, [], {}

    def run(self, *args):
        done = subprocess.run(
            [self.program, *map(str, args)], capture_output=True, cwd=ROOT, check=False
        )
        if done.returncode not in (0, 1):
            sys.exit(f"{args}: exit code {done.returncode}\n{done.stderr.decode()}")
        return done.stdout.decode()

    def both(self, *args):
        """The rows of the first table, by column, and the JSON."""
        return self.table(args, "--csv"), json.loads(self.run(*args, "--json"))

    def all_of(self, args, *names):
        """The rows of each of these tables, by its name, and the JSON."""
        kinds = {name: self.table(args, f"--csv={name}") for name in names}
        return kinds, json.loads(self.run(*args, "--json"))

    def table(self, args, form):
        text = self.run(*args, form)
        lines = list(csv.reader(io.StringIO(text), strict=True))
        heading, rows = lines[0], lines[1:]
        self.tables += 1
        self.rows += len(rows)
        self.same(args, "columns", len(set(heading)), len(heading))
        # Whatever the season: a table has the same columns.
        name = (args[0], "--session" in args, form)
        if args[0] != "protocols":
            self.same(args, f"{form}: columns", heading, self.headings.setdefault(name, heading))
        for row in rows:
            self.same(args, "cells of a row", len(row), len(heading))
            for cell in row:
                if cell.strip().startswith(("=", "+", "-", "@")) and not number(cell):
                    self.faults.append(f"{args}: a spreadsheet would run {cell!r}")
        rows = [dict(zip(heading, row)) for row in rows]
        for row in rows:
            for column in row:
                if column.endswith("weekday") and row[column]:
                    of = "date" if column == "weekday" else column.replace("_weekday", "_date")
                    of = of if of in row else column.removesuffix("_weekday")
                    day = date.fromisoformat(row[of])
                    self.same(args, "weekday", row[column], WEEKDAYS[day.weekday()])
        return rows

    def same(self, args, what, got, expected):
        if got != expected:
            self.faults.append(f"{args}: {what}: {got!r} is not {expected!r}")

    def plan(self, season):
        args = ("plan", season)
        tables = ("sessions", "breeding", "straws", "not-bred", "follow-up")
        kinds, plan = self.all_of(args, "passes", *tables)
        kinds = by(kinds["passes"], "work") | {name: kinds[name] for name in tables}
        passes = [p for p in plan["passes"] if p["work"] != "breeding"]
        for work in ("chute", "feeding", "heat-watch"):
            mine = [p for p in passes if p["work"] == work]
            self.same(args, work, sorted(r["pass"] for r in kinds.get(work, [])), sorted(p["id"] for p in mine))
            self.same(args, f"{work} head", total(kinds.get(work, []), "head"), sum(p["head"] for p in mine))
        at = {p["id"]: p for p in passes}
        for r in kinds["chute"]:
            p = at[r["pass"]]
            self.same(args, r["pass"], moment(r, "date", "start"), up(p["start"]))
            self.same(args, r["pass"], moment(r, "end_date", "end"), down(p["end"]))
        for r in kinds.get("feeding", []) + kinds.get("heat-watch", []):
            p = at[r["pass"]]
            self.same(args, r["pass"], (r["date"], r["end_date"]), (p["first_day"], p["last_day"]))
        self.same(args, "sessions", len(kinds["sessions"]), len(plan["sessions"]))
        for s in plan["sessions"]:
            row = next(r for r in kinds["sessions"] if r["session"] == s["id"])
            self.same(args, s["id"], int(row["head"]), s["head"])
            self.same(args, s["id"], int(row["straws"]), sum(b["straws"] for b in s["straws"]))
            if s["first_cow"]:
                first, last = up(s["first_cow"]), down(s["last_cow"])
                self.same(args, s["id"], moment(row, "date", "start"), first)
                # Within one minute the end is read as its beginning is, never before it.
                self.same(args, s["id"], moment(row, "end_date", "end"), max(first, last))
                offset = datetime.fromisoformat(s["first_cow"]).utcoffset() / timedelta(minutes=1)
                self.same(args, s["id"], int(row["utc_offset_minutes"]), offset)
            bred = [r for r in kinds["breeding"] if r["session"] == s["id"]]
            self.same(args, s["id"], total(bred, "head"), s["head"])
            for t in s["technicians"]:
                mine = [r for r in bred if r["technician"] == t["id"]]
                self.same(args, t["id"], total(mine, "head"), t["head"])
                end = max(up(t["first_cow"]), down(t["last_cow"]))
                self.same(args, t["id"], max(moment(r, "end_date", "end") for r in mine), end)
            for p in s["pens"]:
                mine = [r for r in bred if r["pass"] == p["pass"]]
                self.same(args, p["pass"], total(mine, "head"), p["bred_head"])
            straws = [r for r in kinds["straws"] if r["session"] == s["id"]]
            self.same(
                args,
                s["id"],
                {r["bull"]: int(r["straws"]) for r in straws},
                {b["bull"]: b["straws"] for b in s["straws"]},
            )
        missed = kinds["not-bred"]
        self.same(args, "not bred", total(missed, "head"), plan["verdict"]["uncovered_head"])
        events = [e for f in plan["follow_up"] for e in f["events"]]
        rows = kinds["follow-up"]
        self.same(args, "follow-up", len(rows), len(events))
        told = {r["event"]: (r["work"], r["date"], r["end_date"] or None, int(r["head"])) for r in rows}
        for e in events:
            self.same(args, e["id"], told.get(e["id"]), (e["kind"], e["first_day"], e["last_day"], e["head"]))
        return plan

    def tank(self, season):
        args = ("tank", season)
        kinds, said = self.all_of(args, "straws", "sessions", "taken", "tanks")
        for t in said["tanks"]:
            mine = {k: [r for r in v if r["tank"] == t["id"]] for k, v in kinds.items()}
            holds = [h for c in t["canisters"] for h in c["holdings"]]
            self.same(args, t["id"], len(mine["straws"]), len(holds))
            for key, column in (("straws", "straws_before"), ("left_straws", "straws_left")):
                self.same(args, key, total(mine["straws"], column), t[key])
                self.same(args, key, total(mine["tanks"], column), t[key])
            taken = [x for s in t["sessions"] for x in s["taken"]]
            self.same(args, "taken", total(mine["taken"], "straws_taken"), sum(x["straws"] for x in taken))
            left = [(r["session"], r["date"], int(r["straws_left"])) for r in mine["sessions"]]
            self.same(args, "left", left, [(s["session"], s["begins"][:10], s["left_straws"]) for s in t["sessions"]])
            refill = (t["nitrogen"] or {}).get("refill_by")
            self.same(args, "refill", mine["tanks"][0]["refill_by"] or None, refill)

    def thaw(self, season, plan):
        rows, said = self.both("thaw", season)
        self.same("thaw", "sessions", [r["session"] for r in rows], [s["session"] for s in said["sessions"]])
        for s in plan["sessions"]:
            if not s["head"]:
                continue
            args = ("thaw", season, "--session", s["id"])
            rows, said = self.both(*args)
            straws = [
                (t["id"], r["number"], x["bull"], x["in_at"][11:19], x["out_at"][11:19], x["bred_at"][11:19])
                for t in said["session"]["technicians"]
                for r in t["rounds"]
                for x in r["straws"]
            ]
            told = [
                (r["technician"], int(r["round"]), r["bull"], r["in_bath"], r["out_of_bath"], r["bred"])
                for r in rows
            ]
            self.same(args, "straws", told, straws)
            waste = self.table(args, "--csv=waste")
            self.same(args, "waste", total(waste, "straws"), sum(w["straws"] for w in said["session"]["waste"]))

    def cover(self, season, *more):
        args = ("cover", season, *more)
        tables = ("sessions", "pens", "technicians", "limits", "largest", "tried")
        kinds, said = self.all_of(args, "remedies", *tables)
        kinds = by(kinds["remedies"], "outcome") | {name: kinds[name] for name in tables}
        for kind, key in (("technicians", "technicians"), ("limits", "limits")):
            self.same(args, kind, len(kinds[kind]), sum(len(s[key]) for s in said["sessions"]))
        for kind in ("sessions", "pens"):
            self.same(args, kind, total(kinds[kind], "due_head"), said["verdict"]["due_head"])
            self.same(args, kind, total(kinds[kind], "not_bred_head"), said["verdict"]["uncovered_head"])
        for kind, key in (("covers", "covering"), ("lessens", "lessening"), ("tried", "tried")):
            every = [x for r in said["remedies"] for x in r[key]]
            self.same(args, key, len(kinds.get(kind, [])), len(every))
        for r, x in zip(kinds.get("covers", []), (x for r in said["remedies"] for x in r["covering"])):
            self.same(args, "points", int(r["effort_points"]), x["effort_points"])
        self.same(args, "largest", len(kinds["largest"]), sum(len(x["rows"]) for x in said["largest"]))

    def chance(self, season):
        args = ("chance", season, "--runs", 40)
        kinds, said = self.all_of(args, "sessions", "pens", "straws-at-once")
        self.same(args, "head", total(kinds["sessions"], "head"), sum(s["head"] for s in said["sessions"]))
        pens = [(p["group"], p["head"]) for s in said["sessions"] for p in s["pens"]]
        self.same(args, "pens", [(r["group"], int(r["head"])) for r in kinds["pens"]], pens)
        every = [b for s in said["sessions"] for t in s["technicians"] for b in t["by_straws"]]
        self.same(
            args,
            "straws",
            [(int(r["straws_at_once"]), r["last_cow_by_95_percent"], float(r["head_per_hour"])) for r in kinds["straws-at-once"]],
            [(b["straws_at_once"], b["last_cow"]["by_95_percent"][11:19], b["head_per_hour"]) for b in every],
        )

    def supplies(self, season):
        args = ("supplies", season)
        kinds, said = self.all_of(args, "buy", "uses", "straws", "nitrogen")
        uses = kinds["uses"]
        days = [(b["bull"], d["session"], d["straws"]) for b in said["straws"] for d in b["days"]]
        self.same(args, "straws", [(r["bull"], r["session"], int(r["straws"])) for r in kinds["straws"]], days)
        fills = [(n["tank"], f["date"]) for n in said["nitrogen"] for f in n["fills"]]
        self.same(args, "nitrogen", [(r["tank"], r["date"]) for r in kinds["nitrogen"]], fills)
        for item in said["items"]:
            mine = [r for r in uses if r["item"] == item["item"]]
            every = [p for d in item["days"] for p in d["passes"]]
            self.same(args, item["item"], len(mine), len(every))
            amount = math.fsum(float(r["amount"]) for r in mine)
            if not math.isclose(amount, math.fsum(p["amount"] for p in every), abs_tol=1e-6):
                self.faults.append(f"{args}: {item['item']}: {amount}")

    def forecast(self, season):
        tables = ("curve", "groups", "season-curve", "season", "money", "budget", "money-sums")
        kinds, said = self.all_of(("forecast", season), *tables)
        rows, whole = kinds["groups"], kinds["season"]
        self.same("forecast", "groups", [r["group"] for r in rows], [g["group"] for g in said["groups"]])
        self.same("forecast", "seasons", len(whole), 1)
        self.same("forecast", "head", total(rows, "head"), total(whole, "head"))
        curve = kinds["season-curve"]
        self.same("forecast", "days", [r["date"] for r in curve], [d["date"] for d in said["calving"]["curve"]])
        curves = [(g["group"], d["date"]) for g in said["groups"] if g["calving"] for d in g["calving"]["curve"]]
        self.same("forecast", "days of groups", [(r["group"], r["date"]) for r in kinds["curve"]], curves)
        money = said["money"] or {"groups": []}
        entries = [(g["group"], e["what"], float(e["amount"])) for g in money["groups"] for e in g["entries"]]
        told = [(r["group"], r["what"], float(r["amount"])) for r in kinds["money"]]
        self.same("forecast", "money", told, entries)

    def findings(self, *args):
        rows, said = self.both(*args)
        told = [(r["severity"], r["code"], r["what"]) for r in rows]
        self.same(args, "findings", told, [(f["severity"], f["code"], f["what"]) for f in said["findings"]])

    def demo_alone(self):
        demo = "demo/season.yaml"
        rows, said = self.both("herd", demo)
        animals = [(g["group"], a["animal"], a["answer"]) for g in said["groups"] for a in g["animals"]]
        self.same("herd", "animals", [(r["group"], r["animal"], r["answer"]) for r in rows], animals)
        rows, said = self.both("matings", demo)
        named = [r["animal"] for r in rows]
        self.same("matings", "animals", named, [a["animal"] for g in said["groups"] for a in g["animals"]])
        bulls = self.table(("matings", demo), "--csv=bulls")
        every = [(g["group"], c["bull"], c["head"]) for g in said["groups"] if not g["herd_file"] for c in g["by_bull"]]
        self.same("matings", "bulls", [(r["group"], r["bull"], int(r["head"])) for r in bulls], every)
        rows, said = self.both("choose", "demo/wishes.yaml")
        every = [
            (g["id"], r["protocol"], r["points"], r["start"][:16], len(r["lots"] or [1]))
            for g in said["groups"]
            for r in g["rows"]
        ]
        told = [
            (r["group"], r["protocol"], float(r["points"]), f"{r['start_date']}T{r['start']}", int(r["start_days"]))
            for r in rows
        ]
        self.same("choose", "rows", told, every)
        choice = self.table(("choose", "demo/wishes.yaml"), "--csv=choice")
        self.same("choose", "choice", [r["group"] for r in choice], [g["id"] for g in said["groups"]])

    def library(self):
        rows, said = self.both("protocols")
        told = [(r["protocol"], int(r["days_to_breeding"]), int(r["chute_passes"])) for r in rows]
        every = [(p["id"], p["days_to_breeding"], p["chute_passes"]) for p in said["protocols"]]
        self.same("protocols", "rows", told, every)
        for p in every[::6]:
            args = ("protocols", p[0])
            rows, said = self.both(*args)
            told = [(r["step"], r["aim_hours"] and float(r["aim_hours"])) for r in rows]
            self.same(args, "steps", told, [(s["id"], "" if s["aim_hours"] is None else s["aim_hours"]) for s in said["steps"]])
            args = (*args, "--start", "2027-03-07T07:00", "--zone", "America/Denver")
            rows, said = self.both(*args)
            for r, s in zip(rows, said["steps"], strict=True):
                first = s["first_day"] or s["at"][:10]
                self.same(args, s["id"], (r["date"], r["last_date"] or None), (first, s["last_day"]))
                if not s["first_day"]:
                    self.same(args, s["id"], r["time"], s["at"][11:16])
        args = ("protocols", "--first-calf", "2027-03-01", "--zone", "America/Denver")
        rows, said = self.both(*args)
        told = [(r["protocol"], f"{r['start_date']}T{r['start']}") for r in rows]
        self.same(args, "starts", told, [(s["protocol"], s["start"][:16]) for s in said["starts"]])
        told = [r["protocol"] for r in self.table(args, "--csv=left-out")]
        self.same(args, "left out", told, [s["protocol"] for s in said["left_out"]])
        rows, said = self.both("explain")
        self.same("explain", "words", [(r["name"], r["means"]) for r in rows], [(e["name"], e["means"]) for e in said])


def by(rows, column):
    found = {}
    for row in rows:
        found.setdefault(row[column], []).append(row)
    return found


def total(rows, column):
    return sum(int(r[column]) for r in rows)


def number(cell):
    try:
        return math.isfinite(float(cell))
    except ValueError:
        return False


def moment(row, day, clock):
    return f"{row[day]} {row[clock]}"


def down(text):
    return text[:16].replace("T", " ")


def up(text):
    """A beginning, at the next whole minute."""
    at = datetime.fromisoformat(text)
    at += timedelta(seconds=-at.second % 60)
    return at.strftime("%Y-%m-%d %H:%M")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--thawline", required=True)
    check = Checker(str(Path(parser.parse_args().thawline).resolve()))
    with tempfile.TemporaryDirectory() as folder:
        twelve = Path(folder) / "twelve.yaml"
        twelve.write_text(twelve_groups())
        for season in ("demo/season.yaml", twelve):
            plan = check.plan(season)
            check.tank(season)
            check.thaw(season, plan)
            check.cover(season)
            check.chance(season)
            check.supplies(season)
            check.forecast(season)
            check.findings("check", season)
    check.cover("demo/season.yaml", "--technicians", 1)
    check.findings("protocols", "--check", "tests/golden/own-good")
    check.demo_alone()
    check.library()
    for fault in check.faults[:20]:
        print(fault)
    if check.faults:
        sys.exit(f"{len(check.faults)} faults in {check.tables} tables")
    print(f"tables: {check.tables} tables with {check.rows} rows agree with their JSON")


if __name__ == "__main__":
    main()
