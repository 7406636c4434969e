//! The order list: published volumes and feed, packages against every way there is, totals against
//! the verifier under damage, and the command.

use std::sync::OnceLock;

use proptest::prelude::*;
use thawline::output::answer::Answer as _;
use thawline::plan::Plan;
use thawline::season;
use thawline::season::Season;
use thawline::supplies::packages::{Aim, GRAIN, Need, Size, choose};
use thawline::supplies::{self, Item, OrderList};
use thawline::tank;

use crate::bad_input::Folder;
use crate::codes::SEASON;
use crate::oracle::supplies::check;
use crate::support::{LIBRARY, demo, plan_of, small};

fn wrong(season: &Season, plan: &Plan, told: &OrderList) -> Vec<String> {
    let found = check(season, plan, told);
    found.iter().map(ToString::to_string).collect()
}

/// The list of a season, which the verifier finds nothing wrong with.
fn listed(text: &str) -> (Season, Plan, OrderList) {
    let (season, plan) = plan_of(text);
    let told = supplies::of_plan(&season, &plan);
    assert_eq!(wrong(&season, &plan, &told), [""; 0]);
    (season, plan, told)
}

/// The small season, 20 head, with this under `supplies`.
fn stated(supplies: &str) -> String {
    format!("{SEASON}supplies: {supplies}\n")
}

/// Twenty heifers on MGA, with this feed.
fn fed(feed: &str) -> OrderList {
    let text = SEASON
        .replace("class: cow", "class: heifer")
        .replace("cow-7-day-co-synch-insert", "heifer-mga-pg");
    listed(&format!("{text}supplies: {{mga_feed: {feed}}}\n")).2
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 0.006, "{a} is not {b}");
}

/// CFR-690: 25 mg of dinoprost are 5 mL at 5 mg/mL or 2 mL at 12.5 mg/mL. CFR-1077: 86 ug of gonadorelin are
/// 2 mL at 43 ug/mL. Twenty cows have `GnRH` with the insert and at breeding, PG once.
#[test]
fn volumes_are_the_published_ones_times_head() {
    let (_, _, told) = listed(SEASON);
    let volumes = |key: &str| -> Vec<(f64, f64)> {
        let item = told.item(key).unwrap();
        let strengths = item.labels.iter().flat_map(|l| &l.strengths);
        strengths.map(|s| (s.ml_a_dose, s.ml)).collect()
    };
    assert_eq!(told.item("pg").unwrap().amount, Some(20.0));
    assert_eq!(volumes("pg"), [(5.0, 100.0), (2.0, 40.0), (2.0, 40.0)]);
    assert_eq!(told.item("gnrh").unwrap().amount, Some(40.0));
    let expected = [(2.0, 80.0), (1.0, 40.0), (2.0, 80.0), (2.5, 100.0)];
    assert_eq!(volumes("gnrh"), expected);
    let days = told.item("gnrh").unwrap().days.iter();
    assert_eq!(days.map(|d| d.amount).collect::<Vec<_>>(), [20.0, 20.0]);
    // One insert each, once: taking it out is no second one (CFR-1940).
    assert_eq!(told.item("inserts").unwrap().amount, Some(20.0));
}

