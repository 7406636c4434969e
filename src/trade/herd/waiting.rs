//! Which animals of a group's herd wait, and which pen the plan counts without them.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::readiness::{Course, Readiness, judge};
use super::{Animal, Herd, same_id};
use crate::base::error::{Code, Finding, quoted};
use crate::base::time::human_date;
use crate::base::units::Head;
use crate::trade::protocol::Class;
use crate::trade::season::{Group, HerdFile, Overrule, ReadyRules, Waiting};

/// Ids that a sentence names at the most.
const NAMED: usize = 8;

/// The user's words on animals, by id.
struct Words(BTreeMap<String, Overrule>);

impl Words {
    fn of(named: &HerdFile) -> Self {
        let words = named.overrule.iter();
        Self(words.map(|(id, word)| (same_id(id), *word)).collect())
    }

    fn on(&self, animal: &Animal) -> Option<Overrule> {
        ids(animal).find_map(|id| self.0.get(&id).copied())
    }
}

/// Her id, and the one beside it.
fn ids(animal: &Animal) -> impl Iterator<Item = String> + '_ {
    let ids = [Some(&animal.id), animal.other_id.as_ref()];
    ids.into_iter().flatten().map(|id| same_id(id))
}

/// Words on animals that the herd does not have.
#[must_use]
pub fn unknown(named: &HerdFile, herd: &Herd) -> Vec<Finding> {
    if named.overrule.is_empty() {
        return Vec::new();
    }
    let known: BTreeSet<String> = herd.animals.iter().flat_map(ids).collect();
    let unknown = named
        .overrule
        .keys()
        .filter(|id| !known.contains(&same_id(id)));
    unknown
        .map(|id| {
            let what = format!(
                "`overrule` names {}, who is not in the herd file",
                quoted(id)
            );
            Finding::warning(Code::OverruleUnknown, what)
                .at(named.place.clone())
                .expected("tags or electronic ids of the group's herd file")
                .hint("correct the tag, or take the line out")
        })
        .collect()
}

/// A group that may take animals of another.
pub struct Start {
    id: String,
    class: Class,
    day: NaiveDate,
}

impl Start {
    /// Of a group.
    #[must_use]
    pub fn of(group: &Group) -> Self {
        Self {
            id: group.id.as_str().to_owned(),
            class: group.class,
            day: group.start.date(),
        }
    }
}

