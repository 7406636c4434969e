//! A session, with every pen, technician and straw.

use crate::base::units::count;
use crate::output::document::{Block, Term, words};
use crate::output::times::{OnDay, begins, ends, first_and_last, hours, on_day};
use crate::output::{order_words, sexed, spare_words};
use crate::planning::plan::{AtSession, DuePen, Moment, Pass, Plan, Session};

/// A part of a day's work.
pub(super) enum Item<'a> {
    Pass(&'a Pass),
    Session(&'a Session),
}

pub(super) fn whole(plan: &Plan, s: &Session) -> Term {
    let day = on_day(plan.units.clock, s.first_cow.unwrap_or(s.open).date_naive());
    let by_heat = s.is_by_heat().then_some(", by heat");
    let said = words![bred_words(s), " at ", plan.site_name(&s.site), by_heat];
    let pens = s.pens.iter().map(|pen| due(plan, pen, day));
    let people = s.technicians.iter().map(|t| breeds(plan, t, day));
    let covered = s.pens.iter().all(|p| p.bred_head == p.head);
    let limit = if covered {
        format!("spare: {}; {}", spare_words(s), s.binding_words)
    } else {
        format!("why: {}", s.binding_words)
    };
    let all = pens.chain(people).chain(straws(s)).chain([limit]);
    Term {
        more: all.map(Block::paragraph).collect(),
        ..Term::new(when(plan, s), said)
    }
}

/// From the first to the last cow; where none is bred, the hours.
pub(super) fn when(plan: &Plan, s: &Session) -> String {
    let (first, last) = s.first_cow.zip(s.last_cow).unwrap_or((s.open, s.close));
    let day = on_day(plan.units.clock, s.first_cow.unwrap_or(s.open).date_naive());
    span(first, last, day, "-")
}

fn due(plan: &Plan, pen: &DuePen, day: OnDay) -> String {
    let (bred, due) = (pen.bred_head, pen.head);
    let head = if bred < due {
        format!("{bred} of {due} head, {} NOT BRED", due - bred)
    } else {
        pen.head_words()
    };
    let order = pen.seen_words();
    let order = order.unwrap_or_else(|| order_words(pen.order).to_owned());
    let hours = hours(pen.hours.earliest, pen.hours.latest, day);
    let (who, window) = (plan.group_pen(&pen.group, pen.pen), &pen.hours.window);
    format!("{who}: {head}, {}, {hours} ({window}; {order})", pen.what)
}

fn breeds(plan: &Plan, t: &AtSession, day: OnDay) -> String {
    let leaves = t.leaves.as_ref().map_or_else(String::new, |l| {
        let far = plan.drive_words(l);
        let from = plan.site_name(&l.site);
        format!("leave {from} by {}{far}, ", ends(l.by, day))
    });
    let (who, head) = (plan.technician_name(&t.id), t.head);
    let (bath, cows) = (
        ends(t.begins, day),
        span(t.first_cow, t.last_cow, day, " to "),
    );
    let straws = count(t.straws_at_once, "straw", "straws");
    format!(
        "{who}: {head} head, {leaves}first straws in the bath {bath}, cows {cows}, {straws} at once"
    )
}

fn straws(s: &Session) -> Option<String> {
    let each = s.straws.iter().map(|b| {
        let spare = s.spare_for(b);
        let spare = spare.map_or_else(String::new, |x| format!(" and {} to spare", x.straws));
        format!("{} x {}{}{spare}", b.straws, b.bull, sexed(b))
    });
    let each: Vec<String> = each.collect();
    (!each.is_empty()).then(|| format!("straws: {}", each.join(", ")))
}

/// The first and the last of some cows.
pub(super) fn span(first: Moment, last: Moment, day: OnDay, between: &str) -> String {
    let (first, last) = first_and_last(first, last);
    format!("{}{between}{}", begins(first, day), ends(last, day))
}

/// `BREED 40 head`; of a session that breeds no cow, why it is listed all the same.
pub(super) fn bred_words(s: &Session) -> String {
    let due: u32 = s.pens.iter().map(|p| p.head).sum();
    match (s.head, due) {
        (0, 0) => "No cows to breed".to_owned(),
        (0, _) => format!("NOT BRED: none of {due} head"),
        (head, _) if s.is_by_heat() => format!("BREED about {head} head"),
        (head, _) => format!("BREED {head} head"),
    }
}
