"""A soak: random seasons as wide as the schema, through every command.

    pip install -r tests/outside/requirements.txt
    python tests/outside/soak.py --thawline target/release/thawline --seconds 180

Without `--seed` each run has new seasons; the seed is printed first and last. A fault is: exit code
3, a panic, a signal, an exit code 2 on a season that the manual allows, output that is no JSON or
table, two answers of one command, too much time, or a plan that `plan_check.py` finds unsound. `--only N` runs one season again,
`--shrink` makes it small while its fault stays. `--self-test` says whether it asks
everything and can fail.
"""

import argparse
import json
import os
import random
import re
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
import zlib
from collections import Counter
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from pathlib import Path

import yaml

sys.dont_write_bytecode = True
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from plan_check import check_plan, rows_of  # noqa: E402
from reading import read_protocols  # noqa: E402
from soak_self_test import keys_of, self_test  # noqa: E402
from soak_shrink import shrink  # noqa: E402
from wide_maker import Wide, dump  # noqa: E402

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
PROTOCOLS = read_protocols(ROOT / "protocols")


# Keys that an older program does not know; a comparison with one leaves them out.
YOUNG = ["allow", "country", "groups.calves.not_cycling_percent", "groups.columns", "groups.dates", "groups.days",
         "groups.overrule", "supplies.applicators", "supplies.disinfectant", "tanks.places_at_once", "units.clock"]
# Exit codes 2 that are an answer and no fault: command and code.
ANSWERS = [("choose", "S122")]  # no protocol fits the wishes


# Commands that are run twice now and then: the same bytes.
TWICE = {"plan", "choose", "cover", "chance", "thaw", "forecast", "supplies", "matings"}


class Run:
    """One command on one folder."""

    def __init__(self, thawline, folder, args, most_seconds):
        begin, used = time.monotonic(), _used()
        self.args = args
        try:
            done = subprocess.run(
                [thawline, *args], cwd=folder, capture_output=True, stdin=subprocess.DEVNULL,
                timeout=10 * most_seconds, preexec_fn=lambda: _at_most(2 * most_seconds),
            )
            self.code, self.out = done.returncode, done.stdout.decode("utf-8", "replace")
            self.err = done.stderr.decode("utf-8", "replace")
        except subprocess.TimeoutExpired:
            self.code, self.out, self.err = None, "", ""
        self.seconds, self.worked = time.monotonic() - begin, _used() - used

    def faults(self, most_seconds):
        """Other work on the machine makes no command slow: it must have worked for most of the time."""
        words = first_words(self.err or self.out)
        if self.code in (None, -signal.SIGXCPU, -signal.SIGKILL) and self.worked > most_seconds:
            return [("slow", f"{self.args[0]}: ended after {self.seconds:.0f} s, of which {self.worked:.0f} s at work")]
        if "panicked" in self.err:
            return [("panic", next(x for x in self.err.splitlines() if "panicked" in x))]
        if self.code is None:
            return [("hangs", f"{self.args[0]}: {self.seconds:.0f} s, of which {self.worked:.0f} s at work")]
        if self.code < 0:
            return [("signal", f"{self.args[0]}: signal {-self.code}")]
        if self.code == 2 and any(self.args[0] == name and words.startswith(f"error {code}") for name, code in ANSWERS):
            return []
        if self.code not in (0, 1):
            return [({2: "refused", 3: "internal"}.get(self.code, "exit code"), f"{self.args[0]}: {words}")]
        if self.seconds > most_seconds and self.worked > most_seconds:
            return [("slow", f"{self.args[0]}: {self.seconds:.0f} s, of which {self.worked:.0f} s at work")]
        return self.form()

    def form(self):
        if "--json" in self.args:
            try:
                json.loads(self.out)
            except ValueError:
                return [("no-json", f"{self.args[0]}: {first_words(self.out)}")]
        if any(a.startswith("--csv") for a in self.args) and self.out:
            rows = rows_of(self.out)
            if any(None in r or None in r.values() for r in rows):
                return [("ragged-table", f"{self.args[0]}: a row has more or fewer cells than the heading")]
        return []


def _at_most(seconds):
    resource.setrlimit(resource.RLIMIT_CPU, (int(seconds) + 1, int(seconds) + 5))


