//! Dates of protocols as they are printed, and as tables for spreadsheets.

use super::answer::{Answer, Kind};
use super::dates;
use super::document::Document;
use super::table::{Table, clock, day_and_clock};
use crate::trade::protocol::dates::{DatedStep, Dates, Starts};

impl Answer for Dates<'_> {
    fn document(&self) -> Document {
        dates::document(self)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("steps", steps)]
    }
}

impl Answer for Starts<'_> {
    fn document(&self) -> Document {
        dates::starts_document(self)
    }

    /// Protocols that have a start, the earliest first, and those that have none, with the reason.
    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("starts", starts), Kind::new("left-out", left_out)]
    }
}

/// Work that lasts some days has its last date, too, and no clock time.
fn steps(dates: &Dates<'_>) -> String {
    let dated = &dates.dated;
    let mut t = Table::of(dated.protocol.steps.iter().zip(&dated.steps));
    t.column("protocol", |_| &dated.protocol.id);
    t.column("name", |_| dated.name);
    t.column("step", |(_, d)| d.id);
    t.column("actions", |(_, d)| d.actions);
    t.column("what", |(step, _)| step.words());
    t.day(["date", "weekday"], |(_, d)| {
        Some(d.first_day.unwrap_or_else(|| d.at.0.date_naive()))
    });
    let at = |(_, d): (_, &DatedStep<'_>)| d.first_day.is_none().then_some(d.at.0);
    t.column("time", |row| at(row).map(clock));
    t.offset("utc_offset_minutes", at);
    t.day(["last_date", "last_weekday"], |(_, d)| d.last_day);
    t.column("not_before", |(_, d)| {
        d.earliest.map(|at| day_and_clock(at.0))
    });
    t.column("not_after", |(_, d)| d.latest.map(|at| day_and_clock(at.0)));
    t.csv()
}

fn starts(starts: &Starts<'_>) -> String {
    let rows = starts.starts.iter();
    let rows = rows.filter_map(|d| Some((d, d.counted_back_from.as_ref()?)));
    let mut t = Table::of(rows);
    t.column("protocol", |(d, _)| &d.protocol.id);
    t.column("name", |(d, _)| d.name);
    t.moment("start", "start", |(d, _)| d.start.0);
    t.column("step", |(_, back)| back.step);
    t.moment("step", "step_time", |(d, counted)| {
        d.steps[counted.back.step].at.0
    });
    t.column("hours", |(_, back)| back.hours);
    t.column("exact", |(_, back)| back.exact);
    t.column("off_minutes", |(_, back)| back.off_minutes);
    t.column("night_work", |(d, _)| dates::at_night(d));
    t.column("from_memory", |(d, _)| d.unverified);
    t.csv()
}

fn left_out(starts: &Starts<'_>) -> String {
    let mut t = Table::of(&starts.left_out);
    t.column("protocol", |l| &l.protocol.id);
    t.column("name", |l| &l.protocol.name);
    t.column("why", |l| match &l.why.expected {
        Some(expected) => format!("asks {expected}"),
        None => l.why.what.clone(),
    });
    t.csv()
}
