//! A damaged book kept aside, and a fresh one in its place with what could be saved.
//!
//! # So that nothing is lost, whatever happens meanwhile
//! 1. The fresh book is written in full and synced under a name of its own, `….mending`, then given the name
//!    `….mended`. A kill before that leaves the damaged book as it was.
//! 2. The damaged file, then its log, are given names that nothing has: a file that exists is never written over.
//! 3. The fresh book gets the book's own name.
//!
//! Whoever opens the book next and finds a `….mended` goes on at 2. The log goes before the fresh book comes, because
//! SQLite would take it for the fresh book's own. One process mends at a time (a lock on a file beside it, which the
//! system lets go with the process); who waited looks again and finds a sound book. A terminal that still has the
//! damaged file open is told so by its next tick ([`super::Trouble::Moved`]).

use std::fs::{self, File};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use super::carve::{self, Carved};
use super::error::{BookError, Trouble};
use super::file::beside;
use super::schema;
use super::store::Book;
use crate::time::{Timestamp, Zone};

/// The largest file looked through; a million entries have a tenth of it.
const LARGEST: u64 = 1 << 31;

/// What became of a damaged book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Mended {
    /// Where the damaged file is kept.
    pub(super) aside: PathBuf,
    /// How many entries were saved.
    pub(super) saved: usize,
    /// Which were not, as words; empty where every number up to the last is there.
    pub(super) lost: String,
}

/// Reads what a book's file and log still say.
#[allow(
    clippy::disallowed_methods,
    reason = "a damaged book is read without SQLite"
)]
pub(super) fn read(path: &Path) -> io::Result<(Carved, bool)> {
    let bytes = |path: &Path| match path.metadata() {
        Ok(about) if about.len() > LARGEST => Err(ErrorKind::FileTooLarge.into()),
        Ok(_) => fs::read(path),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(Vec::new()),
        Err(error) => Err(error),
    };
    let (file, log) = (bytes(path)?, bytes(&beside(path, "-wal"))?);
    let carved = carve::carve(&file, &log);
    let application = file.get(68..72) == Some(&schema::APPLICATION_ID.to_be_bytes()[..]);
    let ours = carved.is_a_book() || (file.starts_with(carve::MAGIC) && application);
    Ok((carved, ours))
}

/// Returns whether a book's log is damaged, so that SQLite would pass over entries in it, or lies beside a book that
/// has been emptied, so that SQLite would throw it away.
#[allow(
    clippy::disallowed_methods,
    reason = "the book looks at its own log before SQLite may"
)]
pub(super) fn log_is_damaged(path: &Path) -> bool {
    let log = beside(path, "-wal");
    let fits = |about: &fs::Metadata| about.is_file() && (1..LARGEST).contains(&about.len());
    if !log.metadata().is_ok_and(|about| fits(&about)) {
        return false;
    }
    let damaged = || {
        let bytes = fs::read(&log).unwrap_or_default();
        let emptied = path.metadata().is_ok_and(|about| about.len() == 0)
            && carve::carve(&[], &bytes).is_a_book();
        emptied || carve::log_is_damaged(&bytes)
    };
    // Another terminal may be writing in it: what was half there a moment ago is whole now.
    damaged() && {
        std::thread::sleep(std::time::Duration::from_millis(50));
        damaged()
    }
}

/// Returns whether mending was interrupted after the fresh book was made.
pub(super) fn is_under_way(path: &Path) -> bool {
    beside(path, ".mended").is_file()
}

/// Holds the others off while it lives.
struct Turn {
    place: PathBuf,
    _file: File,
}

impl Turn {
    #[allow(
        clippy::disallowed_methods,
        reason = "a file beside the book says whose turn it is"
    )]
    fn take(path: &Path) -> io::Result<Self> {
        let place = beside(path, ".turn");
        let file = File::create(&place)?;
        file.lock()?;
        Ok(Self { place, _file: file })
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.place);
    }
}

