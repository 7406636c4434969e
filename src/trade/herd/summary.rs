//! What is said of a whole group: counts by answer and reason, the group rule for heifers, the
//! spread of days, weights and condition, and each animal. This is the form of the report as JSON.

use chrono::{NaiveDate, NaiveDateTime};
use serde::Serialize;

use super::readiness::{Course, Judged, Readiness, Reason, judge};
use super::{Animal, Herd};
use crate::base::error::{Code, Finding, Place, quoted};
use crate::base::time::human_date;
use crate::base::units::{Units, hundredths};
use crate::trade::protocol::{Class, Protocol};
use crate::trade::season::ReadyRules;

/// Least share of a group of heifers at tract score 4 or 5, in percent, 4 to 6 weeks before
/// breeding (PATT12).
const LEAST_CYCLING_PERCENT: f64 = 50.0;

/// The readiness of a group on the first day of a protocol.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct GroupReport<'a> {
    /// Its id.
    pub group: &'a str,
    /// Its name.
    pub name: &'a str,
    /// cow or heifer.
    pub class: &'static str,
    /// Its herd file.
    pub herd_file: &'a str,
    /// The protocol's id.
    pub protocol: &'a str,
    /// The protocol's first day.
    pub first_day: NaiveDate,
    /// The first breeding, by the protocol's aim.
    pub breeding_day: NaiveDate,
    /// True if the protocol gives a progestin.
    pub progestin: bool,
    /// Thresholds used.
    pub thresholds: Thresholds,
    /// Animals in the file.
    pub head: usize,
    /// The verdict in sentences.
    pub words: Vec<String>,
    /// Head by answer.
    pub answers: Vec<AnswerCount>,
    /// The group rule, for heifers with tract scores.
    pub cycling: Option<Cycling>,
    /// Daily gain for heifers below the percentage of mature weight.
    pub gain: Option<Gain>,
    /// Spreads.
    pub histograms: Vec<Histogram>,
    /// Each animal, in the file's order.
    pub animals: Vec<AnimalReport<'a>>,
    /// Units that people read.
    #[serde(skip)]
    pub units: Units,
}

/// Thresholds, as in the season's rules.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Thresholds {
    /// Days from calving to breeding.
    pub calving_to_breeding_days: i64,
    /// Body condition of cows.
    pub least_body_condition: f64,
    /// Percent of mature weight of heifers.
    pub heifer_mature_weight_percent: f64,
    /// Gain counted on, pounds a day.
    pub heifer_gain_lb_per_day: Option<f64>,
}

/// Head of one answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct AnswerCount {
    /// The answer.
    pub answer: Readiness,
    /// In words.
    pub words: &'static str,
    /// Head.
    pub head: usize,
    /// Reasons that lead to this answer, by head; an animal may have several.
    pub reasons: Vec<ReasonCount>,
}

/// Head with one reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct ReasonCount {
    /// The reason.
    pub reason: Reason,
    /// In words, with the threshold.
    pub words: String,
    /// Source tags of the threshold.
    pub source: &'static str,
    /// Head.
    pub head: usize,
}

/// The group rule for heifers: at least half at tract score 4 or 5 (PATT12).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Cycling {
    /// Heifers with a score.
    pub scored_head: usize,
    /// Of these, at 4 or 5.
    pub cycling_head: usize,
    /// In percent.
    pub percent: f64,
    /// True if it is enough.
    pub enough: bool,
}

/// Daily gain from weighing to breeding for heifers below the percentage of mature weight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Gain {
    /// Heifers below it.
    pub head: usize,
    /// Mean, pounds a day.
    pub mean_lb_per_day: f64,
    /// Of the one that needs most.
    pub most_lb_per_day: f64,
}

/// A spread over bins of one width, without gaps.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Histogram {
    /// Of what: days-since-calving, percent-of-mature-weight or body-condition.
    pub of: &'static str,
    /// In words.
    pub words: String,
    /// Width of a bin.
    pub width: f64,
    /// Bins, the lowest first.
    pub bins: Vec<Bin>,
    /// Head for whom it is not known.
    pub unknown_head: usize,
}

/// One bin: from its lower end up to the next bin's.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Bin {
    /// Lower end.
    pub from: f64,
    /// Head.
    pub head: usize,
}

