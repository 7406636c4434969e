//! What each pass takes, group by group by the steps of its protocol.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{close, close_if, first_cow, who};
use crate::oracle::Reading;
use thawline::plan::{Pass, Work};
use thawline::protocol::Action;
use thawline::season::{Group, Kind};
use thawline::supplies::{Item, PassUse};

/// Head that a needle serves unless the season says: at least every 10 to 15 (UI-BUL923).
const HEAD_A_NEEDLE: u32 = 10;

/// What a pass takes on a day.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Taken {
    /// Its place in the plan; the watch of animals of whom nobody knows the day comes last.
    place: usize,
    pass: String,
    group: String,
    pen: Option<u32>,
    head: u32,
    amount: f64,
}

/// By kind and day.
#[derive(Default)]
pub(super) struct Own(BTreeMap<Kind, BTreeMap<NaiveDate, Vec<Taken>>>);

impl Own {
    /// True if something of it is used; syringes stand on the list wherever there are needles.
    pub(super) fn lists(&self, kind: Kind) -> bool {
        let used = |k: Kind| self.0.contains_key(&k);
        used(kind) || (kind == Kind::Syringe && used(Kind::Needle))
    }

    fn add(&mut self, kind: Kind, day: NaiveDate, head: u32, amount: f64, of: &Of<'_>) {
        let several = of.group.pens.len() > 1;
        let taken = Taken {
            place: of.place,
            pass: of.pass.id.clone(),
            group: of.pass.group.clone(),
            pen: of.pass.pen.filter(|_| several),
            head,
            amount,
        };
        let days = self.0.entry(kind).or_default();
        days.entry(day).or_default().push(taken);
    }
}

/// A pass with its group.
struct Of<'a> {
    place: usize,
    group: &'a Group,
    pass: &'a Pass,
}

/// All of it.
pub(super) fn count(r: &Reading<'_>) -> Own {
    let mut own = Own::default();
    for group in &r.season.groups {
        let id = group.id.as_str();
        let of_group: Vec<Of<'_>> = (0..)
            .zip(&r.plan.passes)
            .filter(|(_, p)| p.group == id)
            .map(|(place, pass)| Of { place, group, pass })
            .collect();
        let mut bred = 0;
        for of in &of_group {
            match of.pass.work {
                Work::Feeding => fed(of, &mut own),
                Work::Chute | Work::Breeding => treated(r, of, &mut own),
                Work::HeatWatch => {}
            }
            if of.pass.work == Work::Breeding {
                // No animal takes two straws, however often she is planned.
                let before = bred;
                bred = (bred + of.pass.head).min(group.head().0);
                inseminated(r, of, day_of(r, of.pass), bred - before, &mut own);
            }
        }
        in_heat_some_day(r, group, &of_group, bred, &mut own);
    }
    applicators(r, &mut own);
    for taken in own.0.values_mut().flat_map(BTreeMap::values_mut) {
        taken.sort_by_key(|t| t.place);
    }
    own
}

fn steps<'a>(of: &Of<'a>) -> impl Iterator<Item = Action> + 'a {
    let (group, pass) = (of.group, of.pass);
    let all = group.protocol.steps.iter();
    all.filter(|s| s.id.as_str() == pass.step)
        .flat_map(|s| s.actions.iter().copied())
}

/// The day of a pass: of its session's first cow, where it has one.
fn day_of(r: &Reading<'_>, pass: &Pass) -> NaiveDate {
    let mut sessions = r.plan.sessions.iter();
    let session = sessions.find(|s| s.pens.iter().any(|p| p.pass == pass.id));
    session.map_or(pass.start.date_naive(), first_cow)
}

fn fed(of: &Of<'_>, own: &mut Own) {
    let (Some(mut day), Some(last)) = (of.pass.first_day, of.pass.last_day) else {
        return;
    };
    while day <= last {
        let head = of.pass.head;
        own.add(Kind::Mga, day, head, f64::from(head), of);
        let Some(next) = day.succ_opt() else { return };
        day = next;
    }
}

