//! Hours on the road and what they cost: counted by hand, and nothing that a plan is chosen by.

use thawline::figures::Money;
use thawline::plan::{OwnRoad, Plan};
use thawline::verify::verify;

use crate::support::{demo, plan_of};

/// Two corrals half an hour apart, and the town, from which they are 20 and 40 minutes. Cows of
/// both are bred on one day.
fn from_town(technician: &str, prices: &str) -> String {
    format!(
        "format: thawline.season/1
name: Two corrals (invented)
zone: America/Denver
sites:
  - {{id: town, injections_head_per_hour: 80, breeding_boxes: 1, minutes_to: {{north: 20, south: 40}}}}
  - {{id: north, injections_head_per_hour: 80, breeding_boxes: 1, minutes_to: {{south: 30}}}}
  - {{id: south, injections_head_per_hour: 80, breeding_boxes: 1}}
groups:
  - {{id: a, site: north, class: cow, head: 30, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T14:00\", order: kept, bulls: [Ash 1]}}
  - {{id: b, site: south, class: cow, head: 30, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T15:00\", order: kept, bulls: [Ash 1]}}
  - {{id: c, site: north, class: cow, head: 10, protocol: cow-7-day-co-synch-insert, start: \"2027-06-17T14:00\", order: kept, bulls: [Ash 1]}}
crew:
  - {{id: ana, minutes_per_cow: 3, minutes_spread: 0.5, helper: true{technician}}}
semen:
  - {{bull: Ash 1, straws: 200}}
{prices}"
    )
}

fn of<'a>(plan: &'a Plan, id: &str) -> Option<&'a OwnRoad> {
    let who = plan.technicians.iter().find(|t| t.id == id).unwrap();
    who.road.as_ref()
}

#[test]
fn a_day_divided_between_sites_goes_out_and_back_once() {
    let prices = "prices: {currency: USD, road_per_hour: 30}\n";
    let (season, plan) = plan_of(&from_town(", home_site: town", prices));
    assert!(plan.verdict.covered, "{:?}", plan.verdict);
    let road = of(&plan, "ana").unwrap();
    // Town, north, south, town: 20 + 30 + 40 minutes. A month later north and back: 40.
    let told: Vec<(usize, f64, Option<Money>)> = road
        .outings
        .iter()
        .map(|o| (o.sessions.len(), o.hours, o.cost))
        .collect();
    let expected = [(2, 1.5, Some(Money(45.0))), (1, 0.67, Some(Money(20.0)))];
    assert_eq!(told, expected);
    // 130 minutes: the sum is rounded, not its parts.
    assert_eq!((road.hours, road.cost), (2.17, Some(Money(65.0))));
    let all = plan.road.as_ref().unwrap();
    assert_eq!((all.hours, all.cost), (2.17, Some(Money(65.0))));
    let text = thawline::output::text::plan(&plan);
    let words: Vec<&str> = text.split_whitespace().collect();
    let told = "Together 2.2 h on the road, 65.00 USD at 30.00 USD an hour";
    assert!(words.join(" ").contains(told), "{text}");
    assert_eq!(verify(&season, &plan), []);
}

#[test]
fn from_one_of_the_sites_only_the_road_to_the_other_counts() {
    let (_, plan) = plan_of(&from_town(", home_site: north", ""));
    let road = of(&plan, "ana").unwrap();
    // There and back, and nothing for a day at home.
    assert_eq!((road.hours, road.cost), (1.0, None));
    assert_eq!(road.outings.len(), 1);
    assert!(!thawline::output::text::plan(&plan).contains("an hour:"));
}

#[test]
fn without_a_home_site_nothing_is_made_up() {
    let prices = "prices: {road_per_hour: 30}\n";
    let (_, plan) = plan_of(&from_town("", prices));
    assert_eq!((of(&plan, "ana"), &plan.road), (None, &None));
    let two = ", home_site: town}\n  - {id: burt, minutes_per_cow: 4, helper: true";
    let (_, plan) = plan_of(&from_town(two, prices));
    let breeds = plan.technicians[1].head > 0;
    let told = &plan.road.as_ref().unwrap().without_home;
    assert_eq!(told.as_slice(), if breeds { &["burt"][..] } else { &[] });
}

/// Heifers of one corral are bred before midnight, cows of the other after it.
#[test]
fn midnight_does_not_end_an_outing() {
    let night = from_town(", home_site: town", "")
        .replace("2027-05-17T14:00", "2027-05-17T06:00")
        .replace("2027-05-17T15:00", "2027-05-17T12:15")
        .replace(
            "helper: true",
            "helper: true, shifts: [{from: \"20:00\", to: \"05:00\"}]",
        );
    let (season, plan) = plan_of(&night);
    let may: Vec<_> = plan
        .sessions
        .iter()
        .filter(|s| s.id.starts_with('a') || s.id.starts_with('b'))
        .flat_map(|s| &s.technicians)
        .collect();
    assert_eq!(may.len(), 2, "{:?}", plan.verdict);
    let (a, b) = (may[0], may[1]);
    assert_ne!(a.last_cow.date_naive(), b.begins.date_naive());
    let from = b.leaves.as_ref().unwrap();
    assert_eq!(from.site, "north");
    assert_eq!(of(&plan, "ana").unwrap().outings[0].sessions.len(), 2);
    assert_eq!(verify(&season, &plan), []);
}

#[test]
fn a_price_changes_nothing_but_the_cost() {
    let priced = demo();
    let free = priced.replace("road_per_hour: 42", "road_per_hour: 0");
    assert_ne!(priced, free);
    let (_, priced) = plan_of(&priced);
    let (_, free) = plan_of(&free);
    let without = |mut plan: Plan| {
        plan.id.clear();
        plan.road = None;
        for t in &mut plan.technicians {
            t.road = None;
        }
        plan
    };
    assert_ne!(priced.road, free.road);
    assert_eq!(without(priced), without(free));
}

/// Two places at one spot, and a home from which both are an hour: whoever goes on from the one to the
/// other at the same moment is out once.
#[test]
fn no_road_between_two_places_is_no_way_home() {
    let text = "format: thawline.season/1
name: Two places at one spot (invented)
zone: America/Denver
country: BR
sites:
  - {id: s0, injections_head_per_hour: 4, breeding_boxes: 1}
  - {id: s1, injections_head_per_hour: 14, breeding_boxes: 1, minutes_to: {s0: 0}}
  - {id: home, injections_head_per_hour: 1, breeding_boxes: 1}
groups:
  - {id: g0, site: s1, class: heifer, head: 34, protocol: heifer-7-day-co-synch-insert, start: \"2023-10-18T17:00\", order: kept, bulls: [B4]}
  - {id: g1, site: s0, class: cow, head: 15, protocol: cow-estradiol-insert-pg7, start: \"2023-10-16T20:00\", bulls: [B5]}
crew:
  - {id: t0, cows_per_hour: 8, helper: true, home_site: home}
semen:
  - {bull: B4, straws: 34}
  - {bull: B5, straws: 2}
";
    let (season, plan) = plan_of(text);
    assert_eq!(verify(&season, &plan), []);
    let road = of(&plan, "t0").unwrap();
    assert_eq!(road.outings.len(), 1);
    assert_eq!(road.outings[0].sessions.len(), 2);
}

/// The town and a corral 90 minutes away by the road between them, 20 and 30 by way of the mill.
const BY_THE_MILL: &str = "format: thawline.season/1
name: By the mill (invented)
zone: America/Denver
sites:
  - {id: town, injections_head_per_hour: 80, breeding_boxes: 1, minutes_to: {corral: 90, mill: 20}, km_to: {corral: 60, mill: 15}}
  - {id: mill, injections_head_per_hour: 80, breeding_boxes: 1, km_to: {corral: 22}}
  - {id: corral, injections_head_per_hour: 80, breeding_boxes: 1, minutes_to: {mill: 30}}
  - {id: camp, injections_head_per_hour: 80, breeding_boxes: 1, minutes_to: {mill: 4}}
groups:
  - {id: a, site: corral, class: cow, head: 30, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T14:00\", order: kept, bulls: [Ash 1]}
crew:
  - {id: ana, minutes_per_cow: 3, helper: true, home_site: town}
semen: [{bull: Ash 1, straws: 200}]
";

#[test]
fn a_way_over_another_site_is_taken_where_it_is_shorter() {
    let (season, plan) = plan_of(BY_THE_MILL);
    let minutes = |a: usize, b: usize| season.sites[a].road[b].num_minutes();
    assert_eq!((minutes(0, 2), minutes(2, 0)), (50, 50));
    // Not stated: by way of the mill, and not the usual 60.
    assert_eq!((minutes(3, 0), minutes(3, 2)), (24, 34));
    let told: Vec<&str> = plan
        .findings
        .iter()
        .filter(|f| f.code.as_str() == "S129")
        .map(|f| f.what.as_str())
        .collect();
    let words = "the road between `town` and `corral` takes 90 minutes, and the way through `mill` takes 50 minutes: that is planned";
    assert_eq!(told, [words]);
    assert!(!plan.findings.iter().any(|f| f.code.as_str() == "S117"));
    // Out and back, and the length of the way that is taken.
    let road = of(&plan, "ana").unwrap();
    assert_eq!((road.hours, road.km), (1.67, Some(74.0)));
    let at = &plan.sessions[0].technicians[0];
    let leaves = at.leaves.as_ref().unwrap();
    assert_eq!(leaves.km, Some(37.0));
    assert_eq!((at.begins - leaves.by).num_minutes(), 50);
}

#[test]
fn a_time_that_nobody_gave_shortens_no_stated_road() {
    let far = BY_THE_MILL.replace(", mill: 20}", "}");
    let (season, plan) = plan_of(&format!("{far}rules: {{road_minutes: 10}}\n"));
    assert_eq!(season.sites[0].road[2].num_minutes(), 90);
    assert_eq!(season.sites[0].road[1].num_minutes(), 10);
    assert!(!plan.findings.iter().any(|f| f.code.as_str() == "S129"));
}

#[test]
fn roads_are_read_again() {
    let (season, plan) = plan_of(BY_THE_MILL);
    let refused = |change: fn(&mut thawline::season::Site)| {
        let mut other = season.clone();
        change(&mut other.sites[0]);
        !verify(&other, &plan).is_empty()
    };
    assert!(!refused(|_| ()));
    assert!(refused(|s| s.road[1] += chrono::TimeDelta::minutes(1)));
    assert!(refused(|s| s.road[2] = chrono::TimeDelta::minutes(90)));
    assert!(refused(|s| s.over[2] = vec![3]));
    assert!(refused(|s| s.over[2].clear()));
}

/// Two yards next door to each other: whoever leaves one is at the other.
#[test]
fn sites_may_be_no_minutes_apart() {
    let text = "format: thawline.season/1
name: Next door (invented)
zone: America/Denver
country: BR
sites:
  - {id: east, injections_head_per_hour: 4, breeding_boxes: 1}
  - {id: west, injections_head_per_hour: 14, breeding_boxes: 1, minutes_to: {east: 0}}
  - {id: town, injections_head_per_hour: 80, breeding_boxes: 1}
groups:
  - {id: a, site: west, class: heifer, head: 34, protocol: heifer-7-day-co-synch-insert, start: \"2023-10-18T17:00\", order: kept, bulls: [Ash 1]}
  - {id: c, site: east, class: cow, head: 15, protocol: cow-estradiol-insert-pg7, start: \"2023-10-16T20:00\", bulls: [Ash 1]}
crew: [{id: ana, cows_per_hour: 8, helper: true, home_site: town}]
semen: [{bull: Ash 1, straws: 200}]
";
    let (_, plan) = plan_of(text);
    let outings = &of(&plan, "ana").unwrap().outings;
    assert_eq!(outings.iter().map(|o| o.sessions.len()).max(), Some(2));
}

/// From the creek to the bench it is 150 minutes, as stated; over the mesa 40, and then 75 that nobody
/// stated. The way over the mesa is none for somebody who breeds nobody there.
#[test]
fn a_visit_at_which_nobody_is_bred_makes_no_road_shorter() {
    let (_, plan) = plan_of(
        "format: thawline.season/1
name: A long road (invented)
zone: Australia/Sydney
sites:
  - {id: bench, injections_head_per_hour: 110, breeding_boxes: 3, inserts_head_per_hour: 47.5, minutes_to: {creek: 150}}
  - {id: creek, injections_head_per_hour: 72.5, breeding_boxes: 2, minutes_to: {mesa: 40}}
  - {id: mesa, injections_head_per_hour: 60, breeding_boxes: 3}
groups:
  - {id: a, site: bench, class: cow, head: 46, protocol: both-insert-pg-label-56h, start: \"2029-01-04T00:00\", bulls: [b], order: kept}
  - {id: c, site: mesa, class: cow, head: 12, protocol: cow-presynch-ovsynch-12, start: \"2028-12-08T14:30\", bulls: [b]}
  - {id: d, site: bench, class: cow, head: 43, protocol: cow-7-and-7-synch-72h, start: \"2028-12-27T07:15\", bulls: [b], order: kept}
  - {id: e, site: creek, class: cow, head: 49, protocol: cow-estradiol-insert-pg7, start: \"2029-01-02T07:00\", bulls: [b]}
crew:
  - {id: ana, cows_per_hour: 20, home_site: mesa, shifts: [{from: \"05:30\", to: \"09:00\"}]}
  - {id: ben, minutes_per_cow: 3.8, helper: true}
  - {id: cal, cows_per_hour: 11.5, shifts: [{from: \"06:00\", to: \"09:00\"}]}
semen: [{bull: b, straws: 167}]
rules: {bath_to_cow_minutes: 12}
",
    );
    assert!(plan.verdict.covered_head > 100);
}
