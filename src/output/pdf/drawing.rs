//! The page's drawings on paper, black on white: lines, boxes, rings, and words beside them.
//!
//! What they show stands in tables and lists too, so that readers who speak the page pass them over.

use super::draw::{Draw, Pen, Place, Strip, Within};
use super::letters::{Face, Letters};
use super::markup::{Element, Node};

/// Letters that would run out of the drawing are left out, and this stands for them.
const CUT: &str = "…";

/// A drawing as the page has it, in the units of its own box.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Drawing {
    svg: Element,
    wide: f32,
    high: f32,
}

impl Drawing {
    /// An `svg` of the page that is a chart or a map; signs beside words are none.
    pub(super) fn read(e: &Element) -> Option<Self> {
        if !e.is_of("chart") && !e.is_of("map") {
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
            svg: e.clone(),
            wide,
            high,
        })
    }

    /// On one strip as wide as the column, or narrower if it would be higher than a sheet; nothing if
    /// nobody could read it then.
    pub(super) fn strip(&self, letters: &Letters, at: Place, high: f32) -> Option<Strip> {
        const SMALLEST: f32 = 0.55;
        const MAP: f32 = 180.0;
        let column = at.right - at.left;
        let wide = if self.is_chart() {
            column
        } else {
            column.min(MAP)
        };
        let wanted = wide / self.wide;
        let times = wanted.min(0.9 * high / self.high);
        if times < SMALLEST.min(wanted) {
            return None;
        }
        let marks = self.svg.elements();
        Some(Strip {
            above: 6.0,
            high: self.high * times + 4.0,
            draws: marks
                .filter_map(|m| self.drawn(m, letters, at.left, times))
                .collect(),
            keep: true,
            ..Strip::default()
        })
    }

    fn is_chart(&self) -> bool {
        self.svg.is_of("chart")
    }

    /// A mark, from the left edge of the column on, so many times as large.
    fn drawn(&self, e: &Element, letters: &Letters, left: f32, times: f32) -> Option<Draw> {
        let number = |name: &str| e.attribute(name)?.parse::<f32>().ok();
        let place = |x: f32, y: f32| (left + x * times, y * times);
        let pen = pen(e, times);
        let chain = |points: Vec<(f32, f32)>, closed: bool| Draw::Chain {
            points,
            closed,
            pen,
        };
        Some(match e.name.as_str() {
            "line" => {
                let from = place(number("x1")?, number("y1")?);
                chain(vec![from, place(number("x2")?, number("y2")?)], false)
            }
            "rect" => {
                let (x, y) = (number("x")?, number("y")?);
                let (right, foot) = (x + number("width")?, y + number("height")?);
                let corners = [(x, y), (right, y), (right, foot), (x, foot)];
                chain(corners.map(|(x, y)| place(x, y)).to_vec(), true)
            }
            "polyline" => {
                let points = e.attribute("points")?.split(' ').filter_map(|p| {
                    let (x, y) = p.split_once(',')?;
                    Some(place(x.parse().ok()?, y.parse().ok()?))
                });
                chain(points.collect(), false)
            }
            "circle" => Draw::Ring {
                at: place(number("cx")?, number("cy")?),
                radius: number("r")? * times,
                pen,
            },
            "text" => {
                let (size, face) = self.type_of(e);
                let at = number("x")?;
                // Before, around or after its point; in the drawing's own units, what is measured is
                // what fits.
                let around = !self.is_chart() || e.is_of("middle");
                let (before, room) = match (around, e.is_of("right")) {
                    (true, _) => (0.5, 2.0 * at.min(self.wide - at)),
                    (false, true) => (1.0, at),
                    (false, false) => (0.0, self.wide - at),
                };
                let text = cut(letters, face, &words(e), size, room)?;
                let begins = at - before * letters.width(face, &text, size);
                let (x, y) = place(begins, number("y")?);
                Draw::Label {
                    x,
                    y,
                    face,
                    size: size * times,
                    text,
                }
            }
            _ => return None,
        })
    }

    /// Size and face of words, by the classes that the page's style has for them.
    fn type_of(&self, e: &Element) -> (f32, Face) {
        match (self.is_chart(), e.is_of("name") || e.is_of("number")) {
            (true, true) => (13.0, Face::Bold),
            (true, false) => (13.0, Face::Regular),
            (false, true) => (15.0, Face::Bold),
            (false, false) => (11.0, Face::Regular),
        }
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

/// By the classes that the page's style has for drawings.
fn pen(e: &Element, times: f32) -> Pen {
    let wide = [
        ("thin", 0.8),
        ("faint", 1.0),
        ("strong", 3.0),
        ("dashed", 2.0),
    ];
    let wide = wide.iter().find(|(class, _)| e.is_of(class));
    Pen {
        wide: wide.map_or(1.5, |(_, wide)| *wide) * times,
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
