//! What was found for the groups' wishes, in words: the choice for all groups, each group's list, how
//! points are counted.

mod csv;

use std::fmt::Write as _;

use super::answer::{Answer, Tables};
use crate::base::error::visible;
use crate::base::units::{Clock, count, human_minutes, tenths};
use crate::output::document::{Block, Cell, Document, Hold, Role, Row as TableRow};
use crate::planning::choose::{
    ASSUMED, Chosen, CountedRate, GroupChoice, PickedRow, Row, Standing, Together,
};
use crate::trade::protocol::{Class, Protocol, Step};

/// Protocols that the wishes keep out, named before the rest are only counted.
const NAMED: usize = 6;
/// Wishes to give up, in so many ways.
const WAYS: usize = 5;
/// Other starts that are shown of a row.
const EQUAL: usize = 6;

impl Answer for Chosen {
    /// The choice for all groups together, then the list of each.
    fn document(&self) -> Document {
        let name = visible(&self.season);
        let times = format!("Times are local, {}.", self.zone);
        let mut blocks = vec![Block::heading(1, &name), Block::paragraph(times)];
        if self.straws_lacking > 0 {
            let short = format!(
                "You are {} short: the bulls of all groups do not have a straw for each animal, whenever she is bred. Order straws, or name other bulls.",
                count(self.straws_lacking, "straw", "straws")
            );
            blocks.push(Block::of_role(Role::Warning, short));
        }
        blocks.extend(self.together.iter().map(|t| of_all(t, self)));
        let groups = self.groups.iter().enumerate();
        blocks.extend(groups.map(|(n, g)| of_group(n + 1, g, self)));
        if self.groups.iter().any(|g| g.fitting > 0) {
            blocks.push(weights(self));
            blocks.extend(cautions(self));
        }
        Document::new(format!("{name} – protocols and starts"), blocks)
    }

    /// The candidates of each group's list, and for several groups what is chosen for them together.
    fn tables(&self) -> Tables<Self> {
        csv::tables()
    }
}

fn of_all(together: &Together, chosen: &Chosen) -> Block {
    let mut blocks = vec![Block::paragraph(verdict(together))];
    let by_heat = together.rows().filter(|r| by_heat_unknown(&r.protocol));
    let by_heat = by_heat.count() as u32;
    if by_heat > 0 {
        blocks.push(Block::paragraph(format!(
            "{} bred as heat is seen, and no source says when that is. Whether the crew can be there is not counted.",
            count(by_heat, "of them is", "of them are")
        )));
    }
    let fitting = chosen.groups.iter().map(|g| g.fitting).sum();
    blocks.push(Block::paragraph(proof(together, fitting)));
    for PickedRow { group, row } in &together.groups {
        blocks.push(Block::heading(3, format!("{group}: {}", row.protocol.id)));
        let mut facts = dates(row, chosen.told);
        facts.push(("Crew", crew(row)));
        blocks.push(Block::facts(facts));
    }
    let title = format!("{} groups chosen together", together.candidates.len());
    Block::part("together", title, blocks)
}

/// Whether the groups get in each other's way, and who is left in any case.
fn verdict(together: &Together) -> String {
    let picked = &together.picked;
    let twice = human_minutes(i64::from(picked.chute_quarters) * 15);
    let twice = format!("Two groups want one chute at the same time for {twice}.");
    let left = format!(
        "{} head cannot be bred because the groups need the crew at the same time.",
        picked.head_not_bred
    );
    let mut words = match (picked.head_not_bred, picked.chute_quarters) {
        (0, 0) => "No two groups need the crew or a chute at the same time.".to_owned(),
        (0, _) => twice,
        (_, 0) => left,
        _ => format!("{left} {twice}"),
    };
    // Else the first sentence could be read as "all are bred".
    let alone = together
        .rows()
        .map(|r| r.cover.not_bred + r.cover.other_head);
    let alone: u32 = alone.sum();
    if alone > 0 {
        let more = if picked.head_not_bred > 0 {
            " more"
        } else {
            ""
        };
        let _ = write!(
            words,
            " {alone} head{more} cannot be bred in their AI windows in any case: see each group."
        );
    }
    words
}

