//! Thaw rounds in words: the verdict first, then each technician's rounds, then canisters, waste, the
//! bath and the paces.

use std::fmt::Write as _;

use super::answer::{Answer, Tables};
use super::document::{Block, Document, Row, TableKind};
use super::remarks;
use super::table::{Table, clock, fields, kinds, nested, to_the_second};
use super::times::span;
use crate::analysis::thaw::words::{canister, figure};
use crate::analysis::thaw::{BathFigures, Volume};
use crate::analysis::thaw::{
    Listed, MOST_SHOWN, PaceRow, Round, SessionThaw, Straw, TechnicianThaw, Thaw, Waste,
};
use crate::base::time::human_date;
use crate::base::units::{Clock, Temperature, Units, count};

impl Answer for Thaw {
    /// The rounds of the session that was asked about, or the sessions there are.
    fn document(&self) -> Document {
        let mut blocks = vec![
            Block::heading(1, &self.season),
            Block::paragraph(format!("Thaw rounds. Times are local, {}.", self.zone)),
        ];
        match &self.session {
            Some(s) => blocks.extend(session(s)),
            None if self.sessions.is_empty() => {
                let none = "No session of this plan breeds any cow.";
                blocks.push(Block::paragraph(none));
            }
            None => blocks.push(list(&self.sessions, self.clock)),
        }
        Document::new(format!("{} – thaw rounds", self.season), blocks)
    }
    /// Without a session, the list of them. Of one session, its straws in the order of the rounds, and
    /// those set aside for cows that never come.
    fn tables(&self) -> Tables<Self> {
        if self.session.is_some() {
            kinds![straws, waste_table as "waste"]
        } else {
            kinds![sessions]
        }
    }
}

fn list(sessions: &[Listed], clock: Clock) -> Block {
    let rows = sessions.iter().map(|s| {
        let (first, _) = span(s.first_cow, s.last_cow);
        let cells = [
            human_date(s.first_cow.date_naive()),
            format!("{} to {}", clock.time(first), clock.time(s.last_cow)),
            s.site_name.clone(),
            s.head.to_string(),
            s.technicians.join(", "),
        ];
        Row::named(&s.session, cells)
    });
    let columns = ["Session", "Day", "Cows bred", "Site", "Head", "Technicians"];
    let title = "Sessions";
    let ask = "Ask for the rounds of one with --session ID.";
    let sessions = Block::table_of(TableKind::Stack, title, &columns, rows);
    Block::part("sessions", title, vec![Block::paragraph(ask), sessions])
}

fn session(s: &SessionThaw) -> Vec<Block> {
    let rounds = s.technicians.iter().flat_map(|t| &t.rounds);
    let first = rounds.map(|r| r.bath_at).min();
    let day = first.map_or(String::new(), |at| human_date(at.date_naive()) + ", ");
    let title = format!(
        "{day}{}, {} head (--session {})",
        s.site_name, s.head, s.session
    );
    let words = s.words.iter().map(Block::paragraph).collect();
    let mut blocks = vec![Block::part("session", title, words)];
    blocks.extend(remarks(&s.findings));
    let technicians = s.technicians.iter().enumerate();
    blocks.extend(technicians.map(|(n, t)| technician(n, t, s.units.clock)));
    blocks.push(canisters(s));
    if !s.waste.is_empty() {
        let spare = Block::bullets(s.waste.iter().map(waste));
        blocks.push(Block::part(
            "spare",
            "For cows that never come",
            vec![spare],
        ));
    }
    blocks.push(Block::part("bath", "Bath", bath(&s.bath, s.units)));
    let mut paces = vec![Block::paragraph(
        "> is the plan. ! a straw takes longer than the limit, or the risk of that is higher than the rules allow.",
    )];
    paces.extend(s.technicians.iter().flat_map(pace));
    blocks.push(Block::part("pace", "Pace by straws at once", paces));
    let notes = vec![Block::bullets(&s.notes)];
    blocks.push(Block::part("reading", "How to read it", notes));
    blocks
}

/// What a round takes from where: count, bull and place, in order.
pub(super) fn sources(round: &Round) -> Vec<(u32, &Straw)> {
    let mut found: Vec<(u32, &Straw)> = Vec::new();
    for straw in &round.straws {
        let same = |s: &Straw| {
            (&s.bull, s.place, &s.where_words) == (&straw.bull, straw.place, &straw.where_words)
        };
        match found.iter_mut().find(|(_, s)| same(s)) {
            Some((n, _)) => *n += 1,
            None => found.push((1, straw)),
        }
    }
    found
}

