"""Reads the day pages as PDF with pdfminer and pypdf, and holds them against plan and thaw rounds.

    python pdf_check.py --thawline PROGRAM [--season FILE ...]

Each season is planned with --pdf on Letter and on A4 paper. Of each file: the size of the paper, fonts
embedded, every letter within the margins, title, language, tags and bookmarks; and in the text of
each day what plan.json says of it: passes with hour, group, head and pens, sessions with hours,
technicians, slots, straws, and the thaw rounds of `thawline thaw --json` by the second. At the end a
file without one of its pages, and a plan with one figure changed, must fail.
"""

import argparse
import copy
import functools
import io
import json
import subprocess
import sys
import tempfile
from datetime import datetime, timedelta
from pathlib import Path

from pdfminer.converter import PDFPageAggregator
from pdfminer.layout import LTChar, LTContainer
from pdfminer.pdfinterp import PDFPageInterpreter, PDFResourceManager
from pdfminer.pdfpage import PDFPage
from pypdf import PdfReader, PdfWriter
from tally import Tally

# Points: 8.5 x 11 in; 210 x 297 mm (ISO 216).
PAPERS = {"letter": (612, 792), "a4": (210 / 25.4 * 72, 297 / 25.4 * 72)}
MARGIN = 30
MINUTE = timedelta(minutes=1)


def begins(text):
    """The minute that is read for a beginning: never before what is meant."""
    at = datetime.fromisoformat(text)
    down = at.replace(second=0, microsecond=0)
    return down if down == at else down + MINUTE


def ends(text):
    """The minute that is read for an end: never after what is meant."""
    return datetime.fromisoformat(text).replace(second=0, microsecond=0)


def clock(at):
    return at.strftime("%H:%M")


def named_day(at):
    return f"{at:%a} {at.day} {at:%b %Y}"


def letters(item):
    if isinstance(item, LTChar):
        yield item
    elif isinstance(item, LTContainer):
        for inner in item:
            yield from letters(inner)


class Pages:
    """The letters of a file in the order in which it draws them, and where its bookmarks lead."""

    def __init__(self, data):
        self.reader = PdfReader(io.BytesIO(data))
        # Without layout analysis letters come as the file has them.
        resources = PDFResourceManager()
        device = PDFPageAggregator(resources, laparams=None)
        interpreter = PDFPageInterpreter(resources, device)
        self.pages = []
        for page in PDFPage.get_pages(io.BytesIO(data)):
            interpreter.process_page(page)
            self.pages.append(list(letters(device.get_result())))
        self.marks = []
        self.walk(self.reader.outline, 1)

    def walk(self, outline, level):
        for item in outline:
            if isinstance(item, list):
                self.walk(item, level + 1)
            else:
                page = self.reader.get_destination_page_number(item)
                self.marks.append((level, item.title, page, float(item.top)))

    def place(self, mark):
        """Page and number of the first letter below a bookmark."""
        _, _, page, top = mark
        for n, letter in enumerate(self.pages[page]):
            if letter.y1 <= top + 3:
                return page, n
        return page, len(self.pages[page])

    def text(self, start, stop):
        parts = []
        before = None
        for page in range(start[0], min(stop[0], len(self.pages) - 1) + 1):
            first = start[1] if page == start[0] else 0
            last = stop[1] if page == stop[0] else None
            for letter in self.pages[page][first:last]:
                if before is not None and (
                    abs(letter.y0 - before.y0) > 0.5 or abs(letter.x0 - before.x1) > 1
                ):
                    parts.append(" ")
                parts.append(letter.get_text())
                before = letter
            parts.append(" ")
            before = None
        return " ".join("".join(parts).split())

    def whole(self):
        return self.text((0, 0), (len(self.pages), 0))

    def days(self):
        """The text of each day, by its heading."""
        found = {}
        for n, mark in enumerate(self.marks):
            if mark[0] != 3:
                continue
            later = [m for m in self.marks[n + 1 :] if m[0] <= 3]
            stop = self.place(later[0]) if later else (len(self.pages), 0)
            found.setdefault(mark[1], self.text(self.place(mark), stop))
        return found


