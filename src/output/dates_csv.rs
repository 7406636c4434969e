//! Dates of protocols as they are printed, and as tables for spreadsheets.

use super::answer::{Answer, Kind};
use super::dates::{self, Dated, Starts};
use super::dates_json;
use super::document::Document;
use super::protocol_facts::actions;
use super::table::{Table, clock, day_and_clock, read_in};

impl Answer for Dated<'_> {
    fn document(&self) -> Document {
        dates::document(self)
    }

    fn json(&self) -> String {
        dates_json::dated(self)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("steps", steps)]
    }
}

impl Answer for Starts<'_> {
    fn document(&self) -> Document {
        dates::starts_document(self)
    }

    fn json(&self) -> String {
        dates_json::starts(self)
    }

    /// Protocols that have a start, the earliest first, and those that have none, with the reason.
    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("starts", starts), Kind::new("left-out", left_out)]
    }
}

/// Work that lasts some days has its last date, too, and no clock time.
fn steps(dated: &Dated<'_>) -> String {
    let protocol = dated.protocol;
    let read = |at| read_in(dated.dates.zone, at);
    let mut t = Table::of(protocol.steps.iter().zip(&dated.dates.steps));
    t.column("protocol", |_| protocol.id.as_str());
    t.column("name", |_| &protocol.name);
    t.column("step", |(step, _)| step.id.as_str());
    t.column("actions", |(step, _)| actions(step));
    t.column("what", |(step, _)| step.words());
    t.day(["date", "weekday"], |(_, d)| {
        let first = d.days.map(|days| days.0);
        Some(first.unwrap_or_else(|| read(d.at).date_naive()))
    });
    t.column("time", |(_, d)| d.days.is_none().then(|| clock(read(d.at))));
    t.offset("utc_offset_minutes", |(_, d)| {
        d.days.is_none().then(|| read(d.at))
    });
    t.day(["last_date", "last_weekday"], |(_, d)| {
        d.days.map(|days| days.1)
    });
    t.column("not_before", |(_, d)| {
        d.hours.map(|h| day_and_clock(read(h.earliest)))
    });
    t.column("not_after", |(_, d)| {
        d.hours.map(|h| day_and_clock(read(h.latest)))
    });
    t.csv()
}

fn starts(starts: &Starts<'_>) -> String {
    let rows = starts.starts.iter().map(|(protocol, back)| {
        let step = back.step;
        (*protocol, back, &protocol.steps[step])
    });
    let mut t = Table::of(rows);
    t.column("protocol", |(p, ..)| p.id.as_str());
    t.column("name", |(p, ..)| &p.name);
    t.moment(
        [
            "start_date",
            "start_weekday",
            "start",
            "start_utc_offset_minutes",
        ],
        |(_, back, _)| read_in(starts.zone, back.timetable.began.at),
    );
    t.column("step", |(.., step)| step.id.as_str());
    t.moment(
        [
            "step_date",
            "step_weekday",
            "step_time",
            "step_utc_offset_minutes",
        ],
        |(_, back, _)| read_in(starts.zone, back.timetable.steps[back.step].at),
    );
    t.column("hours", |(p, back, _)| dates::hours_after(p, back));
    t.column("exact", |(_, back, _)| back.is_exact());
    t.column("off_minutes", |(_, back, _)| dates::off_minutes(back));
    t.column("night_work", |(p, back, _)| dates::at_night(p, back));
    t.column("from_memory", |(p, ..)| p.has_unverified());
    t.csv()
}

fn left_out(starts: &Starts<'_>) -> String {
    let mut t = Table::of(starts.left_out);
    t.column("protocol", |(p, _)| p.id.as_str());
    t.column("name", |(p, _)| &p.name);
    t.column("why", |(_, f)| match &f.expected {
        Some(expected) => format!("asks {expected}"),
        None => f.what.clone(),
    });
    t.csv()
}
