//! What was found for a group's wishes, for the terminal.

use std::fmt::Write as _;

use super::super::{COLUMNS, wrapped};
use crate::base::units::human_minutes;
use crate::planning::choose::{ASSUMED, Chosen, Criterion, GroupChoice, Row, Standing, Together};
use crate::trade::protocol::{Protocol, Step};
use crate::trade::season::Season;

/// Protocols that the wishes keep out, named before the rest are only counted.
const NAMED: usize = 6;

/// The lists of all groups, and the choice for them together.
#[must_use]
pub fn text(chosen: &Chosen, season: &Season) -> String {
    let mut text = String::new();
    if let Some(together) = &chosen.together {
        text.push_str(&of_all(chosen, together, season));
    }
    if chosen.straws_lacking > 0 {
        line(
            &mut text,
            &format!(
                "{} straws are lacking for an animal each of all groups, whenever they are bred: order them, or name other bulls.",
                chosen.straws_lacking
            ),
            "",
        );
        text.push('\n');
    }
    for group in &chosen.groups {
        text.push_str(&of_group(group, season));
    }
    if chosen.groups.iter().any(|g| g.fitting > 0) {
        text.push_str(&weights(chosen, season));
        text.push_str(&closing(chosen));
    }
    text
}

fn line(text: &mut String, sentence: &str, indent: &str) {
    let rest = if indent.trim().is_empty() {
        format!("{indent}  ")
    } else {
        " ".repeat(indent.len())
    };
    let _ = writeln!(text, "{}", wrapped(sentence, indent, &rest));
}

fn of_all(chosen: &Chosen, together: &Together, season: &Season) -> String {
    let picked = &together.picked;
    let mut text = String::new();
    let mut verdict = format!("{} groups chosen together", together.candidates.len());
    let twice = human_minutes(i64::from(picked.chute_quarters) * 15);
    let _ = match (picked.head_not_bred, picked.chute_quarters) {
        (0, 0) => write!(verdict, ": they do not collide for crew or chutes."),
        (0, _) => write!(verdict, ": a chute is wanted twice for {twice}."),
        (head, 0) => write!(verdict, ": {head} head cannot be bred for it."),
        (head, _) => write!(
            verdict,
            ": {head} head cannot be bred for it, and a chute is wanted twice for {twice}."
        ),
    };
    // Else "do not collide" could be read as "all are bred".
    let alone: u32 = together
        .rows()
        .map(|r| r.cover.not_bred + r.cover.other_head)
        .sum();
    if alone > 0 {
        let more = if picked.head_not_bred > 0 {
            " more"
        } else {
            ""
        };
        let _ = write!(
            verdict,
            " {alone} head{more} cannot be bred in their hours anyway: see each group."
        );
    }
    line(&mut text, &verdict, "");
    let by_heat = together
        .rows()
        .filter(|r| by_heat_unknown(&r.protocol))
        .count();
    if by_heat > 0 {
        line(
            &mut text,
            &format!(
                "{by_heat} of them {} bred as heat is seen, and nobody says when that is: whether the crew can be there is not counted.",
                if by_heat == 1 { "is" } else { "are" }
            ),
            "",
        );
    }
    let mut proof = if picked.gap() <= 1e-9 {
        format!(
            "Of all choices from {} starts this one has the fewest points: {}.",
            together.candidates.iter().map(Vec::len).sum::<usize>(),
            points(picked.points)
        )
    } else {
        format!(
            "{} points, the fewest that were found; another choice might have up to {:.1} % fewer.",
            points(picked.points),
            100.0 * picked.gap()
        )
    };
    if picked.stopped {
        proof += " The search was stopped by hand.";
    }
    if picked.one_by_one > picked.points + 0.05 {
        let _ = write!(
            proof,
            " One group after the other: {}.",
            points(picked.one_by_one)
        );
    }
    line(&mut text, &proof, "");
    text.push('\n');
    for (group, row) in chosen.groups.iter().zip(together.rows()) {
        let _ = writeln!(text, "  {}: {}", group.id, row.protocol.id);
        line(&mut text, &dates(row, season), "    ");
        line(&mut text, &crew(row), "    ");
    }
    text.push('\n');
    text
}

fn of_group(group: &GroupChoice, season: &Season) -> String {
    let mut text = String::new();
    let animals = match group.class {
        crate::trade::protocol::Class::Heifer => "heifers",
        _ => "cows",
    };
    let named = if group.name == group.id.as_str() {
        group.name.clone()
    } else {
        format!("{} ({})", group.name, group.id)
    };
    let _ = writeln!(text, "{named}: {} {animals}", group.head.0);
    line(
        &mut text,
        &format!(
            "{} starts of {} protocols looked at; {} keep every wish that must hold.",
            group.looked_at, group.protocols, group.fitting
        ),
        "",
    );
    if group.fitting == 0 {
        text.push_str(&nothing(group, season));
    } else {
        text.push('\n');
        for (n, row) in group.rows.iter().enumerate() {
            text.push_str(&of_row(n + 1, row, season));
        }
        line(
            &mut text,
            "None of these is beaten in everything by another of all that were looked at.",
            "",
        );
    }
    text.push_str(&wishes(group));
    text.push('\n');
    text
}

