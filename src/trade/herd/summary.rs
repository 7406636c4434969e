//! What is said of a whole group: counts by answer and reason, the group rule for heifers, the
//! spread of days, weights and condition, and each animal.

use chrono::NaiveDateTime;

use super::readiness::{Course, Judged, Readiness, Reason, judge};
pub use super::report::{
    AnimalReport, AnswerCount, Bin, Cycling, Gain, GroupReport, Histogram, ReasonCount, Thresholds,
};
use super::{Animal, Herd, verdict};
use crate::base::error::{Code, Finding, Place, quoted};
use crate::base::units::{Units, hundredths, tenths};
use crate::trade::protocol::{Class, Protocol};
use crate::trade::season::ReadyRules;

/// Least share of a group of heifers at tract score 4 or 5, in percent, 4 to 6 weeks before
/// breeding (PATT12).
const LEAST_CYCLING_PERCENT: f64 = 50.0;

/// Judges every animal of a herd. Class, protocol and start need not be a group's.
#[must_use]
pub fn report<'a>(
    group: (&'a str, &'a str),
    herd: &'a Herd,
    class: Class,
    protocol: &'a Protocol,
    start: NaiveDateTime,
    rules: &ReadyRules,
    units: Units,
) -> GroupReport<'a> {
    let course = Course::from_start(protocol, start);
    let judged: Vec<(&Animal, Judged)> = herd
        .animals
        .iter()
        .map(|a| (a, judge(a, class, &course, rules)))
        .collect();
    let answers = answers(&judged, rules);
    let mut report = GroupReport {
        group: group.0,
        name: group.1,
        class: class.as_str(),
        herd_file: &herd.file,
        protocol: protocol.id.as_str(),
        first_day: course.first_day,
        breeding_day: course.breeding_day,
        progestin: course.progestin,
        thresholds: Thresholds {
            calving_to_breeding_days: rules.days_since_calving,
            least_body_condition: rules.body_condition,
            heifer_mature_weight_percent: rules.mature_percent,
            heifer_gain_lb_per_day: rules.gain_lb_per_day,
        },
        head: herd.animals.len(),
        words: Vec::new(),
        answers,
        cycling: (class == Class::Heifer)
            .then(|| cycling(&herd.animals))
            .flatten(),
        gain: gain(&judged),
        histograms: histograms(class, &judged, rules),
        animals: judged.into_iter().map(|(a, j)| each(a, j)).collect(),
        units,
    };
    report.words = verdict::words(&report);
    report
}

impl GroupReport<'_> {
    /// What is wrong with the group as a whole; `place` is where the season names the herd.
    #[must_use]
    pub fn findings(&self, place: &Place) -> Vec<Finding> {
        let mut found = Vec::new();
        let need = self.head_of(Readiness::WithProgestin);
        if need > 0 && !self.progestin {
            let finding = Finding::warning(
                    Code::NoProgestin,
                    format!("{need} of {} animals of {} are likely not cycling, and `{}` gives no progestin", self.head, quoted(self.group), self.protocol),
                )
                .at(place.clone())
                .expected("a protocol with an insert or MGA for such animals (COWS-2015); PG acts only where there is a corpus luteum (CFR-690)")
                .hint("choose a protocol with an insert or MGA (`thawline protocols`), or let them wait; `thawline herd` lists them");
            found.push(finding);
        }
        if let Some(c) = self.cycling.filter(|c| !c.enough) {
            let finding = Finding::warning(
                    Code::FewCycling,
                    format!("{} of {} scored heifers of {} are at tract score 4 or 5: {} %", c.cycling_head, c.scored_head, quoted(self.group), c.percent),
                )
                .at(place.clone())
                .expected("at least half of the group, 4 to 6 weeks before breeding (PATT12)")
                .hint("start later, feed for more gain, or breed the ones that are ready and score the rest again");
            found.push(finding);
        }
        found
    }
}

