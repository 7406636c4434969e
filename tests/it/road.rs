//! Hours on the road and what they cost: counted by hand, and nothing that a plan is chosen by.

use thawline::forecast::Money;
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
    assert_eq!(
        told,
        [(2, 1.5, Some(Money(45.0))), (1, 0.67, Some(Money(20.0)))]
    );
    // 130 minutes: the sum is rounded, not its parts.
    assert_eq!((road.hours, road.cost), (2.17, Some(Money(65.0))));
    let all = plan.road.as_ref().unwrap();
    assert_eq!((all.hours, all.cost), (2.17, Some(Money(65.0))));
    let text = thawline::report::text::plan(&plan);
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
    assert!(!thawline::report::text::plan(&plan).contains("an hour:"));
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
