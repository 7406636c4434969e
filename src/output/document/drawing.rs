//! Drawings: lines, boxes and rings on a field of their own units, with words beside them. All that
//! they show stands in words too.

/// A drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// True for a map, which stays small; a chart is as wide as the column.
    pub map: bool,
    /// What it shows, for those who do not see it.
    pub label: String,
    /// Its width, in its own units.
    pub wide: f64,
    /// Its height, in its own units.
    pub high: f64,
    /// What is drawn, the lowest first.
    pub marks: Vec<Mark>,
}

/// Something drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What, and where.
    pub shape: Shape,
    /// How.
    pub look: Look,
    /// Words that a pointer on it brings up.
    pub title: Option<String>,
}

/// What is drawn, and where: x to the right, y down.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// From one point to another: x, y, x, y.
    Line([f64; 4]),
    /// A box: x, y, width, height.
    Box([f64; 4]),
    /// A ring: x and y of its middle, radius.
    Ring([f64; 3]),
    /// Points, joined.
    Chain(Vec<(f64, f64)>),
    /// Words at a point: before, around or after it by their look.
    Words([f64; 2], String),
}

/// How something is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Look {
    /// A line, or words after their point.
    #[default]
    Plain,
    /// To read others by.
    Faint,
    /// A thick line.
    Strong,
    /// A broken line.
    Dashed,
    /// Filled.
    Full,
    /// Filled, with a thin edge.
    FullThin,
    /// With the ground in it.
    Open,
    /// With the ground in it, and a thin edge.
    OpenThin,
    /// A name: words that stand out.
    Name,
    /// Words around their point.
    Middle,
    /// Words before their point.
    Before,
    /// A number that stands out.
    Number,
}

/// A bar.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bar {
    /// Its name.
    pub name: String,
    /// What it is made of, one after the other; three at the most.
    pub parts: Vec<f64>,
    /// Figures behind it.
    pub said: Vec<String>,
}

impl Bar {
    /// All of it.
    #[must_use]
    pub fn sum(&self) -> f64 {
        self.parts.iter().sum()
    }
}

impl Drawing {
    /// Bars below each other, their names before them and their figures behind.
    #[must_use]
    pub fn of_bars(bars: &[Bar]) -> Self {
        const WIDE: f64 = 720.0;
        const ROW: f64 = 18.0;
        /// Where bars begin, and how long the longest is.
        const FROM: f64 = 170.0;
        const LONGEST: f64 = 400.0;
        let most = bars.iter().map(Bar::sum).fold(f64::MIN_POSITIVE, f64::max);
        let long = |share: f64| (10.0 * LONGEST * share / most).round() / 10.0;
        let mut marks = Vec::new();
        for (n, bar) in bars.iter().enumerate() {
            let top = ROW * n as f64;
            marks.push(Mark::words(Look::Plain, [2.0, top + 13.0], &*bar.name));
            let mut sum = 0.0;
            let looks = [Look::Full, Look::Open, Look::OpenThin];
            for (part, look) in bar.parts.iter().zip(looks) {
                let at = Shape::Box([FROM + long(sum), top + 3.0, long(*part), ROW - 6.0]);
                marks.push(Mark::new(look, at));
                sum += part;
            }
            let after = [FROM + long(sum) + 6.0, top + 13.0];
            marks.push(Mark::words(Look::Plain, after, bar.said.join(", ")));
        }
        Self {
            label: "Bars; their figures stand behind them".to_owned(),
            wide: WIDE,
            high: ROW * bars.len() as f64,
            marks,
            ..Self::default()
        }
    }
}

impl Mark {
    /// Something drawn, without words of its own.
    #[must_use]
    pub const fn new(look: Look, shape: Shape) -> Self {
        Self {
            shape,
            look,
            title: None,
        }
    }

    /// Something drawn, with words that a pointer brings up.
    #[must_use]
    pub fn titled(look: Look, shape: Shape, title: impl Into<String>) -> Self {
        Self {
            title: Some(title.into()),
            ..Self::new(look, shape)
        }
    }

    /// Words at a point.
    #[must_use]
    pub fn words(look: Look, at: [f64; 2], words: impl Into<String>) -> Self {
        Self::new(look, Shape::Words(at, words.into()))
    }
}
