//! The rules for what a protocol file says of when heat comes.

use super::build;
use super::check::Rules;
use super::raw;
use crate::base::error::{Code, did_you_mean, nearest, quoted};
use crate::trade::protocol::Action;

/// A spread wider than this, or a mean this far off, is no spread of synchronized heats.
const MOST_HOURS: f64 = 400.0;

impl Rules<'_> {
    pub(super) fn heat(&mut self, n: usize) {
        let step = &self.raw.steps[n];
        let Some(heat) = &step.heat else { return };
        let field = format!("steps[{n}].heat");
        self.heat_tags(&field, heat);
        let watch = step.lasts_days.is_some() && step.actions.contains(&Action::InseminateInHeat);
        let fault = if watch {
            Self::heat_fault(heat)
        } else {
            Some("it is on a step without heat watch and breeding of those in heat")
        };
        if let Some(fault) = fault {
            self.fault(Code::HeatForm, &field, format!("when heat comes cannot be told from this: {fault}"), "`every_days`; or `after` and `shows_percent`, with `by_hours`, or with `mean_hours` and `spread_hours`", "two or more `by_hours` make a mean and a spread; one needs `spread_hours` beside it");
        }
        if let Some(after) = &heat.after {
            self.heat_step(n, &format!("{field}.after"), after);
        }
    }

    /// The step that hours count from is one trip through the chute.
    fn heat_step(&mut self, n: usize, field: &str, after: &str) {
        let steps = &self.raw.steps;
        let fits = |s: &&raw::Step| s.lasts_days.is_none() && s.id != steps[n].id;
        if steps.iter().filter(fits).any(|s| s.id == after) {
            return;
        }
        let near = nearest(after, steps.iter().filter(fits).map(|s| s.id.as_str()));
        self.fault(
            Code::StepAnchorUnknown,
            field,
            format!("no treatment is called {}", quoted(after)),
            "the id of a step that is one trip through the chute, such as the one with PG",
            did_you_mean(near, "add that step, or count from another"),
        );
    }

    fn heat_tags(&mut self, field: &str, heat: &raw::Heat) {
        let shares = heat.shows_percent.iter().map(|s| {
            let place = format!("{field}.shows_percent");
            (place, [s.low, s.expected, s.high], Some(&s.tag), false)
        });
        let points = heat.by_hours.iter().enumerate().map(|(k, p)| {
            let place = format!("{field}.by_hours[{k}]");
            (place, [p.low, p.expected, p.high], Some(&p.tag), false)
        });
        let figures = [
            ("mean_hours", &heat.mean_hours),
            ("spread_hours", &heat.spread_hours),
        ];
        let figures = figures.into_iter().filter_map(|(name, f)| {
            let f = f.as_ref()?;
            let three = [f.low, f.expected, f.high];
            Some((
                format!("{field}.{name}"),
                three,
                f.tag.as_ref(),
                f.unverified,
            ))
        });
        let cycle = heat.every_days.iter().map(|e| {
            let place = format!("{field}.every_days");
            (place, [e.days; 3], Some(&e.tag), false)
        });
        let all: Vec<_> = shares.chain(points).chain(figures).chain(cycle).collect();
        for (place, [low, expected, high], tag, unverified) in all {
            if !(low <= expected && expected <= high) {
                let what = "the three numbers are out of order";
                let expected = "`low`, `expected` and `high` from small to large; the same number for a single figure";
                let hint = "put the three numbers in order";
                self.fault(Code::WindowTurned, &place, what, expected, hint);
            }
            match tag {
                Some(tags) => {
                    for tag in tags.split(", ") {
                        self.tag_known(&format!("{place}.tag"), tag);
                    }
                }
                None if !unverified => self.fault(
                    Code::SourceUnknown,
                    &place,
                    "this figure has no source",
                    "`tag` of a listed publication, or `unverified: true`",
                    "write `unverified: true` for a figure of your own, or one that you did not look up",
                ),
                None => {}
            }
        }
    }

    fn heat_fault(heat: &raw::Heat) -> Option<&'static str> {
        let counted = heat.after.is_some()
            || heat.shows_percent.is_some()
            || !heat.by_hours.is_empty()
            || heat.mean_hours.is_some()
            || heat.spread_hours.is_some();
        if heat.every_days.is_some() {
            return counted.then_some("`every_days` stands beside hours from a treatment");
        }
        let (Some(after), Some(shows)) = (&heat.after, &heat.shows_percent) else {
            return Some("`after` or `shows_percent` is missing");
        };
        if shows.expected <= 0.0 {
            return Some("no animal shows heat");
        }
        let (points, mean, spread) = (
            !heat.by_hours.is_empty(),
            heat.mean_hours.is_some(),
            heat.spread_hours.is_some(),
        );
        match (points, mean, spread) {
            (false, true, true) => return None,
            (true, true, _) => return Some("the mean follows from `by_hours`, and is given too"),
            (false, ..) => return Some("`mean_hours` or `spread_hours` is missing"),
            (true, false, _) => {}
        }
        if heat
            .by_hours
            .iter()
            .any(|p| p.expected <= 0.0 || p.expected > shows.expected)
        {
            return Some("a percentage is 0, or above `shows_percent`");
        }
        // Only a plain id makes a step; what else is said of it is said elsewhere.
        crate::base::units::Id::new(after)?;
        let fits = build::heat(heat).spread().is_some_and(|s| {
            s.sd >= 1.0 && s.sd <= MOST_HOURS && s.mean > 0.0 && s.mean <= MOST_HOURS
        });
        (!fits).then_some("the percentages do not rise with the hours as a spread would")
    }
}

