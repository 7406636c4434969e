//! The tanks in words: the nitrogen of each, what is where, and what each session takes and leaves.

mod csv;
mod drawing;

pub(super) use drawing::map;

use super::answer::{Answer, Tables};
use crate::analysis::tank::{
    Canister, Holding, NitrogenAnswer, SessionLeft, Taken, TankReport, TankView,
};
use crate::base::units::{Clock, count};
use crate::output::document::{Block, Cell, Document, Hold, Item, ListKind, Role, Row, TableKind};
use crate::output::remarks;
use crate::output::times::up_to_minute;
use crate::trade::protocol::Caution;

impl Answer for TankReport {
    /// The whole answer.
    fn document(&self) -> Document {
        let care = Caution::Nitrogen;
        let times = format!("Tanks. Times are local, {}.", self.zone);
        let mut blocks = vec![
            Block::heading(1, &self.season),
            Block::paragraph(times),
            Block::of_role(
                Role::Warning,
                format!("{} ({})", care.words(), care.source()),
            ),
        ];
        let straws = |n| count(n, "straw", "straws");
        if self.short_straws > 0 {
            let short = format!(
                "The plan uses {} that have no place.",
                straws(self.short_straws)
            );
            blocks.push(Block::paragraph(short));
        }
        let lacking = self.lacking_straws.iter();
        blocks.extend(
            lacking.map(|g| Block::paragraph(format!("{}: {} short.", g.group, straws(g.straws)))),
        );
        let tanks = self.tanks.iter().enumerate();
        blocks.extend(tanks.map(|(n, t)| one(n, t, self.clock)));
        blocks.extend(remarks(&self.findings));
        Document::new(format!("{} – tanks", self.season), blocks)
    }

    fn tables(&self) -> Tables<Self> {
        csv::tables()
    }
}

fn one(n: usize, tank: &TankView, clock: Clock) -> Block {
    let id = if tank.id.is_empty() || tank.id == tank.name {
        String::new()
    } else {
        format!(" ({})", tank.id)
    };
    let (straws, left) = (count(tank.straws, "straw", "straws"), tank.left_straws);
    let title = format!("{}{id}: {straws}, {left} left after the season", tank.name);
    let mut blocks: Vec<Block> = tank.nitrogen.iter().flat_map(nitrogen).collect();
    blocks.push(Block::heading(3, "Canisters"));
    if tank.canisters.iter().any(|c| c.number.is_some()) {
        let turn = "From above, canister 1 is farthest from you. The others follow clockwise.";
        blocks.push(Block::paragraph(turn));
    }
    blocks.extend(map(tank).map(Block::Drawing));
    blocks.extend([canisters(tank), Block::heading(3, "Canes"), holdings(tank)]);
    blocks.push(Block::heading(3, "What each session takes and leaves"));
    if tank.sessions.is_empty() {
        blocks.push(Block::paragraph("No session takes straws from this tank."));
    } else {
        let order = "Finish one canister before the next: first the canister with the fewest straws of the bull. In a canister, take the cane with the fewest straws left first.";
        blocks.push(Block::paragraph(order));
        let items = tank.sessions.iter().map(|s| session(tank, s, clock));
        blocks.push(Block::List(ListKind::Bullets, items.collect()));
    }
    Block::part(&format!("tank-{}", n + 1), title, blocks)
}

fn named(c: &Canister) -> Cell {
    let number = c.number.map_or("none named".to_owned(), |n| n.to_string());
    Cell::head(Hold::Words, number)
}

fn canisters(tank: &TankView) -> Block {
    let rows = tank.canisters.iter().map(|c| {
        let left = [c.straws, c.left_straws].map(Cell::text);
        Row::of([named(c)].into_iter().chain(left).collect())
    });
    let columns = ["Canister", "Straws", "Left after the season"];
    Block::table("Straws in each canister", &columns, rows)
}

