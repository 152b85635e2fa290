//! Menu files: text → menu, with every rule checked.

use std::hint::black_box;
use std::io;

use countback::load::{Shelf, check_text, menu_file, menu_text, write_menu};
use criterion::Criterion;

use crate::menus;

/// No files beside the text.
struct NoFiles;

impl Shelf for NoFiles {
    fn read(&self, _: &str) -> io::Result<String> {
        Err(io::ErrorKind::NotFound.into())
    }
}

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("load");
    for name in ["first-steps", "lantern-supper", "harbour-gala"] {
        let file = menus::path(name);
        group.bench_function(format!("{name}, from its files"), |bencher| {
            bencher.iter(|| menu_file(black_box(&file)).unwrap());
        });
    }
    let large = write_menu(&menus::large().menu);
    group.bench_function("harbour-gala, written as one text", |bencher| {
        bencher.iter(|| menu_text("one.ron", black_box(&large), &NoFiles).unwrap());
    });
    let nonsense: String = "Menu(id: [\"".chars().cycle().take(1_000_000).collect();
    group.sample_size(20);
    group.bench_function("a megabyte of nonsense refused", |bencher| {
        bencher.iter(|| check_text("nonsense.ron", black_box(&nonsense), &NoFiles).unwrap_err());
    });
    group.finish();
}
