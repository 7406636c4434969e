//! The type: two faces, how wide each letter is, and what becomes of letters that they lack.
//!
//! `DejaVu Sans Condensed`, cut to Latin, Greek and Cyrillic letters and the signs that pages use.
//! A letter that is not in it is written in Latin letters, as `deunicode` has it; what cannot be
//! written so, as �. Both are listed, so that nobody takes them for what was typed.
//!
//! The fonts that PDF readers bring lack arrows, check marks and most letters beyond Latin. The two
//! faces, cut to some 2,100 characters, take 333 kB. Latin, Greek and Cyrillic need no shaping.

use std::collections::BTreeMap;

use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, MetadataProvider};
use unicode_normalization::UnicodeNormalization;

const REGULAR: &[u8] = include_bytes!("../../../assets/fonts/DejaVuSansCondensed.ttf");
const BOLD: &[u8] = include_bytes!("../../../assets/fonts/DejaVuSansCondensed-Bold.ttf");

/// Stands for what no letter can be found for.
const UNKNOWN: char = '\u{fffd}';

/// A face of the type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Face {
    /// For most of the text.
    Regular,
    /// For what is looked for first.
    Bold,
}

impl Face {
    /// The face as a font file.
    pub(super) const fn file(self) -> &'static [u8] {
        match self {
            Self::Regular => REGULAR,
            Self::Bold => BOLD,
        }
    }
}

struct Cut {
    letters: Charmap<'static>,
    widths: GlyphMetrics<'static>,
}

impl Cut {
    fn new(face: Face) -> Option<Self> {
        let font = FontRef::new(face.file()).ok()?;
        let one = Size::new(1.0);
        Some(Self {
            letters: font.charmap(),
            widths: font.glyph_metrics(one, LocationRef::default()),
        })
    }
}

/// Both faces, ready to measure.
pub(super) struct Letters {
    regular: Cut,
    bold: Cut,
}

impl Letters {
    /// `None` if a font file of the program is damaged.
    pub(super) fn new() -> Option<Self> {
        Some(Self {
            regular: Cut::new(Face::Regular)?,
            bold: Cut::new(Face::Bold)?,
        })
    }

    const fn cut(&self, face: Face) -> &Cut {
        match face {
            Face::Regular => &self.regular,
            Face::Bold => &self.bold,
        }
    }

    /// The glyph of a letter, and its width at size 1.
    pub(super) fn glyph(&self, face: Face, letter: char) -> (u32, f32) {
        let cut = self.cut(face);
        let glyph = cut.letters.map(letter).or_else(|| cut.letters.map(UNKNOWN));
        let glyph = glyph.unwrap_or_default();
        let width = cut.widths.advance_width(glyph).unwrap_or(1.0);
        (glyph.to_u32(), width)
    }

    /// How wide a text is at a size.
    pub(super) fn width(&self, face: Face, text: &str, size: f32) -> f32 {
        text.chars().map(|c| self.glyph(face, c).1).sum::<f32>() * size
    }

    fn has(&self, letter: char) -> bool {
        let both = [&self.regular, &self.bold];
        both.iter().all(|cut| cut.letters.map(letter).is_some())
    }

    /// The text in letters that both faces have. What stands for which letter is put into `instead`.
    pub(super) fn written(&self, text: &str, instead: &mut BTreeMap<char, String>) -> String {
        let mut out = String::with_capacity(text.len());
        // Behind a word that stands for one letter, if another word follows at once.
        let mut blank = false;
        for letter in text.nfc() {
            if std::mem::take(&mut blank) && (letter.is_alphanumeric() || !self.has(letter)) {
                out.push(' ');
            }
            if letter.is_whitespace() && letter != '\u{a0}' {
                out.push(' ');
            } else if self.has(letter) {
                out.push(letter);
            } else if !is_bare_variant(letter) {
                let latin = deunicode::deunicode_char(letter).unwrap_or_default();
                let latin = if latin.trim().is_empty() || !latin.chars().all(|c| self.has(c)) {
                    UNKNOWN.to_string()
                } else {
                    latin.to_owned()
                };
                blank = latin.ends_with(' ');
                let latin = other(latin.trim(), letter, instead);
                out.push_str(&latin);
                instead.insert(letter, latin);
            }
        }
        out
    }
}

/// What stands for a letter, with a number where the same stands for another one already: two names
/// must not become one.
fn other(latin: &str, letter: char, instead: &BTreeMap<char, String>) -> String {
    if let Some(known) = instead.get(&letter) {
        return known.clone();
    }
    if latin == UNKNOWN.to_string() {
        return latin.to_owned();
    }
    let taken = |t: &str| instead.values().any(|v| v == t);
    let numbered = (2..).map(|n| format!("{latin}({n})"));
    std::iter::once(latin.to_owned())
        .chain(numbered)
        .find(|t| !taken(t))
        .unwrap_or_default()
}

/// Picks a variant of the sign before it and has no ink of its own.
const fn is_bare_variant(letter: char) -> bool {
    matches!(letter, '\u{fe00}'..='\u{fe0f}' | '\u{200c}' | '\u{200d}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(text: &str) -> (String, BTreeMap<char, String>) {
        let mut instead = BTreeMap::new();
        let out = Letters::new().unwrap().written(text, &mut instead);
        (out, instead)
    }

    #[test]
    fn letters_and_signs_of_the_pages_are_there() {
        let signs = "Zażółć gęślą jaźń, Ångström, Ñandú, Ελληνικά, Русский Ґ, → ≥ ≤ × – — ½ ⅓ ° ☐ ☑ ✓ “no.” … µ € ‘’ •";
        let (out, instead) = written(signs);
        assert_eq!(out, signs);
        assert!(instead.is_empty());
    }

    /// Two names stay two: 北 and 背 are both written Bei. What nobody can write is still seen.
    #[test]
    fn letters_that_are_lacking_are_written_in_latin_and_listed() {
        for (name, latin, listed) in [
            ("Bull \u{1f402}, e\u{301}", "Bull ox, é", 1),
            ("北京 7, \u{5d0}\u{5d1}", "Bei Jing 7, 'b", 4),
            ("北京, 背景, 北京", "Bei Jing, Bei(2) Jing(2), Bei Jing", 4),
            ("a\u{e000}b\u{7}c", "a\u{fffd}b\u{fffd}c", 2),
        ] {
            let (out, instead) = written(name);
            assert_eq!((&*out, instead.len()), (latin, listed));
        }
        assert_eq!(written("\u{1f402}").1[&'\u{1f402}'], "ox");
    }

    #[test]
    fn bold_is_wider_and_nothing_has_no_width() {
        let letters = Letters::new().unwrap();
        let regular = letters.width(Face::Regular, "Breed 88 head", 10.0);
        let bold = letters.width(Face::Bold, "Breed 88 head", 10.0);
        assert!(40.0 < regular && regular < bold && bold < 130.0);
        assert!(letters.width(Face::Bold, "", 10.0).abs() < f32::EPSILON);
    }
}