/// HEIFER-GUIDE: fourteen days of 2 lb of feed a head a day are 0.5 mg; so the feed has 0.25 mg in a pound.
/// The same strength is 0.25 / 0.45359237 = 0.551 mg in a kilogram, and half a gram in a ton of 2000 lb.
#[test]
fn feed_is_the_published_example_in_each_way_of_stating_it() {
    for feed in [
        "{mg_per_lb: 0.25}",
        "{lb_a_head: 2}",
        "{mg_per_lb: 0.25, lb_a_head: 2}",
        "{g_per_ton: 0.5}",
        "{mg_per_kg: 0.5511556, packages: [{lb: 50}]}",
        "{kg_a_head: 0.90718474, packages: [{lb: 50}]}",
    ] {
        let told = fed(feed);
        let item = told.item("mga_feed").unwrap();
        assert_eq!(item.days.len(), 14);
        assert_eq!(item.amount, Some(280.0));
        for d in &item.days {
            near(d.mga_mg.unwrap(), 10.0);
            near(d.feed.unwrap().0, 40.0);
            near(d.feed.unwrap().1, 40.0);
        }
        near(item.to_cover.unwrap(), 560.0);
        near(item.feed.as_ref().unwrap().mg_in_each.unwrap(), 0.25);
    }
    // In kilograms: 560 lb are 254.01 kg, eleven bags of 25.
    let told = fed("{mg_per_kg: 0.5511556, packages: [{kg: 25}]}");
    let item = told.item("mga_feed").unwrap();
    near(item.to_cover.unwrap(), 254.01);
    assert_eq!(item.buy.as_ref().unwrap().packages[0].count, 11);
    // Unknown feed: the label's 0.5 to 2 lb (CFR-342), and no purchase.
    let told = fed("{packages: [{lb: 50}]}");
    let item = told.item("mga_feed").unwrap();
    assert_eq!(item.days[0].feed, Some((10.0, 40.0)));
    assert!(item.buy.is_none() && item.to_cover.is_none());
}

/// By hand: 40 doses of 2 mL and 5 % on top are 84 mL; of 10, 20, 50 and 100 mL the sums from there are 90
/// (50 + 20 + 20: three packages; 50 + 4 x 10: five).
#[test]
fn packages_by_hand() {
    let (_, _, told) = listed(&stated(
        "{spoilage_percent: 5, gnrh: {ml_a_dose: 2, packages: [{ml: 10}, {ml: 20}, {ml: 50}, {ml: 100}]}}",
    ));
    let item = told.item("gnrh").unwrap();
    near(item.to_cover.unwrap(), 84.0);
    let buy = item.buy.as_ref().unwrap();
    let packages: Vec<(u32, u64)> = buy.packages.iter().map(|p| (p.size, p.count)).collect();
    assert_eq!(packages, [(50, 1), (20, 2)]);
    near(buy.left_over, 6.0);
    assert!(buy.proven && buy.price.is_none());
}

/// By hand: 20 inserts with 5 % on top are 21. A bag of 25 leaves the least over; one of 30 costs less only if that of
/// 25 costs more than 90.
#[test]
fn fewest_leftovers_and_least_price_may_differ() {
    let list = |price: u32| {
        let text = format!(
            "{{spoilage_percent: 5, inserts: {{packages: [{{count: 30, price: 90}}, {{count: 25, price: {price}}}]}}}}"
        );
        let (_, _, told) = listed(&stated(&text));
        told.item("inserts").unwrap().clone()
    };
    let item = list(80);
    assert_eq!(item.to_cover, Some(21.0));
    let buy = item.buy.unwrap();
    assert_eq!((buy.packages[0].size, buy.left_over), (25, 4.0));
    assert!(item.cheaper.is_none());
    let item = list(95);
    assert_eq!(item.buy.unwrap().packages[0].size, 25);
    let cheaper = item.cheaper.unwrap();
    assert_eq!((cheaper.packages[0].size, cheaper.price), (30, Some(90.0)));
}

fn grains(all: &[u64]) -> Vec<Size> {
    let size = |holds: &u64| Size {
        holds: *holds * GRAIN,
        price: None,
    };
    all.iter().map(size).collect()
}

/// By hand: 10 mL on day 0 and on day 30. A bottle of 20 that keeps 30 days serves both; one that keeps 29 does
/// not, and two of 10 leave nothing over.
#[test]
fn opened_bottles_keep_so_many_days() {
    let needs = [0, 30].map(|day| Need {
        day,
        amount: 10 * GRAIN,
    });
    let of = |keeps| {
        let sizes = grains(&[20, 10]);
        choose(&sizes, &needs, Some(keeps), Aim::FewestLeftovers).unwrap()
    };
    assert_eq!((of(30).counts, of(30).too_old), (vec![1, 0], 0));
    assert_eq!((of(29).counts, of(29).too_old), (vec![0, 2], 0));
    // With bottles of 20 alone the second half of the first is lost.
    let lost = choose(&grains(&[20]), &needs, Some(29), Aim::FewestLeftovers).unwrap();
    assert_eq!((lost.counts, lost.too_old), (vec![2], 10 * GRAIN));
}

