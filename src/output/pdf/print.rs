//! From a document to the file: what each step hands to the next.

use std::collections::BTreeMap;

use super::blocks::{Part, Piece, parts};
use super::draw::{Kind, LEADING, Measures, Place, Structure};
use super::letters::{Face, Letters};
use super::paper::{Paper, Printed, instead_words};
use super::setter::Setter;
use super::{lines, sheets, write};
use crate::base::error::{Code, Error, Finding};
use crate::output::document::{self, Document};

/// Most lines of a name at the foot of each sheet; it stands whole at the top of the first.
const FOOT_LINES: usize = 2;

/// A document on sheets, as a file. `of` stands at the foot of each, and most letters have this size.
pub(super) fn print(
    mut document: Document,
    of: &str,
    size: f32,
    program: &str,
    paper: Paper,
) -> Result<Printed, Error> {
    let letters = Letters::new().ok_or_else(|| fault("a font is damaged"))?;
    let mut instead = BTreeMap::new();
    document::each_text(&mut document.blocks, &mut |text| {
        *text = letters.written(text, &mut instead);
    });
    let mut title = letters.written(&document.title, &mut instead);
    if title.trim().is_empty() {
        // A file of this kind has a title.
        "Thawline".clone_into(&mut title);
    }
    let of = letters.written(of, &mut instead);
    let mut parts = parts(&document.blocks);
    if let Some(words) = instead_words(&instead) {
        let text = Part::Paragraph {
            text: vec![Piece::Text(Face::Regular, words)],
            small: true,
        };
        // Under the names that head the first sheet.
        let answer = parts.iter().position(|b| matches!(b, Part::Framed(_)));
        parts.insert(answer.unwrap_or(parts.len()), text);
    }
    let (wide, high) = paper.points();
    let wide = wide - 2.0 * Paper::MARGIN;
    let foot = foot(&letters, &of, size * 0.8, wide);
    let foot_high = (foot.of.len() as f32 + 1.0) * LEADING * foot.size;
    let measures = Measures {
        wide,
        high: high - 2.0 * Paper::MARGIN - foot_high,
        size,
        small: size * 0.86,
    };
    let (structure, sheets) = lay(&letters, &parts, measures);
    let bytes = write::write(&write::File {
        letters: &letters,
        paper,
        title: &title,
        program: &format!("Thawline {program}"),
        foot,
        structure: &structure,
        sheets: &sheets,
    })
    .map_err(|e| fault(&e))?;
    Ok(Printed { bytes, instead })
}

pub(super) fn lay(
    letters: &Letters,
    parts: &[Part<'_>],
    measures: Measures,
) -> (Structure, sheets::Sheets) {
    let mut setter = Setter {
        letters,
        measures,
        structure: Structure(vec![(Kind::Root, 0)]),
    };
    let place = Place {
        left: 0.0,
        right: measures.wide,
        part: 0,
    };
    let strips = setter.set(parts, place);
    let sheets = sheets::lay(&strips, measures.high);
    (setter.structure, sheets)
}

/// The name in lines that fit, the last one cut with `…` if it is too long.
fn foot(letters: &Letters, of: &str, size: f32, wide: f32) -> write::Foot {
    let text = [Piece::Text(Face::Regular, of.to_owned())];
    let room = wide - letters.width(Face::Regular, "…", size);
    let set = lines::lines(letters, &text, size, room);
    let more = set.len() > FOOT_LINES;
    let mut of: Vec<String> = set.iter().take(FOOT_LINES).map(line_words).collect();
    if let Some(last) = of.last_mut().filter(|_| more) {
        last.push('…');
    }
    write::Foot { of, size }
}

fn line_words(line: &lines::Line) -> String {
    let words = line.parts.iter().map(|p| match p {
        lines::Part::Words { text, .. } => text.as_str(),
        lines::Part::Tick { .. } => "",
    });
    words.collect()
}

fn fault(words: &str) -> Error {
    Error::internal(vec![
        Finding::error(Code::Verify, format!("the PDF cannot be made: {words}"))
            .hint("please report this with the season file; the page season.html holds the same"),
    ])
}
