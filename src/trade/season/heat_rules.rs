//! The rules for numbers of heat: checks, hours to breeding, and a group's own hours to heat.

use super::rules::Rulebook;
use crate::base::error::{Code, Finding, quoted};
use crate::trade::protocol::Step;

impl Rulebook<'_> {
    /// Clock times of the checks, and hours from a check to breeding.
    pub(super) fn heat_watch(&mut self) {
        let Some(rules) = &self.raw.rules else { return };
        for (n, text) in rules.heat_checks.iter().flatten().enumerate() {
            self.clock(&format!("rules.heat_checks[{n}]"), text, false, "06:00");
        }
        if let Some(h) = rules.heat_breeding_hours
            && !(h.earliest <= h.aim && h.aim <= h.latest && h.earliest < h.latest)
        {
            let field = "rules.heat_breeding_hours";
            let what = format!(
                "{} to {} h with aim {} are no hours to breed in",
                h.earliest, h.latest, h.aim
            );
            let expected =
                "`earliest`, `aim` and `latest` from small to large, and some time between";
            let hint = "about 12 h after heat is first seen is usual: 9, 12 and 15";
            self.fault(Code::HeatNumbers, field, what, expected, hint);
        }
    }

    /// A group's own hours to heat belong to a protocol that breeds by heat, and are complete.
    pub(super) fn group_heat(&mut self, n: usize) {
        let g = &self.raw.groups[n];
        let (mean, spread) = (g.heat_mean_hours, g.heat_spread_hours);
        let protocol = g.protocol.as_ref().and_then(|id| self.library.get(id));
        let (Some(protocol), true) = (protocol, mean.is_some() || spread.is_some()) else {
            return;
        };
        let key = if mean.is_some() {
            "heat_mean_hours"
        } else {
            "heat_spread_hours"
        };
        let field = format!("groups[{n}].{key}");
        let mut watches = protocol.steps.iter().filter(|s| s.is_heat_breeding());
        let unknown = |s: &Step| s.heat.is_none();
        if protocol.steps.iter().all(|s| !s.is_heat_breeding()) {
            if g.wishes.is_none() {
                let what = format!(
                    "`{}` does not breed by detected heat: the hours to heat of {} are not used",
                    protocol.id,
                    quoted(&g.id)
                );
                let finding = Finding::note(Code::HeatNumbers, what)
                    .hint("take them out, or choose a protocol with heat watch");
                self.add(&field, finding);
            }
        } else if watches.any(unknown) && (mean.is_none() || spread.is_none()) {
            let what = format!(
                "no hours to heat are published for `{}`, and {} gives only one of the two numbers",
                protocol.id,
                quoted(&g.id)
            );
            let expected = "both `heat_mean_hours` and `heat_spread_hours`";
            let hint =
                "for the spread take half the hours within which two thirds of the heats come";
            self.fault(Code::HeatNumbers, &field, what, expected, hint);
        }
    }
}
