//! How fast it is: `cargo bench --bench main`, or one group with `cargo bench --bench main -- draw`.
//!
//! The figures and the limits they are held against stand in DEVELOPERS.md. Nothing here fails when a figure is
//! bad: a machine that is busy with something else must not look like a fault of the program.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stderr,
    reason = "a measurement that cannot go on should say so and stop"
)]

#[path = "main/book.rs"]
mod book;
#[path = "main/chance.rs"]
mod chance;
#[path = "main/draw.rs"]
mod draw;
#[path = "main/engine.rs"]
mod engine;
#[path = "main/key.rs"]
mod key;
#[path = "main/load.rs"]
mod load;
#[path = "main/memory.rs"]
mod memory;
#[path = "main/menus.rs"]
mod menus;
#[path = "main/order.rs"]
mod order;
#[path = "main/plan.rs"]
mod plan;
#[path = "main/replay.rs"]
mod replay;
#[path = "main/safety.rs"]
mod safety;
#[path = "main/start.rs"]
mod start;
#[path = "main/terminal.rs"]
mod terminal;

use criterion::{Criterion, criterion_group, criterion_main};

fn settings() -> Criterion {
    Criterion::default()
}

criterion_group! {
    name = benches;
    config = settings();
    targets = load::bench, engine::bench, plan::bench, chance::bench, draw::bench, replay::bench, book::bench, start::bench, key::bench, safety::bench, memory::bench, order::bench
}
criterion_main!(benches);
