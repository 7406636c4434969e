//! Over how many days a group is spread, where the season lets the plan do so.
//!
//! A lot is what begins on one day: it keeps the protocol's own hours, and is bred on a day of its own.
//! Which days, and how many head on each, follows from what each day could breed of the group beside all
//! others; each way is then counted as for a plan. The fewest days that breed most are taken. No way leaves
//! more than the one before it, so a search cut short never promises what a longer one does not keep; none
//! breaks a wish of the group that must hold and that its one start keeps.
//!
//! Days are settled first, by the room that each has: lots on days after the first share hardly
//! anybody, so rooms add up. A few ways suffice where all cuts of a group into lots would be thousands.

use std::collections::BTreeMap;

use chrono::{NaiveDateTime, TimeDelta};

use crate::base::progress::Progress;
use crate::base::time::{Instant, human_date};
use crate::base::units::Head;
use crate::planning::crew::sessions::parts::NEAR;
use crate::planning::crew::{Fault, count};
use crate::planning::dating::{self, DatedSeason, Due, Work};
use crate::planning::wishes::{Broken, Demands};
use crate::trade::protocol::{Anchor, Protocol};
use crate::trade::season::{Group, PenStarts, Season};

/// Days after the group's start on which a lot may begin: a week later the next treatment of the first is
/// due at the same hour.
pub const MOST_LATER: i64 = 6;
/// Minutes by which a lot may begin later or earlier on its day, where the chute is wanted by others; in
/// the order in which they are tried.
const MINUTES: [i64; 5] = [0, 60, -60, 120, 180];
/// Pens and their starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spread {
    /// Head in each pen.
    pub pens: Vec<Head>,
    /// When each begins.
    pub starts: Vec<NaiveDateTime>,
}

impl Spread {
    /// The group, spread.
    pub(crate) fn of(&self, group: &Group) -> Group {
        let mut spread = Group {
            pen_starts: PenStarts::Given(self.starts.clone()),
            starts_planned: true,
            ..group.clone()
        };
        spread.pens.clone_from(&self.pens);
        spread.days = 1;
        spread
    }

    /// What begins on each day: from when on, and how many head.
    #[must_use]
    pub fn lots(&self) -> Vec<(NaiveDateTime, u32)> {
        let mut by_day = BTreeMap::new();
        for (at, head) in self.starts.iter().zip(&self.pens) {
            let (from, all) = by_day.entry(at.date()).or_insert((*at, 0));
            *from = at.min(from).to_owned();
            *all += head.0;
        }
        by_day.into_values().collect()
    }

    /// As in "over 2 days: 60 head on Mon 24 May 2027, 50 on Tue 25 May 2027".
    #[must_use]
    pub fn words(&self) -> String {
        let lots = self.lots();
        let each = lots.iter().enumerate().map(|(n, (from, head))| {
            let unit = if n == 0 { " head" } else { "" };
            format!("{head}{unit} on {}", human_date(from.date()))
        });
        let each: Vec<String> = each.collect();
        format!("over {} days: {}", lots.len(), each.join(", "))
    }
}

/// What the days after a group's start could breed of it.
pub struct Days<'a> {
    season: &'a Season,
    group: usize,
    /// True if pens are kept whole.
    whole: bool,
    /// Chute work of the other groups: site, from, to.
    held: Vec<(usize, Instant, Instant)>,
    others: Vec<Due>,
    /// Head of the others that are left without the group.
    left: u32,
    /// Its wishes, and those of them that no way may break.
    wishes: Option<(Demands<'a>, Broken)>,
    progress: &'a dyn Progress,
    /// The most head that a lot begun so many days later could have, and when it begins.
    room: BTreeMap<i64, (u32, NaiveDateTime)>,
}

/// True if a group on a protocol may be spread over days at all: it is neither fed nor watched as one.
#[must_use]
pub fn may_spread(protocol: &Protocol) -> bool {
    protocol.steps.iter().all(|s| s.lasts_days.is_none())
}

