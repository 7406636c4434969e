"""An outside check of a plan's decisions: who goes where and by which way, and when pens begin.

    pip install -r tests/outside/requirements.txt
    python tests/outside/decisions_check.py --thawline target/release/thawline

300 random small seasons, the same for the same seed, against models of our own solved by HiGHS;
tiny ones with every choice tried one by one as well. Where the program says that its plan is proven
it must cover just as many; elsewhere it may cover less, and the gap is told. It may never cover
more, nor need a chute twice at once where that can be avoided.
"""

import argparse
import os
import sys
import tempfile
import time
import traceback
from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import product
from multiprocessing import Pool
from pathlib import Path

sys.dont_write_bytecode = True
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import yaml  # noqa: E402

from coverage_check import ROOT, run  # noqa: E402
from dates import date_season  # noqa: E402
from decisions_model import (  # noqa: E402
    Limits,
    World,
    at_most,
    clashes_of,
    counted,
    knots_of,
    most,
)
from decisions_seasons import make  # noqa: E402
from reading import moment, read_protocols, read_season  # noqa: E402

# Fewer seasons than this, of 300, in which a decision gains head would prove little.
LEAST_DIVIDED = 20
LEAST_STARTS = 20
# Said where no choice of starts was left out that could be better.
LEAST_OF_ALL = "the least delay that serves most head"
OTHERS_MIGHT = "other starts might serve more"


class Pens:
    """Pens with an open start, each dated by itself for every start it could have."""

    def __init__(self, text, season):
        self.season = season
        raw = {g["id"]: g for g in yaml.load(text, yaml.BaseLoader)["groups"]}
        fixed = [g for g in season.groups if "latest_start" not in raw[g.id]]
        passes, self.fixed = date_season(replace(season, groups=fixed))
        sites = {g.id: g.site for g in fixed}
        self.held = [(sites[p.id.split("/")[0]], p.start, p.end) for p in passes.values() if p.work == "chute"]
        self.pens = []
        for g in season.groups:
            if g in fixed:
                continue
            latest = datetime.fromisoformat(raw[g.id]["latest_start"])
            slots = int((latest - g.start).total_seconds()) // season.slot
            for n, head in enumerate(g.pens):
                starts = [g.start + timedelta(seconds=season.slot * k) for k in range(slots + 1)]
                self.pens.append((g, n, [self.alone(g, n, head, at) for at in starts]))

    def alone(self, group, n, head, at):
        pen = replace(group, id=f"{group.id}.{n + 1}", start=at, pens=[head])
        passes, dues = date_season(replace(self.season, groups=[pen]))
        chute = [(p.start, p.end) for p in passes.values() if p.work == "chute"]
        return self.season.clock.resolve(at)[0], chute, dues

    def meets(self, choice):
        """True if a chute is needed twice at once."""
        wanted = list(self.held)
        mine = len(wanted)
        for (group, _, starts), k in zip(self.pens, choice):
            wanted += [(group.site, a, b) for a, b in starts[k][1]]
        for n in range(mine, len(wanted)):
            site, a, b = wanted[n]
            if any(s == site and a < d and c < b for s, c, d in wanted[:n]):
                return True
        return False

    def dues(self, choice):
        return self.fixed + [d for (_, _, starts), k in zip(self.pens, choice) for d in starts[k][2]]

    def choices(self):
        return product(*(range(len(starts)) for _, _, starts in self.pens))

    def chosen(self, plan):
        """The plan's choice."""
        given = {g["id"]: g["pen_starts"] for g in plan["groups"]}
        choice = []
        for group, n, starts in self.pens:
            at = moment(given[group.id][n])[0]
            choice.append([s[0] for s in starts].index(at))
        return tuple(choice)


def best_starts(world, pens):
    """The choice that covers most with no chute needed twice at once, and of these has the least
    delay in all: choice, what it reaches, how many choices there are. Nothing if chutes always are."""
    open_ = [c for c in pens.choices() if not pens.meets(c)]
    due = sum(sum(g.pens) for g in world.season.groups)

    def bound(choice):
        sessions = world.sessions(pens.dues(choice))
        # With routes there is no bound so plain.
        return due if any(clashes_of(world, sessions).values()) else at_most(world, sessions)

    ranked = sorted(((-bound(c), sum(c), c) for c in open_))
    best, reached = None, {}
    for minus, delay, choice in ranked:
        if best is not None and (-minus < best[0] or -minus == best[0] and delay >= -best[1]):
            continue
        found = most(world, world.sessions(pens.dues(choice)))
        reached[choice] = found
        if best is None or (found.head, -delay) > best[:2]:
            best = (found.head, -delay, choice)
    return (best[2], reached[best[2]], len(open_)) if best else None


