//! Words into lines no wider than their column.

use super::blocks::Piece;
use super::letters::{Face, Letters};
use crate::output::times::is_one_time;

/// A box to tick is so wide, in sizes of the letters around it.
pub(super) const TICK: f32 = 1.0;
/// And so much is free behind it.
const TICK_GAP: f32 = 0.45;

/// A part of a line, from its beginning.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Part {
    /// Words of one face.
    Words { x: f32, face: Face, text: String },
    /// A box to tick.
    Tick { x: f32 },
}

/// A line.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Line {
    pub(super) parts: Vec<Part>,
    /// How wide it is.
    pub(super) width: f32,
    /// True if it ends where a word ends, and the text goes on.
    pub(super) goes_on: bool,
}

/// What may not be torn apart, unless it is wider than the column.
#[derive(Debug, Default)]
struct Word {
    parts: Vec<(Option<Face>, String)>,
    width: f32,
}

enum Token {
    Word(Word),
    Blank(Face),
    Break,
}

/// Lines of some pieces at a size. A word wider than the column is torn where it must be.
pub(super) fn lines(letters: &Letters, pieces: &[Piece], size: f32, width: f32) -> Vec<Line> {
    let mut setter = Setter {
        letters,
        size,
        width,
        done: Vec::new(),
        line: Line::default(),
        blank: None,
    };
    for token in tokens(letters, pieces, size) {
        match token {
            Token::Break => setter.end(false),
            Token::Blank(face) => setter.blank = Some(face),
            Token::Word(word) => setter.word(word),
        }
    }
    if !setter.line.parts.is_empty() {
        setter.end(false);
    }
    setter.done
}

/// The widest word, and the widest line if the column were as wide as it liked.
pub(super) fn extent(letters: &Letters, pieces: &[Piece], size: f32) -> (f32, f32) {
    let words = tokens(letters, pieces, size);
    let widest = words.iter().map(|t| match t {
        Token::Word(w) => w.width,
        _ => 0.0,
    });
    let widest = widest.fold(0.0, f32::max);
    let free = lines(letters, pieces, size, f32::INFINITY);
    let longest = free.iter().map(|l| l.width).fold(0.0, f32::max);
    (widest, longest)
}

fn tokens(letters: &Letters, pieces: &[Piece], size: f32) -> Vec<Token> {
    let mut found = Vec::new();
    let mut word = Word::default();
    let close = |word: &mut Word, found: &mut Vec<Token>| {
        if !word.parts.is_empty() {
            found.push(Token::Word(std::mem::take(word)));
        }
    };
    for piece in pieces {
        match piece {
            Piece::Tick => {
                close(&mut word, &mut found);
                // Stays with the word behind it.
                word.parts.push((None, String::new()));
                word.width += (TICK + TICK_GAP) * size;
            }
            Piece::Break => {
                close(&mut word, &mut found);
                found.push(Token::Break);
            }
            Piece::Text(face, text) => {
                for (n, bit) in text.split(' ').enumerate() {
                    let before = word.parts.last().map_or("", |(_, text)| text);
                    if n > 0 && is_one_time(before, bit) {
                        word.width += letters.width(*face, " ", size);
                        word.parts.push((Some(*face), " ".to_owned()));
                    } else if n > 0 {
                        close(&mut word, &mut found);
                        found.push(Token::Blank(*face));
                    }
                    if !bit.is_empty() {
                        word.width += letters.width(*face, bit, size);
                        word.parts.push((Some(*face), bit.to_owned()));
                    }
                }
            }
        }
    }
    close(&mut word, &mut found);
    found
}

struct Setter<'a> {
    letters: &'a Letters,
    size: f32,
    width: f32,
    done: Vec<Line>,
    line: Line,
    blank: Option<Face>,
}

