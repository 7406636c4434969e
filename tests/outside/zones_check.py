"""Every change of the clocks from 2000 to 2040, in every zone, against Python's zoneinfo on the newest tzdata; and
the country of each zone against its tables.

    pip install -r tests/outside/requirements.txt
    cargo run --release --example clock_changes >changes.txt
    python tests/outside/zones_check.py changes.txt
"""

import os
import sys
import zoneinfo
from datetime import datetime, timedelta, timezone
from importlib.resources import files
from pathlib import Path

import tzdata

# The package alone: the machine's zone data may be old.
zoneinfo.reset_tzpath(to=[])
UTC = timezone.utc
FROM, TO = datetime(2000, 1, 1, tzinfo=UTC), datetime(2041, 1, 1, tzinfo=UTC)


def read(path):
    with open(path, encoding="utf-8") as lines:
        release = next(lines).split()[1]
        zones = {}
        for line in lines:
            if line.startswith("  "):
                at, offset, name, _ = line.split()
                changes.append((int(at), int(offset), name))
            else:
                name, first = line.split()
                changes = []
                zones[name] = (int(first), changes)
    return release, zones


def offset(zone, at):
    return int(zone.utcoffset(at.astimezone(zone)).total_seconds())


def changes_of(zone):
    """The same by bisection: the clocks change at most once within two days."""
    found, low = [], FROM
    before = offset(zone, low)
    while low < TO:
        high = min(low + timedelta(days=2), TO)
        after = offset(zone, high)
        if after != before:
            a, b = int(low.timestamp()), int(high.timestamp())
            while b - a > 1:
                middle = (a + b) // 2
                if offset(zone, datetime.fromtimestamp(middle, UTC)) == before:
                    a = middle
                else:
                    b = middle
            at = datetime.fromtimestamp(b, UTC)
            found.append((b, after, at.astimezone(zone).tzname()))
            before = after
        low = high
    return found


def countries_wrong():
    """What the table of countries has against the tables of the time zone database."""
    table = Path(__file__).resolve().parents[2] / "src/trade/protocol/law/zones.txt"
    rows = [row.split() for row in table.read_text(encoding="utf-8").splitlines() if not row.startswith("#")]
    ours = {zone: all for zone, *all in rows}

    def read_tab(name):
        text = files("tzdata").joinpath("zoneinfo", name).read_text(encoding="utf-8")
        return {r.split("\t")[2]: r.split("\t")[0].split(",") for r in text.splitlines() if not r.startswith("#")}

    one, many = read_tab("zone.tab"), read_tab("zone1970.tab")
    text = files("tzdata").joinpath("zoneinfo", "tzdata.zi").read_text(encoding="utf-8")
    links = {row.split()[2]: row.split()[1] for row in text.splitlines() if row.startswith("L ")}
    wrong = [f"{zone}: no country" for zone in one if zone not in ours]
    for zone, all in ours.items():
        if zone in one:
            right = all[:1] == one[zone] and set(all) == set(many.get(zone, [])) | set(one[zone])
        else:
            right = len(all) == 1 and all[0] in many[links[zone]]
        wrong += [] if right else [f"{zone}: {all}"]
    print(f"{len(ours)} zones with a country, {len(wrong)} wrong")
    return wrong


def main():
    release, zones = read(sys.argv[1])
    newest = tzdata.IANA_VERSION
    listed = files("tzdata").joinpath("zones").read_text().split()
    failed = [f"{name}: not known to the program" for name in sorted(set(listed) - set(zones))]
    failed += countries_wrong()
    passed = changes = 0
    for name in sorted(set(zones) & set(listed)):
        zone = zoneinfo.ZoneInfo(name)
        theirs = (offset(zone, FROM), changes_of(zone))
        changes += len(theirs[1])
        if theirs == zones[name]:
            passed += 1
        else:
            ours, other = set(zones[name][1]), set(theirs[1])
            first = sorted(ours ^ other)[:3]
            failed.append(f"{name}: {first} in one of both only")
    print(f"the program has {release}, tzdata {newest}; {changes} changes compared")
    for line in failed:
        print(line)
    if failed and release != newest:
        print("the releases differ: take a newer release of the zone data")
    print(f"{passed} passed, {len(failed)} failed")
    return 1 if failed or passed < 500 else 0


if __name__ == "__main__":
    os.environ.pop("PYTHONTZPATH", None)
    sys.exit(main())
