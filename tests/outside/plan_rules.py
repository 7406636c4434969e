"""What must hold for a plan, read from its JSON against what was worked out here."""

from collections import Counter, defaultdict
from fractions import Fraction

from crew import slot_of
from cover_model import heat_head, twice_planned
from heat import band
from reading import moment


class Judge:
    def __init__(self, season, passes, dues, sessions, plan, cover):
        self.cover = cover  # what a second model counts; none where nobody counted
        self.season, self.passes, self.dues, self.sessions, self.plan = season, passes, dues, sessions, plan
        self.faults = []  # (kind, words)

    def fault(self, kind, words):
        self.faults.append((kind, words))

    def same(self, kind, what, expected, got):
        if expected != got:
            self.fault(kind, f"{what}: expected {expected}, got {got}")

    def moment(self, kind, what, text, expected=None):
        """The instant of a text, which must carry the zone's offset."""
        at, offset = moment(text)
        self.same("offset", what, self.season.clock.offset(at), offset)
        if expected is not None and at != expected:
            self.fault(kind, f"{what}: expected {self.local(expected)}, got {text}")
        return at

    def local(self, at):
        clock = self.season.clock
        return f"{clock.local(at).isoformat()} ({clock.offset(at)}, {float(at)})"

    def judge(self):
        self.whole_heads(self.plan, "plan")
        self.check_passes()
        self.match_sessions()
        self.check_slots()
        self.check_people()
        self.check_straws()
        self.check_totals()
        self.check_heat()
        return self.faults

    def whole_heads(self, node, path):
        if isinstance(node, dict):
            for key, value in node.items():
                where = f"{path}.{key}"
                if key.endswith("head") or key.endswith("straws") or key in ("animals", "pen"):
                    for x in value if isinstance(value, list) else [value]:
                        of_all = key == "pen" and x is None  # fed or watched as one group
                        if not isinstance(x, dict) and not of_all and (type(x) is not int or x < 0):
                            self.fault("whole-heads", f"{where} is {x}")
                self.whole_heads(value, where)
        elif isinstance(node, list):
            for n, value in enumerate(node):
                self.whole_heads(value, f"{path}[{n}]")

    def check_hours(self, what, expected, got):
        for key in ("earliest", "aim", "latest"):
            self.moment("dates", f"{what} {key}", got[key], getattr(expected, key))

    def check_passes(self):
        got = {p["id"]: p for p in self.plan["passes"]}
        self.same("dates", "passes", sorted(self.passes), sorted(got))
        self.same("dates", "number of passes", len(got), len(self.plan["passes"]))
        for name in self.passes.keys() & got.keys():
            p, q = self.passes[name], got[name]
            self.moment("dates", f"{name} start", q["start"], p.start)
            self.moment("dates", f"{name} end", q["end"], p.end)
            self.same("dates", f"{name} work", p.work, q["work"])
            self.same("dates", f"{name} head", p.head, q["head"])
            for key in ("first_day", "last_day"):
                day = getattr(p, key)
                self.same("dates", f"{name} {key}", day and day.isoformat(), q[key])
            self.same("dates", f"{name} has hours", p.hours is not None, q["hours"] is not None)
            if p.hours is not None and q["hours"] is not None:
                self.check_hours(name, p.hours, q["hours"])
            self.same("clock-doubt", f"{name} clock doubt", p.doubt, q["clock"] is not None)

    def match_sessions(self):
        """Pairs of a session worked out here and the plan's."""
        mine = {frozenset(d.id for d in s.dues): s for s in self.sessions}
        theirs = {frozenset(p["pass"] for p in s["pens"]): s for s in self.plan["sessions"]}
        self.same("sessions", "sessions", sorted(map(sorted, mine)), sorted(map(sorted, theirs)))
        self.pairs = [(mine[k], theirs[k]) for k in mine.keys() & theirs.keys()]
        due = {d.id: d for d in self.dues}
        for s, t in self.pairs:
            self.same("sessions", f"{t['id']} site", s.site, t["site"])
            self.moment("sessions", f"{t['id']} open", t["open"], s.open)
            self.moment("sessions", f"{t['id']} close", t["close"], s.close)
            for p in t["pens"]:
                d = due[p["pass"]]
                self.same("sessions", f"{d.id} head", d.head, p["head"])
                self.moment("dates", f"{d.id} counted from", p["counted_from"], d.start)
                self.moment("dates", f"{d.id} counted to", p["counted_to"], d.end)
                self.check_hours(f"{d.id} in its session", d.pen_hours(), p["hours"])

    def check_slots(self):
        """Every bred animal inside her hours, and every technician inside her rounds."""
        due = {d.id: d for d in self.dues}
        self.bred, animals = Counter(), defaultdict(list)
        for s, t in self.pairs:
            taken = defaultdict(list)
            by_person, in_boxes = Counter(), []
            for w in t["slots"]:
                d = due[w["pass"]]
                begin = self.moment("slots", f"{d.id} slot", w["start"])
                what = f"{d.id} by {w['technician']} in {w['start']}"
                k, rest = divmod(begin, self.season.slot)
                self.same("slots", f"{what}: off the grain", 0, rest)
                # Written to a hundredth of a minute: less than a second off.
                at = [begin + round(Fraction(str(m)) * 60) for m in w["bred_minutes"]]
                self.same("slots", f"{what}: moments", w["head"], len(at))
                self.same("slots", f"{what}: animals", w["head"] if d.kept else 0, len(w["animals"]))
                able = s.able.get(w["technician"])
                there = able.duty if able else set()
                for n, moment_of in enumerate(at):
                    self.same("slots", f"{what}: slot of {moment_of}", k, slot_of(moment_of, self.season.slot))
                    if int(k) not in there:
                        self.fault("capacity", f"{what}: off duty at {self.local(moment_of)}")
                    hours = d.animal(w["animals"][n] - 1) if d.kept and n < len(w["animals"]) else d.pen_hours()
                    if not hours.earliest <= moment_of <= hours.latest:
                        self.fault("hours", f"{what}: bred at {self.local(moment_of)}, outside her hours")
                taken[w["technician"]] += at
                by_person[w["technician"]] += w["head"]
                if able:
                    names = w["animals"] if d.kept else [None] * len(at)
                    in_boxes += [(x - able.rounds.cow, x, d.id, a) for x, a in zip(at, names)]
                self.bred[d.id] += w["head"]
                animals[d.id] += w["animals"]
            for who, at in taken.items():
                self.check_rounds(t["id"], who, s.able.get(who), sorted(at))
            self.check_alley(s, t["id"], in_boxes)
            self.same("sessions", f"{t['id']} head", sum(by_person.values()), t["head"])
            self.same(
                "sessions",
                f"{t['id']} technicians",
                {who: n for who, n in sorted(by_person.items())},
                {a["id"]: a["head"] for a in t["technicians"]},
            )
            for a in t["technicians"]:
                able, at = s.able.get(a["id"]), taken.get(a["id"])
                if not able or not at:
                    self.fault("capacity", f"{t['id']}: {a['id']} cannot work here")
                    continue
                self.same("pace", f"{a['id']} straws at once", able.rounds.straws, a["straws_at_once"])
                if abs(float(able.rounds.cow) / 60 - a["minutes_per_cow"]) > 0.006:
                    self.fault("pace", f"{a['id']} minutes a cow: {a['minutes_per_cow']}")
                self.moment("sessions", f"{a['id']} first cow", a["first_cow"], min(at))
                self.moment("sessions", f"{a['id']} last cow", a["last_cow"], max(at))
            for p in t["pens"]:
                self.same("sessions", f"{p['pass']} bred", self.bred[p["pass"]], p["bred_head"])
        missed = Counter()
        for u in self.plan["uncovered"]:
            missed[u["pass"]] += u["head"]
            animals[u["pass"]] += u["animals"]
        for d in self.dues:
            self.same("totals", f"{d.id} bred and missed", d.head, self.bred[d.id] + missed[d.id])
            if d.kept:
                self.same("totals", f"{d.id} animals", list(range(1, d.head + 1)), sorted(animals[d.id]))

    def check_rounds(self, name, who, able, at):
        """No cow sooner after another than the pace allows, and no round sooner after another. What
        is written is less than a second off."""
        if not able:
            return
        rounds = able.rounds
        for a, b in zip(at, at[1:]):
            if b - a < rounds.cow - 2:
                self.fault("capacity", f"{name}: {who} breeds at {self.local(a)} and already at {self.local(b)}")
        for a, b in zip(at, at[rounds.straws :]):
            if b - a < rounds.period - 2:
                self.fault("capacity", f"{name}: {who} is too fast for rounds of {rounds.straws} at {self.local(a)}")

    def check_people(self):
        """Nobody is at two places: the next straws go into the bath no sooner than the last cow
        before is bred and the road is driven."""
        stays = defaultdict(list)
        for s, t in self.pairs:
            for a in t["technicians"]:
                able = s.able.get(a["id"])
                if able is None:
                    continue
                first, last = moment(a["first_cow"])[0], moment(a["last_cow"])[0]
                begins = first - able.rounds.lead - able.rounds.cow
                stays[a["id"]].append((begins, last, s.site, t["id"]))
        for who, mine in stays.items():
            mine.sort()
            for (_, last, site, one), (begins, _, other, two) in zip(mine, mine[1:]):
                if begins < last + self.season.sites[site].road[other] - 2:
                    self.fault("two-places", f"{who} is at {one} and {two}")

    def check_alley(self, session, name, cows):
        """A cow is in a box for the minutes a cow before she is bred: never more cows than boxes. Those of
        a pen whose order is kept enter in that order, whoever breeds them."""
        boxes = self.season.sites[session.site].boxes
        ends = sorted([(enters + 2, 1) for enters, *_ in cows] + [(at - 1, -1) for _, at, *_ in cows])
        here = 0
        for at, step in ends:
            here += step
            if here > boxes:
                self.fault("boxes", f"{name}: {here} cows in {boxes} boxes at {self.local(at)}")
                break
        pens = defaultdict(list)
        for enters, _, due, animal in cows:
            if animal is not None:
                pens[due].append((animal, enters))
        for due, animals in pens.items():
            last = None
            for animal, enters in sorted(animals):
                if last is not None and enters < last - 2:
                    self.fault("order", f"{due}: {animal} enters before one in front of her, {self.local(enters)}")
                last = enters if last is None else max(last, enters)

    def check_straws(self):
        planned = Counter()
        groups = {g["id"]: g for g in self.plan["groups"]}
        for g in self.season.groups:
            straws = groups[g.id]["straws"]
            for b in straws:
                planned[b["bull"]] += b["straws"]
                if b["bull"] not in g.bulls:
                    self.fault("straws", f"{g.id}: {b['bull']} is not a bull of this group")
            aside = sum(b["straws"] for b in straws)
            steps = Counter()
            for d in self.dues:
                if d.group is g:
                    steps[d.step if twice_planned(g) else ""] += self.bred[d.id]
            need = max(steps.values(), default=0)
            if aside < need:
                self.fault("straws-missing", f"{g.id}: {need} head bred with {aside} straws set aside")
            # Planned twice over, as many as both steps together may take one each.
            most = min(sum(g.pens), sum(steps.values()))
            if aside > most + heat_head(g, self.dues):
                self.fault("straws-idle", f"{g.id}: {aside} straws set aside for {need} head")
        for b in self.plan["bulls"]:
            have = self.season.straws[b["id"]]
            self.same("straws", f"{b['id']} on hand", have, b["straws"])
            self.same("straws", f"{b['id']} planned", planned[b["id"]], b["planned_straws"])
            self.same("straws", f"{b['id']} left", have - planned[b["id"]], b["left_straws"])
            if planned[b["id"]] > have:
                self.fault("straws", f"{b['id']}: {planned[b['id']]} straws planned of {have}")
        for t in self.plan["sessions"]:
            brought = sum(b["straws"] for b in t["straws"])
            if brought != t["head"]:
                self.fault("session-straws", f"{t['id']}: {brought} straws brought for {t['head']} head")

    def check_totals(self):
        for a in self.plan["technicians"]:
            mine = [x["head"] for t in self.plan["sessions"] for x in t["technicians"] if x["id"] == a["id"]]
            self.same("totals", f"{a['id']} sessions", len(mine), a["sessions"])
            self.same("totals", f"{a['id']} head", sum(mine), a["head"])
        v = self.plan["verdict"]
        due, bred = sum(d.head for d in self.dues), sum(self.bred.values())
        heat = [g for g in self.season.groups if "estrus" in g.protocol.kind]
        by_heat = sum(sum(d.head for d in g.half_days[0]) for g in heat if g.half_days)
        unplanned = sum(heat_head(g, self.dues) for g in heat if not g.half_days)
        not_seen = sum(heat_head(g, self.dues) for g in heat if g.half_days)
        self.same("totals", "season head", sum(sum(g.pens) for g in self.season.groups), v["season_head"])
        self.same("totals", "due head", due, v["due_head"])
        self.same("totals", "covered head", bred, v["covered_head"])
        self.same("totals", "uncovered head", due - bred, v["uncovered_head"])
        self.same("totals", "head by heat", by_heat, v["by_heat_head"])
        self.same("totals", "head by heat without a number a day", unplanned, v["unplanned_head"])
        self.same("totals", "head not seen in heat", not_seen, v["not_seen_head"])
        self.same("totals", "covered", due == bred, v["covered"])
        # Days that could be divided in too many ways are not searched to the end.
        if self.cover and self.cover.choices == 0 and not any(twice_planned(g) for g in self.season.groups):
            proven = self.plan["search"]["parts"] == self.plan["search"]["proven"]
            self.same("totals", f"proven with {bred} of at most {self.cover.most} head", bred == self.cover.most, proven)

    def check_heat(self):
        """Half-days of groups bred by detected heat, with their bands."""
        given = {g["id"]: g["heat"] for g in self.plan["groups"]}
        for g in self.season.groups:
            heat = given[g.id]
            self.same("heat", f"{g.id} is planned", g.half_days is not None, heat is not None)
            if g.half_days is None or heat is None:
                continue
            days, _, total = g.half_days
            mine = {d.name: (d.head, d.low, d.high) for d in days if d.high > 0}
            theirs = {
                f"{d['step']}/{d['seen_day']}-{'pm' if d['seen'] == 'evening' else 'am'}": (
                    d["head"],
                    d["low_head"],
                    d["high_head"],
                )
                for d in heat["half_days"]
            }
            self.same("heat", f"{g.id} half-days", mine, theirs)
            bred, all_head = sum(d.head for d in days), sum(g.pens)
            for name, head, chance in [("bred", bred, total / all_head), ("left", all_head - bred, 1 - total / all_head)]:
                low, high = band(head, all_head, chance)
                got = tuple(heat[f"{name}{end}_head"] for end in ("_low", "", "_high"))
                self.same("heat", f"{g.id} {name}", (low, head, high), got)