/// What is said of one animal.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct AnimalReport<'a> {
    /// Its id.
    pub animal: &'a str,
    /// True for an electronic id.
    pub electronic: bool,
    /// Its line in the herd file.
    pub line: u32,
    /// The answer.
    pub answer: Readiness,
    /// Why, the gravest first.
    pub reasons: Vec<Reason>,
    /// From calving to the protocol's first day.
    pub days_since_calving_at_first_day: Option<i64>,
    /// From calving to breeding.
    pub days_since_calving_at_breeding: Option<i64>,
    /// Full months of age at breeding.
    pub months_at_breeding: Option<u32>,
    /// Body condition, 1 to 9.
    pub body_condition: Option<f64>,
    /// Percent of mature weight.
    pub mature_weight_percent: Option<f64>,
    /// Tract score, 1 to 5.
    pub tract_score: Option<u8>,
    /// Daily gain that brings her to the season's percentage by breeding.
    pub gain_needed_lb_per_day: Option<f64>,
    /// First day of the same protocol on which she need not wait any more.
    pub ready_from: Option<NaiveDate>,
    /// The answer on that day.
    pub answer_then: Option<Readiness>,
    /// Columns that would decide and are blank.
    pub blank: Vec<&'static str>,
}

/// Judges every animal of a herd. Class, protocol and start need not be a group's.
#[must_use]
pub fn of<'a>(
    group: (&'a str, &'a str),
    herd: &'a Herd,
    class: Class,
    protocol: &'a Protocol,
    start: NaiveDateTime,
    rules: &ReadyRules,
    units: Units,
) -> GroupReport<'a> {
    let course = Course::of(protocol, start);
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
    report.words = words(&report);
    report
}

impl GroupReport<'_> {
    /// Head of an answer.
    #[must_use]
    pub fn head_of(&self, answer: Readiness) -> usize {
        self.answers
            .iter()
            .find(|a| a.answer == answer)
            .map_or(0, |a| a.head)
    }

    /// What is wrong with the group as a whole; `place` is where the season names the herd.
    #[must_use]
    pub fn findings(&self, place: &Place) -> Vec<Finding> {
        let mut found = Vec::new();
        let need = self.head_of(Readiness::WithProgestin);
        if need > 0 && !self.progestin {
            found.push(
                Finding::warning(
                    Code::NoProgestin,
                    format!("{need} of {} animals of {} are likely not cycling, and `{}` gives no progestin", self.head, quoted(self.group), self.protocol),
                )
                .at(place.clone())
                .expected("a protocol with an insert or MGA for such animals (COWS-2015); PG acts only where there is a corpus luteum (CFR-690)")
                .hint("choose a protocol with an insert or MGA (`thawline protocols`), or let them wait; `thawline herd` lists them"),
            );
        }
        if let Some(c) = self.cycling.filter(|c| !c.enough) {
            found.push(
                Finding::warning(
                    Code::FewCycling,
                    format!("{} of {} scored heifers of {} are at tract score 4 or 5: {} %", c.cycling_head, c.scored_head, quoted(self.group), c.percent),
                )
                .at(place.clone())
                .expected("at least half of the group, 4 to 6 weeks before breeding (PATT12)")
                .hint("start later, feed for more gain, or breed the ones that are ready and score the rest again"),
            );
        }
        found
    }
}

fn tenths(x: f64) -> f64 {
    (x * 10.0).round() / 10.0
}

fn each(a: &Animal, j: Judged) -> AnimalReport<'_> {
    AnimalReport {
        animal: &a.id,
        electronic: a.electronic,
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
    Readiness::ALL
        .into_iter()
        .map(|answer| AnswerCount {
            answer,
            words: answer.words(),
            head: heads[answer as usize],
            reasons: Reason::ALL
                .into_iter()
                .map(|reason| ReasonCount {
                    reason,
                    words: reason.words(rules),
                    source: reason.source(),
                    head: of_reason[answer as usize][reason as usize],
                })
                .filter(|r| r.head > 0 && r.reason.answer() == answer)
                .collect(),
        })
        .collect()
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
    let needs: Vec<f64> = judged
        .iter()
        .filter_map(|(_, j)| j.gain_needed_lb_per_day)
        .collect();
    (!needs.is_empty()).then(|| Gain {
        head: needs.len(),
        mean_lb_per_day: hundredths(needs.iter().sum::<f64>() / needs.len() as f64),
        most_lb_per_day: hundredths(needs.iter().copied().fold(0.0, f64::max)),
    })
}

