//! Calves expected, day by day: AI calves and clean-up bull calves, and how many are born by then.

use chrono::{Datelike, NaiveDate};

use super::drawing::{WIDE, chart};
use crate::analysis::forecast::{Calving, Forecast};
use crate::base::time::human_date;
use crate::base::units::tenths;
use crate::output::document::{Block, Look, Mark, Role, Shape, Span, words};

const HIGH: f64 = 200.0;
/// Where the columns stand, and how high the highest is.
const FOOT: f64 = 172.0;
const TALL: f64 = 140.0;
const EDGE: f64 = 46.0;

/// The section; nothing where no calves are expected.
pub(super) fn calving(answer: &Forecast) -> Option<Block> {
    let c = answer.calving.as_ref()?;
    let mut blocks = vec![Block::paragraph(words![
        Span::strong(format!("{:.0} calves", c.calves_head)),
        format!(", {:.0} % of them AI calves. ", c.ai_percent),
        format!("The earliest are expected on {}; ", human_date(c.first)),
        format!(
            "5 in 100 are born by {}, half by ",
            human_date(c.born_5_percent)
        ),
        Span::strong(human_date(c.born_50_percent)),
        format!(", 95 in 100 by {}.", human_date(c.born_95_percent)),
    ])];
    if let Some(first) = &answer.first_21_days {
        blocks.push(Block::paragraph(format!(
            "Each group by itself: {:.0} % born by 21 days after its first due date, the count that \
             published tables use; {:.0} % born in the 21 days from its earliest calves (12 days \
             before that date).",
            first.percent_from_due, first.percent
        )));
    }
    blocks.extend([
        curve(c),
        Block::of_role(
            Role::SmallSoft,
            "Solid columns: AI calves each day; outlined columns on top: clean-up bull calves. Dashed line: percent born so far, to the right. \
             How it is counted, with sources: thawline forecast.",
        ),
    ]);
    Some(Block::part("calving", "Calves expected", blocks))
}

fn curve(c: &Calving) -> Block {
    let most = c.curve.iter().map(|d| d.ai_head + d.bulls_head);
    let most = most.fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let days = c.curve.len().max(1) as f64;
    let step = (WIDE - 2.0 * EDGE) / days;
    let x = |n: usize| EDGE + step * n as f64;
    let wide = tenths((step * 0.8).max(0.4));
    let high = |head: f64| tenths(TALL * head / most);
    let mut marks = Vec::new();
    for share in [0, 50, 100] {
        let of = |all: f64| all * f64::from(share) / 100.0;
        let (right, y) = (WIDE - EDGE, FOOT - of(TALL));
        let head = format!("{:.1}", of(most));
        marks.extend([
            Mark::new(Look::Faint, Shape::Line([EDGE, y, right, y])),
            Mark::words(Look::Plain, [right + 4.0, y + 4.0], format!("{share} %")),
            Mark::words(Look::Before, [EDGE - 4.0, y + 4.0], head),
        ]);
    }
    for (n, d) in c.curve.iter().enumerate() {
        let (ai, bulls) = (high(d.ai_head), high(d.bulls_head));
        let at = tenths(x(n));
        if ai > 0.0 {
            let column = Shape::Box([at, tenths(FOOT - ai), wide, ai]);
            marks.push(Mark::new(Look::FullThin, column));
        }
        if bulls > 0.0 {
            let column = Shape::Box([at, tenths(FOOT - ai - bulls), wide, bulls]);
            marks.push(Mark::new(Look::OpenThin, column));
        }
        if first_of_month(d.date) {
            let words = d.date.format("%b %Y").to_string();
            let left = tenths((x(n) + 2.0).min(WIDE - 66.0));
            marks.extend([
                Mark::new(Look::Faint, Shape::Line([at, FOOT, at, FOOT + 8.0])),
                Mark::words(Look::Plain, [left, HIGH - 8.0], words),
            ]);
        }
    }
    let born = c.curve.iter().enumerate().map(|(n, d)| {
        let y = FOOT - TALL * d.born_percent / 100.0;
        (tenths(x(n) + step / 2.0), tenths(y))
    });
    marks.push(Mark::new(Look::Dashed, Shape::Chain(born.collect())));
    chart(
        "Calves by day, drawn",
        "AI calves and clean-up bull calves expected each day, and the percent born so far",
        HIGH,
        marks,
    )
}

fn first_of_month(day: NaiveDate) -> bool {
    day.day() == 1
}
