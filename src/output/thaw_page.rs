//! The sheet of a session to print and tape to the wall: one for each technician, black on white,
//! with clock times that can be read at arm's length.

use maud::{DOCTYPE, PreEscaped, html};

use super::document::html::blocks;
use super::document::{
    Block, Cell, Document, Hold, Item, Kind, Line, ListKind, Role, Row, Span, Style, Table,
    TableKind, words,
};
use super::thaw::{back, cows, hot, several, sources_words};
use crate::analysis::thaw::BathFigures;
use crate::analysis::thaw::words::figure;
use crate::analysis::thaw::{Round, SessionThaw, TechnicianThaw, Thaw};
use crate::base::error::{Code, Severity};
use crate::base::time::human_date;
use crate::base::units::{Clock, Units, count};
use crate::planning::plan::Moment;

const STYLE: &str = include_str!("thaw_page.css");

/// The few that matter at the tank and the bath.
const CARE: [&str; 6] = [
    "Nitrogen: gloves, eye protection, closed shoes",
    "Keep the door open: nitrogen vapor displaces oxygen",
    "Face away from the bath: straws can burst",
    "Out of the sun and the wind",
    "Dry each straw before it is cut",
    "Keep the loaded gun warm",
];

/// A sheet for each technician of the session.
#[must_use]
pub fn page(thaw: &Thaw, session: &SessionThaw) -> String {
    let document = document(thaw, session);
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="format-detection" content="telephone=no, date=no, address=no";
                title { (document.title) }
                style { (PreEscaped(STYLE)) }
            }
            body { main { (blocks(&document.blocks)) } }
        }
    }
    .into_string()
}

/// The same sheets, for paper and screens.
pub(super) fn document(thaw: &Thaw, session: &SessionThaw) -> Document {
    let sheets = session.technicians.iter().map(|t| sheet(thaw, session, t));
    Document {
        title: format!("{} – thaw rounds", session.site_name),
        blocks: sheets.collect(),
    }
}

/// Each technician's rounds, for the pages of a season: cautions stand there already.
pub(super) fn of_day(session: &SessionThaw) -> Vec<Block> {
    let mut all = mind(session);
    for t in &session.technicians {
        let day = t.rounds.first().map(|r| human_date(r.bath_at.date_naive()));
        all.extend([
            Block::heading(4, words!["Thaw rounds of ", &t.name]),
            facts(session, t),
            rounds(t, day.as_deref(), session.units.clock),
        ]);
    }
    all
}

/// A wrong bull cannot be mended, so that note stands on the wall too.
fn mind(s: &SessionThaw) -> Vec<Block> {
    let found = s.findings.iter();
    let found = found.filter(|f| f.severity != Severity::Note || f.code == Code::BullByTag);
    found
        .map(|f| Block::of_role(Role::Warning, words![Span::strong("Mind: "), &f.what, "."]))
        .collect()
}

fn facts(s: &SessionThaw, t: &TechnicianThaw) -> Block {
    let (f, c) = (s.bath.range_f, s.bath.range_c);
    let at = s.units.degrees(&figure(f[0]), &figure(c[0]));
    let [least, most] =
        [1, 2].map(|end| s.units.degrees(&figure(f[end]), &format!("{:.1}", c[end])));
    let rounds = count(t.rounds.len() as u32, "round", "rounds");
    let in_rounds = format!("{} head in {rounds}. Never more than ", t.head);
    Block::of_role(
        Role::Facts,
        words![
            in_rounds,
            Span::strong(count(t.straws_at_once, "straw", "straws")),
            " in the bath. ",
            Span::strong(format!("{} seconds", figure(s.thaw_seconds))),
            " at ",
            Span::strong(at),
            ", never below ",
            Span::strong(least),
            " or above ",
            Span::strong(most),
            "."
        ],
    )
}

fn sheet(thaw: &Thaw, s: &SessionThaw, t: &TechnicianThaw) -> Block {
    let day = t.rounds.first().map(|r| human_date(r.bath_at.date_naive()));
    let when = words![day.as_ref().map(|day| format!("{day}, ")), &s.site_name];
    let care = CARE.into_iter().map(Item::text).collect();
    let mut all = vec![
        Block::heading(1, &t.name),
        Block::of_role(Role::Day, when),
        facts(s, t),
        Block::List(ListKind::Care, care),
    ];
    all.extend(mind(s));
    all.push(rounds(t, day.as_deref(), s.units.clock));
    all.extend(bath(&s.bath, s.units));
    all.extend(kit(s, t));
    let (season, zone, clock) = (&thaw.season, &thaw.zone, s.units.clock.words());
    let about = format!(
        "{season}, session {}. Times are local ({zone}), on the {clock}.",
        s.session
    );
    all.push(Block::of_role(Role::Soft, about));
    Block::section(Kind::Sheet, all)
}

