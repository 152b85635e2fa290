//! The one integration test binary; a line of purpose for each module.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stderr,
    clippy::print_stdout,
    reason = "a test may write the files it tests on, and one that cannot go on should say so and stop"
)]

// The book on a real disk: kept, shared, refused, damaged.
mod book;
// What goes from dish to dish and from step to step: allergens, cautions, what heat has done to egg and alcohol.
mod cautions;
// The real program from its command line: what it prints, where, and how it ends.
mod cli;
// The sheet where a cook changes their mind: readings, decisions, any entry taken back.
mod deciding;
// What must be ordered, soaked or thawed: ticked, taken back, called for.
mod errands;
// Instances and schedules as JSON: written and read back, every fault named, whatever is read can be solved.
mod exchange;
// What to buy and what a dish takes, on the sheet: pages, search, filters, and reminders in the countdown.
mod lists;
// What each module may import, read from the source.
mod layers;
// The book in adversity: damaged, full, read-only, held, killed at, shared, replayed; and learnt from.
mod keeping;
// The sheet where something is late or has moved.
mod late;
// Menu files: what loads, what is refused and how, and that writing and reading agree.
mod load;
// Menus planned: each idiom, clock changes, what has happened; every plan audited in the kitchen's terms.
mod plan;
// How much of everything, in what, and by when to order it: rules for any menu, and menus worked by hand.
mod quantity;
// The prep days: what was decided, what calls, what is taken back.
mod prep;
// The demonstration run through by a scripted cook, late and with faults.
mod rehearsal;
// Any menu at any moment: planned and right, or explained; and shown.
mod properties;
// What can hurt someone: nothing is safe or free because nobody has said, and what the demonstration shows.
mod safety;
// The sample menus: loaded, planned at many hours and on many clocks, and every idiom shown.
mod sample_menus;
// The engine: published networks, the check against broken plans, the search against brute force and another solver.
mod schedule;
// Plans as text and as JSON, on a plan made by hand.
mod sheets;
// At the stove: now and next, what calls, the handover, the wall, the clock.
mod stove;
/// What several tests share: arbitrary menus.
mod support;
// The real program on a real pseudo-terminal: opened, ticked, resized, killed, opened again.
mod terminal;
// The sheet: whole screens, and what keys, mouse, clock, book and planner make of them.
mod tui;
