//! `check`: every fault in files, and whether menus without any can be planned.

use std::fmt::Write as _;
use std::io::Write;
use std::path::{Path, PathBuf};

use super::args::Everywhere;
use super::command::{Opened, is_readable};
use super::report::{self, Ending, Failure};
use crate::load::{self, Checked, Fault};
use crate::plan::{self, Happened, PlanOutcome};
use crate::text::{clean_lines, one_line};
use crate::time::Minute;

/// A moment before which nobody starts on a banquet: a quarter of a year ahead of it.
const LONG_BEFORE: Minute = Minute(-92 * 24 * 60);

/// Checks each file and prints what was found; goes on to the next whatever is wrong with one.
pub(super) fn check(
    files: &[PathBuf],
    everywhere: &Everywhere,
    out: &mut impl Write,
    errors: &mut impl Write,
) -> Result<Ending, Failure> {
    let mut worst = Ending::Fine;
    for file in files {
        let ending = match check_one(file, everywhere, out) {
            Ok(ending) => ending,
            Err(Failure::NobodyReads) => return Err(Failure::NobodyReads),
            Err(failure) => {
                // What was found before comes before it, on a terminal that shows both.
                out.flush()?;
                report::say(&failure.to_string(), errors);
                failure.ending()
            }
        };
        worst = worst.max(ending);
    }
    Ok(worst)
}

fn check_one(
    file: &Path,
    everywhere: &Everywhere,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let name = one_line(&file.display().to_string());
    let is_demonstration = file == Path::new("demo");
    if !is_demonstration {
        is_readable(file)?;
        match load::check_file(file) {
            Ok(Checked::Menu(_)) => {}
            Ok(Checked::Kitchen(kitchen)) => {
                writeln!(
                    out,
                    "{name}: fine: the kitchen {}, {}, {}",
                    one_line(&kitchen.name),
                    count(kitchen.cooks.len(), "cook", "cooks"),
                    count(kitchen.kit.len(), "kind of kit", "kinds of kit")
                )?;
                return Ok(Ending::Fine);
            }
            Ok(Checked::Larder(larder)) => {
                writeln!(
                    out,
                    "{name}: fine: a larder, {}, {}",
                    count(larder.goods.len(), "kind of goods", "kinds of goods"),
                    count(larder.suppliers.len(), "supplier", "suppliers")
                )?;
                return Ok(Ending::Fine);
            }
            Ok(Checked::Dish(dish)) => {
                writeln!(
                    out,
                    "{name}: fine: the dish {}, {}",
                    one_line(&dish.name),
                    count(dish.steps.len(), "step", "steps")
                )?;
                return Ok(Ending::Fine);
            }
            Err(faults) => {
                writeln!(out, "{}", clean_lines(&faults.to_string()))?;
                return Ok(Ending::Faulty);
            }
        }
    }
    let opened = Opened::open(Some(file), everywhere)?;
    for warning in &opened.loaded.warnings {
        writeln!(out, "{}", clean_lines(&advice(warning)))?;
    }
    fits(&name, &opened, out)
}

fn advice(warning: &Fault) -> String {
    let mut said = format!("{}: worth a look: {}", warning.place, warning.what);
    if let Some(instead) = &warning.instead {
        let _ = write!(said, "\n  try: {instead}");
    }
    said
}

/// Plans a menu as if there were all the time in the world before service, and says what does not fit.
fn fits(name: &str, opened: &Opened, out: &mut impl Write) -> Result<Ending, Failure> {
    let menu = &opened.loaded.menu;
    let outcome = plan::plan(menu, opened.service, &Happened::new(), LONG_BEFORE, None);
    let because = match outcome {
        PlanOutcome::Planned(plan) => {
            let starts = plan.order.first().map_or_else(String::new, |&first| {
                let start = plan.steps[first].window.start;
                format!(", starts {}", plan.service.local(start))
            });
            writeln!(
                out,
                "{name}: fine: {}, {}{starts}",
                count(menu.dishes.len(), "dish", "dishes"),
                count(plan.steps.len(), "step", "steps")
            )?;
            return Ok(Ending::Fine);
        }
        PlanOutcome::Impossible(because) | PlanOutcome::TooLate { because, .. } => because,
    };
    writeln!(out, "{name}: does not fit:")?;
    for sentence in because {
        writeln!(out, "  {}", one_line(&sentence))?;
    }
    Ok(Ending::Faulty)
}

fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}
