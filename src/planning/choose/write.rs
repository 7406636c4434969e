//! The choice put into the text of the season file.

use super::answer::{Chosen, Row};
use crate::base::document::Tree;
use crate::base::document::edit::{self, Setting};
use crate::base::error::{Code, Error, Finding};

impl Chosen {
    /// The row of each group, by its place among all groups of the file: the one chosen for all
    /// together, or the `nth` of the list, from 0, of a group alone.
    ///
    /// # Errors
    /// A finding for each group for which nothing fits; where there is no such row, or a row is
    /// asked for and there are several groups.
    pub fn picked(&self, nth: Option<usize>) -> Result<Vec<(usize, &Row)>, Error> {
        let none: Vec<Finding> = self
            .groups
            .iter()
            .filter(|g| g.rows.is_empty())
            .map(|g| {
                Finding::error(
                    Code::NothingFits,
                    format!("nothing fits the wishes of `{}`", g.id),
                )
                .at(g.place.clone())
                .expected("a protocol and a start that keep every wish that must hold")
                .hint("without `--write` the list names the fewest wishes to give up")
            })
            .collect();
        if !none.is_empty() {
            return Err(Error::input(none));
        }
        if let (Some(together), None) = (&self.together, nth) {
            let places = self.groups.iter().map(|g| g.nth);
            return Ok(places.zip(together.rows()).collect());
        }
        let [group] = self.groups.as_slice() else {
            return Err(Finding::error(
                Code::NothingFits,
                "a row is one group's, and several groups are chosen for",
            )
            .expected("one group")
            .hint("name it with `--group`")
            .into());
        };
        let row = group.rows.get(nth.unwrap_or(0)).ok_or_else(|| {
            Finding::error(
                Code::NothingFits,
                format!(
                    "there is no row {} in the list of `{}`",
                    nth.unwrap_or(0) + 1,
                    group.id
                ),
            )
            .expected(format!("a row from 1 to {}", group.rows.len()))
            .hint("`--rows` makes the list longer")
        })?;
        Ok(vec![(group.nth, row)])
    }
}

/// What a row leaves out of its group: starts of pens that belong to another start of it, and days that belong
/// to another protocol, where all of a group begin together.
fn left_out(row: &Row) -> &'static [&'static str] {
    if row.protocol.begins_as_one() {
        &["pen_starts", "latest_start", "days"]
    } else {
        &["pen_starts", "latest_start"]
    }
}

/// The season file with these rows as protocol and start of their groups, and all else as it was. Starts and
/// days of pens that were for another start or protocol are left out: a note names each.
///
/// # Errors
/// A finding where the file is written in a way that cannot be changed safely.
pub fn write(
    file: &str,
    bytes: &[u8],
    picked: &[(usize, &Row)],
) -> Result<(String, Vec<Finding>), Error> {
    let tree = Tree::parse(file, bytes)?;
    let text = String::from_utf8_lossy(bytes);
    let fields = picked.iter().flat_map(|(nth, row)| {
        let own = left_out(row).iter();
        own.map(move |key| (*key, format!("groups[{nth}].{key}")))
    });
    let gone = fields.filter(|(_, field)| tree.has(field));
    let gone = gone.map(|(key, field)| {
        let (what, hint) = match key {
            "days" => (
                "the protocol feeds the group or watches it for heat as one, so the copy leaves `days` out".into(),
                "all pens begin on the chosen day, as they were counted",
            ),
            _ => (
                format!("`{key}` was for another start, so the copy leaves it out"),
                "pens begin one after the other from the chosen start, as they were counted",
            ),
        };
        Finding::note(Code::PenStartsChosen, what)
            .at(tree.place(&field))
            .hint(hint)
    });
    let gone = gone.collect();
    let settings: Vec<Setting> = picked
        .iter()
        .map(|(nth, row)| Setting {
            holder: format!("groups[{nth}]"),
            values: vec![
                ("protocol", row.protocol.id.to_string()),
                (
                    "start",
                    row.start.local.format("%Y-%m-%dT%H:%M").to_string(),
                ),
            ],
            before: "wishes",
            // These would move pens away from the start that was chosen.
            gone: left_out(row),
        })
        .collect();
    Ok((edit::set(&text, &tree, &settings)?, gone))
}