impl<'a> Days<'a> {
    /// Looks at the days after a group's start. `whole` for pens that are kept whole.
    ///
    /// # Errors
    /// A [`Fault`] if the crew cannot be counted.
    pub fn new(
        season: &'a Season,
        group: usize,
        whole: bool,
        progress: &'a dyn Progress,
    ) -> Result<Self, Fault> {
        let all = dating::date_groups(season, &season.groups);
        let mine = |d: &&Due| d.group == group;
        let hours = all.dues.iter().filter(mine).map(Due::safe_hours);
        let first = hours.clone().map(|h| h.earliest.min(h.latest)).min();
        let last = hours.map(|h| h.earliest.max(h.latest)).max();
        let far = NEAR + TimeDelta::days(MOST_LATER);
        let near = |d: &Due| {
            let h = d.safe_hours();
            first.is_some_and(|f| h.latest.max(h.earliest) > f - NEAR)
                && last.is_some_and(|l| h.earliest.min(h.latest) < l + far)
        };
        let chute = all.passes.iter().filter(|p| p.work == Work::Chute);
        let held = chute
            .filter(|p| p.group != group)
            .map(|p| (season.groups[p.group].site, p.start, p.end))
            .collect();
        let others: Vec<Due> = all
            .dues
            .into_iter()
            .filter(|d| d.group != group && near(d))
            .collect();
        let of = &season.groups[group];
        let wishes = of.wishes.as_ref().map(|wishes| {
            let demands = Demands::new(season, wishes);
            let one = dating::date_groups(season, std::slice::from_ref(of));
            let broken = demands.of_dates(of, &one).map_or(0, |(_, broken)| broken);
            let kept = demands.hard & !broken;
            (demands, kept)
        });
        let mut days = Self {
            season,
            group,
            whole,
            held,
            others,
            left: 0,
            wishes,
            progress,
            room: BTreeMap::new(),
        };
        days.left = days.uncovered(Vec::new(), false)?;
        Ok(days)
    }

    fn of(&self) -> &Group {
        &self.season.groups[self.group]
    }

    fn uncovered(&self, mut dues: Vec<Due>, as_planned: bool) -> Result<u32, Fault> {
        dues.extend(self.others.iter().cloned());
        let some = DatedSeason::of(dues);
        count::left(self.season, &some, as_planned, self.progress)
    }

    /// True if a way breaks a wish that must hold.
    fn breaks(&self, dated: &DatedSeason) -> bool {
        let of = |(demands, kept): &(Demands<'_>, Broken)| {
            let broken = demands.of_dates(self.of(), dated);
            broken.is_some_and(|(_, broken)| broken & kept != 0)
        };
        self.wishes.as_ref().is_some_and(of)
    }

    fn dated(&self, spread: &Spread) -> DatedSeason {
        let group = spread.of(self.of());
        let mut dated = dating::date_groups(self.season, std::slice::from_ref(&group));
        dated.dues.iter_mut().for_each(|d| d.group = self.group);
        dated
    }

    /// Passes that meet others in the chute or lie in hours kept free.
    fn held(&self, dated: &DatedSeason) -> usize {
        let chute: Vec<_> = dated
            .passes
            .iter()
            .filter(|p| p.work == Work::Chute)
            .collect();
        let span = chute.iter().map(|p| p.start).min();
        let span = span.zip(chute.iter().map(|p| p.end).max());
        let free = span.map_or(Vec::new(), |(a, b)| self.season.free_between(a, b));
        let site = self.of().site;
        let meets = |n: usize| {
            let (a, b) = (chute[n].start, chute[n].end);
            let other = self
                .held
                .iter()
                .any(|(s, c, d)| *s == site && a < *d && *c < b);
            let own = chute[..n].iter().any(|p| a < p.end && p.start < b);
            other || own || free.iter().any(|(c, d, _)| a < *d && *c < b)
        };
        (0..chute.len()).filter(|n| meets(*n)).count()
    }

    /// The most head of a lot that begins so many days later, about the group's clock time: 0 where its
    /// chute work would meet others or fall in hours kept free.
    fn room(&mut self, later: i64) -> Result<u32, Fault> {
        if let Some(known) = self.room.get(&later) {
            return Ok(known.0);
        }
        let own = self.of().start + TimeDelta::days(later);
        let mut best = (0, own);
        for minutes in MINUTES {
            let at = own + TimeDelta::minutes(minutes);
            // Nothing begins before the group's start.
            if at.date() != own.date() || (later == 0 && at < own) {
                continue;
            }
            if let Some(room) = self.room_at(at, best.0)? {
                best = (room, at);
            }
            if best.0 >= self.half() {
                break;
            }
        }
        self.room.insert(later, best);
        Ok(best.0)
    }

    /// Of two lots none need be larger.
    fn half(&self) -> u32 {
        let largest = self.of().pens.iter().map(|p| p.0).max().unwrap_or(1);
        let half = self.of().head().0.div_ceil(2);
        if self.whole { half.max(largest) } else { half }
    }

