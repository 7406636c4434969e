//! The text of a table's bytes: UTF-8, UTF-16 with its mark, Windows-1252, or a workbook.

use std::borrow::Cow;

use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

use crate::base::error::{Code, Finding, Place, Spot, utf8};

/// A table as text.
pub(super) struct Decoded<'a> {
    pub(super) text: Cow<'a, str>,
    /// True if it was made of a workbook, with tabs between cells.
    pub(super) workbook: bool,
    pub(super) told: Option<Told>,
}

/// What is to say of how a file is read, and where.
pub(super) struct Told {
    pub(super) what: String,
    pub(super) hint: &'static str,
    pub(super) at: Spot,
}

/// How a workbook begins: today's, which is a ZIP file, and that of before 2007.
const WORKBOOK: &[u8] = b"PK\x03\x04";
const OLD_WORKBOOK: &[u8] = b"\xd0\xcf\x11\xe0";

/// # Errors
/// It is neither text nor a workbook that can be read.
pub(super) fn decode<'a>(file: &str, bytes: &'a [u8]) -> Result<Decoded<'a>, Finding> {
    let plain = |text| Decoded {
        text,
        workbook: false,
        told: None,
    };
    if bytes.starts_with(WORKBOOK) {
        return workbook(bytes).map_err(|f| f.at(Place::top(file)));
    }
    if bytes.starts_with(OLD_WORKBOOK) {
        let what = "the file is an old workbook, or is protected by a password";
        return Err(Finding::error(Code::FileNotText, what)
            .at(Place::top(file))
            .expected("a text file with comma-separated values (CSV), or an .xlsx workbook")
            .hint("in the spreadsheet, save it without a password as .xlsx or `CSV UTF-8`"));
    }
    if let Some((encoding, mark)) = Encoding::for_bom(bytes).filter(|(e, _)| *e != UTF_8) {
        let (text, _) = encoding.decode_without_bom_handling(&bytes[mark..]);
        return Ok(plain(Cow::Owned(text.into_owned())));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let end = match utf8(bytes) {
        Ok(text) => return Ok(plain(Cow::Borrowed(text))),
        Err(end) => end,
    };
    // Text of any code page is free of these; other files are full of them.
    let control = |b: &u8| *b < b' ' && !matches!(b, b'\t' | b'\r' | b'\n');
    if bytes.iter().any(control) {
        return Err(
            Finding::error(Code::FileNotText, "the file is not plain text")
                .at(end.in_file(file, ""))
                .expected("a text file with comma-separated values (CSV), or an .xlsx workbook")
                .hint("in the spreadsheet, save as `CSV UTF-8`"),
        );
    }
    let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
    let line = text.lines().nth(end.line as usize - 1).unwrap_or_default();
    let from = end.column.saturating_sub(9) as usize;
    let near: String = line.chars().skip(from).take(20).collect();
    let what = format!(
        "the file is not UTF-8 and is read as Windows-1252: here {}",
        crate::base::error::quoted(near.trim())
    );
    Ok(Decoded {
        told: Some(Told {
            what,
            hint: "if a letter is wrong, save the table as `CSV UTF-8`",
            at: end,
        }),
        ..plain(Cow::Owned(text.into_owned()))
    })
}

#[cfg(feature = "xlsx")]
fn workbook(bytes: &[u8]) -> Result<Decoded<'static>, Finding> {
    let (text, sheet) = super::workbook::read(bytes)?;
    Ok(Decoded {
        text: Cow::Owned(text),
        workbook: true,
        told: sheet.map(|what| Told {
            what,
            hint: "if another one is the table, move it to the front",
            at: Spot::FIRST,
        }),
    })
}

#[cfg(not(feature = "xlsx"))]
fn workbook(_: &[u8]) -> Result<Decoded<'static>, Finding> {
    Err(Finding::error(
        Code::FileNotText,
        "the file is a workbook, which this build does not read",
    )
    .expected("a text file with comma-separated values (CSV)")
    .hint("in the spreadsheet, save as `CSV UTF-8`"))
}
