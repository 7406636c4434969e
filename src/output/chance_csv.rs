//! Chances of sessions as tables for spreadsheets.

use super::answer::{Answer, Kind};
use super::chance;
use super::document::Document;
use super::table::{Table, to_the_second};
use crate::analysis::simulate::{Chance, Finish, SeasonChance, SessionChance};

impl Answer for SeasonChance {
    fn document(&self) -> Document {
        chance::document(self)
    }

    /// The sessions, their pens, and what each technician would do with each number of straws at once.
    /// Clock times of ends go up to the second, as in the JSON.
    fn tables(&self) -> Vec<Kind<Self>> {
        vec![
            Kind::new("sessions", sessions),
            Kind::new("pens", pens),
            Kind::new("straws-at-once", straws),
        ]
    }
}

fn session<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a SessionChance) {
    t.column("session", |r| &of(r).session);
    t.column("site", |r| &of(r).site);
    t.column("site_name", |r| &of(r).site_name);
}

fn day<R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> Finish) {
    let day = |r| Some(of(r).by_50_percent.date_naive());
    t.day(["date", "weekday"], day);
}

fn ends<R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> Finish) {
    let clock = to_the_second;
    t.column("last_cow_by_5_percent", |r| clock(of(r).by_5_percent));
    t.column("last_cow_by_50_percent", |r| clock(of(r).by_50_percent));
    t.column("last_cow_by_95_percent", |r| clock(of(r).by_95_percent));
    t.offset("utc_offset_minutes", |r| Some(of(r).by_50_percent));
}

fn outside<R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> Chance) {
    t.column("any_cow_outside_percent", |r| of(r).percent);
    t.column("any_cow_outside_low_percent", |r| of(r).low_percent);
    t.column("any_cow_outside_high_percent", |r| of(r).high_percent);
}

fn sessions(chance: &SeasonChance) -> String {
    let mut t = Table::of(&chance.sessions);
    session(&mut t, |s| s);
    t.column("head", |s| s.head);
    t.column("not_planned_head", |s| s.not_planned_head);
    day(&mut t, |s| s.last_cow);
    t.column("planned_last_cow", |s| to_the_second(s.planned_last_cow));
    ends(&mut t, |s| s.last_cow);
    outside(&mut t, |s| s.any_cow_outside);
    t.column("mean_outside_head", |s| s.outside.mean_head);
    t.column("any_straw_late_percent", |s| s.any_straw_late.percent);
    t.csv()
}

fn pens(chance: &SeasonChance) -> String {
    let sessions = chance.sessions.iter();
    let mut t = Table::of(sessions.flat_map(|s| s.pens.iter().map(move |p| (s, p))));
    session(&mut t, |(s, _)| s);
    t.column("group", |(_, p)| &p.group);
    t.column("pen", |(_, p)| p.pen);
    t.column("head", |(_, p)| p.head);
    outside(&mut t, |(_, p)| p.any_cow_outside);
    t.column("mean_outside_head", |(_, p)| p.outside.mean_head);
    t.csv()
}

fn straws(chance: &SeasonChance) -> String {
    let technicians = chance.sessions.iter();
    let technicians = technicians.flat_map(|s| s.technicians.iter().map(move |t| (s, t)));
    let straws = technicians.flat_map(|(s, t)| t.by_straws.iter().map(move |b| (s, t, b)));
    let mut t = Table::of(straws);
    session(&mut t, |(s, ..)| s);
    t.column("technician", |(_, t, _)| &t.id);
    t.column("technician_name", |(_, t, _)| &t.name);
    t.column("helper", |(_, t, _)| t.helper);
    t.column("head", |(_, t, _)| t.head);
    t.column("straws_at_once", |(.., b)| b.straws_at_once);
    t.column("planned", |(.., b)| b.planned);
    t.column("head_per_hour", |(.., b)| b.head_per_hour);
    t.column("minutes_per_cow", |(_, t, _)| t.minutes_per_cow);
    t.column("minutes_spread", |(_, t, _)| t.minutes_spread);
    day(&mut t, |(.., b)| b.last_cow);
    ends(&mut t, |(.., b)| b.last_cow);
    outside(&mut t, |(.., b)| b.any_cow_outside);
    t.column("any_straw_late_percent", |(.., b)| b.late_session.percent);
    t.column("late_round_percent", |(.., b)| {
        b.late_round.map(|c| c.percent)
    });
    t.column("late_round_formula_percent", |(.., b)| {
        b.late_round_formula_percent
    });
    t.column("mean_late_straws", |(.., b)| b.late_straws.mean_head);
    t.csv()
}
