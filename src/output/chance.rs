//! Chances of planned sessions for the terminal: the verdict first, then the figures, then what
//! other numbers of straws at once would do.

use std::fmt::Write as _;

use super::wrapped;
use crate::analysis::chance::words::figure;
use crate::analysis::chance::{
    ByStraws, Chance, Finish, SeasonChance, SessionChance, TechnicianChance,
};
use crate::base::time::human_date;
use crate::planning::plan::Moment;

/// Sessions by time, then what the figures rest on.
#[must_use]
pub fn text(chance: &SeasonChance) -> String {
    let mut text = format!(
        "{}\nChances of the planned sessions. Times are local, {}.\n",
        chance.season, chance.zone
    );
    if chance.sessions.is_empty() {
        text.push_str("\nNo session of this plan breeds any cow at set hours.\n");
    }
    for s in &chance.sessions {
        text.push('\n');
        session(s, &mut text);
    }
    if !chance.sessions.is_empty() {
        text.push_str("\nHow to read it\n");
        for note in &chance.notes {
            let _ = writeln!(text, "{}", wrapped(note, "  - ", "    "));
        }
    }
    text
}

/// `thawline.chance/1`.
#[must_use]
pub fn json(chance: &SeasonChance) -> String {
    super::json::text(chance)
}

fn session(s: &SessionChance, text: &mut String) {
    let head = format!(
        "{}, {}, {} head (session {})",
        human_date(s.planned_last_cow.date_naive()),
        s.site_name,
        s.head,
        s.session
    );
    let _ = writeln!(text, "{}", wrapped(&head, "", "  "));
    for sentence in &s.words {
        let _ = writeln!(text, "{}", wrapped(sentence, "  ", "    "));
    }
    let day = s.planned_last_cow;
    let rows = [
        (
            "last cow bred",
            format!(
                "by {} on 5 % of days, {} on 50 %, {} on 95 %",
                clock(s.last_cow.by_5_percent, day),
                clock(s.last_cow.by_50_percent, day),
                clock(s.last_cow.by_95_percent, day)
            ),
        ),
        (
            "outside hours",
            format!(
                "any cow {}; the last cow {}",
                sure(s.any_cow_outside),
                sure(s.last_cow_outside)
            ),
        ),
    ];
    for (name, said) in rows {
        row(name, &said, text);
    }
    if s.pens.len() > 1 {
        for p in &s.pens {
            row(
                &format!("  {}", p.name),
                &format!(
                    "any cow {}; {} of {} head on average",
                    sure(p.any_cow_outside),
                    figure(p.outside.mean_head),
                    p.head
                ),
                text,
            );
        }
    }
    row(
        "straw too old",
        &format!("any {}", sure(s.any_straw_late)),
        text,
    );
    for t in &s.technicians {
        technician(t, day, text);
    }
}

fn row(name: &str, said: &str, text: &mut String) {
    let lead = format!("  {name:<14}  ");
    let _ = writeln!(text, "{}", wrapped(said, &lead, &" ".repeat(18)));
}

fn technician(t: &TechnicianChance, day: Moment, text: &mut String) {
    let line = format!(
        "{}: {} head, {} min a cow, spread {} min{}, {}",
        t.name,
        t.head,
        figure(t.minutes_per_cow),
        figure(t.minutes_spread),
        if t.spread_assumed { " (assumed)" } else { "" },
        if t.helper { "with a helper" } else { "alone" },
    );
    let _ = writeln!(text, "\n{}", wrapped(&line, "  ", "    "));
    let formula = if t.helper {
        ["        ", " (formula)"]
    } else {
        [""; 2]
    };
    let _ = writeln!(
        text,
        "  straws     head   last cow bred by, on  straw too old, % of{} late cow,\n  \
         at once  an hour     5 %   50 %   95 %   rounds{}  sessions % of days",
        formula[0], formula[1]
    );
    for (n, b) in t.by_straws.iter().enumerate() {
        by_straws(b, t.helper, day, text);
        let rest = &t.by_straws[n + 1..];
        if b.is_hopeless() && b.straws_at_once > t.straws_at_once && rest.len() > 1 {
            let _ = writeln!(
                text,
                "  {} to {}: some straw too old on nearly every day.",
                b.straws_at_once + 1,
                b.straws_at_once + rest.len() as u32
            );
            break;
        }
    }
    let other_day = |b: &ByStraws| {
        [b.last_cow.by_5_percent, b.last_cow.by_95_percent]
            .iter()
            .any(|at| at.date_naive() != day.date_naive())
    };
    if t.by_straws.iter().any(other_day) {
        let _ = writeln!(text, "  + is on the next day, - on the day before.");
    }
}

fn by_straws(b: &ByStraws, helper: bool, day: Moment, text: &mut String) {
    let Finish {
        by_5_percent,
        by_50_percent,
        by_95_percent,
    } = b.last_cow;
    let [low, middle, high] =
        [by_5_percent, by_50_percent, by_95_percent].map(|at| narrow_clock(at, day));
    let round = b.late_round.map_or("-".to_owned(), |c| short(c.percent));
    let formula = if helper {
        format!(
            "{:>10}",
            format!("({})", short(b.late_round_formula_percent))
        )
    } else {
        String::new()
    };
    let _ = writeln!(
        text,
        "  {}{:>6}{:>9}  {low:>6} {middle:>6} {high:>6}{round:>9}{formula}{:>10}{:>10}",
        if b.planned { '>' } else { ' ' },
        b.straws_at_once,
        format!("{:.1}", b.head_per_hour),
        short(b.late_session.percent),
        short(b.any_cow_outside.percent),
    );
}

/// `2.4 % (2.1 to 2.7)`.
fn sure(c: Chance) -> String {
    format!(
        "{} % ({} to {})",
        short(c.percent),
        short(c.low_percent),
        short(c.high_percent)
    )
}

/// One decimal; what is not none is not shown as none, and what is not all not as all.
fn short(percent: f64) -> String {
    if percent > 0.0 && percent < 0.05 {
        "<0.1".to_owned()
    } else if (99.95..100.0).contains(&percent) {
        ">99.9".to_owned()
    } else if percent <= 0.0 || percent >= 100.0 {
        format!("{percent:.0}")
    } else {
        format!("{percent:.1}")
    }
}

/// The clock time, with the day where it is another.
fn clock(at: Moment, beside: Moment) -> String {
    if at.date_naive() == beside.date_naive() {
        at.format("%H:%M").to_string()
    } else {
        at.format("%a %H:%M").to_string()
    }
}

/// The clock time in a column: with a sign for the day before or after.
fn narrow_clock(at: Moment, beside: Moment) -> String {
    let sign = match at.date_naive().cmp(&beside.date_naive()) {
        std::cmp::Ordering::Less => "-",
        std::cmp::Ordering::Equal => " ",
        std::cmp::Ordering::Greater => "+",
    };
    format!("{}{sign}", at.format("%H:%M"))
}