fn treated(r: &Reading<'_>, of: &Of<'_>, own: &mut Own) {
    let (day, head) = (day_of(r, of.pass), of.pass.head);
    let mut needles = 0;
    for action in steps(of) {
        let (kind, each) = match action {
            Action::Gnrh => (Kind::Gnrh, 1),
            Action::Pg => (Kind::Pg, 1),
            Action::PgDouble => (Kind::Pg, 2),
            Action::Estradiol => (Kind::Estradiol, 1),
            Action::InsertIn => (Kind::Insert, 1),
            Action::PatchOn => (Kind::Patch, 1),
            _ => continue,
        };
        own.add(kind, day, head, f64::from(each * head), of);
        needles += u32::from(!matches!(kind, Kind::Insert | Kind::Patch));
    }
    let stated = |kind| r.season.supplies.stated.get(&kind)?.head_each;
    let all = [
        (Kind::Needle, stated(Kind::Needle).or(Some(HEAD_A_NEEDLE))),
        (Kind::Syringe, stated(Kind::Syringe)),
    ];
    for (kind, each) in all {
        if let Some(each) = each.filter(|_| needles > 0) {
            // One for the first head, a new one after each so many.
            let of_drug = (0..head).filter(|n| n % each == 0).count();
            own.add(kind, day, head, of_drug as f64 * f64::from(needles), of);
        }
    }
}

fn inseminated(r: &Reading<'_>, of: &Of<'_>, day: NaiveDate, head: u32, own: &mut Own) {
    for kind in [Kind::Sheath, Kind::Glove, Kind::Towel] {
        let stated = r.season.supplies.stated.get(&kind);
        let each = stated.and_then(|s| s.a_head).unwrap_or(1.0);
        if head > 0 {
            own.add(kind, day, head, each * f64::from(head), of);
        }
    }
}

/// Where inserts go in: two applicators at a site's first pass, disinfectant at the first of a day.
fn applicators(r: &Reading<'_>, own: &mut Own) {
    let mut before: Vec<(&str, NaiveDate)> = Vec::new();
    for (place, pass) in (0..).zip(&r.plan.passes) {
        let mut groups = r.season.groups.iter();
        let Some(group) = groups.find(|g| g.id.as_str() == pass.group) else {
            continue;
        };
        let of = Of { place, group, pass };
        if !steps(&of).any(|a| a == Action::InsertIn) {
            continue;
        }
        let (site, day) = (pass.site.as_str(), day_of(r, pass));
        if !before.iter().any(|(s, _)| *s == site) {
            own.add(Kind::Applicator, day, pass.head, 2.0, &of);
        }
        if !before.contains(&(site, day)) {
            own.add(Kind::Disinfectant, day, pass.head, 1.0, &of);
        }
        before.push((site, day));
    }
}

/// Of a group whose days nobody knows: who has a straw set aside and no day, on the first day of
/// the watch.
fn in_heat_some_day(r: &Reading<'_>, group: &Group, all: &[Of<'_>], bred: u32, own: &mut Own) {
    let Some(planned) = r.plan.groups.iter().find(|g| g.id == group.id.as_str()) else {
        return;
    };
    let breeds = |a: Action| {
        let ways = [
            Action::Inseminate,
            Action::InseminateInHeat,
            Action::InseminateRest,
        ];
        ways.contains(&a)
    };
    let dated = |of: &Of<'_>| {
        let mut same = all.iter().filter(|o| o.pass.step == of.pass.step);
        same.any(|o| o.pass.work == Work::Breeding)
    };
    let watch = all
        .iter()
        .find(|of| of.pass.work == Work::HeatWatch && steps(of).any(breeds) && !dated(of));
    let aside: u32 = planned.straws.iter().map(|s| s.straws).sum();
    if let Some(of) = watch
        && let Some(day) = of.pass.first_day
        && planned.heat.is_none()
    {
        let last = Of {
            place: usize::MAX,
            ..*of
        };
        inseminated(r, &last, day, aside.saturating_sub(bred), own);
    }
}

/// Days and passes of an item, and their sums.
pub(super) fn check(r: &mut Reading<'_>, kind: Kind, own: &Own, item: &Item) {
    let who = who(item);
    let none = BTreeMap::new();
    let days = own.0.get(&kind).unwrap_or(&none);
    let dates: Vec<NaiveDate> = days.keys().copied().collect();
    let told: Vec<NaiveDate> = item.days.iter().map(|d| d.date).collect();
    r.same(&who, &dates, &told);
    let mut all = 0.0;
    for ((date, taken), day) in days.iter().zip(&item.days) {
        let who = format!("{who}, {date}");
        let sum: f64 = taken.iter().map(|t| t.amount).sum();
        close(r, &who, sum, day.amount);
        all += sum;
        let mine = |t: &Taken| (t.pass.clone(), t.group.clone(), t.pen, t.head);
        let theirs = |p: &PassUse| (p.pass.clone(), p.group.clone(), p.pen, p.head);
        let right: Vec<_> = taken.iter().map(mine).collect();
        let listed: Vec<_> = day.passes.iter().map(theirs).collect();
        r.same(&who, &right, &listed);
        for (t, p) in taken.iter().zip(&day.passes) {
            close(r, &who, t.amount, p.amount);
        }
    }
    close_if(r, &who, (!days.is_empty()).then_some(all), item.amount);
}