def check_file(pages, paper, plan, tally):
    """The file itself."""
    reader = pages.reader
    wide, high = PAPERS[paper]
    tally.same(reader.metadata.title, f"{plan['season']} – breeding plan", "title")
    root = reader.trailer["/Root"]
    tally.same(str(root["/Lang"]), "en", "language")
    tally.check(bool(root["/MarkInfo"]["/Marked"]), "the file is tagged")
    tally.check("/StructTreeRoot" in root, "the file has a structure")
    tally.check(not reader.metadata.get("/CreationDate"), "no date of making")
    for n, page in enumerate(reader.pages, 1):
        box = page.mediabox
        tally.check(
            abs(float(box.width) - wide) < 0.5 and abs(float(box.height) - high) < 0.5,
            f"page {n} is {box.width} x {box.height}",
        )
        for name, font in page["/Resources"].get("/Font", {}).items():
            inner = font.get_object()
            for part in inner["/DescendantFonts"]:
                descriptor = part.get_object()["/FontDescriptor"].get_object()
                embedded = "/FontFile2" in descriptor or "/FontFile3" in descriptor
                tally.check(embedded, f"font {name} of page {n} is not embedded")
            tally.check("/ToUnicode" in inner, f"font {name} of page {n} has no text behind it")
    for n, page in enumerate(pages.pages, 1):
        out = [
            c.get_text()
            for c in page
            if not c.get_text().isspace()
            and (c.x0 < MARGIN or c.y0 < MARGIN or c.x1 > wide - MARGIN or c.y1 > high - MARGIN)
        ]
        tally.same(out, [], f"letters beyond the margins of page {n}")
        small = [c.get_text() for c in page if c.size < 7]
        tally.same(small, [], f"letters of page {n} that are too small")
        foot = pages.text((n - 1, 0), (n - 1, len(page)))
        tally.check(foot.endswith(f"{n} of {len(pages.pages)}"), f"page {n} has no number")


def names(plan, kind):
    return {item["id"]: item["name"] for item in plan[kind]}


def day_text(days, at):
    """The text of the day, or of the stretch of days that begins with it."""
    return days.get(named_day(at), "")


def check_passes(plan, days, tally):
    groups, sites = names(plan, "groups"), names(plan, "sites")
    pens = {g["id"]: len(g["pen_head"]) for g in plan["groups"]}
    in_sessions = {pen["pass"] for s in plan["sessions"] for pen in s["pens"]}
    for p in plan["passes"]:
        if p["id"] in in_sessions:
            continue
        at = begins(p["start"])
        text = day_text(days, datetime.fromisoformat(p["first_day"]) if p["first_day"] else at)
        what = f"pass {p['id']} on {named_day(at)}"
        tally.check(groups[p["group"]] in text, f"{what}: no group")
        tally.check(sites[p["site"]] in text, f"{what}: no site")
        tally.check(p["what"].lower() in text.lower(), f"{what}: not what is done")
        line = clock(at)
        if p["work"] == "chute" and ends(p["end"]) > at:
            line += f" to {clock(ends(p['end']))}"
        if pens[p["group"]] > 1 and p["pen"]:
            line += f" Pen {p['pen']},"
        tally.check(f"{line} {p['head']} head" in text, f"{what}: no `{line} {p['head']} head`")
        if p["note"]:
            note = p["note"].rstrip(".").lower().replace("`", "")
            tally.check(note in text.lower(), f"{what}: no note")


def check_sessions(plan, days, rounds, tally):
    groups, sites = names(plan, "groups"), names(plan, "sites")
    people, bulls = names(plan, "technicians"), names(plan, "bulls")
    for s in plan["sessions"]:
        day = datetime.fromisoformat(s["first_cow"] or s["open"])
        text = day_text(days, day)
        what = f"session {s['id']}"
        tally.check(sites[s["site"]] in text, f"{what}: no site")
        if s["first_cow"]:
            first = begins(s["first_cow"])
            tally.check(f"First cow {clock(first)}" in text, f"{what}: no first cow")
            tally.check(f"last cow {clock(ends(s['last_cow']))}" in text, f"{what}: no last cow")
        for pen in s["pens"]:
            tally.check(groups[pen["group"]] in text, f"{what}: no {pen['group']}")
            tally.check(f"{pen['head']} head" in text, f"{what}: no head of {pen['pass']}")
            hours = pen["hours"]
            if begins(hours["earliest"]) <= ends(hours["latest"]) and pen["head"]:
                for edge in (begins(hours["earliest"]), ends(hours["latest"])):
                    tally.check(clock(edge) in text, f"{what}: no {clock(edge)}")
            tally.check(hours["window"].split(",")[0] in text, f"{what}: no window")
        for t in s["technicians"]:
            tally.check(people[t["id"]] in text, f"{what}: no {t['id']}")
            tally.check(f"{t['head']} head" in text, f"{what}: no head of {t['id']}")
            tally.check(clock(ends(t["begins"])) in text, f"{what}: no start of {t['id']}")
            if t["leaves"]:
                by = f"{sites[t['leaves']['site']]} by {clock(ends(t['leaves']['by']))}"
                tally.check(by in text, f"{what}: no leaving of {t['id']}")
        for straws in s["straws"]:
            noun = "straw" if straws["straws"] == 1 else "straws"
            line = f"{straws['straws']} {noun} of {bulls[straws['bull']]}"
            tally.check(line in text, f"{what}: no `{line}`")
        for slot in s["slots"]:
            tally.check(clock(begins(slot["start"])) in text, f"{what}: no slot {slot['start']}")
            tally.check(f"{slot['head']} head" in text, f"{what}: no head in {slot['start']}")
            for tag in slot["animals"][:1] + slot["animals"][-1:]:
                tally.check(str(tag) in text, f"{what}: no animal {tag}")
        for t in rounds.get(s["id"], {"technicians": []})["technicians"]:
            heading = f"Thaw rounds of {t['name']}"
            tally.check(heading in text, f"{what}: no `{heading}`")
            after = text.split(heading, 1)[-1]
            for r in t["rounds"]:
                times = [datetime.fromisoformat(r[key]) for key in ("bath_at", "earliest_out")]
                line = " ".join([str(r["number"]), *(f"{at:%H:%M:%S}" for at in times)])
                by = clock(datetime.fromisoformat(r["cow_by"]))
                tally.check(line in after, f"{what}: no round `{line}` of {t['id']}")
                tally.check(by in after, f"{what}: no `{by}`")
                for straw in r["straws"]:
                    if straw["cane"]:
                        tally.check(straw["cane"] in after, f"{what}: no cane {straw['cane']}")


