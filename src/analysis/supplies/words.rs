//! What is said of the order list: how things are counted, what to state, and what is on hand when.

use super::answer::{FeedDose, Item, OnHand, OrderList, PackageCount};
use super::uses::Use;
use crate::base::error::{Code, Finding, quoted};
use crate::base::units::{count, hundredths};
use crate::planning::plan::Plan;
use crate::trade::protocol::Caution;
use crate::trade::season::supplies::HEAD_A_NEEDLE;
use crate::trade::season::{Kind, Season, Supply};

/// What an item's amount counts.
pub(super) const fn unit(kind: Kind) -> &'static str {
    match kind {
        Kind::Gnrh | Kind::Pg | Kind::Estradiol => "doses",
        Kind::Insert => "inserts",
        Kind::Applicator => "applicators",
        Kind::Disinfectant => "batches",
        Kind::Mga => "head-days",
        Kind::Patch => "patches",
        Kind::Needle => "needles",
        Kind::Syringe => "syringes",
        Kind::Sheath => "sheaths",
        Kind::Glove => "gloves",
        Kind::Towel => "towels",
    }
}

const fn injected(kind: Kind) -> bool {
    matches!(kind, Kind::Gnrh | Kind::Pg | Kind::Estradiol)
}

fn any_injected(items: &[Item]) -> bool {
    let of = |k: &Kind| items.iter().any(|i| i.item == k.key());
    Kind::ALL
        .iter()
        .copied()
        .filter(|k| injected(*k))
        .any(|k| of(&k))
}

/// What holds for the whole list.
pub(super) fn all(plan: &Plan, answer: &OrderList) -> Vec<String> {
    let mut words = vec![
        "Doses and volumes are those that labels and the law publish. The label of the product in hand and your veterinarian decide."
            .to_owned(),
    ];
    if any_injected(&answer.items) {
        words.push(
            "Storage temperature and days after opening: read the bottle's label. None is listed here. Heat and sun spoil an opened bottle: keep it shaded and cool, and write the day of opening on it (common practice, no source)."
                .to_owned(),
        );
        words.push(
            "Pens treated on one day share what is open, whatever their site. Where two sites work at once, each needs a bottle of its own."
                .to_owned(),
        );
    }
    if plan.groups.iter().any(|g| g.heat.is_some()) {
        words.push(
            "For animals bred by detected heat, and for the rest of their group, the planned numbers are used. The plan shows the most and the fewest that may come."
                .to_owned(),
        );
    }
    if answer.nitrogen.iter().any(|t| !t.fills.is_empty()) {
        let caution = Caution::Nitrogen;
        words.push(format!("{} ({})", caution.words(), caution.source()));
    }
    words
}

