//! The nitrogen in the tank's own unit and in words, and what is found in it.

use chrono::NaiveDate;

use super::answer::{Day, Loss, Minimum, NitrogenAnswer};
use super::nitrogen::{MINIMUMS, Outlook, USUAL_INCHES};
use crate::base::error::{Code, Finding, quoted};
use crate::base::time::human_date;
use crate::base::units::{count, rounded};
use crate::trade::season::Tank;

/// The full tank and its unit; shares are told in percent where neither depth nor liters are known.
fn scale(tank: &Tank) -> (f64, &'static str) {
    tank.nitrogen
        .full
        .map_or((100.0, "%"), |(full, unit)| (full, unit.as_str()))
}

fn level(tank: &Tank, share: f64) -> String {
    let (full, unit) = scale(tank);
    format!("{:.1} {unit}", share * full)
}

/// The tank's nitrogen, if anything is known of it.
pub(super) fn answer(tank: &Tank, o: &Outlook, last: Option<NaiveDate>) -> Option<NitrogenAnswer> {
    let from = o.from?;
    let (full, unit) = scale(tank);
    let in_unit = |share: f64| rounded(share * full, 3);
    let (words, refill) = words(tank, o, last);
    Some(NitrogenAnswer {
        unit: unit.to_owned(),
        full,
        last_level: in_unit(from.share),
        last_date: from.date,
        loss: o.fit.map(|f| Loss {
            a_day: rounded(f.a_day * full, 4),
            standard_error: f.error.map(|e| rounded(e * full, 4)),
            a_day_at_most: f.at_most().map(|x| rounded(x * full, 4)),
            levels: f.levels,
            spare: f.spare,
        }),
        lost_an_opening: in_unit(tank.nitrogen.opening.unwrap_or(0.0)),
        limit: o.limit.map(|(share, _)| in_unit(share)),
        limit_from: o
            .limit
            .map(|(_, own)| if own { "your own" } else { "KSU-BT" }.to_owned()),
        published: MINIMUMS
            .iter()
            .map(|(inches, to, source)| Minimum {
                inches: *inches,
                to_inches: *to,
                source: (*source).to_owned(),
            })
            .collect(),
        days: o
            .days
            .iter()
            .map(|d| Day {
                date: d.date,
                level: in_unit(d.share),
                openings: d.openings,
                filled: d.filled,
            })
            .collect(),
        below_on: o.below_on,
        below_at_the_earliest: o.earliest,
        margin_days: tank.nitrogen.margin_days,
        refill_by: o.refill_by,
        last_session: last,
        runs_low: o.runs_low,
        // A unit that ends in a full stop ends the sentence too.
        words: words.iter().map(|w| w.replace("in..", "in.")).collect(),
        refill,
    })
}

/// In words, and which of them is the day to refill by.
fn words(tank: &Tank, o: &Outlook, last: Option<NaiveDate>) -> (Vec<String>, Option<usize>) {
    let (mut words, mut refill) = (Vec::new(), None);
    let Some(from) = o.from else {
        return (words, refill);
    };
    let (full, unit) = scale(tank);
    let read = if tank.nitrogen.readings.is_empty() {
        "Filled"
    } else {
        "Last read"
    };
    words.push(format!(
        "{read} {}: {} of {full:.1} {unit}.",
        human_date(from.date),
        level(tank, from.share),
    ));
    words.extend(loss(tank, o));
    if let Some((share, own)) = o.limit {
        let limit = level(tank, share);
        words.push(if own {
            format!("Refill below {limit}, your own limit.")
        } else {
            format!(
                "Refill below {limit} ({USUAL_INCHES} in., KSU-BT), as no limit of your own is given."
            )
        });
    }
    if let Some(filled) = o.filled_since {
        words.push(format!(
            "That is below the limit; it is filled on {}, as you state.",
            human_date(filled)
        ));
    }
    if let Some(by) = o.refill_by {
        words.push(runs_low(o));
        refill = Some(words.len());
        words.push(refill_by(tank, o, by, last));
    }
    if let (Some(last), Some(_)) = (last, o.fit) {
        let at = o.days.last().filter(|d| d.date == last);
        let level = at.map_or(String::new(), |d| {
            format!(", with {} left that evening", level(tank, d.share))
        });
        words.push(format!("Last session {}{level}.", human_date(last)));
    }
    (words, refill)
}

