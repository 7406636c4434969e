"""An outside check of the crew rules: plans of small seasons against exact models of `src/guide/crew_rules.md`.

    pip install -r tests/outside/requirements.txt
    python tests/outside/rules_check.py --thawline target/release/thawline

The same random seasons for the same seed; `--wide N` adds larger ones, which take some seconds each. No plan may breed
more than the optimum, and the two models must agree. Where a plan breeds less, the season is solved again without what
the chapter says that the search does not look at, one thing after the other, and told is what each of them costs.
"""

import argparse
import os
import random
import sys
import tempfile
import time
import traceback
from collections import Counter
from datetime import datetime, timedelta
from multiprocessing import Pool
from pathlib import Path

sys.dont_write_bytecode = True
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import yaml  # noqa: E402

from coverage_check import ROOT, run  # noqa: E402
from reading import read_protocols, read_season  # noqa: E402
from rules_model import as_searched, by_time, read  # noqa: E402
from rules_order import by_order  # noqa: E402
from season_maker import ALLOW, PEOPLE, SITES, ZONES  # noqa: E402

# Head by which plans are short of the optimum, in percent of it, at the most.
MOST_LOST = 4
BULLS = ["Dry Fork 12", "Alder 3"]


def made(seed, number, protocols, wide):
    """A season with too few people. All names are invented. Most have times of five minutes, a few of one or less."""
    rng = random.Random(f"rules {seed} {number}")
    wanted = 60 if wide and rng.randrange(20) == 0 else 300
    while True:
        text = _Maker(rng, protocols, wide, wanted == 300).season()
        instance = read(text, read_season(text, protocols))
        able = instance is not None and all(len(p.pace) == len(instance.boxes) for p in instance.people)
        if able and instance.unit >= wanted and instance.due <= 60 and any(map(usable, instance.sessions)):
            return text


def usable(session):
    return any(a <= b for p in session.pens for a, b in p.hours)


def suits(p):
    """Bred once at set hours, all work in the chute."""
    ai = [s for s in p.steps if s.breeds]
    long = len(ai) == 1 and ai[0].hours and ai[0].hours[2] - ai[0].hours[0]
    return p.kind == "fixed-time" and all(s.in_chute for s in p.steps) and long and 2 * 3600 <= long <= 8 * 3600


