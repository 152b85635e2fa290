//! Readers of the text formats in which scheduling research publishes its instances.
//!
//! | files | format | sources |
//! |---|---|---|
//! | `.sm` | single-mode files of the project scheduling problem library | R. Kolisch, A. Sprecher, "PSPLIB – a project scheduling problem library", European Journal of Operational Research 96 (1997) |
//! | `.sch` | ProGen/max | C. Schwindt, "Generation of resource-constrained project scheduling problems subject to temporal constraints", Report WIOR-543, Karlsruhe (1998) |
//! | `.rcp` | Patterson's | J. H. Patterson, "A comparison of exact approaches for solving the multiple constrained resource, project scheduling problem", Management Science 30 (1984) |
//!
//! The layout of each was taken from published files, not from a specification; there is none to hold them
//! against. All three are numbers in a fixed order, which may wrap and be spaced in any way; so they are read as
//! one stream of numbers, each with its line, and only `.sm` has headings that say where a table begins.
//!
//! Left out on purpose: several modes, resources that are used up (`nonrenewable`, `doubly constrained`), and
//! several projects in one file. They are refused by name, because an instance read in part is another instance.

use std::fmt;

use crate::schedule::Time;
use crate::schedule::project::Project;

/// The largest length, lag, demand or capacity that is read.
const LARGEST: i64 = 1_000_000;
/// The largest sum of lengths and lags: every moment of every schedule stays far inside [`Time`].
const LONGEST: i64 = Time::MAX as i64 / 8;

/// A published text format.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// `.sm`: single-mode project scheduling with precedence, from the project scheduling problem library.
    Psplib,
    /// `.sch`: minimum and maximum lags, from ProGen/max.
    ProgenMax,
    /// `.rcp`: Patterson's, with precedence.
    Patterson,
}

/// What is wrong with a text, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

impl std::error::Error for Fault {}

impl Format {
    /// Returns the format that files with this extension have.
    pub fn of_extension(extension: &str) -> Option<Self> {
        match extension.to_ascii_lowercase().as_str() {
            "sm" => Some(Self::Psplib),
            "sch" => Some(Self::ProgenMax),
            "rcp" => Some(Self::Patterson),
            _ => None,
        }
    }

    /// Returns the project that a text describes, or everything found wrong with it. Where a number is missing
    /// or is none, nothing after it can be trusted, and reading ends there.
    pub fn read(self, text: &str) -> Result<Project, Vec<Fault>> {
        let mut draft = Draft::default();
        let read = match self {
            Self::Psplib => read_psplib(text, &mut draft),
            Self::ProgenMax => read_progen_max(text, &mut draft),
            Self::Patterson => read_patterson(text, &mut draft),
        };
        if let Err(fault) = read {
            draft.faults.push(fault);
        }
        draft.finish()
    }
}

/// What has been read so far.
#[derive(Default)]
struct Draft {
    project: Project,
    /// Where each activity's row of lengths and demands stands.
    rows: Vec<usize>,
    /// `(from, to, lag)`, numbered from 0; without a lag, `to` follows the end of `from`.
    arcs: Vec<(usize, usize, Option<Time>)>,
    /// The line of each arc.
    lines: Vec<usize>,
    faults: Vec<Fault>,
}

impl Draft {
    fn wrong(&mut self, line: usize, what: impl Into<String>) {
        self.faults.push(Fault {
            line,
            what: what.into(),
        });
    }

    fn arc(&mut self, line: usize, from: usize, to: usize, lag: Option<Time>) {
        self.arcs.push((from, to, lag));
        self.lines.push(line);
    }

    fn activity(&mut self, line: usize, length: Time, demands: Vec<i32>) {
        self.project.durations.push(length);
        self.project.demands.push(demands);
        self.rows.push(line);
    }