/// How good the choice is, and whether any other could be better.
fn proof(together: &Together, fitting: usize) -> String {
    let picked = &together.picked;
    let mut words = if picked.gap <= 1e-9 {
        format!(
            "Best overall: {} points (fewer is better), the fewest of every combination of the {fitting} starts that fit.",
            points(picked.points)
        )
    } else {
        let (points, gap) = (points(picked.points), 100.0 * picked.gap);
        format!(
            "Best found: {points} points (fewer is better). Another choice might have up to {gap:.1} % fewer."
        )
    };
    if picked.stopped {
        words += " The search was stopped by hand.";
    }
    if picked.one_by_one > picked.points + 0.05 {
        let alone = points(picked.one_by_one);
        let _ = write!(
            words,
            " Chosen one group after the other, it would have {alone}."
        );
    }
    words
}

fn of_group(n: usize, group: &GroupChoice, chosen: &Chosen) -> Block {
    let animals = match group.class {
        Class::Heifer => "heifers",
        _ => "cows",
    };
    let mut name = visible(&group.name);
    if group.name != group.id.as_str() {
        let _ = write!(name, " ({})", group.id);
    }
    let looked_at = format!(
        "{} starts of {} protocols were looked at. {} of them keep every wish that must hold.",
        group.looked_at, group.protocols, group.fitting
    );
    let mut blocks = Vec::new();
    if group.fitting == 0 {
        blocks.push(Block::paragraph(format!("Nothing fits. {looked_at}")));
        blocks.extend(nothing(group, chosen.told));
    } else {
        blocks.push(Block::paragraph(looked_at));
        blocks.push(Block::paragraph(
            "No start left off this list beats a listed one on every count.",
        ));
        for (n, row) in group.rows.iter().enumerate() {
            let protocol = &row.protocol.id;
            let title = format!("{}. {protocol}: {} points", n + 1, points(row.points));
            blocks.push(Block::heading(3, title));
            blocks.push(Block::facts(facts(row, chosen)));
        }
    }
    blocks.extend(wishes(group));
    let title = format!("{name}: {} {animals}", group.head.0);
    Block::part(&format!("group-{n}"), title, blocks)
}

fn nothing(group: &GroupChoice, told: Clock) -> [Block; 2] {
    if group.give_up.is_empty() {
        let title = Block::heading(3, "Why");
        let why = "No protocol is published for these animals.";
        return [title, Block::paragraph(why)];
    }
    let ways = group.give_up.iter().take(WAYS).map(|way| {
        let fit = count(way.candidates as u32, "start fits", "starts fit");
        let start = told.date(way.start.local);
        let bred = told.day(way.first_breeding.0.naive_local());
        let (wishes, protocol) = (way.wishes.join("; and "), &way.protocol);
        format!("{wishes}. Then {fit}: for instance {protocol} from {start}, bred from {bred}.")
    });
    let title = "For a start that fits, drop the wishes of any one line below";
    [Block::heading(3, title), Block::bullets(ways)]
}

/// When it begins, when they are bred, when they calve.
fn dates(row: &Row, told: Clock) -> Vec<(&'static str, String)> {
    let by_heat = row.protocol.steps.iter().any(Step::is_heat_breeding);
    let [first, mean] = [row.first_calves, row.mean_calving].map(|day| day.format("%-d %b %Y"));
    let calves = format!("from {first}, on average {mean}");
    let spread = row.spread.as_ref().map(|s| format!(", {}", s.words()));
    let start = told.date(row.start.local);
    vec![
        ("Start", format!("{start}{}", spread.unwrap_or_default())),
        (
            if by_heat { "Heat from" } else { "AI" },
            told.day(row.first_breeding.0.naive_local()),
        ),
        ("Calves", calves),
    ]
}

fn number(x: f64) -> String {
    tenths(x).to_string()
}

fn points(x: f64) -> String {
    format!("{x:.1}")
}

fn facts(row: &Row, chosen: &Chosen) -> Vec<(&'static str, String)> {
    let mut facts = vec![("Protocol", row.protocol.name.clone())];
    facts.extend(row.allowed.iter().map(|a| ("Law", a.words())));
    facts.extend(dates(row, chosen.told));
    facts.push(("Pregnant to AI", pregnant(&row.standing)));
    facts.push(("Time", time(&row.standing)));
    facts.push(("Work", work(row)));
    facts.extend(cost(row, chosen).map(|c| ("Cost", c)));
    facts.push(("Crew", crew(row)));
    if !row.equal_starts.is_empty() {
        facts.push(("Just as good", equal(row, chosen.told)));
    }
    if !row.broken_wishes.is_empty() {
        facts.push(("Breaks", row.broken_wishes.join("; ")));
    }
    facts
}