impl Setter<'_> {
    fn end(&mut self, goes_on: bool) {
        let mut line = std::mem::take(&mut self.line);
        line.goes_on = goes_on;
        self.done.push(line);
        self.blank = None;
    }

    fn word(&mut self, word: Word) {
        // Rounding must not tear a word out of a column that was made for it.
        const HAIR: f32 = 0.01;
        let blank = self.blank.filter(|_| !self.line.parts.is_empty());
        let gap = blank.map_or(0.0, |face| self.letters.width(face, " ", self.size));
        if self.line.width + gap + word.width <= self.width + HAIR {
            if let Some(face) = blank {
                self.add(face, " ");
            }
            self.put(word);
        } else if word.width <= self.width + HAIR {
            if !self.line.parts.is_empty() {
                self.end(true);
            }
            self.put(word);
        } else {
            if !self.line.parts.is_empty() {
                self.end(true);
            }
            self.torn(word);
        }
        self.blank = None;
    }

    fn put(&mut self, word: Word) {
        for (face, text) in word.parts {
            match face {
                Some(face) => self.add(face, &text),
                None => self.tick(),
            }
        }
    }

    fn tick(&mut self) {
        self.line.parts.push(Part::Tick { x: self.line.width });
        self.line.width += (TICK + TICK_GAP) * self.size;
    }

    /// Letter by letter, for a word wider than the column.
    fn torn(&mut self, word: Word) {
        let mut bytes = [0; 4];
        for (face, text) in word.parts {
            let Some(face) = face else {
                self.tick();
                continue;
            };
            for letter in text.chars() {
                let wide = self.letters.glyph(face, letter).1 * self.size;
                if self.line.width + wide > self.width && !self.line.parts.is_empty() {
                    self.end(false);
                }
                self.add(face, letter.encode_utf8(&mut bytes));
            }
        }
    }

    fn add(&mut self, face: Face, text: &str) {
        let wide = self.letters.width(face, text, self.size);
        match self.line.parts.last_mut() {
            Some(Part::Words {
                face: f, text: t, ..
            }) if *f == face => t.push_str(text),
            _ => self.line.parts.push(Part::Words {
                x: self.line.width,
                face,
                text: text.to_owned(),
            }),
        }
        self.line.width += wide;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn text(text: &str) -> Vec<Piece> {
        vec![Piece::Text(Face::Regular, text.to_owned())]
    }

    fn words(lines: &[Line]) -> Vec<String> {
        let line = |l: &Line| {
            let parts = l.parts.iter().map(|p| match p {
                Part::Words { text, .. } => text.as_str(),
                Part::Tick { .. } => "[]",
            });
            parts.collect()
        };
        lines.iter().map(line).collect()
    }

    #[test]
    fn lines_end_between_words_and_faces_do_not_part_them() {
        let letters = Letters::new().unwrap();
        let mut pieces = text("First cow ");
        pieces.push(Piece::Text(Face::Bold, "05:46".to_owned()));
        pieces.push(Piece::Text(Face::Regular, ", last cow".to_owned()));
        let set = lines(&letters, &pieces, 10.0, 80.0);
        assert_eq!(words(&set), ["First cow 05:46,", "last cow"]);
        assert!(set[0].goes_on && !set[1].goes_on);
        let set = lines(&letters, &pieces, 10.0, 70.0);
        assert_eq!(words(&set), ["First cow", "05:46, last", "cow"]);
    }

    #[test]
    fn a_box_stays_with_its_word_and_long_words_are_torn() {
        let letters = Letters::new().unwrap();
        let mut pieces = text("on ");
        pieces.push(Piece::Tick);
        pieces.extend(text("Monday"));
        let set = lines(&letters, &pieces, 10.0, 60.0);
        assert_eq!(words(&set), ["on", "[]Monday"]);
        let long = "x".repeat(100);
        let set = lines(&letters, &text(&long), 10.0, 60.0);
        assert!(set.len() > 5);
        assert_eq!(words(&set).concat(), long);
    }

    proptest! {
        /// Whatever is written: no line is wider than its column, and no letter is lost.
        #[test]
        fn no_line_is_wider_than_its_column(
            texts in prop::collection::vec((any::<bool>(), "[ a-zA-Z0-9é–,.-]{0,60}"), 1..6),
            ticks in prop::collection::vec(any::<bool>(), 6),
            size in 8.0_f32..20.0,
            ems in 3.0_f32..60.0,
        ) {
            let letters = Letters::new().unwrap();
            let width = ems * size;
            let mut pieces = Vec::new();
            for ((bold, text), tick) in texts.iter().zip(ticks) {
                if tick { pieces.push(Piece::Tick); }
                let face = if *bold { Face::Bold } else { Face::Regular };
                pieces.push(Piece::Text(face, text.clone()));
            }
            let set = lines(&letters, &pieces, size, width);
            for line in &set {
                prop_assert!(line.width <= width + 0.02, "{} > {width}", line.width);
                for part in &line.parts {
                    let end = match part {
                        Part::Words { x, face, text } => x + letters.width(*face, text, size),
                        Part::Tick { x } => x + TICK * size,
                    };
                    prop_assert!(end <= line.width + 0.02);
                }
            }
            let all: String = words(&set).concat().replace("[]", "");
            let wanted: String = texts.iter().map(|(_, t)| t.as_str()).collect();
            let bare = |t: &str| t.replace(' ', "");
            prop_assert_eq!(bare(&all), bare(&wanted));
        }
    }
}
