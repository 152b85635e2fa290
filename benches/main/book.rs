//! The book on a disk: a tick written, a tick from the key to the screen that says it is written, a start with a book
//! of a hundred thousand entries, and how busy the program is while nobody does anything.
//!
//! The books lie where the build lies, because the folder for passing things may be no disk at all.

use std::path::Path;
use std::time::{Duration, Instant};

use countback::book::{Book, Happening, Note, access};
use countback::time::Timestamp;
use criterion::{Criterion, SamplingMode};
use rusqlite::{Connection, params};

use crate::menus;
use crate::plan::fresh;
use crate::terminal::{Terminal, line_from_bottom};

const ENTRIES: i64 = 100_000;

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("book");
    group.sampling_mode(SamplingMode::Flat);
    group.sample_size(20);
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let place = |name: &str| folder.path().join(name);

    let mut book = Book::open(&place("ticks.sqlite")).unwrap();
    let note = Note {
        event: "harbour-gala@2026-12-12".to_owned(),
        at: Timestamp(1_765_000_000),
        written: Timestamp(1_765_000_000),
        who: "cook".to_owned(),
        place: "stove".to_owned(),
        what: Happening::Started {
            step: "rope-doughnuts/fry".to_owned(),
        },
    };
    group.bench_function("a tick on disk", |bencher| {
        bencher.iter(|| book.append(&note).unwrap());
    });
    drop(book);

    let large = menus::large();
    let mut terminal = Terminal::open(&large.words, &place("sheet.sqlite"));
    terminal.wait_for_first_full_frame();
    group.bench_function("a tick, from the key to the screen", |bencher| {
        bencher.iter_custom(|times| {
            let mut spent = Duration::ZERO;
            for _ in 0..times {
                for (key, said) in [("s", "started:"), ("u", "taken back:")] {
                    let begun = Instant::now();
                    terminal.press(key);
                    let shown = terminal.wait("the tick", |screen| {
                        (0..2).any(|line| line_from_bottom(screen, line).contains(said))
                    });
                    spent += shown - begun;
                }
            }
            spent / 2
        });
    });
    terminal.close();

    let long = place("long.sqlite");
    fill(&long, &large);
    group.bench_function("100,000 entries opened and looked through", |bencher| {
        bencher.iter(|| access::to_write(&long, Timestamp(1_765_000_000)).unwrap());
    });
    group.bench_function("start with 100,000 entries, large menu", |bencher| {
        bencher.iter_custom(|times| {
            let mut spent = Duration::ZERO;
            for _ in 0..times {
                let terminal = Terminal::open(&large.words, &long);
                spent += terminal.wait_for_first_full_frame();
                terminal.close();
            }
            spent
        });
    });
    group.finish();
    idle(&place("idle.sqlite"));
}

/// Fills a book with a hundred thousand entries of the large menu's banquet: started, done and taken back by turns.
fn fill(path: &Path, large: &menus::Measured) {
    drop(Book::open(path).unwrap());
    let steps: Vec<String> = fresh(large)
        .steps
        .iter()
        .map(|step| step.key.to_string())
        .collect();
    let event = format!("{}@{}", large.menu.id, large.service.service_date());
    let mut connection = Connection::open(path).unwrap();
    let transaction = connection.transaction().unwrap();
    for number in 1..=ENTRIES {
        let step = &steps[(number - 1) as usize / 4 % steps.len()];
        let (kind, body) = match (number - 1) % 4 {
            0 => ("started", format!(r#"{{"step":"{step}"}}"#)),
            1 => ("finished", format!(r#"{{"step":"{step}"}}"#)),
            2 => ("undone", format!(r#"{{"entry":{}}}"#, number - 1)),
            _ => ("undone", format!(r#"{{"entry":{}}}"#, number - 3)),
        };
        transaction
            .execute(
                "INSERT INTO entry (event, at, written, who, place, kind, body)
                 VALUES (?1, ?2, ?2, 'cook', 'stove', ?3, ?4)",
                params![event, 1_765_000_000 + number, kind, body],
            )
            .unwrap();
    }
    transaction.commit().unwrap();
}

/// Prints how busy the program is while nobody does anything, on the machine's own clock, once it has come to rest.
fn idle(book: &Path) {
    let tested = std::env::args().any(|word| word == "--test");
    let wanted = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with('-'))
        .all(|word| "book".contains(word.as_str()) || word.starts_with("book"));
    if !wanted {
        return;
    }
    let (rest, watched) = if tested { (0, 1) } else { (20, 30) };
    let terminal = Terminal::open(&["demo".to_owned()], book);
    terminal.wait_for_first_full_frame();
    let Some(process) = terminal.process() else {
        return;
    };
    std::thread::sleep(Duration::from_secs(rest));
    let (before, begun) = (ticks(process), Instant::now());
    std::thread::sleep(Duration::from_secs(watched));
    let spent = begun.elapsed();
    match (before, ticks(process)) {
        (Some(before), Some(after)) => eprintln!(
            "book/idle: {} ms of a core in {:.0} s: {:.2} %",
            (after - before) * 10,
            spent.as_secs_f64(),
            (after - before) as f64 / spent.as_secs_f64()
        ),
        _ => eprintln!("book/idle: this system does not say"),
    }
    terminal.close();
}

/// Returns how many hundredths of a second a process has used, where the system says so.
#[allow(
    clippy::disallowed_methods,
    reason = "where the system says how much time a process has used"
)]
fn ticks(process: u32) -> Option<u64> {
    let text = std::fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    let behind = text.rsplit_once(')')?.1;
    let mut fields = behind.split_whitespace().skip(11);
    let (user, system): (u64, u64) = (fields.next()?.parse().ok()?, fields.next()?.parse().ok()?);
    Some(user + system)
}
