//! An invented banquet with a plan made by hand: what the screen shows must not depend on what the planner
//! happens to choose.

use countback::menu::{
    After, Amount, Caution, Course, Dish, Edge, Freshness, Gap, Hands, Ingredient, Kitchen, Look,
    Menu, Multiple, Per, Service, ServiceDay, Step, StepTime, Style, Unit, Work,
};
use countback::plan::{
    CookSpan, Course as CourseTime, DishPlan, Done, HandsSpan, Happened, KitSpan, Plan,
    PlannedStep, Quality, StepKey,
};
use countback::time::{
    Date, Local, Minute, Minutes, ServiceTime, Timestamp, Window, Zone, time_of_day,
};

const ZONE: Zone = Zone::Europe__Rome;

/// Service: Saturday 28 November 2026, 19:30.
pub(crate) fn service() -> ServiceTime {
    ServiceTime::new(local(28, 19, 30), ZONE)
}

fn local(day: u32, hour: u32, minute: u32) -> Local {
    Local {
        date: Date::from_ymd_opt(2026, 11, day).expect("a day of November"),
        time: time_of_day(hour, minute).expect("a time of day"),
    }
}

/// A moment of November 2026.
pub(crate) fn moment(day: u32, hour: u32, minute: u32) -> Timestamp {
    Timestamp::from_local(local(day, hour, minute), ZONE)
}

/// A minute of the plan, by its day in November.
pub(crate) fn at(day: u32, hour: u32, minute: u32) -> Minute {
    service().at(local(day, hour, minute))
}

/// A menu and its plan.
#[derive(Clone)]
pub(crate) struct Banquet {
    pub(crate) menu: Menu,
    pub(crate) plan: Plan,
}

/// Whose hands a step of the banquet needs.
#[derive(Clone, Copy)]
pub(crate) enum Needs {
    /// So many throughout.
    Hands(u32),
    /// One at both ends, for so many minutes.
    Ends(i32),
    /// One at both ends for ten minutes, and a look every so many minutes.
    Looks(i32),
    /// Somebody in the building.
    About,
    /// Nobody.
    Nobody,
}

impl Banquet {
    /// Returns a banquet without dishes.
    pub(crate) fn empty(name: &str) -> Self {
        let at_night = |day| Window::new(at(day, 21, 0), at(day + 1, 7, 0));
        Self {
            menu: Menu {
                id: "lantern-supper".into(),
                name: name.into(),
                service: Service {
                    day: ServiceDay::On(local(28, 0, 0).date),
                    time: local(28, 19, 30).time,
                },
                covers: 96,
                prep_from: None,
                style: Style::Late,
                rules: None,
                guests: Vec::new(),
                larder: countback::menu::Larder::default(),
                gelling: countback::menu::Gelling::default(),
                dropped: Vec::new(),
                kitchen: Kitchen {
                    name: "Mill kitchen".into(),
                    zone: Some(ZONE),
                    altitude: None,
                    open: Vec::new(),
                    watched: Vec::new(),
                    cooks: Vec::new(),
                    stations: Vec::new(),
                    kit: Vec::new(),
                },
                courses: vec![
                    Course {
                        id: "sweet".into(),
                        name: "Sweet course".into(),
                        offset: Minutes(75),
                    },
                    Course {
                        id: "coffee".into(),
                        name: "With coffee".into(),
                        offset: Minutes(150),
                    },
                ],
                dishes: Vec::new(),
            },
            plan: Plan {
                service: service(),
                steps: Vec::new(),
                order: Vec::new(),
                dishes: Vec::new(),
                courses: vec![
                    CourseTime {
                        name: "Sweet course".into(),
                        at: Minute(75),
                    },
                    CourseTime {
                        name: "With coffee".into(),
                        at: Minute(150),
                    },
                ],
                openings: vec![at(26, 7, 0), at(27, 7, 0), at(28, 7, 0)],
                nights: vec![
                    Window::new(at(25, 21, 0), at(26, 7, 0)),
                    at_night(26),
                    at_night(27),
                ],
                shifts: vec![CookSpan {
                    cook: "Ines".into(),
                    windows: vec![Window::new(at(26, 7, 0), at(26, 21, 0))],
                }],
                span: Window::new(at(26, 7, 0), Minute(150)),
                overtime: Vec::new(),
                quality: Quality::default(),
                breaks: false,
                anew: false,
            },
        }
    }