def _used():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def first_words(text):
    """The first error of a message, in a line."""
    lines = [x.strip() for x in text.splitlines() if x.strip()]
    at = next((n for n, x in enumerate(lines) if x.startswith("error")), 0)
    return " | ".join(lines[at : at + 4])[:400]


def like(kind, words):
    """The same for faults that differ in names, figures and places alone."""
    if kind.startswith(("unsound", "hint")):
        return kind, ""
    words = re.sub(r"`[^`]*`", "`…`", words)
    words = re.sub(r"\b[gG][-_]?(roup_)?\d+\b|\bherd-\d+\.csv", "…", words)
    words = re.sub(r"-?\d[\d.,:T+-]*", "0", words)
    people = "ana|burt|coe|dell|eve|fay|gus|hal"
    sites = "bench|creek|mesa|draw|flat|hollow"
    words = re.sub(rf"\b({people})\b", "who", words)
    return kind, re.sub(rf"…\S*|\b({sites})\b", "…", words)[:160]


def commands(rng, season, plan):
    """What to run on a season after its plan."""
    raw = season.raw
    form = rng.choice([[], ["--json"], ["--csv"]])
    units = rng.choice([[], [], ["--units", "us"], ["--units", "metric"]])
    group = ["--group", rng.choice(raw["groups"])["id"]] if rng.randrange(2) else []
    sessions = [s["id"] for s in plan["sessions"] if s["head"]] if plan else []
    out = ["--out", "out"] + (["--pdf", "--paper", rng.choice(["letter", "a4"])] if rng.randrange(4) == 0 else [])
    of = [["check", *form], ["check", *form]]
    if any("wishes" in g for g in raw["groups"]):
        of += [["choose", "--rows", "3", *form]]
    if season.planned:
        session = ["--session", rng.choice(sessions)] if sessions else []
        head = sum(g["head"] for g in raw["groups"])
        of += [
            ["plan", *rng.choice([[], ["--full"], ["--csv"]])],
            ["plan", *out],
            ["plan", "--json", *out],
            ["chance", "--runs", str(rng.choice([50, 500])), "--seed", str(rng.randrange(1000)), *session, *form],
            ["thaw", *session, *form] if rng.randrange(3) else ["thaw", *form],
            ["tank", *form],
            ["supplies", *form],
            ["forecast", *group, *rng.choice([[], ["--json"], ["--csv"], ["--csv=groups"], ["--csv=money"]])],
            ["matings", *form, *group],
            ["calendar", "--for", rng.choice(raw["crew"])["id"]],
        ]
        if head <= 150 and len(raw["groups"]) <= 3:
            who = rng.choice([[], [], ["--technicians", "1"], ["--technicians", raw["crew"][0]["id"]]])
            of.append(["cover", *session, *who, *rng.choice([[], ["--margin", "60"]]), *form])
        herds = [g["id"] for g in raw["groups"] if "herd" in g]
        if herds:
            of += [["herd", *form, *rng.choice([[], ["--all"], ["--group", rng.choice(herds)]])]] * 2
        if session:
            of.append(["thaw", *session, *rng.choice([["--page", "wall.html"], ["--pdf", "wall.pdf"]])])
    else:
        of += [["choose", "--rows", "5", *form], ["choose", "--write", "chosen.yaml"]]
    args = rng.choice(of)
    return [args[0], "season.yaml", *args[1:], *units]


def trial(thawline, files, args, folder, most_seconds):
    """Faults of one command on the files of a season, and the plan it printed, if it did."""
    for name, text in files.items():
        (Path(folder) / name).write_text(text, encoding="utf-8", newline="")
    run = Run(thawline, folder, args, most_seconds)
    faults = run.faults(most_seconds)
    plan = None
    if not faults and args[0] == "plan" and "--json" in args:
        plan = json.loads(run.out)
        faults = unsound(files, plan, run, args)
        if run.worked < 2 and zlib.crc32(run.out.encode()) % 4 == 0:
            faults += hint_holds(thawline, files, plan, folder, most_seconds)
    if not faults and "chosen.yaml" in args and run.code in (0, 1):
        then = Run(thawline, folder, ["plan", "chosen.yaml", "--json"], most_seconds)
        faults = then.faults(most_seconds)
        if not faults:
            chosen = {**files, "chosen.yaml": (Path(folder) / "chosen.yaml").read_text(encoding="utf-8")}
            faults = unsound(chosen, json.loads(then.out), then, ["plan", "chosen.yaml"])
    elif not faults and run.worked < 1 and args[0] in TWICE and zlib.crc32(repr(args).encode()) % 4 == 0:
        again = Run(thawline, folder, args, most_seconds)
        if (again.code, again.out) != (run.code, run.out) and "--out" not in args:
            faults = [("not the same", f"{args[0]}: run twice, it prints two answers")]
    return faults, plan, run


