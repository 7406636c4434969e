"""An outside check of `thawline plan`: seasons dated and covered by code of its own.

    pip install -r tests/outside/requirements.txt
    python tests/outside/coverage_check.py --thawline target/release/thawline

Corner cases come from `seasons/`; all others are made at random, the same for the same seed. `--new N`
adds N seasons of a seed that no run has seen, which is printed.
Time zones come from the tzdata package, the most head that can be covered from the HiGHS solver.
The last line says how many seasons passed; any failure makes the exit code 1.
"""

import argparse
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from contextlib import contextmanager
from multiprocessing import Pool
from pathlib import Path

sys.dont_write_bytecode = True
# Seasons are spread over processes: a solver's own threads would only get in the way.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from cover_model import most_covered, twice_planned  # noqa: E402
from crew import sessions_of  # noqa: E402
from dates import date_season  # noqa: E402
from decisions_model import Limits, World, clashes_of  # noqa: E402
from decisions_model import most as most_divided  # noqa: E402
from plan_rules import Judge  # noqa: E402
from reading import read_protocols, read_season  # noqa: E402
from season_maker import make  # noqa: E402

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
SLOW_SECONDS = 2
MOST_SECONDS = 120
# Of a few seasons the models take minutes; no more than this share may go unjudged.
MOST_UNJUDGED = 0.02


class TooLong(Exception):
    pass


@contextmanager
def at_most(seconds):
    """Ends a model that takes too long."""

    def end(*_):
        raise TooLong

    signal.signal(signal.SIGALRM, end)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)


def run(thawline, path):
    """The plan, how long it took, and what is wrong if there is none or the exit code does not fit."""
    begin = time.monotonic()
    try:
        done = subprocess.run(
            [thawline, "plan", str(path), "--json"], capture_output=True, text=True, timeout=MOST_SECONDS
        )
    except subprocess.TimeoutExpired:
        return None, float(MOST_SECONDS), f"no plan in {MOST_SECONDS} s"
    took = time.monotonic() - begin
    if done.returncode not in (0, 1):
        return None, took, f"exit code {done.returncode}: {words_of(done.stderr)}"
    try:
        plan = json.loads(done.stdout)
        well = plan["verdict"]["covered"] and not plan["verdict"]["rules_broken"]
        return plan, took, None if done.returncode == (0 if well else 1) else f"exit code {done.returncode}"
    except (ValueError, KeyError):
        return None, took, f"no JSON: {words_of(done.stderr or done.stdout)}"


def words_of(text):
    return " ".join(text.split())[:300]


def check(job):
    number, kind, text, thawline, protocols, folder, model_seconds = job
    result = {"number": number, "kind": kind, "faults": [], "seconds": 0.0}
    try:
        season = read_season(text, protocols)
        passes, dues = date_season(season)
        sessions = sessions_of(season, dues)
        begin = time.monotonic()
        due = sum(d.head for d in dues)
        by_heat = sum(len(g.half_days[0]) for g in season.groups if g.half_days)
        try:
            with at_most(model_seconds):
                cover = most_covered(season, dues, sessions)
        except TooLong:
            cover = None
        result["solver"] = time.monotonic() - begin
        if cover:
            result.update(cover=cover, due=due, by_heat=by_heat)
        path = Path(folder) / f"season-{number}.yaml"
        path.write_text(text, encoding="utf-8")
        plan, result["seconds"], fault = run(thawline, path)
        if fault:
            result["faults"].append(("run", fault))
        if plan is None:
            return result
        if cover is None:
            result["unjudged"] = True
            return result
        world = World(season, Limits.read(text))
        here = world.sessions(dues)
        choices = cover.choices > 0 or any(clashes_of(world, here).values())
        result["faults"] += Judge(season, passes, dues, sessions, plan, cover).judge()
        got = plan["verdict"]["covered_head"]
        result["got"] = got
        # Animals due at set hours come first, so the most is exact, but where boxes change hands. Only
        # where straws are short for a group planned twice over are they set aside for it beforehand.
        set_aside = cover.short and any(twice_planned(d.group) for d in dues)
        least, most = cover.least, cover.most
        if choices:
            # Days may be divided between sites as well; that model knows no straws.
            try:
                with at_most(model_seconds):
                    divided = most_divided(world, here, got).head
            except TooLong:
                result["unjudged"] = True
                return result
            proven = plan["search"]["proven"] == plan["search"]["parts"]
            if cover.short:
                most = max(most, divided)
            elif proven:
                least = most = max(most, divided)
            else:
                least, most = min(got, least), max(most, divided)
            result["divided"] = got > cover.most
        if got > most or (got < least and not set_aside):
            result["faults"].append(("coverage", f"{least} to {most} of {due} head can be covered, the plan covers {got}"))
    except Exception:
        result["faults"].append(("check", traceback.format_exc(limit=4)))
    return result


