//! The sheet on the terminal, and its picture.

use std::borrow::Cow;
use std::cell::{Cell, OnceCell};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::thread::{Builder, JoinHandle};

use super::args::Attention;
use super::command::Opened;
use super::report::{Ending, Failure};
use super::{seen, who};
use crate::book::{Access, Book, BookError, Entry, EntryId, Note, PATIENCE, Trouble, access};
use crate::load;
use crate::menu::Menu;
use crate::plan::{
    self, Announced, Asked, Better, Chance, Plan, PlanOutcome, StepKey, WayOut, Work,
};
use crate::time::{Clock, Minute, ServiceTime};
use crate::tui::{self, Cards, Colour, Pen, Planner, Session, SheetError, Signs, Situation};

/// The largest picture drawn, in columns and lines.
const LARGEST: u16 = 1000;

/// Writes into the book, and watches what other terminals write.
struct BookPen {
    book: Book,
    path: PathBuf,
    clock: Clock,
    event: String,
    /// The last entry that the sheet has been told of.
    last: EntryId,
    /// The book's version when it was last read.
    version: Option<i64>,
    /// How the book is followed where nothing could be written when it was opened; tried again with each tick.
    looks: Option<WallPen>,
    /// Why the sheet must be opened anew.
    gone: Option<String>,
}

impl BookPen {
    fn new(access: Access, opened: &Opened, entries: &[Entry]) -> Self {
        let looks = access.refused.is_some().then(|| WallPen {
            // Whoever holds it has been waited for just now.
            rest: REST,
            ..WallPen::new(None, opened, entries)
        });
        Self {
            book: access.book,
            path: opened.book.clone(),
            clock: opened.clock,
            event: opened.event.clone(),
            last: entries.last().map_or(EntryId(0), |entry| entry.id),
            version: None,
            looks,
            gone: None,
        }
    }

    /// Opens the book again, where that may help; what has to be said of it afterwards is why this tick fails.
    fn open_again(&mut self) -> Result<(), String> {
        let access =
            access::to_write(&self.path, self.clock.now()).map_err(|error| error.to_string())?;
        self.book = access.book;
        self.version = None;
        self.looks = None;
        match access.remarks.as_slice() {
            [] => Ok(()),
            remarks => {
                let said = format!("{}; close the sheet and open it again", remarks.join("; "));
                self.gone = Some(said.clone());
                Err(said)
            }
        }
    }
}

impl Pen for BookPen {
    fn write(&mut self, note: &Note) -> Result<Entry, String> {
        if let Some(gone) = &self.gone {
            return Err(gone.clone());
        }
        if self.looks.is_some() {
            self.open_again()?;
        }
        self.book.append(note).map_err(|error| {
            if matches!(error.trouble, Trouble::Moved) {
                self.gone = Some(error.to_string());
            }
            if error.is_damage()
                && let Err(said) = self.open_again()
            {
                return said;
            }
            error.to_string()
        })
    }

    fn remark(&mut self, note: &Note, last: Option<EntryId>) {
        if self.looks.is_some() || self.gone.is_some() {
            return;
        }
        // A book that is busy, or refuses, keeps the cook's ticks and says so when they are refused; times that were
        // only found are found again.
        let _ = self.book.append_after(note, last);
    }

    fn news(&mut self) -> Result<Vec<Entry>, String> {
        if self.gone.is_some() {
            return Ok(Vec::new());
        }
        if let Some(looks) = &mut self.looks {
            let news = looks.news()?;
            self.last = looks.last;
            return Ok(news);
        }
        if self.book.was_moved() {
            let moved = BookError {
                path: self.path.clone(),
                trouble: Trouble::Moved,
            };
            self.gone = Some(moved.to_string());
            return Err(moved.to_string());
        }
        let read = || {
            let version = self.book.version()?;
            if self.version == Some(version) {
                return Ok((version, Vec::new()));
            }
            Ok((version, self.book.entries_after(&self.event, self.last)?))
        };
        match read() {
            Ok((version, entries)) => {
                self.version = Some(version);
                self.last = entries.last().map_or(self.last, |entry| entry.id);
                Ok(entries)
            }
            // Busy for a moment: asked again in the next.
            Err(BookError {
                trouble: Trouble::Locked,
                ..
            }) => Ok(Vec::new()),
            Err(error) => Err(error.to_string()),
        }
    }
}

