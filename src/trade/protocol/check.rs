//! From the raw form to a [`Protocol`]: one rule, one function; all findings come back together.

use std::sync::LazyLock;

use super::build::build;
use super::{Kind, Protocol, Step, raw};
use crate::base::document::{Tree, shape};
use crate::base::error::{Code, Finding, did_you_mean, has_errors, is_hidden, nearest, quoted};
use crate::base::units::{Id, is_plain_line};
use crate::trade::protocol::Action;
use crate::trade::sources;

static SCHEMA: LazyLock<serde_json::Value> =
    LazyLock::new(|| schemars::schema_for!(raw::Protocol).to_value());

/// The JSON Schema of a protocol file.
#[must_use]
pub fn schema() -> &'static serde_json::Value {
    &SCHEMA
}

/// Reads and checks one protocol.
///
/// # Errors
/// Every finding of the file, at least one of them an error.
pub fn read(file: &str, bytes: &[u8]) -> Result<Protocol, Vec<Finding>> {
    let tree = Tree::parse(file, bytes).map_err(|f| vec![f])?;
    let fit = shape::fit(&tree, schema());
    if !fit.found.is_empty() {
        return Err(with_rules(&tree, fit));
    }
    let raw: raw::Protocol = tree.decode_value(fit.value).map_err(|f| vec![f])?;
    let (found, order) = Rules::hold(&tree, &raw);
    let Some(order) = order.filter(|_| !has_errors(&found)) else {
        return Err(found);
    };
    let protocol = build(&raw, &order);
    let mut found = found;
    found.extend(breeding_agrees(&tree, &protocol));
    found.extend(inserts_balance(&tree, &protocol));
    if has_errors(&found) {
        return Err(found);
    }
    Ok(protocol)
}

/// The misfits, and what the rules find wrong in the parts that fit: nobody should have to mend
/// a file twice. What a rule says of a misfit, of what holds it, or of steps whose ids may be
/// among the misfits, is left out.
fn with_rules(tree: &Tree, fit: shape::Fit) -> Vec<Finding> {
    let mut found = fit.found;
    let Ok(raw) = tree.decode_value::<raw::Protocol>(fit.value) else {
        return found;
    };
    let field = |f: &Finding| f.place.as_ref().map_or(String::new(), |p| p.field.clone());
    let misfits: Vec<String> = found.iter().map(field).collect();
    let named = |m: &String| matches!(m.rsplit('.').next(), Some("id" | "after"));
    let by_id = [Code::StepTwice, Code::StepAnchorUnknown, Code::StepCircle];
    let (rules, _) = Rules::hold(tree, &raw);
    found.extend(rules.into_iter().filter(|f| {
        let of = field(f);
        let touched = |m: &String| m.starts_with(&of) || of.starts_with(m.as_str());
        tree.has(&of)
            && !misfits.iter().any(touched)
            && !(by_id.contains(&f.code) && misfits.iter().any(named))
    }));
    found
}

/// Keys whose text is shown as it is, wherever they stand.
const TEXTS: [&str; 9] = [
    "name",
    "suits",
    "note",
    "borrowed_from",
    "notes",
    "disagreements",
    "supports",
    "cite",
    "of",
];

pub(super) struct Rules<'a> {
    pub(super) tree: &'a Tree,
    pub(super) raw: &'a raw::Protocol,
    pub(super) found: Vec<Finding>,
}

impl<'a> Rules<'a> {
    /// What breaks a rule, and an order in which every step's anchor stands before it.
    fn hold(tree: &'a Tree, raw: &'a raw::Protocol) -> (Vec<Finding>, Option<Vec<usize>>) {
        let mut rules = Self {
            tree,
            raw,
            found: Vec::new(),
        };
        rules.ids();
        rules.texts();
        rules.sources();
        rules.pregnant();
        rules.steps_named_once();
        for n in 0..raw.steps.len() {
            rules.step_form(n);
            rules.span_form(n);
            rules.mga_days(n);
            rules.heat(n);
        }
        let order = rules.anchors();
        (rules.found, order)
    }

    pub(super) fn add(&mut self, field: &str, finding: Finding) {
        self.found.push(finding.at(self.tree.place(field)));
    }

    /// What makes the protocol unusable: what is wrong at a field, what was expected, what to do.
    pub(super) fn fault(
        &mut self,
        code: Code,
        field: &str,
        what: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let finding = Finding::error(code, what).expected(expected).hint(hint);
        self.add(field, finding);
    }

