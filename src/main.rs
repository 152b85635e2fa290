//! The program: a report for what nobody foresaw, the library, the exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    // Refused only when a report is installed already, and nothing came before this.
    let _ = color_eyre::install();
    // The report has been printed by the time a panic arrives here; what is left is the documented code.
    let code = std::panic::catch_unwind(|| countback::cli::run(std::env::args_os()));
    ExitCode::from(code.unwrap_or(3))
}
