//! The sheet on the terminal.
//!
//! An [`event`] wakes the [`app`], which changes what is shown and says which [`effect`]s it wants; drawing
//! ([`panes`], from [`widgets`]) reads the [`sheet`] and may change only the [`ui`]. The planner and the book
//! work on threads of their own (`worker`), so no key ever waits for them, and a tick is shown only once the
//! book has it on disk. [`action`] is the one table of what can be asked, by which key, and how the help says
//! it.
//!
//! Nothing is drawn unless something changed; between keys the program sleeps until the minute is over.

pub mod action;
pub mod alert;
pub mod app;
mod attention;
pub mod choices;
mod deciding;
pub mod effect;
pub mod event;
mod filters;
mod key;
mod listing;
mod lists;
mod mouse;
mod moving;
pub mod panes;
mod prompt;
mod searching;
pub mod sheet;
pub mod svg;
mod terminal;
pub mod theme;
mod ticking;
pub mod timekeeping;
pub mod trial;
pub mod ui;
pub mod view;
pub mod widgets;
mod words;
mod worker;

use std::fmt;
use std::io::IsTerminal;
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

use ratatui::Terminal;
use ratatui::backend::Backend;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

pub use self::alert::{Alert, AlertCommand};
pub use self::app::App;
pub use self::effect::{Effect, Pen};
use self::effect::{Next, Outside};
pub use self::event::Event;
pub use self::sheet::{Cards, Opening};
pub use self::theme::Colour;
use self::timekeeping::Timekeeper;
pub use self::widgets::digits::Signs;
pub use self::worker::{Planner, Situation};
use crate::book::Entry;
use crate::menu::Menu;
use crate::time::{Clock, ServiceTime};

/// How long the first frame waits for the first plan.
const FIRST_PLAN: Duration = Duration::from_millis(25);

/// Events taken in before a frame at most, so that a flood of them cannot keep the screen from being drawn.
const BATCH: usize = 256;

/// Everything a sheet needs.
pub struct Session {
    /// The menu.
    pub menu: Menu,
    /// Service and zone.
    pub service: ServiceTime,
    /// The banquet's name in the book.
    pub event: String,
    /// The book's entries about it, oldest first.
    pub entries: Vec<Entry>,
    /// Writes the book.
    pub book: Box<dyn Pen>,
    /// Plans.
    pub planner: Box<dyn Planner>,
    /// Tells the time.
    pub clock: Clock,
    /// Who ticks.
    pub who: String,
    /// Where.
    pub place: String,
    /// What to say once on opening: which book, what changed in the menu.
    pub notices: Vec<String>,
    /// Whether colours are used.
    pub colour: Colour,
    /// Reads dish cards.
    pub cards: Cards,
    /// Whether it only hangs on a wall.
    pub wall: bool,
    /// What large numbers are made of.
    pub signs: Signs,
    /// How it calls for attention.
    pub attention: Attention,
}

/// How a sheet calls for attention, beside saying so.
#[derive(Clone, Debug, Default)]
pub struct Attention {
    /// Whether the terminal's bell is left alone.
    pub quiet: bool,
    /// The cook's own command.
    pub command: Option<AlertCommand>,
}

/// Why the sheet could not be shown, or ended otherwise than by being closed.
#[derive(Debug)]
pub enum SheetError {
    /// The output is not a terminal.
    NotATerminal,
    /// The terminal failed.
    Terminal(std::io::Error),
    /// Something the sheet cannot do without failed.
    Broken(String),
    /// The last ticks were refused by the book while the sheet was closing.
    Unwritten(String),
}

impl fmt::Display for SheetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotATerminal => {
                f.write_str("the sheet needs a terminal; for plain text use `countback plan MENU`")
            }
            Self::Terminal(error) => write!(f, "the terminal failed: {error}"),
            Self::Broken(what) => write!(
                f,
                "the sheet had to close: {what}; every tick shown is in the book"
            ),
            Self::Unwritten(what) => f.write_str(what),
        }
    }
}

impl std::error::Error for SheetError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Terminal(error) => Some(error),
            _ => None,
        }
    }
}

impl From<std::io::Error> for SheetError {
    fn from(error: std::io::Error) -> Self {
        Self::Terminal(error)
    }
}

/// Shows the sheet until it is closed.
pub fn run(session: Session) -> Result<(), SheetError> {
    if !std::io::stdout().is_terminal() {
        return Err(SheetError::NotATerminal);
    }
    let (events, woken) = mpsc::channel();
    let parts = split(session);
    let (planner, pen, cards) = (parts.planner, parts.pen, parts.opening.cards);
    let outside = Outside::start(planner, pen, cards, parts.attention.command, &events)?;
    terminal::heed_signals(events.clone())?;
    let mut screen = terminal::Screen::take()?;
    terminal::listen(events)?;
    let mut keeper = Timekeeper::new(parts.clock, parts.opening.wall);
    let (mut app, wanted) = App::new(parts.opening, parts.clock.now());
    for effect in wanted {
        outside.run(effect);
    }
    app.ui.signs = parts.signs;
    wait_for_first_plan(&mut app, &outside, &woken);
    let shown = loop {
        if let Err(error) = screen.draw(|terminal| draw(terminal, &mut app)) {
            break Err(error);
        }
        if app.take_bell()
            && !parts.attention.quiet
            && let Err(error) = screen.ring()
        {
            break Err(error);
        }
        match turn(&mut app, &outside, &woken, &mut keeper) {
            Next::GoOn => {}
            Next::StandAside => {
                if let Err(error) = screen.stand_aside() {
                    break Err(error);
                }
                app.update(Event::Resized);
            }
            Next::Quit => break Ok(()),
        }
    };
    drop(screen);
    // What was asked of the book is written whatever happened to the screen.
    app.ending();
    outside.close();
    for event in woken.try_iter() {
        if matches!(event, Event::Recorded { .. }) {
            app.update(event);
        }
    }
    shown?;
    match (app.broken, app.unwritten) {
        (Some(what), _) => Err(SheetError::Broken(what)),
        (None, Some(what)) => Err(SheetError::Unwritten(what)),
        (None, None) => Ok(()),
    }
}

