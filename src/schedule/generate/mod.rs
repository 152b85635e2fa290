//! Invented instances that are known to be feasible, with everything in them that an instance can say.
//!
//! Published instances have constant capacities and demands; calendars, gates, holds, states, modes and most
//! terms of the cost appear in none. Here a schedule is *planted*: chains of steps are placed first, backward from
//! the end, on shared hands, places, chambers and shelves (`plant`), and only then is every constraint written so
//! that this schedule keeps it, with capacities of what it uses and little more (`constrain`). So an instance is
//! tight, and a search that finds nothing is at fault. It is as tight at every size: hands, places and shelves grow with
//! the number of activities, and chambers, which have one state at a time, grow in number and not in size.
//!
//! The planted schedule is feasible, not best. The same seed gives the same instance everywhere: whole numbers
//! only, and a generator of random numbers of our own ([`Random`]), because those of libraries change between
//! versions.
//!
//! # Left out on purpose
//! Realistic durations and names; what is wanted is every feature, together and alone ([`Features`]), at any
//! size, and a [small](Scale::Small) scale on which an outside solver can prove an optimum.

mod constrain;
mod plant;
mod random;
mod squeeze;

pub use random::Random;
pub use squeeze::squeeze;

use super::problem::{Instance, Time};
use super::solution::Placement;

/// What is to be generated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Asked {
    /// How many activities; at least 3 are made.
    pub count: usize,
    /// How long everything takes.
    pub scale: Scale,
    /// What appears.
    pub features: Features,
}

/// How long everything takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Days of 1,440 minutes, open for sixteen hours: three of them, more where the activities need them.
    Days,
    /// Days of forty units, at most three: for 4 to 12 activities, so that every start can be listed.
    Small,
}

/// Which parts of the model appear; a plain project with minimum lags and constant capacities remains.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(
    clippy::struct_excessive_bools,
    reason = "each is one part of the model, on or off by itself"
)]
pub struct Features {
    /// More than one mode, with costs.
    pub modes: bool,
    /// Chambers in states, with change times.
    pub states: bool,
    /// Demands at the edges and at intervals only.
    pub parts: bool,
    /// Capacities that change over time.
    pub shifts: bool,
    /// Calendars for starts, ends and wholes.
    pub calendars: bool,
    /// Waits until a gate opens.
    pub gates: bool,
    /// Resources kept from one activity to another.
    pub holds: bool,
    /// Maximum lags: straight on, within, ready together.
    pub gaps: bool,
    /// Releases and deadlines.
    pub bounds: bool,
    /// Due times.
    pub due: bool,
    /// Wishes.
    pub wishes: bool,
    /// Regular amounts below the capacity.
    pub overtime: bool,
    /// Loads to be spread.
    pub levels: bool,
    /// Announced starts.
    pub announced: bool,
    /// Activities that have already happened.
    pub happened: bool,
}

impl Features {
    /// Everything.
    pub const ALL: Self = Self::each(true);
    /// Nothing but the plain project.
    pub const NONE: Self = Self::each(false);
    /// The names of the features, for [`with`](Self::with).
    pub const NAMES: [&'static str; 15] = [
        "modes",
        "states",
        "parts",
        "shifts",
        "calendars",
        "gates",
        "holds",
        "gaps",
        "bounds",
        "due",
        "wishes",
        "overtime",
        "levels",
        "announced",
        "happened",
    ];

    const fn each(on: bool) -> Self {
        Self {
            modes: on,
            states: on,
            parts: on,
            shifts: on,
            calendars: on,
            gates: on,
            holds: on,
            gaps: on,
            bounds: on,
            due: on,
            wishes: on,
            overtime: on,
            levels: on,
            announced: on,
            happened: on,
        }
    }

    /// Returns these features and the one of that name, or `None` where there is no such feature.
    pub fn with(mut self, name: &str) -> Option<Self> {
        let feature = match name {
            "modes" => &mut self.modes,
            "states" => &mut self.states,
            "parts" => &mut self.parts,
            "shifts" => &mut self.shifts,
            "calendars" => &mut self.calendars,
            "gates" => &mut self.gates,
            "holds" => &mut self.holds,
            "gaps" => &mut self.gaps,
            "bounds" => &mut self.bounds,
            "due" => &mut self.due,
            "wishes" => &mut self.wishes,
            "overtime" => &mut self.overtime,
            "levels" => &mut self.levels,
            "announced" => &mut self.announced,
            "happened" => &mut self.happened,
            _ => return None,
        };
        *feature = true;
        Some(self)
    }
}

/// Returns an instance of `count` activities over days, with every feature, and its planted schedule.
pub fn generate(seed: u64, count: usize) -> (Instance, Vec<Placement>) {
    generate_as(
        seed,
        Asked {
            count,
            scale: Scale::Days,
            features: Features::ALL,
        },
    )
}

/// Returns an instance as it is asked for, and its planted schedule.
pub fn generate_as(seed: u64, asked: Asked) -> (Instance, Vec<Placement>) {
    let mut random = Random::new(seed);
    let asked = Asked {
        count: asked.count.max(3),
        ..asked
    };
    let planted = plant::plant(&mut random, asked);
    constrain::constrain(&mut random, asked.features, planted)
}