def mix_of(results):
    """How the seasons are mixed, and what is missing for them to prove anything."""
    known = [r for r in results if "cover" in r]
    n = len(known)
    print("random seasons by kind: " + ", ".join(f"{k} {c}" for k, c in Counter(r["kind"] for r in results).items()))
    due = [r for r in known if r["due"] > 0]
    covered = sum(r["cover"].most == r["due"] for r in due)
    choices = sum(r["cover"].choices > 0 for r in known)
    boxes = sum(r["cover"].box_choices > 0 for r in known)
    short = sum(r["cover"].short for r in known)
    competing = sum(r["cover"].after_heat < r["cover"].most for r in known)
    heat = sum(r["by_heat"] > 0 for r in known)
    print(
        f"{n} random seasons: {covered} can be covered, {len(due) - covered} not, {n - len(due)} with nobody due; "
        f"{choices} with presence choices, {boxes} with box choices, {short} short of straws, "
        f"{competing} where straws are short for set hours and heat alike; "
        f"{heat} with half-days of detected heat, {sum(r['by_heat'] for r in known)} of them"
    )
    print(f"{sum(r.get('divided', False) for r in known)} cover more for a day divided between sites")
    hands = [r for r in known if r["cover"].least < r["cover"].most]
    fewer = sum(r.get("got", 0) < r["cover"].most for r in hands)
    print(f"{len(hands)} in which a slot counts a cow whose box is taken, {fewer} of them cover fewer for it")
    missing = []
    for words, count, least in [
        ("covered", covered, n / 4),
        ("not covered", len(due) - covered, n / 4),
        ("with presence choices", choices, min(20, n / 10)),
        ("with box choices", boxes, min(10, n / 20)),
        ("short of straws", short, min(10, n / 20)),
        ("with half-days of detected heat", heat, min(20, n / 8)),
    ]:
        if count < least:
            missing.append(f"too few seasons {words}: {count}")
    return missing


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--thawline", default=str(ROOT / "target/release/thawline"), help="the program")
    parser.add_argument("--seasons", type=int, default=220)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--new", type=int, default=0, help="so many seasons more, of a new seed")
    parser.add_argument("--only", type=int, help="one season by its number, shown in full")
    parser.add_argument("--file", type=Path, help="one season file instead of random ones")
    parser.add_argument("--model-seconds", type=float, default=60, help="a model that takes longer judges nothing")
    parser.add_argument("--keep", type=Path, help="put the seasons that fail in this folder")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    args = parser.parse_args()
    protocols = read_protocols(ROOT / "protocols")
    thawline = str(Path(args.thawline).resolve())

    if args.file:
        made = [(args.file.stem, "file", args.file.read_text(encoding="utf-8"))]
    elif args.only is not None:
        made = [(args.only, *make(args.seed, args.only, protocols))]
    else:
        made = [(p.stem, "corner", p.read_text(encoding="utf-8")) for p in sorted(HERE.glob("seasons/*.yaml"))]
        made += [(n, *make(args.seed, n, protocols)) for n in range(args.seasons)]
        new = int.from_bytes(os.urandom(4), "big")
        made += [(f"{new}-{n}", *make(new, n, protocols)) for n in range(args.new)]
        if args.new:
            print(f"new seed {new}; one season again: coverage_check.py --seed {new} --only NUMBER", flush=True)
    alone = len(made) == 1
    begin = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        jobs = [(n, kind, text, thawline, protocols, folder, args.model_seconds) for n, kind, text in made]
        with Pool(min(args.jobs, len(jobs))) as pool:
            results = list(pool.imap(check, jobs, chunksize=1))

    if alone:
        print(made[0][2])
        print({k: v for k, v in results[0].items() if k != "faults"})
    failed = [r for r in results if r["faults"]]
    for r in failed:
        print(f"season {r['number']} ({r['kind']}) failed:")
        for kind, words in r["faults"][: None if alone else 4]:
            print(f"  {kind}: {words}")
        if not alone and len(r["faults"]) > 4:
            print(f"  and {len(r['faults']) - 4} more")
        if args.keep:
            args.keep.mkdir(parents=True, exist_ok=True)
            text = next(text for n, _, text in made if n == r["number"])
            name = f"season-{args.seed}-{r['number']}" if isinstance(r["number"], int) else f"season-{r['number']}"
            (args.keep / f"{name}.yaml").write_text(text, encoding="utf-8")
    kinds = Counter(kind for r in failed for kind in {k for k, _ in r["faults"]})
    if kinds:
        print("seasons by kind of fault: " + ", ".join(f"{k} {n}" for k, n in kinds.most_common()))
    seconds = sorted(r["seconds"] for r in results)
    slow = [r for r in results if r["seconds"] > SLOW_SECONDS]
    print(
        f"the program took {sum(seconds):.1f} s in all, median {seconds[len(seconds) // 2]:.2f} s, "
        f"most {seconds[-1]:.2f} s; {len(slow)} above {SLOW_SECONDS} s"
        + "".join(f", season {r['number']}: {r['seconds']:.1f} s" for r in slow[:10])
    )
    solver = [r["solver"] for r in results if "solver" in r]
    all_in = time.monotonic() - begin
    print(f"our solver took {sum(solver):.1f} s, most {max(solver, default=0):.2f} s; all in {all_in:.0f} s")
    missing = [] if alone else mix_of([r for r in results if isinstance(r["number"], int)])
    unjudged = sum(r.get("unjudged", False) for r in results)
    if unjudged:
        print(f"{unjudged} planned, and not judged: a model took more than {args.model_seconds:g} s")
    if unjudged > 1 + MOST_UNJUDGED * len(results):
        missing.append(f"too many seasons not judged: {unjudged}")
    for words in missing:
        print(words)
    print(f"{len(results) - len(failed)} passed, {len(failed) + len(missing)} failed")
    return 1 if failed or missing else 0


if __name__ == "__main__":
    sys.exit(main())
