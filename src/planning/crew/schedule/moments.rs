//! A session's cows at the moments of whole thaw rounds, pen after pen.
//!
//! The flow says how many of which pen a technician breeds, to the slot. Here the moments are laid
//! anew, one technician after the other: in whole rounds without a break ([`crate::planning::crew::schedule::pack`]), never
//! with more animals in boxes than there are, and with the animals of a pen whose order is kept in
//! that order, whoever breeds them. Where the flow's own moments breed more, they stay.
//!
//! The flow does not know that the last cow of one technician may still stand in the box that the
//! next one's first cow needs. Where that leaves out a cow, somebody else may have a moment for
//! her; all may begin sooner or end later than whole slots, as hours are open to the second; or
//! whoever is first may be done soon instead of near the aims.
//!
//! Moments are laid anew because the flow knows slots, while people know thaw rounds, boxes and one
//! alley. Order and boxes are rules, and `verify/alley.rs` holds plans to them by the second. Whole
//! rounds are a wish: no verifier asks for them, and `tests/it/alley.rs` holds that no break inside a
//! pen was needless.
//!
//! Order is kept by the moment of entering. Of two cows the one in front may go to a slow technician
//! and be bred after the one behind her; an alley fixes only who enters first. Where a cow at the edge
//! of her hours does not fit her place, moments are laid again.

use std::collections::BTreeSet;

use super::pack::{Cow, Laid, Shared, Site, Taken, Worker};
use crate::base::progress::{Budget, Progress};
use crate::base::time::Instant;
use crate::planning::crew::Bred;
use crate::planning::crew::sessions::place;
use crate::planning::crew::sessions::unstaffed::{Able, Slots, Unstaffed};
use crate::planning::dating::DatedSeason;
use crate::trade::season::{Order, Season};

/// Times that moments are laid again, as animals of a pen change places.
const MOST_AGAIN: usize = 4;

/// Cows that are given to somebody else, one after the other, so that none is left out.
const MOST_GIVEN: usize = 8;

/// Work of finding cows to give to somebody else, in about microseconds: of many that are left out some are
/// tried, evenly spread.
const GIVEN_WORK: i64 = 500_000;

/// Lays the moments of a session's technicians anew. What cannot be bred so is left out of `bred`.
/// `able` says what each can do here, and whether that is a visit on the way through a day.
pub(crate) fn lay<'a>(
    season: &'a Season,
    dated: &'a DatedSeason,
    unstaffed: &Unstaffed,
    bred: &mut Vec<Bred>,
    able: &dyn Fn(usize) -> (&'a Able, bool),
    progress: &dyn Progress,
) {
    let free: Vec<(Instant, Instant)> = season
        .free_between(unstaffed.open, unstaffed.close)
        .into_iter()
        .map(|(a, b, _)| (a, b))
        .collect();
    let mut people: Vec<usize> = bred.iter().map(|b| b.technician).collect();
    people.sort_unstable();
    people.dedup();
    let site = &season.sites[unstaffed.site];
    let straws: u32 = people.iter().map(|t| able(*t).0.rounds.straws.0).sum();
    let budget = Budget::apart(progress, GIVEN_WORK);
    let arranged = |to_the_second: bool, soon: bool| {
        let workers = people.iter().map(|t| {
            let (able, visit) = able(*t);
            Worker {
                season,
                able,
                stretches: if to_the_second && !visit {
                    place::to_the_second(season, unstaffed, able)
                } else {
                    able.stretches.clone()
                },
                free: &free,
                soon,
                progress: &budget,
            }
        });
        let session = At {
            dated,
            workers: workers.collect(),
            boxes: Some(site.breeding_boxes).filter(|most| people.len() > *most as usize),
            bath: Some(site.thaw_bath.0).filter(|most| straws > *most),
            budget: &budget,
        };
        session.arrange(people.iter().map(|t| share(dated, bred, *t)).collect())
    };
    let mut laid = arranged(false, false);
    for soon in [false, true] {
        if score(&laid).0 > 0 && !budget.stop() {
            let wider = arranged(true, soon);
            if score(&wider).0 < score(&laid).0 {
                laid = wider;
            }
        }
    }
    let all: Vec<(usize, Cow)> = laid
        .into_iter()
        .zip(&people)
        .flat_map(|(laid, t)| laid.cows.into_iter().map(|c| (*t, c)))
        .collect();
    *bred = to_slots(season, &all);
}

