//! What was found for wishes as tables for spreadsheets.

use super::super::answer::Tables;
use super::super::table::{Table, day_and_clock, fields, kinds};
use crate::base::units::hundredths;
use crate::planning::choose::{Chosen, GroupChoice, Row};

pub(super) fn tables() -> Tables<Chosen> {
    kinds![candidates, choice]
}

/// The candidates of each group's list.
fn candidates(chosen: &Chosen) -> String {
    let groups = chosen.groups.iter();
    let listed = groups.flat_map(|g| {
        let rows = g.rows.iter().zip(1..);
        rows.map(move |(row, rank)| (g, row, rank))
    });
    let mut t = Table::of(listed);
    group(&mut t, |(g, ..)| g);
    t.column("rank", |(.., rank): (_, _, u32)| rank);
    candidate(&mut t, chosen, |(_, row, _)| row);
    t.csv()
}

/// For several groups, what is chosen for them together.
fn choice(chosen: &Chosen) -> String {
    let together = chosen.together.iter();
    let mut t = Table::of(together.flat_map(|t| chosen.groups.iter().zip(t.rows())));
    group(&mut t, |(g, _)| g);
    candidate(&mut t, chosen, |(_, row)| row);
    t.csv()
}

fn group<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a GroupChoice) {
    fields!(t, |r| of(r) => group = id, group_name = name);
    t.column("head", |r| of(r).head.0);
}

fn candidate<'a, R: Copy>(t: &mut Table<R>, chosen: &Chosen, of: impl Fn(R) -> &'a Row) {
    let standing = |r| &of(r).standing;
    fields!(t, |r| of(r) => protocol = protocol.id, protocol_name = protocol.name);
    t.moment("start", "start", |r| of(r).start.at.0);
    let days = |r| of(r).lots.as_ref().map_or(1, Vec::len);
    t.column("start_days", days);
    t.moment("breeding", "breeding", |r| of(r).first_breeding.0);
    fields!(t, |r| of(r) => first_calves, mean_calving);
    fields!(t, |r| standing(r) => days, chute_passes = passes, breeding_apart);
    t.column("chute_hours", |r| hundredths(standing(r).hours.chute));
    t.column("technician_hours", |r| {
        hundredths(standing(r).hours.technicians)
    });
    t.column("heat_watch_hours", |r| {
        hundredths(standing(r).hours.heat_watch)
    });
    t.column("feeding_hours", |r| hundredths(standing(r).hours.feeding));
    t.column("night_hours", |r| standing(r).hours.night);
    t.column("pregnant_counted_percent", |r| {
        hundredths(standing(r).rate.counted)
    });
    fields!(t, |r| standing(r) =>
        pregnant_low_percent = rate.figures.low, pregnant_high_percent = rate.figures.high,
        published_for_the_protocol = rate.published);
    t.column("currency", |_| chosen.currency.as_deref());
    t.column("cost_a_head", |r| {
        Some(hundredths(standing(r).cost.as_ref()?.total.0))
    });
    t.column("cost_a_pregnancy", |r| {
        Some(hundredths(standing(r).cost_a_pregnancy?.0))
    });
    fields!(t, |r| of(r) =>
        head_not_bred = cover.not_bred, other_head_not_bred = cover.other_head,
        chute_quarters = cover.chute_quarters);
    t.column("spare_minutes", |r| of(r).cover.spare.num_minutes());
    t.column("broken_wishes", |r| &of(r).broken_wishes);
    t.column("equal_starts", |r| {
        let starts = of(r).equal_starts.iter().map(|s| day_and_clock(s.at.0));
        starts.collect::<Vec<_>>()
    });
    t.column("points", |r| hundredths(of(r).points));
}
