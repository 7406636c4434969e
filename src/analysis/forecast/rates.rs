//! Which percentages are counted with: the user's own, the protocol's, or those of the like in
//! general; with what is to be said of them.

use super::answer::{From, Rate};
use crate::analysis::tank::allocation::Allocation;
use crate::base::error::{Code, Finding, quoted};
use crate::base::units::Percent;
use crate::planning::plan::{self, Plan};
use crate::trade::figures::{GENERAL, GeneralRate};
use crate::trade::protocol::{self, Kind, Protocol, Semen};
use crate::trade::season::{Bull, Group, Season, Share};

/// What is said of a percentage that the user gives.
pub(super) const OWN: &str = "your own figure";

/// Trials that bred with both sorts of semen: what sexed semen costs.
const BOTH_SORTS: &str = "where both sorts were tried it was 48 against 59 % (STAI-SEXED), 39.67 against 47.9 % (SEXED-CALV) and 38.76 against 57.85 % (NELORE12)";

/// Of the percentage with conventional semen, what sexed semen got: least (NELORE12) and in the trial with
/// most animals (STAI-SEXED). At best it costs nothing.
const SEXED_OF_CONVENTIONAL: [f64; 3] = [38.76 / 57.85, 48.0 / 59.0, 1.0];

pub(super) fn own(share: &Share) -> Rate {
    Rate {
        low_percent: share.low.get(),
        percent: share.expected.get(),
        high_percent: share.high.get(),
        from: From::Own,
        source: OWN.to_owned(),
    }
}

fn general(g: &GeneralRate) -> Rate {
    Rate {
        low_percent: g.low_percent,
        percent: g.percent,
        high_percent: g.high_percent,
        from: From::General,
        source: format!("{}; {}", g.source, g.what),
    }
}

fn published(r: &protocol::Rate) -> Rate {
    Rate {
        low_percent: r.low,
        percent: r.mean,
        high_percent: r.high,
        from: From::Published,
        source: r.tags.join(", "),
    }
}

/// Heats that bulls settle: the user's own, or one service at a natural heat (DEJ-ES).
pub(super) fn settled(own_share: Option<&Share>) -> Rate {
    own_share.map_or_else(
        || Rate {
            from: From::Published,
            ..general(&GENERAL[2])
        },
        own,
    )
}

/// Head that do not cycle: the user's own, or those that do not come in heat in published herds, 85 to 92 % of which
/// do (TIMED-2010).
pub(super) fn not_cycling(own_share: Option<&Share>) -> Rate {
    own_share.map_or_else(
        || Rate {
            low_percent: 8.0,
            percent: 11.5,
            high_percent: 15.0,
            from: From::Published,
            source: "TIMED-2010; not in heat after synchronization".to_owned(),
        },
        own,
    )
}

/// Pregnancies lost before calving: the user's own, or those after a check later and earlier than day 53
/// (PREG-EARLY). Published percentages pregnant are of checks about day 30.
pub(super) fn lost(own_percent: Option<Percent>) -> Rate {
    own_percent.map_or_else(
        || Rate {
            low_percent: 1.26,
            percent: 3.46,
            high_percent: 3.46,
            from: From::Published,
            source: "PREG-EARLY; after a check before day 53".to_owned(),
        },
        |p| {
            own(&Share {
                low: p,
                expected: p,
                high: p,
            })
        },
    )
}

/// Of a group's straws the share that is sexed, of 1: of those that its sessions take; where none is
/// taken, as for animals bred on days that nobody knows, of those that its bulls have.
pub(super) fn sexed_share(
    season: &Season,
    plan: &Plan,
    group: &plan::Group,
    allocation: &Allocation,
) -> f64 {
    let nth = plan.groups.iter().position(|g| g.id == group.id);
    let drawn = allocation.for_groups.iter().flatten();
    let drawn = drawn.filter(|(g, d)| Some(*g) == nth && !d.again);
    let mut straws: Vec<(u32, bool)> = drawn
        .map(|(_, d)| {
            let stock = &allocation.stocks[d.stock];
            (d.straws, season.bulls[stock.bull].is_sexed(&stock.place))
        })
        .collect();
    if straws.is_empty() {
        let his = |b: &Bull| group.straws.iter().any(|s| s.bull == b.id.as_str());
        for bull in season.bulls.iter().filter(|b| his(b)) {
            straws.extend(bull.places.iter().map(|p| (p.straws.0, bull.is_sexed(p))));
        }
    }
    let all: u32 = straws.iter().map(|(n, _)| n).sum();
    let sexed: u32 = straws.iter().filter(|s| s.1).map(|(n, _)| n).sum();
    f64::from(sexed) / f64::from(all.max(1))
}

/// What is published of one sort of semen on a protocol. For sexed semen of which nothing is, what
/// is published of conventional, less what sexed semen costs; and a finding says so.
fn of_sort(protocol: &Protocol, sort: Semen) -> Rate {
    let known = protocol
        .rate(sort)
        .or_else(|| protocol.rate(Semen::Conventional));
    let in_general = || {
        general(if protocol.kind == Kind::EstrusDetection {
            &GENERAL[2]
        } else {
            &GENERAL[0]
        })
    };
    let mut rate = known.as_ref().map_or_else(in_general, published);
    if protocol.rate(sort).is_none() {
        rate.from = From::General;
        if sort == Semen::Sexed {
            let [low, mean, high] = SEXED_OF_CONVENTIONAL;
            rate.low_percent *= low;
            rate.percent *= mean;
            rate.high_percent *= high;
        }
    }
    rate
}

/// Percent pregnant of those bred to AI.
pub(super) fn to_ai(group: &Group, sexed: f64, findings: &mut Vec<Finding>) -> Rate {
    if let Some(share) = &group.calves.pregnant {
        return own(share);
    }
    let (plain, marked) = (
        of_sort(&group.protocol, Semen::Conventional),
        of_sort(&group.protocol, Semen::Sexed),
    );
    let name = quoted(group.id.as_str());
    let id = quoted(group.protocol.id.as_str());
    let mut said = |what: String, expected: &str| {
        let finding = Finding::note(Code::RateGeneral, what)
            .at(group.calves.place.clone())
            .expected(expected)
            .hint("give `pregnancy_percent` under `calves` of the group, from your own records");
        findings.push(finding);
    };
    if sexed < 1.0 && plain.from == From::General {
        said(
            format!(
                "no percentage pregnant is published for {id}; {name} is counted at {} to {} % ({})",
                plain.low_percent, plain.high_percent, plain.source
            ),
            "a figure for the protocol",
        );
    }
    if sexed > 0.0 && marked.from == From::General {
        said(
            format!(
                "no percentage pregnant is published for {id} with sexed semen; {name} is counted at that with conventional semen, less what sexed semen costs: {BOTH_SORTS}"
            ),
            "a figure for the protocol with sexed semen",
        );
    }
    if sexed <= 0.0 {
        return plain;
    }
    if sexed >= 1.0 {
        return marked;
    }
    let mix = |a: f64, b: f64| a * (1.0 - sexed) + b * sexed;
    Rate {
        low_percent: mix(plain.low_percent, marked.low_percent),
        percent: mix(plain.percent, marked.percent),
        high_percent: mix(plain.high_percent, marked.high_percent),
        from: if plain.from == marked.from {
            plain.from
        } else {
            From::General
        },
        source: if plain.source == marked.source {
            plain.source
        } else {
            format!("{}; sexed {}", plain.source, marked.source)
        },
    }
}