class _Maker:
    def __init__(self, rng, protocols, wide, coarse):
        self.rng, self.wide, self.coarse = rng, wide, coarse
        self.protocols = [p for p in protocols.values() if suits(p)]
        self.places = SITES[: rng.choice([1, 1, 2, 2, 3] if wide else [1, 1, 2])]
        self.begins = datetime(rng.randint(2026, 2030), 1, 1) + timedelta(
            days=rng.randrange(365), hours=rng.randint(5, 16)
        )

    def one_in(self, n):
        return self.rng.randrange(n) == 0

    def season(self):
        rng, groups = self.rng, max(len(self.places), self.rng.choice([1, 2, 3]) if self.wide else 1)
        season = {
            "format": "thawline.season/1",
            "name": "A made season, small",
            "zone": rng.choice(ZONES),
            "allow": ALLOW,
            "sites": self.sites(),
            "groups": [self.group(n) for n in range(groups)],
            "crew": [self.technician(who) for who in PEOPLE[: rng.choice([1, 1, 1, 2, 2, 3][: 6 if self.wide else 4])]],
            "rules": self.rules(),
        }
        due = sum(g["head"] for g in season["groups"])
        short = self.one_in(5)
        straws = [rng.randint(due // 4, due) if short else 999 for _ in BULLS]
        season["semen"] = [{"bull": b, "straws": max(1, n)} for b, n in zip(BULLS, straws)]
        return yaml.safe_dump(season, sort_keys=False, width=200)

    def sites(self):
        rng = self.rng
        sites = [
            {
                "id": s,
                "injections_head_per_hour": rng.choice([60, 30, 24, 12]),
                "breeding_boxes": rng.choice([1, 1, 2, 3]),
                "thaw_bath_straws": 40,
            }
            for s in self.places
        ]
        for n, site in enumerate(sites):
            for other in self.places[n + 1 :]:
                site.setdefault("minutes_to", {})[other] = rng.choice([5, 10, 20, 30, 45, 60, 90])
        return sites

    def group(self, n):
        rng = self.rng
        p = rng.choice(self.protocols)
        after = {"start": timedelta()}
        for step in p.steps:
            long = timedelta(days=step.days) if step.hours is None else timedelta(seconds=step.hours[1])
            after[step.id] = after[step.after] + long
        ai = next(s for s in p.steps if s.breeds)
        apart = timedelta(minutes=rng.choice([0, 30, 60, 90, 120, 180, 240, 360, 1350]))
        group = {
            "id": f"g{n + 1}",
            "site": self.places[n % len(self.places)],
            "class": "cow" if p.cls == "both" else p.cls,
            "head": rng.choice([rng.randint(6, 16), rng.randint(12, 30)]) if self.wide else rng.randint(4, 12),
            "protocol": p.id,
            "start": (self.begins + apart - after[ai.id]).isoformat(timespec="minutes"),
            "order": rng.choice(["kept", "mixed", "mixed"]),
            "bulls": rng.sample(BULLS, rng.choice([1, 2])),
        }
        if self.wide and self.one_in(3):
            group["pens"] = 2
        return group

    def technician(self, who):
        rng = self.rng
        minutes = [5, 10, 10, 15] if self.coarse else [4, 5, 6, 8, 10, 12]
        one = {"id": who, "minutes_per_cow": rng.choice(minutes if self.wide else [10, 15]), "minutes_spread": 0}
        if self.one_in(2):
            one["helper"] = True
        if len(self.places) > 1 and self.one_in(2):
            one["home_site"] = rng.choice(self.places)
        if self.one_in(5):
            one["straws_at_once"] = rng.randint(1, 3)
        if self.one_in(4):
            begin = (self.begins.hour + rng.randint(-3, 2)) % 24
            end = (begin + rng.randint(2, 8)) % 24
            one["shifts"] = [{"from": f"{begin:02}:{rng.choice(['00', '15'])}", "to": f"{end:02}:30"}]
        if self.one_in(6):
            one["longest_day_hours"] = rng.choice([2, 3, 4, 5.5, 7])
        return one

    def rules(self):
        rng = self.rng
        rules = {"thaw_seconds": 60, "load_seconds": rng.choice([30, 60]), "reset_seconds": rng.choice([0, 60, 120])}
        if self.coarse:
            # So long that each lasts a whole number of five minutes.
            rules = {"thaw_seconds": 300, "load_seconds": rng.choice([0, 300]), "reset_seconds": 300 * rng.randrange(3)}
            rules["bath_to_cow_minutes"] = rng.choice([15, 20, 30, 45])
        if self.one_in(2):
            rules["slot_minutes"] = rng.choice([5, 10, 15, 30])
        if self.one_in(3):
            rules.update(rest_after_hours=rng.choice([0.5, 1, 1.5, 2, 3]), rest_minutes=rng.choice([10, 15, 30, 60]))
        if self.one_in(8):
            rules["longest_day_hours"] = rng.choice([2, 3, 4, 6])
        if self.one_in(8):
            hour = (self.begins.hour + rng.randint(-2, 2)) % 23
            day = self.begins.date().isoformat()
            rules["no_chute_work"] = [{"date": day, "from": f"{hour:02}:00", "to": f"{hour:02}:30"}]
        return rules


def judge(job):
    seed, number, thawline, protocols, folder, seconds = job
    result = {"number": number, "faults": []}
    try:
        text = result["text"] = made(seed, number, protocols, number.startswith("w"))
        instance = read(text, read_season(text, protocols))
        path = Path(folder) / f"season-{number}.yaml"
        path.write_text(text, encoding="utf-8")
        plan, _, fault = run(thawline, path)
        if fault:
            result["faults"].append(("run", fault))
        if plan is None or instance is None:
            result["skipped"] = True
            return result
        due, head = plan["verdict"]["due_head"], plan["verdict"]["covered_head"]
        told = head + sum(o["bound_head"] - o["covered_head"] for o in plan["search"]["open"])
        result.update(due=due, head=head, told=told, proven=plan["search"]["proven"] == plan["search"]["parts"])
        if due != instance.due:
            result["faults"].append(("due", f"{instance.due} head are due, the plan has {due}"))
            return result
        if head == due:
            result.update(most=due, bound=due, seconds=0)
            return result
        begin = time.process_time()
        most, bound, differ = best(instance, seconds, head)
        result["both"] = differ is not None
        if differ:
            result["faults"].append(("models", differ))
        result.update(most=most, bound=bound, seconds=round(time.process_time() - begin, 1))
        if head > bound:
            result["faults"].append(("more", f"the rules allow {bound} head at the most, the plan breeds {head}"))
        if most == bound > head:
            result["why"] = why(instance, text, head, most, seconds)
    except Exception:
        result["faults"].append(("check", traceback.format_exc(limit=6)))
    return result


def best(instance, seconds, least):
    """The most head found, a bound, and how the two models differ; nothing of that where only one is solved. Where not
    so many as `least` are allowed, the bound is below them."""
    by = [lambda: by_order(instance, seconds, least), lambda: by_time(instance).highs(seconds, least)]
    found, bound, solved = least, instance.due, []
    for solve in by if instance.due <= 25 else reversed(by):
        head, most = solve()
        found, bound = max(found, head), min(bound, most)
        if head >= most or most < least:
            solved.append(most)
        # Some of those solved by one model are solved by the other as well.
        if solved and (len(solved) == 2 or instance.due % 4):
            break
    if len(solved) < 2:
        return found, bound, None
    return found, bound, "" if solved[0] == solved[1] else f"one model has {solved[0]}, the other {solved[1]}"


def why(instance, text, head, most, seconds):
    """Head lost by each of the things that the search does not look at, one after the other."""
    rules = yaml.safe_load(text)["rules"]
    grains = [rules["slot_minutes"]] if "slot_minutes" in rules else [5]
    grain, lost, what, before = grains[0] * 60 // instance.unit, {}, set(), most
    for one in ("hours", "boxes"):
        what.add(one)
        found, bound, _ = best(as_searched(instance, max(1, grain), what), seconds, head)
        if found < bound:
            lost["?"] = before - head
            return lost
        lost[one] = before - found
        before = found
    lost["else"] = before - head
    return {k: n for k, n in lost.items() if n}


def told(results):
    """What the seasons showed. Gives the percent of the optimum that plans are short of it."""
    known = [r for r in results if "most" in r]
    searched = [r for r in known if r["head"] < r["due"]]
    solved = [r for r in searched if r["most"] == r["bound"]]
    short = [r for r in solved if r["head"] < r["most"]]
    most, lost = sum(r["most"] for r in solved), sum(r["most"] - r["head"] for r in short)
    below = [r for r in searched if r["told"] < r["most"]]
    print(
        f"{len(known)} seasons: {len(known) - len(searched)} bred whole; of {len(searched)} others {len(solved)} solved, "
        f"{sum(r['both'] for r in searched)} by both models; {len(solved) - len(short)} plans are the best there is, "
        f"{len(short)} are short by {lost} of {most} head; in {len(below)} the optimum is above what is told of the "
        "plans searched"
    )
    words = {
        "hours": "hours that are no whole slots",
        "boxes": "a box handed over within a round",
        "else": "rounds, rests, visits and days at other times",
        "?": "not solved",
    }
    for kind, what in words.items():
        mine = [r["why"][kind] for r in short if kind in r.get("why", {})]
        print(f"  {what}: {sum(mine)} head in {len(mine)}")
    return 100 * lost / max(1, most)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--thawline", default=str(ROOT / "target/release/thawline"), help="the program")
    parser.add_argument("--seasons", type=int, default=120)
    parser.add_argument("--wide", type=int, default=0, help="larger seasons")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=30, help="for each solver and season")
    parser.add_argument("--only", help="one season by its number, shown in full")
    parser.add_argument("--verbose", action="store_true", help="a line for each season")
    parser.add_argument("--keep", type=Path, help="put the seasons that fail in this folder")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    args = parser.parse_args()
    protocols = read_protocols(ROOT / "protocols")
    thawline = str(Path(args.thawline).resolve())
    numbers = [str(n) for n in range(args.seasons)] + [f"w{n}" for n in range(args.wide)]
    numbers = [args.only] if args.only else numbers
    begin, results = time.monotonic(), []
    with tempfile.TemporaryDirectory() as folder, Pool(min(args.jobs, len(numbers))) as pool:
        jobs = [(args.seed, n, thawline, protocols, folder, args.seconds) for n in numbers]
        for r in pool.imap(judge, jobs, chunksize=1):
            results.append(r)
            if args.only:
                print(r.get("text"))
            if args.only or args.verbose:
                print({k: v for k, v in r.items() if k != "text"}, flush=True)
    failed = [r for r in results if r["faults"]]
    for r in failed:
        print(f"season {r['number']} failed:", *(f"  {kind}: {words}" for kind, words in r["faults"]), sep="\n")
        if args.keep and "text" in r:
            args.keep.mkdir(parents=True, exist_ok=True)
            (args.keep / f"season-{args.seed}-{r['number']}.yaml").write_text(r["text"], encoding="utf-8")
    lost = told(results)
    bad = len(numbers) >= 60 and lost > MOST_LOST
    if bad:
        print(f"plans are short of the optimum by {lost:.1f} %, and were by less than {MOST_LOST} %")
    print(f"{len(results) - len(failed)} passed, {len(failed) + bad} failed, in {time.monotonic() - begin:.0f} s")
    return 1 if failed or bad else 0


if __name__ == "__main__":
    sys.exit(main())