fn holdings(tank: &TankView) -> Block {
    let row = |c: &Canister, h: &Holding| {
        Row::of(vec![
            named(c),
            Cell::head(Hold::Names, place(h.cane.as_deref(), h.goblet.as_deref())),
            Cell::of(Hold::Names, &h.bull_name),
            Cell::text(h.straw_ml),
            Cell::text(&h.sort),
            Cell::text(h.straws),
            Cell::text(h.left_straws),
        ])
    };
    let rows = tank.canisters.iter();
    let rows = rows.flat_map(|c| c.holdings.iter().map(move |h| row(c, h)));
    let columns = ["Canister", "Cane", "Bull", "mL", "Sort", "Straws", "Left"];
    Block::table_of(TableKind::Stack, "What is in the canisters", &columns, rows)
}

/// A cane and its goblet.
pub(super) fn place(cane: Option<&str>, goblet: Option<&str>) -> String {
    match (cane, goblet) {
        (None, None) => "no cane named".to_owned(),
        (one, None) | (None, one) => one.unwrap_or_default().to_owned(),
        (Some(cane), Some(goblet)) => format!("{cane} {goblet}"),
    }
}

/// What is taken of one bull in one canister: the bull, the canister if it is named, how many straws,
/// and the straws from each cane.
pub(super) fn runs<'a>(
    tank: &'a TankView,
    s: &'a SessionLeft,
) -> Vec<(&'a str, Option<u32>, u32, String)> {
    let holdings = || tank.canisters.iter().flat_map(|c| &c.holdings);
    let same = |a: &Taken, b: &Taken| a.bull == b.bull && a.canister == b.canister;
    let runs = s.taken.chunk_by(same).map(|run| {
        let bull = &run[0].bull;
        let bull = holdings()
            .find(|h| h.bull == *bull)
            .map_or(bull, |h| &h.bull_name);
        let cane = |t: &Taken| {
            let place = place(t.cane.as_deref(), t.goblet.as_deref());
            format!("{place} {}", t.straws)
        };
        let canes: Vec<String> = run.iter().map(cane).collect();
        let straws = run.iter().map(|t| t.straws).sum();
        (bull.as_str(), run[0].canister, straws, canes.join(", "))
    });
    runs.collect()
}

fn session(tank: &TankView, s: &SessionLeft, clock: Clock) -> Item {
    let lifts: Vec<String> = s.lifted_canisters.iter().map(u32::to_string).collect();
    let lifted = match lifts.len() {
        0 => String::new(),
        1 => format!(" Lift canister {}.", lifts[0]),
        _ => format!(" Lift canisters {}.", lifts.join(", ")),
    };
    let level = s.level.zip(tank.nitrogen.as_ref());
    let level = level.map_or(String::new(), |(level, n)| {
        format!(", nitrogen at {level:.1} {}", n.unit)
    });
    let begins = clock.day(up_to_minute(s.begins).naive_local());
    let (session, left) = (&s.session, count(s.left_straws, "straw", "straws"));
    let head = format!("{begins}, session {session}: {left} left{level}.{lifted}");
    let taken = runs(tank, s).into_iter().map(|(bull, canister, n, canes)| {
        let canister = canister.map_or(String::new(), |n| format!(" canister {n},"));
        format!("take {n} of {bull}:{canister} {canes}")
    });
    let mut item = Item::text(head.replace("in..", "in."));
    item.blocks.push(Block::bullets(taken));
    item
}

fn nitrogen(n: &NitrogenAnswer) -> Vec<Block> {
    let published = n.published.iter().map(|m| match m.to_inches {
        Some(to) => format!("{} to {to} in. ({})", m.inches, m.source),
        // Published in centimeters.
        None if m.inches.fract() > 0.0 => {
            format!("{:.0} cm ({} in., {})", m.inches * 2.54, m.inches, m.source)
        }
        None => format!("{} in. ({})", m.inches, m.source),
    });
    let published: Vec<String> = published.collect();
    let limits = format!(
        "Published minimum levels disagree: {}. Your own value decides.",
        published.join(", ")
    );
    // What to do stands first.
    let (refill, rest) = n.refill_and_rest();
    let mut blocks = vec![Block::heading(3, "Liquid nitrogen")];
    blocks.extend(refill.map(|w| Block::of_role(Role::Lead, w)));
    blocks.extend(rest.map(Block::paragraph));
    blocks.push(Block::paragraph(limits));
    blocks
}
