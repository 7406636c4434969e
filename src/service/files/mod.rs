//! A season with the files that it names: herds, scores, a table of straws. Where they are kept, whoever
//! asks knows: in a folder, or in memory.

mod herds;
mod matings;
mod read;

use std::collections::BTreeMap;
use std::path::Path;

pub use herds::{Herds, check};
pub use matings::{ForMatings, give, plan};
pub use read::read_season;

use crate::base::error::{Code, Error, Finding, Place, quoted};

/// Where the files are that a season names.
pub trait Files {
    /// The file of a name, which counts from the folder of the season file.
    ///
    /// # Errors
    /// What is wrong, `named` where the season names it.
    fn read(&self, name: &str, named: &Place) -> Result<Table, Finding>;
}

/// A herd file, scores or a table of straws, as a season names it.
#[derive(Clone, Debug)]
pub struct Table {
    /// Its name in findings.
    pub name: String,
    /// What stands in it.
    pub bytes: Vec<u8>,
    /// True if it lies outside the season's folder. A season may come from anybody, and name any
    /// file: then nothing of it is told.
    pub outside: bool,
}

impl Table {
    /// What was found in it, as far as it may be told.
    fn told<T>(&self, read: Result<(T, Vec<Finding>), Error>) -> Result<(T, Vec<Finding>), Error> {
        let tell = |found: &[Finding]| found.iter().map(|f| self.tell(f)).collect();
        match read {
            Err(e) if self.outside && e.is_input() => Err(Error::input(tell(e.findings()))),
            Ok((read, found)) if self.outside => Ok((read, tell(&found))),
            read => read,
        }
    }

    /// Code and line, without a word of the file.
    fn tell(&self, found: &Finding) -> Finding {
        match &found.place {
            Some(place) if place.file == self.name => Finding {
                place: Some(Place {
                    field: String::new(),
                    ..place.clone()
                }),
                what: found.code.summary().to_owned(),
                expected: None,
                hint: Some(
                    "the file lies outside the season's folder, so nothing of it is shown: to see \
                     more, copy it into that folder"
                        .to_owned(),
                ),
                ..found.clone()
            },
            _ => found.clone(),
        }
    }
}

/// Files in memory.
#[derive(Clone, Debug, Default)]
pub struct InMemory {
    /// The name of the season file, with a folder if it has one. Findings name all files from there.
    pub season: String,
    /// The files by the names that the season gives them.
    pub tables: BTreeMap<String, Vec<u8>>,
}

impl Files for InMemory {
    fn read(&self, name: &str, named: &Place) -> Result<Table, Finding> {
        let folder = Path::new(&self.season).parent().unwrap_or(Path::new(""));
        let path = folder.join(name).display().to_string();
        let Some(bytes) = self.tables.get(name) else {
            let what = format!("this file was not handed in ({})", quoted(&path));
            return Err(Finding::error(Code::FileUnreadable, what)
                .at(named.clone())
                .expected("each file that the season names")
                .hint("check the name: it counts from the folder of the season file"));
        };
        Ok(Table {
            name: path,
            bytes: bytes.clone(),
            outside: false,
        })
    }
}
