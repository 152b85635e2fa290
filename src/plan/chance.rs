//! How likely each dish, each course and the whole banquet is at the pass in time, and what to do about it.
//!
//! The cards say how long each step may take ([`spreads`]); the engine lays out thousands of evenings in the order
//! of the plan ([`crate::schedule::chance`] says by which rules) and counts. A range without a usual time is taken
//! as equally likely all over, three points as the beta distribution of PERT. What has happened stands, what runs
//! is given the times it can still take, and nobody starts a step before the time on the plan.
//!
//! Left out on purpose: a chance for a menu that cannot be done in time as it stands, and any chance where every
//! card gives one length: a hundred of a hundred would be said of the cards, not of the evening.

use super::from_menu::{Asked, Bound, Bridge};
use super::run_sheet::{Done, Plan, StepIndex};
use super::spread::spreads;
use crate::menu::Menu;
use crate::schedule::chance::{self, Outlook, Question, Samples, Spread, Target};
use crate::schedule::cost::cost;
use crate::schedule::{ActivityId, Edge, Placement, Schedule, verify};
use crate::time::Minutes;

/// How many evenings are laid out, and which.
const SAMPLES: Samples = Samples {
    count: 10_000,
    seed: 1,
};

/// The chance a suggested margin is for, of a thousand.
pub const WANTED: u32 = 950;

/// Steps named at most where several often make a dish late.
const NAMED: usize = 2;

/// What a plan's chances are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chance {
    /// How many evenings were laid out.
    pub samples: u32,
    /// One for each dish of the menu, in its order.
    pub dishes: Vec<InTime>,
    /// One for each course of the menu, in its order: every dish of it in time.
    pub courses: Vec<InTime>,
    /// Everything in time.
    pub whole: InTime,
    /// Steps of which a longest gap or a time on the card comes out broken, with in how many evenings; the most
    /// often first.
    pub broken: Vec<(StepIndex, u32)>,
}

/// How likely something is in time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InTime {
    /// In how many evenings it is.
    pub in_time: u32,
    /// Of how many.
    pub samples: u32,
    /// Steps that overran where it was late, with in how many evenings; the most often first.
    pub late_because: Vec<(StepIndex, u32)>,
    /// How much earlier all that leads to it would have to be planned, for [`WANTED`]; none where it is that
    /// likely already, or where that does not help.
    pub margin: Option<Minutes>,
    /// How late it is at most in 95 of 100 evenings, where it is late in more than 5; none where it may miss an
    /// opening that never comes again.
    pub late_by: Option<Minutes>,
}

impl InTime {
    /// Returns the chance in words: "83 %", "over 99 %", "under 1 %".
    pub fn percent(&self) -> String {
        // Ten thousand evenings all in time are no promise of the next.
        match self.of_thousand() {
            995.. => "over 99 %".to_owned(),
            0..5 => "under 1 %".to_owned(),
            some => format!("{} %", (some + 5) / 10),
        }
    }

    /// Returns the chance for a narrow column: "83 %", ">99 %", "<1 %".
    pub fn short(&self) -> String {
        self.percent().replace("over ", ">").replace("under ", "<")
    }

    /// Returns in how many of a thousand evenings it is in time, rounded down.
    pub fn of_thousand(&self) -> u32 {
        (u64::from(self.in_time) * 1000 / u64::from(self.samples.max(1))) as u32
    }

    /// Returns whether it is as likely as is wanted.
    pub fn is_likely(&self) -> bool {
        u64::from(self.in_time) * 1000 >= u64::from(self.samples) * u64::from(WANTED)
    }

    /// Returns what to say of it: how likely, because of what it is late, and which margin would help.
    pub fn sentences(&self, menu: &Menu, plan: &Plan) -> Vec<String> {
        let mut said = vec![format!("at the pass in time: {}", self.percent())];
        said.extend(self.remarks(menu, plan));
        said
    }

    /// Returns what to say beside the chance itself: because of what it is late, and which margin would help.
    pub fn remarks(&self, menu: &Menu, plan: &Plan) -> Vec<String> {
        let mut said = Vec::new();
        let late = self.samples - self.in_time;
        // A handful of evenings say nothing of what is to blame.
        if u64::from(late) * 1000 >= u64::from(self.samples) * 5 {
            let causes: Vec<String> = self
                .late_because
                .iter()
                .take(NAMED)
                .filter(|(_, count)| u64::from(*count) * 5 >= u64::from(late))
                .map(|&(step, count)| {
                    format!(
                        "{} ({} of 100 times)",
                        named(menu, plan, step),
                        (u64::from(count) * 100 + u64::from(late) / 2) / u64::from(late)
                    )
                })
                .collect();
            if !causes.is_empty() {
                said.push(format!("most often late because of {}", causes.join(", ")));
            }
        }
        if !self.is_likely() {
            said.push(match (self.margin, self.late_by) {
                (Some(margin), _) => format!("{margin} more margin would make that 95 %"),
                (None, Some(late)) => format!(
                    "no margin that still fits makes that 95 %; it is at most {late} late in 95 of 100"
                ),
                (None, None) => {
                    "no margin makes that 95 %: what misses its opening waits too long".to_owned()
                }
            });
        }
        said
    }
}

