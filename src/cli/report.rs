//! What goes wrong, and how the program ends.
//!
//! Each module below keeps its own errors; here they become one of four kinds, each with its exit code, and a
//! line on standard error that begins with the program's name. A reader that stops reading (`| head`) is no
//! error: whoever closed the pipe has what they wanted.

use std::fmt;
use std::io;
use std::path::Path;

use crate::book::BookError;
use crate::text::clean_lines;

/// How the program ends, the worst last; its number is the exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Ending {
    /// Fine.
    Fine = 0,
    /// The menu or its plan has faults, and they have been said.
    Faulty = 1,
    /// What was asked makes no sense, and that has been said.
    WrongUse = 2,
    /// The machine failed, and that has been said.
    Failed = 3,
}

/// Why a command could not do what was asked.
#[derive(Debug)]
pub(super) enum Failure {
    /// The menu or its plan has faults.
    Faults(String),
    /// What was asked makes no sense.
    WrongUse(String),
    /// A file, the book or the terminal failed.
    Machine(String),
    /// The reader of what is printed has gone.
    NobodyReads,
}

impl Failure {
    /// Returns how the program ends when this is why.
    pub(super) fn ending(&self) -> Ending {
        match self {
            Self::NobodyReads => Ending::Fine,
            Self::Faults(_) => Ending::Faulty,
            Self::WrongUse(_) => Ending::WrongUse,
            Self::Machine(_) => Ending::Failed,
        }
    }

    /// Returns the failure of reading or writing `path`.
    pub(super) fn file(path: &Path, error: &io::Error) -> Self {
        let path = path.display();
        match error.kind() {
            io::ErrorKind::NotFound => Self::WrongUse(format!("there is no file {path}")),
            io::ErrorKind::IsADirectory => {
                Self::WrongUse(format!("{path} is a folder; name a file inside it"))
            }
            _ => Self::Machine(format!("{path}: {error}")),
        }
    }
}

impl From<BookError> for Failure {
    fn from(error: BookError) -> Self {
        Self::Machine(error.to_string())
    }
}

/// Printing is the only input and output that has no path.
impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Self::NobodyReads,
            _ => Self::Machine(format!("cannot print: {error}")),
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Faults(said) | Self::WrongUse(said) | Self::Machine(said) => f.write_str(said),
            Self::NobodyReads => Ok(()),
        }
    }
}

/// Returns the exit code, and says on `errors` what went wrong.
pub(super) fn end(result: Result<Ending, Failure>, errors: &mut impl io::Write) -> u8 {
    let ending = result.unwrap_or_else(|failure| {
        say(&failure.to_string(), errors);
        failure.ending()
    });
    ending as u8
}

/// Says something on `errors`, made harmless. Where even that cannot be written there is nobody to tell.
pub(super) fn say(text: &str, errors: &mut impl io::Write) {
    if !text.is_empty() {
        let _ = writeln!(errors, "countback: {}", clean_lines(text));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_has_its_code_and_only_failures_speak() {
        let ends = |result| {
            let mut errors = Vec::new();
            let code = end(result, &mut errors);
            (code, String::from_utf8(errors).expect("text"))
        };
        assert_eq!(ends(Ok(Ending::Fine)), (0, String::new()));
        assert_eq!(ends(Ok(Ending::Faulty)), (1, String::new()));
        assert_eq!(ends(Err(Failure::NobodyReads)), (0, String::new()));
        assert_eq!(
            ends(Err(Failure::Faults("a\u{1b}b\nc".into()))),
            (1, "countback: a\u{FFFD}b\nc\n".into())
        );
        assert_eq!(ends(Err(Failure::WrongUse("w".into()))).0, 2);
        assert_eq!(ends(Err(Failure::Machine("m".into()))).0, 3);
        assert_eq!(
            ends(Err(io::Error::from(io::ErrorKind::BrokenPipe).into())).0,
            0
        );
        assert_eq!(
            ends(Err(io::Error::from(io::ErrorKind::StorageFull).into())).0,
            3
        );
    }
}
