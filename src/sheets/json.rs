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
//!   "late": [                            when too late: what should have started, the earliest first
//!     {"key", "name", "latest": moment, "minutes_ago"}],
//!   "ways_out": [                        when there is no plan: what would make one possible, the smallest change
//!                                        first; each was planned
//!     {"what": "kit" | "hands" | "earlier" | "hands-throughout" | "later" | "without",
//!      "says",
//!      "kit": name | null,                one more of it
//!      "dish": id | null,                 left out
//!      "minutes": number | null,          earlier or later
//!      "start": moment | null, "end": moment | null,   of the shift with one more pair of hands
//!      "begins": moment | null,           when the first step to come then starts
//!      "moved": number | null}],          steps at other times than those that would have been needed
//!   "courses": [{"id", "name", "at": moment, "dishes": [dish id, …]}],
//!   "dishes": [{"id", "name", "course", "batches", "portions", "at_pass": moment, "ready": moment,
//!               "past_best_minutes": number | null}],
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
//!      "state": "late" | "long" | "running" | "due" | "ready" | "waiting" | "done" | "skipped",
//!      "happened": null
//!        | {"what": "started", "start": moment}
//!        | {"what": "done", "start": moment | null, "end": moment}
//!        | {"what": "skipped", "at": moment, "reason"}}]
//! }
//! ```

use std::io;

use serde::Serialize;

use super::page::cautions;
use super::text::to_start;
use crate::menu::{Dish, Menu};
use crate::plan::{Done, Plan, PlanOutcome, PlannedStep, StepIndex, Way, WayOut};
use crate::prep::{PrepState, Progress, standing};
use crate::safety::caution_name;
use crate::time::{Minute, ServiceTime};

/// Names this version of the format.
const FORMAT: &str = "countback-plan-1";

/// What is to be written.
#[derive(Clone, Copy, Debug)]
pub struct Asked {
    /// Service and zone.
    pub service: ServiceTime,
    /// Now.
    pub now: Minute,
    /// Only what has to start before this, where that is asked.
    pub until: Option<Minute>,
}

/// Writes the outcome of planning as one JSON object and a line end.
pub fn write(
    outcome: &PlanOutcome,
    menu: &Menu,
    prep: &PrepState,
    asked: Asked,
    out: &mut impl io::Write,
) -> io::Result<()> {
    write_with_ways_out(outcome, &[], menu, prep, asked, out)
}

/// Writes the same with the ways out of a menu that cannot be done.
pub fn write_with_ways_out(
    outcome: &PlanOutcome,
    ways: &[WayOut],
    menu: &Menu,
    prep: &PrepState,
    asked: Asked,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let mut document = Document::new(outcome, menu, prep, asked);
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
    late: Vec<OfLate<'a>>,
    ways_out: Vec<OfWay<'a>>,
    courses: Vec<OfCourse<'a>>,
    dishes: Vec<OfDish<'a>>,
    steps: Vec<OfStep<'a>>,
}

#[derive(Serialize)]
struct OfMenu<'a> {
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

#[derive(Serialize)]
struct Moment {
    at: String,
    minute: i32,
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
    Started { start: Moment },
    Done { start: Option<Moment>, end: Moment },
    Skipped { at: Moment, reason: String },
}

fn moment(service: ServiceTime, minute: Minute) -> Moment {
    Moment {
        at: service.timestamp(minute).rfc3339_in(service.zone()),
        minute: minute.0,
    }
}

impl<'a> Document<'a> {
    fn new(outcome: &'a PlanOutcome, menu: &'a Menu, prep: &PrepState, asked: Asked) -> Self {
        let service = asked.service;
        let mut document = Self {
            format: FORMAT,
            outcome: "planned",
            because: Vec::new(),
            menu: OfMenu {
                id: &menu.id,
                name: &menu.name,
                covers: menu.covers,
            },
            service: OfService {
                moment: moment(service, Minute::SERVICE),
                zone: service.zone().name(),
            },
            now: moment(service, asked.now),
            until: asked.until.map(|until| moment(service, until)),
            late: Vec::new(),
            ways_out: Vec::new(),
            courses: courses(menu, service),
            dishes: Vec::new(),
            steps: Vec::new(),
        };
        match outcome {
            PlanOutcome::Planned(plan) => {
                document.dishes = dishes(plan, menu);
                let listed = match asked.until {
                    Some(until) => to_start(plan, prep, until),
                    None => plan.order.clone(),
                };
                document.steps = listed
                    .into_iter()
                    .map(|step| of_step(plan, menu, prep, step, asked.now))
                    .collect();
            }
            PlanOutcome::TooLate {
                needed,
                late,
                because,
            } => {
                document.outcome = "too-late";
                document.because.clone_from(because);
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
        Way::Hands(shift) => {
            way.what = "hands";
            way.start = Some(moment(service, shift.start));
            way.end = Some(moment(service, shift.end));
        }
        Way::Earlier(by) => (way.what, way.minutes) = ("earlier", Some(by.0)),
        Way::HandsThroughout => way.what = "hands-throughout",
        Way::Later(by) => (way.what, way.minutes) = ("later", Some(by.0)),
        Way::Without(place) => (way.what, way.dish) = ("without", dish(place)),
    }
    way
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
        state: standing(plan, prep, index, now).word(),
        happened: happened(plan, prep, step),
    }
}

fn happened(plan: &Plan, prep: &PrepState, step: &PlannedStep) -> Option<OfHappened> {
    let at = |minute| moment(plan.service, minute);
    Some(match step.happened? {
        Done::Started(start) => OfHappened::Started { start: at(start) },
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
