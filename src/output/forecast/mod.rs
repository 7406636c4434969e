//! Calves and money in words: all groups, the curve, each group, money, how it is counted.

mod csv;
mod money;

use chrono::{Datelike, Days, NaiveDate};

use self::money::money;
use super::answer::{Answer, Tables};
use crate::analysis::forecast::{
    Calving, CleanUp, Day, Expected, Forecast, From, Gestation, GroupCalves, Outcome, Rate,
};
use crate::base::error::visible;
use crate::base::time::human_date;
use crate::base::units::count;
use crate::output::document::{Bar, Block, Document, Kind, Row};
use crate::output::remarks;

impl Answer for Forecast {
    /// The whole answer.
    fn document(&self) -> Document {
        let season = visible(&self.season).clone();
        let mut blocks = vec![
            Block::heading(1, &season),
            Block::paragraph(
                "What to expect: pregnancies, calves, money. Estimates, with their sources.",
            ),
            Block::part("pregnant", "Pregnancies", pregnancies(self)),
        ];
        if let Some(calving) = &self.calving {
            let mut of_all = of_calving(calving);
            of_all.extend(self.first_21_days.map(|f| {
            Block::paragraph(format!(
                "each group counted by itself: {:.0} % born by 21 days after its first due date; {:.0} % in the 21 days from its earliest calves",
                f.percent_from_due, f.percent
            ))
        }));
            of_all.extend(curve(calving));
            blocks.push(Block::part("calving", "Calving, all groups", of_all));
        }
        for (n, group) in self.groups.iter().enumerate() {
            let mut of_group = of_group(group);
            // One group of several that was asked for is drawn by itself.
            if let (1, Some(c)) = (self.groups.len(), &group.calving)
                && self.all.head != group.outcome.head
            {
                of_group.extend(curve(c));
            }
            let id = format!("group-{}", n + 1);
            blocks.push(Block::part(&id, title(group), of_group));
        }
        blocks.push(match &self.money {
        Some(m) => money(m, self),
        None => Block::part(
            "money",
            "Money",
            vec![Block::paragraph(
                "The season file has no prices, so no costs are counted. Give your own under `prices` and `money`.",
            )],
        ),
    });
        blocks.extend(remarks(&self.findings));
        let notes = vec![Block::bullets(&self.notes)];
        blocks.push(Block::part("counted", "How it is counted", notes));
        Document::new(format!("{season} – forecast"), blocks)
    }

    fn tables(&self) -> Tables<Self> {
        csv::tables()
    }
}

/// `31 (23-38)`.
fn head(e: &Expected) -> String {
    format!("{:.0} ({}-{})", e.head, e.least_head, e.most_head)
}

fn pregnancies(answer: &Forecast) -> Vec<Block> {
    let columns = ["", "head", "bred", "to AI", "to bulls", "open"];
    let groups = answer.groups.iter();
    let rows = groups.map(|g| row(&g.group, &g.outcome, g.counted));
    let all = &answer.all;
    let rows = rows.chain([row("all groups", all, true)]);
    let (least, most) = (all.pregnant.least_head, all.pregnant.most_head);
    let (ai, calves) = (
        all.ai_calves_head,
        all.ai_calves_head + all.bull_calves_head,
    );
    vec![
        Block::table("Pregnancies", &columns, rows),
        Block::paragraph(format!(
            "{} of {} head pregnant at the end ({least} to {most}); {calves:.0} calves, {ai:.0} of them AI calves.",
            all.pregnant.head.round(),
            all.head
        )),
    ]
}

fn row(name: &str, o: &Outcome, counted: bool) -> Row {
    let mut cells = vec![o.head.to_string()];
    if counted {
        cells.push(o.bred_head.to_string());
        cells.extend([&o.ai, &o.bulls, &o.open].map(head));
    } else {
        cells.extend(["-"; 4].map(str::to_owned));
    }
    Row::named(name, cells)
}

