//! What leaves the planner a choice: ways, ovens, cooks, hours; and what is wanted rather than required. Each on
//! the smallest menu that has it, counted back by hand.

use super::{audit, menu, planned, service, when};
use countback::menu::Menu;
use countback::plan::{
    self, Announced, Asked, Done, Happened, Plan, PlanOutcome, PlannedStep, Told, Work,
};
use countback::time::*;

const OPEN: &str = "open: [Open(days: \"every day\", at: \"07:00..22:00\")]";

/// Returns a menu at the usual hour with these cooks, this kit, and dishes of one step each.
fn kitchen(cooks: &str, kit: &str, dishes: &[(&str, &str)]) -> Menu {
    let dishes: Vec<String> = dishes
        .iter()
        .map(|(id, step)| {
            format!(
                "Serve(dish: Dish(id: \"{id}\", name: \"{id}\", steps: [Step(id: \"do\", name: \"Do {id}\", {step})]))"
            )
        })
        .collect();
    let dishes = dishes.join(", ");
    let kitchen = format!("{OPEN}, cooks: [{cooks}], kit: [{kit}]");
    menu("Europe/London", "2026-11-28 19:30", &kitchen, &dishes)
}

fn step<'a>(plan: &'a Plan, key: &str) -> &'a PlannedStep {
    plan.find(&key.parse().unwrap()).unwrap().1
}

fn sorted(plan: &Plan, keys: &[&str]) -> Vec<String> {
    let mut all: Vec<String> = keys.iter().map(|key| when(plan, key)).collect();
    all.sort();
    all
}