pub(super) fn basis(
    kind: Kind,
    stated: Option<&Supply>,
    feed: Option<&FeedDose>,
    uses: &[Use<'_>],
) -> Vec<String> {
    let bred = || match stated.and_then(|s| s.a_head) {
        Some(n) => format!("{n} for each head bred, as you state."),
        None => "One for each head bred (common practice, no source).".to_owned(),
    };
    let one = match kind {
        Kind::Gnrh | Kind::Pg => {
            let double = uses.iter().any(|u| u.amount > f64::from(u.head));
            let words = "A double dose counts as two.".to_owned();
            return if double { vec![words] } else { Vec::new() };
        }
        Kind::Estradiol => {
            "No label dose for synchronization is listed: ask your veterinarian.".to_owned()
        }
        Kind::Insert => {
            let once = "One for each animal, used once (CFR-1940): none is counted twice.";
            let sold = "Sold over the counter in the United States; GnRH and PG need a prescription (from memory).";
            return [once, sold].map(str::to_owned).into();
        }
        Kind::Applicator => {
            "Two for each site: one in use, one in disinfectant (common practice, no source). Those at hand serve again, and sites that work on different days may share."
                .to_owned()
        }
        Kind::Disinfectant => {
            "A fresh batch for each site and day that inserts go in; mix it by its label (common practice, no source)."
                .to_owned()
        }
        Kind::Mga => return feed.map(fed).into_iter().collect(),
        Kind::Patch => "One for each animal.".to_owned(),
        Kind::Needle => {
            let own = stated.and_then(|s| s.head_each);
            format!(
                "A new one for each drug and pen treated, and after every {} head{} (UI-BUL923: at least every 10 to 15 head).",
                own.unwrap_or(HEAD_A_NEEDLE),
                own.map_or("", |_| ", as you state")
            )
        }
        Kind::Syringe => match stated.and_then(|s| s.head_each) {
            Some(n) => {
                format!(
                    "A new one for each drug and pen treated, and after every {n} head, as you state."
                )
            }
            None => "Not counted: nothing is published on when to change them. State `head_each`."
                .to_owned(),
        },
        Kind::Sheath => "One for each insemination (common practice, no source).".to_owned(),
        Kind::Glove => {
            let extra = "Protective gloves for handling PG and inserts are extra (CFR-690, NOAH-PG, CFR-1940): at least one pair for each person and pen treated (common practice, no source).";
            return vec![bred(), extra.to_owned()];
        }
        Kind::Towel => bred(),
    };
    vec![one]
}

fn fed(f: &FeedDose) -> String {
    let (each, mg, unit) = (hundredths(f.a_head_most), f.mg_a_head, &f.unit);
    match f.mg_in_each {
        Some(strength) => format!(
            "{mg} mg a head a day ({}): {each} {unit} of feed with {:.3} mg in each {unit}.",
            f.source, strength
        ),
        None => format!(
            "{mg} mg a head a day ({}), in {} to {each} {unit} of feed; the feed's strength tells how much.",
            f.source,
            hundredths(f.a_head_least)
        ),
    }
}

/// One note of what to state, if anything is lacking.
pub(super) fn unstated(season: &Season, items: &[Item]) -> Option<Finding> {
    let stated = &season.supplies.stated;
    let mut keys = Vec::new();
    for &kind in Kind::ALL {
        let Some(item) = items.iter().find(|i| i.item == kind.key()) else {
            continue;
        };
        let own = stated.get(&kind);
        let mut wants = Vec::new();
        if injected(kind) && own.is_none_or(|s| s.ml_a_dose.is_none()) {
            wants.push("ml_a_dose");
        }
        if kind == Kind::Mga && item.feed.as_ref().is_none_or(|f| f.mg_in_each.is_none()) {
            wants.push("mg_per_lb");
        }
        if kind == Kind::Syringe && own.is_none_or(|s| s.head_each.is_none()) {
            wants.push("head_each");
        }
        if own.is_none_or(|s| s.packages.is_empty()) {
            wants.push("packages");
        }
        if !wants.is_empty() {
            keys.push(format!("{} ({})", kind.key(), wants.join(", ")));
        }
    }
    if keys.is_empty() {
        return None;
    }
    let n = keys.len() as u32;
    let note = Finding::note(
        Code::SuppliesUnstated,
        format!(
            "{} without packages to buy, because information is missing",
            count(n, "thing is listed", "things are listed")
        ),
    )
    .expected("sizes of packages, and what your labels say, under `supplies` of the season file")
    .hint(format!(
        "add what you know of: {}{}",
        keys.join("; "),
        if season.tanks.is_empty() {
            "; and for the nitrogen, `tanks` with readings"
        } else {
            ""
        }
    ));
    Some(match &season.supplies.place {
        Some(place) => note.at(place.clone()),
        None => note,
    })
}

/// What is stated and used by nothing.
pub(super) fn unused(season: &Season, items: &[Item]) -> Vec<Finding> {
    let stated = season.supplies.stated.iter();
    let lost = stated.filter(|(kind, _)| !items.iter().any(|i| i.item == kind.key()));
    lost.map(|(kind, supply)| {
        let what = format!("nothing in this season uses {}", quoted(kind.key()));
        Finding::note(Code::SupplyUnused, what)
            .expected("supplies that some step of a group's protocol uses")
            .hint("leave it, or take it out: it is not on the list")
            .at(supply.place.clone())
    })
    .collect()
}

pub(super) fn without_price(items: &[Item]) -> Vec<String> {
    let no_price = |i: &&Item| i.buy.as_ref().and_then(|b| b.price).is_none();
    items
        .iter()
        .filter(no_price)
        .map(|i| i.item.clone())
        .collect()
}

/// `2 x 100 mL, 1 x 20 mL`.
#[must_use]
pub fn packages(all: &[PackageCount], unit: &str) -> String {
    let each = all.iter().map(|p| {
        let size = if unit == "pieces" {
            format!("{}", p.size)
        } else {
            format!("{} {unit}", p.size)
        };
        format!("{} x {size}", p.count)
    });
    each.collect::<Vec<_>>().join(", ")
}

/// How much of an item, in packages where they are known.
fn amount(item: &Item) -> String {
    let unit = item.buy_unit.as_deref().unwrap_or_default();
    match (&item.buy, item.to_cover) {
        (Some(buy), _) => packages(&buy.packages, unit),
        (None, Some(n)) if !matches!(unit, "pieces" | "doses") => format!("{n} {unit}"),
        (None, Some(n)) => format!("{n} {}", item.unit),
        (None, None) => match item.amount {
            Some(n) => format!("{n} {}", item.unit),
            None => "not counted".to_owned(),
        },
    }
}

/// What must be on hand by which day.
pub(super) fn on_hand(answer: &OrderList) -> Vec<OnHand> {
    let items = answer.items.iter().filter_map(|i| {
        Some(OnHand {
            by: i.first_use?,
            order_by: i.order_by,
            item: i.item.clone(),
            what: i.own_name.clone().unwrap_or_else(|| i.name.clone()),
            amount: amount(i),
        })
    });
    let bulls = answer.straws.iter().filter_map(|bull| {
        let need = count(bull.set_aside + bull.waste, "straw", "straws");
        let lacking = match bull.to_buy {
            0 => String::new(),
            n => format!(", of which {n} to buy"),
        };
        Some(OnHand {
            by: bull.first_use?,
            order_by: bull.order_by,
            item: "straws".to_owned(),
            what: bull.name.clone(),
            amount: format!("{need} ({} on hand){lacking}", bull.on_hand),
        })
    });
    let lacking = answer.lacking_straws.iter().filter_map(|l| {
        let straws = count(l.straws, "straw", "straws");
        Some(OnHand {
            by: l.first_use?,
            order_by: l.order_by,
            item: "straws".to_owned(),
            what: format!("Short for {}", l.group),
            amount: format!("{straws} to buy, of {}", l.bulls.join(" or ")),
        })
    });
    let fills = answer.nitrogen.iter().flat_map(|tank| {
        tank.fills.iter().map(|fill| OnHand {
            by: fill.date,
            order_by: fill.order_by,
            item: "nitrogen".to_owned(),
            what: format!("Nitrogen for {}", tank.name),
            amount: match fill.liters {
                Some(liters) => format!("about {liters:.0} L"),
                None => format!("{:.0} % of the tank", fill.percent),
            },
        })
    });
    let mut all: Vec<OnHand> = items.chain(bulls).chain(lacking).chain(fills).collect();
    all.sort_by_key(|o| (o.by, o.order_by));
    all
}
