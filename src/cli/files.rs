//! Files in and out. Reading is bounded; writing goes to a temporary file that is then renamed,
//! so that what was there before survives any failure.

use std::fs;
use std::io::{self, Read, Write as _};
use std::path::{Path, PathBuf};

use thawline::document::MOST_BYTES;
use thawline::error::{Code, Finding, Place, quoted, visible};
use thawline::sheet;

use super::watching;

pub(super) fn fault(path: &Path, doing: &str, e: &io::Error) -> Finding {
    let hint = match e.kind() {
        io::ErrorKind::NotFound => "check the name and the folder you are in",
        io::ErrorKind::PermissionDenied => "check the rights on the file and its folder",
        io::ErrorKind::AlreadyExists | io::ErrorKind::NotADirectory => {
            "a file stands where a folder is meant: name another folder, or move that file"
        }
        io::ErrorKind::IsADirectory => "name a file, not a folder",
        io::ErrorKind::StorageFull => {
            "make room on the disk; files of an earlier plan are still there"
        }
        _ => "check the name, the rights and the disk",
    };
    let expected = if doing.starts_with("read") {
        "a file or folder that is there and may be read"
    } else {
        "a place that may be written to"
    };
    // The system's own words begin with a capital letter and end in a number.
    let cause = e.to_string();
    let cause = cause.split(" (os error").next().unwrap_or_default();
    let mut letters = cause.chars();
    let cause: String = letters
        .next()
        .into_iter()
        .flat_map(char::to_lowercase)
        .chain(letters)
        .collect();
    Finding::error(Code::FileUnreadable, format!("cannot {doing}: {cause}"))
        .at(place(path))
        .expected(expected)
        .hint(hint)
}

pub(super) fn place(path: &Path) -> Place {
    Place {
        file: path.display().to_string(),
        line: 1,
        column: 1,
        field: String::new(),
    }
}

/// Reads a file, or standard input for `-`, no further than a little past the limit.
pub(super) fn read(path: &Path) -> Result<Vec<u8>, Finding> {
    read_up_to(path, MOST_BYTES)
}

/// A file that a season names counts from the season's folder.
pub(super) fn beside(season: &Path, name: &str) -> PathBuf {
    match season.parent() {
        Some(dir) if dir != Path::new("") => dir.join(name),
        _ => PathBuf::from(name),
    }
}

/// Reads a herd file or a table of straws; what goes wrong is said where the season names it.
pub(super) fn read_table(path: &Path, named: &Place) -> Result<Vec<u8>, Finding> {
    // A name of its own, even where it looks like standard input.
    let path = if path == Path::new("-") {
        Path::new("./-")
    } else {
        path
    };
    read_up_to(path, sheet::MOST_BYTES).map_err(|mut finding| {
        finding.what = format!("{} ({})", finding.what, quoted(&path.display().to_string()));
        finding.place = Some(named.clone());
        if finding
            .hint
            .as_ref()
            .is_some_and(|h| h.starts_with("check the name and the folder"))
        {
            finding.hint =
                Some("check the name: it counts from the folder of the season file".to_owned());
        }
        finding
    })
}

