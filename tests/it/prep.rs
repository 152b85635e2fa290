//! The prep days: what was decided, what calls, what is measured; on a small menu planned for real.

use std::collections::BTreeMap;

use countback::book::{Decision, Entry, EntryId, Errand, Goal, Happening, Much, Reading};
use countback::load;
use countback::menu::Menu;
use countback::plan::{self, Happened, PlanOutcome, StepKey};
use countback::prep::{
    Comparison, ErrandAt, Foreseen, HandedOver, Handover, HandoverLine, Kind, NowAndNext,
    PrepState, Standing, Want, Watched, busy, calls, decide, decided, decision_of, expected_end,
    foreseen, lacking, measured_against, rule_sets, slip, standing,
};
use countback::safety::Level;
use countback::sheets::order::errands_of;
use countback::time::{Minute, Minutes, ServiceTime, Timestamp, Window, Zone};

const MENU: &str = r#"Menu(
    id: "pear-supper", name: "Pear supper", service: "2026-12-05 19:00", covers: 40,
    kitchen: Kitchen(
        name: "Ferry house", zone: "Europe/Rome",
        open: [Open(days: "every day", at: "07:00..22:00")],
        cooks: [
            Cook(name: "first cook", shifts: [Shift(days: "1 day before, the day", at: "08:00..20:00")]),
            Cook(name: "helper", shifts: [Shift(days: "the day", at: "14:00..20:00")]),
        ],
        kit: [Kit(id: "hob", name: "hob ring", count: 2), Kit(id: "shelf", name: "cold shelf", count: 3)],
    ),
    dishes: [
        Serve(dish: Dish(
            id: "pears", name: "Pears in bay syrup",
            batch: Batch(portions: 20),
            steps: [
                Step(id: "poach", name: "Poach the pears", each: Batch, time: "40 min",
                    hands: "put on 5 min, look 2 min every 15 min, take off 5 min", uses: [Use(kit: "hob")]),
                Step(id: "glaze", name: "Glaze them hot", each: Batch, time: "10 min",
                    after: [After(step: "poach", gap: "within 20 min")]),
                Step(id: "dress", name: "Pears into the bowls", time: "5 min + 15 s a piece"),
            ],
            keeps: "10h",
        )),
        Serve(dish: Dish(
            id: "cream", name: "Bay cream",
            steps: [
                Step(id: "boil", name: "Boil the cream", time: "30 min", uses: [Use(kit: "hob")], best: "2h"),
                Step(id: "spoon", name: "Spoon it out", time: "20 min"),
            ],
        )),
    ],
)"#;

fn menu() -> (Menu, ServiceTime) {
    menu_of(MENU)
}

fn menu_of(text: &str) -> (Menu, ServiceTime) {
    let loaded = load::menu_text("menu.ron", text, &load::Folder::of("menu.ron".as_ref()));
    let menu = loaded.expect("a menu").menu;
    let now = Timestamp::from_rfc3339("2026-12-01T12:00:00+01:00").expect("a moment");
    let service = plan::service_of(&menu, now, Zone::UTC);
    (menu, service)
}

fn at(text: &str) -> Timestamp {
    Timestamp::from_rfc3339(&format!("2026-12-{text}:00+01:00")).expect("a moment")
}

fn card(text: &str) -> Result<countback::menu::Dish, String> {
    load::dish_text("card", text).map_err(|faults| faults.to_string())
}

fn planned(menu: &Menu, service: ServiceTime, prep: &PrepState, now: Timestamp) -> PlanOutcome {
    let happened = prep.happened(menu, service);
    plan::plan(menu, service, &happened, service.minute(now), None)
}

/// A book in memory.
#[derive(Default)]
struct Days {
    prep: PrepState,
    book: Vec<Entry>,
}

impl Days {
    fn write(&mut self, at: Timestamp, what: Happening) -> EntryId {
        let id = EntryId(self.book.len() as i64 + 1);
        self.book.push(Entry {
            id,
            event: "e".into(),
            at,
            written: at,
            who: "ines".into(),
            place: String::new(),
            what,
        });
        self.prep.apply(&self.book[self.book.len() - 1]);
        id
    }

    fn decides(&mut self, decision: Decision) -> EntryId {
        let steps = BTreeMap::new();
        self.write(at("05T10:00"), Happening::Decided { decision, steps })
    }
}

#[test]
fn every_decision_changes_the_menu_and_taking_it_back_changes_it_back() {
    let (menu, service) = menu();
    let decisions = [
        Decision::Covers { dish: None, covers: 61 },
        Decision::Covers { dish: Some("pears".into()), covers: 41 },
        Decision::Batches { dish: "pears".into(), batches: Some(4) },
        Decision::Service { to: at("05T20:30") },
        Decision::CookAway { cook: "helper".into(), from: at("05T09:00"), until: None },
        Decision::KitOut { kit: "hob".into(), count: 1, from: at("05T09:00"), until: Some(at("05T12:00")) },
        Decision::HandsAdded { stretches: vec![(at("04T22:00"), at("05T02:00"))] },
        Decision::StayingOn { from: at("05T20:00"), until: at("05T20:30") },
        Decision::StayingOn { from: at("05T20:00"), until: at("05T21:00") },
        Decision::KitAdded { kit: "hob".into(), count: 1 },
        Decision::WorkFrom { day: at("03T09:00") },
        Decision::DishDropped { dish: "cream".into() },
        Decision::DishAdded {
            card: r#"Dish(id: "nuts", name: "Salted nuts", steps: [Step(id: "roast", name: "Roast", time: "20 min")])"#.into(),
            course: None,
            covers: Some(12),
        },
    ];
    for decision in decisions {
        let (after, moved) = decide(&menu, service, &decision, &card)
            .unwrap_or_else(|why| panic!("{decision:?}: {why}"));
        assert!(
            after != menu || moved != service,
            "{decision:?} changes nothing"
        );
        let mut days = Days::default();
        let id = days.decides(decision.clone());
        let now = decided(&menu, service, days.prep.decisions(), &card);
        assert_eq!((&now.menu, now.service), (&after, moved), "{decision:?}");
        assert!(now.passed_over.is_empty());
        days.write(at("05T10:01"), Happening::Undone { entry: id });
        let now = decided(&menu, service, days.prep.decisions(), &card);
        assert_eq!(
            (&now.menu, now.service),
            (&menu, service),
            "{decision:?} taken back"
        );
    }
}

