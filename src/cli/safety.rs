//! `safety`: a plan held against rules for temperatures.

use std::io::Write;

use super::args::Form;
use super::command::Opened;
use super::print::width;
use super::report::{Ending, Failure};
use crate::prep::{PrepState, held_against, measured_against, rule_sets};
use crate::safety::Level;
use crate::safety::rules::{RuleSet, SETS};
use crate::safety::timeline::Verdict;
use crate::sheets::temperatures;

/// Returns the set of a name on the command line.
pub(super) fn named(name: &str) -> Result<&'static RuleSet, Failure> {
    SETS.iter().find(|set| set.key == name).ok_or_else(|| {
        let known: Vec<_> = SETS.iter().map(|set| set.key).collect();
        Failure::WrongUse(format!(
            "--rules: \"{name}\" are no rules it knows; one of {}",
            known.join(", ")
        ))
    })
}

/// Returns the sets asked for: those of the command line, else those of the menu, else the three that differ most.
pub(super) fn sets(opened: &Opened, name: Option<&str>) -> Result<Vec<&'static RuleSet>, Failure> {
    match name {
        Some(name) => Ok(vec![named(name)?]),
        None => Ok(rule_sets(&opened.loaded.menu)),
    }
}

/// Prints what is to know of temperatures; ends faulty where a dish or kit is against a rule as planned, or a dish as
/// measured.
pub(super) fn check(
    opened: &Opened,
    rules: Option<&str>,
    form: Form,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let sets = sets(opened, rules)?;
    let prep = PrepState::fold(&opened.entries()?);
    let opened = &opened.as_decided(&prep);
    let outcome = opened.plan(&prep);
    let menu = &opened.loaded.menu;
    let now = (opened.now, opened.service.zone());
    let checked = held_against(menu, opened.service, Some(&outcome), &sets);
    if form.json {
        temperatures::write_json(menu, &outcome, &prep, now, &checked, out)?;
    } else if form.csv {
        temperatures::write_csv(menu, &outcome, &prep, now, &checked, out)?;
    } else {
        temperatures::write(menu, &prep, now, &checked, width(), out)?;
    }
    let against = checked.iter().any(|one| {
        let mut measured = measured_against(menu, &prep, one.set, now).into_iter();
        let mut dishes = one.dishes.iter();
        let mut kit = one.kit.iter();
        dishes.any(|dish| dish.verdict == Verdict::Breaks)
            || kit.any(|finding| finding.level == Level::Breaks)
            || measured.any(|it| it.level == Level::Breaks)
    });
    Ok(if against {
        Ending::Faulty
    } else {
        Ending::Fine
    })
}
