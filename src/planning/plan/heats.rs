//! What a plan says of groups bred by detected heat, in numbers and in words.

use super::{DuePen, GroupHeat, HalfDay, Pass, Plan, Session, Work};
use crate::base::units::Clock;

impl DuePen {
    /// `14 head`, or `about 14 head (9 to 19)` where heat decides.
    pub(crate) fn head_words(&self) -> String {
        self.by_heat.as_ref().map_or_else(
            || format!("{} head", self.head),
            |h| {
                format!(
                    "about {} head ({} to {})",
                    self.head, h.low_head, h.high_head
                )
            },
        )
    }

    /// `seen in heat Thu 20 May, morning`.
    pub(crate) fn seen_words(&self) -> Option<String> {
        let h = self.by_heat.as_ref()?;
        let more = match h.high_uncovered_head {
            0 => String::new(),
            n => format!(
                "; if {} come in heat, the crew breeds all but {n}",
                h.high_head
            ),
        };
        Some(format!(
            "seen in heat {}, {}{more}",
            h.seen_day.format("%a %-d %b"),
            h.seen.as_str()
        ))
    }
}

impl Session {
    /// True if all who are due here are bred by detected heat, so that their number is expected
    /// and not known.
    #[must_use]
    pub fn is_by_heat(&self) -> bool {
        self.pens.iter().all(|p| p.by_heat.is_some())
    }
}

impl Plan {
    /// What is planned of a heat watch; nothing for other passes, and on a group's last watch only.
    #[must_use]
    pub fn heats(&self, p: &Pass) -> Option<&GroupHeat> {
        let heat = self.group(&p.group)?.heat.as_ref()?;
        let last = heat.half_days.last()?;
        (p.work == Work::HeatWatch && last.step == p.step).then_some(heat)
    }
}

impl GroupHeat {
    /// `about 33 head (26 to 40) are bred by heat, 55 (48 to 62) are not`.
    #[must_use]
    pub fn words(&self) -> String {
        format!(
            "about {} head ({} to {}) are bred by heat, {} ({} to {}) are not",
            self.bred_head,
            self.bred_low_head,
            self.bred_high_head,
            self.left_head,
            self.left_low_head,
            self.left_high_head
        )
    }
}

impl HalfDay {
    /// `seen Thu 13 May, evening: about 2 head (0 to 4), to breed about Fri 14 May 06:00`.
    #[must_use]
    pub fn words(&self, told: Clock) -> String {
        let seen = format!(
            "seen {}, {}",
            self.seen_day.format("%a %-d %b"),
            self.seen.as_str()
        );
        let aim = told.day(self.aim.naive_local());
        if self.head == 0 {
            return format!(
                "{seen}: nobody expected, {} at the most, to breed about {aim}",
                self.high_head
            );
        }
        format!(
            "{seen}: about {} head ({} to {}), to breed about {aim}",
            self.head, self.low_head, self.high_head
        )
    }
}
