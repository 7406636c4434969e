//! What is said of a forecast: findings, and how it is counted.

use super::answer::MoneyAnswer;
use super::group::GroupForecast;
use super::model::Herd;
use crate::base::error::{Code, Finding, Place, quoted};
use crate::base::units::count;
use crate::planning::aftercare::RETURN_HEAT_DAYS;
use crate::planning::plan::Plan;
use crate::trade::figures::COMMON_PRACTICE;
use crate::trade::figures::cycle::{CYCLE_SOURCE, CYCLING_SOURCE};
use crate::trade::protocol::Step;
use crate::trade::season::{BULLS_GAP_DAYS, CleanUp, Group, Season};

/// Head for each bull after AI (ANDERSON).
const HEAD_A_BULL: u32 = 50;

pub(super) fn of_group(group: &Group, herd: &Herd, plan: &Plan, findings: &mut Vec<Finding>) {
    let name = quoted(group.id.as_str());
    findings.extend(days_unknown(group, herd, plan, &name));
    if !herd.is_counted() {
        return;
    }
    match &group.calves.clean_up {
        Some(bulls) => {
            findings.extend(bulls_soon(herd, bulls, &name));
            findings.extend(bulls_few(herd, bulls, &name));
        }
        None => findings.extend(bulls_wished(group, &name)),
    }
}

/// Where nobody knows the days on which all or some are bred.
fn days_unknown(group: &Group, herd: &Herd, plan: &Plan, name: &str) -> Option<Finding> {
    let planned = plan.group(group.id.as_str());
    let mut steps = group.protocol.steps.iter();
    let what = if !herd.is_counted() {
        format!(
            "{name} is bred by detected heat, and how many on which day is not known: its calves are not counted"
        )
    } else if planned.is_some_and(|g| g.heat.is_none()) && steps.any(Step::is_heat_breeding) {
        format!(
            "some of {name} are bred by detected heat on days that are not known: they are counted on the day of the clean-up AI"
        )
    } else {
        return None;
    };
    let finding = Finding::note(Code::HeatDaysUnknown, what)
        .at(group.start_place.clone())
        .expected("hours to heat, published or your own")
        .hint("give `heat_mean_hours` and `heat_spread_hours` of the group");
    Some(finding)
}

/// Bulls that the wishes name, and that are not counted.
fn bulls_wished(group: &Group, name: &str) -> Option<Finding> {
    let day = group.wishes.as_ref()?.bulls_in?;
    let what = format!(
        "the wishes of {name} name bulls for {day}, and its calves are counted without bulls"
    );
    let finding = Finding::note(Code::NoCleanUp, what)
        .at(group.calves.place.clone())
        .expected("`clean_up` under `calves`, with `in`, `out` and `head`")
        .hint("add it, so that bulls' calves are counted");
    Some(finding)
}

/// Bulls so soon after the last AI that calves could be of either. Those that are in before it are the
/// plan's finding, which is told here too.
fn bulls_soon(herd: &Herd, bulls: &CleanUp, name: &str) -> Option<Finding> {
    let gap = (bulls.first - herd.days()?.1).num_days();
    (1..i64::from(BULLS_GAP_DAYS)).contains(&gap).then(|| {
        let what = format!(
            "bulls go to {name} {} after the last AI: some calves could be of either",
            count(gap as u32, "day", "days")
        );
        Finding::warning(Code::BullsSoon, what)
            .at(bulls.place.clone())
            .expected(format!("{BULLS_GAP_DAYS} days or more (ANDERSON)"))
            .hint(
                "turn them out later, or tell calves apart by other means than their day of birth",
            )
    })
}

fn bulls_few(herd: &Herd, bulls: &CleanUp, name: &str) -> Option<Finding> {
    (herd.head > HEAD_A_BULL * bulls.head.0).then(|| {
        let what = format!(
            "{name} has {} for {} head",
            count(bulls.head.0, "clean-up bull", "clean-up bulls"),
            herd.head
        );
        Finding::note(Code::BullsFew, what)
            .at(bulls.place.clone())
            .expected(format!("a bull for {HEAD_A_BULL} head after AI (ANDERSON)"))
            .hint("open animals come back in heat within a few days of each other: bring more bulls, or give your own `settled_percent`")
    })
}

