//! `solve`: an instance from anywhere, solved, checked, and written out with one honest line.

use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

use super::args;
use super::command::is_readable;
use super::instance::write_file;
use super::report::{Ending, Failure};
use crate::exchange::plan::{Answer, Engine, Known};
use crate::exchange::{self, Named};
use crate::schedule::conflict::{Conflict, Core, prove_infeasible};
use crate::schedule::cost::cost;
use crate::schedule::project::{self, Limits, Project};
use crate::schedule::search::Improver;
use crate::schedule::verify::verify;
use crate::schedule::{
    ActivityId, Cost, Edge, Effort, Outcome, ResourceId, Schedule, solve as place,
};
use crate::text::one_line;

/// The longest that may be asked for: a day.
const LONGEST: f64 = 86_400.0;

/// How long to go on.
#[derive(Clone, Copy, Debug)]
enum Until {
    /// So many epochs.
    Epochs(u32),
    /// That moment.
    Moment(Instant),
}

/// Solves an instance, writes what came of it, and says so in a line.
pub(super) fn solve(asked: &args::Solve, out: &mut impl Write) -> Result<Ending, Failure> {
    let until = match asked.epochs {
        Some(epochs) => Until::Epochs(epochs),
        None => Until::Moment(Instant::now() + seconds(&asked.seconds)?),
    };
    let named = read(&asked.instance)?;
    let (outcome, epochs) = search(&named, until, asked);
    let engine = Engine {
        seed: u64::from(asked.seed),
        epochs: u64::from(epochs),
    };
    let (answer, line) = match outcome {
        Outcome::Optimal(schedule) | Outcome::Feasible(schedule) => {
            let violations = verify(&named.instance, &schedule);
            if !violations.is_empty() {
                let said: Vec<String> = violations.iter().map(ToString::to_string).collect();
                return Err(Failure::Machine(format!(
                    "the plan found is wrong, and countback is at fault; nothing was written: {}",
                    said.join(", ")
                )));
            }
            let cost = cost(&named.instance, &schedule.placements);
            let line = quality(&schedule, cost);
            let outcome = if schedule.cost == schedule.bound {
                Known::Optimal
            } else {
                Known::Feasible
            };
            let answer = Answer {
                outcome,
                because: Vec::new(),
                cost: Some(cost),
                bound: Some(schedule.bound),
                engine,
                placements: schedule.placements,
            };
            (answer, line)
        }
        Outcome::Infeasible(conflict) => {
            let because = because(&named, &conflict);
            let line = format!("impossible: {because}");
            (nothing(Known::Infeasible, because, engine), line)
        }
        Outcome::Unknown(conflict) => {
            let because = because(&named, &conflict);
            let line = format!("no plan found, and nothing is proved: {because}");
            (nothing(Known::Unknown, because, engine), line)
        }
    };
    let names = &named.names.activities;
    write_file(&asked.out, |file| {
        exchange::write_answer(&answer, names, file)
    })?;
    writeln!(out, "{}", one_line(&line))?;
    Ok(if answer.placements.is_empty() && answer.cost.is_none() {
        Ending::Faulty
    } else {
        Ending::Fine
    })
}

/// So many schedules of a plain project are an epoch: about as much work as an epoch of any other instance.
const SCHEDULES: u64 = 100;

/// Returns what the leaner search for plain projects says of an instance, and for how many epochs it was looked for;
/// `None` where the instance is none, or nothing is found and nothing proved.
fn search_project(named: &Named, until: Until, asked: &args::Solve) -> Option<(Outcome, u32)> {
    let instance = &named.instance;
    let mirrored = Project::of(instance)?;
    let over = || matches!(until, Until::Moment(end) if Instant::now() >= end);
    let limits = Limits {
        schedules: match until {
            Until::Epochs(epochs) => Some(SCHEDULES * (u64::from(epochs) + 1)),
            Until::Moment(_) => None,
        },
        threads: usize::from(asked.threads),
        seed: u64::from(asked.seed),
        stop: &over,
    };
    let answer = project::solve(&mirrored.project, &limits);
    let epochs = match until {
        Until::Epochs(epochs) => epochs,
        Until::Moment(_) => u32::try_from(answer.schedules / SCHEDULES).unwrap_or(u32::MAX),
    };
    if mirrored.is_impossible(&answer) {
        // Another proof may say it in fewer words; if there is none, all that is known is that all do not fit.
        let all = (0..instance.activities.len()).map(ActivityId).collect();
        let conflict = prove_infeasible(instance).unwrap_or_else(|| {
            Conflict::Core(Box::new(Core {
                activities: all,
                lags: Vec::new(),
                resources: Vec::new(),
                states: Vec::new(),
                proved: true,
                smallest: false,
            }))
        });
        return Some((Outcome::Infeasible(conflict), epochs));
    }
    let schedule = mirrored.schedule(&answer)?;
    let outcome = if schedule.cost == schedule.bound {
        Outcome::Optimal(schedule)
    } else {
        Outcome::Feasible(schedule)
    };
    Some((outcome, epochs))
}