#[test]
fn a_decision_that_makes_no_sense_is_refused_in_words() {
    let (menu, service) = menu();
    for (decision, said) in [
        (Decision::Covers { dish: None, covers: 0 }, "nobody"),
        (Decision::Covers { dish: Some("plums".into()), covers: 3 }, "no dish plums"),
        (Decision::Batches { dish: "cream".into(), batches: Some(2) }, "does not say what a batch is"),
        (Decision::Batches { dish: "pears".into(), batches: Some(0) }, "in no batches"),
        (Decision::Batches { dish: "pears".into(), batches: Some(u32::MAX) }, "at most 5000 can be planned"),
        (Decision::Batches { dish: "plums".into(), batches: None }, "no dish plums"),
        (Decision::CookAway { cook: "Zoe".into(), from: at("05T09:00"), until: None }, "nobody called Zoe"),
        (
            Decision::CookAway { cook: "helper".into(), from: at("05T09:00"), until: Some(at("05T08:00")) },
            "ends before it begins",
        ),
        (Decision::KitOut { kit: "hob".into(), count: 3, from: at("05T09:00"), until: None }, "has 2 hob ring, not 3"),
        (Decision::DishDropped { dish: "plums".into() }, "no dish plums"),
        (Decision::DishAdded { card: "Dish(".into(), course: None, covers: None }, "card:1"),
        (
            Decision::DishAdded {
                card: r#"Dish(id: "x", name: "X", steps: [Step(id: "a", name: "A", time: "1h", uses: [Use(kit: "kiln")])])"#.into(),
                course: None,
                covers: None,
            },
            "kiln",
        ),
    ] {
        let refused = decide(&menu, service, &decision, &card).expect_err(said);
        assert!(refused.contains(said), "{decision:?}: {refused}");
    }
}

#[test]
fn a_decision_whose_dish_has_gone_from_the_file_is_passed_over_and_said() {
    let (mut menu, service) = menu();
    let mut days = Days::default();
    days.decides(Decision::Covers {
        dish: Some("cream".into()),
        covers: 30,
    });
    days.decides(Decision::Covers {
        dish: None,
        covers: 50,
    });
    menu.dishes.retain(|dish| dish.id != "cream");
    let now = decided(&menu, service, days.prep.decisions(), &card);
    assert_eq!(now.menu.covers, 50, "the others hold");
    assert_eq!(now.passed_over, ["the menu has no dish cream"]);
}

#[test]
fn a_service_that_moves_to_another_day_leaves_people_on_their_dates() {
    let (menu, service) = menu();
    let (moved, later) = decide(
        &menu,
        service,
        &Decision::Service { to: at("06T05:00") },
        &card,
    )
    .expect("moves");
    let PlanOutcome::Planned(plan) = plan::plan(
        &moved,
        later,
        &Happened::new(),
        later.minute(at("04T08:00")),
        None,
    ) else {
        panic!("the first cook is there on the fourth and the fifth");
    };
    let worked = plan.shifts.iter().flat_map(|span| &span.windows);
    let dates: Vec<String> = worked
        .map(|window| later.local(window.start).date.to_string())
        .collect();
    assert!(
        dates
            .iter()
            .all(|date| date == "2026-12-04" || date == "2026-12-05"),
        "{dates:?}"
    );
}

#[test]
fn taking_a_way_out_gives_the_plan_it_was_found_with() {
    let (mut menu, service) = menu();
    // Everything in the last hour, by one pair of hands and on one ring: too much.
    menu.kitchen.kit[0].count = 1;
    let now = at("05T17:50");
    let minute = service.minute(now);
    let happened = Happened::new();
    let outcome = plan::plan(&menu, service, &happened, minute, None);
    assert!(!matches!(outcome, PlanOutcome::Planned(_)), "must not fit");
    let asked = plan::Asked {
        menu: &menu,
        service,
        happened: &happened,
        now: minute,
        told: None,
        shown: None,
    };
    let ways = plan::ways_out(asked, &outcome, plan::PLANNINGS, &|| false);
    assert!(!ways.is_empty(), "something must help");
    for way in ways {
        let decision = decision_of(&way.way, &menu, service, way.gives.begins).expect("a decision");
        let (changed, later) = decide(&menu, service, &decision, &card).expect("fits the menu");
        let found = plan::plan(&changed, later, &happened, later.minute(now), None);
        let PlanOutcome::Planned(plan) = found else {
            panic!("{}: the decision does not give the plan", way.says);
        };
        let starts = |plan: &plan::Plan| -> Vec<(StepKey, Timestamp)> {
            let steps = plan.steps.iter();
            steps
                .map(|it| (it.key.clone(), plan.service.timestamp(it.window.start)))
                .collect()
        };
        let gives = way.outcome.times().expect("a plan");
        assert_eq!(starts(&plan), starts(gives), "{}", way.says);
    }
}

#[test]
fn any_entry_is_taken_back_and_brought_back_as_far_as_wanted() {
    let mut days = Days::default();
    let step = || "pears/poach".to_owned();
    let first = days.write(at("05T10:00"), Happening::Started { step: step() });
    let second = days.write(at("05T10:40"), Happening::Finished { step: step() });
    let note = days.write(
        at("05T10:41"),
        Happening::Noted {
            step: None,
            text: "ring two is weak".into(),
        },
    );
    let mut states = vec![];
    for expected in [note, second, first] {
        states.push((
            days.prep.progress(&StepKey::first("pears", "poach")),
            days.prep.notes().count(),
        ));
        assert_eq!(days.prep.last_act(), Some(expected));
        days.write(at("05T11:00"), Happening::Undone { entry: expected });
    }
    assert_eq!(days.prep.last_act(), None);
    while let Some(state) = states.pop() {
        let undo = days.prep.last_undo().expect("something to bring back");
        days.write(at("05T11:01"), Happening::Undone { entry: undo });
        let now = (
            days.prep.progress(&StepKey::first("pears", "poach")),
            days.prep.notes().count(),
        );
        assert_eq!(now, state);
    }
    assert_eq!(days.prep.last_undo(), None, "all is back");
    // What is done after an undo is not met by an older redo.
    let undo = days.prep.last_act().expect("the note");
    days.write(at("05T11:02"), Happening::Undone { entry: undo });
    days.write(
        at("05T11:03"),
        Happening::Noted {
            step: None,
            text: "ring two is mended".into(),
        },
    );
    assert_eq!(days.prep.last_undo(), None);
}