/// By hand: 25 mL on day 0 and 40 on day 1, in bottles of 50 and 20. The 50 is enough on day 0; the 20 is
/// opened on day 1, when 15 are lacking, and not the day before.
#[test]
fn a_bottle_is_opened_on_the_day_that_needs_it() {
    let needs = [(0, 25), (1, 40)].map(|(day, ml)| Need {
        day,
        amount: ml * GRAIN,
    });
    let got = choose(&grains(&[50, 20]), &needs, Some(10), Aim::FewestLeftovers).unwrap();
    let opened = got.opened.iter();
    let opened = opened.map(|o| (o.day, o.counts.clone(), o.left / GRAIN));
    let expected = [(0, vec![1, 0], 25), (1, vec![0, 1], 5)];
    assert_eq!(opened.collect::<Vec<_>>(), expected);
}

fn table(told: &OrderList, name: &str) -> String {
    let kind = told.tables().into_iter().find(|k| k.name == name);
    kind.unwrap().of(told)
}

/// What is bought has its day of order in the table, too: 13 May 2027 less a week, for the straws that
/// a group lacks.
#[test]
fn straws_to_buy_have_a_day_of_order_in_the_table() {
    let text = stated("{lead_days: 7}").replace("straws: 40}", "straws: 15}");
    let (_, _, told) = listed(&text);
    let csv = table(&told, "buy");
    let row = csv.lines().find(|l| l.starts_with("straws,")).unwrap();
    let days = "straws,Ash 1,2027-05-13,2027-05-06,cows,";
    assert!(row.starts_with(days), "{row}");
}

/// A package without a size is one error with what to add; it says nothing of the unit of the others.
#[test]
fn a_package_without_a_size_is_one_error() {
    let errors = |packages: &str| {
        let gnrh = format!("{{gnrh: {{ml_a_dose: 2, packages: [{packages}]}}}}");
        let text = stated(&gnrh);
        let read = season::read("s", text.as_bytes(), &crate::support::LIBRARY);
        let e = read.unwrap_err();
        let said = |f: &thawline::error::Finding| (f.what.clone(), f.hint.clone().unwrap());
        e.findings().iter().map(said).collect::<Vec<_>>()
    };
    let none = errors("{price: 3}, {ml: 20}, {ml: 50}");
    assert_eq!(none.len(), 1, "{none:?}");
    assert_eq!(none[0].0, "this package has no size");
    assert!(none[0].1.starts_with("add `ml` or `doses`"), "{none:?}");
    let two = errors("{ml: 20, doses: 10}, {ml: 50}");
    let told = ["this package has two sizes", "leave the other one out"];
    assert_eq!(two.len(), 1);
    assert_eq!([&two[0].0, &two[0].1], told);
    let mixed = errors("{ml: 20}, {doses: 10}");
    assert_eq!(mixed[0].0, "packages of one thing are counted in two units");
}

/// UI-BUL923: change needles at least every 10 to 15 head. Twenty head are two needles at either, for each of three
/// injections; at 20 head one for each.
#[test]
fn needles_follow_the_interval_and_syringes_only_if_stated() {
    let needles = |text: &str| listed(text).2.item("needles").unwrap().amount;
    assert_eq!(needles(SEASON), Some(6.0));
    assert_eq!(needles(&stated("{needles: {head_each: 15}}")), Some(6.0));
    assert_eq!(needles(&stated("{needles: {head_each: 20}}")), Some(3.0));
    assert_eq!(needles(&stated("{needles: {head_each: 7}}")), Some(9.0));
    let (_, _, told) = listed(SEASON);
    assert_eq!(told.item("syringes").unwrap().amount, None);
    let (_, _, told) = listed(&stated("{syringes: {head_each: 20}}"));
    assert_eq!(told.item("syringes").unwrap().amount, Some(3.0));
}

