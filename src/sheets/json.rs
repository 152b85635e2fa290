//! The plan as JSON for other programs.
//!
//! One object; `format` says which version of this description holds. A later version may add fields, and
//! changes the name when it changes the meaning of one. Fields and steps always stand in the same order, so
//! two outputs can be compared line by line.
//!
//! A *moment* is `{"at": "2026-11-26T14:05:00+01:00", "minute": -3205}`: RFC 3339 on the kitchen's clock with
//! its offset, and whole elapsed minutes from service (negative before it). `null` stands for what there is
//! none of. Names are given exactly as the menu writes them: whoever prints them makes them harmless.
//!
//! ```text
//! {
//!   "format": "countback-plan-1",
//!   "outcome": "planned" | "too-late" | "impossible",
//!   "because": [sentence, …],            why there is no plan; empty when there is one
//!   "menu": {"id", "name", "covers"},
//!   "service": {"at", "minute": 0, "zone"},
//!   "now": moment,
//!   "until": moment | null,              only steps to start before this moment are listed
//!   "quality": null | {                  how good the plan is
//!     "verdict": "proved-best" | "at-most" | "no-proof",
//!     "sentence",                        the same for a cook
//!     "at_most": null | {                what a better plan could gain at most, each taken alone
//!       "later_minutes", "overtime_minutes", "past_best_minutes"},
//!     "cost", "bound"},                  in units of the cost formula; no plan costs less than the bound
//!   "chance": null | {                   how likely it is in time; null where the cards leave nothing to chance
//!     "samples",                         evenings laid out
//!     "whole": {
//!       "in_time",                       in how many of them
//!       "late_because": [{"key", "in"}], steps that overran where it was late, and in how many
//!       "margin_minutes": number | null, so much earlier makes it 95 of 100
//!       "late_by_minutes": number | null, how late at most in 95 of 100, where that is late
//!       "sentences": [sentence, …]},
//!     "courses": [{"id", …}], "dishes": [{"id", …}],   the same of each
//!     "broken": [{"key", "in"}]},        steps that could not keep a gap or a time on their card
//!   "late": [                            when too late: what should have started, the earliest first
//!     {"key", "name", "latest": moment, "minutes_ago"}],
//!   "ways_out": [                        when there is no plan: what would make one possible, the smallest change
//!                                        first; each was planned
//!     {"what": "staying-on" | "kit" | "hands" | "earlier" | "hands-throughout" | "later" | "without",
//!      "says",
//!      "kit": name | null,                one more of it
//!      "dish": id | null,                 left out
//!      "minutes": number | null,          earlier or later
//!      "start": moment | null, "end": moment | null,   of the shift with one more pair of hands, or beyond it
//!      "begins": moment | null,           when the first step to come then starts
//!      "moved": number | null}],          steps at other times than those that would have been needed
//!   "courses": [{"id", "name", "at": moment, "dishes": [dish id, …]}],
//!   "dishes": [{"id", "name", "course", "batches", "portions", "at_pass": moment, "ready": moment,
//!               "past_best_minutes": number | null,
//!               "late": null | {           only on a forecast: how late at the pass, and why
//!                 "minutes": number | null, null where left out of what can still be; its steps are then left out
//!                 "because"}}],
//!   "steps": [                           in the order of their starts; empty unless planned
//!     {"key",                            its name in the book and on the command line
//!      "dish", "step",                   their ids
//!      "name",
//!      "start": moment, "end": moment,   the real times of what has happened
//!      "can_slip_until": moment,
//!      "hands": [{"start": moment, "end": moment, "hands", "cooks": [name, …]}],
//!      "someone_about": bool,            somebody must be in the building throughout
//!      "kit": [{"name", "count", "start": moment, "end": moment}],
//!      "station": name | null,
//!      "cautions": [name, …],            what can hurt someone at it; see the program's own words for each
//!      "reason",                         why it stands at this time
//!      "follows": [key, …], "followed_by": [key, …],
//!      "told": moment | null,            the start the cooks were told, where it waits and starts at another now
//!      "needed_by": moment | null,       only on a forecast: when it would have been needed, where that has passed
//!      "state": "late" | "long" | "running" | "due" | "unticked" | "ready" | "waiting" | "done"
//!        | "skipped",
//!      "happened": null
//!        | {"what": "started", "start": moment,
//!           "expected": moment | null}   when it will be over, where that has been said
//!        | {"what": "done", "start": moment | null, "end": moment}
//!        | {"what": "skipped", "at": moment, "reason"}}],
//!   "overtime": [                        who works beyond their shifts, and when
//!     {"cook", "start": moment, "end": moment}],
//!   "reminders": [                       what must be ordered or done ahead, beside the steps, in the order of time
//!     {"at": moment, "past": bool,        past where it is not seen to
//!      "what": "order" | "ahead", "says", "dishes": [dish id, …], "seen_to": moment | null,
//!      "late_minutes": number | null}]   by how much too late for the step that takes it
//!   "forecast": null | {                 when too late: what can still be, from now on, as little late as was found
//!     "dishes": […], "steps": […], "overtime": […],   as above
//!     "breaks": bool}                    whether a longest gap or a keeping limit does not hold on it
//! }
//! ```