def tried_one_by_one(world, pens):
    """The most head, by trying every way of everybody for every choice of starts."""
    top = 0
    for choice in pens.choices():
        if pens.meets(choice):
            continue
        sessions = world.sessions(pens.dues(choice))
        clashes = clashes_of(world, sessions)
        ways = []
        for t in world.season.crew:
            knots = knots_of(clashes[t.id])
            bound = {n for k in knots for n in k}
            free = [(n, world.stay(t, s)) for n, s in enumerate(sessions) if n not in bound and world.stay(t, s)]
            mine = [[]]
            for knot in knots:
                mine = [m + r.visits for m in mine for r in world.routes(t, sessions, knot)]
            ways.append([free + m for m in mine])
        for together in product(*ways):
            head = 0
            for n, session in enumerate(sessions):
                places = {}
                for visits in together:
                    for m, stay in visits:
                        if m == n:
                            for k, cap in stay.caps.items():
                                places[k] = places.get(k, 0) + cap
                head += counted(session.lots, places)
            top = max(top, head)
    return top


def check(job):
    number, kind, text, thawline, protocols, folder = job
    result = {"number": number, "kind": kind, "faults": [], "seconds": 0.0}
    try:
        begin = time.process_time()
        season = read_season(text, protocols)
        world, pens = World(season, Limits.read(text)), Pens(text, season)
        best = best_starts(world, pens)
        in_turn = most(world, world.sessions(date_season(season)[1])) if pens.pens else None
        result["solver"] = time.process_time() - begin
        path = Path(folder) / f"season-{number}.yaml"
        path.write_text(text, encoding="utf-8")
        plan, result["seconds"], fault = run(thawline, path)
        if fault:
            result["faults"].append(("run", fault))
        if plan is None:
            return result
        got = plan["verdict"]["covered_head"]
        search = plan["search"]
        said = [f["what"] for f in plan["findings"] if f["code"] == "D115"]
        proven = search["proven"] == search["parts"] and not any(OTHERS_MIGHT in s for s in said)
        chosen = pens.chosen(plan)
        result.update(got=got, due=plan["verdict"]["due_head"], proven=proven, open=bool(pens.pens))
        if best is None:
            # A chute is needed twice at once whatever is chosen, and pens wait.
            result["crowded"] = True
            return result
        choice, reached, result["choices"] = best
        if pens.meets(chosen):
            result["faults"].append(("chute", f"starts {chosen} need a chute twice at once; {choice} do not"))
            return result
        mine = most(world, world.sessions(pens.dues(chosen))) if chosen != choice else reached
        result.update(
            most=reached.head,
            divided=mine.routes > mine.whole,
            other_days=mine.routes > mine.whole and kind == "days",
            better_starts=in_turn is not None and reached.head > in_turn.head,
            columns=reached.columns,
            gap=reached.head - got,
            delay=sum(chosen) - sum(choice) if got == reached.head else 0,
        )
        result["all"] = bool(said) and all(LEAST_OF_ALL in s for s in said)
        if result["all"] and result["delay"] > 0:
            result["faults"].append(("delay", f"starts {choice} cover as many as {chosen}, with less delay"))
        if got > mine.head:
            result["faults"].append(("more", f"{mine.head} head can be covered with these starts, the plan covers {got}"))
        elif proven and got < reached.head:
            words = f"{reached.head} head can be covered, with starts {choice}, the proven plan covers {got}"
            result["faults"].append(("proven", words + f" with {chosen}; {mine} at these"))
        if kind == "tiny":
            top = tried_one_by_one(world, pens)
            if top != reached.head:
                result["faults"].append(("tiny", f"one by one {top} head, the model has {reached}"))
    except Exception:
        result["faults"].append(("check", traceback.format_exc(limit=6)))
    return result


