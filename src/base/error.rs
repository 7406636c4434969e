//! The one public error, and the finding: one fault or remark about what was read or planned.
//!
//! A finding is data. It says what is wrong, where, what was expected and what to do; the
//! terminal, JSON and the page each show it in their own way.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::base::file_words;

pub use code::Code;
pub use place::{Place, Spot, utf8};
pub use remark::Remark;
pub use text::{did_you_mean, is_hidden, nearest, quoted, visible, visible_text};
mod code;
mod place;
mod remark;
mod text;

use std::fmt;

/// How much a finding weighs.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::Display, strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Severity {
    /// Worth knowing; nothing is broken.
    Note,
    /// The plan is made, but a rule of the season is broken or the plan falls short.
    Warning,
    /// The input cannot be used.
    Error,
}

file_words!(Severity);

/// One fault or remark: code, weight, place, cause, expectation, remedy.
#[derive(Clone, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(with = "Remark")]
#[must_use]
pub struct Finding {
    /// Stable code.
    pub code: Code,
    /// How much it weighs.
    pub severity: Severity,
    /// Where, if it stands in a file.
    pub place: Option<Place>,
    /// What is wrong, one sentence.
    pub what: String,
    /// What was expected, if that can be said.
    pub expected: Option<String>,
    /// What to do.
    pub hint: Option<String>,
}

impl Finding {
    /// A finding that makes the input unusable.
    pub fn error(code: Code, what: impl Into<String>) -> Self {
        Self::new(code, Severity::Error, what)
    }

    /// A finding about a broken rule or a plan that falls short.
    pub fn warning(code: Code, what: impl Into<String>) -> Self {
        Self::new(code, Severity::Warning, what)
    }

    /// A remark.
    pub fn note(code: Code, what: impl Into<String>) -> Self {
        Self::new(code, Severity::Note, what)
    }

    fn new(code: Code, severity: Severity, what: impl Into<String>) -> Self {
        Self {
            code,
            severity,
            place: None,
            what: what.into(),
            expected: None,
            hint: None,
        }
    }

    /// Adds the place.
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// Adds what was expected.
    pub fn expected(mut self, text: impl Into<String>) -> Self {
        self.expected = Some(text.into());
        self
    }

    /// Adds what to do.
    pub fn hint(mut self, text: impl Into<String>) -> Self {
        self.hint = Some(text.into());
        self
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.severity, self.code)?;
        if let Some(place) = &self.place {
            write!(f, " {place}")?;
        }
        write!(f, "\n  {}", visible(&self.what))?;
        if let Some(expected) = &self.expected {
            write!(f, "\n  expected: {}", visible(expected))?;
        }
        if let Some(hint) = &self.hint {
            write!(f, "\n  hint: {}", visible(hint))?;
        }
        Ok(())
    }
}

/// Orders findings for people: worst first, then by place, then by code.
pub fn sort_findings(findings: &mut [Finding]) {
    findings.sort_by(|a, b| {
        let (place, code, what) = (&b.place, b.code, &b.what);
        (b.severity, &a.place, a.code, &a.what).cmp(&(a.severity, place, code, what))
    });
}

/// True if any finding is an error.
#[must_use]
pub fn has_errors(findings: &[Finding]) -> bool {
    findings.iter().any(|f| f.severity == Severity::Error)
}

/// The public error. Opaque: ask it what kind it is, read its findings, print it.
#[derive(Clone, Debug, thiserror::Error)]
#[error("{}", render(.findings))]
pub struct Error {
    kind: Kind,
    findings: Vec<Finding>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Input,
    Internal,
}

impl Error {
    /// The input is wrong; the findings say how.
    #[must_use]
    pub fn input(mut findings: Vec<Finding>) -> Self {
        sort_findings(&mut findings);
        Self {
            kind: Kind::Input,
            findings,
        }
    }

    /// The program itself is at fault.
    #[must_use]
    pub fn internal(findings: Vec<Finding>) -> Self {
        Self {
            kind: Kind::Internal,
            findings,
        }
    }

    /// True if the user can mend it by changing the input.
    #[must_use]
    pub fn is_input(&self) -> bool {
        self.kind == Kind::Input
    }

    /// What was found, worst first.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }
}

impl From<Finding> for Error {
    fn from(finding: Finding) -> Self {
        Self::input(vec![finding])
    }
}

fn render(findings: &[Finding]) -> String {
    let all: Vec<String> = findings.iter().map(ToString::to_string).collect();
    all.join("\n")
}

/// A finding for an id that names nothing: what there is, `none` where there is nothing; and the one
/// nearest to it, else where to look.
pub fn unknown_id<'a>(
    kind: &str,
    id: &str,
    known: impl Iterator<Item = &'a str> + Clone,
    none: &str,
    see: &str,
) -> Finding {
    let some: Vec<String> = known.clone().take(20).map(quoted).collect();
    let what = format!("there is no {kind} {}", quoted(id));
    let expected = match known.clone().count() - some.len() {
        _ if some.is_empty() => none.to_owned(),
        0 => format!("one of {}", some.join(", ")),
        more => format!("one of {} and {more} more", some.join(", ")),
    };
    let near = nearest(id, known).map(|n| format!("did you mean {}?", quoted(n)));
    Finding::error(Code::UnknownId, what)
        .expected(expected)
        .hint(near.unwrap_or_else(|| see.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn worst_findings_come_first() {
        let mut all = vec![
            Finding::note(Code::ClockFold, "n"),
            Finding::error(Code::BadId, "e"),
            Finding::warning(Code::ChuteBusy, "w"),
        ];
        sort_findings(&mut all);
        assert_eq!(all[0].severity, Severity::Error);
        assert_eq!(all[2].severity, Severity::Note);
    }
}
