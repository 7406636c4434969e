//! Drawings on paper, black on white: lines, boxes, rings, and words beside them.
//!
//! What they show stands in tables and lists too, so that readers who speak the page pass them over.

use super::draw::{Draw, Pen, Place, Strip, Within};
use super::letters::{Face, Letters};
use crate::output::document::{Drawing, Look, Mark, Shape};

/// Letters that would run out of the drawing are left out, and this stands for them.
const CUT: &str = "…";

/// On one strip as wide as the column, or narrower if it would be higher than a sheet; nothing if
/// nobody could read it then.
pub(super) fn strip(drawing: &Drawing, letters: &Letters, at: Place, high: f32) -> Option<Strip> {
    const SMALLEST: f32 = 0.55;
    const MAP: f32 = 180.0;
    let column = at.right - at.left;
    let wide = if drawing.map { column.min(MAP) } else { column };
    let wanted = wide / drawing.wide as f32;
    let times = wanted.min(0.9 * high / drawing.high as f32);
    if times < SMALLEST.min(wanted) {
        return None;
    }
    let draws = drawing.marks.iter();
    Some(Strip {
        above: 6.0,
        high: drawing.high as f32 * times + 4.0,
        draws: draws
            .filter_map(|m| drawn(drawing, m, letters, at.left, times))
            .collect(),
        keep: true,
        ..Strip::default()
    })
}

/// A mark, from the left edge of the column on, so many times as large.
fn drawn(of: &Drawing, mark: &Mark, letters: &Letters, left: f32, times: f32) -> Option<Draw> {
    let place = |x: f64, y: f64| (left + x as f32 * times, y as f32 * times);
    let pen = pen(mark.look, times);
    let chain = |points: Vec<(f32, f32)>, closed: bool| Draw::Chain {
        points,
        closed,
        pen,
    };
    Some(match &mark.shape {
        Shape::Line([a, b, c, d]) => chain(vec![place(*a, *b), place(*c, *d)], false),
        Shape::Box([x, y, wide, high]) => {
            let (right, foot) = (x + wide, y + high);
            let corners = [(*x, *y), (right, *y), (right, foot), (*x, foot)];
            chain(corners.map(|(x, y)| place(x, y)).to_vec(), true)
        }
        Shape::Chain(points) => chain(points.iter().map(|(x, y)| place(*x, *y)).collect(), false),
        Shape::Ring([x, y, radius]) => Draw::Ring {
            at: place(*x, *y),
            radius: *radius as f32 * times,
            pen,
        },
        Shape::Words([x, y], words) => {
            let (size, face) = type_of(of, mark.look);
            let (at, wide) = (*x as f32, of.wide as f32);
            // Before, around or after its point; in the drawing's own units, what is measured is
            // what fits.
            let (before, room) = match mark.look {
                Look::Middle => (0.5, 2.0 * at.min(wide - at)),
                _ if of.map => (0.5, 2.0 * at.min(wide - at)),
                Look::Before => (1.0, at),
                _ => (0.0, wide - at),
            };
            let text = cut(letters, face, words.trim(), size, room)?;
            let begins = at - before * letters.width(face, &text, size);
            Draw::Words {
                x: left + begins * times,
                y: *y as f32 * times,
                face,
                size: size * times,
                text,
                part: None,
            }
        }
    })
}

/// Size and face of words.
const fn type_of(of: &Drawing, look: Look) -> (f32, Face) {
    match (of.map, look) {
        (false, Look::Name | Look::Number) => (13.0, Face::Bold),
        (false, _) => (13.0, Face::Regular),
        (true, Look::Name | Look::Number) => (15.0, Face::Bold),
        (true, _) => (11.0, Face::Regular),
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

fn pen(look: Look, times: f32) -> Pen {
    let wide = match look {
        Look::FullThin | Look::OpenThin => 0.8,
        Look::Faint => 1.0,
        Look::Strong => 3.0,
        Look::Dashed => 2.0,
        _ => 1.5,
    };
    Pen {
        wide: wide * times,
        faint: look == Look::Faint,
        dashed: look == Look::Dashed,
        within: match look {
            Look::Full | Look::FullThin => Within::Black,
            Look::Open | Look::OpenThin => Within::White,
            _ => Within::Nothing,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const AT: Place = Place {
        left: 10.0,
        right: 370.0,
        part: 0,
    };

    fn laid(mark: Mark) -> Option<Strip> {
        let drawing = Drawing {
            wide: 720.0,
            high: 100.0,
            marks: vec![mark],
            ..Drawing::default()
        };
        strip(&drawing, &Letters::new().unwrap(), AT, 500.0)
    }

    /// Half as large as drawn, by hand: 360 points for 720 units.
    #[test]
    fn marks_keep_their_places() {
        let strip = laid(Mark::new(Look::Open, Shape::Box([100.0, 20.0, 40.0, 12.0])));
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
        let looks = [
            (10.0, Look::Name),
            (360.0, Look::Middle),
            (700.0, Look::Before),
            (719.0, Look::Plain),
        ];
        for (x, look) in looks {
            let strip = laid(Mark::words(look, [x, 50.0], &*long));
            for draw in strip.unwrap().draws {
                let Draw::Words {
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
        let drawing = Drawing {
            wide: 720.0,
            high: 90_000.0,
            ..Drawing::default()
        };
        assert!(strip(&drawing, &Letters::new().unwrap(), AT, 500.0).is_none());
    }
}
