//! A sheet without a terminal: keys in, text out, through the same machine the program runs.
//!
//! A case is (what was there, keys, what is there then). Keys are written as they are pressed; those without a
//! letter stand in angle brackets: `jj<Enter>`, `/pear<Esc>`, `<C-c>`.

use std::collections::VecDeque;

use countback::book::{Entry, EntryId, Note};
use countback::plan::{Happened, PlanOutcome};
use countback::time::{Minute, Timestamp};
use countback::tui::effect::Ticket;
use countback::tui::{App, Colour, Effect, Event, Opening, panes};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
use ratatui::buffer::{Buffer, CellWidth};
use ratatui::layout::Rect;

use super::banquet::{Banquet, moment, service};

type Answer = Box<dyn FnMut(&Happened, Minute) -> PlanOutcome>;

/// How the book answers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Book {
    /// At once.
    Writes,
    /// Not until told to.
    Waits,
    /// With a refusal.
    Refuses(String),
}

/// The sheet and the world around it.
pub(crate) struct Screen {
    pub(crate) app: App,
    pub(crate) book: Book,
    pub(crate) written: Vec<Entry>,
    pub(crate) quit: bool,
    pub(crate) alerts: Vec<countback::tui::Alert>,
    pub(crate) stood_aside: u32,
    waiting: VecDeque<(Ticket, Note)>,
    planner: Answer,
    size: (u16, u16),
}

impl Screen {
    /// Opens a banquet on a Thursday at 14:05.
    pub(crate) fn open(banquet: &Banquet, width: u16, height: u16) -> Self {
        Self::open_with(banquet, width, height, Vec::new(), Vec::new())
    }

    /// Opens a banquet with notices and a book that already has entries.
    pub(crate) fn open_with(
        banquet: &Banquet,
        width: u16,
        height: u16,
        notices: Vec<String>,
        entries: Vec<Entry>,
    ) -> Self {
        let theirs = banquet.clone();
        let planner: Answer =
            Box::new(move |happened, _| PlanOutcome::Planned(theirs.plan_after(happened)));
        Self::open_planned(banquet, width, height, notices, entries, planner)
    }

    /// Opens a banquet with a planner of its own.
    pub(crate) fn open_planned(
        banquet: &Banquet,
        width: u16,
        height: u16,
        notices: Vec<String>,
        entries: Vec<Entry>,
        planner: Answer,
    ) -> Self {
        let opening = Opening {
            menu: banquet.menu.clone(),
            service: service(),
            event: "lantern-supper@2026-11-28".into(),
            entries: entries.clone(),
            who: "ines".into(),
            place: "stove".into(),
            notices,
            colour: Colour::Full,
            cards: countback::tui::Cards {
                fetch: |name| Err(format!("no file {name} here")),
                read: |text| countback::load::dish_text("card", text).map_err(|it| it.to_string()),
            },
            wall: false,
        };
        let (app, effects) = App::new(opening, moment(26, 14, 5));
        let mut screen = Self {
            app,
            book: Book::Writes,
            written: entries,
            quit: false,
            alerts: Vec::new(),
            stood_aside: 0,
            waiting: VecDeque::new(),
            planner,
            size: (width, height),
        };
        screen.run(effects);
        screen.frame();
        screen
    }

