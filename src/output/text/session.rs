//! A session, with every pen, technician and straw.

use super::item::{bred_words, span};
use crate::base::units::count;
use crate::output::document::{Block, Term, words};
use crate::output::times::{begins, ends, on_day};
use crate::output::{order_words, spare_words};
use crate::planning::plan::{AtSession, DuePen, Moment, Plan, Session};

pub(super) fn whole(plan: &Plan, s: &Session) -> Term {
    let day = s.first_cow.unwrap_or(s.open);
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

fn due(plan: &Plan, pen: &DuePen, day: Moment) -> String {
    let day = on_day(plan.units.clock, day.date_naive());
    let head = if pen.bred_head < pen.head {
        format!(
            "{} of {} head, {} NOT BRED",
            pen.bred_head,
            pen.head,
            pen.head - pen.bred_head
        )
    } else {
        pen.head_words()
    };
    let order = pen.seen_words();
    let order = order.unwrap_or_else(|| order_words(pen.order).to_owned());
    let hours = if pen.hours.earliest <= pen.hours.latest {
        let (from, to) = (begins(pen.hours.earliest, day), ends(pen.hours.latest, day));
        format!("{from} to {to}")
    } else {
        "no time suits every animal".to_owned()
    };
    format!(
        "{}: {head}, {}, {hours} ({}; {order})",
        plan.group_pen(&pen.group, pen.pen),
        pen.what,
        pen.hours.window,
    )
}

fn breeds(plan: &Plan, t: &AtSession, day: Moment) -> String {
    let day = on_day(plan.units.clock, day.date_naive());
    let leaves = t.leaves.as_ref().map_or_else(String::new, |l| {
        let far = plan.drive_words(l);
        let from = plan.site_name(&l.site);
        format!("leave {from} by {}{far}, ", ends(l.by, day))
    });
    format!(
        "{}: {} head, {leaves}first straws in the bath {}, cows {}, {} at once",
        plan.technician_name(&t.id),
        t.head,
        ends(t.begins, day),
        span(t.first_cow, t.last_cow, day, " to "),
        count(t.straws_at_once, "straw", "straws")
    )
}

fn straws(s: &Session) -> Option<String> {
    let each = s.straws.iter().map(|b| {
        let spare = s.spare_for(b);
        let spare = spare.map_or_else(String::new, |x| format!(" and {} to spare", x.straws));
        format!(
            "{} x {}{}{spare}",
            b.straws,
            b.bull,
            crate::output::sexed(b)
        )
    });
    let each: Vec<String> = each.collect();
    (!each.is_empty()).then(|| format!("straws: {}", each.join(", ")))
}