/// Takes the animals that wait out of the pens of a group: who is not ready on its first day, or waits by the user's
/// word. Who cannot be judged goes ahead, and so do all where fewer would than there are pens. What is to say of it names
/// animals if `named_ids`, and a group of `others` that starts late enough.
pub fn leave_out(
    group: &mut Group,
    herd: &Herd,
    rules: &ReadyRules,
    others: &[Start],
    named_ids: bool,
) -> Option<Finding> {
    let named = group.herd.clone()?;
    let words = Words::of(&named);
    let course = Course::from_start(&group.protocol, group.start);
    let mut why: BTreeMap<String, Vec<&Animal>> = BTreeMap::new();
    let (mut waiting, mut from) = (Vec::new(), Some(group.start.date()));
    for (nth, animal) in herd.animals.iter().enumerate() {
        let judged = judge(animal, group.class, &course, rules);
        let waits = matches!(judged.answer, Readiness::Wait | Readiness::NotNow);
        let word = words.on(animal);
        if !word.map_or(waits, |w| w == Overrule::Wait) {
            continue;
        }
        let reason = judged.reasons.first().filter(|_| word.is_none());
        let reason = reason.map_or("by your word".to_owned(), |r| r.words(rules));
        why.entry(reason).or_default().push(animal);
        let day = judged.ready_from.filter(|_| word.is_none());
        from = from.zip(day).map(|(a, b)| a.max(b));
        waiting.push((nth, animal.pen));
    }
    if waiting.is_empty() {
        return None;
    }
    let all = group.head().0;
    let name = quoted(group.id.as_str());
    let why: Vec<String> = why
        .iter()
        .map(|(reason, who)| told(reason, who, named_ids))
        .collect();
    let why = why.join("; ");
    let day = from.map(|d| format!(" from {}", human_date(d)));
    let day = day.unwrap_or_default();
    let Some(left) = taken(&group.pens, &waiting) else {
        let ready = all.saturating_sub(waiting.len() as u32);
        let what = format!(
            "{ready} of {all} head of {name} are ready at its start, fewer than its pens, and all are planned: {why}"
        );
        return Some(
            Finding::warning(Code::AnimalsWait, what)
                .at(named.place)
                .expected("animals that are ready on the first day")
                .hint(format!("start later{day}; `thawline herd` lists them")),
        );
    };
    let what = format!(
        "{} of {all} head of {name} wait, and the plan counts {}: {why}",
        waiting.len(),
        all - waiting.len() as u32
    );
    let takes = |g: &&Start| {
        let late = from.is_some_and(|d| g.day >= d);
        late && g.id != group.id.as_str() && g.class == group.class
    };
    let join = others.iter().find(takes);
    let join = join.map(|g| format!("; {} starts late enough for them", quoted(&g.id)));
    let hint = format!(
        "they can start{}{}; `thawline herd` lists them; `overrule: {{TAG: ready}}` lets one go ahead",
        if day.is_empty() { " later" } else { &day },
        join.unwrap_or_default()
    );
    (group.pens, group.waiting) = left;
    Some(
        Finding::note(Code::AnimalsWait, what)
            .at(named.place)
            .expected("animals that are ready on the first day")
            .hint(hint),
    )
}

/// `4: fewer than 45 days from calving at breeding (B1, B2, B3, B4)`.
fn told(reason: &str, who: &[&Animal], named_ids: bool) -> String {
    let count = who.len();
    if !named_ids {
        return format!("{count}: {reason}");
    }
    let ids: Vec<String> = who.iter().take(NAMED).map(|a| quoted(&a.id)).collect();
    let more = match count - ids.len() {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    format!("{count}: {reason} ({}{more})", ids.join(", "))
}

/// The pens without those that wait: each from her own, or from the largest where that is not known or would
/// be empty. Nothing if a pen would be left without any.
fn taken(pens: &[Head], waiting: &[(usize, Option<u32>)]) -> Option<(Vec<Head>, Vec<Waiting>)> {
    let mut left = pens.to_vec();
    let mut out = Vec::new();
    for (nth, own) in waiting {
        let own = own.and_then(|n| (n as usize).checked_sub(1));
        let own = own.filter(|n| left.get(*n).is_some_and(|h| h.0 > 1));
        let largest = || (0..left.len()).rev().max_by_key(|n| left[*n].0);
        let pen = own.or_else(largest).filter(|n| left[*n].0 > 1)?;
        left[pen].0 -= 1;
        out.push(Waiting { nth: *nth, pen });
    }
    Some((left, out))
}

impl Herd {
    /// Without those that wait. Places in the order of a pen close up behind them.
    #[must_use]
    pub fn without(mut self, waiting: &[Waiting]) -> Self {
        let waiting: BTreeSet<usize> = waiting.iter().map(|w| w.nth).collect();
        let mut gone: BTreeMap<Option<u32>, Vec<u32>> = BTreeMap::new();
        for n in &waiting {
            let animal = &self.animals[*n];
            gone.entry(animal.pen)
                .or_default()
                .extend(animal.chute_order);
            self.waiting.push(animal.id.clone());
        }
        for places in gone.values_mut() {
            places.sort_unstable();
        }
        let mut nth = 0..;
        self.animals
            .retain(|_| nth.next().is_some_and(|n| !waiting.contains(&n)));
        for animal in &mut self.animals {
            if let (Some(at), Some(gone)) = (&mut animal.chute_order, gone.get(&animal.pen)) {
                *at -= gone.partition_point(|place| *place < *at) as u32;
            }
        }
        self
    }
}