/// A key of the season file that is not given, and what it would pay for.
#[derive(PartialEq)]
pub(super) struct Lacking {
    key: String,
    pays: String,
}

impl Lacking {
    pub(super) fn of(key: &str, pays: &str) -> Self {
        let [key, pays] = [key, pays].map(str::to_owned);
        Self { key, pays }
    }

    /// That of a cost a head.
    pub(super) fn of_cost(key: &str) -> Self {
        match key {
            "in_heat" => Self::of("groups", "in_heat_percent: what depends on heat"),
            "labour_hours" => Self::of("hours of labor", ""),
            _ => {
                let pays = key
                    .trim_end_matches("_per_dose")
                    .trim_end_matches("_each")
                    .trim_end_matches("_per_head_day")
                    .trim_end_matches("_per_head")
                    .trim_end_matches("_per_hour");
                Self::of(&format!("prices.{key}"), pays)
            }
        }
    }

    pub(super) fn words(&self) -> String {
        if self.pays.is_empty() {
            return self.key.clone();
        }
        format!("{}: {}", self.key, self.pays)
    }
}

pub(super) fn lacking(season: &Season, missing: &[Lacking], findings: &mut Vec<Finding>) {
    if missing.is_empty() {
        return;
    }
    let keys: Vec<&str> = missing.iter().map(|m| m.key.as_str()).collect();
    let place = season.groups.first().map(|g| g.calves.place.clone());
    let what = format!("not given, and left out of totals: {}", keys.join(", "));
    let mut finding = Finding::note(Code::PriceLacks, what)
        .expected("your own prices; 0 for what costs nothing")
        .hint("add them to `prices` and `money` of the season file");
    // Of the whole file: no one line lacks them.
    finding.place = place.map(|place| Place {
        line: 1,
        column: 1,
        field: String::new(),
        ..place
    });
    findings.push(finding);
}

pub(super) fn notes(groups: &[GroupForecast], money: Option<&MoneyAnswer>) -> Vec<String> {
    let [from, to] = RETURN_HEAT_DAYS;
    let mut notes = vec![
        "Head are averages of many such seasons. The range in brackets, from the lowest to the highest percentage, holds in at least 90 seasons of 100 (binomial, exact). The range for all groups assumes that all do poorly, or all do well, together.".to_owned(),
        format!("Animals that are not pregnant are in heat again 21 days later on average, 17 to 24 ({CYCLE_SOURCE}): a bell curve, with 2 in 100 before and 2 in 100 after the watch for return heat, days {from} to {to} (three either side of 21: {COMMON_PRACTICE}). Of those never seen in heat one in 21 is each day ({CYCLING_SOURCE}). Bulls settle the same share of heats each time (common practice, no source). Who does not cycle settles to AI 33 times for 62 of those in heat (STEV18), and is taken to stay open. Published seasons end at 81 to 90 % pregnant (SYNCH-BUDGET)."),
    ];
    if groups.iter().any(|t| t.calves.calving.is_some()) {
        notes.push("Calving days follow a bell curve around the mean gestation; the day after breeding is day 1. One source has about 12 calves of 100 cows on the peak day of one AI day (TIMED-COWS): more than this curve, whose spread is published for one breed. Give your own `gestation_spread_days` if yours come closer together.".to_owned());
        notes.push("Two counts of the first 21 days are in use, and both are given. Due-date count: calves born by the 21st day after the first due date, early ones too; the day after the due date is day 1. Published tables count this way (not checked against them): due on the 10th, the 21 days end on the 31st. Earliest-calf count: the 21 days that begin with the earliest calves, 12 days before that due date (TORELL). The first due date is mean gestation after the first cow bred.".to_owned());
    }
    notes.push("The range of a published percentage pregnant is what 95 of 100 other herds and seasons get: trials of one protocol differ by more than chance.".to_owned());
    if money.is_some() {
        notes.push("Prices are the season's own. Labor is one worker's hours at the chute, watching heat and feeding. Bulls cost loss of value, risk, keep and interest a year (the form of BULL-BUDGET); those of groups that do not overlap are the same bulls.".to_owned());
        notes.push("In natural service bulls are in from each group's first day of AI; one animal in 21 is in heat each day. A calf born sooner is heavier by its days times the gain a day; it is sold on the same day. The range of the net is that of the percentage pregnant to AI alone.".to_owned());
    }
    notes
}