    /// Adds a dish; steps go to the last dish added.
    pub(crate) fn dish(&mut self, id: &str, name: &str, course: usize) -> &mut Self {
        let at_pass = self.plan.courses[course].at;
        let mut dish = bare_dish(id, name);
        dish.course.clone_from(&self.menu.courses[course].id);
        self.menu.dishes.push(dish);
        self.plan.dishes.push(DishPlan {
            dish: self.menu.dishes.len() - 1,
            name: name.into(),
            at_pass,
            ready: at_pass,
            batches: 1,
            portions: 100,
            steps: Vec::new(),
            past_best: None,
            late: None,
        });
        self
    }

    /// Adds a step to the last dish, after the one before it.
    #[allow(
        clippy::too_many_arguments,
        clippy::too_many_lines,
        reason = "a line of the table of a banquet, and every field of two plain types"
    )]
    pub(crate) fn step(
        &mut self,
        id: &str,
        name: &str,
        start: (u32, u32, u32),
        minutes: i32,
        needs: Needs,
        cook: &str,
        kit: &[(&str, u32)],
    ) -> &mut Self {
        let window = Window::new(
            at(start.0, start.1, start.2),
            at(start.0, start.1, start.2) + Minutes(minutes),
        );
        let dish_index = self.menu.dishes.len() - 1;
        let dish = &mut self.menu.dishes[dish_index];
        let step_index = dish.steps.len();
        let before = self.plan.dishes[dish_index].steps.last().copied();
        let index = self.plan.steps.len();
        let span = |start: Minute, minutes: i32, hands: u32| HandsSpan {
            window: Window::new(start, start + Minutes(minutes)),
            hands,
            cooks: if cook.is_empty() {
                Vec::new()
            } else {
                vec![cook.to_owned()]
            },
        };
        let hands = match needs {
            Needs::Hands(count) => vec![span(window.start, minutes, count)],
            Needs::Ends(touch) => vec![
                span(window.start, touch, 1),
                span(window.end - Minutes(touch), touch, 1),
            ],
            Needs::Looks(every) => {
                let mut all = vec![span(window.start, 10, 1)];
                let mut look = window.start + Minutes(every);
                while look < window.end - Minutes(10) {
                    all.push(span(look, 3, 1));
                    look += Minutes(every);
                }
                all.push(span(window.end - Minutes(10), 10, 1));
                all
            }
            Needs::About | Needs::Nobody => Vec::new(),
        };
        let look = match needs {
            Needs::Looks(every) => Some(Look {
                every: Minutes(every),
                time: Minutes(3),
                hands: 1,
            }),
            _ => None,
        };
        dish.steps.push(Step {
            id: id.into(),
            name: name.into(),
            method: None,
            each: Multiple::Dish,
            station: None,
            skill: None,
            time: StepTime::Elapsed(Work::fixed(Minutes(minutes))),
            until: None,
            goal: None,
            hands: Hands {
                look,
                ..Hands::default()
            },
            uses: Vec::new(),
            keeps_kit: Vec::new(),
            after: before
                .map(|_| After {
                    step: dish.steps[step_index - 1].id.clone(),
                    gap: Gap::default(),
                    from: Edge::End,
                    to: Edge::Start,
                })
                .into_iter()
                .collect(),
            together: Vec::new(),
            not_before: None,
            done_by: None,
            within: None,
            fresh: Freshness::default(),
            ways: Vec::new(),
            temperature: None,
            cooling: None,
            control: None,
            sugar: None,
            cautions: Vec::new(),
        });
        let reason = match before {
            Some(_) => "as late as what follows allows",
            None => "first of its dish, as late as the others allow",
        };
        self.plan.steps.push(PlannedStep {
            key: StepKey::first(dish.id.clone(), id),
            dish: dish_index,
            step: step_index,
            name: name.into(),
            way: None,
            window,
            can_slip_until: window.start + Minutes(50),
            open_from: window.start - Minutes::days(30),
            hands,
            kit: kit
                .iter()
                .map(|(name, count)| KitSpan {
                    name: (*name).to_owned(),
                    count: *count,
                    window,
                    heat: None,
                    which: None,
                })
                .collect(),
            someone_about: matches!(needs, Needs::About | Needs::Looks(_)),
            station: None,
            reason: reason.into(),
            follows: before.into_iter().collect(),
            followed_by: Vec::new(),
            happened: None,
            is_presumed: false,
            due: None,
            told: None,
            needed_by: None,
        });
        if let Some(before) = before {
            self.plan.steps[before].followed_by.push(index);
        }
        let planned = &mut self.plan.dishes[dish_index];
        planned.steps.push(index);
        planned.ready = window.end;
        self.plan.order = (0..=index).collect();
        let steps = &self.plan.steps;
        self.plan
            .order
            .sort_by_key(|step| steps[*step].window.start);
        let first = steps
            .iter()
            .map(|step| step.window.start)
            .min()
            .expect("a step was added");
        self.plan.span.start = self.plan.span.start.min(first);
        self
    }

    /// Changes the step added last, on the menu and on the plan.
    pub(crate) fn with(&mut self, change: impl FnOnce(&mut Step, &mut PlannedStep)) -> &mut Self {
        let step = self
            .menu
            .dishes
            .last_mut()
            .and_then(|dish| dish.steps.last_mut())
            .expect("a step");
        change(step, self.plan.steps.last_mut().expect("a step"));
        self
    }

    /// Returns the plan as it would be after what has happened, with the rest where it was.
    pub(crate) fn plan_after(&self, happened: &Happened) -> Plan {
        let mut plan = self.plan.clone();
        for step in &mut plan.steps {
            let done = happened.get(&step.key).copied();
            step.happened = done;
            let (before, length) = (step.window.start, step.window.length());
            step.window = match done {
                None => continue,
                Some(Done::Started(start)) => Window::new(start, start + length),
                Some(Done::Expected { since, end }) => Window::new(since, end),
                Some(Done::Finished(start, end)) => Window::new(start.unwrap_or(end - length), end),
                Some(Done::Skipped(at)) => Window::new(at, at),
            };
            let by = step.window.start - before;
            let moved =
                |window: &mut Window| *window = Window::new(window.start + by, window.end + by);
            step.hands
                .iter_mut()
                .for_each(|span| moved(&mut span.window));
            step.kit.iter_mut().for_each(|span| moved(&mut span.window));
        }
        let steps = &plan.steps;
        plan.order
            .sort_by_key(|step| (steps[*step].window.start, *step));
        plan
    }
}