def hint_holds(thawline, files, plan, folder, most_seconds):
    """The first change that the plan advises breeds as many more as it says."""
    advised = [h for u in plan["uncovered"] for h in u.get("hints", [])]
    if not advised:
        return []
    season = yaml.safe_load(files["season.yaml"])
    for to_set in advised[0]["set"]:
        put_at(season, to_set["at"], to_set["to"])
    (Path(folder) / "advised.yaml").write_text(dump(season), encoding="utf-8")
    run = Run(thawline, folder, ["plan", "advised.yaml", "--json"], most_seconds)
    faults = [(f"hint: {kind}", f"{words}: {advised[0]}") for kind, words in run.faults(most_seconds)]
    if not faults:
        before, after = (p["verdict"]["covered_head"] for p in (plan, json.loads(run.out)))
        if after < before + advised[0]["head"]:
            faults = [("hint", f"{before} head are bred, {after} with the change advised: {advised[0]}")]
    return faults


def put_at(node, pointer, value):
    """Sets a value by its JSON Pointer (RFC 6901); `-` adds to a list, and what is missing is made."""
    steps = [s.replace("~1", "/").replace("~0", "~") for s in pointer.split("/")[1:]]
    for n, step in enumerate(steps):
        last = n == len(steps) - 1
        fresh = value if last else [] if steps[n + 1] == "-" else {}
        if isinstance(node, list):
            if step == "-":
                node.append(fresh)
                step = len(node) - 1
            step = int(step)
        elif not last and step not in node:
            node[step] = fresh
        if last:
            node[step] = value
        node = node[step]


def unsound(files, plan, run, args):
    well = plan["verdict"]["covered"] and not plan["verdict"]["rules_broken"]
    if run.code == 0 and not well:
        return [("exit code", f"plan: 0, and {plan['verdict']['words']}")]
    try:
        return [(f"unsound: {kind}", words) for kind, words in check_plan(files, plan, PROTOCOLS, args[1])]
    except Exception:
        return [("check", traceback.format_exc(limit=-3))]


def one_season(job):
    """Runs one season through its commands: its number, seconds by command, faults with their command."""
    thawline, seed, number, most_seconds, keep, left_out = job
    result = {"number": number, "faults": [], "seconds": []}
    try:
        season = Wide(seed, number, PROTOCOLS, left_out)
    except Exception:
        result["faults"].append(("maker", traceback.format_exc(limit=-3), []))
        return result
    result["kind"] = season.kind
    rng = random.Random(f"{seed}/{number}/commands")
    with tempfile.TemporaryDirectory() as folder:
        plan = None
        if season.planned:
            args = ["plan", "season.yaml", "--json"]
            faults, plan, run = trial(thawline, season.files, args, folder, most_seconds)
            result["seconds"].append((run.seconds, "plan"))
            result["faults"] += [(k, w, args) for k, w in faults]
        more = 1 if season.planned else 2
        for _ in range(more if rng.randrange(3) or not season.planned else 0):
            if any(not kind.startswith("unsound") for kind, _, _ in result["faults"]):
                break
            args = commands(rng, season, plan)
            faults, _, run = trial(thawline, season.files, args, folder, most_seconds)
            result["seconds"].append((run.seconds, args[0]))
            result["faults"] += [(k, w, args) for k, w in faults]
    if result["faults"] and keep:
        put(Path(keep) / f"{seed}-{number}", season.files, result["faults"])
    return result


def put(folder, files, faults):
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    said = [f"thawline {' '.join(args)}\n  {kind}: {words}\n" for kind, words, args in faults]
    (folder / "fault.txt").write_text("".join(said), encoding="utf-8")


