//! The page's drawings on paper, black on white: lines, boxes, rings, and words beside them.
//!
//! What they show stands in tables and lists too, so that readers who speak the page pass them over.

use super::letters::{Face, Letters};
use super::markup::{Element, Node};
use super::strips::{Draw, Place, Strip};

/// Letters that would run out of the drawing are left out, and this stands for them.
const CUT: &str = "…";

/// A drawing, in the units of its own box.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Drawing {
    wide: f32,
    high: f32,
    /// Width in points that it takes at the most; the whole column if there is none.
    most: Option<f32>,
    marks: Vec<Mark>,
}

#[derive(Clone, Debug, PartialEq)]
enum Mark {
    Chain {
        points: Vec<(f32, f32)>,
        closed: bool,
        pen: Pen,
    },
    Ring {
        at: (f32, f32),
        radius: f32,
        pen: Pen,
    },
    Words {
        at: (f32, f32),
        stands: Stands,
        face: Face,
        size: f32,
        text: String,
    },
}

/// Where words stand by their point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stands {
    After,
    Around,
    Before,
}

/// How a line is drawn, and what is within it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pen {
    pub(super) wide: f32,
    /// Gray, for what only leads the eye.
    pub(super) faint: bool,
    pub(super) dashed: bool,
    pub(super) within: Within,
}

/// What is within a closed line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Within {
    Nothing,
    White,
    Black,
}

impl Drawing {
    /// An `svg` of the page that is a chart or a map; signs beside words are none.
    pub(super) fn read(e: &Element) -> Option<Self> {
        let chart = e.is_of("chart");
        if !chart && !e.is_of("map") {
            return None;
        }
        let corners: Vec<f32> = e
            .attribute("viewBox")?
            .split(' ')
            .filter_map(|n| n.parse().ok())
            .collect();
        let &[0.0, 0.0, wide, high] = corners.as_slice() else {
            return None;
        };
        Some(Self {
            wide,
            high,
            most: (!chart).then_some(180.0),
            marks: e.elements().filter_map(|m| mark(m, chart)).collect(),
        })
    }

    /// On one strip as wide as the column, or narrower if it would be higher than a sheet; nothing if
    /// nobody could read it then.
    pub(super) fn strip(&self, letters: &Letters, at: Place, high: f32) -> Option<Strip> {
        const SMALLEST: f32 = 0.55;
        let column = at.right - at.left;
        let wanted = self.most.map_or(column, |most| most.min(column)) / self.wide;
        let times = wanted.min(0.9 * high / self.high);
        if times < SMALLEST.min(wanted) {
            return None;
        }
        Some(Strip {
            above: 6.0,
            high: self.high * times + 4.0,
            draws: self
                .marks
                .iter()
                .filter_map(|m| m.drawn(letters, at.left, self.wide, times))
                .collect(),
            keep: true,
            ..Strip::default()
        })
    }
}

impl Mark {
    /// From the left edge of the column on, so many times as large.
    fn drawn(&self, letters: &Letters, left: f32, edge: f32, times: f32) -> Option<Draw> {
        let place = |(x, y): (f32, f32)| (left + x * times, y * times);
        let thinner = |pen: Pen| Pen {
            wide: pen.wide * times,
            ..pen
        };
        Some(match self {
            Self::Chain {
                points,
                closed,
                pen,
            } => Draw::Chain {
                points: points.iter().map(|p| place(*p)).collect(),
                closed: *closed,
                pen: thinner(*pen),
            },
            Self::Ring { at, radius, pen } => Draw::Ring {
                at: place(*at),
                radius: radius * times,
                pen: thinner(*pen),
            },
            Self::Words {
                at,
                stands,
                face,
                size,
                text,
            } => {
                // In the drawing's own units: what is measured is what fits.
                let room = match stands {
                    Stands::After => edge - at.0,
                    Stands::Around => 2.0 * at.0.min(edge - at.0),
                    Stands::Before => at.0,
                };
                let text = cut(letters, *face, text, *size, room)?;
                let wide = letters.width(*face, &text, *size);
                let begins = match stands {
                    Stands::After => at.0,
                    Stands::Around => at.0 - wide / 2.0,
                    Stands::Before => at.0 - wide,
                };
                let (x, y) = place((begins, at.1));
                Draw::Label {
                    x,
                    y,
                    face: *face,
                    size: size * times,
                    text,
                }
            }
        })
    }
}

/// As much of a text as there is room for.
fn cut(letters: &Letters, face: Face, text: &str, size: f32, room: f32) -> Option<String> {
    let fits = |t: &str| letters.width(face, t, size) <= room;
    if fits(text) {
        return Some(text.to_owned());
    }
    let ends: Vec<usize> = text.char_indices().map(|(n, _)| n).collect();
    let shorter = ends.iter().rev().map(|n| format!("{}{CUT}", &text[..*n]));
    shorter.into_iter().find(|t| fits(t))
}

