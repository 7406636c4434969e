//! The day pages as a PDF file, for plain paper: the page's own markup, laid on sheets.
//!
//! `page` makes the markup, and nothing here has words of its own about a plan: [`markup`] reads it
//! back as a tree, [`blocks`] takes headings, paragraphs, lists and tables from it, [`lines`] and
//! [`rows`] set them in columns, [`sheets`] divides them, and [`write`](mod@write) makes the file.

mod blocks;
mod letters;
mod lines;
mod markup;
mod rows;
mod sheets;
mod strips;
#[cfg(test)]
mod tests;
mod write;

use std::collections::BTreeMap;

use blocks::{Block, Piece};
use letters::{Face, Letters};
use strips::{Kind, LEADING, Measures, Place, Setter, Structure};

use super::{page, thaw_page};
use crate::error::{Code, Error, Finding};
use crate::plan::Plan;
use crate::thaw::{SessionThaw, Thaw};
use crate::{calves, tank};

/// Most lines of a name at the foot of each sheet; it stands whole at the top of the first.
const FOOT_LINES: usize = 2;
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
    /// Free on each side, in points: most printers reach further.
    const MARGIN: f32 = 40.0;

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

/// The pages of a season: the answer, the work day by day with the thaw rounds of sessions, each day
/// of a session on sheets of its own, what follows, and the season's lists.
///
/// # Errors
/// An internal error if the file cannot be made.
pub fn season(
    plan: &Plan,
    tanks: Option<&tank::Answer>,
    forecast: Option<&calves::Answer>,
    rounds: &[SessionThaw],
    paper: Paper,
) -> Result<Printed, Error> {
    let markup = page::on_paper(plan, tanks, forecast, rounds);
    let title = page::title(plan);
    print(&markup, &title, &plan.season, 10.5, &plan.program, paper)
}

/// The sheets of a session for the wall, one or more for each technician, with larger type.
///
/// # Errors
/// As for [`season`].
pub fn wall(thaw: &Thaw, session: &SessionThaw, paper: Paper) -> Result<Printed, Error> {
    let markup = thaw_page::on_paper(thaw, session);
    let title = thaw_page::title(session);
    print(
        &markup,
        &title,
        &title,
        12.5,
        env!("CARGO_PKG_VERSION"),
        paper,
    )
}

fn print(
    markup: &str,
    title: &str,
    of: &str,
    size: f32,
    program: &str,
    paper: Paper,
) -> Result<Printed, Error> {
    let letters = Letters::new().ok_or_else(|| fault("a font is damaged"))?;
    let mut tree = markup::read(markup).map_err(|e| fault(&e))?;
    let mut instead = BTreeMap::new();
    tree.each_text(&mut |text| *text = letters.written(text, &mut instead));
    let title = letters.written(title, &mut instead);
    let of = letters.written(of, &mut instead);
    let mut blocks = blocks::blocks(&tree);
    if let Some(words) = instead_words(&instead) {
        let words = vec![Piece::Text(Face::Regular, words)];
        let text = Block::Paragraph {
            text: words,
            small: true,
        };
        // Under the names that head the first sheet.
        let answer = blocks.iter().position(|b| matches!(b, Block::Framed(_)));
        blocks.insert(answer.unwrap_or(blocks.len()), text);
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
    let (structure, sheets) = lay(&letters, &blocks, measures);
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

fn lay(letters: &Letters, blocks: &[Block], measures: Measures) -> (Structure, sheets::Sheets) {
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
    let strips = setter.set(blocks, place);
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

fn instead_words(instead: &BTreeMap<char, String>) -> Option<String> {
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

fn fault(words: &str) -> Error {
    Error::internal(vec![
        Finding::error(Code::Verify, format!("the PDF cannot be made: {words}"))
            .hint("please report this with the season file; the page season.html holds the same"),
    ])
}
