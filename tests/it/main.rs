//! The one integration test binary; a line of purpose for each module.

// Published networks and instances, the search against brute force, and the checker against broken plans.
mod schedule;
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stderr,
    reason = "a test that cannot go on should say so and stop"
)]

/// Menu files: what loads, what is refused and how, and that writing and reading agree.
mod load;