/// Returns a step by its name and dish.
fn named(menu: &Menu, plan: &Plan, step: StepIndex) -> String {
    let step = &plan.steps[step];
    let dish = menu.dishes.get(step.dish);
    format!(
        "\"{}\" of {}",
        step.name,
        dish.map_or(step.key.dish.as_str(), |dish| &dish.name)
    )
}

/// Returns the chances of a plan that [`plan()`](super::plan()) gave for the same menu, happenings and minute;
/// none where no step to come may take more than one length, or where `stop` says that nobody waits any more.
pub fn chance(asked: Asked<'_>, plan: &Plan, stop: &dyn Fn() -> bool) -> Option<Chance> {
    let (menu, now) = (asked.menu, asked.now);
    let told = plan.announced();
    let asked = Asked {
        told: Some(&told),
        shown: None,
        ..asked
    };
    let mut bridge = Bridge::new(asked, Bound::Now(now));
    let placements = placed(&bridge, plan)?;
    let mut lengths = vec![Spread::Planned; bridge.instance.activities.len()];
    let seconds = spreads(menu, plan);
    for (index, spread) in seconds.into_iter().enumerate() {
        let Some(spread) = spread.filter(|spread| !spread.is_certain()) else {
            continue;
        };
        match bridge.happened[index] {
            // Whoever says when it will be over knows better than its card.
            Some(Done::Finished(..) | Done::Skipped(_) | Done::Expected { .. }) => continue,
            // It has started; when it ends is open.
            Some(Done::Started(_)) => {
                let fixed = &mut bridge.instance.activities[index].fixed;
                *fixed = fixed.map(|(start, _)| (start, None));
            }
            None => {}
        }
        let minutes = |seconds: i64| Minutes::from_seconds_rounded_up(seconds).0;
        let (shortest, longest) = (minutes(spread.shortest), minutes(spread.longest));
        lengths[index] = match spread.usual {
            Some(usual) => Spread::Points {
                shortest,
                usual: minutes(usual),
                longest,
            },
            None => Spread::Range { shortest, longest },
        };
    }
    if lengths.iter().all(|spread| *spread == Spread::Planned) {
        return None;
    }
    let targets = targets(menu, plan);
    let question = Question {
        instance: &bridge.instance,
        placements: &placements,
        spreads: &lengths,
        targets: &targets,
        now: Some(now.0),
    };
    let answer = chance::chance_unless(&question, SAMPLES, stop)?;
    let margins = chance::margins_unless(&question, &answer, WANTED, SAMPLES, stop)?;
    let in_time = |outlook: &Outlook, margin: Option<chance::Margin>| InTime {
        in_time: outlook.in_time,
        samples: outlook.samples,
        late_because: outlook
            .causes
            .iter()
            .filter(|(activity, _)| activity.0 < plan.steps.len())
            .map(|&(activity, count)| (activity.0, count))
            .collect(),
        margin: margin.map(|margin| Minutes(margin.earlier)),
        late_by: outlook
            .quantile(WANTED)
            .filter(|&late| late > 0)
            .map(Minutes),
    };
    let mut outlooks = answer
        .targets
        .iter()
        .zip(margins)
        .map(|(outlook, margin)| in_time(outlook, margin));
    let dishes = outlooks.by_ref().take(plan.dishes.len()).collect();
    let courses: Vec<InTime> = outlooks.collect();
    // What helps every course helps the whole.
    let helps = courses
        .iter()
        .all(|course| course.is_likely() || course.margin.is_some());
    let mut whole = in_time(&answer.all, None);
    if helps && !whole.is_likely() {
        whole.margin = courses.iter().filter_map(|course| course.margin).max();
    }
    Some(Chance {
        samples: SAMPLES.count,
        dishes,
        courses,
        whole,
        broken: broken(&bridge, &answer),
    })
}

/// Returns the dishes, then the courses, each with what must be over by when.
fn targets(menu: &Menu, plan: &Plan) -> Vec<Target> {
    let ends = |dishes: &mut dyn Iterator<Item = usize>| -> Vec<ActivityId> {
        dishes
            .flat_map(|dish| plan.dishes[dish].steps.iter().map(|&step| ActivityId(step)))
            .collect()
    };
    let dishes = plan.dishes.iter().enumerate().map(|(index, dish)| Target {
        ends: ends(&mut std::iter::once(index)),
        due: dish.at_pass.0,
    });
    let courses = menu.courses.iter().zip(&plan.courses).map(|(of, course)| {
        let mut in_it = (0..plan.dishes.len()).filter(|&dish| {
            let dish = menu.dishes.get(plan.dishes[dish].dish);
            dish.is_some_and(|dish| menu.course_of(dish).id == of.id)
        });
        Target {
            ends: ends(&mut in_it),
            due: course.at.0,
        }
    });
    dishes.chain(courses).collect()
}

