//! Fillings of the tanks, by a fit and a walk of its own: which straws a session takes is `tank`'s.

use chrono::{Days, NaiveDate};

use super::{before, close, close_if, first_cow, tank_of};
use crate::oracle::Reading;
use thawline::season::{Nitrogen, Tank};
use thawline::supplies::OrderList;
use thawline::tank::allocation::allocate;

/// A hair below the limit is rounding.
const HAIR: f64 = 1e-9;

/// Least level in inches unless stated (KSU-BT).
const INCHES: f64 = 6.0;

/// A level that rises more is a filling that nobody wrote down (common practice, no source).
const RISE: f64 = 0.05;

/// Fillings are counted to there at the most.
const MOST: usize = 400;

pub(super) fn check(r: &mut Reading<'_>, told: &OrderList) {
    let allocation = allocate(r.season, r.plan);
    let opened = |n: usize| first_cow(&r.plan.sessions[n]);
    let sessions = 0..r.plan.sessions.len();
    let ids: Vec<&str> = r.season.tanks.iter().map(|t| t.id.as_str()).collect();
    let listed: Vec<&str> = told.nitrogen.iter().map(|t| t.tank.as_str()).collect();
    r.same("tanks of the list", &ids, &listed);
    for tank in &r.season.tanks {
        let id = tank.id.as_str();
        let Some(t) = tank_of(told, id) else { continue };
        let who = format!("nitrogen of {id}");
        let takes = |n: &usize| {
            let mut places = allocation.drawn[*n]
                .iter()
                .map(|d| &allocation.stocks[d.stock].place);
            places.any(|p| p.tank.as_deref() == Some(id))
        };
        let openings: Vec<NaiveDate> = sessions.clone().filter(takes).map(opened).collect();
        let all = sessions.clone().map(opened).max();
        let last = openings.iter().copied().max().or(all);
        r.same(&who, &tank.name, &t.name);
        r.same(&who, &last, &t.last_day);
        let right = last.map_or_else(Vec::new, |last| Walk::new(tank, &openings, last).fills());
        let days: Vec<(NaiveDate, bool)> = right.iter().map(|f| (f.0, f.1)).collect();
        let told_days: Vec<(NaiveDate, bool)> =
            t.fills.iter().map(|f| (f.date, f.stated)).collect();
        r.same(&who, &days, &told_days);
        let mut liters = 0.0;
        for ((date, _, share), fill) in right.iter().zip(&t.fills) {
            let goes_in = tank.liters.map(|l| l * share);
            liters += fill.liters.unwrap_or(0.0);
            close(r, &who, share * 100.0, fill.percent);
            close_if(r, &who, goes_in, fill.liters);
            let order = before(Some(*date), r.season.supplies.lead_days);
            r.same(&who, &order, &fill.order_by);
        }
        close_if(r, &who, tank.liters.map(|_| liters), t.liters);
    }
}

/// The days after the last level that is known.
struct Walk<'a> {
    tank: &'a Tank,
    from: Option<(NaiveDate, f64)>,
    /// Share lost a day, as expected and at the most; nothing where that is not known.
    loss: Option<(f64, f64)>,
    limit: Option<f64>,
    openings: &'a [NaiveDate],
    last: NaiveDate,
}

impl<'a> Walk<'a> {
    fn new(tank: &'a Tank, openings: &'a [NaiveDate], last: NaiveDate) -> Self {
        let n = &tank.nitrogen;
        let read = n.readings.iter().max_by_key(|l| l.date);
        let filled = n.filled.iter().min().map(|d| (*d, 1.0));
        Self {
            tank,
            from: read.map(|l| (l.date, l.share)).or(filled),
            loss: loss(n),
            limit: n.limit.or(n.full_inches.map(|full| INCHES / full)),
            openings,
            last,
        }
    }

    fn taken_out(&self, day: NaiveDate) -> f64 {
        let n = self.openings.iter().filter(|o| **o == day).count() as f64;
        n * self.tank.nitrogen.opening.unwrap_or(0.0)
    }

    /// True if a level of the evening, at the most lost, is below the limit within so many days, the
    /// tank not filled before; on a day up to `until`.
    fn too_low(&self, evening: f64, day: NaiveDate, within: u32, until: NaiveDate) -> bool {
        let (Some((_, most)), Some(limit)) = (self.loss, self.limit) else {
            return false;
        };
        let mut level = evening;
        for n in 1..=u64::from(within) {
            let Some(next) = day.checked_add_days(Days::new(n)) else {
                return false;
            };
            if self.tank.nitrogen.filled.contains(&next) {
                return false;
            }
            level -= most + self.taken_out(next);
            if level < limit - HAIR {
                return next <= until;
            }
        }
        false
    }

