//! Calves and money for the terminal: all groups, the curve, each group, money, how it is counted.

use std::fmt::Write as _;

use super::super::{line, remark};
use super::chart::chart;
use super::money::money;
use chrono::{Days, NaiveDate};

use crate::analysis::forecast::{
    Answer, Calving, CleanUp, Expected, From, Gestation, GroupCalves, Rate,
};
use crate::base::time::human_date;
use crate::base::units::count;

/// The whole answer.
#[must_use]
pub fn text(answer: &Answer) -> String {
    let mut text = format!(
        "{}\nWhat comes of it: pregnancies, calves, money. Estimates, with their sources.\n\n",
        crate::base::error::visible(&answer.season)
    );
    table(&mut text, answer);
    if let Some(calving) = &answer.calving {
        text.push_str("\nCalving, all groups\n");
        of_calving(&mut text, calving);
        if let Some(f) = answer.first_21_days {
            let words = format!(
                "each group counted by itself: {:.0} % in the first 21 days by the due-date count; {:.0} % by the earliest-calf count",
                f.percent_from_due, f.percent
            );
            line(&mut text, &words, "  ");
        }
        drawn(&mut text, calving);
    }
    for group in &answer.groups {
        of_group(&mut text, group);
        // One group of several that was asked for is drawn by itself.
        if let (1, Some(c)) = (answer.groups.len(), &group.calving)
            && answer.all.head != group.outcome.head
        {
            drawn(&mut text, c);
        }
    }
    if let Some(m) = &answer.money {
        money(&mut text, m, answer);
    } else {
        text.push('\n');
        line(
            &mut text,
            "Money: the season has no prices, so none is counted. Give your own under `prices` and `money`.",
            "",
        );
    }
    if !answer.findings.is_empty() {
        text.push('\n');
    }
    for finding in &answer.findings {
        let _ = writeln!(text, "{}", remark(finding));
    }
    text.push_str("\nHow it is counted\n");
    for note in &answer.notes {
        let _ = writeln!(text, "{}", super::super::wrapped(note, "  - ", "    "));
    }
    text
}

fn drawn(text: &mut String, calving: &Calving) {
    text.push('\n');
    for row in chart(calving) {
        let _ = writeln!(text, "{}", row.trim_end());
    }
}

/// `31 (23-38)`.
fn head(e: &Expected) -> String {
    format!("{:.0} ({}-{})", e.head, e.least_head, e.most_head)
}

fn table(text: &mut String, answer: &Answer) {
    let _ = writeln!(
        text,
        "{:<18} {:>5} {:>5}  {:>14} {:>14} {:>12}",
        "", "head", "bred", "to AI", "to bulls", "open"
    );
    let mut row = |name: &str, o: &crate::analysis::forecast::Outcome, counted: bool| {
        // A long name has a line of its own.
        let wide = textwrap::core::display_width(name);
        if wide > 18 {
            let _ = writeln!(text, "{name}");
        }
        let name = if wide > 18 { "" } else { name };
        let pad = " ".repeat(18 - textwrap::core::display_width(name));
        let _ = if counted {
            writeln!(
                text,
                "{name}{pad} {:>5} {:>5}  {:>14} {:>14} {:>12}",
                o.head,
                o.bred_head,
                head(&o.ai),
                head(&o.bulls),
                head(&o.open)
            )
        } else {
            writeln!(text, "{name}{pad} {:>5}  not counted, see below", o.head)
        };
    };
    for g in &answer.groups {
        row(&g.group, &g.outcome, g.counted);
    }
    row("all groups", &answer.all, true);
    let all = &answer.all;
    let sum = format!(
        "{} of {} head pregnant at the end ({} to {}); {:.0} calves, {:.0} of them of AI.",
        all.pregnant.head.round(),
        all.head,
        all.pregnant.least_head,
        all.pregnant.most_head,
        all.ai_calves_head + all.bull_calves_head,
        all.ai_calves_head
    );
    line(text, &sum, "");
}

fn of_calving(text: &mut String, c: &Calving) {
    let first = format!(
        "first calves from {}, first due date {}, mean {}",
        human_date(c.first),
        human_date(c.first_due),
        human_date(c.mean)
    );
    line(text, &first, "  ");
    let born = format!(
        "5 % born by {}, half by {}, 95 % by {}",
        human_date(c.born_5_percent),
        human_date(c.born_50_percent),
        human_date(c.born_95_percent)
    );
    line(text, &born, "  ");
    let part = format!(
        "first 21 days: {:.0} % by the due-date count (as published tables: due {}, born by {}); {:.0} % by the earliest-calf count ({} to {})",
        c.percent_by_21_days_from_due,
        c.first_due.format("%-d %b"),
        after(c.first_due, 21).format("%-d %b"),
        c.percent_in_21_days,
        c.first.format("%-d %b"),
        after(c.first, 20).format("%-d %b")
    );
    line(text, &part, "  ");
    let sorts = format!("{:.1} calves, {:.0} % of AI", c.calves_head, c.ai_percent);
    line(text, &sorts, "  ");
}

