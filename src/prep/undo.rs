//! Which entry is taken back, or brought back, when a cook asks for that.
//!
//! Without a choice it is the last that anybody did, or the last that was taken back. Chosen can be any entry but those
//! that only say what followed from others: to take one of them back would change nothing.

use super::PrepState;
use crate::book::{Entry, EntryId, Happening};

/// Returns the entry to be named by an undo, or why there is none, in words for the cook.
pub fn to_take_back(
    prep: &PrepState,
    entries: &[Entry],
    chosen: Option<EntryId>,
) -> Result<EntryId, String> {
    let Some(id) = chosen else {
        let last = prep.last_act();
        return last.ok_or_else(|| "nothing there to take back".to_owned());
    };
    let entry = found(entries, id)?;
    if matches!(
        entry.what,
        Happening::Moved { .. } | Happening::MenuSeen { .. }
    ) {
        let said = "that follows from what stands before it; take back one of those entries";
        return Err(said.to_owned());
    }
    if prep.counts(id) {
        Ok(id)
    } else {
        Err(format!("entry {} is taken back already", id.0))
    }
}

/// Returns the undo to be taken back so that what it took back counts again, or why there is none, in words for the
/// cook. Chosen is what was taken back.
pub fn to_bring_back(
    prep: &PrepState,
    entries: &[Entry],
    chosen: Option<EntryId>,
) -> Result<EntryId, String> {
    let Some(id) = chosen else {
        let last = prep.last_undo();
        return last.ok_or_else(|| "nothing there to bring back".to_owned());
    };
    found(entries, id)?;
    let undo = prep.undone_by(id);
    undo.ok_or_else(|| format!("entry {} was not taken back", id.0))
}

/// Returns the entry that a cook means who takes back, or brings back, what is to be named by an undo: what an undo took back
/// and not the undo.
pub fn meant(entries: &[Entry], undone: EntryId, back: bool) -> EntryId {
    match found(entries, undone).map(|entry| &entry.what) {
        Ok(Happening::Undone { entry }) if !back => *entry,
        _ => undone,
    }
}

fn found(entries: &[Entry], id: EntryId) -> Result<&Entry, String> {
    let found = entries.iter().find(|entry| entry.id == id);
    found.ok_or_else(|| format!("the book has no entry {} of this banquet", id.0))
}
