"""Matings of random seasons against an assignment by SciPy, with rules read anew.

Each season has groups of cows and heifers that share bulls; each animal is a row, each straw a
column, and going without a column of her own. What the program reports must be as good in every
part, for the first bulls and for the backups that are left.
"""

import argparse
import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from scipy.optimize import linear_sum_assignment

MATED = 1
NEVER = -(10**15)


def season(dice):
    """Text of the files, and the facts they are made from."""
    bulls = [f"B{n}" for n in range(dice.randint(2, 9))]
    facts = {
        b: {
            # Canes in the file's order: straws, and whether the cane says that they are sexed.
            "canes": [
                (dice.randint(0, 30), dice.random() < 0.4) for _ in range(dice.randint(1, 4))
            ],
            "ease": dice.random() < 0.3,
            # All of his straws, whatever the canes say.
            "sexed": dice.random() < 0.2,
            "sire": dice.choice(["S1", "S2", "B0", None]),
            "dam": dice.choice(["D1", "D2", None, None]),
        }
        for b in bulls
    }
    groups = []
    for g in range(dice.randint(1, 3)):
        may = dice.sample(bulls, dice.randint(1, len(bulls)))
        heifers = dice.random() < 0.5
        animals = [
            {
                "id": f"g{g}-{n}",
                "sire": dice.choice([*bulls, "S1", "S2", None]),
                "dam": dice.choice(["D1", "D2", "D3", None]),
                "sexed": dice.random() < 0.4,
                "scores": {b: dice.randint(0, 400) * 25 for b in bulls if dice.random() < 0.6},
            }
            for n in range(dice.randint(1, 70))
        ]
        groups.append({"id": f"g{g}", "bulls": may, "heifers": heifers, "animals": animals})
    return facts, groups


def written(folder, facts, groups):
    """Writes the files of a season."""
    lines = ["format: thawline.season/1", "name: Matings (invented)", "zone: America/Denver"]
    lines.append("sites: [{id: yard, injections_head_per_hour: 80, breeding_boxes: 2}]")
    lines.append("groups:")
    for g in groups:
        kind = "heifer" if g["heifers"] else "cow"
        lines.append(
            f"  - {{id: {g['id']}, site: yard, class: {kind}, head: {len(g['animals'])}, "
            f"protocol: {kind}-7-day-co-synch-insert, start: 2027-05-03T20:00, "
            f"bulls: [{', '.join(g['bulls'])}], herd: {g['id']}.csv}}"
        )
        rows = ["animal,sire,dam,sexed"]
        for a in g["animals"]:
            rows.append(
                f"{a['id']},{a['sire'] or ''},{a['dam'] or ''},{'yes' if a['sexed'] else ''}"
            )
        (folder / f"{g['id']}.csv").write_text("\n".join(rows) + "\n")
    lines.append("crew: [{id: ana, minutes_per_cow: 3, helper: true}]")
    lines.append("semen:")
    canes = [(b, n, c) for b, f in facts.items() for n, c in enumerate(f["canes"])]
    random.Random(len(canes)).shuffle(canes)
    for b, n, (straws, sexed) in canes:
        sort = ", sort: sexed" if sexed else ""
        lines.append(f"  - {{bull: {b}, straws: {straws}, cane: {b}-{n}{sort}}}")
    lines.append("bulls:")
    for b, f in facts.items():
        more = "".join(f", {k}: {f[k]}" for k in ("sire", "dam") if f[k] and f[k] != b)
        if f["sire"] == b:
            f["sire"] = None
        ease, sexed = str(f["ease"]).lower(), str(f["sexed"]).lower()
        lines.append(f"  - {{id: {b}, calving_ease: {ease}, sexed: {sexed}{more}}}")
    lines.append("scores: scores.csv")
    rows = ["animal,bull,score"]
    for g in groups:
        for a in g["animals"]:
            rows += [f"{a['id']},{b},{s / 100}" for b, s in a["scores"].items()]
    (folder / "scores.csv").write_text("\n".join(rows) + "\n")
    (folder / "s.yaml").write_text("\n".join(lines) + "\n")


def stores(facts):
    """Straws on hand by bull and sort."""
    all = {}
    for b, f in facts.items():
        for straws, sexed in f["canes"]:
            key = (b, sexed or f["sexed"])
            all[key] = all.get(key, 0) + straws
    return all


