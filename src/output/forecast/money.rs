//! Costs and the partial budget for the terminal.

use std::fmt::Write as _;

use super::super::line;
use crate::analysis::forecast::{Answer, Budget, Entry, First21Days, MoneyAnswer, Natural, Spent};
use crate::base::time::human_date;
use crate::base::units::{KG_PER_LB, Units, Weight, count};
use crate::trade::figures::Money;

pub(super) fn money(text: &mut String, m: &MoneyAnswer, answer: &Answer) {
    let unit = m.currency.as_ref().map_or("the prices' currency", |c| c);
    let _ = writeln!(text);
    line(text, &format!("Money, in {unit}"), "");
    if !m.groups.is_empty() {
        let _ = writeln!(
            text,
            "  {:<18} {:>10} {:>16} {:>16}",
            "AI costs", "a head", "a pregnancy", "a calf of AI"
        );
    }
    for g in m.groups.iter().filter(|g| shown(answer, &g.group)) {
        row(text, &g.group, Some(g.a_head), g.a_pregnancy, g.an_ai_calf);
        for e in &g.entries {
            detail(text, e, answer.units);
        }
        if !g.missing.is_empty() {
            let words = format!("not in it: {}", g.missing.join(", "));
            line(text, &words, "      ");
        }
        if let (Some(p), Some(source)) = (g.in_heat_percent, &g.in_heat_source) {
            line(text, &format!("{p} % seen in heat ({source})"), "      ");
        }
    }
    spent(text, &m.spent);
    if let Some(n) = &m.natural {
        natural(text, n, answer);
    }
    if !m.missing.is_empty() {
        line(text, "Not given, so in no sum:", "  ");
        for key in &m.missing {
            line(text, key, "    ");
        }
    }
}

fn shown(answer: &Answer, group: &str) -> bool {
    answer.groups.iter().any(|g| g.group == group)
}

fn told(m: Option<Money>) -> String {
    m.map_or_else(|| "-".to_owned(), |m| m.to_string())
}

fn row(text: &mut String, name: &str, a: Option<Money>, b: Option<Money>, c: Option<Money>) {
    let wide = textwrap::core::display_width(name);
    if wide > 18 {
        let _ = writeln!(text, "  {name}");
    }
    let name = if wide > 18 { "" } else { name };
    let pad = " ".repeat(18 - textwrap::core::display_width(name));
    let _ = writeln!(
        text,
        "  {name}{pad} {:>10} {:>16} {:>16}",
        told(a),
        told(b),
        told(c)
    );
}

/// `GnRH: 2 x 2.75 per dose = 5.50`.
fn detail(text: &mut String, e: &Entry, units: Units) {
    let words = format!("{} = {}", counted(e, units), e.amount);
    line(text, &words, "      ");
}

/// `GnRH: 2 x 2.75 per dose`.
fn counted(e: &Entry, units: Units) -> String {
    // What is sold by weight; the amount of money stays the same.
    let metric = e.unit == "lb" && units.weight == Some(Weight::Kg);
    let e = &if metric {
        e.sold_by("kg", KG_PER_LB)
    } else {
        e.clone()
    };
    // Prices have two digits, and more where the amount needs them.
    let (short, whole) = (format!("{:.2}", e.price), e.price.to_string());
    let price = if whole.len() > short.len() {
        whole
    } else {
        short
    };
    format!("{}: {} x {price} per {}", e.what, e.units, e.unit)
}