    fn run(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            match effect {
                Effect::Append { ticket, note } => match &self.book {
                    Book::Writes => {
                        let entry = self.write(&note);
                        self.event(Event::Recorded {
                            ticket,
                            result: Ok(entry),
                        });
                    }
                    Book::Waits => self.waiting.push_back((ticket, note)),
                    Book::Refuses(why) => {
                        let result = Err(why.clone());
                        self.event(Event::Recorded { ticket, result });
                    }
                },
                Effect::Remark { note, last } => {
                    let stands = self.written.last().map(|entry| entry.id);
                    if matches!(self.book, Book::Writes) && stands == last {
                        let entry = self.write(&note);
                        self.event(Event::News(Ok(vec![entry])));
                    }
                }
                Effect::Replan {
                    generation,
                    situation,
                } => {
                    let outcome = (self.planner)(&situation.happened, situation.now);
                    self.event(Event::Planned {
                        generation,
                        outcome,
                    });
                }
                Effect::Try {
                    generation,
                    situation,
                } => {
                    let outcome = (self.planner)(&situation.happened, situation.now);
                    self.event(Event::TriedDecision {
                        generation,
                        outcome,
                    });
                }
                Effect::Fetch { card } => {
                    let result = Err(format!("no file {} here", card.file));
                    self.event(Event::Fetched { card, result });
                }
                Effect::Alert(alert) => self.alerts.push(alert),
                Effect::StandAside => self.stood_aside += 1,
                Effect::Quit => self.quit = true,
            }
        }
    }

    fn write(&mut self, note: &Note) -> Entry {
        let entry = Entry {
            id: EntryId(self.written.len() as i64 + 1),
            event: note.event.clone(),
            at: note.at,
            written: note.written,
            who: note.who.clone(),
            place: note.place.clone(),
            what: note.what.clone(),
        };
        self.written.push(entry.clone());
        entry
    }

    /// Hands the sheet an event, and does what it wants done.
    pub(crate) fn event(&mut self, event: Event) {
        let effects = self.app.update(event);
        self.run(effects);
    }

    /// The book answers what it has been keeping.
    pub(crate) fn book_answers(&mut self) {
        while let Some((ticket, note)) = self.waiting.pop_front() {
            let entry = self.write(&note);
            self.event(Event::Recorded {
                ticket,
                result: Ok(entry),
            });
        }
        self.frame();
    }

    /// Presses keys; draws after each, as the program does.
    pub(crate) fn keys(&mut self, keys: &str) -> &mut Self {
        let mut rest = keys;
        while let Some(first) = rest.chars().next() {
            let key = if let ('<', Some(end)) = (first, rest.find('>')) {
                let name = &rest[1..end];
                rest = &rest[end + 1..];
                named(name)
            } else {
                rest = &rest[first.len_utf8()..];
                KeyEvent::new(KeyCode::Char(first), KeyModifiers::NONE)
            };
            self.event(Event::Key(key));
            self.frame();
        }
        self
    }

    /// Lets the clock go to a moment.
    pub(crate) fn clock(&mut self, now: Timestamp) -> &mut Self {
        self.event(Event::Time(now));
        self.frame();
        self
    }

    /// Gives the terminal another size.
    pub(crate) fn resize(&mut self, width: u16, height: u16) -> &mut Self {
        self.size = (width, height);
        self.event(Event::Resized);
        self.frame();
        self
    }

    /// Does something with the mouse.
    pub(crate) fn mouse(&mut self, kind: MouseEventKind, x: u16, y: u16) -> &mut Self {
        self.event(Event::Mouse(MouseEvent {
            kind,
            column: x,
            row: y,
            modifiers: KeyModifiers::NONE,
        }));
        self.frame();
        self
    }

    /// Clicks on the first place where a text stands.
    pub(crate) fn click_on(&mut self, text: &str) -> &mut Self {
        let (x, y) = self
            .find(text)
            .unwrap_or_else(|| panic!("{text:?} is not on the screen:\n{}", self.text()));
        self.mouse(MouseEventKind::Down(MouseButton::Left), x, y)
    }

    /// Returns where a text stands.
    pub(crate) fn find(&mut self, text: &str) -> Option<(u16, u16)> {
        let frame = self.frame();
        lines(&frame).iter().zip(0..).find_map(|(line, y)| {
            let before = &line[..line.find(text)?];
            let x: u16 = ratatui::text::Span::raw(before).width() as u16;
            Some((x, y))
        })
    }

    /// Returns the frame as it stands.
    pub(crate) fn frame(&mut self) -> Buffer {
        let mut frame = Buffer::empty(Rect::new(0, 0, self.size.0, self.size.1));
        panes::draw(&mut frame, &self.app.sheet, &mut self.app.ui);
        frame
    }

    /// Returns the frame as text, a line a row.
    pub(crate) fn text(&mut self) -> String {
        let frame = self.frame();
        let shown: Vec<String> = lines(&frame)
            .iter()
            .map(|line| line.trim_end().to_owned())
            .collect();
        shown.join("\n") + "\n"
    }

    /// Returns the line in which a text stands first.
    pub(crate) fn line(&mut self, text: &str) -> String {
        let shown = self.text();
        shown
            .lines()
            .find(|line| line.contains(text))
            .unwrap_or_else(|| panic!("{text:?} is not on the screen:\n{shown}"))
            .to_owned()
    }

    /// Returns whether a text is on the screen.
    pub(crate) fn shows(&mut self, text: &str) -> bool {
        self.text().contains(text)
    }

    /// Returns the key of the selected step.
    pub(crate) fn selected(&self) -> String {
        self.app
            .selected_key()
            .map(|key| key.to_string())
            .unwrap_or_default()
    }
}

/// Returns the rows of a frame as text; the cells a wide character reaches into are left out.
pub(crate) fn lines(frame: &Buffer) -> Vec<String> {
    let area = frame.area;
    (area.y..area.bottom())
        .map(|y| {
            let mut line = String::new();
            let mut x = area.x;
            while x < area.right() {
                let symbol = frame[(x, y)].symbol();
                line.push_str(symbol);
                x += symbol.cell_width().max(1);
            }
            line
        })
        .collect()
}

fn named(name: &str) -> KeyEvent {
    if let Some(letter) = name.strip_prefix("C-").and_then(|rest| rest.chars().next()) {
        return KeyEvent::new(KeyCode::Char(letter), KeyModifiers::CONTROL);
    }
    let code = match name {
        "Enter" => KeyCode::Enter,
        "Esc" => KeyCode::Esc,
        "Tab" => KeyCode::Tab,
        "BackTab" => KeyCode::BackTab,
        "Up" => KeyCode::Up,
        "Down" => KeyCode::Down,
        "Left" => KeyCode::Left,
        "Right" => KeyCode::Right,
        "PageUp" => KeyCode::PageUp,
        "PageDown" => KeyCode::PageDown,
        "Home" => KeyCode::Home,
        "End" => KeyCode::End,
        "Backspace" => KeyCode::Backspace,
        "F1" => KeyCode::F(1),
        other => panic!("no key is called {other}"),
    };
    KeyEvent::new(code, KeyModifiers::NONE)
}
