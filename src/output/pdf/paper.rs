//! Sizes of paper, and the file with what is to be said of it.

use std::collections::BTreeMap;

/// Most letters that are listed as written otherwise.
const MOST_LISTED: usize = 40;

/// A common size of paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 8.5 by 11 inches.
    #[default]
    Letter,
    /// 210 by 297 millimetres (ISO 216).
    A4,
}

impl Paper {
    #[cfg(feature = "pdf")]
    /// Free on each side, in points: most printers reach further.
    pub(super) const MARGIN: f32 = 40.0;

    /// Width and height in points, of which 72 are an inch.
    #[must_use]
    pub const fn points(self) -> (f32, f32) {
        match self {
            Self::Letter => (612.0, 792.0),
            Self::A4 => (595.28, 841.89),
        }
    }
}

/// A PDF file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// Its bytes: the same for the same plan.
    pub bytes: Vec<u8>,
    /// Letters that its type lacks, with what is written in their place.
    pub instead: BTreeMap<char, String>,
}

impl Printed {
    /// What is to be said of letters that the type lacks; nothing if there are none.
    #[must_use]
    pub fn instead_words(&self) -> Option<String> {
        instead_words(&self.instead)
    }
}

pub(super) fn instead_words(instead: &BTreeMap<char, String>) -> Option<String> {
    if instead.is_empty() {
        return None;
    }
    let listed = instead.iter().take(MOST_LISTED);
    let listed = listed.map(|(letter, latin)| format!("U+{:04X} as {latin}", u32::from(*letter)));
    let listed: Vec<String> = listed.collect();
    let more = match instead.len().saturating_sub(MOST_LISTED) {
        0 => String::new(),
        n => format!(", and {n} more"),
    };
    Some(format!(
        "Letters that the type of these sheets lacks are written otherwise: {}{more}.",
        listed.join(", ")
    ))
}