/// An animal that is known; with her bull and his cane where the straws of a round differ.
fn tag(s: &Straw, mixed: bool) -> Option<String> {
    let tag = s.tag.as_ref()?;
    if !mixed {
        return Some(tag.clone());
    }
    let cane = s.cane.as_ref().map_or(String::new(), |c| format!(", {c}"));
    Some(format!("{tag} ({}{cane})", s.bull))
}

/// `mature pen 1 no. 1-3`, or the ids of animals that are known: which cows a round is for, in the order
/// of its straws.
pub(super) fn cows(round: &Round, several: bool) -> String {
    let mixed = sources(round).len() > 1;
    let parts = round.straws.chunk_by(|a, b| a.pass == b.pass);
    let parts = parts.filter_map(|straws| {
        let first = &straws[0];
        let pen = first.pen.map_or(String::new(), |pen| format!(" pen {pen}"));
        let pen = several.then(|| format!("{}{pen}", first.group));
        let tags: Vec<String> = straws.iter().filter_map(|s| tag(s, mixed)).collect();
        let who = if tags.is_empty() {
            numbers(straws)
        } else {
            Some(tags.join(", "))
        };
        let said = [pen, who].into_iter().flatten();
        said.reduce(|pen, who| format!("{pen} {who}"))
    });
    parts.collect::<Vec<_>>().join("; ")
}

/// `no. 1-3`, or each number where they do not follow each other.
fn numbers(straws: &[Straw]) -> Option<String> {
    let all: Vec<u32> = straws.iter().filter_map(|s| s.animal).collect();
    let run = all.windows(2).all(|w| w[0].checked_add(1) == Some(w[1]));
    Some(match (all.first()?, all.last()?) {
        (a, b) if a == b => format!("no. {a}"),
        (a, b) if run => format!("no. {a}-{b}"),
        _ => {
            let all: Vec<String> = all.iter().map(u32::to_string).collect();
            format!("no. {}", all.join(", "))
        }
    })
}

/// True if the rounds are for more than one pen.
pub(super) fn several(t: &TechnicianThaw) -> bool {
    let mut all = t.rounds.iter().flat_map(|r| &r.straws);
    let first = all.next();
    all.any(|s| Some(&s.pass) != first.map(|f| &f.pass))
}

/// Where a round's straws come from, in words.
pub(super) fn sources_words(round: &Round) -> String {
    let from = sources(round);
    let parts = from.iter().map(|(n, s)| {
        let n = (from.len() > 1).then(|| format!("{n} x "));
        let (n, bull) = (n.unwrap_or_default(), &s.bull);
        format!("{n}{bull} ({} mL) from {}", s.straw_ml, s.where_words)
    });
    let parts: Vec<String> = parts.collect();
    let by_tag = "Read the tags first. Expect about ";
    let by_tag = if round.by_tag { by_tag } else { "" };
    format!("{by_tag}{}", parts.join("; "))
}

fn technician(n: usize, t: &TechnicianThaw, clock: Clock) -> Block {
    let straws = count(t.straws_at_once, "straw", "straws");
    let (name, head, minutes) = (&t.name, t.head, figure(t.minutes_per_cow));
    let helper = "a helper thaws and loads";
    let thaws = if t.helper { helper } else { "alone" };
    let title = format!("{name}: {head} head, {straws} at once, {minutes} min a cow, {thaws}");
    let several = several(t);
    let whose: Vec<String> = t.rounds.iter().map(|r| cows(r, several)).collect();
    let named = whose.iter().any(|w| !w.is_empty());
    let mut columns = vec![
        "Round",
        "In bath",
        "Out at",
        "Gun ready",
        "Last cow",
        "Bred by",
        "Straws",
    ];
    columns.extend(named.then_some("Cows"));
    let mut before = String::new();
    let mut rows = Vec::new();
    for (r, whose) in t.rounds.iter().zip(whose) {
        let from = sources_words(r);
        if from != before {
            rows.push(Row::over_all(&from));
            before = from;
        }
        let last = r.straws.last().map_or(r.bath_at, |s| s.bred_at);
        let times = [
            clock.to_the_second(r.bath_at),
            clock.to_the_second(r.earliest_out),
            clock.to_the_second(r.first_gun),
            clock.time(last),
            clock.time(r.cow_by),
            r.straws.len().to_string(),
        ];
        rows.push(Row::named(
            r.number,
            times.into_iter().chain(named.then_some(whose)),
        ));
    }
    let name = format!("Rounds of {}", t.name);
    let rounds = Block::table_of(TableKind::Stack, &name, &columns, rows);
    Block::part(&format!("technician-{}", n + 1), title, vec![rounds])
}