/// The banquet most tests use: six dishes over three days.
pub(crate) fn lantern_supper() -> Banquet {
    use Needs::{About, Ends, Hands, Looks, Nobody};
    let mut banquet = Banquet::empty("Lantern supper at the mill");
    banquet
        .dish("pears", "Smoked-tea pears", 0)
        .step("brew", "Brew the tea syrup", (26, 15, 0), 40, Hands(1), "Ines", &[("hob", 1)])
        .step("poach", "Poach the pears", (26, 15, 40), 95, Looks(25), "Ines", &[("hob", 2), ("wide pan", 2)])
        .with(|step, planned| {
            step.method = Some(
                "Lay the pears in the syrup, stalks up, under a round of paper. Keep it just under a simmer: \
                 bubbles may rise, the pears must not knock together. Turn them with a spoon at each look."
                    .into(),
            );
            step.until = Some("a skewer goes in without pushing".into());
            step.cautions = vec![Caution::HotSugar];
            step.station = Some("stove".into());
            planned.station = Some("Stove".into());
            planned.reason = "the syrup must be hot, and the pears must steep a night before they are drained".into();
        })
        .step("steep", "Steep overnight", (26, 17, 15), 885, Nobody, "", &[("cold shelf", 2)])
        .step("drain", "Drain and trim", (27, 8, 0), 50, Hands(1), "Bo", &[])
        .step("plate", "Plate with the syrup", (28, 19, 50), 55, Hands(3), "Ines", &[])
        .dish("wafers", "Rye and honey wafers", 1)
        .step("mix", "Mix the batter", (27, 9, 0), 30, Hands(1), "Bo", &[])
        .step("rest", "Rest the batter", (27, 9, 30), 240, Nobody, "", &[("cold shelf", 1)])
        .step("bake", "Bake the wafers", (28, 9, 0), 150, Hands(2), "Bo", &[("oven", 1), ("tray", 6)])
        .step("box", "Box with salt", (28, 11, 30), 20, Hands(1), "Bo", &[])
        .dish("ice", "Sea-buckthorn ice", 0)
        .step("press", "Press the berries", (26, 14, 15), 60, Hands(2), "Mato", &[])
        .step("settle", "Let the juice settle", (26, 15, 15), 180, Nobody, "", &[("cold shelf", 1)])
        .step("freeze", "Freeze and stir", (27, 13, 0), 300, Looks(60), "Mato", &[("freezer", 1)])
        .step("scoop", "Scoop into glasses", (28, 20, 0), 40, Hands(2), "Mato", &[("glass", 96)])
        .dish("cups", "Burnt-milk cups", 0)
        .step("reduce", "Reduce the milk", (26, 16, 0), 200, Looks(20), "Mato", &[("hob", 1)])
        .step("strain", "Strain and fill", (26, 19, 20), 60, Hands(1), "Mato", &[("cup", 100)])
        .step("set", "Set until the kitchen opens", (26, 20, 20), 640, About, "", &[("cold shelf", 4)])
        .step("burn", "Burn the tops", (28, 20, 5), 35, Hands(1), "Bo", &[])
        .dish("cake", "Walnut snow cake", 0)
        .step("toast", "Toast the walnuts", (27, 7, 15), 25, Ends(5), "Ines", &[("oven", 1)])
        .step("bake", "Bake the layers", (27, 8, 0), 120, Ends(10), "Ines", &[("oven", 1), ("tin", 4)])
        .step("layer", "Layer and wrap", (27, 15, 0), 90, Hands(2), "Ines", &[])
        .step("cut", "Cut into fingers", (28, 17, 0), 45, Hands(1), "Ines", &[])
        .dish("jelly", "柚子 and bay jelly", 0)
        .step("bloom", "Bloom the leaves", (27, 16, 30), 15, Hands(1), "Bo", &[])
        .step("cook", "Cook and pour", (27, 16, 45), 45, Hands(1), "Bo", &[("hob", 1), ("mould", 8)])
        .step("set", "Set till next day", (27, 17, 30), 1440, Nobody, "", &[("cold shelf", 2)])
        .step("turn", "Turn out", (28, 18, 0), 60, Hands(2), "Bo", &[]);
    banquet.menu.dishes[0].ingredients = vec![
        ingredient("firm pears, peeled", 100.0, Unit::Count(String::new())),
        ingredient("cane sugar", 4.5, Unit::Kilogram),
    ];
    banquet
}

