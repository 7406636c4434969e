"""Tables beside a wide season: herds, scores and straws, as spreadsheets leave them. Messy, but valid."""

import csv
import io


def _write(maker, heading, rows):
    """Comma-separated values with the separators, line ends and marks that programs write."""
    out = io.StringIO()
    end = maker.pick("\n", "\n", "\r\n")
    pen = csv.writer(out, delimiter=maker.pick(",", ",", ",", ";", "\t"), lineterminator=end)
    pen.writerow(heading)
    pen.writerows(rows)
    text = out.getvalue()
    if maker.one_in(6):
        text = "\ufeff" + text
    if maker.one_in(6):
        text = text.removesuffix(end) if maker.one_in(2) else text + end
    return text


def _electronic(maker):
    """A transponder's 15 digits with the code of a test, 999."""
    return f"999{maker.rng.randrange(1, 2**38):012}"


def herd_table(maker, group):
    """The text of a herd file, and the ids of its animals."""
    rng, heifer = maker.rng, group["class"] == "heifer"
    head = group["head"]
    pens = group.get("pen_head")
    if pens is None:
        n = group.get("pens", 1)
        pens = [head // n + (1 if k < head % n else 0) for k in range(n)]
    rows = head if not maker.one_in(8) else max(1, head + rng.randint(-3, 3))
    at_all = maker.one_in(4)
    ordered = group.get("order") == "kept" and rows == head and not maker.one_in(3)
    columns = ["animal"]
    of = ["class", "birth_date", "body_condition", maker.pick("weight_lb", "weight_kg"), "weighed_date", "mating",
          "second_mating", "sexed", "breed", "sire", "dam", "notes"]
    of.append(maker.pick("mature_weight_lb", "mature_weight_kg", "frame_score"))
    of.append("tract_score" if heifer else "last_calving_date")
    columns += of if at_all else maker.some(of)
    if ordered:
        columns += ["pen", "chute_order"]
    rng.shuffle(columns)
    places = [(p + 1, k + 1) for p, n in enumerate(pens) for k in range(n)]
    rng.shuffle(places)
    seen, table = [], []
    for n in range(rows):
        name = _electronic(maker) if maker.one_in(8) else f"{group['id']}-{n + 1}"
        seen.append(name)
        animal = {
            "animal": name,
            "class": "heifer" if heifer else "cow",
            "birth_date": maker.day(-500, -380) if heifer else maker.day(-4000, -1100),
            "last_calving_date": maker.day(-130, -20),
            "body_condition": maker.pick(1, 4, 4.5, 5, 5.5, 6, 9),
            "weight_lb": rng.randint(650, 1500),
            "weight_kg": rng.randint(300, 700),
            "weighed_date": maker.day(-60, -25),
            "mature_weight_lb": rng.randint(1000, 1700),
            "mature_weight_kg": rng.randint(450, 770),
            "frame_score": maker.pick(3, 5, 6, 8),
            "tract_score": maker.pick(1, 2, 3, 4, 5),
            "mating": maker.pick(*maker.bulls) if maker.one_in(3) else "",
            "second_mating": maker.pick(*maker.bulls) if maker.one_in(4) else "",
            "sexed": "yes" if maker.one_in(4) else maker.pick("", "no"),
            "breed": maker.pick("Angus", "", "x"),
            "sire": maker.pick("", "", *maker.bulls, "Old Ridge 2"),
            "dam": maker.pick("", "C-17", "A1"),
            "notes": maker.pick("", "", "calm, second calf", "=2+3", "Ñ", "said \"no\""),
        }
        if animal["second_mating"] == animal["mating"]:
            animal["second_mating"] = ""
        if ordered:
            animal["pen"], animal["chute_order"] = places[n]
        keep = {"animal", "pen", "chute_order"}
        row = ["" if c not in keep and maker.one_in(7) else animal[c] for c in columns]
        if maker.one_in(9):
            row = [f" {c} " for c in row]
        table.append(row)
    return _write(maker, columns, table), seen


def scores_table(maker, ids):
    of = maker.some(ids, 1)
    score = lambda: maker.pick(0, 50, 100, maker.real(0, 100, 2))  # noqa: E731
    if maker.one_in(2):
        rows = [[a, b, score()] for a in of for b in maker.some(maker.bulls)]
        maker.rng.shuffle(rows)
        return _write(maker, ["animal", "bull", "score"], rows)
    bulls = maker.some(maker.bulls, 1)
    return _write(maker, ["animal", *bulls], [[a, *(score() for _ in bulls)] for a in of])


def straw_table(maker, rows):
    heading = ["bull", "straws"] + [
        c for c in ("name", "straw_ml", "tank", "canister", "cane", "goblet", "sort") if any(c in r for r in rows)
    ]
    maker.rng.shuffle(heading)
    return _write(maker, heading, [[r.get(c, "") for c in heading] for r in rows])
