//! Sheets as a PDF file: the one place that names the crate which writes it.
//!
//! The file is PDF 1.7 with the tags of PDF/UA-1, as the crate checks them. It holds no date and no
//! random number: same sheets, same bytes.
//!
//! The crate checks each file against PDF/UA-1, cuts fonts to the glyphs used, and gives the same bytes
//! for the same pages. Another writer of PDF brings 101 crates against 57, both without default
//! features; a bare one leaves tags and font subsets to us. The cost: 36 crates in the lock file and
//! 4.0 MB of a stripped program (16.5 to 20.5 MB, at optimization level 1). So it is a feature. Letters
//! are placed one by one, so that widths for line ends and in the file are the same.

use std::num::{NonZeroU16, NonZeroU32};

use krilla::color::luma;
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Rect};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, ListNumbering, SpanTag, TableHeaderScope, Tag,
    TagGroup, TagKind, TagTree,
};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Document, SerializeSettings};

use super::draw::{Draw, Kind, LEADING, Pen as Line, Structure, Within};
use super::letters::{Face, Letters};
use super::paper::Paper;
use super::sheets::{Mark, Placed, Sheets};

/// Lines at the foot of each sheet.
pub(super) struct Foot {
    /// What all sheets are of, in lines that fit.
    pub(super) of: Vec<String>,
    /// Size of its letters.
    pub(super) size: f32,
}

/// The file.
pub(super) struct File<'a> {
    pub(super) letters: &'a Letters,
    pub(super) paper: Paper,
    pub(super) title: &'a str,
    pub(super) program: &'a str,
    pub(super) foot: Foot,
    pub(super) structure: &'a Structure,
    pub(super) sheets: &'a Sheets,
}

/// The bytes of the file.
///
/// # Errors
/// In words, what the writing crate refused: a fault of ours.
pub(super) fn write(file: &File) -> Result<Vec<u8>, String> {
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|e| format!("{e:?}"))?;
    let mut document = Document::new_with(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    });
    let load = |face: Face| Font::new(face.file().to_vec().into(), 0).ok_or("a font is damaged");
    let fonts = [load(Face::Regular)?, load(Face::Bold)?];
    let mut found: Vec<Vec<Identifier>> = vec![Vec::new(); file.structure.0.len()];
    let (wide, high) = file.paper.points();
    for (n, sheet) in file.sheets.laid.iter().enumerate() {
        let settings = PageSettings::from_wh(wide, high).ok_or("a sheet without a size")?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        let mut pen = Pen {
            letters: file.letters,
            fonts: &fonts,
            surface: &mut surface,
        };
        for placed in &sheet.draws {
            draw(file, &mut pen, placed, &mut found);
        }
        foot(file, &mut pen, n, &sheet.days);
        surface.finish();
        page.finish();
    }
    document.set_tag_tree(tree(file.structure, found));
    document.set_outline(outline(&file.sheets.marks));
    document.set_metadata(
        Metadata::new()
            .title(file.title.to_owned())
            .language("en".to_owned())
            .creator(file.program.to_owned()),
    );
    document.finish().map_err(|e| e.to_string())
}

struct Pen<'a, 's> {
    letters: &'a Letters,
    fonts: &'a [Font; 2],
    surface: &'a mut Surface<'s>,
}

impl Pen<'_, '_> {
    fn words(&mut self, face: Face, size: f32, at: (f32, f32), text: &str) {
        let mut glyphs = Vec::with_capacity(text.len());
        for (byte, letter) in text.char_indices() {
            let (glyph, width) = self.letters.glyph(face, letter);
            glyphs.push(KrillaGlyph::new(
                GlyphId::new(glyph),
                width,
                0.0,
                0.0,
                0.0,
                byte..byte + letter.len_utf8(),
                None,
            ));
        }
        let font = self.fonts[usize::from(face == Face::Bold)].clone();
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill::default()));
        let at = Point::from_xy(at.0, at.1);
        self.surface
            .draw_glyphs(at, &glyphs, font, text, size, false);
    }

    /// A line of a drawing, with what is within it.
    fn line(&mut self, line: Line, path: PathBuilder) {
        let Some(path) = path.finish() else {
            return;
        };
        let ink = |lightness: u8| luma::Color::new(lightness).into();
        let fill = match line.within {
            Within::Nothing => None,
            Within::White => Some(ink(255)),
            Within::Black => Some(ink(0)),
        };
        self.surface.set_fill(fill.map(|paint| Fill {
            paint,
            ..Fill::default()
        }));
        let dash = StrokeDash {
            array: vec![3.0 * line.wide, 2.0 * line.wide],
            offset: 0.0,
        };
        self.surface.set_stroke(Some(Stroke {
            paint: ink(if line.faint { 170 } else { 0 }),
            width: line.wide,
            dash: line.dashed.then_some(dash),
            ..Stroke::default()
        }));
        self.surface.draw_path(&path);
    }

    fn path(&mut self, wide: f32, path: PathBuilder) {
        let Some(path) = path.finish() else {
            return;
        };
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(Stroke {
            width: wide,
            ..Stroke::default()
        }));
        self.surface.draw_path(&path);
    }

    /// Draws what stands beside the text, for readers that speak the page.
    fn beside(&mut self, kind: ArtifactType, draw: impl FnOnce(&mut Self)) {
        let artifact = ContentTag::Artifact(Artifact::with_kind(kind));
        self.surface.start_tagged(artifact);
        draw(self);
        self.surface.end_tagged();
    }
}

