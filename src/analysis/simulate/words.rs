//! The verdict in plain words.

use super::{ByStraws, Chance, Law, SessionChance, Trial};
use crate::base::units::hundredths;
use crate::planning::plan::Moment;
use crate::trade::season::Season;

/// A session in sentences, the answer first.
pub(super) fn session(season: &Season, trial: Trial, s: &SessionChance) -> Vec<String> {
    let runs = trial.runs.max(1);
    // The day stands with a time of another.
    let clock = |at: Moment| {
        let told = season.zone.told();
        if at.date_naive() == s.planned_last_cow.date_naive() {
            told.time(at)
        } else {
            told.day(at.naive_local())
        }
    };
    let limit = figure(season.rules.bath_to_cow.minutes());
    let mut words = vec![
        format!(
            "The last cow is bred by {} on half of all days, by {} on 19 days in 20; planned is {}.",
            clock(s.last_cow.by_50_percent),
            clock(s.last_cow.by_95_percent),
            clock(s.planned_last_cow)
        ),
        if s.any_cow_outside.percent > 0.0 {
            format!(
                "On {} at least one cow is bred outside her AI window; {} head a day on average.",
                days(s.any_cow_outside, runs),
                figure(s.outside.mean_head)
            )
        } else {
            format!("On {} every cow is bred in her AI window.", all(runs))
        },
        if s.any_straw_late.percent > 0.0 {
            format!(
                "On {} at least one straw takes more than {limit} min from thaw bath to cow.",
                days(s.any_straw_late, runs)
            )
        } else {
            format!(
                "On {} no straw takes more than {limit} min from thaw bath to cow.",
                all(runs)
            )
        },
    ];
    if s.not_planned_head > 0 {
        words.push(format!(
            "These figures leave out {} head that the plan cannot breed.",
            s.not_planned_head
        ));
    }
    words
}

/// What all figures rest on.
pub(super) fn notes(season: &Season, trial: Trial, sessions: &[SessionChance]) -> Vec<String> {
    let law = match trial.law {
        Law::Gamma => "a gamma distribution",
        Law::LogNormal => "a lognormal distribution",
    };
    let mut notes = vec![format!(
        "Tried on {} for each session, seed {}. Minutes a cow vary by {law} with each technician's mean and spread; which distribution holds is not published.",
        counted(trial.runs.max(1)),
        trial.seed
    )];
    notes.push(format!(
        "Only so many days were tried, so each percentage may be off by up to {:.1} points (95 % sure).",
        (most_error(sessions) * 10.0).ceil() / 10.0
    ));
    let named = |assumed: fn(&super::TechnicianChance) -> bool| {
        let mut ids: Vec<String> = Vec::new();
        for t in sessions.iter().flat_map(|s| &s.technicians) {
            let id = format!("`{}`", t.id);
            if assumed(t) && !ids.contains(&id) {
                ids.push(id);
            }
        }
        ids.join(", ")
    };
    let assumed = named(|t| t.spread_assumed);
    if !assumed.is_empty() {
        notes.push(format!(
            "The spread of {assumed} is not given, so a third of the mean is used (common practice, no source): count some of your own cows, and set `minutes_spread`."
        ));
    }
    let overall = named(|t| t.from_cows_per_hour);
    if !overall.is_empty() {
        notes.push(format!(
            "The minutes a cow of {overall} are worked out from cows an hour at the plan's straws at once, and held for other numbers."
        ));
    }
    notes.push(format!(
        "A round is late if its last straw is in the cow more than {} min after it went into the bath (your `bath_to_cow_minutes`, or 15, SUMMER-AI). 10 straws at once are the most (SUMMER-AI).",
        figure(season.rules.bath_to_cow.minutes())
    ));
    notes.push(format!(
        "The plan accepts a late last straw in {} % of full rounds, by a formula; a session has many rounds.",
        figure(season.rules.late_straw_risk * 100.0)
    ));
    if sessions
        .iter()
        .flat_map(|s| &s.technicians)
        .any(|t| t.helper)
    {
        notes.push(
            "The formula takes a technician with a helper to be there whenever the first gun is ready. A slow cow keeps loaded guns waiting, so more rounds are late; a quick one leaves the technician waiting for a gun, so fewer head are bred an hour."
                .to_owned(),
        );
    }
    notes.push(
        "Not counted: fatigue (some technicians lose efficiency after 30 cows, others after 50, a few after about 100: BREEDER-PACE), broken things, cows that do not come, waiting for a box, coming late from another site, shifts that end, technicians who take over each other's cows."
            .to_owned(),
    );
    notes
}