    /// Returns the project, with the arcs from the beginning and to the end that the text leaves to be
    /// understood.
    fn finish(mut self) -> Result<Project, Vec<Fault>> {
        if self.faults.is_empty() {
            self.check();
        }
        if !self.faults.is_empty() {
            return Err(self.faults);
        }
        let mut project = self.project;
        let lag = |(from, to, lag): (usize, usize, Option<Time>)| {
            (from, to, lag.unwrap_or(project.durations[from]))
        };
        project.arcs = self.arcs.into_iter().map(lag).collect();
        let last = project.len() - 1;
        let begun = project.spread(0, |&(from, to, lag)| (from, to, lag >= 0));
        let ended = project.spread(last, |&(from, to, lag)| {
            (to, from, lag >= project.durations[from])
        });
        for at in 0..=last {
            if !begun[at] {
                project.arcs.push((0, at, 0));
            }
            if !ended[at] {
                project.arcs.push((at, last, project.durations[at]));
            }
        }
        Ok(project)
    }

    fn check(&mut self) {
        let count = self.project.len();
        if count < 2 {
            let line = self.rows.first().copied().unwrap_or(1);
            self.wrong(
                line,
                "a project has a beginning and an end; here is neither or only one",
            );
            return;
        }
        for (at, name) in [(0, "first"), (count - 1, "last")] {
            if self.project.durations[at] != 0 || self.project.demands[at].iter().any(|&it| it != 0)
            {
                self.wrong(
                    self.rows[at],
                    format!("the {name} activity must take no time and need nothing"),
                );
            }
        }
        let mut longest: i64 = self.project.durations.iter().copied().map(i64::from).sum();
        for at in 0..self.arcs.len() {
            let (from, to, lag) = self.arcs[at];
            if from == to {
                self.wrong(
                    self.lines[at],
                    format!("activity {} follows itself", from + 1),
                );
            }
            longest += lag.map_or(0, |lag| i64::from(lag).abs());
        }
        if longest > LONGEST {
            let line = self.rows[count - 1];
            self.wrong(
                line,
                format!("lengths and lags add up to {longest}; at most {LONGEST} can be read"),
            );
        }
    }
}

/// A word of the text and its line.
#[derive(Clone, Copy)]
struct Word<'a> {
    line: usize,
    text: &'a str,
}

/// The words of a text (or of one table of it), taken one after the other as numbers.
struct Numbers<'a> {
    words: std::vec::IntoIter<Word<'a>>,
    /// The line last read.
    line: usize,
}

impl<'a> Numbers<'a> {
    fn new(words: Vec<Word<'a>>, line: usize) -> Self {
        Self {
            words: words.into_iter(),
            line,
        }
    }

    fn fault(&self, what: impl Into<String>) -> Fault {
        Fault {
            line: self.line,
            what: what.into(),
        }
    }

    /// Returns the next number, which must lie in this range.
    fn next(&mut self, what: &str, from: i64, to: i64) -> Result<i64, Fault> {
        let Some(word) = self.words.next() else {
            return Err(self.fault(format!("the text ends where {what} should stand")));
        };
        self.line = word.line;
        let Ok(number) = word.text.parse::<i64>() else {
            let shown: String = word.text.chars().take(20).collect();
            return Err(self.fault(format!("{what} should stand where {shown:?} does")));
        };
        if from <= number && number <= to {
            Ok(number)
        } else {
            Err(self.fault(format!(
                "{what} is {number}; it must lie from {from} to {to}"
            )))
        }
    }

    fn amount(&mut self, what: &str) -> Result<i32, Fault> {
        self.next(what, 0, LARGEST).map(|number| number as i32)
    }

    fn amounts(&mut self, what: &str, count: usize) -> Result<Vec<i32>, Fault> {
        (0..count).map(|_| self.amount(what)).collect()
    }

    /// Returns how many of something there are: no more than there are words left, so that nobody waits for a
    /// billion activities that are not there.
    fn count(&mut self, what: &str) -> Result<usize, Fault> {
        let count = self.next(what, 0, i64::MAX)?;
        let left = self.words.len();
        match usize::try_from(count) {
            Ok(count) if count <= left => Ok(count),
            _ => Err(self.fault(format!("{what} is {count}, but only {left} words follow"))),
        }
    }

