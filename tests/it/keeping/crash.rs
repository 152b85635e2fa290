//! Killed at any moment: what the screen showed is in the book, once.

use std::path::Path;
use std::time::{Duration, Instant};

use countback::book::{Book, EntryId, Happening};
use countback::prep::{PrepState, Progress};

use crate::support::terminal::{Terminal, signal};

const HILL: &str = "tests/data/menus/hill-supper.ron";
const EVENT: &str = "hill-supper@2026-11-28";

/// A driver presses `s` and `u` by turns on the step that is selected, as fast as the sheet answers, and the program
/// is killed at a random moment. Before the kill the screen said how many of them it had shown as written; each
/// of them is in the book afterwards, in order and once, and at most one more: the one that was on its way.
/// Then the same book is opened again, and shows where it stands. `COUNTBACK_KILLS` says how often.
#[test]
fn every_tick_shown_before_a_kill_is_in_the_book_after_it() {
    let kills = std::env::var("COUNTBACK_KILLS")
        .ok()
        .and_then(|kills| kills.parse().ok())
        .unwrap_or(300_u32);
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    // Xorshift (Marsaglia, Journal of Statistical Software 8, 2003): the same moments to aim at every time; what the
    // program is doing then is up to the machine.
    let mut state: u32 = 2_463_534_242;
    let mut random = |below: u64| {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        u64::from(state) % below
    };
    let (mut ticks, mut in_time, mut on_their_way) = (0, 0, 0);
    let mut seen = EntryId(0);
    for kill in 0..kills {
        let mut terminal = Terminal::open(&book, &[HILL], 80, 24);
        terminal.wait_for("Steep the tea");
        let mut running = is_running(&book, seen);
        let until = Instant::now() + Duration::from_micros(random(45_000));
        let mut shown = 0;
        let mut pressed = 0;
        let answered = |screen: &vt100::Screen, running: bool| {
            let text = screen.contents();
            let state = text.lines().find(|line| line.contains("Steep the tea"));
            state.is_some_and(|line| line.contains("running") == running)
                && text.contains(if running {
                    "started: Steep"
                } else {
                    "taken back:"
                })
        };
        while Instant::now() < until {
            terminal.press(if running { "u" } else { "s" });
            pressed += 1;
            if !terminal.comes_before(until, |screen| answered(screen, !running)) {
                break;
            }
            running = !running;
            shown += 1;
        }
        signal("KILL", terminal.child.process_id().unwrap());
        terminal.wait_for_end();
        // What the terminal still showed when it died had been written before, too.
        let last = terminal.shown.0.lock().unwrap();
        if shown < pressed && answered(last.screen.screen(), !running) {
            shown += 1;
        }
        drop(last);

        let written = Book::open(&book)
            .unwrap()
            .entries_after(EVENT, seen)
            .unwrap();
        let told: Vec<&Happening> = written
            .iter()
            .map(|entry| &entry.what)
            .filter(|what| !matches!(what, Happening::MenuSeen { .. }))
            .collect();
        assert!(
            (shown..=pressed).contains(&told.len()),
            "kill {kill}: {shown} shown, {pressed} pressed, {} written: {told:?}",
            told.len()
        );
        for pair in told.windows(2) {
            let by_turns = matches!(
                pair,
                [Happening::Started { .. }, Happening::Undone { .. }]
                    | [Happening::Undone { .. }, Happening::Started { .. }]
            );
            assert!(by_turns, "kill {kill}: none twice: {told:?}");
        }
        ticks += told.len();
        in_time += usize::from(shown == told.len());
        on_their_way += usize::from(shown < told.len());
        seen = written.last().map_or(seen, |entry| entry.id);
    }
    // Numbers rise without a gap: nothing was half written and nothing taken out.
    let entries = Book::open(&book).unwrap().entries(EVENT).unwrap();
    for (place, entry) in entries.iter().enumerate() {
        assert_eq!(entry.id, EntryId(place as i64 + 1));
    }
    println!(
        "{kills} kills, {ticks} ticks; after {in_time} kills all had been shown, after {on_their_way} one was on its way"
    );
    assert!(kills as usize / 2 < ticks, "the driver must tick: {ticks}");
}

/// Returns whether the step runs, by the book.
fn is_running(book: &Path, seen: EntryId) -> bool {
    if seen == EntryId(0) {
        return false;
    }
    let entries = Book::open(book).unwrap().entries(EVENT).unwrap();
    let prep = PrepState::fold(&entries);
    let steep = "pears/steep".parse().unwrap();
    matches!(prep.progress(&steep), Progress::Running { .. })
}
