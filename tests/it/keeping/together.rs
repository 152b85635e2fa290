//! Several terminals on one book: every tick there once, in one order, on every screen.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Barrier;
use std::time::{Duration, Instant};

use countback::book::{Book, Entry, EntryId, Happening, Note};
use countback::prep::{PrepState, Progress};
use countback::time::Timestamp;

use crate::support::terminal::{FRIDAY, Terminal};

const HILL: &str = "tests/data/menus/hill-supper.ron";
const EVENT: &str = "hill-supper@2026-11-28";
/// The steps of the menu, one for each terminal, as the sheet lists them.
const STEPS: [(&str, &str); 5] = [
    ("pears/steep", "Steep the tea"),
    ("pears/poach", "Poach the pears"),
    ("pears/chill", "Chill"),
    ("jelly/boil", "Boil the syrup"),
    ("jelly/set", "Let it set"),
];

fn place() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    (folder, path)
}

fn entries(book: &Path) -> Vec<Entry> {
    Book::open(book).unwrap().entries(EVENT).unwrap()
}

fn stands(screen: &vt100::Screen, name: &str, word: &str) -> bool {
    let text = screen.contents();
    text.lines().any(|line| {
        let cells = line.split('│').next().unwrap_or_default();
        cells.contains(name) && cells.contains(word)
    })
}

/// One terminal ticks its own step, and takes it back, by turns. Once all have, its screen comes to what the book does.
fn sheet_ticks(book: &Path, step: usize, ticks: usize) -> Terminal {
    let (_, name) = STEPS[step];
    let mut terminal = Terminal::open(book, &[HILL], 80, 24);
    terminal.wait_for(name);
    // Without an Esc behind it, which the key pressed next would turn into another key.
    terminal.press(&format!("/{name}\r"));
    terminal.wait_for_frame("the step selected", |screen| {
        // The keys of the sheet are named again; "1 of 1" may have made way for what another terminal wrote.
        stands(screen, name, "▸") && screen.contents().contains("s start  d done")
    });
    for tick in 0..ticks {
        let starts = tick % 2 == 0;
        terminal.press(if starts { "s" } else { "u" });
        terminal.wait_for_frame("the tick", |screen| {
            stands(screen, name, "running") == starts && !stands(screen, name, "writing")
        });
    }
    terminal
}

/// The same by the command line, a process for each tick.
fn commands_tick(book: &Path, step: usize, ticks: usize) {
    for tick in 0..ticks {
        let what = if tick % 2 == 0 { "start" } else { "undo" };
        let ran = Command::new(env!("CARGO_BIN_EXE_countback"))
            .args(["tick", HILL, STEPS[step].0, what, "--now", FRIDAY, "--book"])
            .arg(book)
            .output()
            .unwrap();
        assert!(
            ran.status.success(),
            "{}",
            String::from_utf8_lossy(&ran.stderr)
        );
    }
}

/// Returns whether a screen shows each step as the book has it.
fn as_in(entries: &[Entry]) -> impl Fn(&vt100::Screen) -> bool + use<> {
    let prep = PrepState::fold(entries);
    let runs = STEPS.map(|(step, _)| {
        let progress = prep.progress(&step.parse().unwrap());
        matches!(progress, Progress::Running { .. })
    });
    move |screen| {
        let mut steps = STEPS.iter().zip(runs);
        steps.all(|((_, name), runs)| stands(screen, name, "running") == runs)
    }
}