fn called(
    menu: &Menu,
    service: ServiceTime,
    prep: &PrepState,
    now: Timestamp,
) -> Vec<countback::prep::Call> {
    let outcome = planned(menu, service, prep, now);
    let errands = outcome.times().map(|plan| errands_of(menu, plan, prep));
    calls(Watched {
        menu,
        outcome: &outcome,
        prep,
        errands: &errands.unwrap_or_default(),
        latest_ends: &BTreeMap::new(),
        now: service.minute(now),
    })
}

#[test]
fn a_step_calls_before_its_start_and_says_the_last_moment_and_why() {
    let (menu, service) = menu();
    let mut days = Days::default();
    let PlanOutcome::Planned(plan) = planned(&menu, service, &days.prep, at("05T08:00")) else {
        panic!("fits");
    };
    let first = &plan.steps[plan.order[0]];
    let start = |minutes: i32| service.timestamp(Minute(first.window.start.0 + minutes));
    let name = format!("start {}", first.key);
    let calling = |days: &Days, now: Timestamp| {
        let calls = called(&menu, service, &days.prep, now);
        calls.into_iter().find(|call| call.name == name)
    };
    assert_eq!(calling(&days, start(-6)), None, "not yet");
    let call = calling(&days, start(-5)).expect("five minutes ahead");
    assert_eq!((call.kind, call.is_urgent), (Kind::Start, false));
    assert!(call.by.expect("a last moment") >= first.window.start);
    days.write(
        start(-3),
        Happening::Started {
            step: first.key.to_string(),
        },
    );
    assert_eq!(calling(&days, start(-2)), None, "it has begun");
}

#[test]
fn what_must_follow_while_it_is_hot_says_so_with_its_last_moment() {
    let (menu, service) = menu();
    let mut days = Days::default();
    let step = "pears/poach";
    days.write(at("05T15:00"), Happening::Started { step: step.into() });
    days.write(at("05T15:40"), Happening::Finished { step: step.into() });
    let calls = called(&menu, service, &days.prep, at("05T15:58"));
    let call = calls
        .iter()
        .find(|call| call.name == "start pears/glaze")
        .expect("calls");
    assert_eq!(
        call.by,
        Some(service.minute(at("05T16:00"))),
        "{}",
        call.says
    );
    assert!(
        call.says.contains("at most 20 min after \"Poach the pears"),
        "{}",
        call.says
    );
    assert!(call.is_urgent, "two minutes are left");
}

#[test]
fn who_answered_a_call_is_called_once_more_at_the_last_moment() {
    let (menu, service) = menu();
    let mut days = Days::default();
    let step = "pears/poach";
    days.write(at("05T15:00"), Happening::Started { step: step.into() });
    days.write(at("05T15:40"), Happening::Finished { step: step.into() });
    let glaze = |now: &str| {
        let calls = called(&menu, service, &days.prep, at(now));
        let mut names = calls.into_iter().map(|call| call.name);
        names.find(|name| name.ends_with("start pears/glaze"))
    };
    assert_eq!(glaze("05T15:58").as_deref(), Some("start pears/glaze"));
    assert_eq!(glaze("05T15:59").as_deref(), Some("last start pears/glaze"));
}

#[test]
fn a_step_that_runs_on_while_its_follower_has_begun_is_asked_about() {
    let (menu, service) = menu();
    let mut days = Days::default();
    for (step, began) in [("cream/boil", "05T15:00"), ("cream/spoon", "05T15:20")] {
        days.write(at(began), Happening::Started { step: step.into() });
    }
    let calls = called(&menu, service, &days.prep, at("05T15:31"));
    let end = calls.iter().find(|call| call.name == "end cream/boil");
    let says = &end.expect("calls").says;
    assert!(
        says.starts_with("is Boil the cream (Bay cream) done?"),
        "{says}"
    );
}

/// Common practice, no source: what was to be held cold and is read warm is out of the cold. Less than four hours: the
/// Food Safety and Hygiene (England) Regulations 2013, Schedule 4.
#[test]
fn what_is_read_warm_where_it_was_to_be_cold_is_against_the_rule() {
    let (mut menu, service) = menu();
    menu.rules = Some(countback::menu::Rules::England);
    let spoon = &mut menu.dishes[1].steps[1];
    spoon.temperature = Some(countback::menu::Temperature::Held { at: 30 });
    spoon.control = Some(countback::menu::Control::Needed);
    let step = "cream/spoon";
    let mut days = Days::default();
    days.write(at("05T12:00"), Happening::Started { step: step.into() });
    let breaks = |days: &Days, now: &str| -> Vec<String> {
        let now = (at(now), service.zone());
        let set = &countback::safety::rules::ENGLAND;
        let found = countback::prep::measured_against(&menu, &days.prep, set, now).into_iter();
        let breaks = found.filter(|it| it.level == countback::safety::Level::Breaks);
        breaks.map(|it| it.what).collect()
    };
    for (hour, degrees) in [("12:45", "18 C"), ("15:45", "16 C"), ("16:44", "14 C")] {
        let now = format!("05T{hour}");
        days.write(at(&now), reads(step, degrees, at(&now)));
    }
    assert!(
        breaks(&days, "05T16:44").is_empty(),
        "a minute less than four hours"
    );
    days.write(at("05T16:45"), reads(step, "14 C", at("05T16:45")));
    assert_eq!(
        breaks(&days, "05T16:45"),
        ["between 8 °C and 63 °C for 4h, by the readings; 4h is too long"]
    );
    // The card of a dish does not make good what was not kept.
    let outcome = planned(&menu, service, &days.prep, at("05T16:45"));
    let sets = [&countback::safety::rules::ENGLAND];
    let mut checked = countback::prep::held_against(&menu, service, Some(&outcome), &sets);
    let now = (at("05T16:45"), service.zone());
    let measured = countback::prep::measured_against(&menu, &days.prep, sets[0], now);
    countback::prep::with_measured(&mut checked[0], &measured);
    let verdict = checked[0].dishes[1].verdict;
    assert_eq!(verdict, countback::safety::timeline::Verdict::Breaks);
}