fn histograms(class: Class, judged: &[(&Animal, Judged)], rules: &ReadyRules) -> Vec<Histogram> {
    let first = if class == Class::Heifer {
        let when = if rules.gain_lb_per_day.is_some() {
            "at breeding, the gain counted on"
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

fn words(r: &GroupReport<'_>) -> Vec<String> {
    let of = |answer| r.head_of(answer);
    let kind = match (r.class, r.head) {
        (class, 1) => class.to_owned(),
        (class, _) => format!("{class}s"),
    };
    let (ready, need) = (of(Readiness::Ready), of(Readiness::WithProgestin));
    let mut parts = Vec::new();
    if ready > 0 || need == 0 || !r.progestin {
        parts.push(format!("{} ready", are(ready)));
    }
    if need > 0 {
        parts.push(match (r.progestin, ready) {
            (false, _) => format!(
                "{} likely not cycling, and this protocol gives no progestin",
                are(need)
            ),
            (true, 0) => format!(
                "{} ready with the progestin that this protocol gives",
                are(need)
            ),
            (true, _) => format!("{need} more with the progestin that this protocol gives"),
        });
    }
    let wait = of(Readiness::Wait);
    if wait > 0 {
        parts.push(format!("{wait} should wait for a later group"));
    }
    if of(Readiness::NotNow) > 0 {
        parts.push(format!(
            "{} not for breeding now",
            are(of(Readiness::NotNow))
        ));
    }
    if of(Readiness::Unknown) > 0 {
        parts.push(format!(
            "{} not known: cells are blank",
            are(of(Readiness::Unknown))
        ));
    }
    let mut words = vec![format!("Of {} {kind}, {}.", r.head, parts.join("; "))];
    if need > 0 {
        words.push(
            "A progestin brings some animals that do not cycle into heat, not all (COWS-2015)."
                .to_owned(),
        );
    }
    let dates: Vec<NaiveDate> = r
        .animals
        .iter()
        .filter(|a| a.answer == Readiness::Wait)
        .filter_map(|a| a.ready_from)
        .collect();
    if let Some(last) = dates.iter().max() {
        let day = human_date(*last);
        words.push(if dates.len() < wait {
            format!(
                "Of the {wait} that should wait, {} could start on {day} or later; for the others no day can be computed.",
                dates.len()
            )
        } else if wait == 1 {
            format!("The one that should wait could start on {day} or later.")
        } else {
            format!("The {wait} that should wait could all start on {day} or later.")
        });
    }
    if let Some(c) = r.cycling {
        words.push(format!(
            "{} of {} scored heifers are at tract score 4 or 5: {} %, and at least half of the group are wanted 4 to 6 weeks before breeding (PATT12).",
            c.cycling_head, c.scored_head, c.percent
        ));
    }
    if let Some(g) = r.gain {
        let (mean, unit) = r.units.pounds(g.mean_lb_per_day);
        let (most, _) = r.units.pounds(g.most_lb_per_day);
        words.push(format!(
            "To reach {} % of mature weight by breeding, {} need{} a gain of {mean} {unit} a day from weighing on, on average; the most that one needs is {most} {unit}.",
            r.thresholds.heifer_mature_weight_percent,
            heifers(g.head),
            if g.head == 1 { "s" } else { "" }
        ));
    }
    words
}

fn heifers(n: usize) -> String {
    format!("{n} heifer{}", if n == 1 { "" } else { "s" })
}

fn are(n: usize) -> String {
    format!("{n} {}", if n == 1 { "is" } else { "are" })
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
        look(&of(
            ("g", "Group"),
            &herd,
            class,
            protocol,
            start,
            &rules,
            crate::base::units::Units::default(),
        ))
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
                "Of 4 cows, 2 are ready; 1 should wait for a later group; 1 is not known: cells are blank."
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