    /// The same for a lot that begins then, where it is more than is known of another start.
    fn room_at(&self, at: NaiveDateTime, known: u32) -> Result<Option<u32>, Fault> {
        let first = at == self.of().start;
        let fits = |head: u32| -> Result<bool, Fault> {
            let dated = self.dated(&Spread {
                pens: vec![Head(head)],
                starts: vec![at],
            });
            Ok((first || self.held(&dated) == 0)
                && !self.breaks(&dated)
                && self.uncovered(dated.dues, false)? <= self.left)
        };
        let (mut low, mut high) = (0, self.half() + 1);
        if known > 0 {
            low = known + 1;
            if !fits(low)? {
                return Ok(None);
            }
        }
        // Few may fit where many do not: first down by halves, then between.
        let mut head = self.half();
        while low == 0 && head > 0 {
            if fits(head)? {
                low = head;
                break;
            }
            high = head;
            head /= 2;
        }
        while low > 0 && high - low > 1 {
            let middle = low + (high - low) / 2;
            if fits(middle)? {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok((low > 0).then_some(low))
    }

    /// Ways to spread the group over so many days, the plainest first: days that follow each other, with
    /// even lots; then the days and lots for which there is most room.
    ///
    /// # Errors
    /// A [`Fault`] if the crew cannot be counted.
    pub fn ways(&mut self, days: u32) -> Result<Vec<Spread>, Fault> {
        let pens = self.of().pens.len();
        let most = if self.whole {
            pens as u32
        } else {
            self.of().head().0
        };
        if days < 2 || days > most || !may_spread(&self.of().protocol) {
            return Ok(Vec::new());
        }
        let plain: Vec<i64> = (0..i64::from(days)).collect();
        let mut rooms = vec![(0, self.room(0)?)];
        for later in 1..=MOST_LATER {
            let room = self.room(later)?;
            if room > 0 {
                rooms.push((later, room));
            }
        }
        let mut found = Vec::new();
        let mut chosen: Vec<Vec<i64>> = Vec::new();
        if plain.iter().all(|d| rooms.iter().any(|(l, _)| l == d)) {
            chosen.push(plain);
        }
        chosen.extend(roomiest(&rooms, days as usize, self.of().head().0));
        chosen.dedup();
        for laters in &chosen {
            let room: Vec<u32> = laters.iter().map(|l| self.room[l].0).collect();
            if self.whole {
                found.extend(self.begun(laters, &whole_pens(&self.of().pens, &room)));
                continue;
            }
            for heads in sizes(self.of().head().0, &room) {
                let lots: Vec<Vec<Head>> = heads.into_iter().map(|h| vec![Head(h)]).collect();
                found.extend(self.begun(laters, &lots));
            }
        }
        found.dedup();
        found.retain(|way| !self.breaks(&self.dated(way)));
        Ok(found)
    }

    /// Lots with their starts: each as found for its day, its pens in turn. `None` where a pen would begin in an
    /// hour that the clocks show again, by its second showing: no clock time says that.
    fn begun(&self, laters: &[i64], lots: &[Vec<Head>]) -> Option<Spread> {
        let (group, zone) = (self.of(), self.season.zone);
        let first = group
            .protocol
            .steps
            .iter()
            .find(|s| s.lasts_days.is_none() && s.anchor == Anchor::Start);
        let (mut pens, mut starts) = (Vec::new(), Vec::new());
        for (later, lot) in laters.iter().zip(lots) {
            let mut at = self.room.get(later)?.1;
            let mut free = None;
            for head in lot {
                let begun = zone.resolve(at).at;
                if free.is_some_and(|free| begun != free) {
                    return None;
                }
                pens.push(*head);
                starts.push(at);
                let pace = first.map(|s| self.season.sites[group.site].pace(s));
                let seconds = pace.map_or(0, |p| p.seconds_for(*head));
                // Nobody begins by the second.
                let through = begun + TimeDelta::minutes((seconds + 59) / 60);
                (at, free) = (zone.local(through), Some(through));
            }
        }
        (lots.len() == laters.len() && !lots.iter().any(Vec::is_empty))
            .then_some(Spread { pens, starts })
    }

    /// What a way comes to: passes that meet, and head left in all.
    fn cost(&self, spread: &Spread) -> Result<(usize, u32), Fault> {
        let dated = self.dated(spread);
        let held = self.held(&dated);
        Ok((held, self.uncovered(dated.dues, true)?))
    }

    /// The fewest days, up to so many, that breed most; `None` if one day does.
    fn best(&mut self, most: u32) -> Result<Option<Spread>, Fault> {
        let group = self.of().clone();
        let now = dating::date_groups(self.season, std::slice::from_ref(&group));
        let held = self.held(&now);
        let mut dues = now.dues;
        for due in &mut dues {
            due.group = self.group;
        }
        let mut least = (held, self.uncovered(dues, true)?);
        let mut best = None;
        for days in 2..=most {
            if least.1 <= self.left || self.progress.stop() {
                break;
            }
            for way in self.ways(days)? {
                if self.progress.stop() {
                    break;
                }
                let cost = self.cost(&way)?;
                if cost != least && cost.0 <= least.0 && cost.1 <= least.1 {
                    (least, best) = (cost, Some(way));
                }
            }
        }
        Ok(best)
    }
}

/// Days, the first among them, with room for most of so many head; of equals the earliest.
fn roomiest(rooms: &[(i64, u32)], days: usize, head: u32) -> Option<Vec<i64>> {
    let (first, others) = rooms.split_first()?;
    let mut best: Option<(u32, Vec<i64>)> = None;
    for mask in 0u32..1 << others.len() {
        if mask.count_ones() as usize + 1 != days {
            continue;
        }
        let mine = others.iter().enumerate();
        let mine = mine.filter(|(n, _)| mask >> n & 1 == 1).map(|(_, x)| x);
        let all: Vec<&(i64, u32)> = std::iter::once(first).chain(mine).collect();
        let room = all.iter().map(|x| x.1).sum::<u32>().min(head);
        let laters: Vec<i64> = all.iter().map(|x| x.0).collect();
        let better = |(r, l): &(u32, Vec<i64>)| room > *r || (room == *r && laters < *l);
        if best.as_ref().is_none_or(better) {
            best = Some((room, laters));
        }
    }
    best.map(|(_, laters)| laters)
}

/// Heads of lots: about equal; and, where some day has less room than that, each day filled to a level.
fn sizes(head: u32, room: &[u32]) -> Vec<Vec<u32>> {
    let days = room.len() as u32;
    let even: Vec<u32> = (0..days)
        .map(|k| head / days + u32::from(k < head % days))
        .collect();
    let mut found = vec![even];
    let mut left = head;
    let mut filled = vec![0; room.len()];
    while left > 0 {
        let open: Vec<usize> = (0..room.len()).filter(|n| filled[*n] < room[*n]).collect();
        if open.is_empty() {
            break;
        }
        let each = (left / open.len() as u32).max(1);
        for n in open {
            let more = each.min(room[n] - filled[n]).min(left);
            filled[n] += more;
            left -= more;
        }
    }
    // More than all days have room for: the rest is shared.
    for (n, lot) in filled.iter_mut().enumerate() {
        *lot += left / days + u32::from((n as u32) < left % days);
    }
    if filled.iter().all(|n| *n > 0) && filled != found[0] {
        found.push(filled);
    }
    found
}

/// Pens kept whole, in their order, on days with so much room: as few head beyond it as can be, then as
/// even as can be.
fn whole_pens(pens: &[Head], room: &[u32]) -> Vec<Vec<Head>> {
    let (pens_n, days) = (pens.len(), room.len());
    // For each number of first pens on the first days: what is beyond, the largest lot, and the cut.
    let mut best: Vec<Vec<Option<(u32, u32, usize)>>> = vec![vec![None; pens_n + 1]; days + 1];
    best[0][0] = Some((0, 0, 0));
    for day in 0..days {
        for upto in day + 1..=pens_n {
            for from in day..upto {
                let Some((beyond, largest, _)) = best[day][from] else {
                    continue;
                };
                let lot: u32 = pens[from..upto].iter().map(|h| h.0).sum();
                let cost = (
                    beyond + lot.saturating_sub(room[day]),
                    largest.max(lot),
                    from,
                );
                if best[day + 1][upto].is_none_or(|b| cost < b) {
                    best[day + 1][upto] = Some(cost);
                }
            }
        }
    }
    let mut lots = Vec::new();
    let mut upto = pens_n;
    for day in (0..days).rev() {
        let Some((_, _, from)) = best[day + 1][upto] else {
            return Vec::new();
        };
        lots.push(pens[from..upto].to_vec());
        upto = from;
    }
    lots.reverse();
    lots
}

/// How a group of the season is spread over days, beside all others as they stand; `None` if it begins on
/// one day.
///
/// # Errors
/// A [`Fault`] if the crew cannot be counted.
pub fn spread(
    season: &Season,
    group: usize,
    progress: &dyn Progress,
) -> Result<Option<Spread>, Fault> {
    let of = &season.groups[group];
    if of.days < 2 || !may_spread(&of.protocol) {
        return Ok(None);
    }
    Days::new(season, group, of.pens_stated, progress)?.best(of.days)
}
