//! The one integration test binary; a line of purpose for each module.

// Published networks and instances, the search against brute force, and the checker against broken plans.
mod schedule;