#[cfg(test)]
mod tests {
    use crate::base::error::Code;
    use crate::trade::protocol::read;

    const GOOD: &str = "\
id: own
name: Our own
class: cow
kind: estrus-detection
suits: Anyone.
sources: [{cite: our notes, supports: all}]
steps:
  - {id: pg, after: start, days: 0, do: [pg]}
  - id: watch
    after: pg
    days: 0
    lasts_days: 5
    do: [detect-estrus, inseminate-in-heat]
    heat:
      after: pg
      shows_percent: {low: 80, expected: 90, high: 95, tag: PG-STAGE}
      by_hours:
        - {hours: 56, low: 40, expected: 45, high: 50, head: 100, tag: PG-STAGE}
        - {hours: 72, low: 70, expected: 75, high: 80, tag: PG-STAGE}
";

    fn codes(text: &str) -> Vec<Code> {
        let found = read("t", text.as_bytes()).err().unwrap_or_default();
        found.iter().map(|f| f.code).collect()
    }

    #[test]
    fn what_heat_can_be_told_from_is_taken() {
        assert_eq!(codes(GOOD), []);
        let points = GOOD.find("      by_hours").unwrap();
        let stated = "      mean_hours: {low: 50, expected: 60, high: 70, unverified: true}\n      spread_hours: {low: 9, expected: 12, high: 15, tag: PG-STAGE}\n";
        assert_eq!(codes(&[&GOOD[..points], stated].concat()), []);
        // One percentage is enough beside a spread.
        let last = GOOD.find("        - {hours: 72").unwrap();
        let spread = stated.lines().last().unwrap();
        assert_eq!(codes(&[&GOOD[..last], spread, "\n"].concat()), []);
        let heat = GOOD.find("      after: pg\n      shows").unwrap();
        let cycle = "      every_days: {days: 21, tag: NDSU-JUL01}\n";
        assert_eq!(codes(&[&GOOD[..heat], cycle].concat()), []);
    }

    #[test]
    fn what_does_not_belong_together_is_refused() {
        for case in [
            "HeatForm|      after: pg\n      shows|      shows",
            "WindowTurned|expected: 75, high: 80|expected: 75, high: 74",
            "HeatForm|expected: 75, high: 80|expected: 91, high: 95",
            "HeatForm|low: 70, expected: 75|low: 1, expected: 40",
            "HeatForm|hours: 72|hours: 56",
            "HeatForm|by_hours:|mean_hours: {low: 5, expected: 6, high: 7, unverified: true}\n      by_hours:",
            "HeatForm|by_hours:|every_days: {days: 21, tag: NDSU-JUL01}\n      by_hours:",
            "SourceUnknown|by_hours:|spread_hours: {low: 9, expected: 12, high: 15}\n      by_hours:",
            "SourceUnknown|high: 50, head: 100, tag: PG-STAGE|high: 50, tag: NO-SUCH",
            "StepAnchorUnknown|      after: pg\n      shows|      after: watch\n      shows",
            "HeatForm|do: [detect-estrus, inseminate-in-heat]|do: [detect-estrus]",
        ] {
            let [code, from, to] = case.split('|').collect::<Vec<_>>()[..] else {
                panic!("{case}");
            };
            assert!(GOOD.contains(from), "{from}");
            let got = codes(&GOOD.replacen(from, to, 1));
            let has = got.iter().any(|c| format!("{c:?}") == code);
            assert!(has, "{case}: {got:?}");
        }
    }
}
