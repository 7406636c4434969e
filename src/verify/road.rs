//! Time on the road and its cost, leg by leg: each session is asked what its technicians drive to
//! it, and what they drive home from it if they go nowhere else.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

use super::Reading;
use crate::season::Technician;

/// A technician at a session.
struct Stay<'a> {
    session: &'a str,
    site: usize,
    begins: DateTime<Utc>,
    last: DateTime<Utc>,
}

/// Whoever breeds again before the day is over, or before a night of eight hours is, has not been
/// home.
pub(super) fn goes_on(r: &Reading<'_>, last: DateTime<Utc>, begins: DateTime<Utc>) -> bool {
    last < begins
        && (r.local(last).date() == r.local(begins).date()
            || (begins - last).num_seconds() < 8 * 3600)
}

pub(super) fn check(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    let price = season.prices.as_ref().and_then(|p| p.road_per_hour);
    let price = price.map(f64::from);
    let mut all_seconds = 0;
    let mut strays = Vec::new();
    for t in &season.crew {
        let who = format!("road of {}", t.id);
        let given = plan.technicians.iter().find(|x| x.id == t.id.as_str());
        let given = given.and_then(|x| x.road.as_ref());
        let stays = stays(r, t);
        let Some(home) = t.home else {
            r.same(&who, &false, &given.is_some());
            if !stays.is_empty() {
                strays.push(t.id.to_string());
            }
            continue;
        };
        let Some(given) = given else {
            r.wrong(&who, "hours on the road", "none");
            continue;
        };
        let legs = legs(r, &stays, home);
        let mut seconds = 0;
        let wanted: Vec<(NaiveDate, &[&str])> = legs
            .values()
            .map(|(day, sessions, _)| (*day, sessions.as_slice()))
            .collect();
        let told: Vec<(NaiveDate, Vec<&str>)> = given
            .outings
            .iter()
            .map(|o| (o.day, o.sessions.iter().map(String::as_str).collect()))
            .collect();
        let told: Vec<(NaiveDate, &[&str])> =
            told.iter().map(|(d, s)| (*d, s.as_slice())).collect();
        r.same(&who, &wanted, &told);
        for ((day, _, long), outing) in legs.values().zip(&given.outings) {
            let cost = outing.cost.map(|c| c.0);
            amounts(
                r,
                &format!("{who} on {day}"),
                *long,
                price,
                (outing.hours, cost),
            );
        }
        for (_, _, long) in legs.values() {
            seconds += long;
        }
        amounts(
            r,
            &who,
            seconds,
            price,
            (given.hours, given.cost.map(|c| c.0)),
        );
        all_seconds += seconds;
    }
    let home = season.crew.iter().any(|t| t.home.is_some());
    r.same("road", &home, &plan.road.is_some());
    if let Some(given) = &plan.road {
        amounts(
            r,
            "road",
            all_seconds,
            price,
            (given.hours, given.cost.map(|c| c.0)),
        );
        r.same("road", &price, &given.price_per_hour.map(f64::from));
        let currency = season.prices.as_ref().and_then(|p| p.currency.as_ref());
        r.same("road", &currency, &given.currency.as_ref());
        r.same("road", &strays, &given.without_home);
    }
}

fn stays<'a>(r: &Reading<'a>, t: &Technician) -> Vec<Stay<'a>> {
    let mut found = Vec::new();
    for s in &r.plan.sessions {
        let site = r.season.sites.iter().position(|x| x.id.as_str() == s.site);
        for at in s.technicians.iter().filter(|a| a.id == t.id.as_str()) {
            found.extend(site.map(|site| Stay {
                session: &s.id,
                site,
                begins: at.begins.with_timezone(&Utc),
                last: at.last_cow.with_timezone(&Utc),
            }));
        }
    }
    found.sort_by_key(|s| (s.begins, s.last));
    found
}

/// Seconds on the road, with the day and the sessions, of each outing that leaves the home site.
#[allow(clippy::type_complexity)]
fn legs<'a>(
    r: &Reading<'_>,
    stays: &[Stay<'a>],
    home: usize,
) -> BTreeMap<DateTime<Utc>, (NaiveDate, Vec<&'a str>, i64)> {
    let seconds = |a: usize, b: usize| r.season.sites[a].road[b].num_seconds();
    let mut found: BTreeMap<DateTime<Utc>, (NaiveDate, Vec<&str>, i64)> = BTreeMap::new();
    let mut out = None;
    for (n, stay) in stays.iter().enumerate() {
        let before = n.checked_sub(1).map(|b| &stays[b]);
        let before = before.filter(|b| goes_on(r, b.last, stay.begins));
        let next = stays.get(n + 1);
        let next = next.filter(|next| goes_on(r, stay.last, next.begins));
        let to = seconds(before.map_or(home, |b| b.site), stay.site);
        let back = next.map_or(seconds(stay.site, home), |_| 0);
        let first = before.and(out).unwrap_or(stay.begins);
        out = Some(first);
        let day = r.local(first).date();
        let outing = found.entry(first).or_insert((day, Vec::new(), 0));
        outing.1.push(stay.session);
        outing.2 += to + back;
    }
    found.retain(|_, (_, _, long)| TimeDelta::seconds(*long) > TimeDelta::zero());
    found
}

/// Hours and cost are those of so many seconds, to half a unit of the second digit.
fn amounts(
    r: &mut Reading<'_>,
    who: &str,
    seconds: i64,
    price: Option<f64>,
    (hours, cost): (f64, Option<f64>),
) {
    let exact = seconds as f64 / 3600.0;
    if (exact - hours).abs() > 0.006 {
        r.wrong(who, format!("{exact} hours"), hours);
    }
    match (price.map(|p| p * exact), cost) {
        (None, None) => {}
        (Some(wanted), Some(cost)) if (wanted - cost).abs() <= 0.006 => {}
        (wanted, cost) => r.wrong(who, format!("a cost of {wanted:?}"), format!("{cost:?}")),
    }
}
