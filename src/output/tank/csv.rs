//! The tanks as tables for spreadsheets.

use super::super::answer::Tables;
use super::super::table::{Table, fields, kinds, nested};
use crate::analysis::tank::{SessionLeft, TankReport, TankView};

/// What is where, what each session leaves in a tank, what it takes from each place, and the tanks, with
/// their liquid nitrogen where that is known.
pub(super) fn tables() -> Tables<TankReport> {
    kinds![straws, sessions, taken, tanks]
}

fn tank<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a TankView) {
    fields!(t, |r| of(r) => tank = id, tank_name = name);
}

fn session<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a SessionLeft) {
    t.column("session", |r| &of(r).session);
    let day = |r| Some(of(r).begins.date_naive());
    t.day(["date", "weekday"], day);
}

fn straws(answer: &TankReport) -> String {
    let canisters = nested(&answer.tanks, |t| &t.canisters);
    let mut t = Table::of(nested(canisters, |(_, c)| &c.holdings));
    tank(&mut t, |((tank, _), _)| tank);
    t.column("canister", |((_, c), _)| c.number);
    fields!(t, |(_, h)| h =>
        cane, goblet, bull, bull_name, sort, straw_ml, straws_before = straws);
    t.column("straws_taken", |(_, h)| {
        h.straws.saturating_sub(h.left_straws)
    });
    t.column("straws_left", |(_, h)| h.left_straws);
    t.csv()
}

fn by_session(answer: &TankReport) -> impl Iterator<Item = (&TankView, &SessionLeft)> {
    nested(&answer.tanks, |t| &t.sessions)
}

fn sessions(answer: &TankReport) -> String {
    let mut t = Table::of(by_session(answer));
    tank(&mut t, |(tank, _)| tank);
    session(&mut t, |(_, s)| s);
    t.column("straws_taken", |(_, s)| {
        s.taken.iter().map(|x| x.straws).sum::<u32>()
    });
    t.column("straws_left", |(_, s)| s.left_straws);
    t.csv()
}

fn taken(answer: &TankReport) -> String {
    let mut t = Table::of(nested(by_session(answer), |(_, s)| &s.taken));
    tank(&mut t, |((tank, _), _)| tank);
    session(&mut t, |((_, s), _)| s);
    fields!(t, |(_, x)| x => canister, cane, goblet, bull, straws_taken = straws);
    t.csv()
}

fn tanks(answer: &TankReport) -> String {
    let mut t = Table::of(&answer.tanks);
    tank(&mut t, |tank| tank);
    t.column("straws_before", |t| t.straws);
    t.column("straws_taken", |t| t.straws.saturating_sub(t.left_straws));
    t.column("straws_left", |t| t.left_straws);
    t.column("level_unit", |t| t.nitrogen.as_ref().map(|n| &n.unit));
    t.column("last_level", |t| t.nitrogen.as_ref().map(|n| n.last_level));
    t.column("loss_a_day", |t| {
        Some(t.nitrogen.as_ref()?.loss.as_ref()?.a_day)
    });
    t.column("least_level", |t| t.nitrogen.as_ref()?.limit);
    t.column("refill_by", |t| t.nitrogen.as_ref()?.refill_by);
    t.csv()
}