fn spent(text: &mut String, s: &Spent) {
    let ai = s.ai.map(|ai| ai + s.road.unwrap_or_default());
    if ai.is_some() {
        let name = if s.road.is_some() {
            "all, with road"
        } else {
            "all groups"
        };
        row(text, name, s.a_head, s.a_pregnancy, s.an_ai_calf);
    }
    let mut words = Vec::new();
    if let Some(ai) = s.ai {
        words.push(format!("synchronization and AI {ai}"));
    }
    if let Some(road) = s.road {
        words.push(format!("road {road}"));
    }
    if let Some(bulls) = s.bulls {
        words.push(format!(
            "{} {bulls} a year ({} each)",
            count(s.bulls_head, "clean-up bull", "clean-up bulls"),
            told(s.bull_a_year)
        ));
    }
    if !words.is_empty() {
        line(text, &format!("Season: {}.", words.join(", ")), "  ");
    }
    if let Some(m) = s.a_bull_pregnancy {
        line(text, &format!("A pregnancy to clean-up bulls: {m}."), "  ");
    }
    if let Some(m) = s.any_pregnancy {
        line(
            text,
            &format!("A pregnancy of either, AI, road and bulls together: {m}."),
            "  ",
        );
    }
}

fn natural(text: &mut String, n: &Natural, answer: &Answer) {
    let _ = writeln!(text);
    line(
        text,
        "Against natural service: bulls alone from each group's first day of AI",
        "",
    );
    let percent = |a: f64, of: f64| if of > 0.0 { 100.0 * a / of } else { 0.0 };
    let cost = n.bulls.map_or(String::new(), |b| {
        format!(", {b} a year, {} a pregnancy", told(n.a_pregnancy))
    });
    let bulls = format!(
        "{}{cost}; {:.0} % of heats settled ({})",
        count(n.bulls_head, "bull", "bulls"),
        n.settled.percent,
        n.settled.source
    );
    line(text, &bulls, "  ");
    let head = f64::from(answer.all.head);
    let with = answer.calving.as_ref();
    let part =
        |f: Option<First21Days>| f.map_or("-".to_owned(), |f| format!("{:.0}", f.percent_from_due));
    let compared = [
        (
            "pregnant, %",
            format!("{:.0}", percent(n.pregnant.head, head)),
            format!("{:.0}", percent(answer.all.pregnant.head, head)),
        ),
        (
            "calves",
            format!("{:.1}", n.calves_head),
            format!(
                "{:.1}",
                answer.all.ai_calves_head + answer.all.bull_calves_head
            ),
        ),
        (
            "mean calving",
            n.mean_calving.map_or("-".to_owned(), human_date),
            with.map_or("-".to_owned(), |c| human_date(c.mean)),
        ),
        (
            "21 days from due, %",
            part(n.first_21_days),
            part(answer.first_21_days),
        ),
    ];
    let _ = writeln!(
        text,
        "  {:<20} {:>16} {:>16}",
        "", "bulls alone", "AI and bulls"
    );
    for (what, alone, ai) in compared {
        let _ = writeln!(text, "  {what:<20} {alone:>16} {ai:>16}");
    }
    budget(text, &n.budget, answer.units);
}

fn budget(text: &mut String, b: &Budget, units: Units) {
    let _ = writeln!(text);
    line(text, "Partial budget of AI in place of bulls alone", "  ");
    let [returns, saved, costs, lost] = b.sums();
    for (name, side, sum) in [
        ("Added returns", &b.added_returns, returns),
        ("Reduced costs", &b.reduced_costs, saved),
        ("Added costs", &b.added_costs, costs),
        ("Reduced returns", &b.reduced_returns, lost),
    ] {
        let _ = writeln!(text, "  {name:<57} {:>14}", sum.to_string());
        for e in side {
            let _ = writeln!(
                text,
                "    {:<55} {:>14}",
                counted(e, units),
                e.amount.to_string()
            );
        }
    }
    let _ = writeln!(
        text,
        "  {:<57} {:>14}",
        "Net: returns added and costs reduced, less the others",
        b.net.to_string()
    );
    let ends = format!(
        "from {} to {} at the lowest and highest percent pregnant to AI; {} a head",
        b.net_low,
        b.net_high,
        told(b.net_a_head)
    );
    line(text, &ends, "    ");
}
