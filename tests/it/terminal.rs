//! The real program on a real pseudo-terminal: opened, ticked, resized, killed, opened again.
//!
//! Nothing here sleeps for a fixed time: every wait ends as soon as the screen shows what is waited for, and
//! fails with the screen in its message when that has not come within a generous limit.

use std::path::{Path, PathBuf};

use countback::book::{Book, Entry, Happening, Note};
use countback::plan::{self, Happened, PlanOutcome};
use countback::time::{Clock, Timestamp, Zone};
use countback::tui::{Colour, Session};
use portable_pty::CommandBuilder;

use crate::support::terminal::{Terminal, signal};

const HILL: &str = "tests/data/menus/hill-supper.ron";

fn home() -> (tempfile::TempDir, PathBuf) {
    let home = tempfile::tempdir().unwrap();
    let book = home.path().join("book.sqlite");
    (home, book)
}

/// Returns the line of the screen that holds a text.
fn line_with<'a>(screen: &'a str, text: &str) -> &'a str {
    screen
        .lines()
        .find(|line| line.contains(text))
        .unwrap_or_else(|| panic!("no {text} on\n{screen}"))
}

fn is_steeping(screen: &vt100::Screen) -> bool {
    let text = screen.contents();
    text.lines()
        .any(|line| line.contains("Steep the tea") && line.contains("running"))
}

/// Asserts that the terminal is as the program found it.
fn assert_restored(terminal: &Terminal) {
    let shown = terminal.shown.0.lock().unwrap();
    let screen = shown.screen.screen();
    assert!(!screen.alternate_screen(), "still on the other screen");
    assert!(!screen.hide_cursor(), "the cursor is still hidden");
    assert_eq!(screen.mouse_protocol_mode(), vt100::MouseProtocolMode::None);
    assert!(!screen.bracketed_paste());
}

/// The whole way: open, only tonight, tick, resize, killed without warning, opened again: the tick is there.
#[test]
fn a_tick_on_the_screen_survives_being_killed() {
    let (_home, book) = home();
    let mut terminal = Terminal::open(&book, &[HILL], 100, 30);
    let all = terminal.wait_for("Poach the pears");
    assert!(line_with(&all, "Steep the tea").contains("ready"), "{all}");

    terminal.press("t");
    let tonight = terminal.wait("only tonight", |screen| {
        let text = screen.contents();
        text.contains("until Sat 07:00") && !text.contains("Poach the pears")
    });
    assert!(tonight.contains("Steep the tea"), "{tonight}");

    terminal.press("s");
    terminal.wait("the tea steeping", is_steeping);

    for (columns, lines) in [(80, 24), (200, 60), (100, 30)] {
        terminal.resize(columns, lines);
        terminal.wait("a whole frame of the new size", |screen| {
            let rows: Vec<String> = screen.rows(0, columns).collect();
            rows[0].starts_with("Hill supper")
                && rows[usize::from(lines) - 1].contains("s start")
                && is_steeping(screen)
        });
    }

    signal("KILL", terminal.child.process_id().unwrap());
    assert!(!terminal.wait_for_end().success());
    drop(terminal);

    let entries = Book::open(&book)
        .unwrap()
        .entries("hill-supper@2026-11-28")
        .unwrap();
    let started = Happening::Started {
        step: "pears/steep".into(),
    };
    assert!(
        entries.iter().any(|entry| entry.what == started),
        "{entries:?}"
    );

    let mut terminal = Terminal::open(&book, &[HILL], 100, 30);
    terminal.wait("the tea still steeping", is_steeping);
    terminal.press("u");
    terminal.wait("the tick taken back", |screen| {
        screen.contents().contains("Steep the tea") && !is_steeping(screen)
    });
    terminal.press("q");
    assert_eq!(terminal.wait_for_end().exit_code(), 0);
    let entries = Book::open(&book)
        .unwrap()
        .entries("hill-supper@2026-11-28")
        .unwrap();
    assert!(matches!(
        entries.last().map(|entry| &entry.what),
        Some(Happening::Undone { .. })
    ));
}