fn time(s: &Standing) -> String {
    let more = ", and one more for each animal on the day she is bred";
    let more = if s.breeding_apart { more } else { "" };
    let (days, trips) = (s.days, count(s.passes as u32, "trip", "trips"));
    format!("{days} days from first treatment to breeding, {trips} through the chute{more}")
}

fn work(row: &Row) -> String {
    let h = &row.standing.hours;
    let parts = [
        (true, "chute", h.chute),
        (true, "technicians", h.technicians),
        (h.heat_watch > 0.0, "heat watch", h.heat_watch),
        (h.feeding > 0.0, "feeding", h.feeding),
    ];
    let parts = parts.into_iter().filter(|(shown, ..)| *shown);
    let parts: Vec<String> = parts
        .map(|(_, what, hours)| format!("{what} {}", number(hours)))
        .collect();
    let night = if h.night > 0.0 {
        format!("; {} of them at night", number(h.night))
    } else {
        String::new()
    };
    format!("{} hours: {}{night}", number(h.sum()), parts.join(", "))
}

fn pregnant(s: &Standing) -> String {
    let counted = number(s.rate.counted);
    let figures = &s.rate.figures;
    if !s.rate.published {
        return format!("no figure is published; counted as {counted} %");
    }
    let (low, high) = (figures.low, figures.high);
    let head = match figures.head {
        0 => String::new(),
        n => format!(", {n} head"),
    };
    let tags = figures.tags.join(", ");
    format!("{counted} % ({low:.0} to {high:.0} from herd to herd{head}; {tags})")
}

fn cost(row: &Row, chosen: &Chosen) -> Option<String> {
    let cost = row.standing.cost.as_ref()?;
    let currency = chosen.currency.as_ref();
    let currency = currency.map_or(String::new(), |c| format!(" {c}"));
    let a_pregnancy = row.standing.cost_a_pregnancy;
    let unpriced = row.standing.unpriced().join(", ");
    let lines = cost.lines.iter();
    let lines = lines.map(|l| format!("{} {}", l.what, l.amount));
    let lines: Vec<String> = lines.collect();
    let assumed = cost.in_heat.as_ref().filter(|h| h.source == ASSUMED);
    let words = [
        Some(format!("{}{currency} a head", cost.total)),
        a_pregnancy.map(|p| format!(", {p}{currency} a pregnancy")),
        (!unpriced.is_empty()).then(|| format!(", or more: there is no price for {unpriced}")),
        Some(format!(". {}.", lines.join(", "))),
        assumed.map(|h| {
            let percent = number(h.percent);
            format!(" This cost assumes that {percent} % are seen in heat: no published figure says how many will be.")
        }),
    ];
    Some(words.into_iter().flatten().collect())
}

/// True for breeding by heat of which nothing is published that says when heat comes.
fn by_heat_unknown(protocol: &Protocol) -> bool {
    let mut watches = protocol.steps.iter().filter(|s| s.is_heat_breeding());
    watches.any(|s| s.heat.is_none())
}

fn crew(row: &Row) -> String {
    let c = &row.cover;
    let steps = &row.protocol.steps;
    let mut words = if c.not_bred > 0 {
        let why = c.why.as_ref().map_or(String::new(), |w| format!(": {w}"));
        format!(
            "{} head cannot be bred in their AI windows{why}.",
            c.not_bred
        )
    } else if !steps.iter().any(Step::is_timed_breeding) && by_heat_unknown(&row.protocol) {
        "They are bred as they come in heat, at no set hours.".to_owned()
    } else {
        let all = if steps.iter().any(Step::is_heat_breeding) {
            "as many as are expected on each half-day"
        } else {
            "every head"
        };
        format!(
            "The crew breeds {all} in time. It could start up to {} after the AI window begins.",
            human_minutes(c.spare.num_minutes())
        )
    };
    if c.other_head > 0 {
        let head = c.other_head;
        let _ = write!(words, " {head} head of other groups can then not be bred.");
    }
    if c.chute_quarters > 0 {
        let time = human_minutes(i64::from(c.chute_quarters) * 15);
        let _ = write!(
            words,
            " Another group needs the chute at the same time for {time}."
        );
    }
    words
}

