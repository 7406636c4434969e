//! The calving curve in characters: a line for each week, `#` calves of AI, `o` of bulls. It tells
//! the two apart without colour.

use chrono::{Datelike, Days, NaiveDate};

use crate::analysis::forecast::{Calving, Day};

/// Columns of the longest bar.
const BAR: usize = 40;

/// A week that begins on Monday.
struct Week {
    monday: NaiveDate,
    ai: f64,
    bulls: f64,
    born_percent: f64,
}

fn weeks(curve: &[Day]) -> Vec<Week> {
    let mut weeks: Vec<Week> = Vec::new();
    for day in curve {
        let since = u64::from(day.date.weekday().num_days_from_monday());
        let monday = day.date.checked_sub_days(Days::new(since));
        let monday = monday.unwrap_or(day.date);
        if weeks.last().is_none_or(|w| w.monday != monday) {
            weeks.push(Week {
                monday,
                ai: 0.0,
                bulls: 0.0,
                born_percent: 0.0,
            });
        }
        if let Some(week) = weeks.last_mut() {
            week.ai += day.ai_head;
            week.bulls += day.bulls_head;
            week.born_percent = day.born_percent;
        }
    }
    // Weeks at the ends that show as nothing only make it longer.
    let shows = |w: &Week| w.ai + w.bulls >= 0.05;
    let from = weeks.iter().position(shows).unwrap_or(0);
    let to = weeks.iter().rposition(shows).map_or(0, |n| n + 1);
    weeks.truncate(to);
    weeks.drain(..from.min(to));
    weeks
}

/// The lines of the chart.
pub(super) fn chart(calving: &Calving) -> Vec<String> {
    let weeks = weeks(&calving.curve);
    let most = weeks.iter().map(|w| w.ai + w.bulls).fold(0.0, f64::max);
    if most <= 0.0 {
        return Vec::new();
    }
    let mut lines = vec![format!(
        "  {:<15} {:<w$}  calves   born",
        "week of",
        "# of AI, o of bulls",
        w = BAR + 1
    )];
    let columns = |head: f64| (head / most * BAR as f64).round() as usize;
    for week in &weeks {
        // The end of the bar is that of both together, so that it is not a sign too long.
        let all = columns(week.ai + week.bulls);
        let ai = columns(week.ai).min(all);
        let bar = format!("{}{}", "#".repeat(ai), "o".repeat(all - ai));
        lines.push(format!(
            "  {:<15} |{bar:<BAR$}  {:>6.1}  {:>3.0} %",
            week.monday.format("%a %-d %b %Y").to_string(),
            week.ai + week.bulls,
            week.born_percent
        ));
    }
    lines
}