/// How long things are on a scale; ranges include both ends.
#[derive(Clone, Copy, Debug)]
struct Lengths {
    /// A day.
    day: Time,
    /// From the beginning of a day to opening.
    open: Time,
    /// From the beginning of a day to closing.
    close: Time,
    /// From the beginning of the last day to the end of the horizon.
    end: Time,
    /// Steps of a chain.
    chain: (usize, usize),
    /// Hands throughout.
    work: (Time, Time),
    /// On a place, looked after.
    heat: (Time, Time),
    /// In a chamber.
    bake: (Time, Time),
    /// Left alone.
    rest: (Time, Time),
    /// The least of a wait for a gate.
    wait: (Time, Time),
    /// What still follows the opening.
    then: (Time, Time),
    /// Hands at an edge.
    touch: Time,
    /// From one look to the next.
    every: Time,
    /// A look.
    look: Time,
    /// From one state to another.
    change: Time,
    /// What is short: the room left by a maximum, a release, a deadline.
    short: Time,
    /// Between starts tried.
    grid: Time,
}

impl Scale {
    fn lengths(self) -> Lengths {
        match self {
            Self::Days => Lengths {
                day: 1440,
                open: 6 * 60,
                close: 22 * 60,
                end: 19 * 60 + 30,
                chain: (5, 15),
                work: (5, 45),
                heat: (30, 150),
                bake: (15, 60),
                rest: (60, 300),
                wait: (240, 480),
                then: (0, 15),
                touch: 5,
                every: 30,
                look: 2,
                change: 20,
                short: 45,
                grid: 5,
            },
            Self::Small => Lengths {
                day: 40,
                open: 8,
                close: 36,
                end: 32,
                chain: (2, 5),
                work: (1, 5),
                heat: (4, 9),
                bake: (3, 7),
                rest: (4, 9),
                wait: (5, 10),
                then: (0, 2),
                touch: 1,
                every: 3,
                look: 1,
                change: 2,
                short: 4,
                grid: 1,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::Schedule;
    use crate::schedule::verify::verify;

    fn broken(instance: &Instance, placements: Vec<Placement>) -> Vec<String> {
        let schedule = Schedule {
            cost: crate::schedule::cost::cost(instance, &placements).total(),
            placements,
            ..Schedule::default()
        };
        verify(instance, &schedule)
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    #[test]
    fn what_is_planted_fits_at_every_size() {
        for (count, seeds) in [(3, 40), (50, 6), (100, 4), (300, 2), (1000, 1), (3000, 1)] {
            for seed in 0..seeds {
                let (instance, planted) = generate(seed, count);
                assert_eq!(instance.activities.len(), count);
                assert_eq!(broken(&instance, planted), [""; 0], "{count}, seed {seed}");
            }
        }
    }

    #[test]
    fn what_is_planted_fits_small_with_features_one_by_one() {
        let alone = Features::NAMES
            .iter()
            .filter_map(|name| Features::NONE.with(name));
        for features in alone.chain([Features::NONE, Features::ALL]) {
            for seed in 0..30 {
                for count in [4, 8, 12] {
                    let asked = Asked {
                        count,
                        scale: Scale::Small,
                        features,
                    };
                    let (instance, planted) = generate_as(seed, asked);
                    assert_eq!(instance.activities.len(), count);
                    assert!(instance.latest - instance.earliest <= 120);
                    let broken = broken(&instance, planted);
                    assert_eq!(broken, [""; 0], "{asked:?}, seed {seed}");
                }
            }
        }
    }

    #[test]
    fn every_feature_appears_where_asked_and_only_there() {
        let seen = |instance: &Instance| {
            let modes = || instance.activities.iter().flat_map(|it| &it.modes);
            let demands = || modes().flat_map(|it| &it.demands);
            let activities = || instance.activities.iter();
            [
                activities().any(|it| it.modes.len() > 1),
                modes().any(|it| !it.states.is_empty()),
                demands().any(|it| it.when != crate::schedule::Use::Whole),
                instance.resources.iter().any(|it| it.capacity.len() > 1),
                activities().any(|it| !it.calendars.is_empty()),
                modes().any(|it| matches!(it.duration, crate::schedule::Duration::Until { .. })),
                !instance.holds.is_empty(),
                instance.lags.iter().any(|it| it.most.is_some()),
                activities().any(|it| it.deadline.is_some()),
                activities().any(|it| it.due.is_some()),
                !instance.wishes.is_empty(),
                instance.resources.iter().any(|it| it.regular.is_some()),
                !instance.levels.is_empty(),
                activities().any(|it| it.announced.is_some()),
                activities().any(|it| it.fixed.is_some()),
            ]
        };
        let (instance, _) = generate(1, 50);
        assert_eq!(seen(&instance), [true; 15]);
        for (index, name) in Features::NAMES.iter().enumerate() {
            let features = Features::NONE.with(name).expect("a feature");
            let asked = |seed| Asked {
                count: 40 + seed as usize,
                scale: Scale::Days,
                features,
            };
            let instances = (0..3).map(|seed| generate_as(seed, asked(seed)).0);
            let mut any = [false; 15];
            for instance in instances {
                for (any, seen) in any.iter_mut().zip(seen(&instance)) {
                    *any |= seen;
                }
            }
            let mut expected = [false; 15];
            expected[index] = true;
            assert_eq!(any, expected, "{name}");
        }
        assert_eq!(Features::NONE.with("nothing"), None);
    }

    #[test]
    fn the_same_seed_gives_the_same_and_another_another() {
        assert_eq!(generate(7, 60), generate(7, 60));
        assert_ne!(generate(7, 60), generate(8, 60));
    }
}