const ONE: &str = "Cook(name: \"one\")";
const TWO: &str = "Cook(name: \"one\"), Cook(name: \"two\")";
const PULP: &str = "time: \"6h\", hands: \"left alone\", uses: [Use(kit: \"hob\")],
    ways: [Way(name: \"in the falling oven\", time: \"overnight\", hands: \"put on 10 min, someone about\", uses: [Use(kit: \"oven\", heat: \"110 C\")])]";

fn pulp(taken: &str) -> Menu {
    let kit = format!(
        "Kit(id: \"hob\", name: \"Hob\", count: 1{taken}), Kit(id: \"oven\", name: \"Oven\", count: 1, oven: Oven(change: \"20 min\"))"
    );
    let text = kitchen(ONE, &kit, &[("pulp", PULP)]);
    Menu {
        kitchen: countback::menu::Kitchen {
            watched: text.kitchen.open.clone(),
            ..text.kitchen
        },
        ..text
    }
}

#[test]
fn the_cards_own_way_unless_it_cannot_be_had() {
    let plan = planned(&pulp(""));
    assert_eq!(when(&plan, "pulp/do"), "Sat 13:30..Sat 19:30");
    let own = step(&plan, "pulp/do");
    assert_eq!((own.way.as_ref(), own.someone_about), (None, false));
    assert_eq!(own.kit[0].name, "Hob");

    // With the hob gone it goes into the oven, where somebody must be about: not past closing, and so, of a
    // step that ends in the morning, never. It goes back to what can be.
    let taken = ", taken: [Taken(days: \"every day\", at: \"00:00..24:00\")]";
    let mut menu = pulp(taken);
    menu.kitchen.watched = vec![countback::menu::Hours {
        days: countback::menu::Days::Every,
        spans: vec![countback::menu::Span { from: 0, to: 1440 }],
    }];
    let plan = planned(&menu);
    assert_eq!(when(&plan, "pulp/do"), "Fri 21:50..Sat 07:00");
    let other = step(&plan, "pulp/do");
    assert_eq!(other.way.as_ref().unwrap().name, "in the falling oven");
    assert!(other.someone_about);
    assert_eq!(
        (other.kit[0].name.as_str(), other.kit[0].heat),
        ("Oven", Some(1100))
    );
    assert_eq!(other.hands[0].window.length(), Minutes(10));

    let nobody_at_night = pulp(taken);
    let outcome = plan::plan(
        &nobody_at_night,
        service(&menu),
        &Happened::new(),
        Minute(-9000),
        None,
    );
    assert!(
        matches!(outcome, PlanOutcome::Impossible(_)),
        "{outcome:#?}"
    );
}

#[test]
fn a_step_that_has_begun_goes_on_the_way_it_was_announced() {
    let mut menu = pulp("");
    menu.kitchen.watched[0].spans[0] = countback::menu::Span { from: 0, to: 1440 };
    let start = Minute(-1310);
    let told = Told {
        start,
        way: Some("in the falling oven".to_owned()),
        ovens: vec![("Oven".to_owned(), 1)],
    };
    let key: plan::StepKey = "pulp/do".parse().unwrap();
    let announced: Announced = [(key.clone(), told)].into();
    let happened: Happened = [(key, Done::Started(start))].into();
    let after = |announced| {
        let outcome = plan::plan(&menu, service(&menu), &happened, Minute(-1300), announced);
        let PlanOutcome::Planned(plan) = outcome else {
            panic!("{outcome:#?}")
        };
        when(&plan, "pulp/do")
    };
    assert_eq!(after(Some(&announced)), "Fri 21:40..Sat 07:00");
    assert_eq!(after(None), "Fri 21:40..Sat 03:40");
}

fn bake(heat: &str) -> String {
    format!("time: \"1h\", hands: \"left alone\", uses: [Use(kit: \"oven\", heat: \"{heat}\")]")
}

fn oven(count: u32, shelves: u32) -> String {
    format!(
        "Kit(id: \"oven\", name: \"Oven\", count: {count}, oven: Oven(change: \"20 min\", shelves: {shelves}))"
    )
}

#[test]
fn an_oven_is_at_one_heat_and_takes_its_time_to_another() {
    let (low, high) = (bake("160 C"), bake("200 C"));
    let plan = planned(&kitchen(ONE, &oven(1, 1), &[("a", &low), ("b", &high)]));
    let both = ["a/do", "b/do"];
    assert_eq!(
        sorted(&plan, &both),
        ["Sat 17:10..Sat 18:10", "Sat 18:30..Sat 19:30"]
    );
    let first = both
        .iter()
        .map(|key| step(&plan, key))
        .min_by_key(|it| it.window.start);
    let first = first.unwrap();
    let heat = if first.key.dish == "a" {
        "200 C"
    } else {
        "160 C"
    };
    let other = if first.key.dish == "a" { "b" } else { "a" };
    assert_eq!(
        first.reason,
        format!(
            "the Oven goes to {heat} from Sat 18:10 for \"Do {other}\" of {other} at Sat 18:30"
        )
    );
    // At the same heat they share it, as far as there are shelves.
    let plan = planned(&kitchen(
        ONE,
        &oven(1, 2),
        &[("a", &low), ("b", &low), ("c", &low)],
    ));
    assert_eq!(
        sorted(&plan, &["a/do", "b/do", "c/do"]),
        [
            "Sat 17:30..Sat 18:30",
            "Sat 18:30..Sat 19:30",
            "Sat 18:30..Sat 19:30"
        ]
    );
    // Two ovens have two heats.
    let plan = planned(&kitchen(ONE, &oven(2, 1), &[("a", &low), ("b", &high)]));
    assert_eq!(sorted(&plan, &both), ["Sat 18:30..Sat 19:30"; 2]);
    let which: Vec<_> = both
        .iter()
        .map(|key| step(&plan, key).kit[0].which.unwrap())
        .collect();
    assert_ne!(which[0], which[1]);
}

#[test]
fn what_does_not_fit_into_one_oven_takes_whole_ones() {
    let much = "time: \"1h\", hands: \"left alone\", uses: [Use(kit: \"oven\", count: 3, heat: \"160 C\")]";
    let plan = planned(&kitchen(
        ONE,
        &oven(2, 2),
        &[("a", much), ("b", &bake("160 C"))],
    ));
    assert_eq!(
        sorted(&plan, &["a/do", "b/do"]),
        ["Sat 17:30..Sat 18:30", "Sat 18:30..Sat 19:30"]
    );
    let counts: Vec<_> = step(&plan, "a/do")
        .kit
        .iter()
        .map(|it| (it.which, it.count))
        .collect();
    assert_eq!(counts, [(Some(1), 2), (Some(2), 2)]);
    // Others have the last of them.
    let kit = oven(2, 1).replace(
        "count: 2,",
        "count: 2, taken: [Taken(days: \"every day\", at: \"00:00..24:00\", count: 1)],",
    );
    let plan = planned(&kitchen(
        ONE,
        &kit,
        &[("a", &bake("160 C")), ("b", &bake("160 C"))],
    ));
    assert_eq!(
        sorted(&plan, &["a/do", "b/do"]),
        ["Sat 17:30..Sat 18:30", "Sat 18:30..Sat 19:30"]
    );
    assert_eq!(step(&plan, "a/do").kit[0].which, Some(1));
}

#[test]
fn what_runs_keeps_its_oven_and_what_follows_waits_for_the_heat() {
    let menu = kitchen(
        ONE,
        &oven(1, 2),
        &[("a", &bake("160 C")), ("b", &bake("200 C"))],
    );
    let happened: Happened = [("a/do".parse().unwrap(), Done::Started(Minute(-100)))].into();
    let outcome = plan::plan(&menu, service(&menu), &happened, Minute(-90), None);
    let PlanOutcome::TooLate { .. } = outcome else {
        // Until 18:50, twenty minutes to change, an hour to bake: that is past 19:30.
        panic!("{outcome:#?}")
    };
    let happened: Happened = [("a/do".parse().unwrap(), Done::Started(Minute(-140)))].into();
    let outcome = plan::plan(&menu, service(&menu), &happened, Minute(-130), None);
    let PlanOutcome::Planned(plan) = outcome else {
        panic!("{outcome:#?}")
    };
    assert_eq!(when(&plan, "b/do"), "Sat 18:30..Sat 19:30");
}

#[test]
fn who_can_do_it_does_it() {
    let sugar = "time: \"1h\", skill: \"sugar\"";
    let cooks = "Cook(name: \"one\", skills: [\"sugar\"]), Cook(name: \"two\"), Cook(name: \"three\"), Cook(name: \"four\")";
    let dishes = [
        ("a", sugar),
        ("b", sugar),
        ("c", "time: \"1h\""),
        ("e", "time: \"1h\""),
    ];
    let plan = planned(&kitchen(cooks, "", &dishes));
    assert_eq!(
        sorted(&plan, &["a/do", "b/do"]),
        ["Sat 17:30..Sat 18:30", "Sat 18:30..Sat 19:30"]
    );
    for key in ["c/do", "e/do"] {
        assert_eq!(when(&plan, key), "Sat 18:30..Sat 19:30");
        assert_ne!(step(&plan, key).hands[0].cooks, ["one"]);
    }
    let first = ["a/do", "b/do"].map(|key| step(&plan, key));
    let first = first.into_iter().min_by_key(|it| it.window.start).unwrap();
    assert_eq!(first.hands[0].cooks, ["one"]);
    assert!(
        first
            .reason
            .starts_with("from Sat 18:30 those who can do sugar are needed for "),
        "{}",
        first.reason
    );
    let cooks = "Cook(name: \"one\", skills: [\"sugar\"], shifts: [Shift(days: \"every day\", at: \"08:00..18:00\")]), Cook(name: \"two\")";
    let plan = planned(&kitchen(cooks, "", &[("a", sugar)]));
    assert_eq!(when(&plan, "a/do"), "Sat 17:00..Sat 18:00");
    assert_eq!(
        step(&plan, "a/do").reason,
        "nobody who can do sugar is on shift at Sat 18:00"
    );
}

#[test]
fn skills_that_overlap_are_counted_together() {
    // Three steps at once want sugar or ice, and only two cooks have either: one of them comes earlier.
    let cooks = "Cook(name: \"one\", skills: [\"sugar\", \"ice\"]), Cook(name: \"two\", skills: [\"sugar\", \"ice\"]), Cook(name: \"three\")";
    let (sugar, ice) = (
        "time: \"1h\", skill: \"sugar\"",
        "time: \"1h\", skill: \"ice\"",
    );
    let plan = planned(&kitchen(
        cooks,
        "",
        &[("a", sugar), ("b", ice), ("c", sugar)],
    ));
    assert_eq!(
        sorted(&plan, &["a/do", "b/do", "c/do"]),
        [
            "Sat 17:30..Sat 18:30",
            "Sat 18:30..Sat 19:30",
            "Sat 18:30..Sat 19:30"
        ]
    );
    // Whoever can do only one of them leaves the other to whoever can do both.
    let cooks = "Cook(name: \"one\", skills: [\"sugar\", \"ice\"]), Cook(name: \"two\", skills: [\"sugar\"])";
    let plan = planned(&kitchen(cooks, "", &[("a", sugar), ("b", ice)]));
    assert_eq!(step(&plan, "a/do").hands[0].cooks, ["two"]);
    assert_eq!(step(&plan, "b/do").hands[0].cooks, ["one"]);
    assert_eq!(
        sorted(&plan, &["a/do", "b/do"]),
        ["Sat 18:30..Sat 19:30"; 2]
    );
}

#[test]
fn overtime_is_asked_for_what_would_be_past_its_best_and_for_nothing_less() {
    let cook = "Cook(name: \"one\", shifts: [Shift(days: \"every day\", at: \"08:00..16:00\")], overtime: [Shift(days: \"the day\", at: \"16:00..18:00\")])";
    let plan = planned(&kitchen(cook, "", &[("a", "time: \"1h\"")]));
    assert_eq!(when(&plan, "a/do"), "Sat 15:00..Sat 16:00");
    assert_eq!(plan.overtime, []);
    assert_eq!(
        step(&plan, "a/do").reason,
        "any later, somebody would have to stay beyond their shift"
    );
    let plan = planned(&kitchen(cook, "", &[("a", "time: \"1h\", best: \"2h\"")]));
    assert_eq!(when(&plan, "a/do"), "Sat 17:00..Sat 18:00");
    let stays = &plan.overtime[0];
    assert_eq!((stays.cook.as_str(), stays.windows.len()), ("one", 1));
    assert_eq!(stays.windows[0], step(&plan, "a/do").window);
    assert_eq!(plan.dishes[0].past_best, None);
}

#[test]
fn even_spreads_what_late_heaps() {
    let dishes = ["a", "b", "c", "e"].map(|id| (id, "time: \"1h\""));
    let mut menu = kitchen(TWO, "", &dishes);
    let late = planned(&menu);
    menu.style = countback::menu::Style::Even;
    let even = planned(&menu);
    let at_once = |plan: &Plan| {
        let spans = || plan.steps.iter().flat_map(|step| &step.hands);
        let at = |minute| spans().filter(|it| it.window.contains(minute)).count();
        spans().map(|it| at(it.window.start)).max()
    };
    assert_eq!((at_once(&late), at_once(&even)), (Some(2), Some(1)));
    // Each lies across two hours, which halves what either has to bear, and none further away than that.
    let first = even.steps.iter().map(|it| it.window.start.0).min().unwrap();
    assert!((-480..=-240).contains(&first), "{first}");
}

#[test]
fn a_margin_is_kept_as_far_as_it_can_be() {
    let of = |fields: &str| {
        let dish = format!(
            "Serve(margin: \"30 min\", dish: Dish(id: \"a\", name: \"a\", steps: [Step(id: \"do\", name: \"Do\", {fields})]))"
        );
        let kitchen = format!("{OPEN}, cooks: [{ONE}]");
        planned(&menu("Europe/London", "2026-11-28 19:30", &kitchen, &dish))
    };
    let plan = of("time: \"20 min\"");
    assert_eq!(when(&plan, "a/do"), "Sat 18:40..Sat 19:00");
    let reason = "must be at the pass by Sat 19:30, with 30 min in hand";
    assert_eq!(step(&plan, "a/do").reason, reason);
    assert_eq!(step(&plan, "a/do").can_slip_until, Minute(-20));
    let plan = of("time: \"20 min\", not_before: \"19:00 on the day\"");
    assert_eq!(when(&plan, "a/do"), "Sat 19:00..Sat 19:20");
    let reason = "must be at the pass by Sat 19:30, with 10 min in hand";
    assert_eq!(step(&plan, "a/do").reason, reason);
}

#[test]
fn what_was_announced_stays_and_a_better_plan_is_offered_beside_it() {
    let menu = kitchen(TWO, "", &[("a", "time: \"1h\""), ("b", "time: \"1h\"")]);
    let (nothing, now) = (Happened::new(), Minute(-3 * 1440));
    let told = |start| Told {
        start: Minute(start),
        way: None,
        ovens: Vec::new(),
    };
    let announced: Announced = [
        ("a/do".parse().unwrap(), told(-1700)),
        ("b/do".parse().unwrap(), told(-60)),
    ]
    .into();
    let outcome = plan::plan(&menu, service(&menu), &nothing, now, Some(&announced));
    let PlanOutcome::Planned(kept) = outcome else {
        panic!("{outcome:#?}")
    };
    assert_eq!(audit::audit(&menu, &kept, now), Vec::<String>::new());
    assert_eq!(step(&kept, "a/do").window.start, Minute(-1700));
    let asked = Asked {
        menu: &menu,
        service: service(&menu),
        happened: &nothing,
        now,
        told: Some(&announced),
        shown: None,
    };
    let work = Work {
        epochs: 8,
        threads: 1,
        stop: &|| false,
    };
    let better = plan::better(asked, work).unwrap();
    assert_eq!(
        (better.moved, when(&better.plan, "a/do").as_str()),
        (1, "Sat 18:30..Sat 19:30")
    );
    assert_eq!(better.gains, ["steps start 27h20 later, all together"]);
    // Once it is taken there is none better.
    let taken = better.plan.announced();
    let asked = Asked {
        told: Some(&taken),
        shown: None,
        ..asked
    };
    assert_eq!(plan::better(asked, work), None);
}