fn all(runs: u32) -> String {
    if runs == 1 {
        "the one day tried".to_owned()
    } else {
        format!("each of the {} tried", counted(runs))
    }
}

/// `1 day in 40`, `7 days in 10`; of what came at least once.
fn days(chance: Chance, runs: u32) -> String {
    let p = chance.percent / 100.0;
    if chance.percent >= 100.0 {
        return all(runs);
    }
    if p >= 0.95 {
        // Never rounded to all of them.
        let of = if p < 0.98 { 20.0 } else { 100.0_f64 };
        return format!("{} days in {of}", (p * of).round().min(of - 1.0));
    }
    if p > 0.3 {
        return format!("{} days in 10", (p * 10.0).round().min(9.0));
    }
    let one_in = 1.0 / p;
    let step = 10f64.powf(one_in.log10().floor() - 1.0).max(1.0);
    format!(
        "1 day in {}",
        grouped(((one_in / step).round() * step) as u64)
    )
}

fn counted(days: u32) -> String {
    let s = if days == 1 { "" } else { "s" };
    format!("{} day{s}", grouped(u64::from(days)))
}

/// `10,000`.
fn grouped(n: u64) -> String {
    match n {
        0..1000 => n.to_string(),
        _ => format!("{},{:03}", grouped(n / 1000), n % 1000),
    }
}

/// Two decimals at the most; small figures are not rounded to nothing.
pub(crate) fn figure(x: f64) -> String {
    if x > 0.0 && x < 0.005 {
        return "under 0.01".to_owned();
    }
    hundredths(x).to_string()
}

/// No percentage is further off, in points, for having tried only so many days (95 %).
fn most_error(sessions: &[SessionChance]) -> f64 {
    let whole = |s: &SessionChance| [s.last_cow_outside, s.any_cow_outside, s.any_straw_late];
    let row = |b: &ByStraws| {
        [
            b.late_round.unwrap_or(b.late_session),
            b.late_session,
            b.any_cow_outside,
        ]
    };
    let rows = sessions
        .iter()
        .flat_map(|s| s.technicians.iter().flat_map(|t| &t.by_straws))
        .flat_map(row);
    let pens = sessions
        .iter()
        .flat_map(|s| s.pens.iter().map(|p| p.any_cow_outside));
    sessions
        .iter()
        .flat_map(whole)
        .chain(rows)
        .chain(pens)
        .map(|c| (c.high_percent - c.percent).max(c.percent - c.low_percent))
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_in_days() {
        let words = |percent: f64| {
            let c = Chance {
                percent,
                low_percent: 0.0,
                high_percent: 100.0,
            };
            days(c, 10_000)
        };
        for (percent, said) in [
            (0.01, "1 day in 10,000"),
            (0.033, "1 day in 3,000"),
            (2.5, "1 day in 40"),
            (2.63, "1 day in 38"),
            (14.0, "1 day in 7"),
            (33.3, "3 days in 10"),
            (58.0, "6 days in 10"),
            (94.9, "9 days in 10"),
            (96.0, "19 days in 20"),
            (99.99, "99 days in 100"),
            (100.0, "each of the 10,000 days tried"),
        ] {
            assert_eq!(words(percent), said, "{percent}");
        }
    }
}
