//! What to have at hand for a season, and when: an order list from a finished plan.
//!
//! [`of_plan`] counts what each pass uses (`uses`), day by day; volumes follow from label doses
//! ([`crate::trade::protocol::dose`]) or from the user's own product; packages are chosen with the fewest
//! leftovers ([`packages`]). Straws are the plan's, liquid nitrogen is [`crate::analysis::tank`]'s.

mod answer;
mod nitrogen;
pub mod packages;
mod straws;
mod uses;
pub mod words;

pub use answer::{
    BullNeed, DayUse, FORMAT, FeedDose, Fill, Item, LabelDose, Lacking, OnHand, OpenedOn,
    OrderList, PackageCount, PassUse, Purchase, StrawDay, StrengthVolume, TankNitrogen, Volume,
};

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::base::error::Finding;
use crate::base::units::{LB_PER_KG, Units, Weight, hundredths};
use crate::planning::plan::{Plan, Remark};
use crate::trade::protocol::dose::{Drug, Form};
use crate::trade::season::supplies::Package;
use crate::trade::season::{Allowed, Kind, PackUnit, Season, Supply, published_ml};
use packages::{Aim, Choice, GRAIN, Need, Size};
use uses::{Use, drug_of};

/// The order list of a plan of this season.
#[must_use]
pub fn of_plan(season: &Season, plan: &Plan) -> OrderList {
    let uses = uses::uses(plan, &season.supplies);
    let mut items = Vec::new();
    for &kind in Kind::ALL {
        let mine: Vec<Use<'_>> = uses.iter().filter(|u| u.kind == kind).copied().collect();
        let counted = kind == Kind::Syringe && injects(&uses);
        if !mine.is_empty() || counted {
            items.push(item(season, plan, kind, &mine));
        }
    }
    let allocation = crate::analysis::tank::allocation::allocate(season, plan);
    let mut findings: Vec<Finding> = words::unstated(season, &items).into_iter().collect();
    findings.extend(words::unused(season, &items));
    let mut answer = OrderList {
        format: FORMAT.to_owned(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        season: season.name.clone(),
        zone: season.zone.name().to_owned(),
        currency: season.prices.as_ref().and_then(|p| p.currency.clone()),
        words: Vec::new(),
        on_hand: Vec::new(),
        straws: straws::bulls(season, plan),
        lacking_straws: straws::lacking(season, plan),
        nitrogen: nitrogen::tanks(season, plan, &allocation),
        price: price(&items),
        without_price: words::without_price(&items),
        items,
        findings: findings.iter().map(Remark::from).collect(),
    };
    answer.words = words::all(plan, &answer);
    answer.on_hand = words::on_hand(&answer);
    answer
}

fn injects(uses: &[Use<'_>]) -> bool {
    uses.iter().any(|u| u.kind == Kind::Needle)
}

fn price(items: &[Item]) -> Option<f64> {
    let bought = items.iter().filter_map(|i| i.buy.as_ref()?.price);
    let all: Vec<f64> = bought.collect();
    (!all.is_empty()).then(|| hundredths(all.iter().sum()))
}

fn item(season: &Season, plan: &Plan, kind: Kind, uses: &[Use<'_>]) -> Item {
    let stated = season.supplies.stated.get(&kind);
    let feed = (kind == Kind::Mga)
        .then(|| feed(stated, season.units))
        .flatten();
    let mut days: BTreeMap<NaiveDate, Vec<&Use<'_>>> = BTreeMap::new();
    for used in uses {
        days.entry(used.day).or_default().push(used);
    }
    let own_ml = stated.and_then(|s| s.ml_a_dose);
    let drug = drug_of(kind);
    let volumes = own_ml.map_or_else(|| drug.map(published_ml).unwrap_or_default(), |ml| vec![ml]);
    let day = |(date, uses): (&NaiveDate, &Vec<&Use<'_>>)| {
        let amount: f64 = uses.iter().map(|u| u.amount).sum();
        let times = |a_head: f64| hundredths(a_head * amount);
        let volumes = volumes.iter().map(|ml| Volume {
            ml_a_dose: *ml,
            ml: times(*ml),
        });
        DayUse {
            date: *date,
            amount: hundredths(amount),
            passes: uses.iter().map(|u| of_pass(plan, u)).collect(),
            volumes: volumes.collect(),
            mga_mg: feed.as_ref().map(|f| times(f.mg_a_head)),
            feed: (feed.as_ref()).map(|f| (times(f.a_head_least), times(f.a_head_most))),
        }
    };
    let days: Vec<DayUse> = days.iter().map(day).collect();
    let amount: f64 = uses.iter().map(|u| u.amount).sum();
    let amount = (!uses.is_empty()).then(|| hundredths(amount));
    let first_use = days.first().map(|d| d.date);
    let lead = stated.map_or(season.supplies.lead_days, |s| s.lead_days);
    let spoilage = stated.map_or(season.supplies.spoilage_percent, |s| s.spoilage_percent);
    let allowed = plan.groups.iter().flat_map(|g| &g.allowed);
    let allowed = allowed.filter(|a| Some(a.drug) == drug).map(Allowed::words);
    let mut basis: Vec<String> = allowed.take(1).collect();
    basis.extend(words::basis(kind, stated, feed.as_ref(), uses));
    let mut made = Item {
        item: kind.key().to_owned(),
        name: kind.words().to_owned(),
        own_name: stated.and_then(|s| s.name.clone()),
        unit: words::unit(kind).to_owned(),
        amount,
        basis,
        labels: labels(drug, amount.unwrap_or(0.0)),
        own_ml_a_dose: own_ml,
        feed,
        days,
        first_use,
        order_by: first_use.and_then(|d| uses::order_by(d, lead)),
        spoilage_percent: spoilage,
        opened_days: stated.and_then(|s| s.opened_days),
        to_cover: None,
        buy_unit: None,
        buy: None,
        cheaper: None,
    };
    bought(&mut made, kind, stated);
    made
}

fn of_pass(plan: &Plan, used: &Use<'_>) -> PassUse {
    let pens = plan.group(&used.pass.group).map_or(1, |g| g.pen_head.len());
    PassUse {
        pass: used.pass.id.clone(),
        group: used.pass.group.clone(),
        pen: used.pass.pen.filter(|_| pens > 1),
        head: used.head,
        amount: hundredths(used.amount),
    }
}

/// The label doses of a class, with the volume of all its doses.
fn labels(drug: Option<Drug>, doses: f64) -> Vec<LabelDose> {
    let labels = drug.into_iter().flat_map(Drug::labels);
    labels
        .map(|l| LabelDose {
            substance: l.substance.to_owned(),
            dose: l.unit.words(l.dose),
            source: l.source.to_owned(),
            strengths: match l.form {
                Form::Injected(products) => products
                    .iter()
                    .map(|p| {
                        let each = p.strength.volume(l.dose).0;
                        StrengthVolume {
                            in_each_ml: p.unit.words(p.strength.in_each_ml()),
                            ml_a_dose: each,
                            ml: hundredths(each * doses),
                            source: p.source.map(str::to_owned),
                        }
                    })
                    .collect(),
                _ => Vec::new(),
            },
        })
        .collect()
}

/// What a head gets of MGA: the label's dose, in as much feed as the season states or as follows
/// from its strength, else in that of the label.
fn feed(stated: Option<&Supply>, units: Units) -> Option<FeedDose> {
    let label = Drug::Mga.labels().next()?;
    let Form::Fed { pounds, .. } = label.form else {
        return None;
    };
    let dose = f64::from(label.dose.0) / 1000.0;
    let fed = stated.map(|s| s.feed).unwrap_or_default();
    // What is bought in packages is weighed as they are.
    let packed = stated.filter(|s| !s.packages.is_empty());
    let unit = match (packed, units.weight) {
        (Some(s), _) => s.unit,
        (None, Some(Weight::Kg)) => PackUnit::Kg,
        (None, Some(Weight::Lb)) => PackUnit::Lb,
        (None, None) => stated.map_or(PackUnit::Lb, |s| s.unit),
    };
    let in_unit = |lb: f64| match unit {
        PackUnit::Kg => lb / LB_PER_KG,
        _ => lb,
    };
    let lb = fed.lb_a_head.or(fed.mg_per_lb.map(|mg| dose / mg));
    let mg_per_lb = fed.mg_per_lb.or(fed.lb_a_head.map(|lb| dose / lb));
    Some(FeedDose {
        mg_a_head: dose,
        source: label.source.to_owned(),
        unit: unit.as_str().to_owned(),
        mg_in_each: mg_per_lb.map(|mg| mg / in_unit(1.0)),
        a_head_least: in_unit(lb.unwrap_or(pounds.0)),
        a_head_most: in_unit(lb.unwrap_or(pounds.1)),
    })
}

/// What one unit of the item is in the unit of its packages; `None` where that is not known.
fn in_packages(kind: Kind, item: &Item, unit: PackUnit) -> Option<f64> {
    match (kind, unit) {
        (Kind::Mga, _) => {
            let f = item.feed.as_ref()?;
            f.mg_in_each.map(|_| f.a_head_most)
        }
        (_, PackUnit::Ml) => item.own_ml_a_dose,
        _ => Some(1.0),
    }
}

/// What packages are counted in: MGA as its feed is weighed; bottles whose doses have no stated volume,
/// in doses.
fn buy_unit(kind: Kind, item: &Item, stated: Option<&Supply>) -> PackUnit {
    if let Some(feed) = &item.feed {
        return if feed.unit == PackUnit::Kg.as_str() {
            PackUnit::Kg
        } else {
            PackUnit::Lb
        };
    }
    match (kind, stated) {
        (_, Some(s)) if s.unit == PackUnit::Ml && s.ml_a_dose.is_none() => PackUnit::Doses,
        (_, Some(s)) => s.unit,
        (Kind::Mga, None) => PackUnit::Lb,
        (Kind::Gnrh | Kind::Pg | Kind::Estradiol, None) => PackUnit::Doses,
        (_, None) => PackUnit::Pieces,
    }
}

/// Adds what is to be covered, and the packages that do it.
fn bought(item: &mut Item, kind: Kind, stated: Option<&Supply>) {
    let unit = buy_unit(kind, item, stated);
    let Some(each) = in_packages(kind, item, unit) else {
        return;
    };
    let needs = needs(item, each, unit);
    let total: u64 = needs.iter().map(|n| n.amount).sum();
    if item.amount.is_none() {
        return;
    }
    item.to_cover = Some(hundredths(total as f64 / GRAIN as f64));
    item.buy_unit = Some(unit.as_str().to_owned());
    let Some(stated) = stated else { return };
    let sizes: Vec<Size> = stated.packages.iter().map(size).collect();
    let keeps = stated.opened_days;
    let choose = |aim| packages::choose(&sizes, &needs, keeps, aim);
    let Some(choice) = choose(Aim::FewestLeftovers) else {
        return;
    };
    let cheaper = choice
        .price
        .and_then(|_| choose(Aim::LeastPrice))
        .filter(|c| c.price < choice.price);
    let made = |c: Choice| purchase(stated, keeps, total, &c);
    item.buy = Some(made(choice));
    item.cheaper = cheaper.map(made);
}

/// What each day uses with what comes on top, in thousandths of the packages' unit; pieces and doses
/// are whole. Rounded up over the days so far, so that the sum is rounded once.
fn needs(item: &Item, each: f64, unit: PackUnit) -> Vec<Need> {
    let whole = matches!(unit, PackUnit::Pieces | PackUnit::Doses);
    let by = each * (1.0 + item.spoilage_percent / 100.0) * GRAIN as f64;
    let (mut used, mut before) = (0.0, 0);
    let days = item.days.iter().map(|d| {
        used += d.amount;
        // The small allowance keeps 20 doses of 5 mL at 100 mL.
        let mut so_far = (used * by - 1e-3).ceil().max(0.0) as u64;
        if whole {
            so_far = so_far.div_ceil(GRAIN) * GRAIN;
        }
        let amount = so_far - before;
        before = so_far;
        Need {
            day: number(d.date),
            amount,
        }
    });
    days.collect()
}

fn number(date: NaiveDate) -> i64 {
    i64::from(chrono::Datelike::num_days_from_ce(&date))
}

fn date(number: i64) -> NaiveDate {
    let number = i32::try_from(number).unwrap_or_default();
    NaiveDate::from_num_days_from_ce_opt(number).unwrap_or_default()
}

fn size(package: &Package) -> Size {
    Size {
        holds: u64::from(package.size) * GRAIN,
        price: package
            .price
            .map(|p| (p.each().0 * 100.0).round().max(0.0) as u64),
    }
}

fn purchase(stated: &Supply, keeps: Option<u32>, total: u64, choice: &Choice) -> Purchase {
    let in_units = |grains: u64| hundredths(grains as f64 / GRAIN as f64);
    let counted = |counts: &[u64]| -> Vec<PackageCount> {
        let all = stated.packages.iter().zip(counts).filter(|(_, n)| **n > 0);
        all.map(|(p, n)| PackageCount {
            size: p.size,
            count: *n,
            price: p.price.map(|x| hundredths(x.each().0)),
        })
        .collect()
    };
    let opened = choice.opened.iter().map(|o| {
        let last = keeps.map_or(o.day, |k| o.day + i64::from(k));
        OpenedOn {
            date: date(o.day),
            packages: counted(&o.counts),
            left: in_units(o.left),
            use_by: date(last),
        }
    });

    Purchase {
        packages: counted(&choice.counts),
        holds: in_units(choice.bought),
        left_over: in_units(choice.bought - total),
        too_old: in_units(choice.too_old),
        price: choice.price.map(|p| p as f64 / 100.0),
        proven: choice.proven,
        opened: opened.filter(|_| keeps.is_some()).collect(),
    }
}