def check_rest(plan, whole, tally):
    for words in plan["verdict"]["words"][:1]:
        tally.check(" ".join(words.replace("`", "").split()) in whole, "the verdict stands")
    for f in plan["follow_up"]:
        for event in f["events"]:
            tally.check(event["what"] in whole, f"no follow-up {event['id']}")
    for kind in ("groups", "technicians", "bulls"):
        for name in names(plan, kind).values():
            tally.check(name in whole, f"no {name} in the lists")
    tally.check("their labels and your veterinarian come before this page" in whole, "no deferral")


@functools.cache
def read(data):
    return Pages(data)


def check(data, paper, plan, rounds, tally):
    pages = read(data)
    check_file(pages, paper, plan, tally)
    days = pages.days()
    check_passes(plan, days, tally)
    check_sessions(plan, days, rounds, tally)
    check_rest(plan, pages.whole(), tally)
    return len(pages.pages)


def run(program, *words):
    done = subprocess.run([program, *words], capture_output=True, text=True, check=False)
    if done.returncode > 1:
        sys.exit(f"{' '.join(map(str, words))}: {done.stderr}")
    return done.stdout


def spoiled(data, paper, plan, rounds):
    """Ways to make what was right wrong; each must be seen."""
    reader = PdfReader(io.BytesIO(data))
    ways = []
    page = len(reader.pages) // 3
    writer = PdfWriter()
    writer.append(io.BytesIO(data))
    writer.remove_page(page)
    out = io.BytesIO()
    writer.write(out)
    ways.append((f"without page {page + 1}", out.getvalue(), paper, plan, rounds))
    other = "a4" if paper == "letter" else "letter"
    ways.append(("taken for other paper", data, other, plan, rounds))
    moved = copy.deepcopy(plan)
    chute = next(p for p in moved["passes"] if p["work"] == "chute")
    chute["head"] += 1
    ways.append(("a pass with one head more", data, paper, moved, rounds))
    moved = copy.deepcopy(plan)
    moved["sessions"][0]["straws"][0]["straws"] += 1
    ways.append(("a session with one straw more", data, paper, moved, rounds))
    late = copy.deepcopy(rounds)
    first = next(iter(late.values()))["technicians"][0]["rounds"][0]
    at = datetime.fromisoformat(first["bath_at"]) + timedelta(seconds=1)
    first["bath_at"] = at.isoformat()
    ways.append(("a thaw round a second later", data, paper, plan, late))
    return ways


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--thawline", required=True, type=Path)
    parser.add_argument("--season", action="append", type=Path)
    asked = parser.parse_args()
    program = asked.thawline.resolve()
    tally = Tally()
    count = 0
    for season in asked.season or [Path("demo/season.yaml")]:
        for paper in PAPERS:
            with tempfile.TemporaryDirectory() as folder:
                run(program, "plan", season, "--out", folder, "--pdf", "--paper", paper)
                plan = json.loads((Path(folder) / "plan.json").read_text())
                data = (Path(folder) / "season.pdf").read_bytes()
            rounds = {}
            for s in plan["sessions"]:
                if s["first_cow"]:
                    told = run(program, "thaw", season, "--session", s["id"], "--json")
                    rounds[s["id"]] = json.loads(told)["session"]
            before = tally.passed
            pages = check(data, paper, plan, rounds, tally)
            print(f"{season} on {paper}: {pages} pages, {tally.passed - before} checks held")
            for how, *changed in spoiled(data, paper, plan, rounds):
                seen = Tally()
                try:
                    check(*changed, seen)
                except (KeyError, IndexError, ValueError, AttributeError) as error:
                    seen.check(False, repr(error))
                count += 1
                tally.check(bool(seen.failures), f"{how}: not seen")
    print(f"{tally.passed} checks held, {count} of them of files and plans spoiled on purpose")
    for failure in tally.failures[:40]:
        print("FAILED", failure)
    sys.exit(bool(tally.failures))


if __name__ == "__main__":
    main()