fn canisters(s: &SessionThaw) -> Block {
    let rows = s.canisters.iter().map(|c| {
        let figures = [
            c.straws.to_string(),
            c.lifts.to_string(),
            figure(c.seconds),
            figure(c.most_seconds_a_lift),
        ];
        Row::named(canister(c.tank.as_deref(), c.canister), figures)
    });
    let columns = [
        "Canister",
        "Straws",
        "Lifts",
        "Seconds in the neck",
        "Most seconds a lift",
    ];
    let title = "Canisters";
    let lifts = Block::table(title, &columns, rows);
    Block::part("canisters", title, vec![lifts])
}

fn waste(w: &Waste) -> String {
    let mut said = format!("{} of {}", count(w.straws, "straw", "straws"), w.bull);
    if !w.places.is_empty() {
        let _ = write!(said, ": {}", w.places.join("; "));
    }
    if w.lacking_straws > 0 {
        let _ = write!(said, "; {} not there", w.lacking_straws);
    }
    said
}

fn bath(b: &BathFigures, units: Units) -> Vec<Block> {
    let [start, least, most] = [0, 1, 2].map(|end| range(b, end, units));
    let (least_liters, straws) = (b.least_liters, count(b.straws_at_once, "straw", "straws"));
    let mut lines = vec![
        format!("Start at {start}. Never let it fall below {least}, nor rise above {most}."),
        format!(
            "A straw of {} mL takes {:.0} J of heat.",
            b.straw_ml, b.joules_a_straw
        ),
        format!("Use at least {least_liters:.2} L to thaw {straws} at once without a heater."),
        format!(
            "At this session's pace a {:.0} W heater keeps the bath warm.",
            b.watts_for_pace.ceil()
        ),
    ];
    if b.liters.is_none() {
        lines.push("How much water the bath holds is not given (`bath_liters` of the site). The table shows usual volumes.".to_owned());
    }
    let heated = b.volumes.iter().any(|v| v.heater_seconds_a_straw.is_some());
    let hot = b.volumes.iter().any(|v| v.add_liters.is_some());
    let mut columns = vec![
        "Water, L",
        "Each straw cools it by",
        "Straws before hot water",
    ];
    if heated {
        lines.push(format!("The heater has {} W.", figure(b.heater_watts)));
        columns.extend(["Heater, a minute", "Heater, s a straw"]);
    }
    if hot {
        let ([from, to], hot) = ([1, 0].map(|end| back(b, end, units)), self::hot(b, units));
        lines.push(format!(
            "To bring the bath from {from} back to {to}, add water of {hot}, or dip some out and pour in as much of it. Only while no straw is in the bath: then stir, and read the thermometer before the next straws go in (common practice, no source). The table says how much."
        ));
        columns.extend(["Add, L", "Or swap, L"]);
    }
    let rows = b.volumes.iter().map(|v| volume(v, heated, hot, units));
    let mut blocks: Vec<Block> = lines.into_iter().map(Block::paragraph).collect();
    let title = "What each volume of water can do";
    blocks.push(Block::table_of(TableKind::Stack, title, &columns, rows));
    blocks
}

/// Where the bath starts, and its lower and upper end.
fn range(b: &BathFigures, end: usize, units: Units) -> String {
    units.degrees(
        &b.range_f[end].to_string(),
        &format!("{:.1}", b.range_c[end]),
    )
}

fn volume(v: &Volume, heated: bool, hot: bool, units: Units) -> Row {
    let liters = |l: Option<f64>| l.map_or("-".to_owned(), |l| format!("{l:.2}"));
    let (c, f) = (v.straw_c, v.straw_f);
    let mut cells = vec![
        units.degrees_celsius(&format!("{c:.3}"), &format!("{f:.2}")),
        v.straws.to_string(),
    ];
    if heated {
        let (c, f) = (v.heater_c_a_minute, v.heater_f_a_minute);
        let seconds = v.heater_seconds_a_straw.map(|s| format!("{:.0}", s.ceil()));
        cells.push(units.degrees_celsius(&format!("{c:.2}"), &format!("{f:.2}")));
        cells.push(seconds.unwrap_or_else(|| "-".to_owned()));
    }
    if hot {
        cells.extend([liters(v.add_liters), liters(v.swap_liters)]);
    }
    Row::named(figure(v.liters), cells)
}

