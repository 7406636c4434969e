//! Files in. Reading is bounded, and never waits for a pipe.
//!
//! Of a file outside the season's folder, findings show code and line alone. Ranches keep herd files
//! elsewhere, so such files are read; but a season that somebody sent could name a private file, and
//! findings quote cells.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use thawline::document::MOST_BYTES;
use thawline::error::{Code, Finding, Place, quoted};
use thawline::files::{Files, Table};
use thawline::sheet;

/// What to do about a file that is not there.
const NOT_THERE: &str = "check the name and the folder you are in";

pub(super) fn fault(path: &Path, doing: &str, e: &io::Error) -> Finding {
    let hint = match e.kind() {
        io::ErrorKind::NotFound => NOT_THERE,
        io::ErrorKind::PermissionDenied => "check the permissions of the file and its folder",
        io::ErrorKind::AlreadyExists | io::ErrorKind::NotADirectory => {
            "a file stands where a folder is meant: name another folder, or move that file"
        }
        io::ErrorKind::IsADirectory => "name a file, not a folder",
        io::ErrorKind::StorageFull => {
            "make room on the disk; files of an earlier plan are still there"
        }
        _ => "check the name, the permissions and the disk",
    };
    let expected = if [READING, READING_FOLDER].contains(&doing) {
        "a file or folder that is there and may be read"
    } else {
        "a place that may be written to"
    };
    // The system's own words begin with a capital letter and end in a number.
    let cause = e.to_string();
    let cause = cause.split(" (os error").next().unwrap_or_default();
    let mut letters = cause.chars();
    let first = letters.next().into_iter().flat_map(char::to_lowercase);
    let cause: String = first.chain(letters).collect();
    Finding::error(Code::FileUnreadable, format!("cannot {doing}: {cause}"))
        .at(place(path))
        .expected(expected)
        .hint(hint)
}

pub(super) fn place(path: &Path) -> Place {
    Place::top(path.display().to_string())
}

/// Reads a file, or standard input for `-`, no further than a little past the limit.
pub(super) fn read(path: &Path) -> Result<Vec<u8>, Finding> {
    read_up_to(path, MOST_BYTES)
}

fn folder(season: &Path) -> &Path {
    season.parent().unwrap_or(Path::new(""))
}

/// The files beside a season file. A file that a season names counts from the season's folder.
pub(super) struct Beside<'a>(pub(super) &'a Path);

impl Files for Beside<'_> {
    fn read(&self, name: &str, named: &Place) -> Result<Table, Finding> {
        let path = folder(self.0).join(name);
        // A name of its own, even where it looks like standard input; and what the shell has opened is
        // not for a season to name.
        let named_so = if path == Path::new("-") {
            PathBuf::from("./-")
        } else {
            path.clone()
        };
        let bytes = only_file(&named_so)
            .and_then(|()| read_file(&named_so, sheet::MOST_BYTES))
            .map_err(|finding| at_name(finding, &named_so, named))?;
        Ok(Table {
            name: path.display().to_string(),
            bytes,
            outside: is_outside(self.0, &named_so),
        })
    }
}

fn at_name(mut finding: Finding, path: &Path, named: &Place) -> Finding {
    finding.what = format!("{} ({})", finding.what, quoted(&path.display().to_string()));
    finding.place = Some(named.clone());
    if finding.hint.as_deref() == Some(NOT_THERE) {
        finding.hint =
            Some("check the name: it counts from the folder of the season file".to_owned());
    }
    finding
}

/// True unless a file lies in the folder of a season or below, links followed.
fn is_outside(season: &Path, path: &Path) -> bool {
    let home = match folder(season) {
        home if home == Path::new("") => Path::new("."),
        home => home,
    };
    let real = |p: &Path| fs::canonicalize(p).ok();
    match (real(home), real(path)) {
        (Some(home), Some(path)) => !path.starts_with(home),
        _ => true,
    }
}

/// What the shell has opened already is read like standard input.
const OPENED: [&str; 3] = ["/dev/stdin", "/dev/fd/", "/proc/self/fd/"];

