//! The work day by day, and the list of days that leads to it.

use super::agenda::{Begun, Day, Trip};
use super::book::Book;
use super::front::markers;
use super::session;
use super::words::{begins, clocks_change, ends, hours, prose, sentence, titled};
use crate::base::time::human_date;
use crate::output::document::{
    Block, Item, Kind, Line, ListKind, Role, Section, Span, Style, words,
};
use crate::output::times::{OnDay, first_and_last, short_date};
use crate::planning::plan::{Group, Pass, Work};
use crate::trade::protocol::Caution;

/// Links to the days, with what each is about.
pub(super) fn index(days: &[Day]) -> Block {
    let entries = days.iter().map(|day| {
        let words = words![Span::strong(when(day)), " ", Style::Beside.of(about(day))];
        Item {
            data: vec![("from", day.from.to_string()), ("to", day.to.to_string())],
            ..Item::text(Span::link(day.anchor(), words))
        }
    });
    let entries = Block::List(ListKind::Days, entries.collect());
    titled(Kind::Contents, "days", "Days", vec![entries])
}

/// The date of a day, or the first and last of a stretch.
fn when(day: &Day) -> String {
    if day.from == day.to {
        human_date(day.from)
    } else {
        format!("{} to {}", short_date(day.from), human_date(day.to))
    }
}

/// The work of a day in a few words, each thing once.
fn about(day: &Day) -> String {
    let mut words: Vec<String> = Vec::new();
    for item in &day.items {
        let word = match item {
            Begun::Session(_, s) => session::title(s),
            Begun::Trip(t) => t[0].what.clone(),
        };
        if !words.contains(&word) {
            words.push(word);
        }
    }
    if day.items.is_empty() {
        words.extend(day.going_on.iter().map(|t| t[0].what.clone()));
        words.dedup();
    }
    sentence_case(&words.join(", "))
}

/// A card for each day.
pub(super) fn days(book: &Book, days: &[Day]) -> Block {
    let days = days.iter().map(|day| {
        let items = day.items.iter().map(|item| match item {
            Begun::Trip(trip) => card(book, trip, book.on(day.from)),
            Begun::Session(n, s) => session::card(book, *n, s, book.on(day.from)),
        });
        let going_on = (!day.going_on.is_empty()).then(|| going_on(book, day));
        let heading = Block::heading(3, when(day));
        Block::Section(Section {
            kind: Kind::Day,
            id: Some(day.anchor()),
            blocks: [heading].into_iter().chain(items).chain(going_on).collect(),
            ..Section::default()
        })
    });
    titled(Kind::Part, "work", "Work day by day", days.collect())
}

/// Work of one group: a row for each pen.
fn card(book: &Book, trip: &Trip, day: OnDay) -> Block {
    let pass = trip[0];
    let group = book.group(&pass.group);
    let place = words![
        book.group_name(&pass.group),
        ", ",
        book.site_name(&pass.site)
    ];
    let rows = trip.iter().map(|pass| row(book, pass, day));
    let mut blocks = vec![
        Block::heading(4, title(trip)),
        Block::of_role(Role::Where, place),
        Block::List(ListKind::Rows, rows.collect()),
    ];
    let said = notes(trip).into_iter().map(|note| prose(&sentence(note)));
    blocks.extend(said.map(Block::paragraph));
    let said = group.into_iter().flat_map(Group::said);
    blocks.extend(said.map(|note| Block::paragraph(sentence(&note))));
    blocks.extend(markers(&cautions(trip)));
    Block::section(Kind::Card, blocks)
}

/// What is done, and until when if it goes on.
fn title(trip: &Trip) -> String {
    let pass = trip[0];
    let what = sentence(&pass.what);
    let what = what.trim_end_matches('.');
    match pass.last_day.filter(|last| Some(*last) != pass.first_day) {
        Some(last) => format!("{what}, each day through {}", human_date(last)),
        None => what.to_owned(),
    }
}

fn row(book: &Book, pass: &Pass, day: OnDay) -> Item {
    let (first, last) = first_and_last(pass.start, pass.end);
    let until = pass.work == Work::Chute && pass.end > pass.start;
    let clock = words![
        begins(first, day),
        until.then(|| words![" to ", ends(last, day)])
    ];
    let pen = book.pen(&pass.group, pass.pen);
    let pen = pen.map(|pen| format!("{}, ", sentence_case(&pen)));
    let who = words![pen, pass.head, " head"];
    let mut blocks = vec![Block::Text(words![
        Style::Clock.of(clock),
        " ",
        Style::Who.of(who)
    ])];
    if let Some(heat) = book.plan.heats(pass) {
        let half_days = heat.half_days.iter();
        blocks.push(Block::paragraph(sentence(&heat.words())));
        blocks.push(Block::bullets(
            half_days.map(|d| sentence(&d.words(day.clock))),
        ));
    }
    if let Some(h) = &pass.hours {
        let within = words!["Start within: ", hours(h, day), " (", &h.window, ")."];
        blocks.push(Block::paragraph(within));
    }
    blocks.extend(pass.clock.iter().map(|clock| clocks_change(clock)));
    Item {
        tick: true,
        data: vec![("pass", pass.id.clone())],
        blocks,
        ..Item::default()
    }
}

fn sentence_case(text: &str) -> String {
    sentence(text).trim_end_matches('.').to_owned()
}

/// Feeding and watching begun on earlier days, with a box for each day and pen.
fn going_on(book: &Book, day: &Day) -> Block {
    let title = if day.items.is_empty() {
        "Going on each day"
    } else {
        "Also going on"
    };
    let passes = day.going_on.iter().flatten();
    let rows = passes.map(|pass| on_with(book, pass, day));
    let rows = Block::List(ListKind::Rows, rows.collect());
    Block::section(Kind::GoingOn, vec![Block::heading(4, title), rows])
}

fn on_with(book: &Book, pass: &Pass, day: &Day) -> Item {
    // Heat is watched for at the season's checks, not when it began.
    let clock = (pass.work != Work::HeatWatch).then(|| {
        let at = begins(pass.start, book.on(pass.start.date_naive()));
        words![Style::Clock.of(at), " "]
    });
    let last = pass
        .last_day
        .map(|last| format!(", through {}", short_date(last)));
    let who = words![
        sentence_case(&pass.what),
        ": ",
        book.pen_of(&pass.group, pass.pen),
        ", ",
        pass.head,
        " head, ",
        book.site_name(&pass.site),
        last
    ];
    let mut blocks = vec![Block::Text(words![clock, Style::Who.of(who)])];
    let one_day = day.from == day.to;
    if !one_day {
        let all = day.from.iter_days().take_while(|d| *d <= day.to);
        let boxes = all.map(|on| words![Style::Box.of(short_date(on)), " "]);
        blocks.push(Block::of_role(Role::Paper, Line::joined(boxes, "")));
    }
    Item {
        tick: one_day,
        blocks,
        ..Item::default()
    }
}

/// The notes of a trip's passes, each once.
fn notes<'a>(trip: &Trip<'a>) -> Vec<&'a str> {
    let notes = trip.iter().filter_map(|p| p.note.as_deref());
    let mut notes: Vec<&str> = notes.collect();
    notes.dedup();
    notes
}

fn cautions(trip: &Trip) -> Vec<Caution> {
    trip.iter().flat_map(|p| &p.cautions).copied().collect()
}