    fn ids(&mut self) {
        let mut all = vec![("id".to_owned(), self.raw.id.clone())];
        all.extend(
            self.raw
                .steps
                .iter()
                .enumerate()
                .map(|(n, s)| (format!("steps[{n}].id"), s.id.clone())),
        );
        for (field, id) in all {
            let fits = id
                .chars()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
                && Id::new(&id).is_some();
            if !fits || id == "start" {
                let what = format!("{} cannot be an id here", quoted(&id));
                let expected = "1 to 40 lowercase letters, digits and hyphens, other than `start`";
                let hint = "write the published name under `name`, and a short id here";
                self.fault(Code::BadId, &field, what, expected, hint);
            }
        }
    }

    fn texts(&mut self) {
        for (field, text) in self.tree.root().texts_under(&TEXTS) {
            let bad = text.chars().any(is_hidden)
                || (field == "name" && !is_plain_line(text))
                || text.trim().is_empty();
            if bad {
                let what = format!("{} is not a line of plain text", quoted(text));
                let expected = "text on one line, without control characters";
                let hint = "for long text use YAML's `>-`, which joins lines with spaces";
                self.fault(Code::BadText, &field, what, expected, hint);
            }
        }
    }

    fn sources(&mut self) {
        for (n, cited) in self.raw.sources.iter().enumerate() {
            let field = format!("sources[{n}]");
            match (&cited.tag, &cited.cite) {
                (Some(tag), None) => self.tag_known(&format!("{field}.tag"), tag),
                (None, Some(_)) => {}
                _ => self.fault(
                    Code::SourceUnknown,
                    &field,
                    "a source needs either `tag` or `cite`",
                    "the tag of a listed publication, or a citation of your own",
                    "write `cite: who, what, where, year`",
                ),
            }
        }
        for (n, step) in self.raw.steps.iter().enumerate() {
            if let Some(share) = &step.share_percent {
                for tag in share.tag.split(", ") {
                    self.tag_known(&format!("steps[{n}].share_percent.tag"), tag);
                }
                if !(share.low <= share.expected && share.expected <= share.high) {
                    let field = format!("steps[{n}].share_percent");
                    let what = "the share is out of order";
                    let expected = "low <= expected <= high";
                    let hint = "put the three numbers in order";
                    self.fault(Code::WindowTurned, &field, what, expected, hint);
                }
            }
        }
    }

    fn pregnant(&mut self) {
        for (n, p) in self.raw.pregnancy_percent.iter().enumerate() {
            self.tag_known(&format!("pregnancy_percent[{n}].tag"), &p.tag);
            if p.low > p.high {
                let field = format!("pregnancy_percent[{n}]");
                let what = "the percentages are out of order";
                let expected = "low <= high; the same number twice for a single figure";
                let hint = "put the two numbers in order";
                self.fault(Code::WindowTurned, &field, what, expected, hint);
            }
        }
    }

    pub(super) fn tag_known(&mut self, field: &str, tag: &str) {
        if sources::find(tag).is_none() {
            let near = nearest(tag, sources::all().iter().map(|s| s.tag.as_str()));
            self.fault(
                Code::SourceUnknown,
                field,
                format!("no publication has the tag {}", quoted(tag)),
                "the tag of a listed publication",
                did_you_mean(
                    near,
                    "cite it in your own words with `cite` in place of `tag`",
                ),
            );
        }
    }
}

fn breeding_agrees(tree: &Tree, protocol: &Protocol) -> Option<Finding> {
    let steps = &protocol.steps;
    let timed: Vec<Action> = steps
        .iter()
        .filter(|s| s.is_timed_breeding())
        .flat_map(|s| s.actions.iter().copied().filter(|a| a.breeds()))
        .collect();
    let heat = steps.iter().any(Step::is_heat_breeding);
    let (fits, wants) = match protocol.kind {
        Kind::FixedTime => (
            !heat && !timed.is_empty() && timed.iter().all(|a| *a == Action::Inseminate),
            "a timed step with `inseminate`, and no breeding by heat",
        ),
        Kind::EstrusDetection => (
            heat && timed.is_empty(),
            "`detect-estrus` with `inseminate-in-heat`, and no timed breeding",
        ),
        Kind::EstrusDetectionThenTimed => (
            heat && !timed.is_empty() && timed.iter().all(|a| *a == Action::InseminateRest),
            "`detect-estrus` with `inseminate-in-heat`, then a timed step with `inseminate-rest`",
        ),
        Kind::SplitTime => (
            !heat && timed == [Action::InseminateInHeat, Action::InseminateRest],
            "a timed step with `inseminate-in-heat`, then one with `inseminate-rest`",
        ),
    };
    (!fits).then(|| {
        let kind = protocol.kind.as_str();
        let what = format!("the steps do not breed as `{kind}` says");
        Finding::error(Code::NoBreeding, what)
            .at(tree.place("kind"))
            .expected(wants)
            .hint("change the kind, or the breeding steps")
    })
}