fn draw(file: &File, pen: &mut Pen, placed: &Placed, found: &mut [Vec<Identifier>]) {
    let (left, top) = (Paper::MARGIN, Paper::MARGIN + placed.down);
    let at = |x: f32, y: f32| (left + x, top + y);
    let mut said = |pen: &mut Pen, part: Option<usize>, draw: &dyn Fn(&mut Pen)| match part {
        None => pen.beside(ArtifactType::Layout, draw),
        Some(_) if placed.again => pen.beside(ArtifactType::PaginationOther, draw),
        Some(part) => {
            let id = pen.surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            found[part].push(id);
            draw(pen);
            pen.surface.end_tagged();
        }
    };
    match &placed.draw {
        Draw::Words {
            x,
            y,
            face,
            size,
            text,
            part,
        } => said(pen, *part, &|pen| {
            pen.words(*face, *size, at(*x, *y), text);
        }),
        Draw::SheetOf {
            x,
            y,
            size,
            anchor,
            part,
        } => {
            let Some(sheet) = file.sheets.anchors.get(anchor) else {
                return;
            };
            let number = format!(" {}", sheet + 1);
            let wide = pen.letters.width(Face::Regular, &number, *size);
            let (x, y) = at(*x, *y);
            said(pen, Some(*part), &|pen| {
                pen.words(Face::Regular, *size, (x - wide, y), &number);
            });
        }
        Draw::Tick { x, y, side } => {
            let path = square(at(*x, *y), *side);
            pen.beside(ArtifactType::Layout, |pen| pen.path(1.0, path));
        }
        Draw::Chain {
            points,
            closed,
            pen: line,
        } => {
            let mut path = chain(points.iter().map(|(x, y)| at(*x, *y)));
            if *closed {
                path.close();
            }
            pen.beside(ArtifactType::Layout, |pen| pen.line(*line, path));
        }
        Draw::Ring {
            at: (x, y),
            radius,
            pen: line,
        } => {
            let ring = ring(at(*x, *y), *radius);
            pen.beside(ArtifactType::Layout, |pen| pen.line(*line, ring));
        }
        Draw::Rule { from, to, wide } => {
            let path = chain([from, to].into_iter().map(|(x, y)| at(*x, *y)));
            pen.beside(ArtifactType::Layout, |pen| pen.path(*wide, path));
        }
    }
}

fn square((x, y): (f32, f32), side: f32) -> PathBuilder {
    let mut path = PathBuilder::new();
    if let Some(rect) = Rect::from_xywh(x, y, side, side) {
        path.push_rect(rect);
    }
    path
}

/// Points, joined.
fn chain(points: impl Iterator<Item = (f32, f32)>) -> PathBuilder {
    let mut path = PathBuilder::new();
    for (n, (x, y)) in points.enumerate() {
        if n == 0 {
            path.move_to(x, y);
        } else {
            path.line_to(x, y);
        }
    }
    path
}

/// A ring of four curves; the share of the radius that makes each a quarter of a circle to 0.03 % is
/// 4/3 (sqrt 2 - 1).
fn ring((x, y): (f32, f32), r: f32) -> PathBuilder {
    let c = r * 4.0 / 3.0 * (std::f32::consts::SQRT_2 - 1.0);
    let mut path = PathBuilder::new();
    path.move_to(x + r, y);
    path.cubic_to(x + r, y + c, x + c, y + r, x, y + r);
    path.cubic_to(x - c, y + r, x - r, y + c, x - r, y);
    path.cubic_to(x - r, y - c, x - c, y - r, x, y - r);
    path.cubic_to(x + c, y - r, x + r, y - c, x + r, y);
    path.close();
    path
}