/// True if a line of the text ends in these words, however far apart.
fn has_row(text: &str, words: &str) -> bool {
    let said = |l: &str| l.split_whitespace().collect::<Vec<_>>().join(" ");
    text.lines().any(|l| said(l).ends_with(words))
}

/// Nothing stated: doses, volumes and counts all the same, one note of what to state, and one sentence that defers to
/// the veterinarian.
#[test]
fn a_season_that_states_nothing_gets_a_list() {
    let (_, _, told) = listed(SEASON);
    assert_eq!(told.findings.len(), 1);
    assert_eq!(told.findings[0].code.as_str(), "O104");
    let text = told.text();
    assert_eq!(text.matches("veterinarian").count(), 1);
    assert!(has_row(&text, "20 40 or 100 cows: 20 head"), "{text}");
    assert!(text.lines().all(|l| l.chars().count() <= 80));
    assert!(told.on_hand.iter().all(|o| o.order_by.is_none()));
}

/// The list by date: first use, less the days to delivery; weekdays are the calendar's (3 May 2027 is a Monday).
#[test]
fn on_hand_by_date_less_the_lead() {
    let (_, _, told) = listed(&stated("{lead_days: 7, pg: {lead_days: 10}}"));
    let day = |key: &str| {
        let o = told.on_hand.iter().find(|o| o.item == key).unwrap();
        (o.by.to_string(), o.order_by.unwrap().to_string())
    };
    assert_eq!(day("gnrh"), ("2027-05-03".into(), "2027-04-26".into()));
    assert_eq!(day("pg"), ("2027-05-10".into(), "2027-04-30".into()));
    assert_eq!(day("sheaths"), ("2027-05-13".into(), "2027-05-06".into()));
    assert!(told.on_hand.is_sorted_by_key(|o| o.by));
    let text = told.text();
    let row = "Mon 3 May 2027 Mon 26 Apr GnRH 40 doses";
    assert!(has_row(&text, row), "{text}");
}

/// By hand: 20 in. are 40 L; 18 in. after ten days are 0.2 in. a day; 6 in. are reached 60 days after 11 March, and
/// passed on 11 May, before the cows of 13 May. Eight days before, on 3 May, 53 days have taken 10.6 in.: 12.6 of 20
/// in. go in, 25.2 L.
#[test]
fn nitrogen_by_hand() {
    let text = SEASON.replace(
        "straws: 40}",
        "straws: 40, tank: big}\ntanks: [{id: big, canisters: 6, full_inches: 20, liters: 40, filled: [2027-03-01], readings: [{date: 2027-03-11, inches: 18}]}]",
    );
    let (season, plan, told) = listed(&text);
    let fills = &told.nitrogen[0].fills;
    assert_eq!(fills.len(), 1);
    assert_eq!(fills[0].date.to_string(), "2027-05-03");
    assert!(!fills[0].stated);
    near(fills[0].percent, 63.0);
    near(fills[0].liters.unwrap(), 25.2);
    let look = tank::look(&season, &plan);
    let refill = look.tanks[0].nitrogen.as_ref().unwrap().refill_by;
    assert_eq!(refill, Some(fills[0].date));
}

/// Ten percent of straws wasted: 20 used are 90 % of 22.2, so three on top; 22 on hand are one too few.
#[test]
fn straws_with_waste_are_bought() {
    let text = SEASON.replace(
        "straws: 40}",
        "straws: 22}\nrules: {straws_wasted_percent: 10}",
    );
    let (_, _, told) = listed(&text);
    let bull = &told.straws[0];
    assert_eq!((bull.set_aside, bull.waste, bull.to_buy), (20, 3, 1));
    let (_, _, told) = listed(&SEASON.replace("straws: 40}", "straws: 15}"));
    assert_eq!(told.lacking_straws[0].straws, 5);
    assert_eq!(told.lacking_straws[0].bulls, ["Ash 1"]);
}

