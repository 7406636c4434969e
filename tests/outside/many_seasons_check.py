"""The examples for many seasons: planned by GNU parallel and gathered, against each plan read here.

The Kubernetes Job is held against the published schema of its kind (kubernetes-validate), and the scripts are
read by the shells they are for. What a machine lacks is told.
"""

import argparse
import csv
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import kubernetes_validate
import yaml

sys.dont_write_bytecode = True
ROOT = Path(__file__).resolve().parents[2]
HERE = ROOT / "examples/many-seasons"

from soak import PROTOCOLS  # noqa: E402
from wide_maker import Wide  # noqa: E402


def seasons(folder, wanted):
    """A list of seasons, each in a folder of its own, with one that is wrong."""
    paths, number = [], 0
    while len(paths) < wanted:
        season = Wide(7, number, PROTOCOLS, [])
        number += 1
        if season.planned and sum(g["head"] for g in season.raw["groups"]) < 100:
            place = folder / f"herd {number}"
            place.mkdir()
            for name, text in season.files.items():
                (place / name).write_text(text, encoding="utf-8", newline="")
            paths.append(f"{place.name}/season.yaml")
    (folder / "wrong.yaml").write_text("name: x\n")
    paths.insert(2, "wrong.yaml")
    # As some editors write it: other ends of lines, and none after the last.
    (folder / "seasons.txt").write_text("\r\n".join(paths), newline="")
    return paths


def expected(path):
    """The row of a plan."""
    if not path.exists():
        return ["", "", "", "", "", ""]
    plan = json.loads(path.read_text(encoding="utf-8"))
    verdict, work = plan["verdict"], [s for s in plan["sessions"] if s["head"]]
    head = [str(verdict[key]) for key in ("due_head", "covered_head", "uncovered_head")]
    first, last = (min(s["first_cow"] for s in work), max(s["last_cow"] for s in work)) if work else ("", "")
    return [*head, str(verdict["rules_broken"]).lower(), first, last]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--thawline", default=str(ROOT / "target/release/thawline"), help="the program")
    args = parser.parse_args()
    job = yaml.safe_load((HERE / "seasons.k8s.yaml").read_text())
    kubernetes_validate.validate(job, "1.31", strict=True)
    for script in ("plan-one", "gather"):
        subprocess.run(["sh", "-n", HERE / script], check=True)
    subprocess.run(["bash", "-n", HERE / "seasons.slurm"], check=True)
    missing = [tool for tool in ("make", "parallel", "jq") if not shutil.which(tool)]
    if missing:
        print(f"many seasons: files are valid; not run, for want of {', '.join(missing)}")
        return
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        paths = seasons(folder, 8)
        (folder / "bin").mkdir()
        (folder / "bin/thawline").symlink_to(Path(args.thawline).resolve())
        env = {**os.environ, "PATH": f"{folder / 'bin'}:{os.environ['PATH']}"}
        make = ["make", "-s", "-f", HERE / "Makefile", "table.csv"]
        # One season is wrong: that is told, and the others are planned.
        done = subprocess.run(make, cwd=folder, env=env, check=True, capture_output=True, text=True)
        assert "wrong.yaml: no plan" in done.stderr and "mend them" in done.stderr, done.stderr
        rows = list(csv.reader((folder / "table.csv").read_text().splitlines()))
        assert len(rows) == len(paths) + 1
        for line, (path, row) in enumerate(zip(paths, rows[1:]), 1):
            assert row == [path, *expected(folder / f"plans/{line}.json")], (row, path)
        assert rows[3] == ["wrong.yaml"] + [""] * 6
        # Mended, it alone is planned.
        shutil.copytree(folder / paths[0].split("/")[0], folder, dirs_exist_ok=True)
        (folder / "season.yaml").rename(folder / "wrong.yaml")
        before = {p: p.stat().st_mtime_ns for p in (folder / "plans").glob("*.json")}
        subprocess.run(make, cwd=folder, env=env, check=True)
        after = {p: p.stat().st_mtime_ns for p in (folder / "plans").glob("*.json")}
        assert set(after) - set(before) == {folder / "plans/3.json"} and before.items() <= after.items()
    print(f"many seasons: {len(paths)} planned by GNU parallel, and a table of them")


if __name__ == "__main__":
    main()