fn after(day: NaiveDate, days: u64) -> NaiveDate {
    day.checked_add_days(Days::new(days))
        .unwrap_or(NaiveDate::MAX)
}

/// `47.9 % (SEXED-CALV)`, or with its ends.
fn rate(r: &Rate) -> String {
    let ends = if (r.high_percent - r.low_percent).abs() < 0.05 {
        String::new()
    } else {
        format!(", {:.1} to {:.1}", r.low_percent, r.high_percent)
    };
    let general = match r.from {
        From::General => ", not of this protocol",
        From::Own | From::Published => "",
    };
    format!("{:.1} %{ends} ({}{general})", r.percent, r.source)
}

fn of_group(text: &mut String, g: &GroupCalves) {
    text.push('\n');
    let name = if g.name == g.group {
        g.group.clone()
    } else {
        format!("{} ({})", crate::base::error::visible(&g.name), g.group)
    };
    let o = &g.outcome;
    line(
        text,
        &format!("{name}: {} head, {}", o.head, g.protocol),
        "",
    );
    if !g.counted {
        line(
            text,
            "not counted: nobody knows how many are bred on which day",
            "  ",
        );
        return;
    }
    let days: Vec<String> = g
        .ai_days
        .iter()
        .map(|d| format!("{} on {}", d.head, d.date.format("%a %-d %b %Y")))
        .collect();
    let sexed = if g.sexed_percent > 0.0 {
        format!(", {:.0} % of the straws sexed", g.sexed_percent)
    } else {
        String::new()
    };
    let planned: u32 = g.ai_days.iter().map(|d| d.head).sum();
    let bred = if planned > o.bred_head {
        format!(
            "bred to AI: {} head, each once, on one of {}: the day of each is not known, so all are planned for each ({}){sexed}",
            o.bred_head,
            count(days.len() as u32, "day", "days"),
            days.join(", ")
        )
    } else {
        format!(
            "bred to AI: {} head ({}){sexed}",
            o.bred_head,
            days.join(", ")
        )
    };
    line(text, &bred, "  ");
    let ai = format!("pregnant to AI: {} at {}", head(&o.ai), rate(&g.ai_rate));
    line(text, &ai, "  ");
    if let Some(r) = &g.returns {
        let words = format!(
            "back in heat: {:.0} about {}; watch {} to {}",
            r.head,
            r.mean.format("%a %-d %b"),
            r.from.format("%-d %b"),
            r.to.format("%-d %b")
        );
        line(text, &words, "  ");
    }
    match &g.clean_up {
        Some(c) => of_bulls(text, c, &o.bulls),
        None => line(text, "no clean-up bulls", "  "),
    }
    let lost = g.lost_percent.map_or(String::new(), |l| {
        format!("; {l} % of pregnancies lost, your own figure")
    });
    line(
        text,
        &format!("open at the end: {}{lost}", head(&o.open)),
        "  ",
    );
    let own = format!("gestation: {}", gestation(&g.gestation));
    line(text, &own, "  ");
    if let Some(b) = &g.bulls_gestation {
        line(text, &format!("of bulls' calves: {}", gestation(b)), "  ");
    }
    if let Some(c) = &g.calving {
        of_calving(text, c);
    }
}

fn of_bulls(text: &mut String, c: &CleanUp, pregnant: &Expected) {
    let words = format!(
        "{} in {}, out {} ({}; {:.0} head a bull)",
        count(c.bulls_head, "bull", "bulls"),
        c.turned_in.format("%a %-d %b %Y"),
        c.taken_out.format("%a %-d %b"),
        count(c.days as u32, "day", "days"),
        c.head_a_bull
    );
    line(text, &words, "  ");
    let settled = format!(
        "pregnant to bulls: {} at {} a heat",
        head(pregnant),
        rate(&c.settled)
    );
    line(text, &settled, "  ");
    for (n, h) in c
        .heats
        .iter()
        .enumerate()
        .filter(|(_, h)| h.in_heat_head >= 0.05)
    {
        let heat = format!(
            "heat {} with them, about {}: {:.1} in heat, {:.1} settled",
            n + 1,
            h.mean.format("%a %-d %b"),
            h.in_heat_head,
            h.settled_head
        );
        line(text, &heat, "    ");
    }
}

fn gestation(g: &Gestation) -> String {
    let differ = g.disagreement.as_ref();
    let differ = differ.map_or(String::new(), |d| format!("; sources differ: {d}"));
    format!(
        "{} days ({}), one standard deviation {} ({}){differ}",
        g.mean_days, g.source, g.sd_days, g.sd_source
    )
}