use std::io;

use serde::Serialize;

use super::order::{OfReminder, errands_of};
use super::page::cautions;
use super::text::to_start;
use crate::menu::{Dish, Menu};
use crate::plan::{
    Chance, Done, InTime, Plan, PlanOutcome, PlannedStep, StepIndex, Verdict, Way, WayOut,
};
use crate::prep::{ErrandAt, PrepState, Progress, standing};
use crate::safety::caution_name;
use crate::time::{Minute, ServiceTime};

/// Names this version of the format.
const FORMAT: &str = "countback-plan-1";

/// What is to be written.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// Service and zone.
    pub service: ServiceTime,
    /// Now.
    pub now: Minute,
    /// Only what has to start before this, where that is asked.
    pub until: Option<Minute>,
    /// The chances of the plan, where they have been reckoned.
    pub chance: Option<&'a Chance>,
    /// The ways out of a menu that cannot be done, where they have been looked for.
    pub ways_out: &'a [WayOut],
}

/// Writes the outcome of planning as one JSON object and a line end.
pub fn write(
    outcome: &PlanOutcome,
    menu: &Menu,
    prep: &PrepState,
    asked: Asked<'_>,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let mut document = Document::new(outcome, menu, prep, asked);
    let ways = asked.ways_out;
    document.ways_out = ways
        .iter()
        .map(|way| of_way(way, menu, asked.service))
        .collect();
    serde_json::to_writer_pretty(&mut *out, &document).map_err(io::Error::from)?;
    writeln!(out)
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    outcome: &'static str,
    because: Vec<String>,
    menu: OfMenu<'a>,
    service: OfService,
    now: Moment,
    until: Option<Moment>,
    quality: Option<OfQuality>,
    chance: Option<OfChance>,
    late: Vec<OfLate<'a>>,
    ways_out: Vec<OfWay<'a>>,
    courses: Vec<OfCourse<'a>>,
    dishes: Vec<OfDish<'a>>,
    steps: Vec<OfStep<'a>>,
    overtime: Vec<OfOvertime<'a>>,
    reminders: Vec<OfReminder<'a>>,
    forecast: Option<OfForecast<'a>>,
}

#[derive(Serialize)]
struct OfForecast<'a> {
    dishes: Vec<OfDish<'a>>,
    steps: Vec<OfStep<'a>>,
    overtime: Vec<OfOvertime<'a>>,
    breaks: bool,
}

#[derive(Serialize)]
struct OfOvertime<'a> {
    cook: &'a str,
    start: Moment,
    end: Moment,
}

#[derive(Serialize)]
pub(super) struct OfMenu<'a> {
    id: &'a str,
    name: &'a str,
    covers: u32,
}

#[derive(Serialize)]
struct OfService {
    #[serde(flatten)]
    moment: Moment,
    zone: &'static str,
}

/// A moment, as it is written for programs.
#[derive(Serialize)]
pub(super) struct Moment {
    pub(super) at: String,
    pub(super) minute: i32,
}

#[derive(Serialize)]
struct OfQuality {
    verdict: &'static str,
    sentence: String,
    at_most: Option<OfGain>,
    cost: i64,
    bound: i64,
}

#[derive(Serialize)]
struct OfGain {
    #[serde(rename = "later_minutes")]
    later: i32,
    #[serde(rename = "overtime_minutes")]
    overtime: i32,
    #[serde(rename = "past_best_minutes")]
    past_best: i32,
}

#[derive(Serialize)]
struct OfChance {
    samples: u32,
    whole: OfInTime,
    courses: Vec<Named<OfInTime>>,
    dishes: Vec<Named<OfInTime>>,
    broken: Vec<OfSamples>,
}

