//! The rules for dates, clock times and hours.

use super::rules::Rulebook;
use crate::error::{Code, Finding};
use crate::time::{in_range, parse_clock, parse_date, read};

impl Rulebook<'_> {
    pub(super) fn bad_time(&mut self, field: &str, text: &str, wants: &str) {
        self.add(field, read::bad(text, wants));
    }

    pub(super) fn group_start(&mut self, n: usize) {
        let Some(text) = &self.raw.groups[n].start else {
            return;
        };
        if let Err(finding) = read::local(text) {
            self.add(&format!("groups[{n}].start"), finding);
        }
    }

    pub(super) fn shifts(&mut self, n: usize) {
        for (k, shift) in self.raw.crew[n].shifts.iter().enumerate() {
            let field = format!("crew[{n}].shifts[{k}]");
            for (key, text) in [("from", &shift.from), ("to", &shift.to)] {
                if !is_clock(key, text) {
                    self.bad_time(
                        &format!("{field}.{key}"),
                        text,
                        "a clock time such as `05:00`",
                    );
                }
            }
            if shift.from == shift.to {
                self.add(
                    &field,
                    Finding::error(Code::ShiftForm, "this shift ends when it begins")
                        .expected("an end other than the start")
                        .hint("for a whole day write `from: \"00:00\"` and `to: \"24:00\"`"),
                );
            }
        }
    }

    pub(super) fn days_off(&mut self, n: usize) {
        for (k, day) in self.raw.crew[n].days_off.iter().enumerate() {
            self.date(&format!("crew[{n}].days_off[{k}]"), day);
        }
    }

    /// A local date.
    pub(super) fn date(&mut self, field: &str, text: &str) {
        if parse_date(text).is_none_or(|d| !in_range(d)) {
            self.bad_time(
                field,
                text,
                "a date between 2000 and 2100, such as `2027-05-30`",
            );
        }
    }

    pub(super) fn free_hours(&mut self) {
        for (field, f) in self.raw.free_hours() {
            if let Some(date) = &f.date {
                self.date(&format!("{field}.date"), date);
            }
            for (key, text) in [("from", &f.from), ("to", &f.to)] {
                if let Some(text) = text
                    && !is_clock(key, text)
                {
                    self.bad_time(
                        &format!("{field}.{key}"),
                        text,
                        "a clock time such as `12:00`",
                    );
                }
            }
            let turned = match (&f.from, &f.to) {
                (Some(a), Some(b)) => a >= b,
                (None, Some(b)) => b == "00:00",
                _ => false,
            };
            if f.date.is_some() == f.weekday.is_some() || turned {
                self.add(
                    &field,
                    Finding::error(
                        Code::HourForm,
                        if turned {
                            "these hours end before they begin"
                        } else {
                            "these hours name no day, or two"
                        },
                    )
                    .expected("either `date` or `weekday`, and `from` before `to` on that day")
                    .hint("for hours over midnight write two entries"),
                );
            }
        }
    }
}

/// True if a clock time can be read; hours may end at 24:00 but not begin then.
fn is_clock(key: &str, text: &str) -> bool {
    parse_clock(text).is_some() && (key == "to" || text != "24:00")
}
