//! Collects the findings of tables up to a limit, and counts the rest.

use crate::base::error::{Code, Finding, Place, Severity, sort_findings};

/// A file with hundreds of faults has one cause, or is the wrong file: the first ones say so.
pub(crate) const MOST: usize = 200;

/// Findings, errors apart from the rest: warnings must not crowd out an error.
#[derive(Debug, Default)]
pub(crate) struct Findings {
    errors: Vec<Finding>,
    others: Vec<Finding>,
    error_count: usize,
    other_count: usize,
}

impl Findings {
    /// True while one more of that severity is listed: a place need not be looked up for others.
    pub(crate) fn has_room(&self, severity: Severity) -> bool {
        if severity == Severity::Error {
            self.errors.len() < MOST
        } else {
            self.others.len() < MOST
        }
    }

    pub(crate) fn add(&mut self, finding: Finding, place: impl FnOnce() -> Place) {
        let room = self.has_room(finding.severity);
        let (list, count) = if finding.severity == Severity::Error {
            (&mut self.errors, &mut self.error_count)
        } else {
            (&mut self.others, &mut self.other_count)
        };
        *count += 1;
        if room {
            list.push(finding.at(place()));
        }
    }

    pub(crate) fn any_error(&self) -> bool {
        self.error_count > 0
    }

    /// The findings, worst first; how many are not among them is said last.
    pub(crate) fn listed(mut self, file: &str) -> Vec<Finding> {
        self.others.truncate(MOST - self.errors.len());
        let mut all = self.errors;
        all.append(&mut self.others);
        let left = self.error_count + self.other_count - all.len();
        sort_findings(&mut all);
        if left > 0 {
            let what = format!("{left} more findings of this kind of file are not listed");
            all.push(Finding::note(Code::MoreFindings, what).at(Place::top(file)));
        }
        all
    }
}
