//! The sheet of a session to print and tape to the wall: one for each technician, black on white,
//! with clock times that can be read at arm's length.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::thaw::{back, cows, hot, several, sources_words};
use crate::analysis::thaw::bath::BathFigures;
use crate::analysis::thaw::words::figure;
use crate::analysis::thaw::{Round, SessionThaw, TechnicianThaw, Thaw};
use crate::base::time::human_date;
use crate::base::units::{Units, count};
use crate::planning::plan::Moment;

const STYLE: &str = include_str!("thaw_page.css");

/// The few that matter at the tank and the bath.
const CARE: [&str; 6] = [
    "Nitrogen: gloves, eye cover, closed shoes",
    "Door open: the gas takes the air away",
    "Face away from the bath: straws can burst",
    "Out of the sun and the wind",
    "Dry each straw before it is cut",
    "Keep the loaded gun warm",
];

/// A sheet for each technician of the session.
#[must_use]
pub fn page(thaw: &Thaw, session: &SessionThaw) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="format-detection" content="telephone=no, date=no, address=no";
                title { (title(session)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main { @for t in &session.technicians { (sheet(thaw, session, t)) } }
            }
        }
    }
    .into_string()
}

/// The same sheets without the frame of a file: markup that [`super::pdf`] lays on paper.
pub(super) fn on_paper(thaw: &Thaw, session: &SessionThaw) -> String {
    html! { @for t in &session.technicians { (sheet(thaw, session, t)) } }.into_string()
}

/// What a window or a viewer calls the sheets.
pub(super) fn title(session: &SessionThaw) -> String {
    format!("{} – thaw rounds", session.site_name)
}

/// Each technician's rounds, for the pages of a season: cautions stand there already.
pub(super) fn of_day(session: &SessionThaw) -> Markup {
    html! {
        (mind(session))
        @for t in &session.technicians {
            h4 { "Thaw rounds of " (t.name) }
            (facts(session, t))
            (rounds(t, t.rounds.first().map(|r| human_date(r.bath_at.date_naive())).as_deref()))
        }
    }
}

fn mind(s: &SessionThaw) -> Markup {
    html! {
        // A wrong bull cannot be mended, so that note stands on the wall too.
        @let by_tag = crate::base::error::Code::BullByTag.as_str();
        @for f in s.findings.iter().filter(|f| f.severity != "note" || f.code == by_tag) {
            p class="warn" { b { "Mind: " } (f.what) "." }
        }
    }
}

fn facts(s: &SessionThaw, t: &TechnicianThaw) -> Markup {
    html! {
        p class="facts" {
            (t.head) " head in " (count(t.rounds.len() as u32, "round", "rounds"))
            ". Never more than " b { (count(t.straws_at_once, "straw", "straws")) }
            " in the bath. " b { (figure(s.thaw_seconds)) " seconds" } " at "
            b { (s.units.degrees(&figure(s.bath.range_f[0]), &figure(s.bath.range_c[0]))) }
            ", never below "
            b { (s.units.degrees(&figure(s.bath.range_f[1]), &format!("{:.1}", s.bath.range_c[1]))) } "."
        }
    }
}

fn sheet(thaw: &Thaw, s: &SessionThaw, t: &TechnicianThaw) -> Markup {
    let day = t.rounds.first().map(|r| human_date(r.bath_at.date_naive()));
    html! {
        section class="sheet" {
            h1 { (t.name) }
            p class="day" { @if let Some(day) = &day { (day) ", " } (s.site_name) }
            (facts(s, t))
            ul class="care" { @for c in CARE { li { (c) } } }
            (mind(s))
            (rounds(t, day.as_deref()))
            (bath(&s.bath, s.units))
            (kit(s, t))
            p class="soft" {
                (thaw.season) ", session " (s.session) ". Times are local (" (thaw.zone)
                "), on the 24-hour clock."
            }
        }
    }
}

fn rounds(t: &TechnicianThaw, day: Option<&str>) -> Markup {
    let several = several(t);
    let mut before = String::new();
    html! {
        // Focusable, so that a keyboard can scroll it on a phone.
        section class="scroll" aria-label={ "Thaw rounds of " (t.name) } tabindex="0" { table {
            thead {
                // Comes again on each sheet of paper.
                tr { th class="who" colspan="7" { (t.name) @if let Some(day) = day { ", " (day) } } }
                tr {
                    th { "Done" }
                    th { "No." }
                    th { "Into bath" }
                    th { "Out from" }
                    th { "Cows" }
                    th { "Last cow" }
                    th { "In cow by" }
                }
            }
            tbody {
                @for r in &t.rounds {
                    @let from = sources_words(r);
                    @if from != before {
                        tr class="from" { td colspan="7" { (from) } }
                    }
                    ({ before = from; row(r, several) })
                }
            }
        } }
    }
}

