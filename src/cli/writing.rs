//! Files out. Each is written beside its place and then renamed, so that what was there before survives
//! any failure; what is not ours is left alone; what a killed run left is cleared.
//!
//! While a file is made ready, its name holds the name of a lock that the run holds. What no run holds
//! was left by a killed run, and goes at the next write. So two runs at once leave each other's files
//! alone.

use std::collections::BTreeMap;
use std::fs::{self, File, TryLockError};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

use clap::Args;
use thawline::error::{Code, Finding, visible};

use super::files::{fault, place};
use super::progress;

/// Whether files of others may be replaced.
#[derive(Args, Clone, Copy)]
pub(super) struct Over {
    /// Replace files even if they are not earlier ones of the same kind by thawline.
    #[arg(long)]
    force: bool,
}

/// Bytes of a file that are looked at, at the most: larger than any that is written.
const MOST: u64 = 256 * 1024 * 1024;

const DOING: &str = "write this file";

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

/// What is said of a file that was written.
pub(super) fn written(path: &Path) -> String {
    format!("Written to {}.\n", visible(&path.display().to_string()))
}

/// The kinds of files that a later run may replace: each is known by what stands in it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Ours {
    Plan,
    Calendar,
    /// The plan's page, or its sheets as PDF.
    Page {
        pdf: bool,
    },
    /// Sheets of thaw rounds.
    Rounds {
        pdf: bool,
    },
    Manual,
}

impl Ours {
    /// How much of a file tells its kind, but for a PDF file, which names itself at its end.
    const HEAD: usize = 4096;

    fn of(bytes: &[u8]) -> Option<Self> {
        let pdf = bytes.starts_with(b"%PDF-");
        let some = if pdf {
            bytes
        } else {
            &bytes[..bytes.len().min(Self::HEAD)]
        };
        let text = String::from_utf8_lossy(some);
        let between = |a: &str, b: &str| Some(text.split_once(a)?.1.split_once(b)?.0);
        let titled = |title: &str| {
            if title.ends_with("– breeding plan") {
                Some(Self::Page { pdf })
            } else if title.ends_with("– thaw rounds") {
                Some(Self::Rounds { pdf })
            } else {
                None
            }
        };
        if pdf {
            let title = between("<dc:title>", "</rdf:li>")?;
            between("<xmp:CreatorTool>Thawline ", "<")?;
            titled(title)
        } else if text.starts_with("<!DOCTYPE html><html lang=\"en\"><head>") {
            titled(between("<title>", "</title>")?)
        } else if text.starts_with("BEGIN:VCALENDAR") {
            between("\nPRODID:-//Thawline//Thawline ", "\n").map(|_| Self::Calendar)
        } else if text.trim_start().starts_with('{') {
            between("\"format\": \"thawline.plan/", "\"").map(|_| Self::Plan)
        } else if text.starts_with(".ie ") {
            between("\n.TH thawline", "\n").map(|_| Self::Manual)
        } else {
            None
        }
    }
}

/// Refuses to write over what is not an earlier file of the same kind, and the same bytes or nothing:
/// a season file named by a slip stays what it is.
fn only_ours(path: &Path, new: &[u8]) -> Result<(), Finding> {
    let mut there = Vec::new();
    File::open(path)
        .and_then(|file| file.take(MOST).read_to_end(&mut there))
        .map_err(|e| fault(path, DOING, &e))?;
    let kind = Ours::of(new);
    if there.is_empty() || there == new || (kind.is_some() && kind == Ours::of(&there)) {
        return Ok(());
    }
    let (what, expected) = if kind.is_some() {
        (
            "cannot write this file: another kind of file stands there",
            "a new name, or an earlier file of the same kind that thawline wrote",
        )
    } else {
        (
            "cannot write this file: a file stands there, which may be somebody's",
            "a new name",
        )
    };
    Err(Finding::error(Code::FileUnreadable, what)
        .at(place(path))
        .expected(expected)
        .hint("name another file, or move that one away; `--force` replaces it"))
}

/// The plan that a file names as its own, if it does.
fn plan_of(path: &Path) -> Option<String> {
    let mut bytes = Vec::new();
    let pdf = path.extension().is_some_and(|x| x == "pdf");
    let most = if pdf { MOST } else { Ours::HEAD as u64 };
    fs::metadata(path).ok().filter(fs::Metadata::is_file)?;
    let file = File::open(path).ok()?;
    file.take(most).read_to_end(&mut bytes).ok()?;
    let text = String::from_utf8_lossy(&bytes);
    let mark = match Ours::of(&bytes)? {
        Ours::Plan => "\"id\": \"",
        Ours::Calendar => "\nX-THAWLINE-PLAN:",
        Ours::Page { pdf: false } => "\"Thawline ",
        Ours::Page { pdf: true } => "CreatorTool>Thawline ",
        Ours::Rounds { .. } | Ours::Manual => return None,
    };
    let rest = text.split_once(mark)?.1;
    let rest = match Ours::of(&bytes)? {
        Ours::Page { .. } => rest.split_once(", plan ")?.1,
        _ => rest,
    };
    let id: String = rest.chars().take_while(char::is_ascii_hexdigit).collect();
    (id.len() == 8).then_some(id)
}

