//! Costs and the partial budget in words.

use crate::analysis::forecast::{
    Budget, Entry, First21Days, Forecast, MoneyAnswer, Natural, Spent,
};
use crate::base::time::human_date;
use crate::base::units::{KG_PER_LB, Units, Weight, count};
use crate::output::document::{Block, Cell, Hold, Row};
use crate::trade::figures::Money;

pub(super) fn money(m: &MoneyAnswer, answer: &Forecast) -> Block {
    let unit = m.currency.as_ref().map_or("the prices' currency", |c| c);
    let mut blocks = Vec::new();
    let columns = ["AI costs", "a head", "a pregnancy", "an AI calf"];
    let mut rows = Vec::new();
    for g in m.groups.iter().filter(|g| shown(answer, &g.group)) {
        rows.push(row(&g.group, [Some(g.a_head), g.a_pregnancy, g.an_ai_calf]));
        rows.extend(g.entries.iter().map(|e| detail(e, answer.units)));
        if !g.missing.is_empty() {
            let words = format!("no price, left out: {}", g.missing.join(", "));
            rows.push(Row::over_all(words));
        }
        if let (Some(p), Some(source)) = (g.in_heat_percent, &g.in_heat_source) {
            rows.push(Row::over_all(format!("{p} % seen in heat ({source})")));
        }
    }
    rows.extend(of_season(&m.spent));
    blocks.push(Block::table("What AI costs", &columns, rows));
    blocks.extend(spent(&m.spent));
    blocks.extend(m.natural.iter().flat_map(|n| natural(n, answer)));
    if !m.missing.is_empty() {
        blocks.push(Block::heading(3, "Not given, so left out of totals"));
        blocks.push(Block::bullets(&m.missing));
    }
    Block::part("money", format!("Money, in {unit}"), blocks)
}

fn shown(answer: &Forecast, group: &str) -> bool {
    answer.groups.iter().any(|g| g.group == group)
}

fn told(m: Option<Money>) -> String {
    m.map_or_else(|| "-".to_owned(), |m| m.to_string())
}

fn row(name: &str, amounts: [Option<Money>; 3]) -> Row {
    Row::named(name, amounts.map(told))
}

/// `GnRH: 2 x 2.75 per dose = 5.50`.
fn detail(e: &Entry, units: Units) -> Row {
    Row::over_all(format!("{} = {}", counted(e, units), e.amount))
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
    // What the animals weigh is no number of animals.
    let pounds = match e.unit.as_str() {
        unit @ ("lb" | "kg") => format!(" {unit}"),
        _ => String::new(),
    };
    format!("{}: {}{pounds} x {price} per {}", e.what, e.units, e.unit)
}

fn of_season(s: &Spent) -> Option<Row> {
    let name = if s.road.is_some() {
        "all, with road"
    } else {
        "all groups"
    };
    let amounts = [s.a_head, s.a_pregnancy, s.an_ai_calf];
    s.ai.map(|_| row(name, amounts))
}

fn spent(s: &Spent) -> Vec<Block> {
    let bulls = s.bulls.map(|bulls| {
        let head = count(s.bulls_head, "clean-up bull", "clean-up bulls");
        format!("{head} {bulls} a year ({} each)", told(s.bull_a_year))
    });
    let words = [
        s.ai.map(|ai| format!("synchronization and AI {ai}")),
        s.road.map(|road| format!("road {road}")),
        bulls,
    ];
    let words: Vec<String> = words.into_iter().flatten().collect();
    let lines = [
        (!words.is_empty()).then(|| format!("Season: {}.", words.join(", "))),
        s.a_bull_pregnancy
            .map(|m| format!("A pregnancy to clean-up bulls: {m}.")),
        s.any_pregnancy
            .map(|m| format!("A pregnancy of any kind, with AI, road and bulls together: {m}.")),
    ];
    lines.into_iter().flatten().map(Block::paragraph).collect()
}

fn natural(n: &Natural, answer: &Forecast) -> Vec<Block> {
    let percent = |a: f64, of: f64| if of > 0.0 { 100.0 * a / of } else { 0.0 };
    let cost = n.bulls.map_or(String::new(), |b| {
        format!(", {b} a year, {} a pregnancy", told(n.a_pregnancy))
    });
    let (bulls, settled) = (count(n.bulls_head, "bull", "bulls"), &n.settled);
    let (at_each, source) = (settled.percent, &settled.source);
    let bulls = format!("{bulls}{cost}; {at_each:.0} % of heats settled ({source})");
    let head = f64::from(answer.all.head);
    let all = &answer.all;
    let with = answer.calving.as_ref();
    let part =
        |f: Option<First21Days>| f.map_or("-".to_owned(), |f| format!("{:.0}", f.percent_from_due));
    let compared = [
        (
            "pregnant, %",
            format!("{:.0}", percent(n.pregnant.head, head)),
            format!("{:.0}", percent(all.pregnant.head, head)),
        ),
        (
            "calves",
            format!("{:.1}", n.calves_head),
            format!("{:.1}", all.ai_calves_head + all.bull_calves_head),
        ),
        (
            "average calving date",
            n.mean_calving.map_or("-".to_owned(), human_date),
            with.map_or("-".to_owned(), |c| human_date(c.mean)),
        ),
        (
            "21 days from due, %",
            part(n.first_21_days),
            part(answer.first_21_days),
        ),
    ];
    let rows = compared.map(|(what, alone, ai)| Row::named(what, [alone, ai]));
    let title = "Compared with natural service: bulls alone from each group's first day of AI";
    let columns = ["", "bulls alone", "AI and bulls"];
    let mut blocks = vec![
        Block::heading(3, title),
        Block::paragraph(bulls),
        Block::table(title, &columns, rows),
    ];
    blocks.extend(budget(&n.budget, answer.units));
    blocks
}

fn budget(b: &Budget, units: Units) -> Vec<Block> {
    let [returns, saved, costs, lost] = b.sums();
    let sides = [
        ("Added returns", &b.added_returns, returns),
        ("Reduced costs", &b.reduced_costs, saved),
        ("Added costs", &b.added_costs, costs),
        ("Reduced returns", &b.reduced_returns, lost),
    ];
    let row = |what: String, m: Money| {
        Row::of(vec![
            Cell::head(Hold::Words, what),
            Cell::of(Hold::Figure, m.to_string()),
        ])
    };
    let mut rows = Vec::new();
    for (name, side, sum) in sides {
        rows.push(row(name.to_owned(), sum));
        let entry = |e: &Entry| row(format!("  {}", counted(e, units)), e.amount);
        rows.extend(side.iter().map(entry));
    }
    let net = "Net gain from AI: (added returns + reduced costs) - (added costs + reduced returns)";
    rows.push(row(net.to_owned(), b.net));
    let (low, high, head) = (b.net_low, b.net_high, told(b.net_a_head));
    let ends = format!(
        "from {low} to {high} at the lowest and highest percent pregnant to AI; {head} a head"
    );
    let title = "Partial budget: AI in place of bulls alone";
    vec![
        Block::heading(3, title),
        Block::table(title, &["", "amount"], rows),
        Block::paragraph(ends),
    ]
}
