//! From a key to the frame it changes, while the planner is at work on the large menu.
//!
//! A tick is made; as soon as the screen says that a new plan is being counted back, the selection is moved, and
//! the time runs from that key to the frame that shows the selection elsewhere.

use std::time::{Duration, Instant};

use criterion::{Criterion, SamplingMode};

use crate::menus;
use crate::terminal::{SIZE, Terminal, line_from_bottom};

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("key");
    group.sampling_mode(SamplingMode::Flat);
    group.sample_size(20);
    let measured = menus::large();
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    let mut terminal = Terminal::open(&measured.words, &book);
    terminal.wait_for_first_full_frame();
    terminal.wait("a plan", is_at_rest);

    group.bench_function("at rest", |bencher| {
        let mut down = true;
        bencher.iter_custom(|times| {
            (0..times)
                .map(|_| {
                    let spent = moved(&mut terminal, down);
                    down = !down;
                    spent
                })
                .sum()
        });
        if !down {
            moved(&mut terminal, false);
        }
    });
    // Every key by itself: a mean says nothing of the one that was late.
    let mut each: Vec<Duration> = Vec::new();
    group.bench_function("while the planner is at work", |bencher| {
        bencher.iter_custom(|times| {
            let mut spent = Duration::ZERO;
            let mut counted = 0;
            while counted < times {
                // The step that is next ticked and taken back by turns, so that every round begins with the same plan.
                for key in [".s", "U"] {
                    terminal.press(key);
                    terminal.wait("the planner at work", is_planning);
                    let time = moved(&mut terminal, true);
                    each.push(time);
                    terminal.wait("the new plan", is_at_rest);
                    moved(&mut terminal, false);
                    if counted < times {
                        spent += time;
                        counted += 1;
                    }
                }
            }
            spent
        });
    });
    group.finish();
    terminal.close();
    slowest(each);
}

/// Prints how long keys took, the slowest of a hundred among them.
#[allow(
    clippy::print_stdout,
    reason = "criterion has no place for the slowest of a hundred"
)]
fn slowest(mut each: Vec<Duration>) {
    each.sort_unstable();
    let of_hundred = |share: usize| each.get(each.len() * share / 100);
    if let (Some(median), Some(slow)) = (of_hundred(50), of_hundred(99)) {
        println!(
            "key while the planner is at work, {} keys: median {median:?}, 99 % {slow:?}",
            each.len()
        );
    }
}

/// Moves the selection by one line; returns how long it took to be seen.
fn moved(terminal: &mut Terminal, down: bool) -> Duration {
    let before = std::cell::Cell::new(None);
    terminal.wait("a selection", |screen| {
        before.set(selected(screen));
        before.get().is_some()
    });
    let start = Instant::now();
    terminal.press(if down { "j" } else { "k" });
    terminal.wait("the selection elsewhere", |screen| {
        let now = selected(screen);
        now.is_some() && now != before.get()
    }) - start
}

/// Returns the line of the countdown on which the selected step stands. The dishes above it have a mark of their
/// own, which must not be taken for it while half a frame has come.
fn selected(screen: &vt100::Screen) -> Option<u16> {
    let mark = |row: u16| {
        screen
            .cell(row, 0)
            .is_some_and(|cell| cell.contents() == "▸")
    };
    (0..SIZE.1)
        .rev()
        .take_while(|&row| {
            !screen
                .contents_between(row, 0, row, 20)
                .contains("countdown")
        })
        .find(|&row| mark(row))
}

fn is_planning(screen: &vt100::Screen) -> bool {
    line_from_bottom(screen, 1).contains("counting back")
}

fn is_at_rest(screen: &vt100::Screen) -> bool {
    !is_planning(screen)
}