fn inserts_balance(tree: &Tree, protocol: &Protocol) -> Option<Finding> {
    let mut inside = false;
    let mut fault = None;
    for step in &protocol.steps {
        for action in &step.actions {
            match action {
                Action::InsertIn if inside => fault = Some(("goes in twice", step)),
                Action::InsertOut if !inside => fault = Some(("comes out before it went in", step)),
                Action::InsertIn => inside = true,
                Action::InsertOut => inside = false,
                _ => {}
            }
        }
    }
    let what = match (fault, inside) {
        (Some((what, step)), _) => format!("the insert {what} in step `{}`", step.id),
        (None, true) => "the insert never comes out".to_owned(),
        (None, false) => return None,
    };
    let finding = Finding::error(Code::InsertBalance, what)
        .at(tree.place("steps"))
        .expected("one `insert-in` before each `insert-out`")
        .hint("check the steps and their days");
    Some(finding)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "\
id: own
name: Our own
class: cow
kind: fixed-time
suits: Anyone.
sources: [{cite: 'our vet', supports: all}]
steps:
  - {id: ai, after: pg, hours: {earliest: 60, aim: 63, latest: 66}, do: [inseminate, gnrh]}
  - {id: gnrh, after: start, days: 0, do: [gnrh, insert-in]}
  - {id: pg, after: gnrh, days: 7, do: [pg, insert-out]}
";

    fn codes(text: &str) -> Vec<Code> {
        let found = read("t", text.as_bytes()).err().unwrap_or_default();
        found.iter().map(|f| f.code).collect()
    }

    #[test]
    fn steps_come_in_the_order_they_happen() {
        let p = read("t", GOOD.as_bytes()).unwrap();
        let ids: Vec<_> = p.steps.iter().map(|s| s.id.as_str()).collect();
        assert_eq!(ids, ["gnrh", "pg", "ai"]);
        assert_eq!(p.steps[2].anchor, crate::trade::protocol::Anchor::Step(1));
        assert_eq!(p.chute_passes(), 3);
        // 7 days and 63 hours.
        assert_eq!(p.days_to_breeding(), 10);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        for case in [
            "StepCircle|after: start|after: pg",
            "StepAnchorUnknown|after: start|after: strat",
            "WindowTurned|earliest: 60|earliest: 70",
            "StepBeforeStart|days: 0|days: -1",
            "StepTwice|id: gnrh|id: pg",
            "StepAnchorForm|days: 0, |",
            "StepAnchorForm|hours: {earliest: 60, aim: 63, latest: 66}|days: 3",
            "OutOfRange|latest: 66|latest: 109",
            "OutOfRange|steps:\n|steps:\n  - {id: feed, after: start, days: 0, lasts_days: 25, do: [feed-mga]}\n",
            "SpanForm|days: 0|days: 0, lasts_days: 3",
            "NoBreeding|[inseminate, gnrh]|[gnrh]",
            "InsertBalance|[pg, insert-out]|[pg]",
            "SourceUnknown|cite: 'our vet'|tag: CFR-691",
            "BadId|id: own|id: Own protocol",
            "BadText|name: Our own|name: \"a\\nb\"",
            "UnknownKey|suits:|siuts:",
            "UnknownWord|[gnrh, insert-in]|[gnhr, insert-in]",
        ] {
            let [code, from, to] = case.split('|').collect::<Vec<_>>()[..] else {
                panic!("{case}");
            };
            assert!(GOOD.contains(from), "{from}");
            let got = codes(&GOOD.replace(from, to));
            let has = got.iter().any(|c| format!("{c:?}") == code);
            assert!(has, "{case}: {got:?}");
        }
    }
}