/// Looks at the book, and never writes in it.
struct WallPen {
    book: Option<Access>,
    path: PathBuf,
    event: String,
    /// The last entry that the sheet has been told of.
    last: EntryId,
    /// The book's version when it was last read.
    version: Option<i64>,
    /// Turns to let pass before it is tried again to get at a book that could not be followed.
    rest: u32,
}

/// How many turns of the watch are let pass before a book that is not there, or is held, is looked for again.
const REST: u32 = 8;

impl WallPen {
    fn new(book: Option<Access>, opened: &Opened, entries: &[Entry]) -> Self {
        Self {
            book,
            path: opened.book.clone(),
            event: opened.event.clone(),
            last: entries.last().map_or(EntryId(0), |entry| entry.id),
            version: None,
            rest: 0,
        }
    }

    /// Gets at the book where it was not there, was held by another program, was copied, or is another file by now.
    fn look_again(&mut self) {
        let is_copy = |it: &Access| it.refused.is_some() || it.book.is_copy();
        let follows = |it: &Access| !is_copy(it) && !it.book.was_moved();
        if self.book.as_ref().is_some_and(follows) {
            return;
        }
        if self.rest > 0 {
            self.rest -= 1;
            return;
        }
        self.version = None;
        self.book = access::to_look(&self.path).ok().flatten();
        // What is carved out of a damaged book, or copied from one that is held or may only be read, costs more than a
        // look.
        let copied = self.book.as_ref().is_some_and(is_copy);
        self.rest = if copied { 10 * REST } else { REST };
    }
}

impl Pen for WallPen {
    fn write(&mut self, _: &Note) -> Result<Entry, String> {
        Err("this sheet hangs on the wall; nothing is written on it".to_owned())
    }

    fn news(&mut self) -> Result<Vec<Entry>, String> {
        self.look_again();
        let Some(access) = &self.book else {
            return Ok(Vec::new());
        };
        let read = || {
            let version = access.book.version()?;
            if self.version == Some(version) {
                return Ok((version, Vec::new()));
            }
            let entries = access.book.entries_after(&self.event, self.last)?;
            Ok::<_, BookError>((version, entries))
        };
        // A wall that cannot read for a moment shows what it knows, and looks again.
        if let Ok((version, entries)) = read() {
            self.version = Some(version);
            self.last = entries.last().map_or(self.last, |entry| entry.id);
            return Ok(entries);
        }
        self.book = None;
        Ok(Vec::new())
    }
}

/// A picture is only looked at.
struct NoPen;

impl Pen for NoPen {
    fn write(&mut self, _: &Note) -> Result<Entry, String> {
        Err("a picture writes nothing".to_owned())
    }
}

/// What the menu alone tells the cooks, counted back from the moment it is known: the book is opened and read
/// meanwhile, and a long one takes as long.
struct Told {
    counted: OnceCell<Option<Announced>>,
    counting: Cell<Option<JoinHandle<Option<Announced>>>>,
}

impl Told {
    fn begin(opened: &Opened) -> Self {
        let (menu, service) = (opened.loaded.menu.clone(), opened.service);
        let counting = Builder::new()
            .name("first plan".to_owned())
            .spawn(move || plan::told_by_menu(&menu, service));
        Self {
            counted: OnceCell::new(),
            counting: Cell::new(counting.ok()),
        }
    }

    /// Returns it, as soon as it is counted; here, where no thread could.
    fn get(&self, menu: &Menu, service: ServiceTime) -> Option<&Announced> {
        let counted = || {
            let counting = self.counting.take().and_then(|it| it.join().ok());
            counting.unwrap_or_else(|| plan::told_by_menu(menu, service))
        };
        self.counted.get_or_init(counted).as_ref()
    }
}

/// Plans the menu that was opened.
struct MenuPlanner {
    menu: Menu,
    service: ServiceTime,
    told: Told,
}

/// Epochs of the first round in which a better plan is looked for; each further round has four times as many.
const EPOCHS: u32 = 4;

