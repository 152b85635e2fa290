//! Plans a banquet's sweet course backward from service, and keeps the countdown true while it is cooked.
//!
//! The modules in reading order; each may use those above it, and `tests/it/layers.rs` holds that:
//!
//! | module | what it is |
//! |---|---|
//! | [`time`] | minutes from service, and the one bridge to the clock on the wall |
//! | [`text`] | any text made harmless to show, and its width |
//! | [`menu`] | the banquet as plain data: menu, dish, step, kitchen |
//! | [`load`] | menu files: text → menu, every fault with its place; menu → text |
//! | [`quantity`] | what units are worth, amounts scaled to batches |
//! | [`safety`] | cautions, in our own words, deferring to local law |
//! | [`schedule`] | the engine: activities and resources, no food |
//! | [`exchange`] | instances and schedules to and from other programs |
//! | [`forecast`] | readings so far and a goal → when, and how sure |
//! | [`plan`] | the bridge between both: menu → instance, schedule → times and reasons |
//! | [`book`] | what happened, entry after entry, on disk |
//! | [`prep`] | where we are: the entries folded, what is due, running, late |
//! | [`sheets`] | plans as text and for other programs |
//! | [`tui`] | the sheet on the terminal |
//! | [`cli`] | arguments, reports, exit codes |

pub mod book;
pub mod cli;
pub mod exchange;
pub mod forecast;
pub mod load;
pub mod menu;
pub mod plan;
pub mod prep;
pub mod quantity;
pub mod safety;
pub mod schedule;
pub mod sheets;
pub mod text;
pub mod time;
pub mod tui;