#[derive(Serialize)]
struct Named<T> {
    id: String,
    #[serde(flatten)]
    of: T,
}

#[derive(Serialize)]
struct OfInTime {
    in_time: u32,
    late_because: Vec<OfSamples>,
    margin_minutes: Option<i32>,
    late_by_minutes: Option<i32>,
    sentences: Vec<String>,
}

#[derive(Serialize)]
struct OfSamples {
    key: String,
    r#in: u32,
}

#[derive(Serialize)]
struct OfLate<'a> {
    key: String,
    name: &'a str,
    latest: Moment,
    minutes_ago: i32,
}

#[derive(Serialize)]
struct OfWay<'a> {
    what: &'static str,
    says: &'a str,
    kit: Option<&'a str>,
    dish: Option<&'a str>,
    minutes: Option<i32>,
    start: Option<Moment>,
    end: Option<Moment>,
    begins: Option<Moment>,
    moved: Option<usize>,
}

#[derive(Serialize)]
struct OfCourse<'a> {
    id: &'a str,
    name: &'a str,
    at: Moment,
    dishes: Vec<&'a str>,
}

#[derive(Serialize)]
struct OfDish<'a> {
    id: &'a str,
    name: &'a str,
    course: &'a str,
    batches: u32,
    portions: u32,
    at_pass: Moment,
    ready: Moment,
    past_best_minutes: Option<i32>,
    late: Option<OfLateness<'a>>,
}

#[derive(Serialize)]
struct OfLateness<'a> {
    minutes: Option<i32>,
    because: &'a str,
}

#[derive(Serialize)]
struct OfStep<'a> {
    key: String,
    dish: &'a str,
    step: &'a str,
    name: &'a str,
    start: Moment,
    end: Moment,
    can_slip_until: Moment,
    hands: Vec<OfHands<'a>>,
    someone_about: bool,
    kit: Vec<OfKit<'a>>,
    station: Option<&'a str>,
    cautions: Vec<&'static str>,
    reason: &'a str,
    follows: Vec<String>,
    followed_by: Vec<String>,
    told: Option<Moment>,
    needed_by: Option<Moment>,
    state: &'static str,
    happened: Option<OfHappened>,
}

#[derive(Serialize)]
struct OfHands<'a> {
    start: Moment,
    end: Moment,
    hands: u32,
    cooks: &'a [String],
}

#[derive(Serialize)]
struct OfKit<'a> {
    name: &'a str,
    count: u32,
    start: Moment,
    end: Moment,
}

#[derive(Serialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
enum OfHappened {
    Started {
        start: Moment,
        expected: Option<Moment>,
    },
    Done {
        start: Option<Moment>,
        end: Moment,
    },
    Skipped {
        at: Moment,
        reason: String,
    },
}

pub(super) fn of_menu(menu: &Menu) -> OfMenu<'_> {
    OfMenu {
        id: &menu.id,
        name: &menu.name,
        covers: menu.covers,
    }
}

pub(super) fn moment(service: ServiceTime, minute: Minute) -> Moment {
    Moment {
        at: service.timestamp(minute).rfc3339_in(service.zone()),
        minute: minute.0,
    }
}

fn overtime(plan: &Plan) -> Vec<OfOvertime<'_>> {
    let cooks = plan.overtime.iter();
    let spans = cooks.flat_map(|cook| cook.windows.iter().map(move |window| (cook, window)));
    let of = spans.map(|(cook, window)| OfOvertime {
        cook: &cook.cook,
        start: moment(plan.service, window.start),
        end: moment(plan.service, window.end),
    });
    of.collect()
}