def mix_of(results, seasons):
    """What the seasons showed, and what is missing for them to prove anything."""
    known = [r for r in results if "gap" in r]
    divided = sum(r["divided"] for r in known)
    starts = sum(r["better_starts"] for r in known)
    unproven = [r for r in known if not r["proven"]]
    less = [r for r in unproven if r["gap"] > 0]
    print("random seasons by kind: " + ", ".join(f"{k} {c}" for k, c in Counter(r["kind"] for r in results).items()))
    print(
        f"{len(known)} compared: {sum(r['most'] < r['due'] for r in known)} cannot be covered whole, "
        f"{divided} need a divided day, {starts} of {sum(r['open'] for r in known)} with open starts cover more than "
        f"pens in turn; {sum('crowded' in r for r in results)} with a chute needed twice at once whatever the starts"
    )
    gap = max((r["gap"] for r in less), default=0)
    percent = max((100 * r["gap"] / r["most"] for r in less), default=0)
    print(
        f"{len(unproven)} not proven by the program, of these {len(less)} covered less: "
        f"at the most {gap} head, {percent:.1f} %; in all {sum(r['gap'] for r in less)} of "
        f"{sum(r['most'] for r in unproven)} head"
    )
    later = [r for r in known if r["delay"] > 0]
    whole = sum(r.get("all", False) for r in known)
    print(
        f"{whole} of {sum(r['open'] for r in known)} with open starts gone through to the end by the program; "
        f"{len(later)} others with as many head but pens later than need be"
    )
    missing = []
    for words, count, least in [
        ("with a divided day", divided, LEAST_DIVIDED),
        ("in which starts matter", starts, LEAST_STARTS),
        ("compared", len(known), 0.9 * seasons),
    ]:
        if count < min(least, seasons * least / 300):
            missing.append(f"too few seasons {words}: {count}")
    return missing


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--thawline", default=str(ROOT / "target/release/thawline"), help="the program")
    parser.add_argument("--seasons", type=int, default=300)
    parser.add_argument("--tiny", type=int, default=12, help="tiny seasons, every choice tried one by one")
    parser.add_argument("--days", type=int, default=50, help="seasons with days shorter than sessions")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", help="one season by its number, shown in full")
    parser.add_argument("--file", type=Path, help="one season file instead of random ones")
    parser.add_argument("--keep", type=Path, help="put the seasons that fail in this folder")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    args = parser.parse_args()
    protocols = read_protocols(ROOT / "protocols")
    thawline = str(Path(args.thawline).resolve())
    if args.file:
        made = [(args.file.stem, "file", args.file.read_text(encoding="utf-8"))]
    else:
        made = [(str(n), *make(args.seed, n, protocols)) for n in range(args.seasons)]
        made += [(f"t{n}", *make(args.seed, n, protocols, "tiny")) for n in range(args.tiny)]
        made += [(f"d{n}", *make(args.seed, n, protocols, "days")) for n in range(args.days)]
        if args.only is not None:
            made = [m for m in made if m[0] == args.only]
    alone = len(made) == 1
    begin = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        jobs = [(n, kind, text, thawline, protocols, folder) for n, kind, text in made]
        with Pool(min(args.jobs, len(jobs))) as pool:
            results = list(pool.imap(check, jobs, chunksize=1))
    if alone:
        print(made[0][2])
        print({k: v for k, v in results[0].items() if k != "faults"})
    failed = [r for r in results if r["faults"]]
    texts = {n: text for n, _, text in made}
    for r in failed:
        print(f"season {r['number']} ({r['kind']}) failed:")
        for kind, words in r["faults"]:
            print(f"  {kind}: {words}")
        if args.keep:
            args.keep.mkdir(parents=True, exist_ok=True)
            (args.keep / f"season-{args.seed}-{r['number']}.yaml").write_text(texts[r["number"]], encoding="utf-8")
    seconds, solver = ([r.get(k, 0) for r in results] for k in ("seconds", "solver"))
    print(
        f"the program took {sum(seconds):.1f} s, most {max(seconds):.2f} s; our models {sum(solver):.1f} s of "
        f"processor, most {max(solver):.2f} s; all in {time.monotonic() - begin:.0f} s"
    )
    missing = [] if alone else mix_of([r for r in results if r["kind"] not in ("tiny", "days")], args.seasons)
    days = sum(r.get("other_days", False) for r in results)
    if not alone and args.days:
        print(f"{days} need a day that lies elsewhere than round the middle of a session")
        if days < args.days / 10:
            missing.append(f"too few seasons with days that may lie elsewhere: {days}")
    for words in missing:
        print(words)
    print(f"{len(results) - len(failed)} passed, {len(failed) + len(missing)} failed")
    return 1 if failed or missing else 0


if __name__ == "__main__":
    sys.exit(main())