impl MenuPlanner {
    fn asked<'a>(&'a self, situation: &'a Situation, told: Option<&'a Announced>) -> Asked<'a> {
        let (menu, service) = match &situation.changed {
            Some(changed) => (&changed.0, changed.1),
            None => (&self.menu, self.service),
        };
        Asked {
            menu,
            service,
            happened: &situation.happened,
            now: situation.now,
            told,
            shown: Some(&situation.shown),
        }
    }

    /// Returns what the cooks have been told: the plan taken last, or what the menu alone says, as its file has it.
    fn told<'a>(&'a self, situation: &'a Situation) -> Option<Cow<'a, Announced>> {
        if let Some(announced) = &situation.announced {
            return Some(Cow::Borrowed(announced));
        }
        let told = self.told.get(&self.menu, self.service)?;
        match &situation.changed {
            Some(changed) if changed.1 != self.service => Some(Cow::Owned(plan::counted_from(
                told.clone(),
                self.service,
                changed.1,
            ))),
            _ => Some(Cow::Borrowed(told)),
        }
    }
}

impl Planner for MenuPlanner {
    fn plan(&mut self, situation: &Situation) -> PlanOutcome {
        let told = self.told(situation);
        let asked = self.asked(situation, told.as_deref());
        plan::plan_asked(asked)
    }