#[test]
fn nothing_is_counted_from_a_step_that_was_skipped() {
    let (menu, service) = menu();
    let mut days = Days::default();
    let step = "pears/poach";
    let reason = "bought poached".to_owned();
    days.write(
        at("05T15:40"),
        Happening::Skipped {
            step: step.into(),
            reason,
        },
    );
    let outcome = planned(&menu, service, &days.prep, at("05T15:58"));
    let plan = outcome.times().expect("a plan");
    let (glaze, _) = plan.find(&StepKey::first("pears", "glaze")).expect("there");
    assert_eq!(countback::prep::limit(&menu, plan, glaze), None);
}

#[test]
fn a_step_that_must_be_over_asks_for_its_tick_and_for_nothing_else() {
    let (menu, service) = menu();
    let mut days = Days::default();
    days.write(
        at("05T15:00"),
        Happening::Started {
            step: "cream/spoon".into(),
        },
    );
    let now = at("05T15:05");
    let outcome = planned(&menu, service, &days.prep, now);
    let plan = outcome.times().expect("a plan");
    let boil = StepKey::first("cream", "boil");
    let (index, planned) = plan.find(&boil).expect("there");
    assert!(planned.is_presumed);
    let minute = service.minute(now);
    assert_eq!(
        standing(plan, &days.prep, index, minute),
        Standing::Unticked
    );
    let calls = called(&menu, service, &days.prep, now);
    let mut calls = calls
        .into_iter()
        .filter(|call| call.step.as_ref() == Some(&boil));
    let call = calls.next().expect("asks");
    assert_eq!((call.kind, call.is_urgent), (Kind::Tick, false));
    assert_eq!(calls.next(), None);
    let wants = NowAndNext::of(&menu, Some(plan), &days.prep, service, minute).wants;
    assert!(wants.iter().all(|wants| wants.of.key != boil), "{wants:?}");
}

#[test]
fn what_runs_long_is_over_since_its_end_and_is_still_looked_at() {
    let (menu, service) = menu();
    let mut days = Days::default();
    let step = "pears/poach";
    days.write(at("05T15:00"), Happening::Started { step: step.into() });
    let now = at("05T16:10");
    let outcome = planned(&menu, service, &days.prep, now);
    let plan = outcome.times().expect("a plan");
    let minute = service.minute(now);
    let (index, _) = plan.find(&StepKey::first("pears", "poach")).expect("there");
    assert_eq!(
        standing(plan, &days.prep, index, minute),
        Standing::RunningLong
    );
    let page = NowAndNext::of(&menu, Some(plan), &days.prep, service, minute);
    let runs = &page.runs[0];
    assert_eq!(runs.end, Some(service.minute(at("05T15:40"))));
    assert_eq!(runs.left(minute), Some(Minutes(-30)));
    // Every quarter of an hour from three o'clock.
    assert_eq!(runs.look, Some(service.minute(at("05T16:15"))));
    let mut wants = page.wants.iter();
    assert!(wants.any(|wants| wants.what == Want::TakeOff && wants.is_late));
    let calls = called(&menu, service, &days.prep, now);
    let look = calls.iter().find(|call| call.kind == Kind::Look);
    let says = &look.expect("looked at at 16:00").says;
    assert!(says.ends_with("again at 16:15"), "{says}");
    // An hour after its end it is rather the tick that was forgotten: nothing calls for ever.
    for (now, is_looked_at) in [("05T16:44", true), ("05T16:45", false), ("08T09:01", false)] {
        let calls = called(&menu, service, &days.prep, at(now));
        let looks = calls.iter().any(|call| call.kind == Kind::Look);
        assert_eq!(looks, is_looked_at, "{now}");
        assert!(calls.iter().any(|call| call.kind == Kind::End), "{now}");
    }
}

/// An order of one thing, by then.
fn order(name: &str, at: Minute, seen_to: Option<(EntryId, Timestamp)>) -> ErrandAt {
    ErrandAt {
        at,
        dishes: Vec::new(),
        errand: Errand::Order {
            goods: BTreeMap::from([(name.to_owned(), Much::default())]),
        },
        says: format!("order: {name}"),
        seen_to,
        step: None,
        off: None,
    }
}

