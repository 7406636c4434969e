//! The rules for calves, clean-up bulls and money: dates and percentages in their order, one unit.

use super::raw;
use super::rules::Rulebook;
use crate::base::error::Code;
use crate::base::time::{parse_date, parse_local, read};

/// Longer than this, bulls are with the group all year.
const MOST_BULL_DAYS: i64 = 366;

impl Rulebook<'_> {
    fn calf_fault(&mut self, field: &str, what: impl Into<String>, expected: &str, hint: &str) {
        self.fault(Code::CalfNumbers, field, what, expected, hint);
    }

    /// A group's own percentages and its clean-up bulls.
    pub(super) fn group_calves(&mut self, n: usize) {
        let raw = self.raw;
        let Some(c) = &raw.groups[n].calves else {
            return;
        };
        let field = format!("groups[{n}].calves");
        self.share_order(&format!("{field}.pregnancy_percent"), c.pregnancy_percent);
        let idle = c.not_cycling_percent;
        self.share_order(&format!("{field}.not_cycling_percent"), idle);
        let Some(bulls) = &c.clean_up else { return };
        let field = format!("{field}.clean_up");
        self.share_order(&format!("{field}.settled_percent"), bulls.settled_percent);
        for (key, text) in [("in", &bulls.turned_in), ("out", &bulls.taken_out)] {
            self.read(&format!("{field}.{key}"), read::date(text));
        }
        let (Some(first), Some(last)) =
            (parse_date(&bulls.turned_in), parse_date(&bulls.taken_out))
        else {
            return;
        };
        let days = (last - first).num_days() + 1;
        if days < 1 {
            let what = format!("the bulls are out on {last}, before they are in on {first}");
            let expected = "a date not before `in`";
            let hint = "correct one of the two";
            self.calf_fault(&format!("{field}.out"), what, expected, hint);
        } else if days > MOST_BULL_DAYS {
            let what = format!("the bulls are in for {days} days");
            let hint = "check the years of the dates";
            self.calf_fault(&format!("{field}.out"), what, "at most a year", hint);
        }
        let start = raw.groups[n].start.as_deref().and_then(parse_local);
        let Some(start) = start.map(|s| s.date()) else {
            return;
        };
        let after = (first - start).num_days();
        if !(0..=MOST_BULL_DAYS).contains(&after) {
            let what =
                format!("the bulls are in on {first}, and the first treatment is on {start}");
            let expected = "a date after AI, within a year of the first treatment";
            let hint = "bulls that are in before AI breed in its place: correct the date";
            self.calf_fault(&format!("{field}.in"), what, expected, hint);
        }
    }

    fn share_order(&mut self, field: &str, share: Option<raw::Share>) {
        let Some(s) = share else { return };
        let (low, high) = (s.low.unwrap_or(s.expected), s.high.unwrap_or(s.expected));
        if !(low <= s.expected && s.expected <= high) {
            let what = format!("{} % expected lies outside {low} to {high} %", s.expected);
            let expected = "`low`, `expected` and `high` from small to large";
            let hint = "put the three in order, or leave `low` and `high` out";
            self.calf_fault(field, what, expected, hint);
        }
    }

    /// One unit for each of the calf's numbers.
    pub(super) fn money(&mut self) {
        let Some(m) = &self.raw.money else { return };
        let natural = m.natural.as_ref().and_then(|n| n.settled_percent);
        let twice = [
            (
                "calf_weight",
                m.calf_weight_lb.is_some() && m.calf_weight_kg.is_some(),
                ["calf_weight_lb", "calf_weight_kg"],
            ),
            (
                "calf_price",
                m.calf_price_per_lb.is_some() && m.calf_price_per_kg.is_some(),
                ["calf_price_per_lb", "calf_price_per_kg"],
            ),
            (
                "calf_gain",
                m.calf_gain_lb_per_day.is_some() && m.calf_gain_kg_per_day.is_some(),
                ["calf_gain_lb_per_day", "calf_gain_kg_per_day"],
            ),
        ];
        for (what, both, [lb, kg]) in twice {
            if both {
                let what = format!("`{what}` is given in pounds and in kilograms");
                let expected = format!("one of `{lb}` and `{kg}`");
                let hint = "keep the one that you sell by";
                self.calf_fault(&format!("money.{kg}"), what, &expected, hint);
            }
        }
        self.share_order("money.natural.settled_percent", natural);
    }
}