    fn latest_ends(
        &mut self,
        situation: &Situation,
        outcome: &PlanOutcome,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> BTreeMap<StepKey, Minute> {
        let told = self.told(situation);
        let asked = self.asked(situation, told.as_deref());
        plan::latest_ends(asked, outcome, |_| true, stop)
    }

    fn chance(
        &mut self,
        situation: &Situation,
        plan: &Plan,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Option<Chance> {
        let told = self.told(situation);
        plan::chance(self.asked(situation, told.as_deref()), plan, stop)
    }

    fn ways_out(
        &mut self,
        situation: &Situation,
        outcome: &PlanOutcome,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Vec<WayOut> {
        let told = self.told(situation);
        let asked = self.asked(situation, told.as_deref());
        plan::ways_out(asked, outcome, plan::PLANNINGS, stop)
    }

    fn better(
        &mut self,
        situation: &Situation,
        round: u32,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Option<Better> {
        let work = Work {
            epochs: EPOCHS.saturating_mul(4_u32.saturating_pow(round)),
            // The other processor is for the keys.
            threads: 1,
            stop,
        };
        let told = self.told(situation);
        plan::better(self.asked(situation, told.as_deref()), work)
    }
}

/// Shows the sheet until it is closed.
pub(super) fn show(opened: &Opened, attention: &Attention) -> Result<Ending, Failure> {
    let attention = read_attention(attention)?;
    let told = Told::begin(opened);
    let mut access = access::for_a_sheet(&opened.book, opened.now)?;
    let mut entries = access.book.entries(&opened.event)?;
    let mut notices = opened.remarks(&access);
    notices.extend(warnings(opened));
    if access.refused.is_none() {
        match seen::note_changes(opened, &mut access.book, &mut entries) {
            Ok(changes) if changes.is_empty() => {}
            Ok(changes) => {
                notices.push("the menu has changed since it was last opened:".to_owned());
                notices.extend(changes);
            }
            // The plan can be read all the same, and what has happened; each tick is tried.
            Err(failure) => notices.insert(0, format!("nothing can be ticked for now: {failure}")),
        }
    }
    access.book.wait_at_most(PATIENCE)?;
    let pen = BookPen::new(access, opened, &entries);
    let session = Session {
        attention,
        ..session(opened, told, entries, Box::new(pen), notices)
    };
    run(session)
}

/// Shows the sheet on a wall until it is closed: nothing is written, not even that the menu was seen.
pub(super) fn show_on_wall(opened: &Opened, attention: &Attention) -> Result<Ending, Failure> {
    let attention = read_attention(attention)?;
    let told = Told::begin(opened);
    let access = access::to_look(&opened.book)?;
    let entries = match &access {
        Some(access) => access.book.entries(&opened.event)?,
        None => Vec::new(),
    };
    let mut notices = access
        .as_ref()
        .map_or_else(Vec::new, |it| it.remarks.clone());
    notices.extend(warnings(opened));
    let pen = WallPen::new(access, opened, &entries);
    run(Session {
        attention,
        wall: true,
        ..session(opened, told, entries, Box::new(pen), notices)
    })
}

fn read_attention(asked: &Attention) -> Result<tui::Attention, Failure> {
    let command = asked.on_alert.as_deref().map(tui::AlertCommand::read);
    let command = command.transpose();
    let command = command.map_err(|said| Failure::WrongUse(format!("--on-alert: {said}")))?;
    Ok(tui::Attention {
        quiet: asked.quiet,
        command,
    })
}

fn run(session: Session) -> Result<Ending, Failure> {
    tui::run(session).map_err(|error| match error {
        SheetError::NotATerminal => Failure::WrongUse(error.to_string()),
        _ => Failure::Machine(error.to_string()),
    })?;
    Ok(Ending::Fine)
}

/// Writes a picture of the sheet as it would open, into an SVG file.
#[allow(
    clippy::disallowed_methods,
    reason = "the command line writes the file it is told to"
)]
pub(super) fn picture(opened: &Opened, size: &str, file: &Path) -> Result<Ending, Failure> {
    let (width, height) = read_size(size).ok_or_else(|| {
        Failure::WrongUse(format!(
            "--size: \"{size}\" is not a size; write columns and lines as 120x40, each at most {LARGEST}"
        ))
    })?;
    let notices = warnings(opened);
    let told = Told::begin(opened);
    let session = session(opened, told, opened.entries()?, Box::new(NoPen), notices);
    let frame = tui::picture(session, width, height);
    File::create(file)
        .and_then(|file| {
            let mut out = BufWriter::new(file);
            tui::svg::write(&frame, &mut out)?;
            out.flush()
        })
        .map_err(|error| Failure::Machine(format!("{}: {error}", file.display())))?;
    Ok(Ending::Fine)
}

fn session(
    opened: &Opened,
    told: Told,
    entries: Vec<Entry>,
    book: Box<dyn Pen>,
    notices: Vec<String>,
) -> Session {
    Session {
        menu: opened.loaded.menu.clone(),
        service: opened.service,
        event: opened.event.clone(),
        entries,
        book,
        planner: Box::new(MenuPlanner {
            menu: opened.loaded.menu.clone(),
            service: opened.service,
            told,
        }),
        clock: opened.clock,
        who: who::name(),
        place: who::place(),
        notices,
        colour: colour(),
        cards: CARDS,
        wall: false,
        signs: signs(),
        attention: tui::Attention::default(),
    }
}

/// How the sheet comes to dish cards.
pub(super) const CARDS: Cards = Cards {
    fetch: |name| load::text_of(Path::new(name)).map_err(|faults| faults.to_string()),
    read: |text| load::dish_text("the dish card", text).map_err(|faults| faults.to_string()),
};

/// Returns what is unwise in the menu though it can be done, each at its place.
fn warnings(opened: &Opened) -> Vec<String> {
    let warnings = &opened.loaded.warnings;
    warnings
        .iter()
        .map(|warning| format!("{}: {}", warning.place, warning.what))
        .collect()
}

/// Returns what large numbers are made of on this terminal.
fn signs() -> Signs {
    let settings =
        ["LC_ALL", "LC_CTYPE", "LANG"].map(|name| std::env::var(name).unwrap_or_default());
    Signs::from_settings(settings.iter().map(String::as_str))
}

/// Returns whether colours are wanted: `NO_COLOR` set to anything but nothing means no.
fn colour() -> Colour {
    match std::env::var_os("NO_COLOR") {
        Some(value) if !value.is_empty() => Colour::None,
        _ => Colour::Full,
    }
}

fn read_size(text: &str) -> Option<(u16, u16)> {
    let (width, height) = text.split_once(['x', 'X', '×'])?;
    let number = |text: &str| {
        let number: u16 = text.trim().parse().ok()?;
        (1..=LARGEST).contains(&number).then_some(number)
    };
    Some((number(width)?, number(height)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_columns_and_lines() {
        assert_eq!(read_size("120x40"), Some((120, 40)));
        assert_eq!(read_size("80 × 24"), Some((80, 24)));
        for text in ["", "x", "80", "80x", "0x24", "80x-1", "99999x1", "80x1001"] {
            assert_eq!(read_size(text), None, "{text}");
        }
    }
}
