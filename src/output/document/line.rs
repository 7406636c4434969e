//! A line of words: some stand out, some lead elsewhere, some are moments that programs read too.

use crate::planning::plan::Moment;

/// Words in a row, as long as they are: where lines end is the renderer's.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Line(pub Vec<Span>);

/// Some words of a line.
#[derive(Clone, Debug, PartialEq)]
pub enum Span {
    /// Words.
    Text(String),
    /// Words that are something to their reader.
    Styled(Style, Line),
    /// A moment, as it is read; programs get all of it.
    Time(Moment, String),
    /// A way to an anchor of the document.
    Link(String, Line),
    /// A box to tick.
    Tick,
    /// The line ends here.
    Break,
}

/// What words are to their reader.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// Words that stand out.
    Strong,
    /// A clock time, or two, that stand out and are never torn apart.
    Clock,
    /// A figure with its unit, that stands out and is never torn apart.
    Figure,
    /// The words that a list of remarks is looked through by.
    Word,
    /// Who is meant.
    Who,
    /// A short name beside a name.
    Short,
    /// Words beside the matter, smaller.
    Soft,
    /// What stands for nothing.
    Nothing,
    /// Words of their own beside an entry's figure.
    Beside,
    /// Seconds behind a clock time.
    Seconds,
    /// Words bound to a box to tick before them.
    Box,
}

impl Style {
    /// Words of this style.
    #[must_use]
    pub fn of(self, line: impl Into<Line>) -> Span {
        Span::Styled(self, line.into())
    }
}

/// A line of parts: words, numbers, spans, other lines, and options of these.
macro_rules! words {
    ($($part:expr),* $(,)?) => {{
        #[allow(unused_mut)]
        let mut line = $crate::output::document::Line::default();
        $(line.add($part);)*
        line
    }};
}
pub(crate) use words;

impl Line {
    /// Puts more behind it.
    pub fn add(&mut self, more: impl Into<Self>) {
        for span in more.into().0 {
            match (self.0.last_mut(), span) {
                (Some(Span::Text(before)), Span::Text(text)) => before.push_str(&text),
                (_, span) => self.0.push(span),
            }
        }
    }

    /// Lines behind each other, with something between.
    #[must_use]
    pub fn joined<L: Into<Self>>(
        lines: impl IntoIterator<Item = L>,
        between: impl Into<Self>,
    ) -> Self {
        let between = between.into();
        let mut all = Self::default();
        for (n, line) in lines.into_iter().enumerate() {
            if n > 0 {
                all.add(between.clone());
            }
            all.add(line);
        }
        all
    }

    /// The words alone, as they are read aloud.
    #[must_use]
    pub fn plain(&self) -> String {
        let mut text = String::new();
        self.write(&mut text);
        text
    }

    fn write(&self, text: &mut String) {
        for span in &self.0 {
            match span {
                Span::Text(words) | Span::Time(_, words) => text.push_str(words),
                Span::Tick => {}
                Span::Break => text.push('\n'),
                Span::Styled(_, line) | Span::Link(_, line) => line.write(text),
            }
        }
    }

    /// Changes every text in it.
    pub fn each_text(&mut self, change: &mut dyn FnMut(&mut String)) {
        for span in &mut self.0 {
            match span {
                Span::Text(words) | Span::Time(_, words) => change(words),
                Span::Styled(_, line) | Span::Link(_, line) => line.each_text(change),
                Span::Tick | Span::Break => {}
            }
        }
    }
}

impl Span {
    /// Words that stand out.
    #[must_use]
    pub fn strong(line: impl Into<Line>) -> Self {
        Style::Strong.of(line)
    }

    /// A way to an anchor of the document.
    #[must_use]
    pub fn link(to: impl Into<String>, line: impl Into<Line>) -> Self {
        Self::Link(to.into(), line.into())
    }
}

impl From<Span> for Line {
    fn from(span: Span) -> Self {
        Self(vec![span])
    }
}

impl From<&str> for Line {
    fn from(words: &str) -> Self {
        Self::from(words.to_owned())
    }
}

impl From<&String> for Line {
    fn from(words: &String) -> Self {
        Self::from(words.clone())
    }
}

impl From<String> for Line {
    fn from(words: String) -> Self {
        if words.is_empty() {
            Self::default()
        } else {
            Self(vec![Span::Text(words)])
        }
    }
}

impl<T: Into<Self>> From<Option<T>> for Line {
    fn from(line: Option<T>) -> Self {
        line.map_or_else(Self::default, Into::into)
    }
}

macro_rules! from_number {
    ($($of:ty),*) => {
        $(impl From<$of> for Line {
            fn from(number: $of) -> Self {
                Self::from(number.to_string())
            }
        })*
    };
}
from_number!(u32, i64, usize, f64);
