//! One site's breeding on one half-day: who is due, who breeds when, what to bring.

use std::collections::{BTreeMap, BTreeSet};

use super::book::Book;
use super::front::markers;
use super::load::load;
use super::words::{begins, clocks_change, ends, hours, prose, sentence};
use crate::base::units::count;
use crate::output::document::{
    Block, Cell, Heading, Hold, Item, Kind, Line, ListKind, Role, Row, Section, Span, Style, Table,
    TableKind, words,
};
use crate::output::thaw_page;
use crate::output::times::{OnDay, first_and_last, short_date};
use crate::output::{order_words, ranges, spare_words};
use crate::planning::plan::{AtSession, DuePen, Group, Moment, Session, Slot};
use crate::trade::season::Order;

/// Technicians side by side in one table: as many as fit a sheet of paper.
const ABREAST: usize = 6;

/// The card of a session, `n` its place in the plan's list.
pub(super) fn card(book: &Book, n: usize, session: &Session, day: OnDay) -> Block {
    let mut blocks = vec![
        Block::Heading(Heading {
            level: 4,
            line: title(session).into(),
            tick: true,
            ..Heading::default()
        }),
        Block::of_role(Role::Where, book.site_name(&session.site)),
        Block::of_role(Role::Lead, first_to_last(session, day)),
        due(book, session, day),
    ];
    blocks.extend(remarks(book, session));
    blocks.extend(bring(book, session));
    blocks.push(margin(session));
    blocks.extend(markers(&session.cautions));
    blocks.extend(load(book, session, day, n + 1));
    blocks.extend(boards(book, n, session, day));
    if let Some(rounds) = book.rounds(&session.id) {
        blocks.extend(thaw_page::of_day(rounds));
    }
    Block::Section(Section {
        kind: Kind::Session,
        id: Some(format!("session-{}", n + 1)),
        data: vec![("session", session.id.clone())],
        blocks,
    })
}

fn first_to_last(session: &Session, day: OnDay) -> Line {
    let cows = match session.first_cow.zip(session.last_cow) {
        Some((first, last)) => {
            let (first, last) = first_and_last(first, last);
            words![
                "First cow ",
                Style::Clock.of(begins(first, day)),
                ", last cow ",
                Style::Clock.of(ends(last, day))
            ]
        }
        None => "No cow can be bred in this AI window".into(),
    };
    let (open, close) = (begins(session.open, day), ends(session.close, day));
    words![cows, ". AI window: ", open, " to ", close, "."]
}

/// How many are bred, and of how many if not all can be.
pub(super) fn title(session: &Session) -> String {
    let due: u32 = session.pens.iter().map(|p| p.head).sum();
    match session.head {
        head if head == due && session.is_by_heat() => format!("Breed about {head} head, by heat"),
        head if head == due => format!("Breed {head} head"),
        0 => format!("Breed none of {due} head"),
        head => format!("Breed {head} of {due} head"),
    }
}

/// The pens due.
fn due(book: &Book, session: &Session, day: OnDay) -> Block {
    let columns = ["Pen", "Head and work", "AI window", "Order", "Counted from"];
    let pens = session.pens.iter().map(|pen| due_row(book, pen, day));
    Block::Table(Table {
        caption_shown: true,
        parts: vec![pens.collect()],
        ..Table::new(TableKind::Stack, "Pens to breed", &columns)
    })
}

