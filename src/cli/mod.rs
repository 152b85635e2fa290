//! Arguments, reports, exit codes.

mod args;
mod moment;
mod report;
mod step_name;
