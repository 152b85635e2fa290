//! The command line as understood: the menu read, the clock set, the service and the book found.
//!
//! What a time on the command line means depends on the kitchen's zone, which stands in the menu; which
//! banquet a book holds depends on the date of service, which may depend on the clock. So everything is
//! understood in one order, and always the same one: menu, zone, clock, book, service.

use std::collections::BTreeMap;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use super::args::Everywhere;
use super::demonstration;
use super::report::{self, Failure};
use crate::book::{self, Access, Book, Entry, access};
use crate::load::{self, Loaded};
use crate::menu::{Menu, ServiceDay};
use crate::plan::{self, Announced, Chance, PlanOutcome, StepKey, WayOut};
use crate::prep::{Bare, ErrandAt, PrepState, decided, lacking, planned_from, typed_moment};
use crate::sheets::order::errands_of;
use crate::time::{
    Clock, Date, Minute, Minutes, ServiceTime, Speed, Timestamp, Zone, clock, day_after,
};

/// A menu with its service, its clock and its place in the book.
#[derive(Clone, Debug)]
pub(super) struct Opened {
    /// The menu, the day of its service a date.
    pub(super) loaded: Loaded,
    /// The clock, the machine's or one that stands still.
    pub(super) clock: Clock,
    /// What it showed when the menu was opened.
    pub(super) now: Timestamp,
    /// Service and zone.
    pub(super) service: ServiceTime,
    /// What the book calls this banquet.
    pub(super) event: String,
    /// Where the book lies.
    pub(super) book: PathBuf,
    /// Whether that was given by hand.
    names_book: bool,
    /// The menu and its service as the file has them, where something was decided otherwise.
    filed: Option<Box<(Menu, ServiceTime)>>,
}

impl Opened {
    /// Opens a menu; `demo` and none open the demonstration.
    pub(super) fn open(name: Option<&Path>, everywhere: &Everywhere) -> Result<Self, Failure> {
        let mut loaded = match name {
            None => demonstration::load()?,
            Some(name) if name == Path::new("demo") => demonstration::load()?,
            Some(path) => load_file(path)?,
        };
        let zone = loaded.menu.kitchen.zone.unwrap_or_else(clock::machine_zone);
        let clock = read_clock(everywhere.now.as_deref(), everywhere.speed.as_deref(), zone)?;
        let now = clock.now();
        let book = book_path(everywhere.book.as_deref())?;
        if let ServiceDay::InDays(days) = loaded.menu.service.day {
            let new = day_after(now.local(zone).date, i64::from(days));
            // A book that cannot be read is told of by whatever is done with it next.
            let begun = match access::to_look(&book) {
                Ok(Some(access)) => begun_date(&access.book, &loaded, now, zone, new)?,
                Ok(None) | Err(_) => None,
            };
            loaded.menu.service.day = ServiceDay::On(begun.unwrap_or(new));
        }
        let service = plan::service_of(&loaded.menu, now, zone);
        let event = format!("{}@{}", loaded.menu.id, service.service_date());
        Ok(Self {
            loaded,
            clock,
            now,
            service,
            event,
            book,
            names_book: everywhere.book.is_some(),
            filed: None,
        })
    }

    /// Returns the same with what the book says was decided: other covers, another hour, a dish more or less. What the
    /// menu's file says is no longer in it, so that changes of the file are looked for before.
    pub(super) fn as_decided(&self, prep: &PrepState) -> Self {
        let decided = decided(
            &self.loaded.menu,
            self.service,
            prep.decisions(),
            &super::sheet::CARDS.read,
        );
        for why in &decided.passed_over {
            let said = format!("a decision no longer fits the menu and is passed over: {why}");
            report::say(&said, &mut io::stderr().lock());
        }
        let mut opened = self.clone();
        if prep.decisions().next().is_some() {
            let filed = || Box::new((self.loaded.menu.clone(), self.service));
            opened.filed.get_or_insert_with(filed);
        }
        opened.loaded.menu = decided.menu;
        opened.service = decided.service;
        opened
    }

    /// Returns the same, to be planned with another menu: what this one has told stays told.
    pub(super) fn keeping_told(&self) -> Self {
        let mut opened = self.clone();
        let filed = || Box::new((self.loaded.menu.clone(), self.service));
        opened.filed.get_or_insert_with(filed);
        opened
    }

    /// Returns the minute of the plan that it is.
    pub(super) fn minute(&self) -> Minute {
        self.service.minute(self.now)
    }