#[test]
fn the_demonstration_opens_and_explains_itself() {
    let (_home, book) = home();
    let mut terminal = Terminal::open(&book, &[], 120, 40);
    terminal.wait("the whole sheet", |screen| {
        let text = screen.contents();
        text.contains("countdown") && text.contains("? help")
    });
    terminal.press("?");
    // A frame comes in parts.
    terminal.wait("the whole help", |screen| {
        let text = screen.contents();
        text.contains("Ticking off") && text.contains("what the next shift has to know")
    });
    terminal.press("q");
    terminal.wait("the help closed", |screen| {
        !screen.contents().contains("Ticking off")
    });
    terminal.press("q");
    assert_eq!(terminal.wait_for_end().exit_code(), 0);
}

#[test]
fn leaving_puts_the_terminal_back() {
    let (_home, book) = home();
    let mut terminal = Terminal::open(&book, &[HILL], 80, 24);
    terminal.wait("the sheet", |screen| {
        screen.alternate_screen() && screen.hide_cursor() && screen.contents().contains("Steep")
    });
    terminal.press("q");
    assert_eq!(terminal.wait_for_end().exit_code(), 0);
    assert_restored(&terminal);
}

#[test]
fn a_signal_to_end_puts_the_terminal_back() {
    for name in ["TERM", "HUP", "INT"] {
        let (_home, book) = home();
        let mut terminal = Terminal::open(&book, &[HILL], 80, 24);
        terminal.wait_for("Steep");
        signal(name, terminal.child.process_id().unwrap());
        terminal.wait_for_end();
        assert_restored(&terminal);
    }
}

/// Which part of the sheet is to break, and the book, for the process that the test below starts.
const BREAKS: &str = "COUNTBACK_TEST_BREAKS";

struct Breaks(Option<PlanOutcome>);

impl countback::tui::Planner for Breaks {
    fn plan(&mut self, _: &countback::tui::Situation) -> PlanOutcome {
        self.0.take().expect("a planner that breaks")
    }
}

struct Torn;

impl countback::tui::Pen for Torn {
    fn write(&mut self, _: &Note) -> Result<Entry, String> {
        panic!("a pen that breaks")
    }
}

struct Pen(Book);

impl countback::tui::Pen for Pen {
    fn write(&mut self, note: &Note) -> Result<Entry, String> {
        self.0.append(note).map_err(|error| error.to_string())
    }
}

/// Shows a sheet of which a part panics when a step is ticked, and says how it ended.
fn show_what_breaks(part: &str, book: &Path) {
    let menu = countback::load::menu_file(Path::new(HILL)).unwrap().menu;
    let now = Timestamp(1_795_807_800);
    let service = plan::service_of(&menu, now, Zone::UTC);
    let outcome = plan::plan(&menu, service, &Happened::new(), service.minute(now), None);
    let ended = countback::tui::run(Session {
        event: "hill-supper@2026-11-28".into(),
        entries: Vec::new(),
        book: match part {
            "pen" => Box::new(Torn),
            _ => Box::new(Pen(Book::open(book).unwrap())),
        },
        planner: Box::new(Breaks(Some(outcome))),
        clock: Clock::Fixed(now),
        who: String::new(),
        place: String::new(),
        notices: Vec::new(),
        colour: Colour::Full,
        cards: countback::tui::Cards {
            fetch: |name| Err(format!("no file {name} here")),
            read: |text| countback::load::dish_text("card", text).map_err(|it| it.to_string()),
        },
        wall: false,
        signs: countback::tui::Signs::Blocks,
        attention: countback::tui::Attention::default(),
        menu,
        service,
    });
    println!("it ended: {}", ended.unwrap_err());
}

