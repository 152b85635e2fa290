//! One time written into the card of its step.

use std::io::Write;
use std::path::Path;

use super::report::Failure;
use crate::load::{self, EditError};
use crate::menu::StepTime;
use crate::text::one_line;

/// Writes the time of a step, `(dish, step)` by their ids, into its card, and says where and what it was. `file` is that
/// of the menu; the demonstration has none.
pub(super) fn write(
    file: Option<&Path>,
    (dish, step): (&str, &str),
    time: &StepTime,
    out: &mut impl Write,
) -> Result<(), Failure> {
    let Some(file) = file else {
        return Err(Failure::WrongUse(
            "the demonstration is built into the program; its cards cannot be changed".into(),
        ));
    };
    let edit = load::step_time(file, dish, step, time).map_err(failed)?;
    edit.write().map_err(failed)?;
    let (was, is) = edit.change();
    writeln!(
        out,
        "{}: {} takes {} now; it was {}",
        edit.place(),
        one_line(&format!("{dish}/{step}")),
        one_line(is),
        one_line(was)
    )?;
    Ok(())
}

fn failed(error: EditError) -> Failure {
    match error {
        EditError::File(said) => Failure::Machine(said),
        EditError::Faults(faults) => Failure::Faults(faults.to_string()),
        EditError::NotFound(said) | EditError::Refused(said) => Failure::Faults(said),
    }
}