/// Bred by heat: by the plan's half-days and the rest, and no animal gets two of anything.
#[test]
fn heat_groups_follow_the_plans_passes() {
    let (_, plan, told) = listed(include_str!("../golden/by-heat.yaml"));
    let sheaths = told.item("sheaths").unwrap();
    assert_eq!(sheaths.amount, Some(f64::from(plan.verdict.due_head)));
    // A share that nobody knows: planned whole for both breedings, and bred once.
    let text = SEASON
        .replace("cow-7-day-co-synch-insert", "own")
        .replace("order: kept", "order: mixed");
    let own = "id: own\nname: Our own\nclass: cow\nkind: split-time\nsuits: Anyone.\nsources: [{cite: our notes, supports: all}]\nsteps:\n  - {id: pg, after: start, days: 0, do: [pg]}\n  - {id: ai, after: pg, hours: {earliest: 60, aim: 63, latest: 66}, do: [inseminate-in-heat]}\n  - {id: rest, after: pg, hours: {earliest: 80, aim: 83, latest: 86}, do: [inseminate-rest, gnrh]}\n";
    let (library, _) = thawline::Library::with_files([("own.yaml", own.as_bytes())]).unwrap();
    let (season, found) = season::read("s", text.as_bytes(), &library).unwrap();
    let plan = thawline::pipeline::plan(&season, &found).unwrap();
    let told = supplies::of_plan(&season, &plan);
    assert_eq!(wrong(&season, &plan, &told), [""; 0]);
    assert_eq!(told.item("sheaths").unwrap().amount, Some(20.0));
    assert_eq!(told.item("gnrh").unwrap().amount, Some(20.0));
}

/// Damage to one item: what, its key, how.
type Damage = (&'static str, &'static str, fn(&mut Item));

const DAMAGES: &[Damage] = &[
    ("a dose more in a pass", "pg", |i| {
        i.days[0].passes[0].amount += 1.0;
    }),
    ("a day's sum", "gnrh", |i| i.days[1].amount += 1.0),
    ("a pass left out", "inserts", |i| {
        i.days[1].passes.truncate(1);
    }),
    ("all of it", "needles", |i| i.amount = Some(1.0)),
    ("a volume", "gnrh", |i| i.labels[0].strengths[0].ml += 2.0),
    ("a day's volume", "pg", |i| i.days[0].volumes[0].ml *= 0.5),
    ("milligrams", "mga_feed", |i| i.days[3].mga_mg = Some(1.0)),
    ("feed", "mga_feed", |i| i.days[3].feed = Some((88.0, 88.0))),
    ("a day of feeding", "mga_feed", |i| i.days.truncate(13)),
    ("first use", "pg", |i| i.first_use = None),
    ("a package too few", "pg", |i| {
        bought(i).packages[0].count -= 1;
    }),
    ("a size not sold", "sheaths", |i| {
        bought(i).packages[0].size = 60;
    }),
    ("a package too many", "mga_feed", |i| {
        bought(i).packages[0].count += 1;
        bought(i).holds += 50.0;
        bought(i).left_over += 50.0;
    }),
    ("left over", "gnrh", |i| bought(i).left_over += 1.0),
    ("too old", "gnrh", |i| bought(i).too_old = 50.0),
    ("opened too late", "gnrh", |i| {
        let o = &mut bought(i).opened[0];
        o.date = o.use_by;
    }),
    ("used too long", "gnrh", |i| {
        let o = &mut bought(i).opened[0];
        o.use_by = o.use_by.succ_opt().unwrap();
    }),
];

fn bought(item: &mut Item) -> &mut supplies::Purchase {
    item.buy.as_mut().unwrap()
}

