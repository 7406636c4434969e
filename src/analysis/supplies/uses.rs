//! What each pass of a plan uses, day by day.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use crate::planning::plan::{Pass, Plan, Work};
use crate::trade::protocol::Action;
use crate::trade::protocol::dose::Drug;
use crate::trade::season::supplies::HEAD_A_NEEDLE;
use crate::trade::season::{Kind, Supplies};

/// What a pass uses of one kind on one day.
#[derive(Clone, Copy, Debug)]
pub(super) struct Use<'a> {
    pub(super) kind: Kind,
    pub(super) day: NaiveDate,
    pub(super) pass: &'a Pass,
    pub(super) head: u32,
    /// Doses, head-days or pieces.
    pub(super) amount: f64,
}

impl<'a> Use<'a> {
    /// Of all animals of a pass.
    const fn of(pass: &'a Pass, day: NaiveDate, kind: Kind, amount: f64) -> Self {
        Self {
            kind,
            day,
            pass,
            head: pass.head,
            amount,
        }
    }
}

/// Where a drug is listed.
pub(super) const fn kind_of(drug: Drug) -> Kind {
    match drug {
        Drug::Gnrh => Kind::Gnrh,
        Drug::Pg => Kind::Pg,
        Drug::Insert => Kind::Insert,
        Drug::Mga => Kind::Mga,
        Drug::Estradiol => Kind::Estradiol,
    }
}

/// The drug of a kind.
pub(super) fn drug_of(kind: Kind) -> Option<Drug> {
    Drug::ALL.iter().copied().find(|d| kind_of(*d) == kind)
}

/// The day on which the cows of each breeding pass begin to be bred, by its session.
pub(super) fn breeding_days(plan: &Plan) -> BTreeMap<&str, NaiveDate> {
    let sessions = plan.sessions.iter().flat_map(|s| {
        let day = s.begins().date_naive();
        s.pens.iter().map(move |p| (p.pass.as_str(), day))
    });
    sessions.collect()
}

/// All uses, in the order of the plan's passes; each day of a feeding is one.
pub(super) fn uses<'a>(plan: &'a Plan, stated: &Supplies) -> Vec<Use<'a>> {
    let sessions = breeding_days(plan);
    // No animal takes two straws: where nobody knows who is in heat, both breedings are planned
    // for all.
    let mut unbred: BTreeMap<&str, u32> = plan
        .groups
        .iter()
        .map(|g| (g.id.as_str(), g.pen_head.iter().sum()))
        .collect();
    let mut bred: BTreeMap<&str, u32> = BTreeMap::new();
    let mut all = Vec::new();
    let mut kits = Kits::default();
    for pass in &plan.passes {
        let day = sessions.get(pass.id.as_str());
        let day = day.copied().unwrap_or(pass.start.date_naive());
        match pass.work {
            Work::Chute | Work::Breeding => {
                treated(pass, day, stated, &mut all);
                kits.inserting(pass, day, &mut all);
            }
            Work::Feeding => {
                let (Some(first), Some(last)) = (pass.first_day, pass.last_day) else {
                    continue;
                };
                for day in first.iter_days().take_while(|d| *d <= last) {
                    all.push(Use::of(pass, day, Kind::Mga, f64::from(pass.head)));
                }
            }
            Work::HeatWatch => {}
        }
        if pass.work == Work::Breeding {
            let left = unbred.entry(&pass.group).or_default();
            let head = pass.head.min(*left);
            *left -= head;
            *bred.entry(&pass.group).or_default() += head;
            inseminated(pass, day, head, stated, &mut all);
        }
    }
    unplanned(plan, &bred, stated, &mut all);
    all
}