/// Mends the book at `path` if `is_broken` still says so once it is our turn. Returns what became of it, or nothing
/// where another process was faster. What is no book of ours is refused and left alone.
pub(super) fn mend(
    path: &Path,
    now: Timestamp,
    is_broken: impl Fn() -> Option<BookError>,
) -> Result<Option<Mended>, BookError> {
    let failed = |error: io::Error| {
        let trouble = match error.kind() {
            ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => Trouble::ReadOnly,
            ErrorKind::StorageFull => Trouble::Full,
            _ => Trouble::Failed(error.to_string()),
        };
        BookError::new(path, trouble)
    };
    let _turn = Turn::take(path).map_err(failed)?;
    let mended = beside(path, ".mended");
    let (saved, lost) = if is_under_way(path) {
        let (carved, _) = read(&mended).map_err(failed)?;
        (carved.rows.len(), String::new())
    } else {
        let Some(broken) = is_broken() else {
            return Ok(None);
        };
        let (carved, ours) = read(path).map_err(failed)?;
        if !ours {
            return Err(broken);
        }
        let fresh = beside(path, ".mending");
        for ending in ["", "-wal", "-shm", "-journal"] {
            match fs::remove_file(beside(&fresh, ending)) {
                Err(error) if error.kind() != ErrorKind::NotFound => return Err(failed(error)),
                _ => {}
            }
        }
        let made = Book::open(&fresh).and_then(|mut book| {
            book.restore(&carved)?;
            book.close_whole()
        });
        if let Err(error) = made {
            let _ = fs::remove_file(&fresh);
            return Err(BookError::new(path, error.trouble));
        }
        // Who might read the old one may read the new one.
        if let Ok(about) = path.metadata() {
            let _ = fs::set_permissions(&fresh, about.permissions());
        }
        fs::rename(&fresh, &mended).map_err(failed)?;
        (carved.rows.len(), lost(&carved))
    };
    let aside = keep_aside(path, now).map_err(failed)?;
    fs::rename(&mended, path).map_err(failed)?;
    sync_folder(path);
    Ok(Some(Mended { aside, saved, lost }))
}

/// Gives a damaged file and its log names that nothing has.
fn keep_aside(path: &Path, now: Timestamp) -> io::Result<PathBuf> {
    let date = now.local(Zone::UTC).date;
    let mut number = 1;
    let aside = loop {
        let again = if number == 1 {
            String::new()
        } else {
            format!("-{number}")
        };
        let aside = beside(path, &format!(".damaged-{date}{again}"));
        let free = [&aside, &beside(&aside, "-wal")]
            .iter()
            .all(|path| !path.exists());
        if free {
            break aside;
        }
        number += 1;
    };
    for ending in ["", "-wal"] {
        match fs::rename(beside(path, ending), beside(&aside, ending)) {
            Err(error) if error.kind() != ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    // Holds nothing that the log does not.
    let _ = fs::remove_file(beside(path, "-shm"));
    Ok(aside)
}

/// Has the names themselves reach the disk, where the platform can do that.
#[allow(clippy::disallowed_methods, reason = "a folder is opened to be synced")]
fn sync_folder(path: &Path) {
    if let Some(folder) = path.parent()
        && let Ok(folder) = File::open(folder)
    {
        let _ = folder.sync_all();
    }
}

/// Returns which entries could not be saved: "12, 40 to 44 (of supper@2026-11-28)".
fn lost(carved: &Carved) -> String {
    let mut stretches: Vec<(i64, i64, Option<&str>)> = Vec::new();
    for id in carved.missing() {
        let event = carved.known.get(&id).map(String::as_str);
        match stretches.last_mut() {
            Some((_, last, of)) if *last + 1 == id && *of == event => *last = id,
            _ => stretches.push((id, id, event)),
        }
    }
    let shown = stretches.iter().take(SHOWN).map(|&(first, last, of)| {
        let numbers = if first == last {
            first.to_string()
        } else {
            format!("{first} to {last}")
        };
        of.map_or_else(|| numbers.clone(), |of| format!("{numbers} (of {of})"))
    });
    let mut said = shown.collect::<Vec<_>>().join(", ");
    if let Some(more) = stretches.len().checked_sub(SHOWN).filter(|&more| more > 0) {
        said = format!("{said} and {more} more stretches");
    }
    if carved.gone > 0 {
        if said.is_empty() {
            said.push_str("what stood last");
        }
        said = format!(
            "{said}; {} pages of the file are gone, and more may have stood there",
            carved.gone
        );
    }
    said
}

/// Stretches of lost entries that are named.
const SHOWN: usize = 5;

/// Returns how many entries there are, in words.
pub(super) fn counted(entries: usize) -> String {
    match entries {
        1 => "1 entry".to_owned(),
        many => format!("{many} entries"),
    }
}

impl Mended {
    /// Returns what to tell.
    pub(super) fn sentence(&self, path: &Path, fault: &str) -> String {
        let lost = if self.lost.is_empty() {
            "none is known to be lost, but look whether the last ticks are there".to_owned()
        } else {
            format!("could not be saved: {}", self.lost)
        };
        format!(
            "the book {} was damaged ({fault}); the damaged file is kept as {}; {} saved into a fresh book, {lost}",
            path.display(),
            self.aside.display(),
            counted(self.saved)
        )
    }
}
