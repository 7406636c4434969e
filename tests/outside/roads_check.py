"""Straight lines between sites against geopy: its great circle, and its geodesic on the ellipsoid.

The program's plan says how far a technician drives from home to the session; the coordinates are random
ones all over the globe, some of them near a pole, the date line, or each other.
"""

import argparse
import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path

from geopy import distance

# IUGG mean radius, km.
EARTH = 6371.0088
SEASON = """format: thawline.season/1
name: A drive
zone: UTC
sites:
  - {{id: town, injections_head_per_hour: 80, breeding_boxes: 1, minutes_to: {{yard: 20}}, latitude: {a[0]}, longitude: {a[1]}}}
  - {{id: yard, injections_head_per_hour: 80, breeding_boxes: 1, latitude: {b[0]}, longitude: {b[1]}}}
groups:
  - {{id: a, site: yard, class: cow, head: 3, protocol: cow-co-synch, start: "2027-05-17T14:00", order: kept, bulls: [Ash 1]}}
crew: [{{id: ana, minutes_per_cow: 3, helper: true, home_site: town}}]
semen: [{{bull: Ash 1, straws: 9}}]
"""


def pair(dice):
    a = (round(dice.uniform(-89, 89), 4), round(dice.uniform(-180, 180), 4))
    if dice.random() < 0.5:
        # Sites of one outfit.
        b = (a[0] + dice.uniform(-0.5, 0.5), a[1] + dice.uniform(-0.5, 0.5))
    else:
        b = (dice.uniform(-89, 89), dice.uniform(-180, 180))
    b = (round(b[0], 4), round((b[1] + 180) % 360 - 180, 4))
    return a, b


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--thawline", required=True)
    parser.add_argument("--pairs", type=int, default=60)
    args = parser.parse_args()
    dice, worst, off = random.Random(6), 0.0, 0.0
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "s.yaml"
        for _ in range(args.pairs):
            a, b = pair(dice)
            file.write_text(SEASON.format(a=a, b=b))
            done = subprocess.run([args.thawline, "plan", file, "--json"], capture_output=True, check=False)
            if done.returncode not in (0, 1):
                sys.exit(f"{a} {b}: {done.stderr.decode()}")
            plan = json.loads(done.stdout)
            leave = plan["sessions"][0]["technicians"][0]["leaves"]
            if not leave["straight_line"]:
                sys.exit(f"{a} {b}: not said to be a straight line")
            sphere = distance.great_circle(a, b, radius=EARTH).km
            ellipsoid = distance.geodesic(a, b).km
            worst = max(worst, abs(leave["km"] - sphere))
            off = max(off, abs(leave["km"] - ellipsoid) / ellipsoid)
            both = plan["road"]["km"]
            if abs(both - 2 * sphere) > 0.006:
                sys.exit(f"{a} {b}: there and back {both}, and not {2 * sphere}")
            # Up to 80 miles an hour nothing is said, beyond it something is.
            fast = sphere - 1 > 80 * 1.609344 * 20 / 60
            if fast != any(f["code"] == "S127" for f in plan["findings"]):
                sys.exit(f"{a} {b}: {sphere} km in 20 minutes: {plan['findings']}")
    if worst > 0.006 or off > 0.006:
        sys.exit(f"off by {worst} km, {off:.2%} of the ellipsoid's")
    print(f"roads: {args.pairs} straight lines within {worst:.4f} km of the sphere's, {off:.2%} of the ellipsoid's")


if __name__ == "__main__":
    main()
