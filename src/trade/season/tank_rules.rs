//! The rules for tanks: full, readings, fills and limits that fit each other.

use std::collections::BTreeMap;

use super::raw;
use super::rules::Rulebook;
use crate::base::error::Code;
use crate::base::time::read;

impl Rulebook<'_> {
    pub(super) fn tanks(&mut self) {
        for n in 0..self.raw.tanks.len() {
            self.tank_full(n);
            self.tank_fills(n);
            self.tank_readings(n);
            self.tank_limit(n);
            self.tank_opening(n);
        }
    }

    fn tank_fault(&mut self, field: &str, what: &str, expected: &str, hint: &str) {
        self.fault(Code::TankForm, field, what, expected, hint);
    }

    fn tank_full(&mut self, n: usize) {
        let t = &self.raw.tanks[n];
        if t.full_inches.is_some() && t.full_cm.is_some() {
            let what = "the depth of the full tank is given in inches and in centimeters";
            let expected = "one of `full_inches` and `full_cm`";
            let hint = "keep the one that your dipstick shows";
            self.tank_fault(&format!("tanks[{n}].full_cm"), what, expected, hint);
        }
    }

    fn tank_fills(&mut self, n: usize) {
        for (k, text) in self.raw.tanks[n].filled.iter().enumerate() {
            self.read(&format!("tanks[{n}].filled[{k}]"), read::date(text));
        }
    }

    fn tank_readings(&mut self, n: usize) {
        let t = &self.raw.tanks[n];
        let mut days = BTreeMap::new();
        for (k, r) in t.readings.iter().enumerate() {
            let field = format!("tanks[{n}].readings[{k}]");
            let at = format!("{field}.date");
            if let Some(day) = self.read(&at, read::date(&r.date))
                && let Some(first) = days.insert(day, k)
            {
                let what = format!("two readings are of one day; the first is readings[{first}]");
                self.tank_fault(&at, &what, "one reading a day", "keep the later one");
            }
            self.level(&field, n, "reading", [r.inches, r.cm, r.liters]);
        }
    }

    fn tank_limit(&mut self, n: usize) {
        let t = &self.raw.tanks[n];
        let limit = [
            t.refill_below_inches,
            t.refill_below_cm,
            t.refill_below_liters,
        ];
        if limit.iter().any(Option::is_some) {
            let unit = ["inches", "cm", "liters"]
                .into_iter()
                .zip(limit)
                .find_map(|(unit, x)| x.map(|_| unit))
                .unwrap_or_default();
            self.level(
                &format!("tanks[{n}].refill_below_{unit}"),
                n,
                "limit",
                limit,
            );
        }
    }

    fn tank_opening(&mut self, n: usize) {
        let t = &self.raw.tanks[n];
        if t.liters_lost_an_opening.is_some_and(|x| x > 0.0) && t.liters.is_none() {
            let field = format!("tanks[{n}].liters_lost_an_opening");
            let what = "liters lost an opening are given, but not the liters of the full tank";
            let hint = "add `liters`, from the tank's papers";
            self.tank_fault(&field, what, "`liters` of the tank beside it", hint);
        }
    }

    /// A level is in one unit, can be held against the full tank, and is not above it.
    fn level(&mut self, field: &str, n: usize, kind: &str, given: [Option<f64>; 3]) {
        let t: &raw::Tank = &self.raw.tanks[n];
        let [inches, cm, liters] = given;
        if given.iter().flatten().count() != 1 {
            self.tank_fault(
                field,
                &format!("this {kind} needs one number"),
                "one of inches, centimeters and liters",
                "leave the other units out",
            );
            return;
        }
        let Some(share) = t.share(inches, cm, liters) else {
            let (wants, of) = if liters.is_some() {
                ("`liters`", "liters")
            } else {
                ("`full_inches` or `full_cm`", "depth")
            };
            self.tank_fault(
                field,
                &format!("this {kind} cannot be used without the {of} of the full tank"),
                &format!("{wants} of the tank beside it"),
                "measure it on the day of the next filling",
            );
            return;
        };
        // A dipstick's frost line is read to a quarter of an inch or so.
        if share > 1.02 {
            let what = format!("this {kind} is above the full tank");
            let hint = "check the number and its unit, and what the full tank holds";
            self.tank_fault(field, &what, "a level in the tank", hint);
        }
    }
}
