//! Arguments, reports, exit codes.
