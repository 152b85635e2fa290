//! The sheet on the terminal.