fn of_calving(c: &Calving) -> Vec<Block> {
    let [first, due, mean] = [c.first, c.first_due, c.mean].map(human_date);
    let born = [c.born_5_percent, c.born_50_percent, c.born_95_percent];
    let [by_5, by_50, by_95] = born.map(human_date);
    let short = [
        c.first_due,
        after(c.first_due, 21),
        c.first,
        after(c.first, 20),
    ];
    let [from_due, to_due, from, to] = short.map(|day| day.format("%-d %b"));
    let lines = [
        format!("earliest calves {first}, first due date {due}, average calving date {mean}"),
        format!("5 % born by {by_5}, half by {by_50}, 95 % by {by_95}"),
        format!(
            "Born by 21 days after the first due date (due {from_due}, born by {to_due}): {:.0} %, the count that published tables use. In the 21 days from the earliest calves ({from} to {to}): {:.0} %.",
            c.percent_by_21_days_from_due, c.percent_in_21_days
        ),
        format!(
            "{:.1} calves, {:.0} % AI calves",
            c.calves_head, c.ai_percent
        ),
    ];
    lines.map(Block::paragraph).into()
}

fn after(day: NaiveDate, days: u64) -> NaiveDate {
    day.checked_add_days(Days::new(days))
        .unwrap_or(NaiveDate::MAX)
}

/// `47.9 % (SEXED-CALV)`, or with its ends.
fn rate(r: &Rate) -> String {
    let ends = if (r.high_percent - r.low_percent).abs() < 0.05 {
        String::new()
    } else {
        format!(", {:.1} to {:.1}", r.low_percent, r.high_percent)
    };
    let general = match r.from {
        From::General => ", not of this protocol",
        From::Own | From::Published => "",
    };
    format!("{:.1} %{ends} ({}{general})", r.percent, r.source)
}

fn title(g: &GroupCalves) -> String {
    let name = if g.name == g.group {
        g.group.clone()
    } else {
        format!("{} ({})", visible(&g.name), g.group)
    };
    format!("{name}: {} head, {}", g.outcome.head, g.protocol)
}

fn of_group(g: &GroupCalves) -> Vec<Block> {
    let o = &g.outcome;
    if !g.counted {
        return vec![Block::paragraph(
            "not counted: nobody knows how many are bred on which day",
        )];
    }
    let mut blocks = vec![
        Block::paragraph(bred(g)),
        Block::paragraph(["pregnant to AI: ", &head(&o.ai), " at ", &rate(&g.ai_rate)].concat()),
    ];
    blocks.extend(g.returns.as_ref().map(|r| {
        let (head, mean) = (r.head, r.mean.format("%a %-d %b"));
        let [from, to] = [r.from, r.to].map(|day| day.format("%-d %b"));
        Block::paragraph(format!(
            "back in heat: {head:.0} about {mean}; watch {from} to {to}"
        ))
    }));
    match &g.clean_up {
        Some(c) => blocks.extend(of_bulls(c, &o.bulls)),
        None => blocks.push(Block::paragraph("no clean-up bulls")),
    }
    let before = o.pregnant_before_head;
    if before > 0.0 {
        blocks.push(Block::paragraph(format!(
            "taken to be pregnant to the service before, and in none of these numbers: {before:.0}"
        )));
    }
    let open = format!("open at the end: {}", head(&o.open));
    let idle = format!("do not cycle: {}", rate(&g.not_cycling));
    let lost = format!("pregnancies lost before calving: {}", rate(&g.lost));
    let own = format!("gestation: {}", gestation(&g.gestation));
    blocks.extend([open, idle, lost, own].map(Block::paragraph));
    let of_bulls = g.bulls_gestation.as_ref();
    let of_bulls = of_bulls.map(|b| format!("gestation of clean-up bull calves: {}", gestation(b)));
    blocks.extend(of_bulls.map(Block::paragraph));
    blocks.extend(g.calving.iter().flat_map(of_calving));
    blocks
}

