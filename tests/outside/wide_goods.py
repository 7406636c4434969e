"""What a wide season says of semen, tanks, bulls, prices, money and order lists."""

import random

from wide_tables import straw_table


class Goods:
    """Mixed into the maker of wide seasons."""

    def make_prices(self):
        names = ("estradiol_per_dose gnrh_per_dose insert_each labour_per_hour mga_per_head_day other_per_head "
                 "patch_each pg_per_dose road_per_hour straw_each technician_per_head").split()
        prices = {k: self.price() for k in self.some(names)}
        if self.one_in(2):
            prices["currency"] = self.pick("USD", "EUR", "talers", "¤", "x" * 20)
        return prices

    def make_money(self):
        metric = self.one_in(3)
        keys = [("calf_gain_kg_per_day", 3), ("calf_price_per_kg", None), ("calf_weight_kg", 350)]
        if not metric:
            keys = [("calf_gain_lb_per_day", 6), ("calf_price_per_lb", None), ("calf_weight_lb", 900)]
        money = {}
        for key, high in keys:
            if not self.one_in(5):
                money[key] = self.real(1, high) if high else self.price()
        if self.one_in(2):
            money["ai_calf_premium"] = self.price()
        if self.one_in(2):
            money["bull"] = {
                "price": self.price(),
                "sold_for": self.price(),
                "seasons": self.pick(1, 4, 20),
                "lost_a_year_percent": self.pick(0, 8, 100, self.real(0, 20)),
                "keep_a_year": self.price(),
                "interest_a_year_percent": self.pick(0, 7, 100, self.real(0, 12)),
            }
        if self.one_in(2):
            money["natural"] = {"cows_a_bull": self.pick(1, 25, 200)}
            if self.one_in(2):
                money["natural"]["days"] = self.pick(1, 45, 63, 366)
            if self.one_in(2):
                money["natural"]["settled_percent"] = self.share()
        return money

    def make_supplies(self):
        rng, supplies = self.rng, {}

        def packages(sizes, unit):
            found = [{unit: s} for s in rng.sample(sizes, rng.randint(0, min(4, len(sizes))))]
            priced = self.one_in(2)
            for p in found:
                if priced or self.one_in(6):
                    p["price"] = self.price()
            return found

        def goods(thing, sizes, unit):
            self.named(thing, 6)
            if self.one_in(5):
                thing["lead_days"] = self.pick(0, 7, 365)
            if self.one_in(5):
                thing["spoilage_percent"] = self.pick(0, 5, 100, self.real(0, 20))
            if not self.one_in(4):
                thing["packages"] = packages(sizes, unit)
            return thing

        for drug in ("estradiol", "gnrh", "pg"):
            if self.one_in(2):
                thing, unit = {}, self.pick("ml", "doses")
                if unit == "ml" or self.one_in(2):
                    thing["ml_a_dose"] = self.pick(1, 2, 5, self.real(0.5, 6))
                if self.one_in(3):
                    thing["opened_days"] = self.pick(0, 1, 7, 28, 730)
                supplies[drug] = goods(thing, [10, 20, 30, 50, 97, 100, 250, 1000], unit)
        for name in ("inserts", "patches", "sheaths"):
            if self.one_in(3):
                supplies[name] = goods({}, [1, 10, 25, 50, 1000], "count")
        own = random.Random(len(supplies))  # the same seasons otherwise
        for name in ("applicators", "disinfectant"):
            if own.random() < 0.5:
                supplies[name] = {"name": name, "lead_days": own.choice([0, 7]), "spoilage_percent": own.choice([0, 5]),
                                  "packages": [{"count": own.choice([1, 2, 10]), "price": own.randint(1, 40)}]}
        for name in ("gloves", "towels"):
            if self.one_in(3):
                thing = {"a_head": self.pick(0, 1, 2, 20, self.real(0, 3))} if self.one_in(2) else {}
                supplies[name] = goods(thing, [50, 100, 200], "count")
        for name in ("needles", "syringes"):
            if self.one_in(3):
                thing = {"head_each": self.pick(1, 10, 15, 1000)} if self.one_in(2) else {}
                supplies[name] = goods(thing, [10, 100], "count")
        if self.one_in(3):
            supplies["mga_feed"] = goods(self.feed(), [50, 100, 2000], self.pick("lb", "kg"))
        if self.one_in(2):
            supplies["lead_days"] = self.pick(0, 7, 21, 365)
        if self.one_in(2):
            supplies["spoilage_percent"] = self.pick(0, 5, 100, self.real(0, 20))
        return supplies

    def feed(self):
        """Feed that carries 0.5 mg of MGA a head a day in 0.5 to 2 lb of it."""
        pounds = self.pick(0.5, 1, 2)
        strength = self.pick(("mg_per_lb", 0.5 / pounds), ("g_per_ton", 1.0 / pounds), ("mg_per_kg", 0.5 / (pounds * 0.45359237)))
        form = self.rng.randrange(3)
        if form == 0:
            return {"lb_a_head": pounds}
        if form == 1:
            return {"kg_a_head": self.pick(0.3, 0.5, 0.9)}
        return {strength[0]: strength[1]}

    def make_tanks(self):
        return [self.make_tank(t) for t in ["big", "small", "old"][: self.pick(1, 1, 2, 3)]]

    def make_tank(self, name):
        rng = self.rng
        tank = self.named({"id": name, "canisters": self.pick(1, 4, 6, 10, 50)})
        unit, full = self.pick(("inches", self.real(12, 40)), ("cm", self.real(30, 90)), ("liters", self.real(5, 60)))
        if unit != "liters":
            tank[f"full_{unit}"] = full
        if unit == "liters" or self.one_in(2):
            tank["liters"] = full if unit == "liters" else self.real(5, 60)
        if self.one_in(4):
            tank["places_at_once"] = self.pick(1, 2, 2, 3, 50)
        if self.one_in(3):
            tank["canes_a_canister"] = self.pick(1, 9, 10, 1000)
        if "liters" in tank and self.one_in(3):
            tank["liters_lost_an_opening"] = self.pick(0, 0.1, 1, self.real(0, 3))
        if self.one_in(3):
            tank["refill_margin_days"] = self.pick(0, 3, 14, 365)
        if self.one_in(2):
            tank[f"refill_below_{unit}"] = round(full * rng.uniform(0.05, 0.6), 2)
        if self.one_in(3):
            tank["straws"] = self.pick(0, 100, 250, 1000000)
        first = rng.randint(-160, -20)
        filled = sorted({first, *(rng.randint(-150, 60) for _ in range(self.pick(0, 0, 1, 2, 3)))})
        tank["filled"] = [self.day(d, d) for d in filled]
        loss, days = full / rng.uniform(25, 200), set()
        readings = []
        for _ in range(self.pick(0, 1, 2, 3, 4, 8)):
            d = rng.randint(first, 0)
            if d in days:
                continue
            days.add(d)
            since = d - max([f for f in filled if f <= d])
            level = max(0, full - loss * since + rng.gauss(0, full / 80))
            readings.append((d, {"date": self.day(d, d), unit: round(min(level, full), 2)}))
        if readings:
            tank["readings"] = [r for _, r in sorted(readings, key=lambda x: x[0])]
        return tank

    def make_semen(self, season):
        rows = self.straw_rows(season["groups"])
        form = self.rng.randrange(4)
        cut = {0: 0, 1: len(rows) // 2}.get(form, len(rows))
        if rows[:cut]:
            season["semen"] = rows[:cut]
        if rows[cut:]:
            season["semen_file"] = "straws.csv"
            self.files["straws.csv"] = straw_table(self, rows[cut:])

    def straw_rows(self, groups):
        wanted = {b: 0 for b in self.bulls}
        for g in groups:
            for b in g["bulls"]:
                wanted[b] += g["head"]
        rows = []
        for b, n in wanted.items():
            scale = self.pick(0.2, 0.4, 0.6, 0.8, 1) if self.kind == "straws" or self.one_in(8) else self.pick(1, 1.5)
            straws = round(n * scale) if not self.one_in(15) else 0
            size, parts = self.pick(0.5, 0.25, None), []
            for _ in range(self.pick(0, 0, 1, 2, 4)):
                part = self.rng.randint(0, straws)
                parts.append(part)
                straws -= part
            full_name = self.pick(*self.names) if self.one_in(5) else None
            for part in [*parts, straws]:
                row = {"bull": b, "straws": part}
                if full_name:
                    row["name"] = full_name
                if size:
                    row["straw_ml"] = size
                if self.tanks and not self.one_in(5):
                    tank = self.pick(*self.tanks)
                    row["tank"] = tank["id"]
                    if not self.one_in(4):
                        row["canister"] = self.rng.randint(1, tank["canisters"])
                        if not self.one_in(3):
                            row["cane"] = self.pick("A-1", "B-2", f"{b[:3]}-{len(rows)}")
                            if self.one_in(2):
                                row["goblet"] = self.pick("top", "bottom")
                if self.one_in(5):
                    row["sort"] = self.pick("sexed", "sexed", "conventional")
                rows.append(row)
        return rows

    def bull_facts(self, bull):
        facts = {"id": bull}
        if self.one_in(2):
            facts["calving_ease"] = not self.one_in(5)
        if self.one_in(5):
            facts["sexed"] = self.one_in(2)
        if self.one_in(3):
            facts["sire"] = self.pick("Old Ridge 2", *self.known_bulls)
        if self.one_in(3):
            facts["dam"] = self.pick("C-17", "A1", "A2")
        if facts.get("sire") == bull:
            del facts["sire"]
        return facts
