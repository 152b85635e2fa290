//! The book folded into where the prep stands: a hundred thousand entries of one banquet, far more than any has.

use std::hint::black_box;

use countback::book::{Entry, EntryId, Happening};
use countback::prep::PrepState;
use countback::time::Timestamp;
use criterion::Criterion;

use crate::menus;
use crate::plan::fresh;

const ENTRIES: i64 = 100_000;

/// Started and done, started and taken back, by turns, over every step of the large menu.
fn entries(steps: &[String]) -> Vec<Entry> {
    (1..=ENTRIES)
        .map(|number| {
            let turn = (number - 1) as usize / 4;
            let step = || steps[turn % steps.len()].clone();
            let what = match (number - 1) % 4 {
                0 => Happening::Started { step: step() },
                1 => Happening::Finished { step: step() },
                // The end is taken back, then the start.
                2 => Happening::Undone {
                    entry: EntryId(number - 1),
                },
                _ => Happening::Undone {
                    entry: EntryId(number - 3),
                },
            };
            Entry {
                id: EntryId(number),
                event: "harbour-gala@2026-12-12".to_owned(),
                at: Timestamp(1_765_000_000 + number),
                written: Timestamp(1_765_000_000 + number),
                who: "cook".to_owned(),
                place: "stove".to_owned(),
                what,
            }
        })
        .collect()
}

pub(crate) fn bench(criterion: &mut Criterion) {
    let large = menus::large();
    let steps: Vec<String> = fresh(&large)
        .steps
        .iter()
        .map(|step| step.key.to_string())
        .collect();
    let entries = entries(&steps);
    let mut group = criterion.benchmark_group("replay");
    group.sample_size(20);
    group.bench_function("100,000 entries folded", |bencher| {
        bencher.iter(|| PrepState::fold(black_box(&entries)));
    });
    let state = PrepState::fold(&entries);
    group.sample_size(10);
    group.bench_function(
        "100,000 entries, what the planner asks of them",
        |bencher| {
            bencher.iter(|| black_box(&state).happened(&large.menu, large.service));
        },
    );
    group.finish();
}
