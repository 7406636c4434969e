//! Another protocol with a wider window, bred at the same hour of the same day.

use chrono::{NaiveDateTime, TimeDelta};

use super::dates::may_start;
use super::{Ladder, Neighborhood};
use crate::service::staffing::change::{Change, OfGroup};
use crate::service::staffing::words::window;
use crate::trade::protocol::{Protocol, Semen, Step};
use crate::trade::season::{Group, HeatWatch, Season, WishName};

/// Nominal time from the start to the aim of the first breeding at set hours.
fn lead(protocol: &Protocol) -> Option<TimeDelta> {
    let steps = protocol.steps.iter().zip(protocol.nominal_offsets());
    steps
        .filter(|(s, _)| s.is_timed_breeding())
        .map(|(_, at)| at)
        .min()
}

/// A start that leads to breeding at the same time, to the quarter of an hour.
fn start(group: &Group, protocol: &Protocol) -> Option<NaiveDateTime> {
    let at = group.start + (lead(&group.protocol)? - lead(protocol)?);
    let off = at.and_utc().timestamp().rem_euclid(900);
    Some(at - TimeDelta::seconds(off))
}

/// True if a protocol is for the same animals, is permitted, breeds in the same way, and keeps what the
/// group wishes of protocols.
fn suits(season: &Season, group: &Group, protocol: &Protocol) -> bool {
    let now = &group.protocol;
    let wishes = group.wishes.as_ref();
    let semen = wishes.map_or(Semen::Conventional, |w| w.semen);
    let same = protocol.id != now.id
        && season.refuses(protocol, group.class).is_none()
        && protocol.class.serves(group.class)
        && protocol.kind == now.kind
        && protocol.cattle.iter().any(|c| now.cattle.contains(c))
        && protocol.semen.contains(&semen)
        && (now.research || !protocol.research)
        && now.second_service == protocol.second_service;
    let wished = wishes.is_none_or(|w| {
        let must = |name: WishName| !w.may_break.contains(&name);
        let id = protocol.id.to_string();
        let heat = protocol.steps.iter().any(Step::is_heat_breeding);
        w.suit(protocol)
            && (w.protocols.is_empty() || w.protocols.contains(&id))
            && !w.leave_out.contains(&id)
            && w.most_passes.is_none_or(|n| {
                !must(WishName::MostPasses) || protocol.chute_passes() <= n as usize
            })
            && w.most_days.is_none_or(|n| {
                !must(WishName::MostDays) || protocol.days_to_breeding() <= i64::from(n)
            })
            && (w.heat_watch != Some(HeatWatch::Unwanted) || !must(WishName::HeatWatch) || !heat)
    });
    same && wished
}

pub(super) fn wider(field: &Neighborhood<'_>, season: &Season) -> Vec<Ladder> {
    let of = |g: &usize| -> Ladder {
        let group = &season.groups[*g];
        let Some((now, _)) = window(group) else {
            return Vec::new();
        };
        let mut ladder: Vec<(i64, Change)> = Vec::new();
        for protocol in field.library.iter().filter(|p| suits(season, group, p)) {
            let mut other = group.clone();
            other.protocol = protocol.clone();
            let wide = window(&other)
                .is_some_and(|(w, _)| w.latest - w.earliest > now.latest - now.earliest);
            let Some(start) = start(group, protocol).filter(|_| wide) else {
                continue;
            };
            // One that begins before the season does is bred as many days later.
            let first = season.groups.iter().map(|g| g.start.date()).min();
            let late = first.map_or(0, |f| (f - start.date()).num_days().max(0));
            let start = start + TimeDelta::days(late);
            let other = OfGroup::Protocol(Box::new(protocol.clone()), start);
            let change = Change::Group(*g, other);
            let apart = (protocol.days_to_breeding() - group.protocol.days_to_breeding()).abs();
            if may_start(season, &change, *g, start) {
                ladder.push((apart, change));
            }
        }
        ladder.sort_by_key(|(apart, c)| (c.effort(season), *apart));
        ladder.into_iter().map(|(_, c)| c).collect()
    };
    field.groups().iter().map(of).collect()
}
