//! What is wrong with a document: where, what, and what to write instead.

use std::fmt;

/// One fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where: `activities[3].modes[0].duration`; empty for the document as a whole.
    pub path: String,
    /// What is wrong.
    pub what: String,
    /// What to write instead.
    pub instead: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.path.is_empty() {
            write!(f, "{}: ", self.path)?;
        }
        write!(f, "{}; {}", self.what, self.instead)
    }
}

/// How many faults [`Faults`] tells before it only counts.
const TOLD: usize = 50;

/// Every fault of a document, in its order; never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.0.iter().take(TOLD).enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{fault}")?;
        }
        match self.0.len().saturating_sub(TOLD) {
            0 => Ok(()),
            more => write!(f, "\nand {more} more"),
        }
    }
}

impl std::error::Error for Faults {}