pub(super) fn read_up_to(path: &Path, most: u64) -> Result<Vec<u8>, Finding> {
    if path == Path::new("-") {
        return all_of(io::stdin().lock(), path, most);
    }
    if !OPENED.iter().any(|o| path.to_string_lossy().starts_with(o)) {
        only_file(path)?;
    }
    read_file(path, most)
}

fn read_file(path: &Path, most: u64) -> Result<Vec<u8>, Finding> {
    let file = fs::File::open(path).map_err(|e| fault(path, READING, &e))?;
    all_of(file, path, most)
}

fn all_of(from: impl Read, path: &Path, most: u64) -> Result<Vec<u8>, Finding> {
    let mut bytes = Vec::new();
    from.take(most + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| fault(path, READING, &e))?;
    Ok(bytes)
}

const READING: &str = "read this file";
const READING_FOLDER: &str = "read this folder of protocols";

/// Refuses what is no file: a pipe that nobody writes to would be waited on without end.
fn only_file(path: &Path) -> Result<(), Finding> {
    let there = fs::metadata(path).map_err(|e| fault(path, READING, &e))?;
    if there.is_dir() {
        return Err(fault(path, READING, &io::ErrorKind::IsADirectory.into()));
    }
    if there.is_file() {
        return Ok(());
    }
    Err(Finding::error(
        Code::FileUnreadable,
        "cannot read this file: it is a pipe or a device",
    )
    .at(place(path))
    .expected("a file, or - for standard input")
    .hint("name a file; a season may come through standard input, as `-`"))
}

/// The day pages, in the folder of a plan.
pub(super) const PDF: &str = "season.pdf";

/// A file's name and bytes.
pub(super) type Bytes = (String, Vec<u8>);

/// The protocol files of a directory, by name.
pub(super) fn read_protocols(dir: &Path) -> Result<Vec<Bytes>, Finding> {
    let (files, mut faults) = read_each_protocol(dir)?;
    if faults.is_empty() {
        Ok(files)
    } else {
        Err(faults.remove(0))
    }
}

/// The same, with a finding for each file that cannot be read.
pub(super) fn read_each_protocol(dir: &Path) -> Result<(Vec<Bytes>, Vec<Finding>), Finding> {
    let mut paths: Vec<PathBuf> = fs::read_dir(dir)
        .map_err(|e| fault(dir, READING_FOLDER, &e))?
        .collect::<Result<Vec<_>, _>>()
        .map_err(|e| fault(dir, READING_FOLDER, &e))?
        .into_iter()
        .map(|entry| entry.path())
        .filter(|p| p.extension().is_some_and(|x| x == "yaml" || x == "yml"))
        // A pipe would be waited on without end; what is not there is told when it is read.
        .filter(|p| fs::metadata(p).map_or(true, |m| m.is_file() || m.is_dir()))
        .collect();
    paths.sort();
    if paths.is_empty() {
        return Err(Finding::error(
            Code::FileUnreadable,
            "there is no protocol file in this folder",
        )
        .at(place(dir))
        .expected("files that end in .yaml")
        .hint("see the built-in ones for the form: `thawline schema protocol`"));
    }
    let (mut files, mut faults) = (Vec::new(), Vec::new());
    for path in paths {
        match read(&path) {
            Ok(bytes) => files.push((path.display().to_string(), bytes)),
            Err(fault) => faults.push(fault),
        }
    }
    Ok((files, faults))
}

/// Calendars of technicians, and a PDF, in a directory that the new plan does not replace.
pub(super) fn left_over<T>(dir: &Path, written: &[(PathBuf, T)]) -> Vec<String> {
    let Ok(entries) = fs::read_dir(dir) else {
        return Vec::new();
    };
    let mut names: Vec<String> = entries
        .flatten()
        .filter(|e| !written.iter().any(|(p, _)| *p == e.path()))
        .filter_map(|e| e.file_name().into_string().ok())
        .filter(|n| {
            let calendar = n.strip_prefix("technician-");
            // What is kept of another season is told of where it is kept.
            let kept = n.ends_with(".before.ics");
            n == PDF || calendar.is_some_and(|rest| rest.contains(".ics") && !kept)
        })
        .collect();
    names.sort();
    names
}