fn equal(row: &Row, told: Clock) -> String {
    let shown = row.equal_starts.iter().take(EQUAL);
    let shown: Vec<String> = shown.map(|s| told.day(s.local)).collect();
    let more = row.equal_starts.len().saturating_sub(EQUAL);
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    format!("start {}{more}", shown.join(", "))
}

/// What each wish keeps out, and the protocols that none of their starts got through.
fn wishes(group: &GroupChoice) -> Vec<Block> {
    let rows = group.wishes.iter().map(|w| {
        let may_break = if w.hard { "" } else { ", may be broken" };
        TableRow::named(format!("{}{may_break}", w.words), [w.breaks, w.alone])
    });
    let title = "Starts that break each wish";
    let columns = ["wish", "starts", "by this one alone"];
    let mut blocks = vec![
        Block::heading(3, title),
        Block::table(title, &columns, rows),
    ];
    if group.fitting > 0 && !group.kept_out.is_empty() {
        let named = group.kept_out.iter().take(NAMED);
        let named = named.map(|k| format!("{}: {}", k.protocol, k.wishes.join("; and ")));
        let more = group.kept_out.len().saturating_sub(NAMED);
        let more = (more > 0).then(|| format!("and {more} more (--json names them)"));
        let title = "Protocols ruled out, and the fewest wishes you would have to drop";
        blocks.push(Block::heading(3, title));
        blocks.push(Block::bullets(named.chain(more)));
    }
    if !group.not_permitted.is_empty() {
        let refused = group.not_permitted.iter();
        let refused = refused.map(|r| format!("{}: {}", r.protocol, r.why));
        blocks.push(Block::heading(
            3,
            "Left out: not permitted in the season's country",
        ));
        blocks.push(Block::bullets(refused));
    }
    blocks
}

fn weights(chosen: &Chosen) -> Block {
    let rows = chosen.points_for_each.iter().filter(|(_, w)| **w > 0.0);
    let rows = rows.map(|(c, weight)| {
        TableRow::of(vec![
            Cell::text(*weight),
            Cell::head(Hold::Words, c.words(chosen.told)),
        ])
    });
    let title = "How points are counted";
    let mut blocks = vec![
        Block::paragraph("Fewer points are better."),
        Block::table(title, &["points", "for each"], rows),
    ];
    let mut rows = chosen.groups.iter().flat_map(|g| &g.rows);
    if rows.all(|r| r.standing.cost.is_none()) {
        blocks.push(Block::paragraph(
            "Costs do not count: the season file has no `prices`.",
        ));
    } else if !chosen.without_price.is_empty() {
        blocks.push(Block::paragraph(format!(
            "Costs do not count: `prices` in the season file lacks {}.",
            chosen.without_price.join(", ")
        )));
    }
    blocks.push(Block::paragraph(
        "These weights are common practice, with no source. Set your own under `weights` in the season file.",
    ));
    Block::part("points", title, blocks)
}

/// What counts where nothing is published, and what was not checked.
fn cautions(chosen: &Chosen) -> Option<Block> {
    let rows = || chosen.groups.iter().flat_map(|g| &g.rows);
    let mut cautions = Vec::new();
    let rates = || rows().map(|r| &r.standing.rate);
    if let Some(CountedRate { figures, .. }) = rates().find(|r| !r.published) {
        let known = rates().filter(|r| r.published).map(|r| &r.figures);
        let least = known.min_by(|a, b| a.mean.total_cmp(&b.mean));
        let least = least.map_or(String::new(), |r| {
            let (mean, tags) = (number(r.mean), r.tags.join(", "));
            format!(" (the lowest in these lists is {mean} %, {tags})")
        });
        let (low, high) = (number(figures.low), number(figures.high));
        let tags = figures.tags.join(", ");
        cautions.push(format!(
            "Some protocols have no published pregnancy rate. For these the lowest published rate for the same class of cattle is used{least}, or the rate for timed AI in general ({low} to {high} %, {tags})."
        ));
    }
    if rows().any(|r| r.protocol.has_unverified()) {
        cautions.push("Some times of these protocols were not checked against the published sheet. Check them with it and your veterinarian before you use them.".to_owned());
    }
    let list = (!cautions.is_empty()).then(|| vec![Block::bullets(cautions)]);
    list.map(|list| Block::part("cautions", "Cautions", list))
}