impl<'a> Document<'a> {
    fn new(outcome: &'a PlanOutcome, menu: &'a Menu, prep: &PrepState, asked: Asked<'_>) -> Self {
        let service = asked.service;
        let mut document = Self {
            format: FORMAT,
            outcome: "planned",
            because: Vec::new(),
            menu: of_menu(menu),
            service: OfService {
                moment: moment(service, Minute::SERVICE),
                zone: service.zone().name(),
            },
            now: moment(service, asked.now),
            until: asked.until.map(|until| moment(service, until)),
            quality: None,
            chance: None,
            late: Vec::new(),
            ways_out: Vec::new(),
            courses: courses(menu, service),
            dishes: Vec::new(),
            steps: Vec::new(),
            overtime: Vec::new(),
            reminders: Vec::new(),
            forecast: None,
        };
        let listed = |plan: &'a Plan| -> Vec<OfStep<'a>> {
            let listed = if let Some(until) = asked.until {
                to_start(plan, prep, until)
            } else {
                let steps = plan.order.iter().copied();
                steps.filter(|&step| !plan.is_given_up(step)).collect()
            };
            listed
                .into_iter()
                .map(|step| of_step(plan, menu, prep, step, asked.now))
                .collect()
        };
        match outcome {
            PlanOutcome::Planned(plan) => {
                document.quality = Some(quality(plan, menu));
                document.chance = asked.chance.map(|chance| of_chance(chance, plan, menu));
                document.dishes = dishes(plan, menu);
                document.steps = listed(plan);
                document.overtime = overtime(plan);
                let listed = |it: &ErrandAt| asked.until.is_none_or(|until| it.at < until);
                document.reminders = errands_of(menu, plan, prep)
                    .into_iter()
                    .filter(listed)
                    .map(|errand| OfReminder::of(&errand, menu, (service, asked.now)))
                    .collect();
            }
            PlanOutcome::TooLate {
                needed,
                forecast,
                late,
                because,
            } => {
                document.outcome = "too-late";
                document.because.clone_from(because);
                document.forecast = forecast.as_deref().map(|plan| OfForecast {
                    dishes: dishes(plan, menu),
                    steps: listed(plan),
                    overtime: overtime(plan),
                    breaks: plan.breaks,
                });
                document.late = late
                    .iter()
                    .map(|late| OfLate {
                        key: needed.steps[late.step].key.to_string(),
                        name: &needed.steps[late.step].name,
                        latest: moment(service, late.latest),
                        minutes_ago: (asked.now - late.latest).0,
                    })
                    .collect();
            }
            PlanOutcome::Impossible(because) => {
                document.outcome = "impossible";
                document.because.clone_from(because);
            }
        }
        document
    }
}

fn of_way<'a>(out: &'a WayOut, menu: &'a Menu, service: ServiceTime) -> OfWay<'a> {
    let kit = |place: usize| menu.kitchen.kit.get(place).map(|kit| kit.name.as_str());
    let dish = |place: usize| menu.dishes.get(place).map(|dish| dish.id.as_str());
    let mut way = OfWay {
        what: "",
        says: &out.says,
        kit: None,
        dish: None,
        minutes: None,
        start: None,
        end: None,
        begins: out.gives.begins.map(|minute| moment(service, minute)),
        moved: out.gives.moved,
    };
    match out.way {
        Way::Kit(place) => (way.what, way.kit) = ("kit", kit(place)),
        Way::StayingOn(shift) => {
            way.what = "staying-on";
            way.start = Some(moment(service, shift.start));
            way.end = Some(moment(service, shift.end));
        }
        Way::Hands(shift) => {
            way.what = "hands";
            way.start = Some(moment(service, shift.start));
            way.end = Some(moment(service, shift.end));
        }
        Way::Earlier(by) => (way.what, way.minutes) = ("earlier", Some(by.0)),
        Way::HandsThroughout(_) => way.what = "hands-throughout",
        Way::Later(by) => (way.what, way.minutes) = ("later", Some(by.0)),
        Way::Without(place) => (way.what, way.dish) = ("without", dish(place)),
    }
    way
}

fn quality(plan: &Plan, menu: &Menu) -> OfQuality {
    let verdict = Verdict::of(menu, plan);
    let at_most = match verdict {
        Verdict::AtMost(gain) => Some(OfGain {
            later: gain.later.0,
            overtime: gain.overtime.0,
            past_best: gain.past_best.0,
        }),
        Verdict::Best | Verdict::Unproved => None,
    };
    OfQuality {
        verdict: verdict.word(),
        sentence: verdict.sentence(),
        at_most,
        cost: plan.quality.cost,
        bound: plan.quality.bound,
    }
}