#[test]
fn nothing_calls_to_start_what_is_left_out() {
    // Two more mornings are more than there are.
    let boil = r#"time: "30 min", uses: [Use(kit: "hob")], best: "2h""#;
    let steep = r#"time: "until the third morning", hands: "put on 5 min""#;
    let (menu, service) = menu_of(&MENU.replace(boil, steep));
    let mut days = Days::default();
    days.write(
        at("05T15:00"),
        Happening::Started {
            step: "pears/poach".into(),
        },
    );
    days.write(
        at("05T15:40"),
        Happening::Finished {
            step: "pears/poach".into(),
        },
    );
    let now = at("05T15:50");
    let outcome = planned(&menu, service, &days.prep, now);
    let plan = outcome.times().expect("what can still be");
    let (boil, _) = plan.find(&StepKey::first("cream", "boil")).expect("there");
    assert!(plan.is_given_up(boil), "{outcome:#?}");
    let calls = called(&menu, service, &days.prep, now);
    assert!(
        calls
            .iter()
            .all(|call| call.step.as_ref().is_some_and(|it| it.dish == "pears")),
        "{calls:#?}"
    );
    let minute = service.minute(now);
    let page = NowAndNext::of(&menu, Some(plan), &days.prep, service, minute);
    assert!(page.wants.iter().all(|wants| wants.of.key.dish == "pears"));
    assert_eq!(page.untimed, 2);
    // Nor is it ready at any time, beside a plan on which it was.
    let before = self::menu().0;
    let PlanOutcome::Planned(whole) =
        planned(&before, service, &PrepState::default(), at("05T08:00"))
    else {
        panic!("fits")
    };
    let comparison = Comparison::of((&whole, &before), (plan, &menu));
    let cream = comparison
        .dishes
        .iter()
        .find(|dish| dish.name == "Bay cream");
    let words = cream.expect("changes").words();
    assert!(
        words.contains("→ left out of what can still be: "),
        "{words}"
    );
    let mut moves = comparison.moves.iter();
    assert!(moves.all(|step| !step.name.starts_with("Bay cream")));
    let impossible = PlanOutcome::Impossible(vec!["no hob".to_owned()]);
    let errands = [
        order("pears", minute, None),
        order("figs", minute, Some((EntryId(1), at("05T08:00")))),
    ];
    let handed_over = |outcome, errands| {
        Handover::of(HandedOver {
            menu: &menu,
            service,
            outcome: Some(outcome),
            entries: &[],
            prep: &days.prep,
            calls: &[],
            lacks: &[],
            errands,
            now: minute,
        })
    };
    let handover = handed_over(&outcome, &[]);
    let mut trouble = handover.trouble.iter();
    assert!(
        trouble.any(|said| said.starts_with("Bay cream is left out")),
        "{:?}",
        handover.trouble
    );
    // Where nothing is known of times, what must be ordered is not passed over in silence.
    for (outcome, said) in [
        (&outcome, "15:50 order: pears"),
        (
            &impossible,
            "by when nobody knows without a plan; what is to be bought stands on the sheet, page o",
        ),
    ] {
        let handover = handed_over(outcome, &errands);
        let lines = handover.lines(service, minute);
        let figs = |line: &HandoverLine| matches!(line, HandoverLine::Plain(said) if said.contains("figs"));
        assert!(!lines.iter().any(figs), "what was ordered is not to be");
        assert!(
            lines.contains(&HandoverLine::Plain(said.to_owned())),
            "{lines:#?}"
        );
    }
}

#[test]
fn looks_call_by_number_so_that_each_is_answered_by_itself() {
    let (menu, service) = menu();
    let mut days = Days::default();
    days.write(
        at("05T15:00"),
        Happening::Started {
            step: "pears/poach".into(),
        },
    );
    let looks = |days: &Days, now: &str| -> Vec<String> {
        let calls = called(&menu, service, &days.prep, at(now));
        let looks = calls.into_iter().filter(|call| call.kind == Kind::Look);
        looks.map(|call| call.name).collect()
    };
    assert!(looks(&days, "05T15:14").is_empty());
    assert_eq!(looks(&days, "05T15:15"), ["look pears/poach 1"]);
    assert_eq!(looks(&days, "05T15:29"), ["look pears/poach 1"]);
    assert_eq!(looks(&days, "05T15:30"), ["look pears/poach 2"]);
    days.write(
        at("05T15:31"),
        Happening::Heeded {
            call: "look pears/poach 2".into(),
            again: None,
        },
    );
    assert!(days.prep.is_heeded("look pears/poach 2", at("05T15:31")));
    assert!(!days.prep.is_heeded("look pears/poach 3", at("05T15:46")));
    days.write(
        at("05T15:32"),
        Happening::Heeded {
            call: "end pears/poach".into(),
            again: Some(at("05T15:42")),
        },
    );
    assert!(days.prep.is_heeded("end pears/poach", at("05T15:41")));
    assert!(
        !days.prep.is_heeded("end pears/poach", at("05T13:41")),
        "the clock was set back: it may not be quiet for two hours"
    );
    assert!(
        !days.prep.is_heeded("end pears/poach", at("05T15:42")),
        "it was put off, not put away"
    );
}

#[test]
fn food_that_will_be_past_its_best_is_said_before_it_is() {
    let (mut menu, service) = menu();
    // It cannot be spooned out before six, whatever the cream would like.
    let six = countback::time::time_of_day(18, 0).expect("a time");
    menu.dishes[1].steps[1].not_before = Some(countback::menu::Moment::BeforeService(0, six));
    let mut days = Days::default();
    days.write(
        at("05T15:00"),
        Happening::Started {
            step: "cream/boil".into(),
        },
    );
    days.write(
        at("05T15:30"),
        Happening::Finished {
            step: "cream/boil".into(),
        },
    );
    let best = |now: &str| {
        let calls = called(&menu, service, &days.prep, at(now));
        calls.into_iter().find(|call| call.kind == Kind::Best)
    };
    assert_eq!(best("05T17:00"), None);
    let call = best("05T17:20").expect("at its best until 17:30");
    assert_eq!(call.by, Some(service.minute(at("05T17:30"))));
}

fn reads(step: &str, text: &str, now: Timestamp) -> Happening {
    let typed = countback::prep::typed_reading(text, now, Zone::Europe__Rome).expect("a reading");
    Happening::Read {
        step: step.into(),
        reading: typed.reading,
        goal: typed.goal,
    }
}