/// Returns the best found, and for how many epochs it was looked for.
fn search(named: &Named, until: Until, asked: &args::Solve) -> (Outcome, u32) {
    if let Some(done) = search_project(named, until, asked) {
        return done;
    }
    let instance = &named.instance;
    let seed = u64::from(asked.seed);
    let first = Effort {
        threads: usize::from(asked.threads),
        seed,
        ..Effort::first(instance)
    };
    let schedule = match place(instance, first) {
        Outcome::Feasible(schedule) => schedule,
        done => return (done, 0),
    };
    let Ok(mut improver) = Improver::new(instance, &schedule, seed) else {
        return (Outcome::Feasible(schedule), 0);
    };
    let (epochs, over): (u32, Box<dyn Fn() -> bool + Sync>) = match until {
        Until::Epochs(epochs) => (epochs, Box::new(|| false)),
        Until::Moment(end) => (u32::MAX, Box::new(move || Instant::now() >= end)),
    };
    improver.run(epochs, usize::from(asked.threads), &*over);
    let best = improver.best();
    let outcome = if best.cost == best.bound {
        Outcome::Optimal(best)
    } else {
        Outcome::Feasible(best)
    };
    (outcome, improver.epochs())
}

fn nothing(outcome: Known, because: String, engine: Engine) -> Answer {
    Answer {
        outcome,
        because: vec![because],
        cost: None,
        bound: None,
        engine,
        placements: Vec::new(),
    }
}

fn seconds(text: &str) -> Result<Duration, Failure> {
    let number = text.trim().parse().ok();
    number
        .filter(|number| (0.0..=LONGEST).contains(number))
        .map(Duration::from_secs_f64)
        .ok_or_else(|| {
            Failure::WrongUse(format!(
                "--seconds: \"{text}\" is no number of seconds from 0 to {LONGEST}"
            ))
        })
}

#[allow(
    clippy::disallowed_methods,
    reason = "the command line reads the file it is told to"
)]
fn read(path: &Path) -> Result<Named, Failure> {
    is_readable(path)?;
    let bytes = std::fs::read(path).map_err(|error| Failure::file(path, &error))?;
    let faulty = |said: String| Failure::Faults(format!("{}: {said}", path.display()));
    let text = String::from_utf8(bytes).map_err(|_| {
        faulty("it is no text in UTF-8; write an instance as JSON in UTF-8".to_owned())
    })?;
    exchange::read_instance(&text).map_err(|faults| {
        let lines: Vec<String> = faults.to_string().lines().map(str::to_owned).collect();
        faulty(lines.join(&format!("\n{}: ", path.display())))
    })
}

/// Returns how good a schedule is, as far as that is proved.
fn quality(schedule: &Schedule, cost: Cost) -> String {
    let terms = [
        ("late", cost.late),
        ("wishes", cost.wish),
        ("overtime", cost.overtime),
        ("uneven", cost.uneven),
        ("early", cost.early),
        ("modes", cost.mode),
        ("moved", cost.moved),
    ];
    let named: Vec<String> = terms
        .iter()
        .filter(|(_, term)| *term != 0)
        .map(|(name, term)| format!("{name} {term}"))
        .collect();
    let terms = if named.is_empty() {
        String::new()
    } else {
        format!(" ({})", named.join(", "))
    };
    let (total, bound) = (schedule.cost, schedule.bound);
    if total == bound {
        format!("proved best: costs {total}{terms}")
    } else if bound <= 0 {
        format!("no proof: costs {total}{terms}; how much better another could be is not known")
    } else {
        // Rounded up, so that what is said holds.
        let less = i128::from(total - bound);
        let tenths = (less * 1000 + i128::from(total) - 1) / i128::from(total).max(1);
        format!(
            "at most {}.{} % better is possible: costs {total}{terms}, and nothing costs less than {bound}",
            tenths / 10,
            tenths % 10
        )
    }
}