/// A technician's cows by the time that the flow has for them.
fn share(dated: &DatedSeason, bred: &[Bred], technician: usize) -> Vec<Cow> {
    let mut cows: Vec<Cow> = Vec::new();
    for b in bred.iter().filter(|b| b.technician == technician) {
        for (n, at) in b.at.iter().enumerate() {
            let place = b.cows.get(n).copied();
            cows.push(Cow {
                due: b.due,
                hours: dated.dues[b.due].hours_with_straws(place.unwrap_or(0)),
                place,
                tick: *at,
                at: *at,
            });
        }
    }
    cows.sort_by_key(|c| (c.at, c.due));
    cows
}

/// A session and those who breed there.
struct At<'a> {
    dated: &'a DatedSeason,
    workers: Vec<Worker<'a>>,
    /// Boxes, where there are fewer than people.
    boxes: Option<u32>,
    /// Straws that the bath takes, where it cannot take everybody's.
    bath: Option<u32>,
    /// Work that is left to look for cows to give.
    budget: &'a Budget<'a>,
}

/// What speaks against a lay-out, the gravest first: cows lost, breaks, people, squared distance
/// from the aims.
type Score = (usize, usize, usize, f64);

fn score(all: &[Laid]) -> Score {
    (
        all.iter().map(|l| l.lost).sum(),
        all.iter().map(|l| l.breaks).sum(),
        all.iter().filter(|l| !l.cows.is_empty()).count(),
        all.iter().map(Laid::distance).sum(),
    )
}

/// Shares with a cow given to somebody else, and their lay-out.
type Given = (Score, Vec<Vec<Cow>>, Vec<Laid>);

/// The first of those that have least against them.
fn least(all: impl Iterator<Item = Given>) -> Option<Given> {
    all.min_by(|a, b| a.0.partial_cmp(&b.0).expect("no NaN"))
}

/// Cows that a lay-out leaves out, by technician and place in the share.
fn left_out(shares: &[Vec<Cow>], laid: &[Laid]) -> Vec<(usize, usize)> {
    let mut left = Vec::new();
    for (n, (share, laid)) in shares.iter().zip(laid).enumerate() {
        let bred: BTreeSet<Instant> = laid.cows.iter().map(|c| c.tick).collect();
        let mine = share.iter().enumerate();
        left.extend(
            mine.filter(|(_, c)| !bred.contains(&c.tick))
                .map(|(m, _)| (n, m)),
        );
    }
    left
}

