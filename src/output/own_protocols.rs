//! What a user's own protocol files hold, where nothing in them is wrong.

use std::fmt::Write as _;

use super::timeline::{INDENT, facts, key, line};
use super::{remark, wrapped};
use crate::base::error::visible;
use crate::planning::plan::Remark;
use crate::trade::protocol::advice::Checked;

/// Findings, then each file with its protocol and timeline.
#[must_use]
pub fn checked(checked: &Checked) -> String {
    let mut text: String = checked
        .found
        .iter()
        .map(|f| remark(&Remark::from(f)) + "\n")
        .collect();
    if !text.is_empty() {
        text.push('\n');
    }
    for (file, protocol) in &checked.protocols {
        let name = format!(
            "{}: well. {} ({})",
            visible(file),
            protocol.name,
            protocol.id
        );
        let _ = writeln!(text, "{}", wrapped(&name, "", "  "));
        let facts = format!("  {}", facts(protocol));
        let _ = writeln!(text, "{facts:<INDENT$}{}", line(protocol));
    }
    text.push('\n');
    text.push_str(&key(checked.protocols.iter().map(|(_, p)| p)));
    text
}