/// The pace of the FDA Food Code §3-501.14(A)(1), 135 °F to 70 °F within two hours, in a walk-in at 37 °F: food that
/// has fallen as far after one hour as Newton's law has it on that way is at 70 °F after the second (the two-point
/// rate of Hedeen, Schaffner and Brown, J. Env. Health 2022: 0.2364 powers of ten an hour).
#[test]
fn a_cooling_is_foretold_from_its_readings_and_the_plan_follows() {
    let (mut menu, service) = menu();
    menu.kitchen.cooks[0].shifts.clear();
    let step = StepKey::first("cream", "boil");
    let mut days = Days::default();
    days.write(
        at("05T10:00"),
        Happening::Started {
            step: step.to_string(),
        },
    );
    days.write(
        at("05T10:00"),
        reads("cream/boil", "135 F to 70 F in 37 F", at("05T10:00")),
    );
    let few = countback::prep::foreseen(&menu, &days.prep, &step).expect("was measured");
    assert!(
        few.sentence(Zone::Europe__Rome).contains("2 readings"),
        "{few:?}"
    );
    days.write(
        at("05T11:00"),
        reads("cream/boil", "93.9 F", at("05T11:00")),
    );
    let Some(countback::prep::Foreseen::Will {
        at: end, low, high, ..
    }) = countback::prep::foreseen(&menu, &days.prep, &step)
    else {
        panic!("two readings foretell it");
    };
    let off = (end.0 - at("05T12:00").0).abs();
    assert!(off <= 120, "{off} s off two hours");
    assert!(
        low < end && high.is_none_or(|high| end < high),
        "the span holds it"
    );
    let happened = days.prep.happened(&menu, service);
    let PlanOutcome::Planned(plan) = plan::plan(
        &menu,
        service,
        &happened,
        service.minute(at("05T11:01")),
        None,
    ) else {
        panic!("fits");
    };
    let (_, boil) = plan.find(&step).expect("there");
    let (_, spoon) = plan.find(&StepKey::first("cream", "spoon")).expect("there");
    assert_eq!(boil.window.end, service.minute(end), "it runs until then");
    assert!(spoon.window.start >= boil.window.end);
    // The one who stands beside it knows more, until something is measured again.
    days.write(
        at("05T11:05"),
        Happening::Expected {
            step: step.to_string(),
            end: at("05T11:40"),
        },
    );
    assert_eq!(
        countback::prep::expected_end(&menu, &days.prep, &step),
        Some(at("05T11:40"))
    );
    days.write(at("05T11:30"), reads("cream/boil", "81 F", at("05T11:30")));
    assert_ne!(
        countback::prep::expected_end(&menu, &days.prep, &step),
        Some(at("05T11:40"))
    );
}

/// Total solids stay: 1000 g at 20 °Bx boiled down to 65 °Bx leave 307.7 g (mass balance, by computation).
#[test]
fn a_reduction_is_foretold_along_its_straight_line() {
    let (mut menu, _) = menu();
    menu.dishes[1].steps[0].goal = Some(countback::menu::Goal::Weight(308));
    let step = StepKey::first("cream", "boil");
    let mut days = Days::default();
    days.write(
        at("05T10:00"),
        Happening::Started {
            step: step.to_string(),
        },
    );
    for (minute, grams) in [("10:00", 1000), ("10:10", 900), ("10:20", 800)] {
        let now = at(&format!("05T{minute}"));
        days.write(now, reads("cream/boil", &format!("{grams} g"), now));
    }
    // 692 g at 10 g a minute.
    assert_eq!(
        countback::prep::expected_end(&menu, &days.prep, &step),
        Some(Timestamp(at("05T10:00").0 + 4152))
    );
    days.write(at("05T11:10"), reads("cream/boil", "300 g", at("05T11:10")));
    let since = at("05T11:10");
    assert_eq!(
        countback::prep::foreseen(&menu, &days.prep, &step),
        Some(countback::prep::Foreseen::There { since })
    );
    assert_eq!(
        countback::prep::expected_end(&menu, &days.prep, &step),
        Some(since),
        "what is there is over, whatever its card says"
    );
}

/// FDA Food Code §3-501.14(A): from 57 °C to 21 °C within two hours.
#[test]
fn what_cools_too_slowly_calls_half_an_hour_before_the_rule_is_broken() {
    let (mut menu, service) = menu();
    menu.rules = Some(countback::menu::Rules::UsModelCode);
    let mut days = Days::default();
    let step = "cream/boil";
    days.write(at("05T15:00"), Happening::Started { step: step.into() });
    days.write(at("05T15:00"), reads(step, "57 C", at("05T15:00")));
    days.write(at("05T15:20"), reads(step, "50 C", at("05T15:20")));
    let cool = |days: &Days, now: &str| {
        let calls = called(&menu, service, &days.prep, at(now));
        calls.into_iter().find(|call| call.kind == Kind::Cool)
    };
    assert_eq!(cool(&days, "05T16:29"), None, "there is time");
    let call = cool(&days, "05T16:30").expect("half an hour is left");
    assert_eq!(
        call.by,
        Some(service.minute(at("05T17:00"))),
        "{}",
        call.says
    );
    assert!(!call.is_urgent && cool(&days, "05T16:50").expect("calls").is_urgent);
    days.write(at("05T16:40"), reads(step, "21 C", at("05T16:40")));
    let next = cool(&days, "05T16:41").map(|call| call.name);
    assert_eq!(next, None, "the first leg is met, the other has hours");
}

/// FDA Food Code §3-501.14(B): four hours where it begins below hot and nobody has said that it was cooked.
#[test]
fn what_was_never_read_hot_calls_by_the_four_hours_of_what_is_made_cold() {
    let (mut menu, service) = menu();
    menu.rules = Some(countback::menu::Rules::UsModelCode);
    let mut days = Days::default();
    let step = "cream/boil";
    days.write(at("05T15:00"), Happening::Started { step: step.into() });
    days.write(at("05T15:00"), reads(step, "20 C", at("05T15:00")));
    days.write(at("05T15:20"), reads(step, "18 C", at("05T15:20")));
    let calls = called(&menu, service, &days.prep, at("05T18:31"));
    let call = calls.into_iter().find(|call| call.kind == Kind::Cool);
    let by = call.and_then(|call| call.by);
    assert_eq!(by, Some(service.minute(at("05T19:00"))));
}

#[test]
fn the_cook_decides_how_many_batches_and_takes_it_back() {
    let (menu, service) = menu();
    let mut days = Days::default();
    let steps = |days: &Days| {
        let now = decided(&menu, service, days.prep.decisions(), &card);
        let outcome = planned(&now.menu, now.service, &days.prep, at("05T10:00"));
        let PlanOutcome::Planned(plan) = outcome else {
            panic!("{outcome:#?}")
        };
        let poached = plan.steps.iter().filter(|it| it.key.step == "poach");
        poached.count()
    };
    assert_eq!(steps(&days), 2);
    let three = days.decides(Decision::Batches {
        dish: "pears".into(),
        batches: Some(3),
    });
    assert_eq!(steps(&days), 3);
    let needed = days.decides(Decision::Batches {
        dish: "pears".into(),
        batches: None,
    });
    assert_eq!(steps(&days), 2, "as many as the portions need");
    days.write(at("05T10:02"), Happening::Undone { entry: needed });
    assert_eq!(steps(&days), 3, "what was decided before holds again");
    days.write(at("05T10:03"), Happening::Undone { entry: three });
    assert_eq!(steps(&days), 2);
}