impl At<'_> {
    /// The best lay-out of these shares, or of those in which somebody leaves a cow to another: one
    /// that is left out, or a single one.
    fn arrange(&self, mut shares: Vec<Vec<Cow>>) -> Vec<Laid> {
        let before = self.budget.left();
        let mut best = self.lay(&shares, true);
        // A cow is tried with everybody else.
        let each = ((before - self.budget.left()) * shares.len() as i64).max(1);
        for _ in 0..MOST_GIVEN {
            let left = left_out(&shares, &best);
            let tries = (self.budget.left() / each) as usize;
            if tries == 0 {
                break;
            }
            let given = left.iter().step_by(left.len().div_ceil(tries).max(1));
            let given = given.map(|(n, cow)| self.given(&shares, *n, *cow));
            let better = least(given.flatten()).filter(|g| g.0.0 < score(&best).0);
            let Some((_, tried, laid)) = better else {
                break;
            };
            (shares, best) = (tried, laid);
        }
        for n in 0..shares.len() {
            if shares[n].len() != 1 {
                continue;
            }
            let found = self.given(&shares, n, 0);
            if let Some((_, tried, laid)) = found.filter(|f| f.0 < score(&best)) {
                (shares, best) = (tried, laid);
            }
        }
        best
    }

    /// These shares with one cow of a technician given to whom she suits best.
    fn given(&self, shares: &[Vec<Cow>], n: usize, cow: usize) -> Option<Given> {
        let others = (0..shares.len()).filter(|o| *o != n && !shares[*o].is_empty());
        least(others.map(|other| {
            let mut tried = shares.to_vec();
            let cow = tried[n].remove(cow);
            tried[other].push(cow);
            tried[other].sort_by_key(|c| (c.tick, c.due));
            let laid = self.lay(&tried, false);
            (score(&laid), tried, laid)
        }))
    }

    /// These shares laid out. Moments as they are in the flow are tried where each has his or her own.
    fn lay(&self, shares: &[Vec<Cow>], as_flown: bool) -> Vec<Laid> {
        let mut found: Vec<Vec<Laid>> = Vec::new();
        // Room is left for those whose turn comes later, or not.
        let regards: &[bool] = if self.boxes.is_some() || self.bath.is_some() {
            &[true, false]
        } else {
            &[true]
        };
        for regard in regards {
            found.push(self.in_turn(shares, *regard, as_flown));
            if score(&found[found.len() - 1]).0 == 0 {
                break;
            }
        }
        if as_flown && found.iter().all(|f| score(f).0 > 0) {
            let mut flown = self.each(shares, true, |worker, cows, site| {
                worker.as_flown(cows, site)
            });
            self.in_order(&mut flown, true);
            found.push(flown);
        }
        let best = found.into_iter().enumerate().min_by(|(m, a), (n, b)| {
            let order = score(a).partial_cmp(&score(b)).expect("no NaN");
            order.then(m.cmp(n))
        });
        best.map(|(_, laid)| laid).unwrap_or_default()
    }

    /// In whole rounds, and again as animals of a pen change places, until all are in their hours.
    fn in_turn(&self, shares: &[Vec<Cow>], regard: bool, as_flown: bool) -> Vec<Laid> {
        let mut laid = self.each(shares, regard, |worker, cows, site| {
            let laid = worker.in_rounds(cows, site);
            let flown = worker.as_flown(cows, site);
            if as_flown && flown.lost < laid.lost {
                flown
            } else {
                laid
            }
        });
        for _ in 0..MOST_AGAIN {
            let mut placed = laid.clone();
            if self.in_order(&mut placed, false) {
                return placed;
            }
            let again: Vec<Vec<Cow>> = placed.iter().map(|l| l.cows.clone()).collect();
            let mut next = self.each(&again, regard, |worker, cows, site| {
                worker.in_rounds(cows, site)
            });
            for (next, before) in next.iter_mut().zip(&laid) {
                next.lost += before.lost;
            }
            if score(&next).0 > score(&laid).0 {
                break;
            }
            laid = next;
        }
        self.in_order(&mut laid, true);
        laid
    }

    /// Everybody's cows laid out, whoever comes first going first.
    fn each(
        &self,
        shares: &[Vec<Cow>],
        regard: bool,
        lay: impl Fn(&Worker<'_>, &[Cow], &Site) -> Laid,
    ) -> Vec<Laid> {
        let mut order: Vec<usize> = (0..shares.len()).collect();
        order.sort_by_key(|n| (shares[*n].first().map(|c| c.tick), *n));
        let mut laid: Vec<Option<Laid>> = vec![None; shares.len()];
        for n in order {
            let site = self.taken(&laid, n, shares, regard);
            laid[n] = Some(lay(&self.workers[n], &shares[n], &site));
        }
        laid.into_iter().map(Option::unwrap_or_default).collect()
    }

    /// The site as one technician finds it: with those who are laid out, and if `regard` is set with
    /// the others as the flow has them.
    fn taken(&self, laid: &[Option<Laid>], n: usize, shares: &[Vec<Cow>], regard: bool) -> Site {
        let (mut boxes, mut bath): (Vec<Taken>, Vec<Taken>) = (Vec::new(), Vec::new());
        if self.boxes.is_some() || self.bath.is_some() {
            let others = self.workers.iter().enumerate();
            for (other, worker) in others.filter(|(o, _)| *o != n) {
                if let Some(laid) = &laid[other] {
                    boxes.extend(laid.cows.iter().map(|c| worker.in_box(c.at)));
                    bath.extend(&laid.baths);
                } else if regard {
                    boxes.extend(shares[other].iter().map(|c| worker.in_box(c.tick)));
                }
            }
        }
        Site {
            boxes: Shared::new(self.boxes, boxes),
            bath: Shared::new(self.bath, bath),
        }
    }

    /// Where the order is kept, the animals of a pen enter the boxes in their order, whoever breeds
    /// them. False if one of them is then bred outside her hours; where `only` is set, she is lost.
    fn in_order(&self, all: &mut [Laid], only: bool) -> bool {
        let dues: BTreeSet<usize> = all.iter().flat_map(|l| &l.cows).map(|c| c.due).collect();
        let mut well = true;
        for d in dues {
            let due = &self.dated.dues[d];
            if due.order != Order::Kept {
                continue;
            }
            let mut mine: Vec<(i64, usize, usize)> = Vec::new();
            for (who, laid) in all.iter().enumerate() {
                let in_box = self.workers[who].able.rounds.cow.0 * 1000.0;
                for (n, cow) in laid.cows.iter().enumerate().filter(|(_, c)| c.due == d) {
                    let enters = cow.at.timestamp_millis() - in_box.round() as i64;
                    mine.push((enters, who, n));
                }
            }
            mine.sort_unstable();
            let at = |m: &(i64, usize, usize)| all[m.1].cows[m.2].at;
            let fits = |m: &(i64, usize, usize), place: u32| {
                let hours = due.hours_with_straws(place);
                hours.earliest <= at(m) && at(m) <= hours.latest
            };
            let mut places: Vec<Option<u32>> =
                mine.iter().map(|m| all[m.1].cows[m.2].place).collect();
            places.sort_unstable();
            let fit = |(m, place): (&_, &Option<u32>)| place.is_some_and(|p| fits(m, p));
            if !mine.iter().zip(&places).all(fit) {
                well = false;
                if only {
                    // Of all animals of the pen, as many as fit; the first of them first.
                    let mut next = 0;
                    for (m, place) in mine.iter().zip(&mut places) {
                        let mut left = (next..due.head.0)
                            .skip_while(|p| due.hours_with_straws(*p).latest < at(m));
                        *place = left.next().filter(|p| fits(m, *p));
                        next = place.map_or(next, |p| p + 1);
                    }
                }
            }
            for (m, place) in mine.into_iter().zip(places) {
                let cow = &mut all[m.1].cows[m.2];
                cow.place = place;
                cow.hours = due.hours_with_straws(place.unwrap_or(0));
            }
            if only {
                for laid in &mut *all {
                    let before = laid.cows.len();
                    laid.cows.retain(|c| c.due != d || c.place.is_some());
                    laid.lost += before - laid.cows.len();
                }
            }
        }
        well
    }
}

fn to_slots(season: &Season, laid: &[(usize, Cow)]) -> Vec<Bred> {
    let rows = laid.iter().map(|(t, c)| (Slots::row(season, c.at), *t, *c));
    let mut all: Vec<(Instant, usize, Cow)> = rows.collect();
    all.sort_by_key(|(row, t, c)| (*row, *t, c.at));
    let mut bred: Vec<Bred> = Vec::new();
    for (start, technician, cow) in all {
        match bred.last_mut() {
            Some(b) if (b.slot, b.technician, b.due) == (start, technician, cow.due) => {
                b.at.push(cow.at);
                b.cows.extend(cow.place);
            }
            _ => bred.push(Bred {
                slot: start,
                due: cow.due,
                technician,
                at: vec![cow.at],
                cows: cow.place.into_iter().collect(),
            }),
        }
    }
    bred
}
