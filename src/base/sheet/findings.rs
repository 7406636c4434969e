//! Collects the findings of tables, one line for each kind of error and column, and counts the rest.

use std::collections::BTreeMap;

use crate::base::error::{Code, Finding, Place, Severity, sort_findings};

/// A file with hundreds of faults has one cause, or is the wrong file: the first ones say so.
pub(crate) const MOST: usize = 200;

/// Errors of one code in one column are told singly up to this many; of more, these are examples.
const EXAMPLES: usize = 3;

/// Findings, errors apart from the rest: warnings must not crowd out an error.
#[derive(Debug, Default)]
pub(crate) struct Findings {
    errors: BTreeMap<(&'static str, String), Kind>,
    others: Vec<Finding>,
    other_count: usize,
}

/// Errors of one code and column.
#[derive(Debug, Default)]
struct Kind {
    first: Vec<Finding>,
    count: usize,
}

impl Findings {
    pub(crate) fn add(&mut self, finding: Finding, place: impl FnOnce() -> Place) {
        if finding.severity == Severity::Error {
            let place = place();
            let key = (finding.code.as_str(), place.field.clone());
            let kind = self.errors.entry(key).or_default();
            kind.count += 1;
            if kind.count <= EXAMPLES {
                kind.first.push(finding.at(place));
            }
            return;
        }
        self.other_count += 1;
        if self.others.len() < MOST {
            self.others.push(finding.at(place()));
        }
    }

    pub(crate) fn any_error(&self) -> bool {
        !self.errors.is_empty()
    }

    /// The findings, worst first; how many are not among them is said last.
    pub(crate) fn listed(self, file: &str) -> Vec<Finding> {
        let mut all: Vec<Finding> = self.errors.into_values().flat_map(Kind::told).collect();
        let count = all.len() + self.other_count;
        sort_findings(&mut all);
        all.truncate(MOST);
        let room = MOST - all.len();
        all.extend(self.others.into_iter().take(room));
        let left = count - all.len();
        sort_findings(&mut all);
        if left > 0 {
            let what = format!("{left} more findings of this kind of file are not listed");
            all.push(Finding::note(Code::MoreFindings, what).at(Place::top(file)));
        }
        all
    }
}

impl Kind {
    fn told(mut self) -> Vec<Finding> {
        if self.count <= EXAMPLES {
            return self.first;
        }
        let examples = self.first.iter().map(|f| match &f.place {
            Some(place) => format!("line {}: {}", place.line, f.what),
            None => f.what.clone(),
        });
        let examples: Vec<String> = examples.collect();
        let mut one = self.first.swap_remove(0);
        let field = one.place.as_ref().map_or("", |p| p.field.as_str());
        let of = if field.is_empty() {
            "rows".to_owned()
        } else {
            format!("cells of `{field}`")
        };
        one.what = format!(
            "{} {of} have a fault of this kind, such as {}",
            self.count,
            examples.join("; ")
        );
        vec![one]
    }
}