fn rounds(t: &TechnicianThaw, day: Option<&str>, clock: Clock) -> Block {
    const COLUMNS: [&str; 7] = [
        "Done", "No.", "In bath", "Out at", "Cows", "Last cow", "Bred by",
    ];
    let several = several(t);
    let mut before = String::new();
    let mut rows = Vec::new();
    for r in &t.rounds {
        let from = sources_words(r);
        if from != before {
            rows.push(Row::over_all(&from));
        }
        before = from;
        rows.push(row(r, several, clock));
    }
    let table = Block::Table(Table {
        // Comes again on each sheet of paper.
        over: Some(words![&t.name, day.map(|day| format!(", {day}"))]),
        parts: vec![rows],
        ..Table::new(TableKind::Rounds, "", &COLUMNS)
    });
    Block::section(
        Kind::Wide(format!("Thaw rounds of {}", t.name)),
        vec![table],
    )
}

fn row(r: &Round, several: bool, clock: Clock) -> Row {
    let last = r.straws.last().map_or(r.bath_at, |s| s.bred_at);
    let done = Cell {
        tick: true,
        ..Cell::default()
    };
    let who = words![Span::strong(r.straws.len()), " ", cows(r, several)];
    Row::of(vec![
        done,
        Cell::of(Hold::Number, r.number),
        Cell::of(Hold::Start, large(clock, r.bath_at)),
        Cell::of(Hold::Clock, large(clock, r.earliest_out)),
        Cell::of(Hold::Cows, who),
        Cell::of(Hold::Clock, clock.time(last)),
        Cell::of(Hold::Limit, clock.time(r.cow_by)),
    ])
}

/// Hours and minutes large, seconds and what follows them small.
fn large(clock: Clock, at: Moment) -> Line {
    let whole = clock.to_the_second(at);
    let (minutes, rest) = whole.split_at(whole.rfind(':').unwrap_or(whole.len()));
    words![minutes, Style::Seconds.of(rest)]
}

/// How to bring the bath back.
fn bath(b: &BathFigures, units: Units) -> Vec<Block> {
    let (Some(_), Some(v)) = (b.liters, b.volumes.first()) else {
        return Vec::new();
    };
    let water = v.add_liters.zip(v.swap_liters).map(|(add, swap)| {
        words![
            format!("At {} add ", back(b, 1, units)),
            Span::strong(format!("{add:.2} L")),
            format!(" of water at {}, or dip out and replace ", hot(b, units)),
            Span::strong(format!("{swap:.2} L")),
            ". Stir, and read the thermometer."
        ]
    });
    let straws = Span::strong(count(v.straws, "straw", "straws"));
    vec![
        Block::heading(2, format!("Bath of {} L", figure(v.liters))),
        Block::of_role(
            Role::Facts,
            words!["Good for ", straws, " before it needs hot water. ", water],
        ),
    ]
}

/// At hand before the guns and behind the gloves.
const FIRST: [&str; 6] = [
    "thermometer, checked, and bath warm",
    "hot and cold water, dipper",
    "timer or clock with seconds",
    "forceps for straws",
    "straw cutter or sharp scissors",
    "paper towels, a roll",
];
const LAST: [&str; 5] = [
    "gun warmer, clean and dry",
    "nitrogen gloves, eye protection",
    "tank, level measured; stick",
    "list of canes; flashlight",
    "record sheet, two pens",
];

/// What to have at hand.
fn kit(s: &SessionThaw, t: &TechnicianThaw) -> Vec<Block> {
    let straws = t.rounds.iter().flat_map(|r| &r.straws);
    let mut sizes: Vec<f64> = straws.map(|x| x.straw_ml).collect();
    sizes.sort_by(f64::total_cmp);
    sizes.dedup();
    let of_size = sizes.into_iter().flat_map(|ml| {
        let in_round = |r: &Round| {
            let mine = r.straws.iter().filter(|x| (x.straw_ml - ml).abs() < 1e-9);
            mine.count() as u32
        };
        let most = t.rounds.iter().map(in_round).max().unwrap_or(0);
        let all: u32 = t.rounds.iter().map(in_round).sum();
        let guns = count(most * if t.helper { 2 } else { 1 } + 1, "gun", "guns");
        let sheaths = count(all + all.div_ceil(10), "sheath", "sheaths");
        [
            format!("{guns} for {ml} mL straws (or universal), clean"),
            format!("{sheaths} for {ml} mL that fit the guns’ lock (ring, O-ring or spiral)"),
        ]
    });
    let gloves = t.head + t.head.div_ceil(10);
    let gloves = format!("{gloves} arm-length gloves, lubricant");
    let wasted: u32 = s.waste.iter().map(|w| w.straws).sum();
    let wasted = (wasted > 0).then(|| {
        let straws = count(wasted, "straw", "straws");
        format!("{straws} more for the session, for cows that never come")
    });
    let items = FIRST.map(str::to_owned).into_iter().chain(of_size);
    let items = items.chain([gloves]).chain(LAST.map(str::to_owned));
    let items = items.chain(wasted).map(Item::to_tick).collect();
    let spares = "Common practice, no source. Spares: a gun, and one sheath and glove in ten.";
    vec![
        Block::heading(2, "To have at hand"),
        Block::List(ListKind::Kit, items),
        Block::of_role(Role::Soft, spares),
    ]
}