pub(super) fn read_up_to(path: &Path, most: u64) -> Result<Vec<u8>, Finding> {
    let mut bytes = Vec::new();
    let reader: Box<dyn Read> = if path == Path::new("-") {
        Box::new(io::stdin().lock())
    } else {
        if path.is_dir() {
            return Err(fault(
                path,
                "read this file",
                &io::ErrorKind::IsADirectory.into(),
            ));
        }
        Box::new(fs::File::open(path).map_err(|e| fault(path, "read this file", &e))?)
    };
    reader
        .take(most + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| fault(path, "read this file", &e))?;
    Ok(bytes)
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
    let doing = "read this folder of protocols";
    let mut paths: Vec<PathBuf> = fs::read_dir(dir)
        .map_err(|e| fault(dir, doing, &e))?
        .collect::<Result<Vec<_>, _>>()
        .map_err(|e| fault(dir, doing, &e))?
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

/// Refuses one file for two things.
pub(super) fn not_twice<T>(files: &[(PathBuf, T)]) -> Result<(), Finding> {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    for (n, (path, _)) in files.iter().enumerate() {
        if files[..n].iter().any(|(p, _)| whole(p) == whole(path)) {
            return Err(
                Finding::error(Code::FileUnreadable, "one file is named for two things")
                    .at(place(path))
                    .expected("a file of its own for each")
                    .hint("name another file for one of them"),
            );
        }
    }
    Ok(())
}

/// Refuses to write over a file of another kind: a season file named by a slip stays what it is. Files
/// of a kind begin alike.
pub(super) fn only_over(files: &[(PathBuf, Vec<u8>)]) -> Result<(), Finding> {
    /// Letters that tell a page, a calendar and a PDF file apart from all others.
    const TELLING: usize = 5;
    for (path, bytes) in files {
        let mut there = Vec::new();
        let read =
            fs::File::open(path).and_then(|file| file.take(TELLING as u64).read_to_end(&mut there));
        let alike = there.is_empty() || bytes.starts_with(&there);
        if read.is_ok() && !alike {
            return Err(Finding::error(
                Code::FileUnreadable,
                "cannot write this file: another kind of file stands there",
            )
            .at(place(path))
            .expected("a new name, or an earlier file of the same kind")
            .hint("name another file, or move that one away"));
        }
    }
    Ok(())
}

/// What is said of a file that was written.
pub(super) fn written(path: &Path) -> String {
    format!("Written to {}.\n", visible(&path.display().to_string()))
}

/// Writes each file to a temporary one beside its place, and renames them when all are written:
/// until then nothing that was there is touched, and no file is ever half written. Should a
/// rename fail, the files renamed before it are the new ones.
pub(super) fn write_all<T: AsRef<[u8]>>(files: &[(PathBuf, T)]) -> Result<(), Finding> {
    let mut ready = Vec::with_capacity(files.len());
    for (path, content) in files {
        let doing = "write this file";
        let dir = match path.parent() {
            Some(p) if p != Path::new("") => p,
            _ => Path::new("."),
        };
        fs::create_dir_all(dir).map_err(|e| fault(dir, "make this folder", &e))?;
        if path.is_dir() {
            return Err(fault(path, doing, &io::ErrorKind::IsADirectory.into()));
        }
        // Renaming would put a file in the place of a device or a pipe.
        if path.exists() && !path.is_file() {
            return Err(Finding::error(
                Code::FileUnreadable,
                "cannot write this file: what stands there is no file",
            )
            .at(place(path))
            .expected("a new name, or a file that may be replaced")
            .hint("name a file of your own"));
        }
        let mut temporary = tempfile::Builder::new()
            .prefix(".thawline-")
            .suffix(".tmp")
            .permissions_for_people()
            .tempfile_in(dir)
            .map_err(|e| fault(path, doing, &e))?;
        temporary
            .write_all(content.as_ref())
            .and_then(|()| temporary.as_file().sync_all())
            .map_err(|e| fault(path, doing, &e))?;
        watching::not_ready(temporary.path());
        ready.push((path, temporary));
    }
    // From here on all files are replaced, even if somebody ends the program.
    let _whole = watching::replacing();
    for (path, temporary) in ready {
        temporary
            .persist(path)
            .map_err(|e| fault(path, "write this file", &e.error))?;
    }
    Ok(())
}

/// Temporary files are private to their maker; a plan is for others to read too.
trait ForPeople {
    fn permissions_for_people(&mut self) -> &mut Self;
}

impl ForPeople for tempfile::Builder<'_, '_> {
    #[cfg(unix)]
    fn permissions_for_people(&mut self) -> &mut Self {
        use std::os::unix::fs::PermissionsExt as _;
        // The umask still takes away what the user's system takes away.
        self.permissions(fs::Permissions::from_mode(0o666))
    }

    #[cfg(not(unix))]
    fn permissions_for_people(&mut self) -> &mut Self {
        self
    }
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