/// What the sheets are of, the days, and which sheet of how many.
fn foot(file: &File, pen: &mut Pen, n: usize, days: &[String]) {
    let (wide, high) = file.paper.points();
    let size = file.foot.size;
    let leading = size * LEADING;
    let lines = file.foot.of.len() as f32;
    let mut y = high - Paper::MARGIN - leading * lines;
    pen.beside(ArtifactType::Footer, |pen| {
        for line in &file.foot.of {
            pen.words(Face::Regular, size, (Paper::MARGIN, y), line);
            y += leading;
        }
        let number = format!("{} of {}", n + 1, file.sheets.laid.len());
        let x = wide - Paper::MARGIN - pen.letters.width(Face::Bold, &number, size);
        let room = x - Paper::MARGIN - size;
        let fits = |count: &usize| pen.letters.width(Face::Bold, &told(days, *count), size) <= room;
        if let Some(count) = (1..=days.len()).rev().find(fits) {
            pen.words(Face::Bold, size, (Paper::MARGIN, y), &told(days, count));
        }
        pen.words(Face::Bold, size, (x, y), &number);
    });
}

/// The first days, and how many more there are.
fn told(days: &[String], count: usize) -> String {
    let first = days[..count].join("; ");
    match days.len() - count {
        0 => first,
        n => format!("{first}; {n} more"),
    }
}

/// The structure with what was drawn of each part. A part comes after its parent, so that from the
/// last to the first each is whole when it goes into its parent.
fn tree(structure: &Structure, found: Vec<Vec<Identifier>>) -> TagTree {
    let mut groups: Vec<Option<TagGroup>> = Vec::with_capacity(found.len());
    for ((kind, _), ids) in structure.0.iter().zip(found) {
        groups.push(tag(kind).map(|tag| {
            let mut group = TagGroup::new(tag);
            for id in ids {
                group.push(id);
            }
            group
        }));
    }
    let mut children: Vec<Vec<TagGroup>> = vec![Vec::new(); groups.len()];
    for n in (0..groups.len()).rev() {
        let Some(mut group) = groups[n].take() else {
            continue;
        };
        let mine = std::mem::take(&mut children[n]);
        for child in mine.into_iter().rev() {
            group.push(child);
        }
        // A table keeps its empty cells, or columns would no longer be below each other.
        let is_cell = matches!(
            structure.0[n].0,
            Kind::Cell(_) | Kind::RowName | Kind::ColumnName(_)
        );
        if !group.children.is_empty() || is_cell {
            children[structure.0[n].1].push(group);
        }
    }
    let mut tree = TagTree::new();
    let top = std::mem::take(&mut children[0]);
    for group in top.into_iter().rev() {
        tree.push(group);
    }
    tree
}

fn tag(kind: &Kind) -> Option<TagKind> {
    let over = |n: usize| NonZeroU32::new(n as u32).filter(|n| n.get() > 1);
    Some(match kind {
        Kind::Root => return None,
        Kind::Heading(level, words) => {
            let level = NonZeroU16::new(u16::from(*level)).unwrap_or(NonZeroU16::MIN);
            Tag::Hn(level, Some(words.clone())).into()
        }
        Kind::Paragraph => Tag::P.into(),
        Kind::List => Tag::L(ListNumbering::None).into(),
        Kind::Item => Tag::LI.into(),
        Kind::Body => Tag::LBody.into(),
        Kind::Table(name) if name.is_empty() => Tag::Table.into(),
        Kind::Table(name) => Tag::Table.with_summary(Some(name.clone())).into(),
        Kind::Head => Tag::THead.into(),
        Kind::Rows => Tag::TBody.into(),
        Kind::Row => Tag::TR.into(),
        Kind::ColumnName(n) => Tag::TH(TableHeaderScope::Column)
            .with_col_span(over(*n))
            .into(),
        Kind::RowName => Tag::TH(TableHeaderScope::Row).into(),
        Kind::Cell(n) => Tag::TD.with_col_span(over(*n)).into(),
    })
}

/// Headings below each other by their level.
fn outline(marks: &[Mark]) -> Outline {
    let mut outline = Outline::new();
    let mut at = 0;
    while at < marks.len() {
        let (node, next) = branch(marks, at);
        outline.push_child(node);
        at = next;
    }
    outline
}

/// The heading at `at` with all below it, and where the next of its own level is. Levels are at
/// most four, and so are the calls within calls.
fn branch(marks: &[Mark], at: usize) -> (OutlineNode, usize) {
    let mark = &marks[at];
    let point = Point::from_xy(Paper::MARGIN, Paper::MARGIN + mark.down);
    let mut node = OutlineNode::new(mark.words.clone(), XyzDestination::new(mark.sheet, point));
    let mut next = at + 1;
    while next < marks.len() && marks[next].level > mark.level {
        let (child, after) = branch(marks, next);
        node.push_child(child);
        next = after;
    }
    (node, next)
}
