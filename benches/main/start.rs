//! From the start of the process to the first frame on which the whole sheet stands.

use std::time::Duration;

use criterion::{Criterion, SamplingMode};

use crate::menus;
use crate::terminal::Terminal;

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("start");
    group.sampling_mode(SamplingMode::Flat);
    group.sample_size(30);
    for measured in [menus::demonstration(), menus::large()] {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("book.sqlite");
        // The book is made by the first of these, before anything is measured.
        Terminal::open(&measured.words, &book).wait_for_first_full_frame();
        group.bench_function(measured.name, |bencher| {
            bencher.iter_custom(|times| {
                let mut spent = Duration::ZERO;
                for _ in 0..times {
                    let terminal = Terminal::open(&measured.words, &book);
                    spent += terminal.wait_for_first_full_frame();
                    terminal.close();
                }
                spent
            });
        });
        group.bench_function(format!("{}, no book yet", measured.name), |bencher| {
            bencher.iter_custom(|times| {
                let mut spent = Duration::ZERO;
                for _ in 0..times {
                    let folder = tempfile::tempdir().unwrap();
                    let book = folder.path().join("book.sqlite");
                    let terminal = Terminal::open(&measured.words, &book);
                    spent += terminal.wait_for_first_full_frame();
                    terminal.close();
                }
                spent
            });
        });
    }
    group.finish();
}