fn mark(e: &Element, chart: bool) -> Option<Mark> {
    let number = |name: &str| e.attribute(name)?.parse::<f32>().ok();
    let pen = pen(e);
    Some(match e.name.as_str() {
        "line" => Mark::Chain {
            points: vec![
                (number("x1")?, number("y1")?),
                (number("x2")?, number("y2")?),
            ],
            closed: false,
            pen,
        },
        "rect" => {
            let (x, y) = (number("x")?, number("y")?);
            let (right, foot) = (x + number("width")?, y + number("height")?);
            Mark::Chain {
                points: vec![(x, y), (right, y), (right, foot), (x, foot)],
                closed: true,
                pen,
            }
        }
        "polyline" => Mark::Chain {
            points: e
                .attribute("points")?
                .split(' ')
                .filter_map(|p| {
                    let (x, y) = p.split_once(',')?;
                    Some((x.parse().ok()?, y.parse().ok()?))
                })
                .collect(),
            closed: false,
            pen,
        },
        "circle" => Mark::Ring {
            at: (number("cx")?, number("cy")?),
            radius: number("r")?,
            pen,
        },
        "text" => Mark::Words {
            at: (number("x")?, number("y")?),
            stands: if !chart || e.is_of("middle") {
                Stands::Around
            } else if e.is_of("right") {
                Stands::Before
            } else {
                Stands::After
            },
            face: if e.is_of("name") || e.is_of("number") {
                Face::Bold
            } else {
                Face::Regular
            },
            size: match (chart, e.is_of("number")) {
                (true, _) => 13.0,
                (false, true) => 15.0,
                (false, false) => 11.0,
            },
            text: words(e),
        },
        _ => return None,
    })
}

/// By the classes that the page's style has for drawings.
fn pen(e: &Element) -> Pen {
    let wide = [
        ("thin", 0.8),
        ("faint", 1.0),
        ("strong", 3.0),
        ("dashed", 2.0),
    ];
    let wide = wide.iter().find(|(class, _)| e.is_of(class));
    Pen {
        wide: wide.map_or(1.5, |(_, wide)| *wide),
        faint: e.is_of("faint"),
        dashed: e.is_of("dashed") || e.attribute("stroke-dasharray").is_some(),
        within: if e.is_of("full") {
            Within::Black
        } else if e.is_of("open") {
            Within::White
        } else {
            Within::Nothing
        },
    }
}

fn words(e: &Element) -> String {
    let texts = e.children.iter().filter_map(|n| match n {
        Node::Text(text) => Some(text.as_str()),
        Node::Element(_) => None,
    });
    texts.collect::<String>().trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::super::markup;
    use super::*;

    const AT: Place = Place {
        left: 10.0,
        right: 370.0,
        part: 0,
    };

    fn drawn(inner: &str) -> Option<Strip> {
        let svg = format!(r#"<svg class="chart" viewBox="0 0 720 100">{inner}</svg>"#);
        let page = markup::read(&svg).unwrap();
        let drawing = Drawing::read(page.elements().next().unwrap()).unwrap();
        drawing.strip(&Letters::new().unwrap(), AT, 500.0)
    }

    /// Half as large as drawn, by hand: 360 points for 720 units.
    #[test]
    fn marks_keep_their_places() {
        let strip = drawn(r#"<rect class="open" x="100" y="20" width="40" height="12"></rect>"#);
        let strip = strip.unwrap();
        assert!((strip.high - 54.0).abs() < 1e-3);
        let Draw::Chain {
            points,
            closed,
            pen,
        } = &strip.draws[0]
        else {
            panic!("{:?}", strip.draws)
        };
        assert_eq!(
            points,
            &[(60.0, 10.0), (80.0, 10.0), (80.0, 16.0), (60.0, 16.0)]
        );
        assert!(*closed && pen.within == Within::White && !pen.dashed);
    }

    #[test]
    fn words_stay_within_the_drawing() {
        let long = "a long name ".repeat(20);
        for (x, class) in [(10, "name"), (360, "middle"), (700, "right"), (719, "")] {
            let strip = drawn(&format!(
                r#"<text class="{class}" x="{x}" y="50">{long}</text>"#
            ));
            for draw in strip.unwrap().draws {
                let Draw::Label {
                    x,
                    face,
                    size,
                    text,
                    ..
                } = draw
                else {
                    panic!("{draw:?}")
                };
                let right = x + Letters::new().unwrap().width(face, &text, size);
                assert!(
                    x >= AT.left && right <= AT.right + 0.01,
                    "{x} {right} {text}"
                );
                assert!(text.ends_with(CUT));
            }
        }
    }

    #[test]
    fn what_is_much_too_high_is_left_to_the_page() {
        let svg = r#"<svg class="chart" viewBox="0 0 720 90000"></svg>"#;
        let page = markup::read(svg).unwrap();
        let drawing = Drawing::read(page.elements().next().unwrap()).unwrap();
        assert!(drawing.strip(&Letters::new().unwrap(), AT, 500.0).is_none());
        let sign = markup::read(r#"<svg viewBox="0 0 48 48"></svg>"#).unwrap();
        assert!(Drawing::read(sign.elements().next().unwrap()).is_none());
    }
}
