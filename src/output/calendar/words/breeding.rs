//! Words for sessions, and for one technician's part in one.

use super::{DRUGS, Words, capital, cautions, is_drug, protocol, said, short};
use crate::base::units::count;
use crate::output::times::first_and_last;
use crate::output::{ranges, sexed, spare_words};
use crate::planning::plan::{AtSession, DuePen, Pass, Session, Uncovered};
use crate::trade::season::Order;

impl Words<'_> {
    /// `Breed 80 head: Mature cows`, with the shortfall first.
    pub(in super::super) fn session_summary(&self, s: &Session) -> String {
        let due: u32 = s.pens.iter().map(|p| p.head).sum();
        let groups = self.groups(&all(s));
        if s.head == 0 {
            format!("NOT BRED: {groups}, {due} head")
        } else if s.head < due {
            format!(
                "Breed {} of {due} head, {} NOT BRED: {groups}",
                s.head,
                due - s.head
            )
        } else {
            let about = if s.is_by_heat() { "about " } else { "" };
            format!("Breed {about}{due} head: {groups}")
        }
    }

    /// The description of a session.
    pub(in super::super) fn session(&self, s: &Session) -> String {
        let site = self.plan.site_name(&s.site);
        let mut lines = vec![format!("Breeding at {site}: {} head", s.head)];
        let short = self.short_of(s);
        if s.head == 0 {
            lines.push(format!(
                "NOT BRED: no cow can be bred; the AI window is {}.",
                self.range(s.open, s.close)
            ));
        }
        lines.extend(short.iter().map(|u| self.uncovered(u)));
        lines.extend(self.dues(&all(s)));
        lines.extend(s.technicians.iter().map(|t| {
            let who = self.plan.technician_name(&t.id);
            let (times, at_once) = (self.work_times(t), at_once(t));
            format!("{who}: {} head; first {times}; {at_once}", t.head)
        }));
        lines.extend(self.straws(s));
        if s.head > 0 && short.is_empty() {
            lines.push(format!("Spare: {}; {}", spare_words(s), s.binding_words));
        }
        lines.extend(self.rest(s));
        lines.join("\n")
    }

    /// `Breed 36 head: Lower Creek barn, First-calf cows`.
    pub(in super::super) fn turn_summary(&self, s: &Session, t: &AtSession) -> String {
        let about = if s.is_by_heat() { "about " } else { "" };
        let site = short(self.plan.site_name(&s.site));
        let groups = self.groups(&bred_by(s, t));
        format!("Breed {about}{} head: {site}, {groups}", t.head)
    }

    /// The description of a technician's part in a session.
    pub(in super::super) fn turn(&self, s: &Session, t: &AtSession) -> String {
        let who = self.plan.technician_name(&t.id);
        let site = self.plan.site_name(&s.site);
        let mut lines = vec![
            format!("{who} at {site}: {} head", t.head),
            format!("First {}", self.work_times(t)),
            capital(&at_once(t)),
        ];
        lines.extend(t.leaves.as_ref().map(|l| {
            let from = self.plan.site_name(&l.site);
            let (by, drive) = (self.clock(l.by), self.plan.drive_words(l));
            format!("Leave {from} by {by}{drive}")
        }));
        let mine = || s.slots.iter().filter(|l| l.technician == t.id);
        let placed = mine().any(|l| !l.animals.is_empty());
        lines.push(if placed {
            "By slot (animals by their place in the order of the last treatment):".to_owned()
        } else {
            "By slot:".to_owned()
        });
        for slot in mine() {
            let animals = match slot.animals.as_slice() {
                [] => String::new(),
                some => format!(", {}", animals(some)),
            };
            let (start, pen) = (
                self.clock(slot.start),
                self.pen_short(&slot.group, slot.pen),
            );
            lines.push(format!("{start} {pen}: {} head{animals}", slot.head));
        }
        let others = s.technicians.iter().filter(|o| o.id != t.id);
        let others = others.map(|o| {
            let name = self.plan.technician_name(&o.id);
            let (from, to) = (self.clock(o.begins), self.clock(o.last_cow));
            format!("{name} ({} head, {from} to {to})", o.head)
        });
        let others: Vec<String> = others.collect();
        lines.push(if others.is_empty() {
            "Nobody else is there to breed.".to_owned()
        } else {
            format!("Also there: {}", others.join("; "))
        });
        lines.extend(self.dues(&bred_by(s, t)));
        lines.extend(self.straws(s));
        lines.extend(self.rest(s));
        lines.join("\n")
    }

    /// The names of the pens' groups, each once.
    fn groups(&self, pens: &[&DuePen]) -> String {
        let ids = group_ids(pens).into_iter();
        let names: Vec<String> = ids.map(|g| short(self.group_name(g))).collect();
        names.join(" + ")
    }

    /// Lines for pens that are due, then for their groups.
    fn dues(&self, pens: &[&DuePen]) -> Vec<String> {
        let mut lines: Vec<String> = pens.iter().flat_map(|p| self.due(p)).collect();
        for group in group_ids(pens).into_iter().filter_map(|id| self.group(id)) {
            lines.push(protocol(group));
            lines.extend(said(group));
        }
        lines
    }

    /// Lines for a pen that is due.
    fn due(&self, p: &DuePen) -> Vec<String> {
        let order = match p.seen_words() {
            Some(seen) => seen,
            None if p.order == Order::Kept => {
                "in the order of the last treatment, each in her own AI window".to_owned()
            }
            None => "in any order".to_owned(),
        };
        let bred = if p.bred_head == p.head {
            p.head_words()
        } else {
            format!("{} of {}", p.bred_head, p.head_words())
        };
        let pass = self.plan.passes.iter().find(|x| x.id == p.pass);
        let (hours, from) = (
            self.hours(&p.hours),
            self.range(p.counted_from, p.counted_to),
        );
        let mut lines = vec![
            format!("{}: {bred}, {}, {order}", self.pen(&p.group, p.pen), p.what),
            format!("AI window: {hours}, counted from {from}"),
        ];
        let note = pass.and_then(|x| x.note.as_ref());
        lines.extend(note.map(|n| format!("Note: {n}")));
        let clock = pass.and_then(|x| x.clock.as_ref());
        lines.extend(clock.map(|c| format!("Clock: {c}.")));
        lines
    }

    fn straws(&self, s: &Session) -> Option<String> {
        let bulls = s.straws.iter().map(|b| {
            let bull = self.plan.bulls.iter().find(|x| x.id == b.bull);
            let bull = bull.map_or(&b.bull, |x| &x.name);
            format!("{} {bull}{}", b.straws, sexed(b))
        });
        let bulls: Vec<String> = bulls.collect();
        let bulls = (!bulls.is_empty()).then(|| bulls.join(", "));
        bulls.map(|bulls| format!("Straws to bring for the whole session: {bulls}"))
    }

    fn short_of(&self, s: &Session) -> Vec<&Uncovered> {
        let all = self.plan.uncovered.iter();
        all.filter(|u| u.session == s.id).collect()
    }

    /// When the first straws are in the bath, and the first and the last cow bred.
    fn work_times(&self, t: &AtSession) -> String {
        let (first, last) = first_and_last(t.first_cow, t.last_cow);
        let (bath, first, last) = (self.clock(t.begins), self.begins(first), self.clock(last));
        format!("straws into the bath {bath}, first cow {first}, last cow {last}")
    }

    fn uncovered(&self, u: &Uncovered) -> String {
        let which = match u.animals.as_slice() {
            [] => String::new(),
            some => format!(" ({})", animals(some)),
        };
        let (pen, why) = (self.pen(&u.group, u.pen), u.why.join("; "));
        format!("NOT BRED: {} head of {pen}{which}: {why}", u.head)
    }

    /// Drugs and cautions.
    fn rest(&self, s: &Session) -> Vec<String> {
        let mine = |x: &&Pass| s.pens.iter().any(|p| p.pass == x.id);
        let passes = self.plan.passes.iter().filter(mine);
        let mut actions = passes.flat_map(|x| &x.actions);
        let drug = actions.any(|a| is_drug(*a)).then(|| DRUGS.to_owned());
        drug.into_iter().chain(cautions(&s.cautions)).collect()
    }
}

