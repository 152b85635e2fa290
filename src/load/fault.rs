//! What is wrong with a file, where, and what to write instead.

use std::cell::RefCell;
use std::fmt;

use super::syntax::{Span, harmless};

/// The most faults listed at once; a cook mends the first few and looks again.
const MOST: usize = 200;

/// A place in a file.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The file as it was named.
    pub file: String,
    /// The line, from 1.
    pub line: u32,
    /// The column, from 1, in characters.
    pub column: u32,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", harmless(&self.file), self.line, self.column)
    }
}

/// One thing that is wrong, or (among warnings) unwise. Its words are harmless to a terminal, whatever names the
/// file has.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// Where.
    pub place: Place,
    /// What is wrong.
    pub what: String,
    /// What to write instead.
    pub instead: Option<String>,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.what)?;
        match &self.instead {
            Some(instead) => write!(f, "\n  try: {instead}"),
            None => Ok(()),
        }
    }
}

/// Everything that is wrong, by file and place, each thing once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl Faults {
    /// Returns a single fault about a whole file.
    pub(super) fn whole_file(file: &str, what: impl Into<String>, instead: Option<&str>) -> Self {
        Self(vec![Fault {
            place: Place {
                file: file.to_owned(),
                line: 1,
                column: 1,
            },
            what: what.into(),
            instead: instead.map(str::to_owned),
        }])
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for fault in &self.0 {
            writeln!(f, "{fault}")?;
        }
        match self.0.len() {
            1 => write!(f, "1 fault"),
            count => write!(f, "{count} faults"),
        }
    }
}

impl std::error::Error for Faults {}

/// Collects faults from all files of one load, and stops keeping them past [`MOST`] of one file.
#[derive(Debug, Default)]
pub(super) struct Collected {
    faults: RefCell<Vec<Fault>>,
}

impl Collected {
    /// Adds faults found elsewhere.
    pub(super) fn add(&self, faults: impl IntoIterator<Item = Fault>) {
        self.faults.borrow_mut().extend(faults);
    }

    /// Returns whether there is none.
    pub(super) fn is_empty(&self) -> bool {
        self.faults.borrow().is_empty()
    }

    /// Returns whether one lies between two places of a file.
    pub(super) fn any_between(&self, from: &Place, to: &Place) -> bool {
        self.faults
            .borrow()
            .iter()
            .any(|fault| *from <= fault.place && fault.place < *to && fault.place.file == from.file)
    }

    /// Returns them sorted, each once, at most [`MOST`] and a last one that says how many more.
    pub(super) fn into_faults(self) -> Faults {
        let mut faults = self.faults.into_inner();
        faults.sort();
        faults.dedup();
        if let Some(first_left_out) = faults.get(MOST) {
            let place = first_left_out.place.clone();
            let more = faults.len() - MOST;
            faults.truncate(MOST);
            faults.push(Fault {
                place,
                what: format!("and {more} more from here on"),
                instead: Some("mend the first of them and check again".to_owned()),
            });
        }
        Faults(faults)
    }
}

/// How many bytes are counted at once.
const BLOCK: usize = 1024;

/// Returns how many characters of UTF-8 begin in these bytes.
fn character_starts(bytes: &[u8]) -> usize {
    bytes.iter().filter(|&&byte| byte & 0xc0 != 0x80).count()
}

/// One file being read: its name, its text, and the way from a byte to a place.
#[derive(Debug)]
pub(super) struct Source<'a> {
    name: &'a str,
    text: &'a str,
    lines: Vec<usize>,
    /// The characters before each [`BLOCK`] of bytes, so that a column on an endless line is found at once.
    characters: Vec<usize>,
    faults: &'a Collected,
    kept: RefCell<usize>,
}

impl<'a> Source<'a> {
    /// Returns a file with this name and text, whose faults go to `faults`.
    pub(super) fn new(name: &'a str, text: &'a str, faults: &'a Collected) -> Self {
        let starts = text.match_indices('\n').map(|(at, _)| at + 1);
        let blocks = text.as_bytes().chunks(BLOCK);
        let sums = blocks.scan(0, |sum, block| {
            *sum += character_starts(block);
            Some(*sum)
        });
        Self {
            name,
            text,
            lines: std::iter::once(0).chain(starts).collect(),
            characters: std::iter::once(0).chain(sums).collect(),
            faults,
            kept: RefCell::new(0),
        }
    }

    /// Returns the text.
    pub(super) fn text(&self) -> &'a str {
        self.text
    }

    /// Returns the file's name.
    pub(super) fn name(&self) -> &'a str {
        self.name
    }

    /// Returns the place of a byte; a byte inside a character counts as the character.
    pub(super) fn place(&self, at: usize) -> Place {
        let line = self.line(at) - 1;
        let column = self.characters_before(at) - self.characters_before(self.lines[line]);
        Place {
            file: self.name.to_owned(),
            line: line as u32 + 1,
            column: column as u32 + 1,
        }
    }

    fn characters_before(&self, at: usize) -> usize {
        let at = at.min(self.text.len());
        let block = at / BLOCK;
        self.characters[block] + character_starts(&self.text.as_bytes()[block * BLOCK..at])
    }

    /// Returns the line of a byte, from 1.
    pub(super) fn line(&self, at: usize) -> usize {
        self.lines.partition_point(|&start| start <= at).max(1)
    }

    /// Reports a fault; past three times what will be listed nothing more is kept of this file.
    pub(super) fn fault(&self, span: Span, what: impl Into<String>, instead: Option<String>) {
        let mut kept = self.kept.borrow_mut();
        *kept += 1;
        if *kept <= MOST * 3 {
            self.faults.add([Fault {
                place: self.place(span.start),
                what: what.into(),
                instead,
            }]);
        }
    }

    /// Reports a fault that comes with what to write instead.
    pub(super) fn fault_try(
        &self,
        span: Span,
        what: impl Into<String>,
        instead: impl Into<String>,
    ) {
        self.fault(span, what, Some(instead.into()));
    }

    /// Returns how many faults of this file were reported.
    pub(super) fn fault_count(&self) -> usize {
        *self.kept.borrow()
    }
}