#[test]
fn wrong_lists_are_found_out() {
    let (season, plan, told) = listed(&demo());
    for (what, key, damage) in DAMAGES {
        let mut told = told.clone();
        let n = told.items.iter().position(|i| i.item == *key).unwrap();
        damage(&mut told.items[n]);
        assert!(!wrong(&season, &plan, &told).is_empty(), "{what}");
    }
    let mut less = told.clone();
    less.straws[0].set_aside -= 1;
    assert!(!wrong(&season, &plan, &less).is_empty());
    let mut less = told;
    less.straws[0].days.pop();
    assert!(!wrong(&season, &plan, &less).is_empty());
}

/// Open packages of each day as it may be done at all: any number of any size on any day, the ones that are too old
/// first used first. The least bought, then price, then number; or price first.
struct Every<'a> {
    sizes: &'a [(u64, u64)],
    needs: &'a [(i64, u64)],
    keeps: i64,
    price_first: bool,
    best: Option<[u64; 3]>,
}

impl Every<'_> {
    fn at_day(&mut self, day: usize, open: Vec<(i64, u64)>, cost: [u64; 3]) {
        if self.best.is_some_and(|b| b < cost) {
            return;
        }
        let Some((at, amount)) = self.needs.get(day).copied() else {
            self.best = Some(self.best.map_or(cost, |b| b.min(cost)));
            return;
        };
        self.opened(day, at, amount, 0, open, cost);
    }

    fn opened(
        &mut self,
        day: usize,
        at: i64,
        amount: u64,
        n: usize,
        open: Vec<(i64, u64)>,
        cost: [u64; 3],
    ) {
        let Some((holds, price)) = self.sizes.get(n).copied() else {
            let mut open: Vec<_> = open.into_iter().filter(|(until, _)| *until >= at).collect();
            open.sort_unstable();
            let mut need = amount;
            for (_, left) in &mut open {
                let used = need.min(*left);
                *left -= used;
                need -= used;
            }
            if need == 0 {
                self.at_day(day + 1, open, cost);
            }
            return;
        };
        let all: u64 = self.needs.iter().map(|n| n.1).sum();
        let mut open = open;
        let mut cost = cost;
        for _ in 0..=all.div_ceil(holds) {
            self.opened(day, at, amount, n + 1, open.clone(), cost);
            open.push((at + self.keeps, holds));
            let more = if self.price_first {
                [price, holds, 1]
            } else {
                [holds, price, 1]
            };
            cost = [0, 1, 2].map(|i| cost[i] + more[i]);
            if self.best.is_some_and(|b| b < cost) {
                break;
            }
        }
    }
}

