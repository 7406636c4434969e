//! Calves expected, day by day: those of AI and those of bulls, and how many are born by then.

use chrono::{Datelike, NaiveDate};
use maud::{Markup, html};

use super::drawing::{WIDE, tenth};
use super::words::date;
use crate::analysis::forecast::{Answer, Calving};

const HIGH: f64 = 200.0;
/// Where the columns stand, and how high the highest is.
const FOOT: f64 = 172.0;
const TALL: f64 = 140.0;
const EDGE: f64 = 46.0;

/// The section; nothing where no calves are expected.
pub(super) fn calving(answer: &Answer) -> Markup {
    html! {
        @if let Some(c) = &answer.calving {
            section aria-labelledby="calving" {
                h2 id="calving" { "Calves expected" }
                p {
                    b { (format!("{:.0} calves", c.calves_head)) } ", "
                    (format!("{:.0} % of them of AI", c.ai_percent)) ". First ones are looked for on "
                    (date(c.first)) "; 5 in 100 are born by " (date(c.born_5_percent)) ", half by "
                    b { (date(c.born_50_percent)) } ", 95 in 100 by " (date(c.born_95_percent)) "."
                }
                @if let Some(first) = &answer.first_21_days {
                    p {
                        "Born in the first 21 days, each group by itself: "
                        (format!("{:.0} %", first.percent_from_due))
                        " by the due-date count (as published tables: by the 21st day after the first due date), "
                        (format!("{:.0} %", first.percent))
                        " by the earliest-calf count (from 12 days before it)."
                    }
                }
                section class="scroll" aria-label="Calves by day, drawn" tabindex="0" { (curve(c)) }
                p class="small soft" {
                    "Full columns: calves of AI each day; open ones on top: of bulls. Dashed: percent born so far, to the right. "
                    "How it is counted, with sources: thawline forecast."
                }
            }
        }
    }
}

fn curve(c: &Calving) -> Markup {
    let most = c.curve.iter().map(|d| d.ai_head + d.bulls_head);
    let most = most.fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let days = c.curve.len().max(1) as f64;
    let step = (WIDE - 2.0 * EDGE) / days;
    let x = |n: usize| EDGE + step * n as f64;
    let wide = tenth((step * 0.8).max(0.4));
    let high = |head: f64| tenth(TALL * head / most);
    let line: Vec<String> = c
        .curve
        .iter()
        .enumerate()
        .map(|(n, d)| {
            let y = FOOT - TALL * d.born_percent / 100.0;
            format!("{},{}", tenth(x(n) + step / 2.0), tenth(y))
        })
        .collect();
    html! {
        svg class="chart" viewBox={ "0 0 " (WIDE) " " (HIGH) } role="img"
            aria-label="Expected calves of each day, of AI and of bulls, and the percent born so far" {
            @for (share, y) in [(0, FOOT), (50, FOOT - TALL / 2.0), (100, FOOT - TALL)] {
                line class="faint" x1=(EDGE) y1=(y) x2=(WIDE - EDGE) y2=(y) {}
                text x=(WIDE - EDGE + 4.0) y=(y + 4.0) { (share) " %" }
                text class="right" x=(EDGE - 4.0) y=(y + 4.0) {
                    (format!("{:.1}", most * f64::from(share) / 100.0))
                }
            }
            @for (n, d) in c.curve.iter().enumerate() {
                @let (ai, bulls) = (high(d.ai_head), high(d.bulls_head));
                @if ai > 0.0 {
                    rect class="full thin" x=(tenth(x(n))) y=(tenth(FOOT - ai)) width=(wide) height=(ai) {}
                }
                @if bulls > 0.0 {
                    rect class="open thin" x=(tenth(x(n))) y=(tenth(FOOT - ai - bulls)) width=(wide) height=(bulls) {}
                }
                @if first_of_month(d.date) {
                    line class="faint" x1=(tenth(x(n))) y1=(FOOT) x2=(tenth(x(n))) y2=(FOOT + 8.0) {}
                    text x=(tenth((x(n) + 2.0).min(WIDE - 66.0))) y=(HIGH - 8.0) { (d.date.format("%b %Y")) }
                }
            }
            polyline class="dashed" points=(line.join(" ")) {}
        }
    }
}

fn first_of_month(day: NaiveDate) -> bool {
    day.day() == 1
}