/// A guest is served something else in place of it; once nobody is served it, there is nothing to say of that guest.
#[test]
fn a_dish_that_a_guest_goes_without_can_be_left_out_and_taken_in_again() {
    let guests =
        r#"covers: 40, guests: [Guest(name: "table 7", avoids: [Milk], without: ["cream"])],"#;
    let (menu, service) = menu_of(&MENU.replace("covers: 40,", guests));
    let drop = Decision::DishDropped {
        dish: "cream".into(),
    };
    let (less, _) = decide(&menu, service, &drop, &card).expect("it can be left out");
    assert!(less.dish("cream").is_none());
    let again = Decision::DishAdded {
        card: r#"Dish(id: "cream", name: "Bay cream", steps: [Step(id: "boil", name: "Boil", time: "30 min")])"#.into(),
        course: None,
        covers: None,
    };
    let (again, _) = decide(&less, service, &again, &card).expect("it can be made after all");
    assert_eq!(again.guests, menu.guests, "table 7 is still not served it");
    // A name that no dish ever bore is a slip of the pen.
    let (odd, _) = menu_of(MENU);
    let mut odd = odd;
    odd.guests.clone_from(&menu.guests);
    odd.guests[0].without = vec!["creme".into()];
    assert!(!countback::menu::check(&odd).is_empty());
}

#[test]
fn a_test_that_was_not_passed_leaves_what_the_readings_foretell() {
    let (menu, _) = menu();
    let step = || "cream/boil".to_owned();
    let key = StepKey::first("cream", "boil");
    let mut days = Days::default();
    days.write(at("05T15:00"), Happening::Started { step: step() });
    let goal = Some(Goal {
        reading: Reading::Volume(1200),
        around: None,
    });
    for (when, millilitres) in [("05T15:05", 1800), ("05T15:15", 1700)] {
        let reading = Reading::Volume(millilitres);
        days.write(
            at(when),
            Happening::Read {
                step: step(),
                reading,
                goal,
            },
        );
    }
    let before = expected_end(&menu, &days.prep, &key).expect("foretold");
    assert_eq!(
        before,
        at("05T16:05"),
        "ten minutes for each tenth of a litre"
    );
    let not_passed = Happening::Read {
        step: step(),
        reading: Reading::Test(false),
        goal: None,
    };
    days.write(at("05T15:20"), not_passed.clone());
    assert_eq!(expected_end(&menu, &days.prep, &key), Some(before));
    // What a cook said of its end is not unsaid by it either.
    days.write(
        at("05T15:25"),
        Happening::Expected {
            step: step(),
            end: at("05T15:50"),
        },
    );
    days.write(at("05T15:30"), not_passed.clone());
    assert_eq!(expected_end(&menu, &days.prep, &key), Some(at("05T15:50")));
    // Past the time the readings had for it they foretell nothing.
    days.write(at("05T16:10"), not_passed);
    let foreseen = foreseen(&menu, &days.prep, &key).expect("something");
    assert!(matches!(foreseen, Foreseen::Unknown { .. }), "{foreseen:?}");
}

/// 29 °C at nine, −2 °C five minutes later: a key struck beside another must not make a cooling that failed pass.
#[test]
fn a_reading_that_cannot_well_be_is_asked_about_and_counts_for_nothing_good() {
    let (menu, _) = menu();
    let step = || "cream/boil".to_owned();
    let key = StepKey::first("cream", "boil");
    let mut days = Days::default();
    days.write(at("05T19:32"), Happening::Started { step: step() });
    let goal = Some(Goal {
        reading: Reading::Temperature(50),
        around: Some(10),
    });
    for (when, tenths) in [
        ("05T19:40", 800),
        ("05T20:00", 600),
        ("05T20:30", 410),
        ("05T21:00", 290),
    ] {
        let reading = Reading::Temperature(tenths);
        days.write(
            at(when),
            Happening::Read {
                step: step(),
                reading,
                goal,
            },
        );
    }
    let measured = |days: &Days, when: &str| {
        let now = (at(when), Zone::Europe__Rome);
        let sets = rule_sets(&menu).into_iter();
        let found = sets.flat_map(|set| measured_against(&menu, &days.prep, set, now));
        found.map(|it| it.level).max().expect("something")
    };
    // By the strictest of the sets 63 °C to 8 °C within 90 minutes, which nobody has read.
    assert_eq!(measured(&days, "05T21:33"), Level::NotKnown);
    let slip = Reading::Temperature(-20);
    days.write(
        at("05T21:05"),
        Happening::Read {
            step: step(),
            reading: slip,
            goal,
        },
    );
    assert_eq!(measured(&days, "05T21:33"), Level::NotKnown);
    let Some(Foreseen::Unknown { why }) = foreseen(&menu, &days.prep, &key) else {
        panic!("it is believed");
    };
    assert!(
        why.contains("−2 °C cannot well be so soon after 29 °C"),
        "{why}"
    );
    // Read again, it is believed.
    days.write(
        at("05T21:08"),
        Happening::Read {
            step: step(),
            reading: slip,
            goal,
        },
    );
    let again = foreseen(&menu, &days.prep, &key);
    assert!(matches!(again, Some(Foreseen::There { .. })), "{again:?}");
}