    /// Returns the place of an activity, which is numbered from `base` in the text.
    fn place(&mut self, what: &str, count: usize, base: usize) -> Result<usize, Fault> {
        let (first, last) = (base as i64, (count + base) as i64 - 1);
        self.next(what, first, last)
            .map(|number| number as usize - base)
    }

    /// Reads a number that must be this one.
    fn only(&mut self, what: &str, number: usize, why: &str) -> Result<(), Fault> {
        let read = self.next(what, 0, i64::MAX)?;
        if read == number as i64 {
            Ok(())
        } else {
            Err(self.fault(format!("{what} is {read}; {why}")))
        }
    }

    fn end(&mut self) -> Result<(), Fault> {
        match self.words.next() {
            None => Ok(()),
            Some(word) => {
                self.line = word.line;
                let shown: String = word.text.chars().take(20).collect();
                Err(self.fault(format!(
                    "nothing should stand here any more, but {shown:?} does"
                )))
            }
        }
    }
}

fn words_of<'a>(line: usize, text: &'a str) -> impl Iterator<Item = Word<'a>> {
    text.split(|c: char| c.is_whitespace() || c == '\u{1a}' || c == '\u{feff}')
        .filter(|text| !text.is_empty())
        .map(move |text| Word { line, text })
}

const ONE_MODE: &str = "only activities with one mode are read";

fn read_patterson(text: &str, draft: &mut Draft) -> Result<(), Fault> {
    let lines = text.lines().enumerate();
    let words = lines
        .flat_map(|(at, line)| words_of(at + 1, line))
        .collect();
    let mut numbers = Numbers::new(words, 1);
    let count = numbers.count("the number of activities")?;
    let resources = numbers.count("the number of resources")?;
    draft.project.capacities = numbers.amounts("a capacity", resources)?;
    for at in 0..count {
        let length = numbers.amount("a length")?;
        let line = numbers.line;
        let demands = numbers.amounts("a demand", resources)?;
        draft.activity(line, length, demands);
        for _ in 0..numbers.count("the number of successors")? {
            let to = numbers.place("a successor", count, 1)?;
            draft.arc(numbers.line, at, to, None);
        }
    }
    numbers.end()
}

fn read_progen_max(text: &str, draft: &mut Draft) -> Result<(), Fault> {
    // Brackets stand around lags of an activity with several modes; with one mode they say nothing.
    let bare = text.replace(['[', ']'], " ");
    let lines = bare.lines().enumerate();
    let words = lines
        .flat_map(|(at, line)| words_of(at + 1, line))
        .collect();
    let mut numbers = Numbers::new(words, 1);
    // Beginning and end are not counted in the first line.
    let count = numbers.count("the number of activities")? + 2;
    let resources = numbers.count("the number of resources")?;
    for kind in ["nonrenewable", "doubly constrained"] {
        let what = format!("the number of {kind} resources");
        numbers.only(&what, 0, "resources that are used up are not read")?;
    }
    for at in 0..count {
        numbers.only("the activity", at, &format!("activity {at} is next"))?;
        numbers.only("the number of modes", 1, ONE_MODE)?;
        let mut successors = Vec::new();
        for _ in 0..numbers.count("the number of successors")? {
            successors.push(numbers.place("a successor", count, 0)?);
        }
        for to in successors {
            let lag = numbers.next("a lag", -LARGEST, LARGEST)?;
            draft.arc(numbers.line, at, to, Some(lag as Time));
        }
    }
    for at in 0..count {
        numbers.only("the activity", at, &format!("activity {at} is next"))?;
        numbers.only("the mode", 1, ONE_MODE)?;
        let length = numbers.amount("a length")?;
        let line = numbers.line;
        let demands = numbers.amounts("a demand", resources)?;
        draft.activity(line, length, demands);
    }
    draft.project.capacities = numbers.amounts("a capacity", resources)?;
    numbers.end()
}

