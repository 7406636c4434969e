//! Strips onto sheets of paper: where a sheet ends, heads of tables again, and what stands where.

use std::collections::BTreeMap;

use super::draw::{Draw, Strip};

/// Something drawn, moved to its place on a sheet.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Placed {
    /// How far down the strip begins.
    pub(super) down: f32,
    pub(super) draw: Draw,
    /// True for what stands on an earlier sheet already.
    pub(super) again: bool,
}

/// A sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Sheet {
    pub(super) draws: Vec<Placed>,
    /// The days that its strips are of.
    pub(super) days: Vec<String>,
}

/// A heading, for the list of contents that viewers show.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Mark {
    pub(super) level: u8,
    pub(super) words: String,
    pub(super) sheet: usize,
    pub(super) down: f32,
}

/// All sheets.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Sheets {
    pub(super) laid: Vec<Sheet>,
    pub(super) marks: Vec<Mark>,
    /// The sheet of each anchor, counted from 0.
    pub(super) anchors: BTreeMap<String, usize>,
}

/// Lays strips on sheets with so much free height.
pub(super) fn lay(strips: &[Strip], high: f32) -> Sheets {
    let mut all = Sheets {
        laid: vec![Sheet::default()],
        ..Sheets::default()
    };
    let (mut down, mut day) = (0.0_f32, String::new());
    let mut at = 0;
    while at < strips.len() {
        let end = chain_end(strips, at);
        let chain = &strips[at..end];
        let wanted = height(chain, down > 0.0);
        let fits = down + wanted <= high;
        // A chain higher than a sheet is divided where it must be.
        let begins = chain[0].sheet || (!fits && height(chain, false) <= high);
        for (n, strip) in chain.iter().enumerate() {
            let no_room = down + strip.above + strip.high > high;
            if down > 0.0 && ((n == 0 && begins) || no_room) {
                all.laid.push(Sheet::default());
                down = 0.0;
                // The head of a table that goes on; not where the table itself begins.
                let goes_on = (at + n) > 0 && same_table(&strips[at + n - 1], strip);
                if let Some(head) = strip.head.as_ref().filter(|_| goes_on) {
                    for again in head.iter() {
                        down = all.put(again, down, true);
                    }
                }
            }
            if let Some(words) = &strip.day {
                day.clone_from(words);
            }
            let sheet = all.laid.len() - 1;
            if let Some(last) = all.laid.last_mut()
                && !day.is_empty()
                && last.days.last() != Some(&day)
            {
                last.days.push(day.clone());
            }
            let free = if down > 0.0 { strip.above } else { 0.0 };
            if let Some((level, words)) = &strip.mark {
                all.marks.push(Mark {
                    level: *level,
                    words: words.clone(),
                    sheet,
                    down: down + free,
                });
            }
            if let Some(anchor) = &strip.anchor {
                all.anchors.entry(anchor.clone()).or_insert(sheet);
            }
            down = all.put(strip, down, false);
        }
        at = end;
    }
    all
}

impl Sheets {
    /// Puts a strip on the last sheet, and says how far down that is then.
    fn put(&mut self, strip: &Strip, down: f32, again: bool) -> f32 {
        let top = if down > 0.0 { down + strip.above } else { 0.0 };
        if let Some(sheet) = self.laid.last_mut() {
            let draws = strip.draws.iter().map(|draw| Placed {
                down: top,
                draw: draw.clone(),
                again,
            });
            sheet.draws.extend(draws);
        }
        top + strip.high
    }
}

/// Behind the last strip that stays with the one at `at`.
fn chain_end(strips: &[Strip], at: usize) -> usize {
    let mut end = at;
    while end + 1 < strips.len() && strips[end].keep && !strips[end + 1].sheet {
        end += 1;
    }
    end + 1
}

fn height(chain: &[Strip], below_others: bool) -> f32 {
    let all: f32 = chain.iter().map(|s| s.above + s.high).sum();
    let first = chain.first().map_or(0.0, |s| s.above);
    if below_others { all } else { all - first }
}

/// Rows share the head that comes again.
fn same_table(before: &Strip, after: &Strip) -> bool {
    before.head.is_some() && after.head.is_some() && before.table == after.table
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::rc::Rc;

    fn strip(high: f32) -> Strip {
        Strip {
            high,
            above: 2.0,
            ..Strip::default()
        }
    }

    fn marked(high: f32, words: &str) -> Strip {
        Strip {
            mark: Some((2, words.to_owned())),
            keep: true,
            ..strip(high)
        }
    }

    #[test]
    fn a_heading_goes_with_what_follows_it() {
        let strips = [strip(80.0), marked(10.0, "b"), strip(10.0), strip(10.0)];
        let all = lay(&strips, 100.0);
        assert_eq!(all.laid.len(), 2);
        assert_eq!((all.marks[0].sheet, all.marks[0].down), (1, 0.0));
    }

    #[test]
    fn a_chain_higher_than_a_sheet_is_divided() {
        let strips: Vec<Strip> = (0..10)
            .map(|_| Strip {
                keep: true,
                ..strip(30.0)
            })
            .collect();
        let all = lay(&strips, 100.0);
        assert_eq!(all.laid.len(), 4);
    }

    #[test]
    fn the_head_of_a_table_comes_again_on_its_next_sheet_alone() {
        let rule = |y: f32| Draw::Rule {
            from: (0.0, y),
            to: (9.0, y),
            wide: 1.0,
        };
        let head = Strip {
            draws: vec![rule(1.0)],
            keep: true,
            ..strip(10.0)
        };
        let again = Rc::new(vec![head.clone()]);
        let row = || Strip {
            head: Some(Rc::clone(&again)),
            ..strip(30.0)
        };
        let mut strips = vec![strip(20.0), head];
        strips.extend((0..4).map(|_| row()));
        strips.push(strip(90.0));
        let all = lay(&strips, 100.0);
        let heads = |n: usize| all.laid[n].draws.iter().filter(|d| d.again).count();
        assert_eq!(all.laid.len(), 3);
        assert_eq!([heads(0), heads(1), heads(2)], [0, 1, 0]);
    }

    #[test]
    fn the_foot_tells_the_days_of_its_sheet() {
        let day = |words: &str| Strip {
            day: Some(words.to_owned()),
            ..strip(40.0)
        };
        let strips = [
            strip(10.0),
            day("Mon"),
            strip(60.0),
            day("Tue"),
            strip(60.0),
            day(""),
            strip(60.0),
        ];
        let all = lay(&strips, 106.0);
        let days: Vec<Vec<String>> = all.laid.into_iter().map(|s| s.days).collect();
        assert_eq!(days, [vec!["Mon"], vec!["Mon", "Tue"], vec!["Tue"], vec![]]);
    }
}