fn nothing(group: &GroupChoice, season: &Season) -> String {
    let mut text = String::from("\nNothing fits. Fewest wishes to give up:\n");
    for way in group.give_up.iter().take(5) {
        line(
            &mut text,
            &format!(
                "{}: then {} fit{}, such as {} from {}, bred from {}",
                way.wishes.join("; and "),
                way.candidates,
                if way.candidates == 1 { "s" } else { "" },
                way.example.0,
                way.example.1.format("%a %-d %b %Y %H:%M"),
                season.zone.human_short(way.example.2)
            ),
            "  - ",
        );
    }
    if group.give_up.is_empty() {
        line(
            &mut text,
            "no protocol is published for these animals",
            "  - ",
        );
    }
    text.push('\n');
    text
}

fn of_row(n: usize, row: &Row, season: &Season) -> String {
    let mut text = String::new();
    let head = format!("{n:>3}. {}", row.protocol.id);
    let points = format!("{} points", points(row.points));
    let gap = COLUMNS.saturating_sub(head.chars().count() + points.chars().count());
    let _ = writeln!(text, "{head}{}{points}", " ".repeat(gap.max(2)));
    let named = format!("{}. {}", row.protocol.name, dates(row, season));
    line(&mut text, &named, "     ");
    line(&mut text, &facts(row), "     ");
    if let Some(cost) = cost(row, season) {
        line(&mut text, &cost, "     ");
    }
    line(&mut text, &crew(row), "     ");
    if !row.equal.is_empty() {
        line(&mut text, &equal(row), "     ");
    }
    if !row.broken.is_empty() {
        line(
            &mut text,
            &format!("Breaks: {}.", row.broken.join("; ")),
            "     ",
        );
    }
    text.push('\n');
    text
}

fn dates(row: &Row, season: &Season) -> String {
    let by_heat = row.protocol.steps.iter().any(Step::is_heat_breeding);
    let spread = row.spread.as_ref().map(|s| format!(", {}", s.words()));
    format!(
        "Start {}{}, {} {}. Calves from {}, on average {}.",
        row.start.format("%a %-d %b %Y %H:%M"),
        spread.unwrap_or_default(),
        if by_heat { "heat from" } else { "AI" },
        season.zone.human_short(row.breeding),
        row.first_calves.format("%-d %b %Y"),
        row.mean_calving.format("%-d %b %Y")
    )
}

fn number(x: f64) -> String {
    format!("{}", (x * 10.0).round() / 10.0)
}

fn points(x: f64) -> String {
    format!("{x:.1}")
}

fn facts(row: &Row) -> String {
    let s = &row.standing;
    let h = &s.hours;
    let mut work = vec![
        format!("chute {}", number(h.chute)),
        format!("technicians {}", number(h.technicians)),
    ];
    if h.heat_watch > 0.0 {
        work.push(format!("heat watch {}", number(h.heat_watch)));
    }
    if h.feeding > 0.0 {
        work.push(format!("feeding {}", number(h.feeding)));
    }
    let night = row.values.get(Criterion::NightHours);
    let night = if night > 0.0 {
        format!(", {} at night", number(night))
    } else {
        String::new()
    };
    format!(
        "{} days, {} trip{} through the chute{}; work {} h ({}){night}. Pregnant to AI: {}.",
        s.days,
        s.passes,
        if s.passes == 1 { "" } else { "s" },
        if s.breeding_apart {
            " and her own breeding"
        } else {
            ""
        },
        number(h.sum()),
        work.join(", "),
        pregnant(s)
    )
}

fn pregnant(s: &Standing) -> String {
    let counted = number(s.counted_percent);
    if s.rate_general {
        return format!("no figure published, counted as {counted} %");
    }
    let spread = if s.rate.low < s.rate.high {
        format!("{} to {}, ", number(s.rate.low), number(s.rate.high))
    } else {
        String::new()
    };
    format!("{counted} % ({spread}{})", s.rate.tags.join(", "))
}

fn cost(row: &Row, season: &Season) -> Option<String> {
    let cost = row.standing.cost.as_ref()?;
    let currency = season.prices.as_ref()?.currency.as_deref();
    let currency = currency.map_or(String::new(), |c| format!(" {c}"));
    let lines: Vec<String> = cost
        .lines
        .iter()
        .map(|l| format!("{} {}", l.what, l.amount))
        .collect();
    let least = if row.standing.unpriced().is_empty() {
        String::new()
    } else {
        format!(
            ", at least: no price for {}",
            row.standing.unpriced().join(", ")
        )
    };
    let assumed = cost
        .in_heat
        .as_ref()
        .filter(|h| h.source == ASSUMED)
        .map_or(String::new(), |h| {
            format!(", with {} % seen in heat, not known", number(h.percent))
        });
    let pregnancy = row
        .standing
        .cost_a_pregnancy()
        .map_or(String::new(), |p| format!("; {p}{currency} per pregnancy"));
    Some(format!(
        "Cost {}{currency} a head ({}{assumed}){pregnancy}{least}.",
        cost.total,
        lines.join(", ")
    ))
}