/// The sheet of the library on a terminal of its own, in a process of its own (this test again, told so), with a
/// part that panics: the terminal is given back before the panic is reported, so that the report can be read.
#[test]
fn a_panic_puts_the_terminal_back_before_it_is_reported() {
    if let Some((part, book)) = std::env::var(BREAKS)
        .ok()
        .as_deref()
        .and_then(|it| it.split_once('='))
    {
        return show_what_breaks(part, Path::new(book));
    }
    for (part, said) in [
        ("planner", "a planner that breaks"),
        ("pen", "a pen that breaks"),
    ] {
        let (_home, book) = home();
        let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
        command.args(["--exact", "--nocapture", "--test-threads=1"]);
        command.arg("terminal::a_panic_puts_the_terminal_back_before_it_is_reported");
        // The report must fit on the screen.
        command.env("RUST_BACKTRACE", "0");
        command.env(BREAKS, format!("{part}={}", book.display()));
        let mut terminal = Terminal::run(command, 100, 40);
        terminal.wait("the sheet", |screen| {
            screen.alternate_screen() && screen.contents().contains("Steep the tea")
        });
        terminal.press("s");
        assert!(terminal.wait_for_end().success(), "{part}");
        assert_restored(&terminal);
        let left = terminal.wait_for("it ended: the sheet had to close");
        assert!(left.contains(said), "{left}");
    }
}

/// A window dragged about while a cook types: what stands there in the end is what a fresh start shows.
#[test]
fn a_storm_of_sizes_ends_in_a_right_screen() {
    let (_home, book) = home();
    // Made beforehand, so that neither of the two sheets has to say that it began it.
    drop(Book::open(&book).unwrap());
    let mut terminal = Terminal::open(&book, &[HILL], 100, 30);
    terminal.wait_for("Poach the pears");
    // Xorshift (Marsaglia, Journal of Statistical Software 8, 2003): the same storm every time.
    let mut state: u32 = 2_463_534_242;
    let mut random = |below: usize| {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        state as usize % below
    };
    // Keys of one byte each: a sequence that a terminal cuts in two means something else.
    let keys = [
        "j", "k", "+", "-", "?j?", "wGw", "fjjf", "\t", "g", "G", "h", "l", "n", ".",
    ];
    for _ in 0..200 {
        terminal.resize(1 + random(250) as u16, 1 + random(80) as u16);
        terminal.press(keys[random(keys.len())]);
    }
    let mut fresh = Terminal::open(&book, &[HILL], 100, 30);
    fresh.wait_for("Poach the pears");
    let lines = |screen: &vt100::Screen| {
        let rows = screen.rows(0, 100);
        rows.map(|row| row.trim_end().to_owned())
            .collect::<Vec<_>>()
    };
    // Keys pressed on a screen too small to show what they do are not taken, so the new size comes first.
    terminal.resize(100, 30);
    let header = lines(fresh.shown.0.lock().unwrap().screen.screen())[0].clone();
    terminal.wait(&header, |screen| lines(screen)[0] == header);
    // Of a pair of keys only the first may have been taken, and its page stand open still. Escape is pressed only where
    // one is open: what comes close behind it would be read with it as one key.
    let alone = |screen: &vt100::Screen| lines(screen)[29].ends_with("q quit");
    terminal.wait("the last line", |screen| !lines(screen)[29].is_empty());
    let is_alone = alone(terminal.shown.0.lock().unwrap().screen.screen());
    if !is_alone {
        terminal.press("\x1b");
        terminal.wait("the list alone", alone);
    }
    terminal.press("0.t");
    fresh.press("0.t");
    // The last line is drawn last, and its end with it.
    fresh.wait_for("v now  t all  / search  f filter  . now  ? help  q quit");
    let right = lines(fresh.shown.0.lock().unwrap().screen.screen());
    terminal.wait(&right.join("\n"), |screen| lines(screen) == right);
}

#[test]
fn without_colour_there_is_none() {
    let (_home, book) = home();
    for colours in [true, false] {
        let environment: &[_] = if colours { &[] } else { &[("NO_COLOR", "1")] };
        let terminal = Terminal::open_with(&book, &[HILL], 100, 30, environment);
        terminal.wait_for("s start");
        let shown = terminal.shown.0.lock().unwrap();
        let screen = shown.screen.screen();
        let coloured = (0..30)
            .flat_map(|row| (0..100).map(move |column| (row, column)))
            .filter_map(|(row, column)| screen.cell(row, column))
            .any(|cell| {
                cell.fgcolor() != vt100::Color::Default || cell.bgcolor() != vt100::Color::Default
            });
        assert_eq!(coloured, colours);
    }
}
