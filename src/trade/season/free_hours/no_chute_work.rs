//! Days, or hours of them, without chute work or breeding.

use schemars::JsonSchema;
use serde::Deserialize;

use super::hours::{FreeHours, Rule, Stops, When};
use crate::base::error::{Code, Finding};
use crate::base::time::{parse_clock, parse_date, read};
use crate::trade::season::Weekday;

/// Days or hours without chute work or breeding.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[schemars(inline, extend("examples" = [[{"weekday": "sun"}]]))]
pub struct NoChuteWork(#[schemars(length(max = 400))] Vec<Free>);

/// A day, or hours of it, without chute work. Give `date` or `weekday`.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(rename = "FreeHours")]
#[serde(deny_unknown_fields)]
struct Free {
    /// One local date.
    date: Option<String>,
    /// Every such day.
    weekday: Option<Weekday>,
    /// From this local clock time; from the start of the day unless given.
    from: Option<String>,
    /// To this local clock time; to the end of the day unless given.
    to: Option<String>,
    /// Why, for people.
    #[schemars(length(min = 1, max = 200))]
    why: Option<String>,
}

impl Rule for NoChuteWork {
    fn wrong(&self) -> Vec<(String, Finding)> {
        let each = self.0.iter().enumerate();
        each.flat_map(|(n, free)| free.wrong(&format!("[{n}]")))
            .collect()
    }

    fn free(&self) -> Vec<FreeHours> {
        self.0.iter().filter_map(Free::hours).collect()
    }
}

impl Free {
    fn wrong(&self, place: &str) -> Vec<(String, Finding)> {
        let mut found = Vec::new();
        let mut add = |key: &str, finding: Finding| found.push((format!("{place}{key}"), finding));
        if let Some(Err(finding)) = self.date.as_deref().map(read::date) {
            add(".date", finding);
        }
        for (key, text, ends) in [(".from", &self.from, false), (".to", &self.to, true)] {
            if let Some(text) = text
                && let Err(finding) = read::clock_like(text, ends, "12:00")
            {
                add(key, finding);
            }
        }
        let turned = match (&self.from, &self.to) {
            (Some(a), Some(b)) => a >= b,
            (None, Some(b)) => b == "00:00",
            _ => false,
        };
        if self.date.is_some() == self.weekday.is_some() || turned {
            let what = if turned {
                "these hours end before they begin"
            } else {
                "these hours name no day, or two"
            };
            let finding = Finding::error(Code::HourForm, what)
                .expected("either `date` or `weekday`, and `from` before `to` on that day")
                .hint("for hours over midnight write two entries");
            add("", finding);
        }
        found
    }

    fn hours(&self) -> Option<FreeHours> {
        let date = self.date.as_deref().and_then(parse_date).map(When::On);
        Some(FreeHours {
            when: date.or(self.weekday.map(When::Every))?,
            from: self.from.as_deref().and_then(parse_clock),
            // 24:00 reads as midnight, which as an end means the end of the day.
            to: (self.to.as_deref().filter(|t| *t != "24:00")).and_then(parse_clock),
            stops: Stops::ChuteWork,
            why: self.why.clone(),
        })
    }
}