/// True for breeding by heat of which nothing is published that says when heat comes.
fn by_heat_unknown(protocol: &Protocol) -> bool {
    let mut watches = protocol.steps.iter().filter(|s| s.is_heat_breeding());
    watches.any(|s| s.heat.is_none())
}

fn crew(row: &Row) -> String {
    let c = &row.cover;
    let mut text = if c.not_bred > 0 {
        let why = row.why.as_ref().map(|w| format!(": {w}"));
        format!(
            "{} head cannot be bred in their hours{}",
            c.not_bred,
            why.unwrap_or_default()
        )
    } else if !row.protocol.steps.iter().any(Step::is_timed_breeding)
        && by_heat_unknown(&row.protocol)
    {
        "Bred as they come in heat, at no set hours".to_owned()
    } else {
        let all = if row.protocol.steps.iter().any(Step::is_heat_breeding) {
            "as many as are expected on each half-day"
        } else {
            "all"
        };
        format!(
            "The crew breeds {all} in their hours, and could begin up to {} after they open",
            human_minutes(c.spare.num_minutes())
        )
    };
    if c.other_head > 0 {
        let _ = write!(
            text,
            "; {} head more are left for other groups' breeding",
            c.other_head
        );
    }
    if c.chute_quarters > 0 {
        let _ = write!(
            text,
            "; the chute is wanted by another group for {}",
            human_minutes(i64::from(c.chute_quarters) * 15)
        );
    }
    text.push('.');
    text
}

fn equal(row: &Row) -> String {
    const SHOWN: usize = 6;
    let shown: Vec<String> = row
        .equal
        .iter()
        .take(SHOWN)
        .map(|s| s.format("%a %-d %b %H:%M").to_string())
        .collect();
    let more = row.equal.len().saturating_sub(SHOWN);
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    format!("Just as good: start {}{more}.", shown.join(", "))
}

fn wishes(group: &GroupChoice) -> String {
    let mut text = String::from("Wishes, and how many starts each keeps out:\n");
    for wish in &group.wishes {
        line(
            &mut text,
            &format!(
                "{}{}: {}, {} of them that no other wish keeps out",
                wish.words,
                if wish.hard { "" } else { ", may be broken" },
                wish.breaks,
                wish.alone
            ),
            "  - ",
        );
    }
    if group.fitting > 0 && !group.kept_out.is_empty() {
        text.push_str("Protocols kept out, by what at the least:\n");
        for out in group.kept_out.iter().take(NAMED) {
            line(
                &mut text,
                &format!("{}: {}", out.protocol, out.wishes.join("; and ")),
                "  - ",
            );
        }
        let more = group.kept_out.len().saturating_sub(NAMED);
        if more > 0 {
            let _ = writeln!(text, "  - and {more} more (--json names them)");
        }
    }
    text
}

fn weights(chosen: &Chosen, season: &Season) -> String {
    let mut text = String::from("Points are counted so, the fewer the better:\n");
    for c in Criterion::ALL {
        let weight = c.weight(&chosen.weights);
        if weight > 0.0 {
            let _ = writeln!(text, "  {weight:>6} for each {}", c.words());
        }
    }
    if season.prices.is_none() {
        text.push_str("Costs do not count: the season file has no `prices`.\n");
    } else if !chosen.unpriced.is_empty() {
        line(
            &mut text,
            &format!(
                "Costs do not count: `prices` in the season file lacks {}.",
                chosen.unpriced.join(", ")
            ),
            "",
        );
    }
    line(
        &mut text,
        "Common practice, no source: set your own under `weights` in the season file.",
        "",
    );
    text
}

fn closing(chosen: &Chosen) -> String {
    let unverified = chosen
        .groups
        .iter()
        .flat_map(|g| &g.rows)
        .any(|r| r.protocol.has_unverified());
    let mut text = String::new();
    let unknown = chosen
        .groups
        .iter()
        .flat_map(|g| &g.rows)
        .find(|r| r.standing.rate_general);
    if let Some(row) = unknown {
        let general = &row.standing.rate;
        let least = chosen
            .groups
            .iter()
            .flat_map(|g| &g.rows)
            .map(|r| &r.standing)
            .filter(|s| !s.rate_general)
            .min_by(|a, b| a.rate.mean.total_cmp(&b.rate.mean))
            .map(|s| {
                format!(
                    ", in these lists {} %, {}",
                    number(s.rate.mean),
                    s.rate.tags.join(", ")
                )
            })
            .unwrap_or_default();
        line(
            &mut text,
            &format!(
                "Where no percentage pregnant is published for a protocol, the least counts that is published for these animals{least}, or of timed AI in general ({} to {} %, {}).",
                number(general.low),
                number(general.high),
                general.tags.join(", ")
            ),
            "",
        );
    }
    if unverified {
        line(
            &mut text,
            "Some times of these protocols are from memory: check with the current protocol sheet and your veterinarian.",
            "",
        );
    }
    text
}
