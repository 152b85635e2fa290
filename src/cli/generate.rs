//! `generate`: invented instances, to try solvers on.

use super::args;
use super::instance::write_file;
use super::report::{Ending, Failure};
use crate::exchange::plan::{Answer, Engine, Known};
use crate::exchange::{self, Named, Names};
use crate::schedule::cost::cost;
use crate::schedule::generate::{Asked, Features, Scale, generate_as, squeeze};

/// Writes the instance, and the plan that was planted in it where that is asked for.
pub(super) fn generate(asked: &args::Generate) -> Result<Ending, Failure> {
    let seed = u64::from(asked.seed);
    let (mut instance, planted) = generate_as(
        seed,
        Asked {
            count: asked.count as usize,
            scale: if asked.small {
                Scale::Small
            } else {
                Scale::Days
            },
            features: features(asked.only.as_deref())?,
        },
    );
    if asked.squeeze {
        squeeze(seed, &mut instance);
    }
    if let Some(file) = &asked.plan {
        let answer = Answer {
            outcome: Known::Feasible,
            because: Vec::new(),
            cost: Some(cost(&instance, &planted)),
            bound: Some(0),
            engine: Engine { seed, epochs: 0 },
            placements: planted,
        };
        write_file(file, |out| exchange::write_answer(&answer, &[], out))?;
    }
    let named = Named {
        instance,
        names: Names::default(),
    };
    write_file(&asked.out, |out| exchange::write_instance(&named, out))?;
    Ok(Ending::Fine)
}

fn features(only: Option<&[String]>) -> Result<Features, Failure> {
    let Some(only) = only else {
        return Ok(Features::ALL);
    };
    let named = only.iter().map(|name| name.trim());
    named
        .filter(|name| !name.is_empty())
        .try_fold(Features::NONE, |features, name| {
            features.with(name).ok_or_else(|| {
                Failure::WrongUse(format!(
                    "--only: there is no feature \"{name}\"; there are {}",
                    Features::NAMES.join(", ")
                ))
            })
        })
}