/// Plans of random seasons by their seed.
static PLANS: [OnceLock<Plan>; 40] = [const { OnceLock::new() }; 40];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    /// Packages, opened day by day, against every way there is.
    #[test]
    fn no_way_of_opening_packages_is_better(
        sizes in prop::collection::btree_map(3_u64..12, 1_u64..30, 1..3),
        needs in prop::collection::vec((1_i64..7, 1_u64..12), 1..4),
        keeps in 0_u32..10,
        ever in prop::bool::weighted(0.2),
        price_first in any::<bool>(),
    ) {
        let sizes: Vec<(u64, u64)> = sizes.into_iter().rev().collect();
        let mut day = 0;
        let needs: Vec<(i64, u64)> = needs.into_iter().map(|(gap, amount)| { day += gap; (day, amount) }).collect();
        let asked: Vec<Size> = sizes.iter().map(|(holds, price)| Size { holds: *holds, price: Some(*price) }).collect();
        let of: Vec<Need> = needs.iter().map(|(day, amount)| Need { day: *day, amount: *amount }).collect();
        let aim = if price_first { Aim::LeastPrice } else { Aim::FewestLeftovers };
        let keeps = (!ever).then_some(keeps);
        let got = choose(&asked, &of, keeps, aim).unwrap();
        let keeps = keeps.map_or(1000, i64::from);
        let mut every = Every { sizes: &sizes, needs: &needs, keeps, price_first, best: None };
        every.at_day(0, Vec::new(), [0; 3]);
        let number: u64 = got.counts.iter().sum();
        let told = if price_first {
            [got.price.unwrap(), got.bought, number]
        } else {
            [got.bought, got.price.unwrap(), number]
        };
        prop_assert!(got.proven);
        prop_assert_eq!(Some(told), every.best);
        // None is opened before it is needed: without the smallest of a day's, the day would lack.
        let (mut left, mut until) = (0, 0);
        for (day, amount) in needs.iter().filter(|_| !ever) {
            if *day > until { left = 0; }
            if let Some(o) = got.opened.iter().find(|o| o.day == *day) {
                let more: u64 = o.counts.iter().zip(&sizes).map(|(n, s)| n * s.0).sum();
                let smallest = o.counts.iter().zip(&sizes).filter(|(n, _)| **n > 0).map(|(_, s)| s.0).min().unwrap();
                prop_assert!(left < *amount && left + more - smallest < *amount, "{:?}", got);
                left += more;
                until = day + keeps;
            }
            prop_assert!(left >= *amount, "{:?}", got);
            left -= amount;
        }
        // What is opened is what is bought, and covers every day.
        let opened: Vec<u64> = (0..sizes.len()).map(|n| got.opened.iter().map(|o| o.counts[n]).sum()).collect();
        prop_assert_eq!(opened, got.counts);
    }

    /// One large need, against all sums of sizes.
    #[test]
    fn the_least_sum_that_covers(
        sizes in prop::collection::btree_set(1_u64..60, 1..5),
        need in 1_u64..6000,
    ) {
        let sizes: Vec<u64> = sizes.into_iter().rev().collect();
        let asked: Vec<Size> = sizes.iter().map(|s| Size { holds: *s, price: None }).collect();
        let got = choose(&asked, &[Need { day: 1, amount: need }], None, Aim::FewestLeftovers).unwrap();
        // Fewest packages for each sum, by the plainest table.
        let top = (need + 60) as usize;
        let mut fewest: Vec<Option<u64>> = vec![Some(0)];
        for sum in 1..=top {
            let before = sizes.iter().filter_map(|s| fewest[sum.checked_sub(*s as usize)?]);
            fewest.push(before.min().map(|n| n + 1));
        }
        let (least, number) = (need as usize..=top).find_map(|s| Some((s as u64, fewest[s]?))).unwrap();
        prop_assert_eq!((got.bought, got.counts.iter().sum::<u64>()), (least, number));
        let holds: u64 = sizes.iter().zip(&got.counts).map(|(s, n)| s * n).sum();
        prop_assert_eq!(holds, got.bought);
    }

    /// Random seasons: the second reading agrees, and what is bought covers what is used.
    #[test]
    fn totals_of_random_seasons(seed in 0..PLANS.len() as u64, spoilage in 0_u32..20, keeps in prop::option::of(0_u32..40)) {
        let keeps = keeps.map_or(String::new(), |k| format!("opened_days: {k}, "));
        let text = format!(
            "{}supplies: {{spoilage_percent: {spoilage}, gnrh: {{ml_a_dose: 2, {keeps}packages: [{{ml: 20}}, {{ml: 50}}]}}, pg: {{{keeps}packages: [{{doses: 6}}, {{doses: 20}}]}}, inserts: {{packages: [{{count: 10}}]}}, needles: {{packages: [{{count: 12}}]}}}}\n",
            small(seed)
        );
        // What is ordered changes nothing of the plan.
        let plan = PLANS[seed as usize].get_or_init(|| plan_of(&small(seed)).1);
        let (season, _) = season::read("season.yaml", text.as_bytes(), &LIBRARY).unwrap();
        let told = supplies::of_plan(&season, plan);
        prop_assert_eq!(wrong(&season, plan, &told), [""; 0]);
        for item in &told.items {
            if let (Some(buy), Some(need)) = (&item.buy, item.to_cover) {
                prop_assert!(buy.holds + 0.011 >= need && buy.proven);
            }
        }
        let text = told.text();
        prop_assert!(text.lines().all(|l| l.chars().count() <= 80), "{}", text);
    }
}