fn bred(g: &GroupCalves) -> String {
    let o = &g.outcome;
    let days = g.ai_days.iter();
    let days = days.map(|d| format!("{} on {}", d.head, d.date.format("%a %-d %b %Y")));
    let days: Vec<String> = days.collect();
    let sexed = if g.sexed_percent > 0.0 {
        format!(", {:.0} % of the straws sexed", g.sexed_percent)
    } else {
        String::new()
    };
    let planned: u32 = g.ai_days.iter().map(|d| d.head).sum();
    let one_of = (planned > o.bred_head).then(|| {
        let days = count(days.len() as u32, "day", "days");
        format!(", each once, on one of {days}: the day of each is not known, so all are planned for each")
    });
    let (head, one_of) = (o.bred_head, one_of.unwrap_or_default());
    format!(
        "bred to AI: {head} head{one_of} ({}){sexed}",
        days.join(", ")
    )
}

fn of_bulls(c: &CleanUp, pregnant: &Expected) -> Vec<Block> {
    let bulls = count(c.bulls_head, "bull", "bulls");
    let days = count(c.days as u32, "day", "days");
    let (turned_in, out) = (
        c.turned_in.format("%a %-d %b %Y"),
        c.taken_out.format("%a %-d %b"),
    );
    let bulls = format!(
        "{bulls} in {turned_in}, out {out} ({days}; {:.0} head a bull)",
        c.head_a_bull
    );
    let (settled, at_each) = (head(pregnant), rate(&c.settled));
    let settled = format!("settled by bulls: {settled}; at each heat {at_each}");
    let heats = c.heats.iter().enumerate();
    let heats = heats.filter(|(_, h)| h.in_heat_head >= 0.05);
    let heats = heats.map(|(n, h)| {
        let (n, mean) = (n + 1, h.mean.format("%a %-d %b"));
        let (seen, settled) = (h.in_heat_head, h.settled_head);
        format!("heat {n} with them, about {mean}: {seen:.1} in heat, {settled:.1} settled")
    });
    vec![
        Block::paragraph(bulls),
        Block::paragraph(settled),
        Block::bullets(heats),
    ]
}

fn gestation(g: &Gestation) -> String {
    let differ = g.disagreement.as_ref();
    let differ = differ.map_or(String::new(), |d| format!("; sources differ: {d}"));
    format!(
        "{} days ({}), one standard deviation {} ({}){differ}",
        g.mean_days, g.source, g.sd_days, g.sd_source
    )
}

/// A bar for each week that begins on Monday: AI calves, then clean-up bull calves. The terminal draws
/// the first with `#`, the others with `o`.
fn curve(calving: &Calving) -> Option<Block> {
    let bars = weeks(&calving.curve).into_iter().map(|w| Bar {
        name: w.monday.format("%a %-d %b %Y").to_string(),
        parts: vec![w.ai, w.bulls],
        said: vec![
            format!("{:.1}", w.ai + w.bulls),
            format!("{:.0} %", w.born_percent),
        ],
    });
    let bars: Vec<Bar> = bars.collect();
    let key = "Week of; bar of AI calves (#), then clean-up bull calves (o); calves that week; percent born so far";
    let title = Block::heading(3, key);
    (!bars.is_empty()).then(|| Block::section(Kind::Rows, vec![title, Block::Bars(bars)]))
}

/// A week that begins on Monday.
struct Week {
    monday: NaiveDate,
    ai: f64,
    bulls: f64,
    born_percent: f64,
}

fn weeks(curve: &[Day]) -> Vec<Week> {
    let mut weeks: Vec<Week> = Vec::new();
    for day in curve {
        let since = u64::from(day.date.weekday().num_days_from_monday());
        let monday = day.date.checked_sub_days(Days::new(since));
        let monday = monday.unwrap_or(day.date);
        if weeks.last().is_none_or(|w| w.monday != monday) {
            weeks.push(Week {
                monday,
                ai: 0.0,
                bulls: 0.0,
                born_percent: 0.0,
            });
        }
        if let Some(week) = weeks.last_mut() {
            week.ai += day.ai_head;
            week.bulls += day.bulls_head;
            week.born_percent = day.born_percent;
        }
    }
    // Weeks at the ends that show as nothing only make it longer.
    let shows = |w: &Week| w.ai + w.bulls >= 0.05;
    let from = weeks.iter().position(shows).unwrap_or(0);
    let to = weeks.iter().rposition(shows).map_or(0, |n| n + 1);
    weeks.truncate(to);
    weeks.drain(..from.min(to));
    weeks
}
