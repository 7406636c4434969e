//! Percentages counted with, from the season and the publications listed for its protocols.

use super::Found;
use super::curve::Carried;
use thawline::figures::Breed;
use thawline::forecast::{From, Gestation, Rate};
use thawline::plan::Plan;
use thawline::protocol::{Kind, Pregnant, Semen};
use thawline::season::{Group, OwnGestation, Season, Share};
use thawline::tank::allocation::{Allocation, allocate};
use thawline::units::Percent;

/// Animals of a trial whose number is not published.
const TRIAL: f64 = 100.0;

/// Timed AI in general (LAMB-QA), and one service at a natural heat (DEJ-ES).
const TIMED: ([f64; 3], &str) = (
    [40.0, 55.0, 65.0],
    "LAMB-QA; fixed-time AI of heifers: a realistic goal, poor and best herds",
);
const NATURAL: ([f64; 3], &str) = ([65.0, 67.5, 70.0], "DEJ-ES; one service at a natural heat");

/// Standard deviation between trials of one protocol on the logit scale: numpy, by `DerSimonian` and Laird, over
/// the figures of the library.
const BETWEEN: f64 = 0.177;

/// Breed, mean and source of gestation (TORELL, BIF-GL, REV-GL), as published.
const BREEDS: [(Breed, f64, &str); 10] = [
    (Breed::Other, 283.0, "TORELL"),
    (Breed::Angus, 278.6, "ANGUS-GL"),
    (Breed::Brahman, 292.0, "TORELL"),
    (Breed::BrownSwiss, 292.0, "REV-GL"),
    (Breed::Charolais, 289.0, "TORELL"),
    (Breed::Hereford, 285.0, "TORELL"),
    (Breed::Jersey, 279.0, "TORELL"),
    (Breed::Limousin, 289.0, "TORELL"),
    (Breed::Shorthorn, 282.0, "TORELL"),
    (Breed::Simmental, 284.3, "BIF-GL"),
];

/// One standard deviation, of Angus (ANGUS-GL), and of Simmental for all others (BIF-GL).
fn sd(breed: Breed) -> (f64, &'static str) {
    if breed == Breed::Angus {
        (4.6, "ANGUS-GL")
    } else {
        (5.52, "BIF-GL")
    }
}

/// Low, expected, high in percent, whose they are, and from where.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Known {
    pub(super) ends: [f64; 3],
    from: From,
    source: String,
}

impl Known {
    /// As shares of 1.
    pub(super) fn of_one(&self) -> [f64; 3] {
        self.ends.map(|x| x / 100.0)
    }
}

fn own(share: &Share) -> Known {
    Known {
        ends: [share.low, share.expected, share.high].map(Percent::get),
        from: From::Own,
        source: "your own figure".to_owned(),
    }
}

fn general((ends, source): ([f64; 3], &str), from: From) -> Known {
    Known {
        ends,
        from,
        source: source.to_owned(),
    }
}

/// Heats that bulls settle.
pub(super) fn settled(share: Option<&Share>) -> Known {
    share.map_or_else(|| general(NATURAL, From::Published), own)
}

/// Head that do not cycle: 85 to 92 % come in heat (TIMED-2010).
pub(super) fn not_cycling(share: Option<&Share>) -> Known {
    const NO_HEAT: ([f64; 3], &str) = (
        [100.0 - 92.0, 100.0 - 88.5, 100.0 - 85.0],
        "TIMED-2010; not in heat after synchronization",
    );
    share.map_or_else(|| general(NO_HEAT, From::Published), own)
}

/// Pregnancies lost before calving: 1.26 and 3.46 % after a check later and sooner than day 53 (PREG-EARLY).
pub(super) fn lost(own_percent: Option<Percent>) -> Known {
    const AFTER_CHECK: ([f64; 3], &str) = (
        [1.26, 3.46, 3.46],
        "PREG-EARLY; after a check before day 53",
    );
    let Some(p) = own_percent else {
        return general(AFTER_CHECK, From::Published);
    };
    own(&Share {
        low: p,
        expected: p,
        high: p,
    })
}

/// What is published of a protocol with a sort of semen: one trial after the other moves the mean of the log
/// odds by what it weighs of all so far.
fn published(figures: &[Pregnant], sort: Semen) -> Option<Known> {
    let (mut mean, mut weight) = (0.0, 0.0);
    let mut tags = std::collections::BTreeSet::new();
    for p in figures.iter().filter(|p| p.semen == sort) {
        let head = p.head.map_or(TRIAL, f64::from);
        let pregnant = head * (p.low + p.high) / 200.0;
        let pregnant = pregnant.max(0.5).min(head - 0.5);
        let open = head - pregnant;
        let own = 1.0 / (1.0 / pregnant + 1.0 / open + BETWEEN.powi(2));
        weight += own;
        mean += ((pregnant / open).ln() - mean) * own / weight;
        tags.insert(p.tag.as_str());
    }
    let reach = 1.959_964 * (1.0 / weight + BETWEEN.powi(2)).sqrt();
    let share = |odds: f64| 50.0 + 50.0 * (odds / 2.0).tanh();
    (weight > 0.0).then(|| Known {
        ends: [mean - reach, mean, mean + reach].map(share),
        from: From::Published,
        source: tags.into_iter().collect::<Vec<_>>().join(", "),
    })
}