/// An end of the range where it was told before: in degrees Fahrenheit unless Celsius is chosen.
pub(super) fn back(b: &BathFigures, end: usize, units: Units) -> String {
    match units.temperature {
        Some(Temperature::C) => range(b, end, units),
        _ => format!("{} F", b.range_f[end]),
    }
}

/// The hot water at hand.
pub(super) fn hot(b: &BathFigures, units: Units) -> String {
    let (f, c) = (b.hot_water_f, b.hot_water_c);
    units.degrees(&format!("{f:.0}"), &format!("{c:.0}"))
}

fn pace(t: &TechnicianThaw) -> [Block; 2] {
    let figures = |rows: &[PaceRow], k: u32| {
        let Some(r) = rows.iter().find(|r| r.straws_at_once == k) else {
            return ["too fast", "-", "-"].map(str::to_owned);
        };
        let mark = match (r.planned, r.safe) {
            (true, _) => ">",
            (false, true) => "",
            (false, false) => "!",
        };
        [
            format!("{mark}{:.1}", r.head_per_hour),
            format!("{:.1}", r.last_straw_minutes),
            percent(r.late_percent),
        ]
    };
    let rows = (1..=MOST_SHOWN).map(|k| {
        let both = [figures(&t.alone, k), figures(&t.helped, k)];
        Row::named(k, both.into_iter().flatten())
    });
    let columns = [
        "straws at once",
        "alone: head an hour",
        "alone: last straw, min",
        "alone: too old, %",
        "helper: head an hour",
        "helper: last straw, min",
        "helper: too old, %",
    ];
    let name = format!("{}, {} min a cow", t.name, figure(t.minutes_per_cow));
    let paces = Block::table(&name, &columns, rows);
    [Block::heading(3, name), paces]
}

fn percent(p: f64) -> String {
    if p > 0.0 && p < 0.1 {
        "<0.1".to_owned()
    } else {
        format!("{p:.1}")
    }
}

fn sessions(thaw: &Thaw) -> String {
    let sessions = thaw.sessions.iter();
    let mut t = Table::of(sessions.map(|s| (s, span(s.first_cow, s.last_cow))));
    fields!(t, |(s, _)| s => session, site_name);
    t.day(["date", "weekday"], |(_, cows)| Some(cows.0.date_naive()));
    t.column("first_cow", |(_, cows)| clock(cows.0));
    t.column("last_cow", |(_, cows)| clock(cows.1));
    t.offset("utc_offset_minutes", |(_, cows)| Some(cows.0));
    fields!(t, |(s, _)| s => head, technicians);
    t.csv()
}

fn straws(thaw: &Thaw) -> String {
    let technicians = nested(&thaw.session, |s| &s.technicians);
    let rounds = nested(technicians, |(_, t)| &t.rounds);
    let straws = rounds.flat_map(|((s, t), r)| {
        let straws = r.straws.iter().enumerate();
        straws.map(move |(n, x)| (s, t, r, n, x))
    });
    let mut t = Table::of(straws);
    fields!(t, |(s, ..)| s => session, site_name);
    t.day(["date", "weekday"], |(.., x)| Some(x.in_at.date_naive()));
    t.offset("utc_offset_minutes", |(.., x)| Some(x.in_at));
    fields!(t, |(_, t, ..)| t => technician = id, technician_name = name);
    t.column("round", |(_, _, r, ..)| r.number);
    t.column("straw", |(.., n, _)| n + 1);
    fields!(t, |(.., x)| x => bull, straw_ml, tank, canister, cane, goblet);
    t.column("in_bath", |(.., x)| to_the_second(x.in_at));
    t.column("out_of_bath", |(.., x)| to_the_second(x.out_at));
    t.column("first_gun", |(_, _, r, ..)| to_the_second(r.first_gun));
    t.column("bred", |(.., x)| to_the_second(x.bred_at));
    t.column("in_cow_by", |(_, _, r, ..)| to_the_second(r.cow_by));
    fields!(t, |(.., x)| x => group, pen, animal_number = animal, animal = tag);
    t.csv()
}

fn waste_table(thaw: &Thaw) -> String {
    let mut t = Table::of(nested(&thaw.session, |s| &s.waste));
    fields!(t, |(s, _)| s => session, site_name);
    fields!(t, |(_, w)| w => bull, straws, places);
    t.csv()
}