fn each(a: &Animal, j: Judged) -> AnimalReport<'_> {
    AnimalReport {
        animal: &a.id,
        electronic: a.electronic,
        other_id: a.other_id.as_deref(),
        line: a.spot.line,
        answer: j.answer,
        reasons: j.reasons,
        days_since_calving_at_first_day: j.days_since_calving.map(|d| d[0]),
        days_since_calving_at_breeding: j.days_since_calving.map(|d| d[1]),
        months_at_breeding: j.months,
        body_condition: a.body_condition,
        mature_weight_percent: j.mature_percent.map(tenths),
        tract_score: a.tract_score,
        gain_needed_lb_per_day: j.gain_needed_lb_per_day.map(hundredths),
        ready_from: j.ready_from,
        answer_then: j.answer_then,
        blank: j.blank,
    }
}

fn answers(judged: &[(&Animal, Judged)], rules: &ReadyRules) -> Vec<AnswerCount> {
    let mut heads = [0; Readiness::ALL.len()];
    let mut of_reason = [[0; Reason::ALL.len()]; Readiness::ALL.len()];
    for (_, j) in judged {
        heads[j.answer as usize] += 1;
        for r in &j.reasons {
            of_reason[j.answer as usize][*r as usize] += 1;
        }
    }
    let counts = Readiness::ALL.into_iter().map(|answer| {
        let reasons = Reason::ALL.iter().map(|reason| ReasonCount {
            reason: *reason,
            words: reason.words(rules),
            source: reason.source(),
            head: of_reason[answer as usize][*reason as usize],
        });
        let told = |r: &ReasonCount| r.head > 0 && r.reason.answer() == answer;
        AnswerCount {
            answer,
            words: answer.words(),
            head: heads[answer as usize],
            reasons: reasons.filter(told).collect(),
        }
    });
    counts.collect()
}

fn cycling(animals: &[Animal]) -> Option<Cycling> {
    let scores = animals.iter().filter_map(|a| a.tract_score);
    let scored_head = scores.clone().count();
    let cycling_head = scores.filter(|s| *s >= 4).count();
    (scored_head > 0).then(|| {
        let percent = cycling_head as f64 * 100.0 / scored_head as f64;
        Cycling {
            scored_head,
            cycling_head,
            percent: tenths(percent),
            enough: percent >= LEAST_CYCLING_PERCENT,
        }
    })
}

fn gain(judged: &[(&Animal, Judged)]) -> Option<Gain> {
    let needs = judged.iter().filter_map(|(_, j)| j.gain_needed_lb_per_day);
    let needs: Vec<f64> = needs.collect();
    (!needs.is_empty()).then(|| Gain {
        head: needs.len(),
        mean_lb_per_day: hundredths(needs.iter().sum::<f64>() / needs.len() as f64),
        most_lb_per_day: hundredths(needs.iter().copied().fold(0.0, f64::max)),
    })
}

fn histograms(class: Class, judged: &[(&Animal, Judged)], rules: &ReadyRules) -> Vec<Histogram> {
    let first = if class == Class::Heifer {
        let when = if rules.gain_lb_per_day.is_some() {
            "at breeding, with the gain planned"
        } else {
            "as weighed"
        };
        histogram(
            "percent-of-mature-weight",
            format!(
                "Percent of mature weight {when} ({} wanted)",
                rules.mature_percent
            ),
            5.0,
            judged.iter().map(|(_, j)| j.mature_percent),
        )
    } else {
        histogram(
            "days-since-calving",
            format!(
                "Days from calving to breeding ({} wanted)",
                rules.days_since_calving
            ),
            10.0,
            judged
                .iter()
                .map(|(_, j)| j.days_since_calving.map(|d| d[1] as f64)),
        )
    };
    let condition = histogram(
        "body-condition",
        if class == Class::Heifer {
            "Body condition".to_owned()
        } else {
            format!("Body condition ({} wanted)", rules.body_condition)
        },
        0.5,
        judged.iter().map(|(a, _)| a.body_condition),
    );
    [first, condition].into_iter().flatten().collect()
}