/// Pregnant to AI of those bred, with a share of sexed straws.
pub(super) fn to_ai(group: &Group, sexed: f64) -> Known {
    if let Some(share) = &group.calves.pregnant {
        return own(share);
    }
    let figures = &group.protocol.pregnant;
    let plain = published(figures, Semen::Conventional).unwrap_or_else(|| {
        let heat = group.protocol.kind == Kind::EstrusDetection;
        general(if heat { NATURAL } else { TIMED }, From::General)
    });
    // NELORE12: 131 of 338 against 188 of 325; STAI-SEXED: 48 against 59 %.
    let marked = published(figures, Semen::Sexed).unwrap_or_else(|| Known {
        ends: [0, 1, 2].map(|n| plain.ends[n] * [38.76 / 57.85, 48.0 / 59.0, 1.0][n]),
        from: From::General,
        ..plain.clone()
    });
    if sexed <= 0.0 {
        return plain;
    }
    if sexed >= 1.0 {
        return marked;
    }
    let both = [0, 1, 2].map(|n| plain.ends[n] + sexed * (marked.ends[n] - plain.ends[n]));
    let from = [plain.from, marked.from];
    Known {
        ends: both,
        from: if from[0] == from[1] {
            from[0]
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

/// Share of the straws of each group that is sexed: of those that its sessions take, or else of all
/// that its bulls have.
pub(super) fn sexed_shares(season: &Season, plan: &Plan) -> Vec<f64> {
    let allocation: Allocation = allocate(season, plan);
    let share = |straws: &mut dyn Iterator<Item = (u32, bool)>| {
        let (mut all, mut sexed) = (0, 0);
        for (n, is) in straws {
            all += n;
            sexed += if is { n } else { 0 };
        }
        (all > 0).then(|| f64::from(sexed) / f64::from(all))
    };
    let groups = plan.groups.iter().enumerate();
    groups
        .map(|(nth, group)| {
            let drawn = allocation.for_groups.iter().flatten();
            let mut taken = drawn.filter(|(g, d)| *g == nth && !d.again).map(|(_, d)| {
                let stock = &allocation.stocks[d.stock];
                let bull = &season.bulls[stock.bull];
                let sexed = bull.facts.sexed || stock.place.sort == Semen::Sexed;
                (d.straws, sexed)
            });
            let his = |id: &str| group.straws.iter().any(|s| s.bull == id);
            let bulls = season.bulls.iter().filter(|b| his(b.id.as_str()));
            let mut had = bulls.flat_map(|b| {
                let sexed = |sort: Semen| b.facts.sexed || sort == Semen::Sexed;
                b.places.iter().map(move |p| (p.straws.0, sexed(p.sort)))
            });
            share(&mut taken).or_else(|| share(&mut had)).unwrap_or(0.0)
        })
        .collect()
}

/// Gestation as the group has it, or as published for its breed.
pub(super) fn carried(own: &OwnGestation) -> Carried {
    let known = BREEDS.iter().find(|b| b.0 == own.breed);
    Carried {
        mean: own.days.unwrap_or(known.map_or(0.0, |b| b.1)),
        sd: own.spread_days.unwrap_or(sd(own.breed).0),
    }
}

impl Found {
    pub(super) fn rate(&mut self, who: &str, right: &Known, told: &Rate) {
        let got = [told.low_percent, told.percent, told.high_percent];
        for (right, got) in right.ends.into_iter().zip(got) {
            self.same(who, right, got, 1e-4);
        }
        self.exactly(
            who,
            &(right.from, &right.source),
            &(told.from, &told.source),
        );
        // Tags of publications are listed ones; a user's own protocol may have none.
        let tags = right.source.split([';', ',']).map(str::trim);
        let cited = tags.filter(|_| right.from == From::Published);
        let known = cited.clone().any(|t| thawline::sources::find(t).is_some());
        if cited.count() > 0 && !known {
            self.wrong(who, "a listed publication", &told.source);
        }
    }

    pub(super) fn gestation(&mut self, who: &str, own: &OwnGestation, told: &Gestation) {
        let (right, who) = (carried(own), format!("{who}, gestation"));
        self.same(&who, right.mean, told.mean_days, 1e-9);
        self.same(&who, right.sd, told.sd_days, 1e-9);
        let mean = BREEDS.iter().find(|b| b.0 == own.breed);
        for (own, source, tag) in [
            (own.days, &told.source, mean.map_or("", |b| b.2)),
            (own.spread_days, &told.sd_source, sd(own.breed).1),
        ] {
            let fits = match own {
                Some(_) => source == "your own figure",
                None => source.starts_with(tag),
            };
            if !fits {
                self.wrong(&who, tag, source);
            }
        }
        let differ = own.days.is_none() && !own.breed.other_figures().is_empty();
        self.exactly(&who, &differ, &told.disagreement.is_some());
    }
}
