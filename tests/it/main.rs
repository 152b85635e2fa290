//! The one integration test binary; a line of purpose for each module.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking, and says where"
)]

// The book on a real disk: kept, shared, refused, damaged.
mod book;
// Published networks and instances, the search against brute force, and the checker against broken plans.
mod schedule;
// Plans as text and as JSON, on a plan made by hand.
mod sheets;