/// A large one: so many dishes of so many steps each over the three days.
pub(crate) fn large(dishes: usize, steps: usize) -> Banquet {
    let mut banquet = Banquet::empty("A long table");
    for dish in 0..dishes {
        banquet.dish(
            &format!("dish-{dish}"),
            &format!("Dish number {dish}"),
            dish % 2,
        );
        for step in 0..steps {
            let minutes = (dish * 37 + step * 271) % (60 * 60);
            let (day, minute) = (26 + minutes as u32 / 1440, minutes as u32 % 1440);
            let needs = match step % 4 {
                0 => Needs::Hands(1),
                1 => Needs::Looks(30),
                2 => Needs::Nobody,
                _ => Needs::Ends(10),
            };
            banquet.step(
                &format!("step-{step}"),
                &format!("Step number {step} of dish {dish}"),
                (day, minute / 60, minute % 60),
                120,
                needs,
                ["Ines", "Bo", "Mato"][dish % 3],
                &[("hob", 1)],
            );
        }
    }
    banquet
}

/// A dish of which nothing is said but its name, in the course "sweet".
pub(crate) fn bare_dish(id: &str, name: &str) -> Dish {
    Dish {
        id: id.into(),
        name: name.into(),
        note: None,
        course: "sweet".into(),
        covers: None,
        spare: 4,
        batches: None,
        margin: Minutes(0),
        batch: None,
        ingredients: Vec::new(),
        steps: Vec::new(),
        repeats: Vec::new(),
        rescues: Vec::new(),
        fresh: Freshness::default(),
        control: None,
        waits_at: None,
    }
}

/// So much of something for the whole dish, into the step "poach".
fn ingredient(name: &str, number: f64, unit: Unit) -> Ingredient {
    Ingredient {
        name: name.into(),
        amount: Amount::Measured { number, unit },
        per: Per::Dish,
        into: Some("poach".into()),
        part: None,
        order_ahead: None,
        supplier: None,
        goods: None,
        ahead: None,
        density: None,
        strength: None,
        contains: None,
        may_contain: None,
        declared_by: None,
        made_of: Vec::new(),
        sulphites: None,
        cautions: Vec::new(),
    }
}
