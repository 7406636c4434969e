//! The tanks for the terminal: each from above, then what is where, what is left after each session
//! and the nitrogen.

use std::fmt::Write as _;

use super::super::{COLUMNS, line, remark, up_to_minute};
use super::drawing::drawing;
use crate::analysis::tank::{
    Answer, Canister, Holding, NitrogenAnswer, SessionLeft, Taken, TankView,
};
use crate::base::units::count;
use crate::trade::protocol::Caution;

/// The whole answer.
#[must_use]
pub fn text(answer: &Answer) -> String {
    let mut text = format!("{}\nTimes are local, {}.\n", answer.season, answer.zone);
    let caution = Caution::Nitrogen;
    line(
        &mut text,
        &format!("{} ({})", caution.words(), caution.source()),
        "",
    );
    for tank in &answer.tanks {
        one(&mut text, tank);
    }
    if answer.short_straws > 0 {
        let short = format!("{} straws of the plan have no place.", answer.short_straws);
        line(&mut text, &short, "");
    }
    for group in &answer.lacking_straws {
        let straws = count(group.straws, "straw", "straws");
        line(&mut text, &format!("{}: {straws} short.", group.group), "");
    }
    if !answer.findings.is_empty() {
        text.push('\n');
    }
    for finding in &answer.findings {
        let _ = writeln!(text, "{}", remark(finding));
    }
    text
}

fn one(text: &mut String, tank: &TankView) {
    text.push('\n');
    let id = if tank.id.is_empty() || tank.id == tank.name {
        String::new()
    } else {
        format!(" ({})", tank.id)
    };
    let head = format!(
        "{}{id}: {} straws, {} left after the season",
        tank.name, tank.straws, tank.left_straws
    );
    line(text, &head, "");
    let drawn = drawing(tank);
    if !drawn.is_empty() {
        line(
            text,
            "From above, canister 1 farthest from you; straws before > after the season:",
            "",
        );
        text.push('\n');
        for row in drawn {
            let _ = writeln!(text, "{}", row.trim_end());
        }
        text.push('\n');
    }
    for canister in tank.canisters.iter().filter(|c| !c.holdings.is_empty()) {
        holdings(text, canister);
    }
    if tank.sessions.is_empty() {
        line(text, "No session takes straws from it.", "");
    } else {
        line(
            text,
            "Taken and left by session; one canister is finished before the next, the one with fewest straws of the bull first, and within it the cane with fewest left:",
            "",
        );
    }
    for session in &tank.sessions {
        left(text, session, tank.nitrogen.as_ref());
    }
    if let Some(n) = &tank.nitrogen {
        nitrogen(text, n);
    }
}

fn holdings(text: &mut String, canister: &Canister) {
    let name = canister.number.map_or_else(
        || "No canister named".to_owned(),
        |n| format!("Canister {n}"),
    );
    let head = format!(
        "{name}: {} straws, {} left",
        canister.straws, canister.left_straws
    );
    line(text, &head, "");
    let width = |of: fn(&Holding) -> String| {
        let all = canister.holdings.iter().map(of);
        all.map(|t| t.chars().count()).max().unwrap_or(0)
    };
    let (canes, bulls) = (width(cane), width(bull));
    for h in &canister.holdings {
        let row = format!(
            "  {:canes$}  {:bulls$}  {:4} mL  {:12}  {:>6}  {:>6} left",
            cane(h),
            bull(h),
            h.straw_ml,
            h.sort,
            h.straws,
            h.left_straws
        );
        if row.chars().count() <= COLUMNS {
            let _ = writeln!(text, "{row}");
        } else {
            let words = format!(
                "{}, {}, {} mL, {}: {}, {} left",
                cane(h),
                bull(h),
                h.straw_ml,
                h.sort,
                h.straws,
                h.left_straws
            );
            line(text, &words, "  ");
        }
    }
}

fn cane(h: &Holding) -> String {
    named(h.cane.as_deref(), h.goblet.as_deref())
}

fn named(cane: Option<&str>, goblet: Option<&str>) -> String {
    match (cane, goblet) {
        (Some(cane), Some(goblet)) => format!("{cane} {goblet}"),
        (Some(cane), None) => cane.to_owned(),
        (None, Some(goblet)) => goblet.to_owned(),
        (None, None) => "no cane named".to_owned(),
    }
}

fn bull(h: &Holding) -> String {
    h.bull_name.clone()
}

fn left(text: &mut String, s: &SessionLeft, nitrogen: Option<&NitrogenAnswer>) {
    let lifts: Vec<String> = s.lifted_canisters.iter().map(ToString::to_string).collect();
    let lifted = match lifts.len() {
        0 => String::new(),
        1 => format!("; lifts canister {}", lifts[0]),
        _ => format!("; lifts canisters {}", lifts.join(", ")),
    };
    let level = s.level.zip(nitrogen).map_or(String::new(), |(level, n)| {
        format!("; nitrogen {level:.1} {}", n.unit)
    });
    let head = format!(
        "{} {}: {} left{lifted}{level}",
        up_to_minute(s.begins).format("%a %-d %b %H:%M"),
        s.session,
        s.left_straws
    );
    line(text, &head, "  ");
    let mut first = 0;
    while first < s.taken.len() {
        let at = &s.taken[first];
        let same = |t: &&Taken| t.bull == at.bull && t.canister == at.canister;
        let run: Vec<&Taken> = s.taken[first..].iter().take_while(same).collect();
        let all: u32 = run.iter().map(|t| t.straws).sum();
        let from: Vec<String> = run
            .iter()
            .map(|t| {
                format!(
                    "{} {}",
                    named(t.cane.as_deref(), t.goblet.as_deref()),
                    t.straws
                )
            })
            .collect();
        let canister = at
            .canister
            .map_or(String::new(), |n| format!(" canister {n},"));
        let words = format!("{all} of {}:{canister} {}", at.bull, from.join(", "));
        line(text, &words, "    ");
        first += run.len();
    }
}

fn nitrogen(text: &mut String, n: &NitrogenAnswer) {
    line(text, "Liquid nitrogen", "");
    for words in n.words.iter().filter(|w| !w.is_empty()) {
        line(text, words, "  ");
    }
    let published: Vec<String> = n
        .published
        .iter()
        .map(|m| match m.to_inches {
            Some(to) => format!("{} to {to} in. ({})", m.inches, m.source),
            // Published in centimeters.
            None if m.inches.fract() > 0.0 => {
                format!("{:.0} cm ({} in., {})", m.inches * 2.54, m.inches, m.source)
            }
            None => format!("{} in. ({})", m.inches, m.source),
        })
        .collect();
    let words = format!(
        "Published least levels disagree: {}. Your own value decides.",
        published.join(", ")
    );
    line(text, &words, "  ");
}
