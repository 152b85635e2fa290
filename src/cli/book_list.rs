//! `book`: what the book holds for a menu.

use std::io::Write;

use super::command::Opened;
use super::report::{Ending, Failure};
use crate::book::Entry;
use crate::prep::entry_words;
use crate::text::one_line;
use crate::time::Zone;

/// Prints every entry, oldest first, a line each.
pub(super) fn list(opened: &Opened, out: &mut impl Write) -> Result<Ending, Failure> {
    let entries = opened.entries()?;
    let zone = opened.service.zone();
    writeln!(
        out,
        "{}: {} in {}",
        one_line(&opened.event),
        match entries.len() {
            0 => "no entries".to_owned(),
            1 => "1 entry".to_owned(),
            many => format!("{many} entries"),
        },
        one_line(&opened.book.display().to_string())
    )?;
    for entry in &entries {
        writeln!(out, "{}", line(entry, zone))?;
    }
    Ok(Ending::Fine)
}

/// Returns an entry as a line: number, when it happened, what, and when, by whom and where it was written.
fn line(entry: &Entry, zone: Zone) -> String {
    let what = entry_words(&entry.what, zone);
    let mut written = Vec::new();
    if entry.written.0.abs_diff(entry.at.0) >= 60 {
        written.push(format!("written {}", entry.written.local(zone)));
    }
    if !entry.who.is_empty() {
        written.push(format!("by {}", entry.who));
    }
    if !entry.place.is_empty() {
        written.push(format!("at {}", entry.place));
    }
    let written = if written.is_empty() {
        String::new()
    } else {
        format!(" ({})", written.join(", "))
    };
    let line = format!(
        "{:>5}  {}  {what}{written}",
        entry.id.0,
        entry.at.local(zone)
    );
    // The spaces between columns are ours; what was written is anybody's.
    let (columns, text) = line.split_at(7);
    format!("{columns}{}", one_line(text))
}