/// The tables of a `.sm` text: heading and the line it stands on, and the words below it.
struct Tables<'a> {
    found: Vec<(usize, &'a str, Vec<Word<'a>>)>,
}

impl<'a> Tables<'a> {
    fn new(text: &'a str) -> Self {
        let mut found: Vec<(usize, &str, Vec<Word>)> = vec![(1, "", Vec::new())];
        for (at, line) in text.lines().enumerate() {
            let line_number = at + 1;
            let trimmed = line.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}');
            if let Some((key, value)) = trimmed.split_once(':') {
                let words = words_of(line_number, value).collect();
                found.push((line_number, key.trim(), words));
                if value.trim().is_empty() {
                    continue;
                }
                // What follows a line with a value of its own belongs to no table.
                found.push((line_number, "", Vec::new()));
            } else if trimmed.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '+')
                && trimmed.contains(|c: char| c.is_ascii_digit())
                && let Some((_, _, words)) = found.last_mut()
            {
                words.extend(words_of(line_number, trimmed));
            } else if !trimmed.is_empty()
                && !trimmed.starts_with(['*', '-'])
                && trimmed
                    .chars()
                    .all(|c| c.is_ascii_uppercase() || " /".contains(c))
            {
                found.push((line_number, trimmed, Vec::new()));
            }
        }
        Self { found }
    }

    /// Returns what stands below (or beside) the heading that begins with this.
    fn numbers(&mut self, heading: &str) -> Result<Numbers<'a>, Fault> {
        let begins = |name: &str| name.to_ascii_lowercase().starts_with(heading);
        match self.found.iter().position(|(_, name, _)| begins(name)) {
            Some(at) => {
                let (line, _, words) = self.found.remove(at);
                Ok(Numbers::new(words, line))
            }
            None => Err(Fault {
                line: 1,
                what: format!("nothing begins with {heading:?}"),
            }),
        }
    }
}

fn read_psplib(text: &str, draft: &mut Draft) -> Result<(), Fault> {
    let mut tables = Tables::new(text);
    let only = "only one project in one text is read";
    tables
        .numbers("projects")?
        .only("the number of projects", 1, only)?;
    let mut jobs = tables.numbers("jobs")?;
    let count = jobs.next("the number of jobs", 2, LARGEST)? as usize;
    let mut renewable = tables.numbers("- renewable")?;
    let resources = renewable.next("the number of renewable resources", 0, LARGEST)? as usize;
    for kind in ["nonrenewable", "doubly constrained"] {
        let what = format!("the number of {kind} resources");
        let why = "resources that are used up are not read";
        tables.numbers(&format!("- {kind}"))?.only(&what, 0, why)?;
    }
    let mut numbers = tables.numbers("precedence relations")?;
    for at in 0..count {
        numbers.only("the job", at + 1, &format!("job {} is next", at + 1))?;
        numbers.only("the number of modes", 1, ONE_MODE)?;
        for _ in 0..numbers.count("the number of successors")? {
            let to = numbers.place("a successor", count, 1)?;
            draft.arc(numbers.line, at, to, None);
        }
    }
    numbers.end()?;
    let mut numbers = tables.numbers("requests/durations")?;
    for at in 0..count {
        numbers.only("the job", at + 1, &format!("job {} is next", at + 1))?;
        numbers.only("the mode", 1, ONE_MODE)?;
        let length = numbers.amount("a length")?;
        let line = numbers.line;
        let demands = numbers.amounts("a demand", resources)?;
        draft.activity(line, length, demands);
    }
    numbers.end()?;
    let mut numbers = tables.numbers("resourceavailabilities")?;
    draft.project.capacities = numbers.amounts("a capacity", resources)?;
    numbers.end()
}

#[cfg(test)]
mod tests;
