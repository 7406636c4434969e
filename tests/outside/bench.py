"""Times `thawline plan` beside two general solvers, HiGHS and CP-SAT, on the same seasons. No part of the checks.

    pip install -r tests/outside/requirements.txt
    python tests/outside/bench.py --thawline target/release/thawline --seasons 3 --seconds 60

The solvers have the model of `cover_model.py`, by 15-minute slots: who goes to which whole session. The program may
divide a day between sites as well and count by the minute, so it may breed more than they can. Prints one row a season.
"""

import argparse
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.dont_write_bytecode = True

from cover_model import whole_sessions  # noqa: E402
from crew import sessions_of  # noqa: E402
from dates import date_season  # noqa: E402
from reading import read_protocols, read_season  # noqa: E402

ROOT = Path(__file__).resolve().parents[2]


def made(seed, groups, technicians, days, sites):
    """Many groups at some sites, and too few people (invented)."""
    rng = random.Random(f"bench/{seed}/{groups}/{technicians}/{days}/{sites}")
    lines = ["format: thawline.season/1", f"name: Bench {seed}", "zone: America/Denver", "sites:"]
    for s in range(sites):
        roads = ", ".join(f"s{o}: {rng.randrange(15, 91)}" for o in range(s + 1, sites))
        boxes = rng.choice([1, 2, 2, 3])
        lines.append(f"  - {{id: s{s}, injections_head_per_hour: 90, breeding_boxes: {boxes}, minutes_to: {{{roads}}}}}")
    lines.append("groups:")
    for g in range(groups):
        day, hour = rng.randrange(days), rng.randrange(12, 19)
        lines.append(
            f"  - {{id: g{g}, site: s{rng.randrange(sites)}, class: cow, head: {rng.randrange(60, 181)}, order: mixed, "
            f'protocol: cow-7-day-co-synch-insert, start: "2027-05-{3 + day:02}T{hour}:00", bulls: [Ash 1]}}'
        )
    lines.append("crew:")
    for t in range(technicians):
        pace = rng.randrange(25, 46) / 10
        lines.append(f'  - {{id: t{t}, minutes_per_cow: {pace}, minutes_spread: 0.5, helper: true, '
                     'shifts: [{from: "06:00", to: "20:00"}]}')
    return "\n".join([*lines, "semen: [{bull: Ash 1, straws: 99999}]", ""])


def planned(thawline, path):
    """Head bred, the gap told in percent, and seconds of processor time."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([thawline, "plan", path, "--json"], capture_output=True, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    plan = json.loads(done.stdout)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return plan["verdict"]["due_head"], plan["verdict"]["covered_head"], plan["search"]["gap_percent"], used


def highs(model, wanted, seconds):
    """Head bred, and the most that any could."""
    found = model.solved(wanted, seconds)
    head = None if found.x is None else round(-found.fun)
    bound = found.mip_dual_bound
    return head, None if bound is None else round(-bound)


def cp_sat(model, wanted, seconds):
    from ortools.sat.python import cp_model

    program = cp_model.CpModel()
    all_vars = [program.new_int_var(0, int(upper), "") for upper in model.upper]
    for terms, bound in model.rows:
        program.add(sum(c * all_vars[v] for c, v in terms) <= bound)
    program.maximize(sum(all_vars[v] for v in wanted))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(program)
    head = round(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None
    return head, round(solver.best_objective_bound)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--thawline", default=str(ROOT / "target/release/thawline"), help="the program")
    parser.add_argument("--seasons", type=int, default=3)
    parser.add_argument("--groups", type=int, default=100)
    parser.add_argument("--technicians", type=int, default=8)
    parser.add_argument("--days", type=int, default=10)
    parser.add_argument("--sites", type=int, default=12)
    parser.add_argument("--seconds", type=float, default=60, help="for each solver")
    args = parser.parse_args()
    protocols = read_protocols(ROOT / "protocols")
    print("| season | head due | plan | gap told | processor time | HiGHS, bound | CP-SAT, bound |")
    print("|---|---|---|---|---|---|---|")
    for seed in range(args.seasons):
        text = made(seed, args.groups, args.technicians, args.days, args.sites)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "season.yaml"
            path.write_text(text, encoding="utf-8")
            due, head, gap, used = planned(args.thawline, path)
        season = read_season(text, protocols)
        dues = date_season(season)[1]
        model, wanted = whole_sessions(season, dues, sessions_of(season, dues))
        cells = [seed, due, head, f"{gap} %", f"{used:.1f} s"]
        for solver in (highs, cp_sat):
            begin = time.monotonic()
            cells.append("{}, {} ({:.0f} s)".format(*solver(model, wanted, args.seconds), time.monotonic() - begin))
        print("| " + " | ".join(map(str, cells)) + " |", flush=True)


if __name__ == "__main__":
    main()
