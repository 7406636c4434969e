//! Thawline in WebAssembly. One call takes a question as JSON text and gives the answer as JSON text: see
//! [`plan`] for what is asked, `memory` for how text goes in and out.

mod memory;

use std::collections::BTreeMap;

use serde::Deserialize;
use thawline::files::{self, InMemory};
use thawline::output::answer::Answer as _;
use thawline::output::findings::Findings;
use thawline::progress::NoProgress;
use thawline::{Error, Finding, Library, error, output};

/// A season with the files that it names.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    /// The name of the season file, with its folder: findings name files so.
    name: String,
    /// Its text (YAML).
    season: String,
    /// The texts of herd files, scores and tables of straws, by the names that the season gives them.
    #[serde(default)]
    files: BTreeMap<String, String>,
}

/// Plans a season: the bytes that `thawline plan --json` prints, be it a plan or findings.
#[must_use]
pub fn plan(asked: &str) -> String {
    planned(asked).unwrap_or_else(|error| Findings::of(error.findings(), "").json())
}

fn planned(asked: &str) -> Result<String, Error> {
    let asked: Asked = serde_json::from_str(asked).map_err(|e| not_asked(&e))?;
    let tables = asked.files.into_iter();
    let held = InMemory {
        season: asked.name,
        tables: tables.map(|(n, text)| (n, text.into_bytes())).collect(),
    };
    let library = Library::built_in();
    let text = asked.season.as_bytes();
    let (mut season, found) = files::read_season(&held.season, text, &library, &held)?;
    let plan = files::plan(&mut season, &held, &found, &NoProgress)?;
    Ok(output::json::plan(&plan))
}

fn not_asked(e: &serde_json::Error) -> Error {
    Error::from(
        Finding::error(
            error::Code::WrongType,
            format!("this is not a question: {e}"),
        )
        .expected("JSON with `name`, `season` and `files`"),
    )
}

#[cfg(test)]
mod tests {
    use super::plan;

    #[test]
    fn what_is_wrong_comes_as_findings() {
        for asked in ["", "{}", "[1]", r#"{"name": "s", "season": "x: ["}"#] {
            let told: serde_json::Value = serde_json::from_str(&plan(asked)).unwrap();
            assert_eq!(told["findings"][0]["severity"], "error", "{asked}: {told}");
        }
    }
}
