//! `cool`: will it be cold in time, asked before anything is cooked; and how long a jelly takes to set.
//!
//! What is asked stands in options, or on the card of a step, and then options say otherwise than the card. What neither
//! says is taken at its slowest and said so; how deep it stands is never guessed.

mod slowest;
mod understood;
mod written;

use std::io::Write;

use super::args::{Cool, Everywhere};
use super::card_time;
use super::report::{Ending, Failure};
use super::safety::named;
use crate::load::spoken;
use crate::menu::{StepTime, Work};
use crate::safety::cooling::Passes;
use crate::safety::rules::{RuleSet, unnamed};
use crate::time::Minutes;
use understood::{Understood, degrees, understand};

/// How long a jelly takes.
struct SetTime {
    /// The temperature from which its own time counts, in °C.
    at: f64,
    /// Its own time, in minutes.
    own: f64,
    /// All of it; nothing where it never gets there.
    whole: Option<u32>,
}

impl SetTime {
    /// Returns all of it as a length.
    fn length(&self) -> Option<Minutes> {
        let whole = self.whole?;
        Some(Minutes(i32::try_from(whole).unwrap_or(i32::MAX)))
    }
}

/// Answers, and ends faulty where a rule that is asked for cannot be kept.
pub(super) fn cool(
    given: &Cool,
    everywhere: &Everywhere,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let understood = understand(given, everywhere)?;
    let sets: Vec<&RuleSet> = match (given.rules.as_deref(), &understood.of) {
        (Some(name), _) => vec![named(name)?],
        (None, Some(of)) => of.rules.clone(),
        (None, None) => unnamed().to_vec(),
    };
    let set_time = set_time(given, &understood)?;
    if given.accept {
        return accept(&understood, set_time.as_ref(), out);
    }
    let passes = |set: &&RuleSet| understood.asked.passes(&understood.legs(set));
    let worst = sets.iter().map(passes).max();
    if given.json {
        written::write_json(&understood, &sets, set_time.as_ref(), out)?;
    } else {
        written::write(&understood, &sets, set_time.as_ref(), out)?;
    }
    Ok(if worst == Some(Passes::No) {
        Ending::Faulty
    } else {
        Ending::Fine
    })
}

fn set_time(given: &Cool, understood: &Understood) -> Result<Option<SetTime>, Failure> {
    let (at, own) = match (&given.sets_at, &given.then) {
        (Some(at), Some(own)) => {
            let own = spoken::duration(own).map_err(|said| wrong("--then", &said))?;
            (degrees("--sets-at", at)?, f64::from(own.0))
        }
        (Some(at), None) => (degrees("--sets-at", at)?, 0.0),
        (None, Some(_)) => {
            return Err(Failure::WrongUse(
                "--then needs --sets-at: the temperature from which it counts".into(),
            ));
        }
        (None, None) => return Ok(None),
    };
    let whole = understood.asked.sets(at, own);
    Ok(Some(SetTime { at, own, whole }))
}

/// Writes the time to set into the card of the step.
fn accept(
    understood: &Understood,
    set_time: Option<&SetTime>,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let (Some(of), Some(set_time)) = (&understood.of, set_time) else {
        return Err(Failure::WrongUse(
            "--accept writes the time of a jelly into its card: name the MENU and the STEP, and --sets-at".into(),
        ));
    };
    let Some(whole) = set_time.length() else {
        return Err(Failure::WrongUse(format!(
            "it never gets to {} °C there, so there is no time to write",
            set_time.at
        )));
    };
    let time = StepTime::Elapsed(Work::fixed(whole));
    card_time::write(of.file.as_deref(), (&of.dish, &of.step), &time, out)?;
    Ok(Ending::Fine)
}

fn wrong(option: &str, said: &str) -> Failure {
    Failure::WrongUse(format!("{option}: {said}"))
}