/// What it loses standing, and by being opened.
fn loss(tank: &Tank, o: &Outlook) -> Vec<String> {
    let Some(fit) = o.fit else {
        return vec![
            "What it loses a day is not known. Read the dipstick twice, some days apart, with no filling between."
                .to_owned(),
        ];
    };
    let (full, unit) = scale(tank);
    let sure = match (fit.error, fit.at_most()) {
        (Some(_), Some(most)) => format!(
            ". To be safe the refill day uses {:.3} (19 times in 20 it loses no more)",
            most * full
        ),
        _ => " (from two levels only: read it once more to know how sure that is)".to_owned(),
    };
    let a_day = format!(
        "Loses about {:.3} {unit} a day, from {} levels{sure}.",
        fit.a_day * full,
        fit.levels
    );
    let opened = match tank.nitrogen.opening {
        Some(x) if x > 0.0 => format!(
            "Each session that lifts canisters takes {} more, as you state.",
            level(tank, x)
        ),
        _ => "Nitrogen lost each time the tank is opened is not counted (no published figure). If you know yours, add `liters_lost_an_opening`."
            .to_owned(),
    };
    vec![a_day, opened]
}

fn runs_low(o: &Outlook) -> String {
    match (o.below_on, o.earliest) {
        (Some(on), Some(early)) if early < on => format!(
            "It runs below the limit on {}, or as early as {}.",
            human_date(on),
            human_date(early)
        ),
        (Some(on), _) => format!("It runs below the limit on {}.", human_date(on)),
        (None, Some(early)) => format!("It may run below the limit on {}.", human_date(early)),
        (None, None) => String::new(),
    }
}

fn refill_by(tank: &Tank, o: &Outlook, by: NaiveDate, last: Option<NaiveDate>) -> String {
    let first = o.filled_since.or(o.from.map(|f| f.date));
    if Some(by) == first {
        "REFILL NOW: no days are left to spare.".to_owned()
    } else {
        let after = last.is_some_and(|last| last < by);
        let safe = if after {
            " to keep semen safe after the season"
        } else {
            ""
        };
        format!(
            "REFILL {}BY {}{safe}, {} before it may run below the limit.",
            if o.filled_since.is_some() {
                "AGAIN "
            } else {
                ""
            },
            human_date(by),
            count(tank.nitrogen.margin_days, "full day", "full days")
        )
    }
}

pub(super) fn findings(tank: &Tank, o: &Outlook) -> Vec<Finding> {
    let mut found = Vec::new();
    found.extend(rises(tank, o));
    found.extend(unknown(tank, o));
    found.extend(low(tank, o));
    found
        .into_iter()
        .map(|f| f.at(tank.place.clone()))
        .collect()
}

fn rises(tank: &Tank, o: &Outlook) -> Option<Finding> {
    let first = o.rises.first()?;
    let (id, first) = (quoted(tank.id.as_str()), human_date(*first));
    let what = format!("the level of {id} rises by {first} with no filling between");
    let finding = Finding::warning(Code::LevelRises, what)
        .expected("levels that fall from filling to filling")
        .hint("add the day of the filling to `filled`, or correct the reading; the loss is fitted as if it had been filled");
    Some(finding)
}

fn unknown(tank: &Tank, o: &Outlook) -> Option<Finding> {
    // Nothing was asked where nothing was given.
    o.from?;
    let id = quoted(tank.id.as_str());
    let (what, hint) = if o.fit.is_none() {
        (
            format!("what {id} loses a day cannot be told from its readings"),
            "read the dipstick twice, some days apart, with no filling between",
        )
    } else if o.limit.is_none() {
        (
            format!("the level below which to refill {id} is not known"),
            "add `full_inches` or `full_cm`, or a limit of your own: `refill_below_liters`",
        )
    } else {
        return None;
    };
    let finding = Finding::note(Code::LossUnknown, what)
        .expected("readings and a limit from which the day to refill follows")
        .hint(hint);
    Some(finding)
}

fn low(tank: &Tank, o: &Outlook) -> Option<Finding> {
    let (limit, _) = o.limit?;
    let (finding, runs, day): (fn(Code, String) -> Finding, _, _) = if o.runs_low {
        (Finding::warning, "runs", o.below_on?)
    } else if o.may_run_low {
        (Finding::note, "may run", o.earliest?)
    } else {
        return None;
    };
    let (id, day) = (quoted(tank.id.as_str()), human_date(day));
    let what = format!(
        "{id} {runs} below {} on {day}, before its last session is over",
        level(tank, limit)
    );
    let by = human_date(o.refill_by?);
    Some(
        finding(Code::TankLow, what)
            .expected("nitrogen above the limit to the end of the last session")
            .hint(format!("refill by {by}, and add that day to `filled`")),
    )
}