/// Every pen of a session.
fn all(s: &Session) -> Vec<&DuePen> {
    s.pens.iter().collect()
}

/// The pens of a session that a technician breeds from.
fn bred_by<'a>(s: &'a Session, t: &AtSession) -> Vec<&'a DuePen> {
    let mine = |p: &&DuePen| {
        s.slots
            .iter()
            .any(|l| l.technician == t.id && l.pass == p.pass)
    };
    s.pens.iter().filter(mine).collect()
}

/// The groups of pens, each once, in order.
fn group_ids<'a>(pens: &[&'a DuePen]) -> Vec<&'a str> {
    let mut ids: Vec<&str> = Vec::new();
    for p in pens {
        if !ids.contains(&p.group.as_str()) {
            ids.push(&p.group);
        }
    }
    ids
}

fn at_once(t: &AtSession) -> String {
    count(t.straws_at_once, "straw", "straws") + " in the bath at once"
}

/// `animals 1 to 5, 9`.
fn animals(numbers: &[u32]) -> String {
    let word = if numbers.len() == 1 {
        "animal"
    } else {
        "animals"
    };
    format!("{word} {}", ranges(numbers, " to "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_animals() {
        assert_eq!(animals(&[7]), "animal 7");
        assert_eq!(animals(&[1, 2, 3, 5, 8, 9]), "animals 1 to 3, 5, 8 to 9");
    }
}