fn of_chance(chance: &Chance, plan: &Plan, menu: &Menu) -> OfChance {
    let counted = |steps: &[(StepIndex, u32)]| -> Vec<OfSamples> {
        let steps = steps.iter().filter_map(|&(step, samples)| {
            let key = plan.steps.get(step)?.key.to_string();
            Some(OfSamples { key, r#in: samples })
        });
        steps.collect()
    };
    let in_time = |of: &InTime| OfInTime {
        in_time: of.in_time,
        late_because: counted(&of.late_because),
        margin_minutes: of.margin.map(|margin| margin.0),
        late_by_minutes: of.late_by.map(|late| late.0),
        sentences: of.sentences(menu, plan),
    };
    let named = |(id, of): (&String, &InTime)| Named {
        id: id.clone(),
        of: in_time(of),
    };
    let courses = menu.courses.iter().map(|course| &course.id);
    let dishes = menu.dishes.iter().map(|dish| &dish.id);
    OfChance {
        samples: chance.samples,
        whole: in_time(&chance.whole),
        courses: courses.zip(&chance.courses).map(named).collect(),
        dishes: dishes.zip(&chance.dishes).map(named).collect(),
        broken: counted(&chance.broken),
    }
}

fn courses(menu: &Menu, service: ServiceTime) -> Vec<OfCourse<'_>> {
    menu.courses
        .iter()
        .map(|course| OfCourse {
            id: &course.id,
            name: &course.name,
            at: moment(service, Minute::SERVICE + course.offset),
            dishes: menu
                .dishes
                .iter()
                .filter(|dish| menu.course_of(dish).id == course.id)
                .map(|dish| dish.id.as_str())
                .collect(),
        })
        .collect()
}

fn dishes<'a>(plan: &'a Plan, menu: &'a Menu) -> Vec<OfDish<'a>> {
    let of_menu = |place: usize| -> Option<&Dish> { menu.dishes.get(place) };
    plan.dishes
        .iter()
        .filter_map(|dish| {
            let card = of_menu(dish.dish)?;
            Some(OfDish {
                id: &card.id,
                name: &dish.name,
                course: &menu.course_of(card).id,
                batches: dish.batches,
                portions: dish.portions,
                at_pass: moment(plan.service, dish.at_pass),
                ready: moment(plan.service, dish.ready),
                past_best_minutes: dish.past_best.map(|minutes| minutes.0),
                late: dish.late.as_ref().map(|late| OfLateness {
                    minutes: late.by.map(|by| by.0),
                    because: &late.because,
                }),
            })
        })
        .collect()
}

fn of_step<'a>(
    plan: &'a Plan,
    menu: &Menu,
    prep: &PrepState,
    index: StepIndex,
    now: Minute,
) -> OfStep<'a> {
    let step = &plan.steps[index];
    let at = |minute| moment(plan.service, minute);
    let keys = |steps: &[StepIndex]| {
        steps
            .iter()
            .map(|&step| plan.steps[step].key.to_string())
            .collect()
    };
    OfStep {
        key: step.key.to_string(),
        dish: &step.key.dish,
        step: &step.key.step,
        name: &step.name,
        start: at(step.window.start),
        end: at(step.window.end),
        can_slip_until: at(step.can_slip_until),
        hands: step
            .hands
            .iter()
            .map(|span| OfHands {
                start: at(span.window.start),
                end: at(span.window.end),
                hands: span.hands,
                cooks: &span.cooks,
            })
            .collect(),
        someone_about: step.someone_about,
        kit: step
            .kit
            .iter()
            .map(|kit| OfKit {
                name: &kit.name,
                count: kit.count,
                start: at(kit.window.start),
                end: at(kit.window.end),
            })
            .collect(),
        station: step.station.as_deref(),
        cautions: cautions(menu, step).into_iter().map(caution_name).collect(),
        reason: &step.reason,
        follows: keys(&step.follows),
        followed_by: keys(&step.followed_by),
        told: step.told.map(at),
        needed_by: step.needed_by.map(at),
        state: standing(plan, prep, index, now).word(),
        happened: happened(plan, prep, step),
    }
}

fn happened(plan: &Plan, prep: &PrepState, step: &PlannedStep) -> Option<OfHappened> {
    let at = |minute| moment(plan.service, minute);
    Some(match step.happened? {
        Done::Started(start) => OfHappened::Started {
            start: at(start),
            expected: None,
        },
        Done::Expected { since, end } => OfHappened::Started {
            start: at(since),
            expected: Some(at(end)),
        },
        Done::Finished(start, end) => OfHappened::Done {
            start: start.map(at),
            end: at(end),
        },
        Done::Skipped(minute) => OfHappened::Skipped {
            at: at(minute),
            reason: match prep.progress(&step.key) {
                Progress::Skipped { reason, .. } => reason,
                _ => String::new(),
            },
        },
    })
}
