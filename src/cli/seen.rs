//! What has changed in a menu since the book last saw it.

use super::command::Opened;
use super::report::Failure;
use super::who;
use crate::book::{Book, Entry, Happening, Note};
use crate::prep::{PrepState, changes};

/// Writes into the book what the menu's steps say now, where that is not what it last saw, and returns the
/// changes as sentences. A menu seen for the first time has changed nothing.
pub(super) fn note_changes(
    opened: &Opened,
    book: &mut Book,
    entries: &mut Vec<Entry>,
) -> Result<Vec<String>, Failure> {
    let prep = PrepState::fold(entries.iter());
    let is = changes::digest(&opened.loaded.menu);
    if prep.seen() == Some(&is) {
        return Ok(Vec::new());
    }
    let sentences = prep.seen().map_or_else(Vec::new, |was| {
        changes::changes(was, &is)
            .iter()
            .map(changes::Change::sentence)
            .collect()
    });
    entries.push(book.append(&Note {
        event: opened.event.clone(),
        at: opened.now,
        written: opened.now,
        who: who::name(),
        place: who::place(),
        what: Happening::MenuSeen { steps: is },
    })?);
    Ok(sentences)
}
