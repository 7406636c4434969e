//! Blocks as HTML. Whatever came from a person comes out escaped; class names are those of the
//! style sheets beside the pages.

use maud::{Markup, PreEscaped, html};

use super::{
    Block, Cell, Drawing, Heading, Hold, Item, Kind, Line, ListKind, Look, Mark, Remark, Role, Row,
    Section, Shape, Span, Style, Table, TableKind, Term, TermsKind, Verdict,
};

/// Signs that differ in shape, so that neither color nor print quality matters.
const CHECK: &str = r#"<svg viewBox="0 0 48 48" aria-hidden="true"><circle cx="24" cy="24" r="20"/><path d="M14 25l7 7 13-15"/></svg>"#;
const TRIANGLE: &str = r#"<svg viewBox="0 0 48 48" aria-hidden="true"><path d="M24 5L45 43H3z"/><path d="M24 18v13M24 36v2"/></svg>"#;
const OCTAGON: &str = r#"<svg viewBox="0 0 48 48" aria-hidden="true"><path class="full" d="M16 4h16l12 12v16L32 44H16L4 32V16z"/><path class="on-full" d="M24 12v16M24 33v3"/></svg>"#;

/// Blocks, one after the other.
#[must_use]
pub fn blocks(blocks: &[Block]) -> Markup {
    html! { @for block in blocks { (one(block)) } }
}

fn one(block: &Block) -> Markup {
    match block {
        Block::Heading(h) => heading(h),
        Block::Paragraph(role, said) => html! { p class=[role_class(*role)] { (line(said)) } },
        Block::Text(said) => line(said),
        Block::Section(s) => section(s),
        Block::List(kind, items) => list(*kind, items),
        Block::Terms(kind, all) => terms(*kind, all),
        Block::Table(t) => table(t),
        Block::Bars(bars) => drawing(&Drawing::of_bars(bars)),
        Block::Drawing(d) => drawing(d),
    }
}

const fn role_class(role: Role) -> Option<&'static str> {
    Some(match role {
        Role::Plain => return None,
        Role::Kind => "kind",
        Role::Lead => "lead",
        Role::Label => "label",
        Role::Where => "where",
        Role::Facts => "facts",
        Role::Day => "day",
        Role::Warning => "warn",
        Role::Cautions => "markers",
        Role::Soft => "soft",
        Role::Small => "small",
        Role::SmallSoft => "small soft",
        Role::Paper => "paper",
    })
}