/// More bins than fit a page say nothing: what lies beyond goes into the last.
const MOST_BINS: usize = 30;

fn histogram(
    of: &'static str,
    words: String,
    width: f64,
    values: impl Iterator<Item = Option<f64>> + Clone,
) -> Option<Histogram> {
    let bin = |v: f64| (v / width).floor() as i64;
    let known = || values.clone().flatten();
    let low = known().map(bin).min()?;
    let high = known().map(bin).max()?.min(low + MOST_BINS as i64 - 1);
    let mut heads = vec![0; (high - low + 1) as usize];
    for v in known() {
        heads[(bin(v).min(high) - low) as usize] += 1;
    }
    Some(Histogram {
        of,
        words,
        width,
        bins: (low..)
            .zip(&heads)
            .map(|(n, head)| Bin {
                from: n as f64 * width,
                head: *head,
            })
            .collect(),
        unknown_head: values.filter(Option::is_none).count(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::protocol::Library;

    fn report<T>(
        csv: &str,
        class: Class,
        protocol: &str,
        look: impl Fn(&GroupReport<'_>) -> T,
    ) -> T {
        let (herd, _) = crate::trade::herd::read("h.csv", csv.as_bytes(), class, None).unwrap();
        let library = Library::built_in();
        let start = "2027-05-03T08:00:00".parse().unwrap();
        let rules = ReadyRules::default();
        let protocol = library.get(protocol).unwrap();
        let (name, units) = (("g", "Group"), crate::base::units::Units::default());
        let report = super::report(name, &herd, class, protocol, start, &rules, units);
        look(&report)
    }

    /// At least half of the group at 4 or 5 (PATT12).
    #[test]
    fn half_of_the_scored_heifers_are_enough() {
        let enough = |scores: &str| {
            let csv = format!("tract_score,animal\n{scores}");
            report(&csv, Class::Heifer, "heifer-mga-pg", |r| r.cycling.unwrap())
        };
        let half = enough("4,1\n3,2\n");
        assert!(half.enough && (half.percent - 50.0).abs() < 1e-9);
        assert!(!enough("5,1\n3,2\n2,3\n").enough);
        // Heifers without a score do not count.
        assert_eq!(enough("5,1\n,2\n,3\n").scored_head, 1);
    }

    #[test]
    fn spreads_have_no_gaps_and_name_the_unknown() {
        let csv = "animal,last_calving_date,body_condition\n1,2027-03-01,5\n2,2027-03-02,5.5\n3,2027-04-01,\n4,,7\n";
        report(csv, Class::Cow, "cow-co-synch", |r| {
            let days = &r.histograms[0];
            // CO-Synch breeds 9 to 10 days after its start: 72, 71 and 41 days.
            let bins: Vec<(f64, usize)> = days.bins.iter().map(|b| (b.from, b.head)).collect();
            assert_eq!(bins, [(40.0, 1), (50.0, 0), (60.0, 0), (70.0, 2)]);
            assert_eq!((days.unknown_head, r.histograms[1].bins.len()), (1, 5));
            assert_eq!(
                r.words[0],
                "Of 4 cows, 2 are ready; 1 should wait for a later group; 1 cannot be judged: information is missing in the herd file."
            );
        });
    }

    #[test]
    fn a_far_animal_does_not_stretch_a_spread() {
        let csv = "animal,last_calving_date\n1,2027-03-01\n2,2012-03-01\n";
        report(csv, Class::Cow, "cow-co-synch", |r| {
            assert_eq!(r.histograms[0].bins.len(), MOST_BINS);
            assert_eq!(r.histograms[0].bins[MOST_BINS - 1].head, 1);
        });
    }
}
