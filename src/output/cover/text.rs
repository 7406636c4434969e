//! The answer for the terminal: the verdict, the figures behind it, the largest groups.

use std::fmt::Write as _;

use super::super::{COLUMNS, line, up_to_minute};
use super::remedies::remedies;
use crate::base::units::human_minutes;
use crate::planning::plan::Moment;
use crate::service::cover::{Answer, AtWork, Cow, Largest, LargestRow, PenFigures, SessionFigures};

/// The whole answer.
#[must_use]
pub fn text(answer: &Answer) -> String {
    let mut text = format!("{}\nTimes are local, {}.\n", answer.season, answer.zone);
    line(&mut text, &crew(answer), "");
    text.push('\n');
    for (n, sentence) in answer.verdict.words.iter().enumerate() {
        line(&mut text, sentence, if n == 0 { "" } else { "  " });
    }
    if answer.verdict.elsewhere_uncovered_head > 0 {
        let more = format!(
            "Of what is not asked about here, {} head are left too.",
            answer.verdict.elsewhere_uncovered_head
        );
        line(&mut text, &more, "  ");
    }
    if answer.sessions.len() > 1 {
        text.push('\n');
        for s in &answer.sessions {
            one_line(&mut text, s);
        }
    }
    for s in answer.sessions.iter().filter(|s| s.looked_at_closely) {
        session(&mut text, s);
    }
    for l in &answer.largest {
        largest(&mut text, l);
    }
    for r in &answer.remedies {
        remedies(&mut text, r);
    }
    if !answer.not_tried.is_empty() {
        let said = format!(
            "The search was stopped by hand. Not tried, or not all of it: {}.",
            answer.not_tried.join("; ")
        );
        text.push('\n');
        line(&mut text, &said, "");
    }
    not_looked_at(&mut text, answer);
    text
}

fn crew(answer: &Answer) -> String {
    let asked = &answer.asked;
    let with = asked.technicians.join(", ");
    let margin = if asked.least_margin_minutes > 0 {
        format!(
            " A margin of {} is asked for.",
            human_minutes(asked.least_margin_minutes)
        )
    } else {
        String::new()
    };
    let without = if asked.left_out.is_empty() {
        String::new()
    } else {
        format!(", without {}", asked.left_out.join(", "))
    };
    format!("With {} ({with}){without}.{margin}", asked.crew_words)
}

fn one_line(text: &mut String, s: &SessionFigures) {
    let day = s.first_cow.unwrap_or(s.open).format("%a %-d %b");
    let how = if s.covered {
        format!(
            "{} of {} head, margin {} or {} head ({})",
            s.bred_head,
            s.due_head,
            human_minutes(s.margin_minutes),
            s.margin_head,
            s.binding
        )
    } else {
        format!(
            "{} of {} head, {} NOT COVERED ({})",
            s.bred_head,
            s.due_head,
            s.due_head - s.bred_head,
            s.binding
        )
    };
    line(text, &format!("{day}  {}: {how}", s.id), "  ");
}

/// Beginnings are rounded up to the minute, so that no reading lies before the moment.
fn begins(moment: Moment, day: Moment) -> String {
    at(up_to_minute(moment), day)
}

/// A reading to the minute, with the day where it is another.
fn at(moment: Moment, day: Moment) -> String {
    if moment.date_naive() == day.date_naive() {
        moment.format("%H:%M").to_string()
    } else {
        moment.format("%a %-d %b %H:%M").to_string()
    }
}

fn session(text: &mut String, s: &SessionFigures) {
    let day = s.first_cow.unwrap_or(s.open);
    let _ = writeln!(text, "\n{}, {}", day.format("%a %-d %b %Y"), s.site_name);
    line(text, &format!("session {}", s.id), "  ");
    for p in &s.pens {
        pen(
            text,
            p,
            day,
            s.pens.iter().filter(|o| o.group == p.group).count(),
        );
    }
    for t in &s.technicians {
        technician(text, t, day);
    }
    if let (Some(oldest), Some(late)) = (s.oldest_straw_minutes, s.late_percent) {
        let straws = format!(
            "oldest straw of a round: {oldest:.1} min from bath to cow on average, {:.0} at the most; {late:.1} % of rounds later",
            s.most_straw_minutes
        );
        line(text, &straws, "  ");
    }
    line(text, &format!("hours of work: {:.1}", s.work_hours), "  ");
    let why = if s.covered { "binds" } else { "why" };
    line(text, &format!("{why}: {}", s.binding_words), "  ");
    if let Some(first) = s.limits.first() {
        let each: Vec<String> = s
            .limits
            .iter()
            .map(|l| match l.lifted_head {
                Some(head) => format!("{}: {head}", l.words),
                None => format!("{}: any number", l.words),
            })
            .collect();
        let limits = format!(
            "limits: the largest such group that this crew covers, with nothing else to do, has {} head; {}",
            first.largest_head,
            each.join("; ")
        );
        line(text, &limits, "  ");
    }
}