/// The facts for programs, as attributes: names are this program's own, values are escaped.
fn data(data: &[(&'static str, String)]) -> PreEscaped<String> {
    let all = data.iter().map(|(name, value)| {
        let value = html! { (value) }.into_string();
        format!(" data-{name}=\"{value}\"")
    });
    PreEscaped(all.collect())
}

/// An element whose attributes are known when it is written only.
fn element(
    name: &str,
    class: Option<&str>,
    id: Option<&str>,
    facts: &[(&'static str, String)],
    inner: &Markup,
) -> Markup {
    let class = class.map_or_else(String::new, |c| format!(" class=\"{c}\""));
    let id = id.map_or_else(String::new, |id| {
        format!(" id=\"{}\"", html! { (id) }.into_string())
    });
    let facts = data(facts).into_string();
    PreEscaped(format!("<{name}{class}{id}{facts}>{}</{name}>", inner.0))
}

fn tick() -> Markup {
    html! { span class="tick" aria-hidden="true" {} }
}

fn heading(h: &Heading) -> Markup {
    let inner = html! { @if h.tick { (tick()) } (line(&h.line)) };
    let name = ["h1", "h2", "h3", "h4"][usize::from(h.level.clamp(1, 4) - 1)];
    element(name, h.part.then_some("part"), h.id.as_deref(), &[], &inner)
}

fn section(s: &Section) -> Markup {
    let inner = blocks(&s.blocks);
    // The heading that names the section.
    let named = s.blocks.iter().find_map(|b| match b {
        Block::Heading(h) => h.id.as_deref(),
        _ => None,
    });
    let id = s.id.as_deref();
    match &s.kind {
        Kind::Part => html! { section id=[id] aria-labelledby=[named] { (inner) } },
        Kind::Contents => html! { nav id=[id] aria-labelledby=[named] { (inner) } },
        Kind::Verdict(verdict) => {
            let (class, sign) = match verdict {
                Verdict::Well => ("verdict well", CHECK),
                Verdict::Warned => ("verdict warned", TRIANGLE),
                Verdict::Short => ("verdict short", OCTAGON),
            };
            html! { section class=(class) aria-labelledby=[named] { (PreEscaped(sign)) (inner) } }
        }
        Kind::Day => html! {
            section class="day" id=[id] {
                (inner)
                p class="back" { a href="#days" { "All days" } }
            }
        },
        Kind::Card => element("article", Some("card"), id, &s.data, &inner),
        Kind::Session => element("article", Some("card session"), id, &s.data, &inner),
        Kind::GoingOn => html! { div class="card going-on" { (inner) } },
        Kind::Sheet => html! { section class="sheet" { (inner) } },
        // Focusable, so that a keyboard can scroll it too.
        Kind::Wide(label) => {
            html! { section class="scroll" aria-label=(label) tabindex="0" { (inner) } }
        }
        Kind::Rows => inner,
    }
}

fn list(kind: ListKind, items: &[Item]) -> Markup {
    let all = html! { @for i in items { (item(kind, i)) } };
    let class = match kind {
        ListKind::Bullets => return html! { ul { (all) } },
        ListKind::Days => return html! { ol class="days" { (all) } },
        ListKind::Plain => "plain",
        ListKind::Rows => "plain rows",
        ListKind::Bring => "plain bring",
        ListKind::Kit => "kit",
        ListKind::Care => "care",
    };
    html! { ul class=(class) { (all) } }
}

fn item(kind: ListKind, i: &Item) -> Markup {
    let inner = blocks(&i.blocks);
    let inner = match kind {
        ListKind::Rows => html! { @if i.tick { (tick()) } div { (inner) } },
        ListKind::Bring => html! { (tick()) span { (inner) } },
        ListKind::Kit => html! { span class="box" {} span { (inner) } },
        _ => inner,
    };
    let class = match i.mark {
        Remark::None => None,
        Remark::Note => Some("remark"),
        Remark::Warning => Some("remark warned"),
        Remark::Short => Some("remark short"),
    };
    element("li", class, i.id.as_deref(), &i.data, &inner)
}

fn terms(kind: TermsKind, all: &[Term]) -> Markup {
    let class = match kind {
        TermsKind::Care => "care",
        TermsKind::Sources => "sources",
        TermsKind::Facts => "facts",
    };
    html! {
        dl class=(class) {
            @for t in all { div { dt id=[t.id.as_deref()] { (line(&t.name)) } dd { (line(&t.said)) (blocks(&t.more)) } } }
        }
    }
}

fn table(t: &Table) -> Markup {
    let class = match t.kind {
        TableKind::Narrow | TableKind::Rounds => None,
        TableKind::Stack => Some("stack"),
        TableKind::Board => Some("board"),
    };
    let over_all = t.columns.len();
    let names: Vec<String> = t.columns.iter().map(plain).collect();
    html! {
        table class=[class] {
            @if !t.caption.is_empty() {
                caption class=[(!t.caption_shown).then_some("unseen")] { (t.caption) }
            }
            thead {
                @if let Some(over) = &t.over {
                    tr { th class="who" colspan=(over_all) { (line(over)) } }
                }
                tr {
                    @for c in &t.columns {
                        th scope=[(t.kind != TableKind::Rounds).then_some("col")] class=[hold_class(c.hold)] { (cell_lines(c)) }
                    }
                }
            }
            @for (n, part) in t.parts.iter().enumerate() {
                @let class = match (t.kind, n) {
                    (TableKind::Board, 0) => Some("facts"),
                    (TableKind::Board, _) => Some("slots"),
                    _ => None,
                };
                tbody class=[class] { @for r in part { (row(t.kind, r, &names)) } }
            }
        }
    }
}

fn plain(c: &Cell) -> String {
    let lines: Vec<String> = c.lines.iter().map(Line::plain).collect();
    lines.join(" ")
}

const fn hold_class(hold: Hold) -> Option<&'static str> {
    Some(match hold {
        Hold::Words | Hold::Entries => return None,
        Hold::Names => "any",
        Hold::Figure => "whole",
        Hold::Number => "n",
        Hold::Clock => "clock",
        Hold::Start => "clock bath",
        Hold::Limit => "clock limit",
        Hold::Cows => "cows",
    })
}

fn row(kind: TableKind, r: &Row, names: &[String]) -> Markup {
    if r.over_all {
        return html! {
            tr class="from" { @for c in &r.cells { td colspan=(names.len()) { (cell_lines(c)) } } }
        };
    }
    let inner = html! {
        @for (c, name) in r.cells.iter().zip(names) {
            @if c.heads {
                th scope="row" class=[hold_class(c.hold)] {
                    @if c.tick { span class="ticked" { (tick()) span { (cell_lines(c)) } } }
                    @else { (cell_lines(c)) }
                }
            } @else if kind == TableKind::Stack {
                td class=[hold_class(c.hold)] data-label=(name) { span { (cell_lines(c)) } }
            } @else {
                td class=[hold_class(c.hold)] {
                    @if c.tick { span class="box" {} }
                    (cell_lines(c))
                }
            }
        }
    };
    element("tr", None, None, &r.data, &inner)
}

fn cell_lines(c: &Cell) -> Markup {
    html! {
        @for l in &c.lines {
            @if c.hold == Hold::Entries { div class="entry" { (line(l)) } } @else { (line(l)) }
        }
    }
}

/// A line's words.
#[must_use]
pub fn line(line: &Line) -> Markup {
    html! { @for s in &line.0 { (span(s)) } }
}

fn span(s: &Span) -> Markup {
    match s {
        Span::Text(words) => html! { (words) },
        Span::Styled(style, l) => styled(*style, &line(l)),
        Span::Time(at, words) => html! {
            time datetime=(at.format("%Y-%m-%dT%H:%M%:z")) { (whole_time(words)) }
        },
        Span::Link(to, l) => html! { a href={ "#" (to) } { (line(l)) } },
        Span::Tick => tick(),
        Span::Break => html! { br; },
    }
}

fn styled(style: Style, words: &Markup) -> Markup {
    match style {
        Style::Strong => html! { b { (words) } },
        Style::Clock => html! { b class="clock" { (words) } },
        Style::Figure => html! { b class="whole" { (words) } },
        Style::Word => html! { b class="word" { (words) } },
        Style::Who => html! { span class="who" { (words) } },
        Style::Short => html! { span class="id" { (words) } },
        Style::Nothing => html! { span class="soft" { (words) } },
        Style::Soft => html! { span class="soft small" { (words) } },
        Style::Beside => html! { span { (words) } },
        Style::Seconds => html! { small { (words) } },
        Style::Box => html! { span class="box" { (tick()) (words) } },
    }
}

/// A time that no line's end parts from its am or pm.
fn whole_time(words: &str) -> String {
    words.replace(" am", "\u{a0}am").replace(" pm", "\u{a0}pm")
}

fn drawing(d: &Drawing) -> Markup {
    html! {
        svg class=(if d.map { "map" } else { "chart" }) viewBox={ "0 0 " (d.wide) " " (d.high) } role="img" aria-label=(d.label) {
            @for m in &d.marks { (mark(m)) }
        }
    }
}

fn mark(m: &Mark) -> Markup {
    let class = match m.look {
        Look::Plain => None,
        Look::Faint => Some("faint"),
        Look::Strong => Some("strong"),
        Look::Dashed => Some("dashed"),
        Look::Full => Some("full"),
        Look::FullThin => Some("full thin"),
        Look::Open => Some("open"),
        Look::OpenThin => Some("open thin"),
        Look::Name => Some("name"),
        Look::Middle => Some("middle"),
        Look::Before => Some("right"),
        Look::Number => Some("number"),
    };
    let title = html! { @if let Some(words) = &m.title { title { (words) } } };
    match &m.shape {
        Shape::Line([a, b, c, d]) => html! {
            line class=[class] x1=(a) y1=(b) x2=(c) y2=(d) { (title) }
        },
        Shape::Box([x, y, wide, high]) => html! {
            rect class=[class] x=(x) y=(y) width=(wide) height=(high) { (title) }
        },
        Shape::Ring([x, y, radius]) => html! {
            circle class=[class] cx=(x) cy=(y) r=(radius) { (title) }
        },
        Shape::Chain(points) => {
            let points: Vec<String> = points.iter().map(|(x, y)| format!("{x},{y}")).collect();
            html! { polyline class=[class] points=(points.join(" ")) { (title) } }
        }
        Shape::Words([x, y], words) => html! { text class=[class] x=(x) y=(y) { (words) } },
    }
}