/// What is said where files that belong together are of several plans: a run was ended while it replaced
/// them.
pub(super) fn of_several_plans<'a>(files: impl Iterator<Item = &'a Path>) -> Option<String> {
    let mut plans: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for path in files {
        if let (Some(id), Some(name)) = (plan_of(path), path.file_name()) {
            let names = plans.entry(id).or_default();
            names.push(name.to_string_lossy().into_owned());
        }
    }
    let each = |(id, names): (&String, &Vec<String>)| format!("of {id}: {}", names.join(", "));
    let each: Vec<String> = plans.iter().map(each).collect();
    (plans.len() > 1).then(|| each.join("; "))
}

/// Where a file really goes: a link stays, and what it leads to is replaced. Only files are.
fn target(path: &Path) -> Result<PathBuf, Finding> {
    let link = fs::symlink_metadata(path).is_ok_and(|m| m.is_symlink());
    let target = if link {
        fs::canonicalize(path).map_err(|e| {
            fault(path, DOING, &e)
                .hint("this is a link that leads nowhere: take it away, or name another file")
        })?
    } else {
        path.to_owned()
    };
    let Ok(there) = fs::metadata(&target) else {
        return Ok(target);
    };
    if there.is_dir() {
        return Err(fault(path, DOING, &io::ErrorKind::IsADirectory.into()));
    }
    if !there.is_file() {
        // Renaming would put a file in the place of a device or a pipe, and opening a pipe waits.
        return Err(Finding::error(
            Code::FileUnreadable,
            "cannot write this file: what stands there is no file",
        )
        .at(place(path))
        .expected("a new name, or a file that may be replaced")
        .hint("name a file of your own"));
    }
    Ok(target)
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(p) if p != Path::new("") => p,
        _ => Path::new("."),
    }
}

/// Refuses a file that is there, before anything is asked for it.
pub(super) fn may_be_written(path: &Path, over: Over) -> Result<(), Finding> {
    let target = target(path)?;
    if over.force || !target.exists() {
        return Ok(());
    }
    Err(
        Finding::error(Code::FileUnreadable, "there is a file of that name")
            .at(place(path))
            .expected("the name of a new file")
            .hint("name another file, or replace this one with `--force`"),
    )
}

/// Writes each file to a temporary one beside its place, one at a time, and renames them when all are
/// written: until then nothing that was there is touched, and no file is ever half written. Should a
/// rename fail, the files renamed before it are the new ones.
pub(super) fn write_all<T: AsRef<[u8]>>(files: &[(PathBuf, T)], over: Over) -> Result<(), Finding> {
    let mut targets = Vec::with_capacity(files.len());
    for (path, _) in files {
        targets.push(target(path)?);
    }
    for ((_, content), target) in files.iter().zip(&targets) {
        if !over.force && target.exists() {
            only_ours(target, content.as_ref())?;
        }
    }
    let mut desks: Vec<(PathBuf, Desk)> = Vec::new();
    let mut ready = Vec::with_capacity(files.len());
    for ((path, content), target) in files.iter().zip(&targets) {
        let dir = folder_of(target);
        if desks.iter().all(|(d, _)| d != dir) {
            fs::create_dir_all(dir).map_err(|e| fault(dir, "make this folder", &e))?;
            clear(dir);
            let desk = Desk::at(dir).map_err(|e| fault(path, DOING, &e))?;
            desks.push((dir.to_owned(), desk));
        }
        let desk = desks.iter_mut().find(|(d, _)| d == dir);
        let (_, desk) = desk.expect("each folder has one");
        let temporary = desk
            .write(target, content.as_ref())
            .map_err(|e| fault(path, DOING, &e))?;
        ready.push((path, target, temporary));
    }
    // From here on all files are replaced, even if somebody ends the program.
    let _whole = progress::replacing();
    for (path, target, temporary) in ready {
        fs::rename(&temporary, target).map_err(|e| fault(path, DOING, &e))?;
    }
    Ok(())
}

const PREFIX: &str = ".thawline-";
const SUFFIX: &str = ".tmp";

/// Where files of one folder are made ready: a lock, and beside it files that begin with its name. While
/// the lock is held, nobody clears them.
struct Desk {
    lock: tempfile::NamedTempFile,
    ready: Vec<PathBuf>,
}

impl Desk {
    fn at(dir: &Path) -> io::Result<Self> {
        loop {
            let lock = tempfile::Builder::new()
                .prefix(PREFIX)
                .suffix(SUFFIX)
                .tempfile_in(dir)?;
            // Where there are no locks, nobody clears anything.
            let _ = lock.as_file().lock();
            // Somebody may have cleared it before it was locked.
            if lock.path().exists() {
                progress::not_ready(lock.path());
                return Ok(Self {
                    lock,
                    ready: Vec::new(),
                });
            }
        }
    }