fn due_row(book: &Book, pen: &DuePen, day: OnDay) -> Row {
    let from = book.on(pen.counted_from.date_naive());
    let kept = pen.order == Order::Kept;
    let (bred, due) = (pen.bred_head, pen.head);
    let left = (bred < due).then(|| {
        let words = format!("{bred} bred, {} not bred in time", due - bred);
        words!["; ", Span::strong(words)]
    });
    let due = words![
        Span::strong(pen.head_words()),
        ": ",
        &pen.what,
        pen.seen_words().map(|seen| format!(", {seen}")),
        left
    ];
    let window = if kept {
        format!("; each animal {} after her own", pen.hours.window)
    } else {
        format!(" ({})", pen.hours.window)
    };
    let to =
        (pen.counted_to != pen.counted_from).then(|| words![" to ", ends(pen.counted_to, from)]);
    let counted = words![
        short_date(from.date),
        " ",
        begins(pen.counted_from, from),
        to
    ];
    Row {
        data: vec![("pass", pen.pass.clone())],
        cells: vec![
            Cell {
                tick: true,
                ..Cell::head(Hold::Names, book.pen_of(&pen.group, pen.pen))
            },
            Cell::text(due),
            Cell::text(words![hours(&pen.hours, day), window]),
            Cell::text(order_words(pen.order)),
            Cell::text(counted),
        ],
        ..Row::default()
    }
}

/// Notes of the protocol, remarks of the season and clock changes, each once.
fn remarks(book: &Book, session: &Session) -> Vec<Block> {
    let mut notes: Vec<String> = Vec::new();
    let mut clocks: Vec<&str> = Vec::new();
    for pen in &session.pens {
        let pass = book.pass(&pen.pass);
        notes.extend(pass.and_then(|p| p.note.clone()));
        notes.extend(book.group(&pen.group).into_iter().flat_map(Group::said));
        clocks.extend(pass.and_then(|p| p.clock.as_deref()));
    }
    let mut said = BTreeSet::new();
    notes.retain(|n| said.insert(n.clone()));
    clocks.dedup();
    let notes = notes.iter().map(|n| Block::paragraph(sentence(n)));
    notes.chain(clocks.into_iter().map(clocks_change)).collect()
}

/// Straws to bring.
fn bring(book: &Book, session: &Session) -> Vec<Block> {
    if session.straws.is_empty() {
        return Vec::new();
    }
    let straws = session.straws.iter().map(|s| {
        let spare = session.spare_for(s).map(|spare| {
            let straws = Span::strong(spare.straws);
            words![", and ", straws, " to spare for cows that never come"]
        });
        Item::to_tick(words![
            Span::strong(count(s.straws, "straw", "straws")),
            " of ",
            book.bull_name(&s.bull),
            crate::output::sexed(s),
            spare
        ])
    });
    vec![
        Block::of_role(Role::Label, "Straws to bring"),
        Block::List(ListKind::Bring, straws.collect()),
    ]
}

/// How much room there is, and what sets the limit.
fn margin(session: &Session) -> Block {
    let spare = spare_words(session);
    let limit = prose(&sentence(&session.binding_words));
    Block::paragraph(words![Span::strong("Spare:"), " ", spare, ". ", limit])
}

/// Who breeds when: a column for each technician. `n` is the session's place in the plan's list.
fn boards(book: &Book, n: usize, session: &Session, day: OnDay) -> Vec<Block> {
    let parts: Vec<&[AtSession]> = session.technicians.chunks(ABREAST).collect();
    let boards = parts.iter().enumerate().map(|(k, crew)| {
        let part = if parts.len() > 1 {
            format!(", part {} of {}", k + 1, parts.len())
        } else {
            String::new()
        };
        let names = crew
            .iter()
            .map(|t| Cell::of(Hold::Names, book.technician_name(&t.id)));
        // The head comes again on each sheet of paper, and says the day.
        let columns = [Cell::text(short_date(day.date))].into_iter().chain(names);
        let board = Block::Table(Table {
            kind: TableKind::Board,
            caption: format!("Who breeds when{part}"),
            caption_shown: true,
            columns: columns.collect(),
            parts: vec![facts(book, crew, day), slots(book, session, crew, day)],
            ..Table::default()
        });
        let label = format!("Session {}: who breeds when{part}", n + 1);
        Block::section(Kind::Wide(label), vec![board])
    });
    let numbered = session.slots.iter().any(|s| !s.animals.is_empty());
    let place = "“no.” is the animal’s place in the order of the last treatment.";
    let place = numbered.then(|| Block::of_role(Role::SmallSoft, place));
    boards.chain(place).collect()
}