    /// Day, whether the season states it, and the share that goes in.
    fn fills(&self) -> Vec<(NaiveDate, bool, f64)> {
        let (Some((from, level)), Some((mean, most)), n) =
            (self.from, self.loss, &self.tank.nitrogen)
        else {
            return Vec::new();
        };
        let ahead = n.margin_days + 1;
        let mut fills = Vec::new();
        let mut levels = [level; 2];
        let mut day = from;
        while let Some(next) = day.succ_opt().filter(|d| *d <= self.last) {
            day = next;
            let out = self.taken_out(day);
            levels = [levels[0] - mean - out, levels[1] - most - out].map(|l| l.max(0.0));
            let stated = n.filled.contains(&day);
            // Where a full tank does not last the margin, it is filled on the eve.
            let far = NaiveDate::MAX;
            let within = if self.too_low(1.0, day, ahead, far) {
                1
            } else {
                ahead
            };
            let low = self.limit.is_some_and(|l| levels[1] < l - HAIR);
            let due = low || self.too_low(levels[1], day, within, self.last);
            if stated || (due && fills.len() < MOST) {
                fills.push((day, stated, 1.0 - levels[0]));
                levels = [1.0; 2];
            }
        }
        fills
    }
}

/// The slope of levels over days between fillings, and the high end of what it may be 19 times in
/// 20, by sums of products.
fn loss(n: &Nitrogen) -> Option<(f64, f64)> {
    let day = |d: NaiveDate| f64::from(chrono::Datelike::num_days_from_ce(&d));
    let mut levels: Vec<(NaiveDate, f64)> = n.readings.iter().map(|l| (l.date, l.share)).collect();
    for d in &n.filled {
        if levels.iter().all(|l| l.0 != *d) {
            levels.push((*d, 1.0));
        }
    }
    levels.sort_by_key(|l| l.0);
    let mut stretches: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut before = f64::NEG_INFINITY;
    for (date, share) in levels {
        let new = n.filled.contains(&date) || share > before + RISE;
        if new || stretches.is_empty() {
            stretches.push(Vec::new());
        }
        if let Some(stretch) = stretches.last_mut() {
            stretch.push((day(date), share));
        }
        before = share;
    }
    stretches.retain(|s| s.len() > 1);
    let (mut xx, mut xy, mut yy, mut count) = (0.0, 0.0, 0.0, 0_usize);
    for s in &stretches {
        let m = s.len() as f64;
        // Days from the first of them: large numbers would eat the digits.
        let x0 = s[0].0;
        let sum = |f: &dyn Fn(f64, f64) -> f64| s.iter().map(|(x, y)| f(x - x0, *y)).sum::<f64>();
        let (x, y) = (sum(&|x, _| x), sum(&|_, y| y));
        xx += sum(&|x, _| x * x) - x * x / m;
        xy += sum(&|x, y| x * y) - x * y / m;
        yy += sum(&|_, y| y * y) - y * y / m;
        count += s.len();
    }
    if xx <= 0.0 {
        return None;
    }
    let slope = -xy / xx;
    if slope <= 0.0 {
        return None;
    }
    let spare = count.saturating_sub(stretches.len() + 1);
    let rest = (yy - xy * xy / xx).max(0.0);
    let most = match spare {
        0 => slope,
        n => slope + student(n) * (rest / n as f64 / xx).sqrt(),
    };
    Some((slope, most))
}

/// Student's t that holds 19 in 20, by halving; its law for whole degrees is a sum of powers of
/// sine and cosine (Student's own form).
fn student(degrees: usize) -> f64 {
    let n = degrees as f64;
    let inside = |t: f64| {
        let angle = (t / n.sqrt()).atan();
        let (sin, cos) = angle.sin_cos();
        let odd = degrees % 2 == 1;
        let mut term = if odd { cos } else { 1.0 };
        let (mut sum, mut k) = (0.0, if odd { 3.0 } else { 2.0 });
        while k <= n {
            sum += term;
            term *= cos * cos * (k - 1.0) / k;
            k += 2.0;
        }
        if odd {
            std::f64::consts::FRAC_2_PI * (angle + sin * sum)
        } else {
            sin * sum
        }
    };
    let (mut low, mut high) = (0.0, 1000.0);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if inside(middle) < 0.95 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

#[cfg(test)]
mod tests {
    /// A table has 12.706, 4.303, 3.182, 2.776, 2.228 and 2.086 for 1, 2, 3, 4, 10 and 20 degrees (from
    /// memory).
    #[test]
    fn students_law_is_the_tables() {
        for (n, t) in [
            (1, 12.706),
            (2, 4.303),
            (3, 3.182),
            (4, 2.776),
            (10, 2.228),
            (20, 2.086),
        ] {
            assert!((super::student(n) - t).abs() < 6e-4, "{n}");
        }
    }
}
