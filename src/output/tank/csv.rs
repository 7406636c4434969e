//! The tanks as tables for spreadsheets.

use super::super::answer::Kind;
use super::super::table::Table;
use crate::analysis::tank::{SessionLeft, TankReport, TankView};

/// What is where, what each session leaves in a tank, what it takes from each place, and the tanks, with
/// their liquid nitrogen where that is known.
pub(super) fn tables() -> Vec<Kind<TankReport>> {
    vec![
        Kind::new("straws", straws),
        Kind::new("sessions", sessions),
        Kind::new("taken", taken),
        Kind::new("tanks", tanks),
    ]
}

fn tank<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a TankView) {
    t.column("tank", |r| &of(r).id);
    t.column("tank_name", |r| &of(r).name);
}

fn session<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a SessionLeft) {
    t.column("session", |r| &of(r).session);
    let day = |r| Some(of(r).begins.date_naive());
    t.day(["date", "weekday"], day);
}

fn straws(answer: &TankReport) -> String {
    let canisters = answer.tanks.iter();
    let canisters = canisters.flat_map(|t| t.canisters.iter().map(move |c| (t, c)));
    let held = canisters.flat_map(|(t, c)| c.holdings.iter().map(move |h| (t, c, h)));
    let mut t = Table::of(held);
    tank(&mut t, |(tank, ..)| tank);
    t.column("canister", |(_, c, _)| c.number);
    t.column("cane", |(.., h)| &h.cane);
    t.column("goblet", |(.., h)| &h.goblet);
    t.column("bull", |(.., h)| &h.bull);
    t.column("bull_name", |(.., h)| &h.bull_name);
    t.column("sort", |(.., h)| &h.sort);
    t.column("straw_ml", |(.., h)| h.straw_ml);
    t.column("straws_before", |(.., h)| h.straws);
    t.column("straws_taken", |(.., h)| {
        h.straws.saturating_sub(h.left_straws)
    });
    t.column("straws_left", |(.., h)| h.left_straws);
    t.csv()
}

fn by_session(answer: &TankReport) -> impl Iterator<Item = (&TankView, &SessionLeft)> {
    let tanks = answer.tanks.iter();
    tanks.flat_map(|t| t.sessions.iter().map(move |s| (t, s)))
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
    let taken = by_session(answer);
    let taken = taken.flat_map(|(t, s)| s.taken.iter().map(move |x| (t, s, x)));
    let mut t = Table::of(taken);
    tank(&mut t, |(tank, ..)| tank);
    session(&mut t, |(_, s, _)| s);
    t.column("canister", |(.., x)| x.canister);
    t.column("cane", |(.., x)| &x.cane);
    t.column("goblet", |(.., x)| &x.goblet);
    t.column("bull", |(.., x)| &x.bull);
    t.column("straws_taken", |(.., x)| x.straws);
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