fn pen(text: &mut String, p: &PenFigures, day: Moment, of_group: usize) {
    let who = match p.pen {
        Some(pen) if of_group > 1 => format!("{} pen {pen}", p.group),
        _ => p.group.clone(),
    };
    let bred = if p.bred_head == p.due_head {
        format!("{} head", p.due_head)
    } else {
        format!("{} of {} head", p.bred_head, p.due_head)
    };
    let hours = if p.earliest <= p.latest {
        format!("hours {} to {}", begins(p.earliest, day), at(p.latest, day))
    } else {
        "no hour suits every animal".to_owned()
    };
    let head = format!(
        "{who}: {bred}, {}, {hours} ({} after {}, {} to {}; order {})",
        p.what,
        p.window,
        p.counted_from_what,
        at(p.counted_from, day),
        p.counted_to.format("%H:%M"),
        p.order
    );
    line(text, &head, "  ");
    if let (Some(first), Some(last)) = (&p.first_cow, &p.last_cow) {
        let all = match (p.fewest_hours, p.most_hours) {
            (Some(a), Some(b)) => format!("; all from {a:.1} to {b:.1} h"),
            _ => String::new(),
        };
        line(
            text,
            &format!(
                "first cow {}, last {}{all}",
                cow(first, day),
                cow(last, day)
            ),
            "    ",
        );
    }
}

fn cow(c: &Cow, day: Moment) -> String {
    let hours = if c.animal.is_some() {
        format!("{:.1} h after her own", c.most_hours)
    } else {
        format!("{:.1} to {:.1} h", c.fewest_hours, c.most_hours)
    };
    format!("{} ({hours})", begins(c.bred, day))
}

fn technician(text: &mut String, t: &AtWork, day: Moment) {
    let sentence = format!(
        "{}: {} head, {} to {} with {} straw{} at once, {:.1} h of work",
        t.name,
        t.head,
        at(t.begins, day),
        at(t.last_cow, day),
        t.straws_at_once,
        if t.straws_at_once == 1 { "" } else { "s" },
        t.work_hours
    );
    line(text, &sentence, "  ");
}

/// Cells of the longest bar.
const BAR: u32 = 40;

fn largest(text: &mut String, l: &Largest) {
    text.push('\n');
    line(
        text,
        &format!(
            "The largest group like `{}` that so many cover, in {} pen{}, with nothing else to do ({} head now, order {}):",
            l.group,
            l.pens,
            if l.pens == 1 { "" } else { "s" },
            l.head,
            l.order
        ),
        "",
    );
    let _ = writeln!(
        text,
        "  crew  with                  head/h     mixed      kept"
    );
    for r in &l.rows {
        let _ = writeln!(
            text,
            "  {:>4}  {:<20}  {:>6.1}  {:>8}  {:>8}",
            r.technicians,
            with(r),
            r.head_per_hour,
            head(r.mixed_head, l),
            head(r.kept_head, l)
        );
    }
    text.push('\n');
    let figures = |r: &LargestRow| [r.mixed_head, r.kept_head].into_iter().flatten().max();
    let most = l
        .rows
        .iter()
        .filter_map(figures)
        .max()
        .unwrap_or(0)
        .max(l.head)
        .max(1);
    let mut bar = |label: &str, head: Option<u32>| {
        let cells = head.map_or(BAR, |h| (h * BAR).div_ceil(most));
        let end = if head.is_none() { ">" } else { "" };
        let number = head.map_or_else(|| "any".to_owned(), |h| h.to_string());
        let _ = writeln!(
            text,
            "  {label:<12} |{}{end} {number}",
            "#".repeat(cells as usize)
        );
    };
    bar("now", Some(l.head));
    for r in &l.rows {
        bar(&format!("{} mixed", r.technicians), r.mixed_head);
        bar(&format!("{} kept", r.technicians), r.kept_head);
    }
    if l.rows.iter().any(|r| r.boxes_short) {
        line(
            text,
            "With more technicians than breeding boxes at the site they take turns.",
            "  ",
        );
    }
}

fn with(r: &LargestRow) -> String {
    let name = if r.hired {
        format!("+ one like {}", r.with)
    } else if r.technicians == 1 {
        r.with.clone()
    } else {
        format!("+ {}", r.with)
    };
    if name.chars().count() > 20 {
        name.chars().take(19).chain(['~']).collect()
    } else {
        name
    }
}

fn head(head: Option<u32>, l: &Largest) -> String {
    head.map_or_else(|| format!("{}+", l.most_looked_at_head), |h| h.to_string())
}

/// Sessions that fall short and were only counted.
fn not_looked_at(text: &mut String, answer: &Answer) {
    let others: Vec<&str> = answer
        .sessions
        .iter()
        .filter(|s| !s.covered && answer.remedies.iter().all(|r| r.session != s.id))
        .map(|s| s.id.as_str())
        .collect();
    if let Some(first) = others.first() {
        let sentence = format!(
            "For remedies of the {} other session{} that fall{} short, ask about one: --session '{first}'.",
            others.len(),
            if others.len() == 1 { "" } else { "s" },
            if others.len() == 1 { "s" } else { "" }
        );
        text.push('\n');
        line(text, &sentence, "");
    }
    debug_assert!(
        text.lines()
            .all(|l| l.chars().count() <= COLUMNS || !l.contains(' '))
    );
}