    /// Returns the minute before which nothing is planned: now, or the latest tick where that lies ahead of the clock.
    pub(super) fn planned_from(&self, prep: &PrepState) -> Minute {
        planned_from(
            &prep.happened(&self.loaded.menu, self.service),
            self.minute(),
        )
    }

    /// Returns what the book holds of this banquet, without making a book where there is none; what there is to say
    /// of the book goes to standard error.
    pub(super) fn entries(&self) -> Result<Vec<Entry>, Failure> {
        let (entries, remarks) = self.looked()?;
        for remark in remarks {
            report::say(&remark, &mut io::stderr().lock());
        }
        Ok(entries)
    }

    /// Returns what the book holds of this banquet, and what there is to say of the book.
    pub(super) fn looked(&self) -> Result<(Vec<Entry>, Vec<String>), Failure> {
        match access::to_look(&self.book)? {
            Some(access) => Ok((access.book.entries(&self.event)?, access.remarks)),
            None => Ok((Vec::new(), Vec::new())),
        }
    }

    /// Returns what to say of a book that was got at to write: that it is new, where a name was given that may have
    /// been mistyped, and what became of it.
    pub(super) fn remarks(&self, access: &Access) -> Vec<String> {
        let mut remarks = access.remarks.clone();
        if access.is_new && self.names_book {
            let path = access.book.path();
            let near = match near_books(path).as_slice() {
                [] => String::new(),
                near => format!("; beside it lies {}", near.join(", ")),
            };
            remarks.insert(0, format!("a new book is begun: {}{near}", path.display()));
        }
        remarks
    }

    /// Plans what is left.
    pub(super) fn plan(&self, prep: &PrepState) -> PlanOutcome {
        self.with_asked(prep, plan::plan_asked)
    }

    /// Returns by when what runs and should be over must be, with every course in time, as far as it is found.
    pub(super) fn latest_ends(
        &self,
        prep: &PrepState,
        outcome: &PlanOutcome,
    ) -> BTreeMap<StepKey, Minute> {
        let soon = self.minute() + Minutes(1);
        self.with_asked(prep, |asked| {
            plan::latest_ends(asked, outcome, |step| step.is_overdue(soon), &|| false)
        })
    }

    /// Returns what is to be ordered, soaked or thawed, as far as a plan gives times.
    pub(super) fn errands(&self, prep: &PrepState, outcome: &PlanOutcome) -> Vec<ErrandAt> {
        let plan = outcome.times();
        plan.map_or_else(Vec::new, |plan| errands_of(&self.loaded.menu, plan, prep))
    }

    /// Returns what was made for fewer than a menu wants; this is the menu as its file has it.
    pub(super) fn lacking(
        &self,
        entries: &[Entry],
        prep: &PrepState,
        wanted: &Menu,
    ) -> Vec<String> {
        let written = (&self.loaded.menu, self.service);
        lacking(written, entries, prep, &super::sheet::CARDS.read, wanted)
    }

    fn with_asked<T>(&self, prep: &PrepState, then: impl FnOnce(plan::Asked<'_>) -> T) -> T {
        then(plan::Asked {
            menu: &self.loaded.menu,
            service: self.service,
            happened: &prep.happened(&self.loaded.menu, self.service),
            now: self.planned_from(prep),
            told: self.told(prep).as_ref(),
            shown: Some(&prep.shown(self.service)),
        })
    }

    /// Returns what the cooks have been told: the plan taken last, or, where something was decided without one, what
    /// the menu alone says as its file has it. None where that is the menu that is planned: then planning counts it.
    fn told(&self, prep: &PrepState) -> Option<Announced> {
        prep.announced(self.service).or_else(|| {
            let (menu, service) = self.filed.as_deref()?;
            let told = plan::told_by_menu(menu, *service)?;
            Some(plan::counted_from(told, *service, self.service))
        })
    }

    /// Looks for ways out of a menu that cannot be done; nothing is looked for where it can. What saves only some of it is
    /// left to the sheet: whoever types a command waits for the answer.
    pub(super) fn ways_out(&self, prep: &PrepState, outcome: &PlanOutcome) -> Vec<WayOut> {
        self.with_asked(prep, |asked| {
            plan::whole_ways_out(asked, outcome, plan::PLANNINGS)
        })
    }

    /// Reckons the chances of a plan of what is left.
    pub(super) fn chance(&self, prep: &PrepState, outcome: &PlanOutcome) -> Option<Chance> {
        let PlanOutcome::Planned(plan) = outcome else {
            return None;
        };
        let asked = plan::Asked {
            menu: &self.loaded.menu,
            service: self.service,
            happened: &prep.happened(&self.loaded.menu, self.service),
            now: self.planned_from(prep),
            told: None,
            shown: None,
        };
        plan::chance(asked, plan, &|| false)
    }
}

/// Loads a menu file; a file that is not there is wrong use, one that cannot be read the machine's failure,
/// and what stands in it the menu's faults.
fn load_file(path: &Path) -> Result<Loaded, Failure> {
    is_readable(path)?;
    load::menu_file(path).map_err(|faults| Failure::Faults(faults.to_string()))
}

/// Returns why a file cannot be read at all, whatever stands in it.
#[allow(
    clippy::disallowed_methods,
    reason = "only opened, to tell a file that may not be read from a menu with faults"
)]
pub(super) fn is_readable(path: &Path) -> Result<(), Failure> {
    let about = std::fs::metadata(path).map_err(|error| Failure::file(path, &error))?;
    if about.is_dir() {
        let error = std::io::ErrorKind::IsADirectory.into();
        return Err(Failure::file(path, &error));
    }
    // A pipe is not opened twice: what was read of it would be gone.
    if about.is_file() {
        std::fs::File::open(path).map_err(|error| Failure::file(path, &error))?;
    }
    Ok(())
}