def worth(facts, group, animal, store):
    """Worth in four parts, or None where she may not have such a straw."""
    bull, sexed = store
    f = facts[bull]
    kin = animal["sire"] == bull
    kin |= animal["sire"] is not None and animal["sire"] == f["sire"]
    kin |= animal["dam"] is not None and animal["dam"] == f["dam"]
    if bull not in group["bulls"] or kin or (sexed and not animal["sexed"]):
        return None
    n = len(group["bulls"])
    by_order = (n - group["bulls"].index(bull)) * 10000 // n
    score = animal["scores"].get(bull, by_order)
    return (MATED, int(group["heifers"] and f["ease"]), score, int(sexed))


def best(facts, rows, left):
    """The best worth by SciPy; rows are (group, animal, bull not to have)."""
    columns = [s for s, n in left.items() for _ in range(min(n, len(rows)))]
    n = len(rows)
    # One number that keeps the order of the parts; doubles hold it exactly.
    by_sexed, by_score = 1, n + 1
    by_ease = by_score * (n * 10000 + 1)
    by_mated = by_ease * (n + 1)
    assert by_mated * (n + 1) < 2**53, "too large for doubles"
    table = np.full((n, len(columns) + n), 0.0)
    for i, (g, a, no) in enumerate(rows):
        of = {}
        for s in left:
            w = None if s[0] == no else worth(facts, g, a, s)
            of[s] = NEVER if w is None else (
                w[0] * by_mated + w[1] * by_ease + w[2] * by_score + w[3] * by_sexed
            )
        table[i, : len(columns)] = [of[s] for s in columns]
    i, j = linear_sum_assignment(table, maximize=True)
    total = [0, 0, 0, 0]
    for row, column in zip(i, j):
        if column < len(columns) and table[row, column] >= 0:
            g, a, _ = rows[row]
            total = [t + w for t, w in zip(total, worth(facts, g, a, columns[column]))]
    return total


def check(thawline, dice, folder):
    """One season; returns its head."""
    facts, groups = season(dice)
    written(folder, facts, groups)
    run = subprocess.run(
        [thawline, "matings", str(folder / "s.yaml"), "--json"], capture_output=True, text=True
    )
    assert run.returncode in (0, 1), run.stderr
    made = json.loads(run.stdout)
    left = stores(facts)
    totals = [[0] * 4, [0] * 4]
    first = []
    for g, m in zip(groups, made["groups"]):
        assert [a["id"] for a in g["animals"]] == [a["animal"] for a in m["animals"]]
        first += [(g, a, None, m) for a, m in zip(g["animals"], m["animals"])]
    expected = best(facts, [r[:3] for r in first], dict(left))
    for g, a, _, m in first:
        for n, key in enumerate(("straw", "backup")):
            if m[key]:
                store = (m[key]["bull"], m[key]["sexed"])
                w = worth(facts, g, a, store)
                assert w is not None, (a, store)
                totals[n] = [t + x for t, x in zip(totals[n], w)]
                left[store] -= 1
        assert not m["backup"] or not m["straw"] or m["backup"]["bull"] != m["straw"]["bull"]
    assert min(left.values()) >= 0
    assert totals[0] == expected == made["proof"]["worth"], (totals[0], expected)
    left = stores(facts)
    for straw in (m["straw"] for *_, m in first if m["straw"]):
        left[straw["bull"], straw["sexed"]] -= 1
    canes = {}
    for straw in (m[key] for *_, m in first for key in ("straw", "backup") if m[key]):
        if straw["cane"] is None:
            # Taken by the plan for an animal that has no mating.
            assert any(not m["straw"] for *_, m in first)
            continue
        canes[straw["cane"]] = canes.get(straw["cane"], 0) + 1
        straws, sexed = facts[straw["bull"]]["canes"][int(straw["cane"].split("-")[1])]
        assert canes[straw["cane"]] <= straws, "more straws than the cane has"
        assert straw["sexed"] == (sexed or facts[straw["bull"]]["sexed"])
    rows = [(g, a, m["straw"]["bull"] if m["straw"] else None) for g, a, _, m in first]
    expected = best(facts, rows, left)
    assert totals[1] == expected == made["backup_proof"]["worth"], (totals[1], expected)
    return len(first)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--thawline", required=True)
    parser.add_argument("--seasons", type=int, default=120)
    args = parser.parse_args()
    head = 0
    for seed in range(args.seasons):
        with tempfile.TemporaryDirectory() as folder:
            try:
                head += check(args.thawline, random.Random(seed), Path(folder))
            except AssertionError:
                print(f"season {seed} differs", file=sys.stderr)
                raise
    print(f"matings: {args.seasons} seasons of {head} animals are as good as SciPy's, backups too")


if __name__ == "__main__":
    main()