def made_small(thawline, seed, number, most_seconds, keep, left_out):
    """Shrinks one season's first fault."""
    result = one_season((thawline, seed, number, most_seconds, None, left_out))
    if not result["faults"]:
        print("no fault")
        return
    kind, words, args = result["faults"][0]
    season = Wide(seed, number, PROTOCOLS, left_out)

    def holds(files):
        with tempfile.TemporaryDirectory() as folder:
            found, _, _ = trial(thawline, files, args, folder, most_seconds)
            return any(like(k, w) == like(kind, words) for k, w in found)

    files = shrink(season.raw, season.files, holds)
    print(files["season.yaml"])
    with tempfile.TemporaryDirectory() as folder:
        found, _, _ = trial(thawline, files, args, folder, most_seconds)
    for k, w in found[:5]:
        print(f"{k}: {w}")
    put(Path(keep or "target/soak") / f"{seed}-{number}-small", files, [(k, w, args) for k, w in found])


def soak(args, thawline, seed, left_out):
    groups, shown, seconds, done = Counter(), {}, [], 0
    failed, begin, ended = 0, time.monotonic(), []
    numbers = iter([args.only] if args.only is not None else range(args.first, args.first + args.seasons))
    with ProcessPoolExecutor(args.jobs) as pool:
        waiting = set()
        # Asked to end, it tells what it has seen.
        signal.signal(signal.SIGTERM, lambda *_: ended.append(True))
        while True:
            while len(waiting) < 2 * args.jobs and time.monotonic() - begin < args.seconds and not ended:
                number = next(numbers, None)
                if number is None:
                    break
                waiting.add(pool.submit(one_season, (thawline, seed, number, args.most_seconds, args.keep, left_out)))
            if not waiting:
                break
            ready, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            for r in (x.result() for x in ready):
                done += 1
                seconds += [(s, name, r["number"]) for s, name in r["seconds"]]
                failed += bool(r["faults"])
                for key in {like(k, w): (k, w, a) for k, w, a in reversed(r["faults"])}.items():
                    groups[key[0]] += 1
                    if groups[key[0]] <= (1 if args.only is None else 99):
                        kind, words, of = key[1]
                        print(f"{seed}/{r['number']} {kind}: {words.strip()[-600:]}\n    thawline {' '.join(of)}", flush=True)
                    shown.setdefault(key[0], []).append(r["number"])
    if groups:
        print("faults, by likeness:")
        for key, n in groups.most_common():
            print(f"  {n} x {': '.join(filter(None, key))}  [{', '.join(map(str, shown[key][:8]))}]")
    seconds.sort(reverse=True)
    if seconds:
        print(f"{len(seconds)} commands; slowest: " + ", ".join(f"{s:.1f} s {name} (season {n})" for s, name, n in seconds[:5]))
    return done - failed, failed


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--thawline", default=str(ROOT / "target/release/thawline"), help="the program")
    parser.add_argument("--seed", type=int, help="a new one unless given")
    parser.add_argument("--seconds", type=float, default=float("inf"))
    parser.add_argument("--seasons", type=int, default=10**9)
    parser.add_argument("--first", type=int, default=0, help="number of the first season")
    parser.add_argument("--only", type=int, help="one season by its number, all its faults shown")
    parser.add_argument("--shrink", action="store_true", help="with --only: make the season small")
    parser.add_argument("--most-seconds", type=float, default=20, help="a command that takes longer is a fault")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--keep", help="put the seasons that fail in this folder")
    parser.add_argument("--self-test", action="store_true", help="is every key used, and can the checker fail?")
    args = parser.parse_args()
    thawline = str(Path(args.thawline).resolve())
    if args.self_test:
        return 0 if self_test(thawline, PROTOCOLS, min(args.seasons, 2000)) else 1
    seed = args.seed if args.seed is not None else int.from_bytes(os.urandom(4), "big")
    left_out = sorted(set(YOUNG) - keys_of(thawline))
    if args.shrink:
        made_small(thawline, seed, args.only, args.most_seconds, args.keep, left_out)
        return 0
    if args.seconds == float("inf") and args.seasons == 10**9 and args.only is None:
        args.seconds = 180
    again = f"seed {seed}; one season again: soak.py --seed {seed} --only NUMBER --keep FOLDER"
    print(again, flush=True)
    passed, failed = soak(args, thawline, seed, left_out)
    print(again)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