fn row(r: &Round, several: bool) -> Markup {
    let last = r.straws.last().map_or(r.bath_at, |s| s.bred_at);
    html! {
        tr {
            td { span class="box" {} }
            td class="n" { (r.number) }
            td class="clock bath" { (clock(r.bath_at)) }
            td class="clock" { (clock(r.earliest_out)) }
            td class="cows" { b { (r.straws.len()) } " " (cows(r, several)) }
            td class="clock" { (minute(last)) }
            td class="clock limit" { (minute(r.cow_by)) }
        }
    }
}

fn minute(at: Moment) -> String {
    at.format("%H:%M").to_string()
}

/// Hours and minutes large, seconds small.
fn clock(at: Moment) -> Markup {
    html! { (minute(at)) small { ":" (at.format("%S").to_string()) } }
}

/// How to bring the bath back.
fn bath(b: &BathFigures, units: Units) -> Markup {
    html! {
        @if let (Some(_), Some(v)) = (b.liters, b.volumes.first()) {
            h2 { "Bath of " (figure(v.liters)) " L" }
            p class="facts" {
                "Good for " b { (count(v.straws, "straw", "straws")) } " without heat. "
                @if let (Some(add), Some(swap)) = (v.add_liters, v.swap_liters) {
                    "At " (back(b, 1, units)) " add " b { (format!("{add:.2}")) " L" } " of water at "
                    (hot(b, units)) ", or pour out and replace "
                    b { (format!("{swap:.2}")) " L" } ". Stir, and read the thermometer."
                }
            }
        }
    }
}

/// What to have at hand.
fn kit(s: &SessionThaw, t: &TechnicianThaw) -> Markup {
    let mut sizes: Vec<f64> = t
        .rounds
        .iter()
        .flat_map(|r| &r.straws)
        .map(|x| x.straw_ml)
        .collect();
    sizes.sort_by(f64::total_cmp);
    sizes.dedup();
    let of = |ml: f64| {
        let straws = t.rounds.iter().flat_map(|r| &r.straws);
        straws.filter(|x| (x.straw_ml - ml).abs() < 1e-9).count() as u32
    };
    let most = |ml: f64| {
        let in_round = |r: &Round| {
            let mine = r.straws.iter().filter(|x| (x.straw_ml - ml).abs() < 1e-9);
            mine.count() as u32
        };
        t.rounds.iter().map(in_round).max().unwrap_or(0)
    };
    let mut items = vec![
        "thermometer, checked, and bath warm".to_owned(),
        "hot and cold water, dipper".to_owned(),
        "timer or clock with seconds".to_owned(),
        "forceps for straws".to_owned(),
        "straw cutter or sharp scissors".to_owned(),
        "paper towels, a roll".to_owned(),
    ];
    for ml in sizes {
        let guns = most(ml) * if t.helper { 2 } else { 1 } + 1;
        items.push(format!(
            "{} for {ml} mL straws (or universal), clean",
            count(guns, "gun", "guns")
        ));
        items.push(format!(
            "{} for {ml} mL that fit the guns’ lock (ring, O-ring or spiral)",
            count(of(ml) + of(ml).div_ceil(10), "sheath", "sheaths")
        ));
    }
    items.extend([
        format!(
            "{} arm-length gloves, lubricant",
            t.head + t.head.div_ceil(10)
        ),
        "gun warmer, clean and dry".to_owned(),
        "nitrogen gloves, eye cover".to_owned(),
        "tank, level measured; stick".to_owned(),
        "list of canes; flashlight".to_owned(),
        "record sheet, two pens".to_owned(),
    ]);
    let wasted: u32 = s.waste.iter().map(|w| w.straws).sum();
    if wasted > 0 {
        items.push(format!(
            "{} more for the session, for cows that never come",
            count(wasted, "straw", "straws")
        ));
    }
    html! {
        h2 { "To have at hand" }
        ul class="kit" { @for i in items { li { span class="box" {} span { (i) } } } }
        p class="soft" { "Common practice, no source. Spares: a gun, and one sheath and glove in ten." }
    }
}