#[test]
fn a_tick_much_too_soon_is_asked_about() {
    let text = MENU.replace(
        r#"Step(id: "spoon", name: "Spoon it out", time: "20 min")"#,
        r#"Step(id: "spoon", name: "Spoon it out", time: "20 min", after: [After(step: "boil", gap: "at least 2h")])"#,
    );
    let (menu, service) = menu_of(&text);
    let mut days = Days::default();
    let now = at("05T14:00");
    let started = |step: &str| Happening::Started { step: step.into() };
    let done = |step: &str| Happening::Finished { step: step.into() };
    let slip_of = |days: &Days, what: &Happening, step: &str, at: Timestamp| {
        let outcome = planned(&menu, service, &days.prep, at);
        let key = step.parse().expect("a key");
        slip(outcome.times(), &days.prep, what, &key, at)
    };
    // What waits for a step that has not begun.
    let said = slip_of(&days, &started("cream/spoon"), "cream/spoon", now).expect("a slip");
    assert!(
        said.starts_with("what it follows is there at Sat "),
        "{said}"
    );
    // Done, and never begun, hours before its time.
    let said = slip_of(&days, &done("cream/boil"), "cream/boil", now).expect("a slip");
    assert!(said.starts_with("it was to start at Sat "), "{said}");
    assert_eq!(
        slip_of(&days, &started("cream/boil"), "cream/boil", now),
        None,
        "early is no slip"
    );
    days.write(at("05T13:00"), started("cream/boil"));
    days.write(at("05T13:30"), done("cream/boil"));
    // The gap on its card has not passed.
    let said = slip_of(&days, &started("cream/spoon"), "cream/spoon", now).expect("a slip");
    assert_eq!(said, "not before Sat 15:30 by its card");
    assert_eq!(
        slip_of(
            &days,
            &started("cream/spoon"),
            "cream/spoon",
            at("05T15:30")
        ),
        None
    );
}

/// What the page of hands and kit shows is what the steps of the plan are given, each minute once.
#[test]
fn hands_and_kit_over_the_days_are_what_the_steps_have() {
    let (menu, service) = menu();
    let mut days = Days::default();
    let now = at("05T15:00");
    days.write(
        now,
        Happening::Started {
            step: "cream/boil".into(),
        },
    );
    let skip = Happening::Skipped {
        step: "cream/spoon".into(),
        reason: "bought in".into(),
    };
    days.write(now, skip);
    let outcome = planned(&menu, service, &days.prep, now);
    let plan = outcome.times().expect("a plan");
    let made = |step: &&plan::PlannedStep| step.key != StepKey::first("cream", "spoon");
    let cooks = busy::cooks(plan, &days.prep);
    assert_eq!(cooks.len(), 2);
    for cook in &cooks {
        let spans = plan.steps.iter().filter(made).flat_map(|step| &step.hands);
        let mine = spans.filter(|span| span.cooks.contains(&cook.cook));
        let minutes: i32 = mine.map(|span| span.window.length().0).sum();
        let works: i32 = cook.works.iter().map(|it| it.length().0).sum();
        assert_eq!(works, minutes, "{}: nobody is in two places", cook.cook);
        let is_there = |it: &Window| cook.shifts.iter().any(|shift| shift.overlaps(*it));
        assert!(cook.works.iter().all(is_there), "{cook:?}");
    }
    let kit = busy::kit(plan, &days.prep, &menu.kitchen);
    assert_eq!(kit.len(), 1, "no step uses a shelf");
    let hob = &kit[0];
    assert!(
        (1..=hob.places).contains(&hob.most(service.minute(now))),
        "{hob:?}"
    );
    let used: i32 = hob
        .uses
        .iter()
        .map(|(it, count)| it.length().0 * *count as i32)
        .sum();
    let spans = plan.steps.iter().filter(made).flat_map(|step| &step.kit);
    let minutes: i32 = spans
        .map(|span| span.window.length().0 * span.count as i32)
        .sum();
    assert_eq!(used, minutes);
}

/// Raised covers do not make more of what is done: that is said before it is decided, and after.
#[test]
fn what_was_made_for_fewer_is_said() {
    let (menu, service) = menu();
    let mut days = Days::default();
    let now = at("05T15:00");
    let done = |step: &str| Happening::Finished { step: step.into() };
    let covers = |covers| Decision::Covers { dish: None, covers };
    let said = |days: &Days, decision: Decision| {
        let wanted = decide(&menu, service, &decision, &card).expect("fits").0;
        lacking((&menu, service), &days.book, &days.prep, &card, &wanted)
    };
    let nothing: [String; 0] = [];
    // Batch by batch: more covers are more batches, which the plan lists; only one that grows lacks anything.
    days.write(now, done("pears/poach"));
    let boiled = days.write(now, done("cream/boil"));
    assert_eq!(said(&days, covers(40)), nothing);
    assert_eq!(said(&days, covers(39)), nothing);
    let lacks = [
        "Bay cream: \"Boil the cream\" was made for 40 portions, and 55 are wanted; what lacks is on no plan",
    ];
    assert_eq!(said(&days, covers(55)), lacks);
    // Taken, it is still said; boiled again for so many, it is not.
    days.decides(covers(55));
    assert_eq!(said(&days, covers(55)), lacks);
    days.write(now, Happening::Undone { entry: boiled });
    days.write(now, done("cream/boil"));
    assert_eq!(said(&days, covers(55)), nothing);
}

/// The last batch is a part of one: with more covers the same batch is to be larger.
#[test]
fn a_last_batch_that_grows_lacks_what_it_was_not_made_for() {
    let text = MENU.replace(
        "batch: Batch(portions: 20)",
        "batch: Batch(portions: 24, last: Part)",
    );
    let (menu, service) = menu_of(&text);
    let mut days = Days::default();
    for step in ["pears/poach", "pears/poach#2"] {
        days.write(at("05T15:00"), Happening::Finished { step: step.into() });
    }
    let said = |covers| {
        let decision = Decision::Covers { dish: None, covers };
        let wanted = decide(&menu, service, &decision, &card).expect("fits").0;
        lacking((&menu, service), &days.book, &days.prep, &card, &wanted)
    };
    assert_eq!(said(40), [] as [String; 0]);
    assert_eq!(
        said(48),
        [
            "Pears in bay syrup: \"Poach the pears (batch 2 of 2)\" was made for 16 portions, and 24 are wanted; what lacks is on no plan"
        ]
    );
}
