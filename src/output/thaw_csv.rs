//! Thaw rounds as tables for spreadsheets.

use super::answer::{Answer, Kind};
use super::document::Document;
use super::table::{Table, clock, to_the_second};
use super::thaw;
use super::times::span;
use crate::analysis::thaw::Thaw;

impl Answer for Thaw {
    fn document(&self) -> Document {
        thaw::document(self)
    }

    /// Without a session, the list of them. Of one session, its straws in the order of the rounds, and
    /// those set aside for cows that never come.
    fn tables(&self) -> Vec<Kind<Self>> {
        if self.session.is_some() {
            vec![Kind::new("straws", straws), Kind::new("waste", waste)]
        } else {
            vec![Kind::new("sessions", sessions)]
        }
    }
}

fn sessions(thaw: &Thaw) -> String {
    let sessions = thaw.sessions.iter();
    let mut t = Table::of(sessions.map(|s| (s, span(s.first_cow, s.last_cow))));
    t.column("session", |(s, _)| &s.session);
    t.column("site_name", |(s, _)| &s.site_name);
    t.day(["date", "weekday"], |(_, cows)| Some(cows.0.date_naive()));
    t.column("first_cow", |(_, cows)| clock(cows.0));
    t.column("last_cow", |(_, cows)| clock(cows.1));
    t.offset("utc_offset_minutes", |(_, cows)| Some(cows.0));
    t.column("head", |(s, _)| s.head);
    t.column("technicians", |(s, _)| &s.technicians);
    t.csv()
}

fn straws(thaw: &Thaw) -> String {
    let technicians = thaw.session.iter();
    let technicians = technicians.flat_map(|s| s.technicians.iter().map(move |t| (s, t)));
    let rounds = technicians.flat_map(|(s, t)| t.rounds.iter().map(move |r| (s, t, r)));
    let straws = rounds.flat_map(|(s, t, r)| {
        let straws = r.straws.iter().enumerate();
        straws.map(move |(n, x)| (s, t, r, n, x))
    });
    let mut t = Table::of(straws);
    t.column("session", |(s, ..)| &s.session);
    t.column("site_name", |(s, ..)| &s.site_name);
    t.day(["date", "weekday"], |(.., x)| Some(x.in_at.date_naive()));
    t.offset("utc_offset_minutes", |(.., x)| Some(x.in_at));
    t.column("technician", |(_, t, ..)| &t.id);
    t.column("technician_name", |(_, t, ..)| &t.name);
    t.column("round", |(_, _, r, ..)| r.number);
    t.column("straw", |(.., n, _)| n + 1);
    t.column("bull", |(.., x)| &x.bull);
    t.column("straw_ml", |(.., x)| x.straw_ml);
    t.column("tank", |(.., x)| &x.tank);
    t.column("canister", |(.., x)| x.canister);
    t.column("cane", |(.., x)| &x.cane);
    t.column("goblet", |(.., x)| &x.goblet);
    t.column("in_bath", |(.., x)| to_the_second(x.in_at));
    t.column("out_of_bath", |(.., x)| to_the_second(x.out_at));
    t.column("first_gun", |(_, _, r, ..)| to_the_second(r.first_gun));
    t.column("bred", |(.., x)| to_the_second(x.bred_at));
    t.column("in_cow_by", |(_, _, r, ..)| to_the_second(r.cow_by));
    t.column("group", |(.., x)| &x.group);
    t.column("pen", |(.., x)| x.pen);
    t.column("animal_number", |(.., x)| x.animal);
    t.column("animal", |(.., x)| &x.tag);
    t.csv()
}

fn waste(thaw: &Thaw) -> String {
    let sessions = thaw.session.iter();
    let mut t = Table::of(sessions.flat_map(|s| s.waste.iter().map(move |w| (s, w))));
    t.column("session", |(s, _)| &s.session);
    t.column("site_name", |(s, _)| &s.site_name);
    t.column("bull", |(_, w)| &w.bull);
    t.column("straws", |(_, w)| w.straws);
    t.column("places", |(_, w)| &w.places);
    t.csv()
}
