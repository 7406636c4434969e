//! The rules for steps: what each counts from and how long after, and what it does.

use super::check::Rules;
use super::dose::MGA_MOST_DAYS;
use crate::base::error::{Code, Finding, did_you_mean, nearest, quoted};
use crate::trade::protocol::Action;

/// Hours from earliest to latest of a timed breeding. Published windows have 12 at the most; with
/// weeks of them the model of a large group would fill any machine.
const WIDEST_BREEDING: f64 = 48.0;

impl Rules<'_> {
    pub(super) fn steps_named_once(&mut self) {
        for (n, step) in self.raw.steps.iter().enumerate() {
            if self.raw.steps[..n].iter().any(|s| s.id == step.id) {
                let field = format!("steps[{n}].id");
                let what = format!("two steps are called {}", quoted(&step.id));
                let expected = "an id of its own for each step";
                let hint = "rename one of them";
                self.fault(Code::StepTwice, &field, what, expected, hint);
            }
        }
    }

    pub(super) fn step_form(&mut self, n: usize) {
        let step = &self.raw.steps[n];
        let field = format!("steps[{n}]");
        match (step.days, step.hours) {
            (Some(days), None) if days < 0 => self.before(&format!("{field}.days")),
            (None, Some(h)) if h.earliest < 0.0 => self.before(&format!("{field}.hours.earliest")),
            (None, Some(h)) if !(h.earliest <= h.aim && h.aim <= h.latest) => self.fault(
                Code::WindowTurned,
                &format!("{field}.hours"),
                format!(
                    "the window {} to {} h with aim {} is out of order",
                    h.earliest, h.latest, h.aim
                ),
                "`earliest`, `aim` and `latest` from small to large",
                "put the three numbers in order",
            ),
            (None, Some(h))
                if h.latest - h.earliest > WIDEST_BREEDING
                    && step.lasts_days.is_none()
                    && step.actions.iter().any(|a| a.breeds()) =>
            {
                self.fault(Code::OutOfRange, &format!("{field}.hours"), format!("the breeding window is {} h wide", h.latest - h.earliest), format!("at most {WIDEST_BREEDING} h from earliest to latest"), "to breed over days use `detect-estrus` and `inseminate-in-heat` with `lasts_days`");
            }
            (Some(_), None)
                if step.lasts_days.is_none() && step.actions.iter().any(|a| a.breeds()) =>
            {
                let field = format!("{field}.days");
                let what = "timed breeding is counted in days here";
                let expected = "`hours: {earliest, aim, latest}` from PG or insert removal";
                let hint = "72 elapsed hours in place of 3 days, with the window your source gives";
                self.fault(Code::StepAnchorForm, &field, what, expected, hint);
            }
            (Some(_), None) | (None, Some(_)) => {}
            _ => self.fault(
                Code::StepAnchorForm,
                &field,
                "this step needs either `days` or `hours`",
                "one of `days: N` (same clock time) and `hours: {earliest, aim, latest}` (elapsed)",
                "use hours where the interval itself matters, as from PG to AI",
            ),
        }
    }

    fn before(&mut self, field: &str) {
        let what = "this step would fall before what it counts from";
        let hint = "let `start` be the first treatment, and count forwards from it";
        self.fault(Code::StepBeforeStart, field, what, "0 or more", hint);
    }

    pub(super) fn span_form(&mut self, n: usize) {
        let step = &self.raw.steps[n];
        let spans = step.actions.iter().any(|a| a.spans_days());
        let only = step.actions.iter().all(|a| {
            a.spans_days()
                || (*a == Action::InseminateInHeat && step.actions.contains(&Action::DetectEstrus))
        });
        let twice = step.actions.iter().enumerate().any(|(i, a)| {
            step.actions[..i].contains(a)
                || (a.breeds() && step.actions[..i].iter().any(|b| b.breeds()))
        });
        let fault = match (spans, step.lasts_days) {
            (true, None) => Some("feeding or heat watch without `lasts_days`"),
            (false, Some(_)) => Some("`lasts_days` on a step that is one trip through the chute"),
            _ if spans && !only => Some("chute work in the same step as feeding or heat watch"),
            _ if twice => Some("the same action twice, or two ways of breeding, in one step"),
            _ if step.share_percent.is_some() && !step.actions.iter().any(|a| a.breeds()) => {
                Some("`share_percent` on a step that breeds no animal")
            }
            _ => None,
        };
        if let Some(fault) = fault {
            self.fault(Code::SpanForm, &format!("steps[{n}]"), format!("this step has {fault}"), "`feed-mga` or `detect-estrus` with `lasts_days`, or chute actions without, each once", "make two steps of it");
        }
    }

    /// The label's limit on feeding MGA (CFR-342).
    pub(super) fn mga_days(&mut self, n: usize) {
        let step = &self.raw.steps[n];
        let days = step.lasts_days.unwrap_or(0);
        if step.actions.contains(&Action::FeedMga) && days > MGA_MOST_DAYS {
            let field = format!("steps[{n}].lasts_days");
            let what = format!("MGA is fed for {days} days");
            let expected = format!("at most {MGA_MOST_DAYS} days, the label's limit (CFR-342)");
            let hint = "published protocols feed it for 14 days (HEIFER-GUIDE)";
            self.fault(Code::OutOfRange, &field, what, expected, hint);
        }
    }

    /// An order in which every step's anchor stands before it, or findings.
    pub(super) fn anchors(&mut self) -> Option<Vec<usize>> {
        let steps = &self.raw.steps;
        let mut anchors: Vec<Option<usize>> = Vec::new();
        let mut unknown = Vec::new();
        for (n, step) in steps.iter().enumerate() {
            if step.after == "start" {
                anchors.push(None);
            } else if let Some(at) = steps.iter().position(|s| s.id == step.after) {
                anchors.push(Some(at));
            } else {
                anchors.push(None);
                unknown.push(n);
            }
        }
        for n in &unknown {
            let after = &steps[*n].after;
            let near = nearest(after, steps.iter().map(|s| s.id.as_str()).chain(["start"]));
            let what = format!("no step is called {}", quoted(after));
            let finding = Finding::error(Code::StepAnchorUnknown, what)
                .at(self.tree.place(&format!("steps[{n}].after")))
                .expected("`start` or the id of another step")
                .hint(did_you_mean(near, "add that step, or count from another"));
            self.found.push(finding);
        }
        let mut order: Vec<usize> = Vec::new();
        loop {
            let ready: Vec<usize> = (0..steps.len())
                .filter(|n| !order.contains(n) && anchors[*n].is_none_or(|a| order.contains(&a)))
                .collect();
            if ready.is_empty() {
                break;
            }
            order.extend(ready);
        }
        if order.len() < steps.len() {
            let stuck: Vec<_> = (0..steps.len())
                .filter(|n| !order.contains(n))
                .map(|n| format!("`{}` after `{}`", steps[n].id, steps[n].after))
                .collect();
            let first = (0..steps.len()).find(|n| !order.contains(n)).unwrap_or(0);
            let field = format!("steps[{first}].after");
            let what = format!("these steps wait for each other: {}", stuck.join(", "));
            let expected = "steps that lead back to `start`";
            let hint = "let one of them count from `start`";
            self.fault(Code::StepCircle, &field, what, expected, hint);
        }
        (unknown.is_empty() && order.len() == steps.len()).then_some(order)
    }
}