/// Returns where a plan puts the activities of its instance; none where it does not keep the rules of this one.
fn placed(bridge: &Bridge<'_>, plan: &Plan) -> Option<Vec<Placement>> {
    let instance = &bridge.instance;
    let doings = bridge.expanded.doings.len();
    if plan.steps.len() != doings {
        return None;
    }
    let mut placements: Vec<Placement> = Vec::with_capacity(instance.activities.len());
    for (index, activity) in instance.activities.iter().enumerate() {
        let (mode, start) = if index < doings {
            let step = &plan.steps[index];
            (mode(bridge, plan, index)?, step.window.start.0)
        } else if let Some((at, _)) = activity.fixed {
            (0, at)
        } else {
            // A wait for a night begins with the edge it is bound to.
            let bound = instance.lags.iter().find(|lag| {
                lag.to == (ActivityId(index), Edge::Start) && lag.most == Some(lag.least)
            })?;
            let from = placements.get(bound.from.0.0)?;
            let edge = match bound.from.1 {
                Edge::Start => from.start,
                Edge::End => from.end,
            };
            (0, edge + bound.least)
        };
        let end = match activity.fixed {
            Some((_, Some(end))) => end,
            _ => instance.end_of(activity.modes.get(mode)?, start)?,
        };
        placements.push(Placement { mode, start, end });
    }
    let total = cost(instance, &placements).total();
    let schedule = Schedule {
        placements,
        cost: total,
        bound: total,
        ..Schedule::default()
    };
    verify::verify(instance, &schedule)
        .is_empty()
        .then_some(schedule.placements)
}

/// Returns the mode in which a plan does a step.
fn mode(bridge: &Bridge<'_>, plan: &Plan, index: usize) -> Option<usize> {
    let step = &plan.steps[index];
    let manners = &bridge.manners[index];
    if manners.len() == 1 {
        return Some(0);
    }
    let ovens: Vec<(&str, u32)> = step
        .kit
        .iter()
        .filter_map(|kit| Some((kit.name.as_str(), kit.which?)))
        .collect();
    manners.iter().position(|manner| {
        let way = step.way.as_ref().map(|way| way.place);
        let uses = |name: &str, which: u32| ovens.contains(&(name, which));
        manner.way == way
            && manner.ovens.iter().all(|oven| {
                let name = &bridge.menu.kitchen.kit[oven.kit].name;
                uses(name, oven.unit as u32 + 1)
            })
    })
}

/// Returns the steps of which a gap or a time on the card comes out broken.
fn broken(bridge: &Bridge<'_>, answer: &chance::Chance) -> Vec<(StepIndex, u32)> {
    let doings = bridge.expanded.doings.len();
    let mut counts: Vec<u32> = vec![0; doings];
    let mut count = |activity: ActivityId, times: u32| {
        if let Some(most) = counts.get_mut(activity.0) {
            *most = (*most).max(times);
        }
    };
    for &(lag, times) in &answer.broken {
        let lag = &bridge.instance.lags[lag];
        // Of a gap the step that comes too late; of a dish that keeps too short, the step that made it.
        let of = if lag.to.0.0 < doings {
            lag.to.0
        } else {
            lag.from.0
        };
        let late_for_its_course = lag.to.0.0 >= doings && lag.most.is_none();
        if !late_for_its_course {
            count(of, times);
        }
    }
    for &(activity, times) in &answer.overdue {
        count(activity, times);
    }
    let mut found: Vec<(StepIndex, u32)> = counts
        .into_iter()
        .enumerate()
        .filter(|&(_, times)| times > 0)
        .collect();
    found.sort_by_key(|&(step, times)| (std::cmp::Reverse(times), step));
    found
}

impl Chance {
    /// Returns what to say of a plan's chances, a sentence a line: the whole, then each dish that is not as likely
    /// as is wanted, then gaps that are often broken.
    pub fn sentences(&self, menu: &Menu, plan: &Plan) -> Vec<String> {
        let mut said = vec![format!(
            "everything {}",
            self.whole.sentences(menu, plan).join("; ")
        )];
        for (dish, in_time) in plan.dishes.iter().zip(&self.dishes) {
            said.push(format!(
                "{} {}",
                dish.name,
                in_time.sentences(menu, plan).join("; ")
            ));
        }
        said.extend(self.broken_sentences(menu, plan));
        said
    }

    /// Returns the steps that often cannot keep a gap or a time on their card, a sentence each.
    pub fn broken_sentences(&self, menu: &Menu, plan: &Plan) -> Vec<String> {
        // Less often than one evening in twenty is not worth a line.
        let often = |times: u32| u64::from(times) * 20 >= u64::from(self.samples);
        let broken = self.broken.iter().filter(|(_, times)| often(*times));
        broken
            .map(|&(step, times)| {
                format!(
                    "{} cannot keep a gap or a time on its card in {} of 100 evenings",
                    named(menu, plan, step),
                    u64::from(times) * 100 / u64::from(self.samples.max(1))
                )
            })
            .collect()
    }
}
