//! `instance`: what a menu asks of the engine, for other programs; and files for whoever exchanges them.

use std::fs::File;
use std::io::{self, Write};
use std::path::Path;

use super::command::Opened;
use super::report::{Ending, Failure};
use crate::exchange::{self, Named, Names};
use crate::plan;
use crate::prep::PrepState;

/// Writes the instance of a menu around what has happened.
pub(super) fn write(opened: &Opened, file: &Path) -> Result<Ending, Failure> {
    let prep = PrepState::fold(&opened.entries()?);
    let opened = &opened.as_decided(&prep);
    let asked = plan::instance(
        &opened.loaded.menu,
        opened.service,
        &prep.happened(&opened.loaded.menu, opened.service),
        opened.minute(),
    );
    let named = Named {
        instance: asked.instance,
        names: Names {
            resources: asked.resources,
            states: asked.states,
            activities: asked.activities,
            ..Names::default()
        },
    };
    write_file(file, |out| exchange::write_instance(&named, out))?;
    Ok(Ending::Fine)
}

/// Writes a file: all of it, or an error that names it.
#[allow(
    clippy::disallowed_methods,
    reason = "the command line writes the file it is told to"
)]
pub(super) fn write_file(
    path: &Path,
    write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>,
) -> Result<(), Failure> {
    let failed = |error: &io::Error| Failure::Machine(format!("{}: {error}", path.display()));
    let mut bytes = Vec::new();
    write(&mut bytes).map_err(|error| failed(&error))?;
    File::create(path)
        .and_then(|mut file| file.write_all(&bytes))
        .map_err(|error| match error.kind() {
            io::ErrorKind::NotFound => {
                let folder = path.parent().unwrap_or(path);
                Failure::WrongUse(format!(
                    "there is no folder {} to write {} in",
                    folder.display(),
                    path.display()
                ))
            }
            io::ErrorKind::IsADirectory => Failure::file(path, &error),
            _ => failed(&error),
        })
}
