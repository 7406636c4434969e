//! Whether a crew can breed what is asked about, and what would make it so.

use clap::Args;
use thawline::error::{Code, Error, Finding};
use thawline::staffing::{self, Crew, Question};

use super::asked::{Outcome, Printed, Printing, Run, SeasonFile};
use super::files;
use super::progress::Shown;
use super::reading::{library, season as season_of};
use super::words::{lines, stopped};

/// Say whether the crew, or some of it, can breed a group, and what would make it so.
///
/// The verdict, how much room is left and what the limit is; the AI window of each pen, the first
/// and last cow with the hours since her own treatment; the most head that one technician, two
/// or three can breed; and, where animals are left, the changes that get them all bred, easiest
/// first, each planned and verified before it is shown.
#[derive(Args)]
pub(super) struct Cover {
    #[command(flatten)]
    season: SeasonFile,
    /// Only this group's breeding, by id; the crew's other work stays as it is.
    #[arg(long, value_name = "ID", conflicts_with = "session")]
    group: Option<String>,
    /// Only this session, by its id in the plan, as this command lists them.
    #[arg(long, value_name = "ID")]
    session: Option<String>,
    /// With these technicians only: a number for so many of the season's fastest (whole rounds,
    /// thawing and loading counted), or ids with commas between.
    #[arg(long, value_name = "N|IDS", allow_hyphen_values = true)]
    technicians: Option<String>,
    /// Ask for room to spare: minutes by which the crew must be able to start later.
    #[arg(long, value_name = "MINUTES", default_value_t = 0, allow_negative_numbers = true, value_parser = clap::value_parser!(u16).range(0..=1440))]
    margin: u16,
    #[command(flatten)]
    printing: Printing,
}

/// What was given for `--technicians`, with each id once and no empty ones.
fn crew(text: &str) -> Result<String, Error> {
    let mut ids: Vec<&str> = Vec::new();
    for id in text.split(',').map(str::trim) {
        if !id.is_empty() && !ids.contains(&id) {
            ids.push(id);
        }
    }
    if ids.is_empty() {
        let finding = Finding::error(Code::UnknownId, "`--technicians` names no technician");
        return Err(finding
            .expected("a number, or ids of technicians with commas between")
            .hint("leave the option out to ask about the whole crew")
            .into());
    }
    Ok(ids.join(","))
}

impl Run for Cover {
    fn run(&self) -> Result<Outcome, Error> {
        let (library, mut found) = library(&self.season.own)?;
        let bytes = files::read(&self.season.season)?;
        let (mut season, more) = season_of(&self.season, &bytes, &library)?;
        found.extend(more);
        thawline::files::give(&mut season, &files::Beside(&self.season.season))?;
        let crew = self.technicians.as_deref().map(crew).transpose()?;
        let question = Question {
            group: self.group.clone(),
            session: self.session.clone(),
            crew: crew.map_or(Crew::All, |text| Crew::parse(&text, &season)),
            least_margin_minutes: i64::from(self.margin),
        };
        let answer = staffing::assess(&season, &library, &question, &Shown::new())?.answer;
        let mut err = lines(&found);
        // A table has no place for it.
        if self.printing.form() == Printed::Csv && !answer.not_tried.is_empty() {
            err += &stopped(&answer.not_tried.join("; "));
        }
        self.printing.answer(&answer, err, answer.is_well())
    }
}