/// Terminals of both kinds tick at once, and one sheet only watches. Each terminal's ticks are in the book, in the order
/// in which it made them; every screen ends as the book does.
fn together(sheets: usize, commands: usize, by_sheet: usize, by_command: usize) {
    let (_folder, book) = place();
    // The menu is noted once before they begin, so that what follows is ticks alone.
    let watcher = Terminal::open(&book, &[HILL], 80, 24);
    watcher.wait_for("Chill");
    let all_have = Barrier::new(sheets + commands);
    std::thread::scope(|scope| {
        for terminal in 0..sheets + commands {
            let (book, all_have) = (&book, &all_have);
            scope.spawn(move || {
                // One that fails must not leave the others waiting for it.
                let ticked = catch_unwind(AssertUnwindSafe(|| {
                    if terminal < sheets {
                        return Some(sheet_ticks(book, terminal, by_sheet));
                    }
                    commands_tick(book, terminal, by_command);
                    None
                }));
                all_have.wait();
                let sheet = ticked.unwrap_or_else(|why| resume_unwind(why));
                let Some(mut sheet) = sheet else { return };
                sheet.wait("what all of them came to", as_in(&entries(book)));
                sheet.press("q");
                assert_eq!(sheet.wait_for_end().exit_code(), 0);
            });
        }
    });
    let entries = entries(&book);
    for (place, entry) in entries.iter().enumerate() {
        assert_eq!(
            entry.id,
            EntryId(place as i64 + 1),
            "one order, no number twice, none left out"
        );
    }
    let mut by_step: BTreeMap<&str, usize> = BTreeMap::new();
    let mut started: BTreeMap<EntryId, &str> = BTreeMap::new();
    let mut open: BTreeMap<&str, EntryId> = BTreeMap::new();
    for entry in &entries {
        match &entry.what {
            Happening::Started { step } => {
                assert_eq!(open.insert(step, entry.id), None, "{step} by turns");
                started.insert(entry.id, step);
                *by_step.entry(step).or_default() += 1;
            }
            Happening::Undone { entry } => {
                let step = started[entry];
                assert_eq!(open.remove(step), Some(*entry), "{step} by turns");
                *by_step.entry(step).or_default() += 1;
            }
            // What a sheet found of itself is no tick.
            other => assert!(
                matches!(other, Happening::MenuSeen { .. } | Happening::Moved { .. }),
                "{other:?}"
            ),
        }
    }
    for (terminal, (step, _)) in STEPS.iter().enumerate().take(sheets + commands) {
        let ticks = if terminal < sheets {
            by_sheet
        } else {
            by_command
        };
        assert_eq!(
            by_step.get(step).copied().unwrap_or_default(),
            ticks,
            "{step}"
        );
    }
    watcher.wait("what all of them came to", as_in(&entries));
}

#[test]
fn two_terminals_tick_at_once() {
    together(2, 0, 1_000, 0);
}

#[test]
fn five_terminals_tick_at_once() {
    together(4, 1, 485, 60);
}

/// A tick of one terminal is on the screen of another within a second.
#[test]
fn another_terminals_tick_is_seen_within_a_second() {
    let (_folder, book) = place();
    let watcher = Terminal::open(&book, &[HILL], 80, 24);
    watcher.wait_for("Chill");
    let mut open = Book::open(&book).unwrap();
    let mut slowest = Duration::ZERO;
    for round in 0..10 {
        let entry = |what| Note {
            event: EVENT.into(),
            at: Timestamp(1_795_807_800),
            written: Timestamp(1_795_807_800),
            who: "bo".into(),
            place: "hob".into(),
            what,
        };
        let starts = round % 2 == 0;
        let what = if starts {
            Happening::Started {
                step: "pears/steep".into(),
            }
        } else {
            let entry = open.entries(EVENT).unwrap().last().unwrap().id;
            Happening::Undone { entry }
        };
        open.append(&entry(what)).unwrap();
        let written = Instant::now();
        watcher.wait("the other's tick", |screen| {
            stands(screen, "Steep the tea", "running") == starts
        });
        slowest = slowest.max(written.elapsed());
        if starts {
            watcher.wait_for("from another terminal: started: Steep the tea");
        }
        // An entry of another banquet is no news.
        let other = Note {
            event: "other@2026-12-05".into(),
            ..entry(Happening::Started { step: "a/b".into() })
        };
        open.append(&other).unwrap();
    }
    println!("seen within {slowest:?} at the slowest");
    assert!(slowest < Duration::from_secs(1), "{slowest:?}");
}

/// Two cooks tick the same step before either has seen the other's: both entries stand in the book, the first counts,
/// and the second cook is told.
#[test]
fn the_second_of_two_ticks_is_told() {
    let mut told = 0;
    for _ in 0..6 {
        let (_folder, book) = place();
        let mut one = Terminal::open(&book, &[HILL], 120, 40);
        let mut two = Terminal::open(&book, &[HILL], 120, 40);
        for terminal in [&one, &two] {
            terminal.wait_for("Poach the pears");
            terminal.wait("at rest", |screen| stands(screen, "Steep the tea", "▸"));
        }
        one.press("s");
        two.press("s");
        for terminal in [&one, &two] {
            terminal.wait("running", |screen| {
                stands(screen, "Steep the tea", "running")
            });
        }
        let starts = entries(&book)
            .iter()
            .filter(|entry| matches!(entry.what, Happening::Started { .. }))
            .count();
        if starts < 2 {
            // The second saw the first before it was its turn, and was refused as ever.
            continue;
        }
        let is_second = |terminal: &Terminal| {
            let shown = terminal.shown.0.lock().unwrap();
            shown
                .screen
                .screen()
                .contents()
                .contains("another terminal was first with Steep the tea")
        };
        let until = Instant::now() + Duration::from_secs(10);
        while !is_second(&one) && !is_second(&two) {
            assert!(Instant::now() < until, "the second cook must be told");
            std::thread::sleep(Duration::from_millis(20));
        }
        assert!(
            is_second(&one) != is_second(&two),
            "the first is not told so"
        );
        told += 1;
    }
    assert!(0 < told, "it must happen at least once in six tries");
}