/// Returns the lags of a cycle in words.
fn around(named: &Named, lags: &[usize], activity: impl Fn(ActivityId) -> String) -> Vec<String> {
    let edge = |(id, edge): (ActivityId, Edge)| {
        let word = if edge == Edge::Start { "start" } else { "end" };
        format!("the {word} of {}", activity(id))
    };
    lags.iter()
        .filter_map(|&lag| {
            let it = named.instance.lags.get(lag)?;
            let (from, to) = (edge(it.from), edge(it.to));
            Some(format!("lags[{lag}] from {from} to {to}"))
        })
        .collect()
}

/// Returns why there is no plan, with the names of the instance.
fn because(named: &Named, conflict: &Conflict) -> String {
    let activity = |id: ActivityId| {
        name(&named.names.activities, id.0).map_or_else(
            || format!("activities[{}]", id.0),
            |name| format!("activities[{}] \"{name}\"", id.0),
        )
    };
    let resource = |id: ResourceId| {
        name(&named.names.resources, id.0).map_or_else(
            || format!("resources[{}]", id.0),
            |name| format!("resources[{}] \"{name}\"", id.0),
        )
    };
    match conflict {
        Conflict::Cycle { lags, excess } => format!(
            "{} together ask for {excess} more minutes than there are",
            around(named, lags, activity).join(", ")
        ),
        Conflict::Window {
            activity: of,
            earliest,
            latest,
            ..
        } => format!(
            "{} can start at {earliest} at the earliest and must start by {latest}",
            activity(*of)
        ),
        Conflict::Capacity {
            activity: of,
            resource: what,
            most,
        } => format!(
            "{} asks for more of {} than the {most} there ever are",
            activity(*of),
            resource(*what)
        ),
        Conflict::Overload {
            resource: what,
            from,
            to,
            available,
            needed,
            activities,
        } => {
            let of: Vec<String> = activities.iter().map(|&id| activity(id)).collect();
            format!(
                "from {from} to {to} there is {available} of {}, in units times minutes, and {} need {needed}",
                resource(*what),
                of.join(", ")
            )
        }
        Conflict::Pair {
            activities: [one, other],
            from,
            to,
            lacking,
            ..
        } => format!(
            "{} and {} cannot go on at once, and from {from} to {to} {lacking} minutes are missing for one after the other",
            activity(*one),
            activity(*other)
        ),
        Conflict::Core(core) if core.activities.len() == named.instance.activities.len() => {
            "no schedule keeps all rules of all activities at once".to_owned()
        }
        Conflict::Core(core) => {
            let of: Vec<String> = core.activities.iter().map(|&id| activity(id)).collect();
            format!("{} do not fit together", of.join(", "))
        }
        Conflict::NoPlace {
            activity: of,
            earliest,
            latest,
            resource: what,
            by,
        } => {
            let mut said = format!(
                "{} found no place from {earliest} to {latest}",
                activity(*of)
            );
            if let Some(what) = what {
                said = format!("{said} for want of {}", resource(*what));
            }
            let by: Vec<String> = by.iter().map(|&id| activity(id)).collect();
            if !by.is_empty() {
                said = format!("{said}, beside {}", by.join(", "));
            }
            said
        }
    }
}

fn name(names: &[Option<String>], index: usize) -> Option<&str> {
    names.get(index)?.as_deref()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_said_of_a_plan_is_what_is_proved() {
        let said = |cost, bound| {
            let schedule = Schedule {
                cost,
                bound,
                ..Schedule::default()
            };
            let early = cost;
            quality(
                &schedule,
                Cost {
                    early,
                    ..Cost::default()
                },
            )
        };
        assert_eq!(said(0, 0), "proved best: costs 0");
        assert_eq!(said(740, 740), "proved best: costs 740 (early 740)");
        assert!(
            said(3, 2).starts_with("at most 33.4 % better"),
            "{}",
            said(3, 2)
        );
        assert!(said(5, 0).starts_with("no proof"));
    }

    #[test]
    fn seconds_are_any_number_up_to_a_day() {
        assert_eq!(seconds("0.5").ok(), Some(Duration::from_millis(500)));
        for text in ["", "-1", "nan", "inf", "1e9", "two"] {
            assert!(seconds(text).is_err(), "{text}");
        }
    }
}