/// Very large needs with awkward sizes are chosen at once, and a search that is too wide says so.
#[test]
fn large_needs_are_quick() {
    let needs: Vec<Need> = (0..150)
        .map(|n| Need {
            day: n,
            amount: 77_777_777,
        })
        .collect();
    let sizes = grains(&[1000, 999, 7]);
    let all = choose(&sizes, &needs, None, Aim::FewestLeftovers).unwrap();
    assert!(all.proven && all.bought - 150 * 77_777_777 < GRAIN);
    let some = choose(&sizes, &needs, Some(3), Aim::FewestLeftovers).unwrap();
    assert!(some.bought >= 150 * 77_777_777);
    assert!(choose(&[], &needs, None, Aim::FewestLeftovers).is_none());
    assert!(choose(&sizes, &[], Some(3), Aim::FewestLeftovers).is_none());
}

/// As a spreadsheet reads it: as many cells in each row, and none that runs.
#[test]
fn the_table_is_harmless() {
    let text = demo().replace("  sheaths: {", "  sheaths: {name: \"=1+2\", ");
    let (_, _, told) = listed(&text);
    let mut buys = 0;
    for (name, columns) in [("buy", 11), ("uses", 9), ("straws", 5), ("nitrogen", 5)] {
        let csv = table(&told, name);
        let mut rows = csv::ReaderBuilder::new().from_reader(csv.as_bytes());
        for row in rows.records() {
            let row = row.unwrap();
            assert_eq!(row.len(), columns);
            assert!(row.iter().all(|c| !c.starts_with(['=', '+', '@', '-'])));
            buys += usize::from(name == "buy");
        }
    }
    assert!(buys >= 10 && table(&told, "buy").contains("'=1+2"));
}

#[test]
fn the_command() {
    let folder = Folder::with("s.yaml", SEASON);
    let run = |args: &[&str]| folder.run(&[&["supplies", "s.yaml"], args].concat());
    assert_eq!(run(&[]).code, 0);
    let json: OrderList = serde_json::from_str(&run(&["--json"]).out).unwrap();
    assert_eq!(json.format, supplies::FORMAT);
    assert!(run(&["--csv"]).out.starts_with("item,name,first_use,"));
    assert_eq!(run(&["--csv", "--json"]).code, 2);
    // A plan that falls short: the list is made, and the exit code says so.
    folder.write("s.yaml", SEASON.replace("straws: 40}", "straws: 15}"));
    let short = run(&[]);
    assert_eq!(short.code, 1);
    assert!(short.out.contains("5 straws short. Buy them of Ash 1"));
    // A feed that does not carry the label's dose is refused, with its place.
    let feed = "supplies: {mga_feed: {mg_per_lb: 1, lb_a_head: 2}}\n";
    folder.write("s.yaml", format!("{SEASON}{feed}"));
    run(&[]).refused(&["O102", "supplies.mga_feed", "0.5 mg a head"]);
}

/// Feed that is not bought in packages is weighed as people read weights; else as its packages are.
#[test]
fn feed_is_weighed_in_the_chosen_unit() {
    let unit = |feed: &str, weight: &str| {
        let supplies = if feed.is_empty() {
            String::new()
        } else {
            format!("supplies: {{mga_feed: {feed}}}\n")
        };
        let text = SEASON
            .replace("class: cow", "class: heifer")
            .replace("cow-7-day-co-synch-insert", "heifer-mga-pg");
        let told = listed(&format!("{text}{supplies}units: {{weight: {weight}}}\n")).2;
        let item = told.item("mga_feed").unwrap();
        (item.feed.clone().unwrap().unit, item.buy_unit.clone())
    };
    for (weight, other) in [("kg", "lb"), ("lb", "kg")] {
        assert_eq!(unit("", weight).0, weight);
        assert_eq!(unit("{mg_per_lb: 0.25}", weight).0, weight);
        let bags = format!("{{mg_per_lb: 0.25, packages: [{{{other}: 50}}]}}");
        let expected = (other.to_owned(), Some(other.to_owned()));
        assert_eq!(unit(&bags, weight), expected);
    }
}