fn facts(book: &Book, crew: &[AtSession], day: OnDay) -> Vec<Row> {
    let row = |name: &str, cell: &dyn Fn(&AtSession) -> Line| {
        let cells = crew.iter().map(|t| Cell::text(cell(t)));
        let name = Cell::head(Hold::Words, name);
        Row::of([name].into_iter().chain(cells).collect())
    };
    let helped = |t: &AtSession| book.technician(&t.id).is_some_and(|t| t.helper);
    let mut rows = vec![
        row("Breeds", &|t| {
            Style::Figure.of(words![t.head, " head"]).into()
        }),
        row("Thaws", &|t| {
            if helped(t) { "a helper" } else { "alone" }.into()
        }),
    ];
    if crew.iter().any(|t| t.leaves.is_some()) {
        rows.push(row("Leaves for here", &|t| match &t.leaves {
            Some(l) => words![
                book.site_name(&l.site),
                " by ",
                Span::strong(ends(l.by, day)),
                book.plan.drive_words(l)
            ],
            None => "is here".into(),
        }));
    }
    rows.extend([
        row("First straws in the bath", &|t| {
            Span::strong(ends(t.begins, day)).into()
        }),
        row("First to last cow", &|t| {
            let (first, last) = first_and_last(t.first_cow, t.last_cow);
            words![begins(first, day), " to ", ends(last, day)]
        }),
        row("Straws at once", &|t| Span::strong(t.straws_at_once).into()),
        row("Time at each cow", &|t| words![t.minutes_per_cow, " min"]),
        row("Slowest straw, bath to cow", &|t| {
            words![t.last_straw_minutes, " min"]
        }),
        row("Full rounds past the limit", &|t| {
            words![t.late_percent, " %"]
        }),
    ]);
    rows
}

fn slots(book: &Book, session: &Session, crew: &[AtSession], day: OnDay) -> Vec<Row> {
    let place = crew.iter().enumerate().map(|(n, t)| (t.id.as_str(), n));
    let place: BTreeMap<&str, usize> = place.collect();
    let mut rows: BTreeMap<Moment, Vec<Vec<&Slot>>> = BTreeMap::new();
    for slot in &session.slots {
        if let Some(n) = place.get(slot.technician.as_str()) {
            rows.entry(slot.start)
                .or_insert_with(|| vec![Vec::new(); crew.len()])[*n]
                .push(slot);
        }
    }
    let cell = |slots: &Vec<&Slot>| {
        if slots.is_empty() {
            return Cell::text(Style::Nothing.of("–"));
        }
        let entries = slots.iter().map(|slot| entry(book, session, slot));
        Cell {
            hold: Hold::Entries,
            lines: entries.collect(),
            ..Cell::default()
        }
    };
    let row = |(start, cells): (&Moment, &Vec<Vec<&Slot>>)| {
        let name = Cell::head(Hold::Words, begins(*start, day));
        Row::of([name].into_iter().chain(cells.iter().map(cell)).collect())
    };
    rows.iter().map(row).collect()
}

/// Which half-day's heats a slot is of.
fn seen(session: &Session, slot: &Slot) -> String {
    let pen = session.pens.iter().find(|p| p.pass == slot.pass);
    pen.and_then(DuePen::seen_words).unwrap_or_default()
}

/// Head of one pen in one slot, and which animals.
fn entry(book: &Book, session: &Session, slot: &Slot) -> Line {
    let first = &session.pens[0].group;
    let many_groups = session.pens.iter().any(|p| p.group != *first);
    let pen = (session.pens.len() > 1).then(|| {
        let pen = if many_groups {
            book.pen_of(&slot.group, slot.pen)
        } else if let Some(pen) = slot.pen {
            format!("pen {pen}")
        } else {
            seen(session, slot)
        };
        words![" ", Style::Beside.of(pen)]
    });
    let animals = (!slot.animals.is_empty()).then(|| {
        let numbers = format!("no. {}", ranges(&slot.animals, "–"));
        words![" ", Style::Beside.of(numbers)]
    });
    words![Style::Figure.of(words![slot.head, " head"]), pen, animals]
}
