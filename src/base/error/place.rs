//! Places in files and texts.

use std::fmt;

use super::text::visible;

/// A line and a column of a text, both from 1.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Spot {
    /// Line.
    pub line: u32,
    /// Column in characters.
    pub column: u32,
}

impl Spot {
    /// Where a text begins.
    pub const FIRST: Self = Self { line: 1, column: 1 };

    /// The spot right behind a text.
    #[must_use]
    pub fn behind(text: &str) -> Self {
        let last = text.rsplit('\n').next().unwrap_or_default();
        Self {
            line: text.matches('\n').count() as u32 + 1,
            column: last.chars().count() as u32 + 1,
        }
    }

    /// The same in a file, as that of a field.
    #[must_use]
    pub fn in_file(self, file: impl Into<String>, field: impl Into<String>) -> Place {
        Place {
            file: file.into(),
            line: self.line,
            column: self.column,
            field: field.into(),
        }
    }
}

/// The text of a file; where it is not UTF-8, the spot up to which it is.
///
/// # Errors
/// That spot.
pub fn utf8(bytes: &[u8]) -> Result<&str, Spot> {
    std::str::from_utf8(bytes)
        .map_err(|e| Spot::behind(&String::from_utf8_lossy(&bytes[..e.valid_up_to()])))
}

/// Where in a file something stands. Lines and columns count from 1.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The file as the user named it, or `-` for standard input.
    pub file: String,
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
    /// The field, such as `groups[1].start`. Empty for the whole file.
    pub field: String,
}

impl Place {
    /// The beginning of a file.
    #[must_use]
    pub fn top(file: impl Into<String>) -> Self {
        Spot::FIRST.in_file(file, "")
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", visible(&self.file), self.line, self.column)?;
        // A field ends in a key of the user's, which may be as long as the file.
        let field: String = self.field.chars().take(120).collect();
        if !field.is_empty() {
            write!(f, " {}", visible(&field))?;
        }
        Ok(())
    }
}