fn read_clock(now: Option<&str>, speed: Option<&str>, zone: Zone) -> Result<Clock, Failure> {
    let machine = Clock::Machine.now();
    let given = now
        .map(|text| typed_moment(text, machine, zone, Bare::Today))
        .transpose();
    let given = given.map_err(|said| Failure::WrongUse(format!("--now: {said}")))?;
    let speed = speed.map(Speed::read).transpose();
    let speed = speed.map_err(|said| Failure::WrongUse(format!("--speed: {said}")))?;
    Ok(match (given, speed) {
        (None, None) => Clock::Machine,
        (Some(moment), None) => Clock::Fixed(moment),
        (from, Some(speed)) => Clock::running(from.unwrap_or(machine), speed),
    })
}

fn book_path(given: Option<&Path>) -> Result<PathBuf, Failure> {
    match given {
        Some(path) if path.as_os_str().is_empty() => {
            Err(Failure::WrongUse("--book needs the name of a file".into()))
        }
        Some(path) => Ok(path.to_owned()),
        None => book::default_path().ok_or_else(|| {
            Failure::Machine(
                "this machine names no home to keep the book in; give one with --book FILE".into(),
            )
        }),
    }
}

/// Returns the names of databases in the same folder whose names are nearly this one's.
#[allow(
    clippy::disallowed_methods,
    reason = "only opened, to tell a book from other files"
)]
fn near_books(path: &Path) -> Vec<String> {
    let is_database = |path: &Path| {
        let mut start = Vec::new();
        let file = std::fs::File::open(path);
        let read = file.and_then(|file| file.take(15).read_to_end(&mut start));
        read.is_ok() && start == b"SQLite format 3"
    };
    let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else {
        return Vec::new();
    };
    let name = name.to_string_lossy();
    let mut near: Vec<String> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|other| *other != name && strsim::osa_distance(other, &name) <= 3)
        .filter(|other| is_database(&folder.join(other)))
        .collect();
    near.sort();
    near
}

/// Returns the date of a demonstration that has been ticked and is still to be served; of several the one
/// written in last. One that lies further ahead than a new one would (after a rehearsal with `--now`) is not
/// gone on with.
fn begun_date(
    book: &Book,
    loaded: &Loaded,
    now: Timestamp,
    zone: Zone,
    new: Date,
) -> Result<Option<Date>, Failure> {
    let mut begun = None;
    for banquet in book.events()? {
        let Some((id, date)) = banquet.event.rsplit_once('@') else {
            continue;
        };
        let Ok(date) = date.parse::<Date>() else {
            continue;
        };
        if id != loaded.menu.id || date > new {
            continue;
        }
        let mut menu = loaded.menu.clone();
        menu.service.day = ServiceDay::On(date);
        let service = plan::service_of(&menu, now, zone);
        let last_course = menu.courses.iter().map(|course| course.offset).max();
        let over = service.timestamp(Minute::SERVICE + last_course.unwrap_or_default());
        if over <= now {
            continue;
        }
        let ticked = PrepState::fold(&book.entries(&banquet.event)?)
            .ticked()
            .next()
            .is_some();
        if ticked && begun.is_none_or(|(last, _)| last < banquet.last) {
            begun = Some((banquet.last, date));
        }
    }
    Ok(begun.map(|(_, date)| date))
}
