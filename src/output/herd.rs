//! The readiness of herds for the terminal: the verdict first, then the counts, the spreads, and
//! the animals that need something.

use std::fmt::Write as _;

use super::{COLUMNS, remark, wrapped};
use crate::base::error::{Finding, visible};
use crate::base::time::human_date;
use crate::base::units::Units;
use crate::planning::plan::Remark;
use crate::trade::herd::readiness::{Answer, Reason};
use crate::trade::herd::summary::{AnimalReport, GroupReport, Histogram};

/// Groups in the season's order. With `all`, animals that are ready are listed too.
#[must_use]
pub fn text(season: &str, groups: &[GroupReport<'_>], findings: &[Finding], all: bool) -> String {
    let mut text = format!("{season}\nReadiness of the herds on each group's first day.\n");
    for group in groups {
        text.push('\n');
        head(group, &mut text);
    }
    if !findings.is_empty() {
        text.push_str("\nFindings\n");
        for f in findings {
            let _ = writeln!(text, "{}", remark(&Remark::from(f)));
        }
    }
    for group in groups {
        let _ = write!(text, "\n{} in detail\n", group.name);
        counts(group, &mut text);
        for h in &group.histograms {
            histogram(h, &mut text);
        }
        lists(group, all, &mut text);
    }
    text.push('\n');
    text.push_str(&wrapped(
        "Your veterinarian and your own eye decide. Pregnant animals must not get PG: confirm \
         open (CFR-690).",
        "",
        "",
    ));
    text.push('\n');
    text
}

fn head(g: &GroupReport<'_>, text: &mut String) {
    let line = format!(
        "{} ({}): {} from {}, breeding about {}",
        g.name,
        g.group,
        g.protocol,
        human_date(g.first_day),
        human_date(g.breeding_day)
    );
    let _ = writeln!(text, "{}", wrapped(&line, "", "  "));
    for sentence in &g.words {
        let _ = writeln!(text, "{}", wrapped(sentence, "  ", "    "));
    }
}

fn counts(g: &GroupReport<'_>, text: &mut String) {
    let _ = writeln!(text, "  from {}", visible(g.herd_file));
    for a in g.answers.iter().filter(|a| a.head > 0) {
        let _ = writeln!(text, "  {:>6}  {}", a.head, a.words);
        for r in &a.reasons {
            let source = if r.source.is_empty() {
                String::new()
            } else {
                format!(" ({})", r.source)
            };
            let line = format!("{}{source}", r.words);
            let first = format!("          {:>6}  ", r.head);
            let _ = writeln!(text, "{}", wrapped(&line, &first, &" ".repeat(18)));
        }
    }
}

fn histogram(h: &Histogram, text: &mut String) {
    const WIDE: usize = 40;
    let _ = write!(text, "\n  {}\n", h.words);
    let most = h.bins.iter().map(|b| b.head).max().unwrap_or(0).max(1);
    for b in &h.bins {
        let label = if h.width < 1.0 {
            format!("{}", b.from)
        } else {
            format!("{}-{}", b.from, b.from + h.width - 1.0)
        };
        // A bin with any animal shows a mark.
        let long = (b.head * WIDE).div_ceil(most);
        let bar = if long == 0 {
            String::new()
        } else {
            format!(" {}", "#".repeat(long))
        };
        let _ = writeln!(text, "  {label:>9} |{bar} {}", b.head);
    }
    if h.unknown_head > 0 {
        let _ = writeln!(text, "  {:>9} | {}", "not known", h.unknown_head);
    }
}

fn lists(g: &GroupReport<'_>, all: bool, text: &mut String) {
    let wide = g
        .animals
        .iter()
        .map(|a| a.animal.chars().count())
        .max()
        .unwrap_or(0)
        .min(20);
    let rest = " ".repeat(wide + 4);
    let mut unlisted = 0;
    for answer in [
        Answer::NotNow,
        Answer::Wait,
        Answer::Unknown,
        Answer::WithProgestin,
        Answer::Ready,
    ] {
        if g.head_of(answer) == 0 {
            continue;
        }
        // Those whose protocol gives what they need, need nothing more.
        if !all && (answer == Answer::Ready || (answer == Answer::WithProgestin && g.progestin)) {
            unlisted += g.head_of(answer);
            continue;
        }
        let mut words = answer.words().to_owned();
        words[..1].make_ascii_uppercase();
        let _ = write!(text, "\n  {words}\n");
        for a in g.animals.iter().filter(|a| a.answer == answer) {
            animal(a, g.units, wide, &rest, text);
        }
    }
    if unlisted > 0 {
        let _ = write!(
            text,
            "\n  {unlisted} that can start as planned are not listed: --all lists them.\n"
        );
    }
}

fn animal(a: &AnimalReport<'_>, units: Units, wide: usize, rest: &str, text: &mut String) {
    let facts = facts(a, units);
    let line_end = text.len();
    let _ = write!(text, "  {:<wide$}  {facts}", a.animal);
    // Most lines fit: only the others are worth wrapping.
    if text[line_end..].chars().count() > COLUMNS || a.animal.chars().count() > wide {
        text.truncate(line_end);
        let first = format!("  {:<wide$}  ", a.animal);
        if a.animal.chars().count() > wide {
            let _ = writeln!(text, "  {}", a.animal);
            text.push_str(&wrapped(&facts, rest, rest));
        } else {
            text.push_str(&wrapped(&facts, &first, rest));
        }
    }
    text.push('\n');
}

/// What speaks for or against an animal, with the numbers.
fn facts(a: &AnimalReport<'_>, units: Units) -> String {
    let mut parts: Vec<String> = Vec::new();
    let add = |parts: &mut Vec<String>, text: String| {
        if !text.is_empty() && !parts.contains(&text) {
            parts.push(text);
        }
    };
    if a.reasons.is_empty() {
        for fact in [days(a), condition(a), tract(a), percent(a)] {
            add(&mut parts, fact);
        }
    }
    for reason in &a.reasons {
        let fact = match reason {
            Reason::CalvesAfterStart => "calves after the first day".to_owned(),
            Reason::CalvedTooLate | Reason::CalvedLate => days(a),
            Reason::InsertTooSoon => "too soon for an insert".to_owned(),
            Reason::Thin => condition(a),
            Reason::FirstCalf | Reason::TooYoung => a
                .months_at_breeding
                .map_or(String::new(), |m| format!("{m} months old")),
            Reason::InfantileTract | Reason::PrepubertalTract | Reason::PeripubertalTract => {
                tract(a)
            }
            Reason::Light | Reason::TooLight => percent(a),
            Reason::CellsBlank => format!("blank: {}", a.blank.join(", ")),
        };
        add(&mut parts, fact);
    }
    if let Some(gain) = a.gain_needed_lb_per_day
        && a.answer != Answer::Ready
    {
        let (gain, unit) = units.pounds(gain);
        parts.push(format!("{gain} {unit} a day needed"));
    }
    let mut text = parts.join(", ");
    if matches!(a.answer, Answer::Wait | Answer::NotNow) {
        match a.ready_from {
            Some(day) => {
                let with = match a.answer_then {
                    Some(Answer::WithProgestin) => "with a progestin ",
                    _ => "",
                };
                let _ = write!(text, "; {with}ready for a start from {day}");
            }
            None if a.tract_score.is_some_and(|t| t < 3) => text.push_str("; score again later"),
            None => {}
        }
    }
    text
}

fn days(a: &AnimalReport<'_>) -> String {
    match (
        a.days_since_calving_at_first_day,
        a.days_since_calving_at_breeding,
    ) {
        (Some(first), Some(then)) => {
            format!("{then} d from calving at breeding ({first} at start)")
        }
        _ => String::new(),
    }
}

fn condition(a: &AnimalReport<'_>) -> String {
    a.body_condition
        .map_or(String::new(), |c| format!("condition {c}"))
}

fn tract(a: &AnimalReport<'_>) -> String {
    a.tract_score
        .map_or(String::new(), |t| format!("tract score {t}"))
}

fn percent(a: &AnimalReport<'_>) -> String {
    a.mature_weight_percent
        .map_or(String::new(), |p| format!("{p} % of mature weight"))
}