/// Of groups whose daily number in heat nobody knows: what is set aside for them and not bred in a
/// planned session, from the first day of the watch.
fn unplanned<'a>(
    plan: &'a Plan,
    bred: &BTreeMap<&str, u32>,
    stated: &Supplies,
    all: &mut Vec<Use<'a>>,
) {
    for group in &plan.groups {
        let of = |p: &&Pass| p.group == group.id;
        let dated = |step: &str| {
            let mut passes = plan.passes.iter().filter(of);
            passes.any(|p| p.work == Work::Breeding && p.step == step)
        };
        let watch = plan.passes.iter().filter(of).find(|p| {
            p.work == Work::HeatWatch && p.actions.iter().any(|a| a.breeds()) && !dated(&p.step)
        });
        let aside: u32 = group.straws.iter().map(|s| s.straws).sum();
        let head = aside.saturating_sub(bred.get(group.id.as_str()).copied().unwrap_or(0));
        if let Some((watch, day)) = watch.and_then(|w| Some((w, w.first_day?)))
            && group.heat.is_none()
            && head > 0
        {
            inseminated(watch, day, head, stated, all);
        }
    }
}

/// Where applicators were brought, and disinfectant was mixed.
#[derive(Default)]
struct Kits<'a> {
    sites: BTreeSet<&'a str>,
    days: BTreeSet<(&'a str, NaiveDate)>,
}

impl<'a> Kits<'a> {
    /// Two applicators for each site, and a batch of disinfectant for each of its days.
    fn inserting(&mut self, pass: &'a Pass, day: NaiveDate, all: &mut Vec<Use<'a>>) {
        if !pass.actions.contains(&Action::InsertIn) {
            return;
        }
        let site = pass.site.as_str();
        if self.sites.insert(site) {
            all.push(Use::of(pass, day, Kind::Applicator, 2.0));
        }
        if self.days.insert((site, day)) {
            all.push(Use::of(pass, day, Kind::Disinfectant, 1.0));
        }
    }
}

/// Drugs, patches, and the needles and syringes of the injections.
fn treated<'a>(pass: &'a Pass, day: NaiveDate, stated: &Supplies, all: &mut Vec<Use<'a>>) {
    let mut add = |kind: Kind, amount: f64| all.push(Use::of(pass, day, kind, amount));
    let head = f64::from(pass.head);
    let mut injections = 0;
    for action in pass.actions.iter().copied() {
        if let Some((drug, doses)) = Drug::given_by(action) {
            add(kind_of(drug), head * f64::from(doses));
            injections += u32::from(!matches!(drug, Drug::Insert | Drug::Mga));
        }
        if action == Action::PatchOn {
            add(Kind::Patch, head);
        }
    }
    // Each drug has a syringe and a needle of its own, and each pass begins with new ones.
    let each = |n: u32| f64::from(injections * pass.head.div_ceil(n.max(1)));
    if injections > 0 {
        let of = |kind: Kind| stated.stated.get(&kind).and_then(|s| s.head_each);
        add(
            Kind::Needle,
            each(of(Kind::Needle).unwrap_or(HEAD_A_NEEDLE)),
        );
        if let Some(n) = of(Kind::Syringe) {
            add(Kind::Syringe, each(n));
        }
    }
}

fn inseminated<'a>(
    pass: &'a Pass,
    day: NaiveDate,
    head: u32,
    stated: &Supplies,
    all: &mut Vec<Use<'a>>,
) {
    if head == 0 {
        return;
    }
    for kind in [Kind::Sheath, Kind::Glove, Kind::Towel] {
        let a_head = stated.stated.get(&kind).and_then(|s| s.a_head);
        all.push(Use {
            kind,
            day,
            pass,
            head,
            amount: f64::from(head) * a_head.unwrap_or(1.0),
        });
    }
}

/// The day of an order, where days to delivery are stated.
pub(super) fn order_by(first_use: NaiveDate, lead_days: u32) -> Option<NaiveDate> {
    let lead = chrono::Days::new(u64::from(lead_days));
    (lead_days > 0).then(|| first_use.checked_sub_days(lead))?
}
