//! The one integration test binary; a line of purpose for each module.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stderr,
    reason = "a test that cannot go on should say so and stop"
)]

/// Menu files: what loads, what is refused and how, and that writing and reading agree.
mod load;
/// What several tests share: arbitrary menus.
mod support;