    /// Writes the bytes to a file of their own, with the rights of the file that they will replace.
    fn write(&mut self, target: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
        let name = self.lock.path().file_name().unwrap_or_default();
        let stem = name.to_string_lossy();
        let stem = stem.strip_suffix(SUFFIX).unwrap_or(&stem);
        let name = format!("{stem}-{}{SUFFIX}", self.ready.len());
        let path = self.lock.path().with_file_name(name);
        let before = fs::metadata(target).ok().map(|m| m.permissions());
        progress::not_ready(&path);
        self.ready.push(path.clone());
        let mut file = create(&path, before.is_some())?;
        #[cfg(unix)]
        if let Some(rights) = before {
            use std::os::unix::fs::PermissionsExt as _;
            file.set_permissions(fs::Permissions::from_mode(rights.mode() & 0o777))?;
        }
        file.write_all(bytes)?;
        file.sync_all()?;
        Ok(path)
    }
}

/// What did not reach its place goes; the lock goes last.
impl Drop for Desk {
    fn drop(&mut self) {
        for path in &self.ready {
            let _ = fs::remove_file(path);
        }
    }
}

/// A new file: others may read it as far as the user's system lets them, unless it is to have the rights
/// of another.
fn create(path: &Path, private: bool) -> io::Result<File> {
    let mut options = File::options();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(if private { 0o600 } else { 0o666 });
    }
    #[cfg(not(unix))]
    let _ = private;
    options.open(path)
}

/// Clears what runs that were killed left in a folder: files of locks that nobody holds.
fn clear(dir: &Path) {
    let names = |e: fs::DirEntry| e.file_name().into_string().ok();
    let inner = |n: &String| {
        let rest = n.strip_prefix(PREFIX)?.strip_suffix(SUFFIX)?;
        Some(rest.split('-').next()?.to_owned())
    };
    let entries = fs::read_dir(dir).into_iter().flatten().flatten();
    let files = entries.filter(|e| e.file_type().is_ok_and(|t| t.is_file()));
    let all = files
        .filter_map(names)
        .filter_map(|n| Some((inner(&n)?, n)));
    let all: Vec<(String, String)> = all.collect();
    let mut locks: Vec<&String> = all.iter().map(|(lock, _)| lock).collect();
    locks.sort();
    locks.dedup();
    for lock in locks {
        let own = format!("{PREFIX}{lock}{SUFFIX}");
        let held = match File::options().write(true).open(dir.join(&own)) {
            // Held until all is gone.
            Ok(file) => match file.try_lock() {
                Ok(()) => Some(file),
                Err(TryLockError::WouldBlock | TryLockError::Error(_)) => continue,
            },
            Err(e) if e.kind() == io::ErrorKind::NotFound => None,
            Err(_) => continue,
        };
        for (_, name) in all.iter().filter(|(l, n)| l == lock && *n != own) {
            let _ = fs::remove_file(dir.join(name));
        }
        let _ = fs::remove_file(dir.join(&own));
        drop(held);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a run that lives holds is left alone, what a dead one left is cleared, and all else stays.
    #[test]
    fn only_what_nobody_holds_is_cleared() {
        let dir = tempfile::tempdir().unwrap();
        let at = |name: &str| dir.path().join(name);
        for name in [
            ".thawline-dead.tmp",
            ".thawline-dead-0.tmp",
            ".thawline-gone-7.tmp",
            ".other.tmp",
            "plan.json",
        ] {
            fs::write(at(name), "x").unwrap();
        }
        let mut alive = Desk::at(dir.path()).unwrap();
        let ready = alive.write(&at("plan.json"), b"new").unwrap();
        clear(dir.path());
        let left = fs::read_dir(dir.path()).unwrap();
        let mut left: Vec<PathBuf> = left.map(|e| e.unwrap().path()).collect();
        left.sort();
        let mut all = vec![
            at(".other.tmp"),
            at("plan.json"),
            ready.clone(),
            alive.lock.path().to_owned(),
        ];
        all.sort();
        assert_eq!(left, all);
        drop(alive);
        assert!(!ready.exists());
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 2);
    }

    #[test]
    fn kinds_are_told_by_what_stands_in_them() {
        let html = |title: &str| {
            format!("<!DOCTYPE html><html lang=\"en\"><head><title>{title}</title>").into_bytes()
        };
        assert_eq!(
            Ours::of(&html("A – breeding plan")),
            Some(Ours::Page { pdf: false })
        );
        assert_eq!(
            Ours::of(&html("A – thaw rounds")),
            Some(Ours::Rounds { pdf: false })
        );
        for other in [
            html("My herd"),
            b"format: thawline.season/1\n".to_vec(),
            b"animal,class\nA1,cow\n".to_vec(),
            b"BEGIN:VCALENDAR\r\nPRODID:-//Other//EN\r\n".to_vec(),
            b"{\"format\": \"thawline.herd/1\"}".to_vec(),
            b"%PDF-1.7\n".to_vec(),
            vec![0xff; 9000],
            Vec::new(),
        ] {
            assert_eq!(Ours::of(&other), None);
        }
    }
}
