//! The program: a report for what nobody foresaw, the library, the exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    // Refused only when a report is installed already, and nothing came before this.
    let _ = color_eyre::install();
    ExitCode::from(countback::cli::run(std::env::args_os()))
}