/// Returns how many columns the terminal has that standard output goes to; `None` where it goes to none.
pub fn columns() -> Option<u16> {
    if !std::io::stdout().is_terminal() {
        return None;
    }
    let (columns, _) = crossterm::terminal::size().ok()?;
    Some(columns)
}

/// Returns one frame of the sheet as it would open, drawn without a terminal.
pub fn picture(session: Session, width: u16, height: u16) -> Buffer {
    let mut parts = split(session);
    let (mut app, wanted) = App::new(parts.opening, parts.clock.now());
    app.ui.signs = parts.signs;
    for effect in wanted {
        if let Effect::Replan {
            generation,
            situation,
        } = effect
        {
            let outcome = parts.planner.plan(&situation);
            let plan = match &outcome {
                crate::plan::PlanOutcome::Planned(plan) => Some(plan.clone()),
                _ => None,
            };
            app.update(Event::Planned {
                generation,
                outcome,
            });
            let chance = plan.and_then(|plan| parts.planner.chance(&situation, &plan, &|| false));
            app.update(Event::Reckoned { generation, chance });
        }
    }
    let mut frame = Buffer::empty(Rect::new(0, 0, width, height));
    panes::draw(&mut frame, &app.sheet, &mut app.ui);
    frame
}

struct Parts {
    opening: Opening,
    pen: Box<dyn Pen>,
    planner: Box<dyn Planner>,
    clock: Clock,
    signs: Signs,
    attention: Attention,
}

fn split(session: Session) -> Parts {
    Parts {
        opening: Opening {
            menu: session.menu,
            service: session.service,
            event: session.event,
            entries: session.entries,
            who: session.who,
            place: session.place,
            notices: session.notices,
            colour: session.colour,
            cards: session.cards,
            wall: session.wall,
        },
        pen: session.book,
        planner: session.planner,
        clock: session.clock,
        signs: session.signs,
        attention: session.attention,
    }
}

/// Gives the first plan a moment, so that the first frame is usually whole.
fn wait_for_first_plan(app: &mut App, outside: &Outside, woken: &Receiver<Event>) {
    let until = Instant::now() + FIRST_PLAN;
    while app.sheet.outcome.is_none() {
        let left = until.saturating_duration_since(Instant::now());
        let Ok(event) = woken.recv_timeout(left) else {
            return;
        };
        let ends = matches!(event, Event::Broken(_) | Event::Signal(_));
        for effect in app.update(event) {
            outside.run(effect);
        }
        if ends {
            return;
        }
    }
}

/// Draws where something changed.
fn draw<B: Backend>(terminal: &mut Terminal<B>, app: &mut App) -> Result<(), B::Error> {
    if !app.take_changed() {
        return Ok(());
    }
    if app.take_disturbed() {
        // To the size it has: that forgets what was drawn, and asks the terminal nothing.
        let size = terminal.size()?;
        terminal.resize(size.into())?;
    }
    terminal.draw(|frame| {
        let cursor = panes::draw(frame.buffer_mut(), &app.sheet, &mut app.ui);
        if let Some(cursor) = cursor {
            frame.set_cursor_position(cursor);
        }
    })?;
    Ok(())
}

/// Sleeps until woken, and takes in what woke it.
fn turn(
    app: &mut App,
    outside: &Outside,
    woken: &Receiver<Event>,
    keeper: &mut Timekeeper,
) -> Next {
    if app.broken.is_some() {
        return Next::Quit;
    }
    let first = match keeper.sleep() {
        None => woken.recv().map_err(|_| RecvTimeoutError::Disconnected),
        Some(sleep) => woken.recv_timeout(sleep),
    };
    let (now, noticed) = keeper.look();
    let mut next = take_in(app, outside, Event::Time(now));
    if let Some(noticed) = noticed {
        next = take_in(app, outside, Event::Clock(noticed)).over(next);
    }
    if keeper.turns_page() {
        next = take_in(app, outside, Event::TurnPage).over(next);
    }
    match first {
        Ok(event) => next = take_in(app, outside, event).over(next),
        Err(RecvTimeoutError::Timeout) => {}
        Err(RecvTimeoutError::Disconnected) => return Next::Quit,
    }
    for _ in 0..BATCH {
        if next != Next::GoOn {
            break;
        }
        let Ok(event) = woken.try_recv() else {
            break;
        };
        next = take_in(app, outside, event);
    }
    next
}

fn take_in(app: &mut App, outside: &Outside, event: Event) -> Next {
    let mut next = Next::GoOn;
    for effect in app.update(event) {
        next = outside.run(effect).over(next);
    }
    next
}

#[cfg(test)]
mod tests;
