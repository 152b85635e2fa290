//! The rules one by one, on dishes of a few steps with their times given by hand.

#![allow(
    clippy::unwrap_used,
    clippy::unnecessary_wraps,
    reason = "a test that cannot go on should stop; temperatures are made as a step has them"
)]

mod followed;

use super::*;
use crate::menu::{
    Across, Cold, ColdBy, Conducts, Cooling, Course, Freshness, Hands, Kit, Kitchen, Multiple,
    Service, ServiceDay, Step, StepTime, Style, Temperature, Work,
};
use crate::safety::rules::{AUSTRALIA, ENGLAND, SCOTLAND, US};
use crate::time::{Date, Local, Minutes, Zone, time_of_day};

fn step(id: &str, temperature: Option<Temperature>) -> Step {
    Step {
        id: id.to_owned(),
        name: id.to_owned(),
        sugar: None,
        method: None,
        each: Multiple::Dish,
        station: None,
        skill: None,
        time: StepTime::Elapsed(Work::default()),
        until: None,
        goal: None,
        hands: Hands::default(),
        uses: Vec::new(),
        keeps_kit: Vec::new(),
        after: Vec::new(),
        together: Vec::new(),
        not_before: None,
        done_by: None,
        within: None,
        fresh: Freshness::default(),
        ways: Vec::new(),
        temperature,
        cooling: None,
        control: None,
        cautions: Vec::new(),
    }
}

fn held(at: i32) -> Option<Temperature> {
    Some(Temperature::Held { at: at * 10 })
}

fn cooked(to: i32) -> Option<Temperature> {
    Some(Temperature::Cooked {
        to: to * 10,
        lasting: None,
    })
}

fn menu(steps: Vec<Step>) -> Menu {
    let kit = |id: &str, at: i32, by| Kit {
        id: id.to_owned(),
        name: id.to_owned(),
        count: 9,
        holds: None,
        oven: None,
        cold: Some(Cold { at, by }),
        taken: Vec::new(),
    };
    Menu {
        id: "m".to_owned(),
        name: "m".to_owned(),
        service: Service {
            day: ServiceDay::On(Date::from_ymd_opt(2026, 4, 9).unwrap()),
            time: time_of_day(19, 0).unwrap(),
        },
        covers: 10,
        prep_from: None,
        style: Style::Late,
        rules: None,
        guests: Vec::new(),
        larder: crate::menu::Larder::default(),
        gelling: crate::menu::Gelling::default(),
        kitchen: Kitchen {
            name: "k".to_owned(),
            zone: Some(Zone::UTC),
            altitude: None,
            open: Vec::new(),
            watched: Vec::new(),
            cooks: Vec::new(),
            stations: Vec::new(),
            kit: vec![
                kit("fridge", 30, ColdBy::Still),
                kit("ice bath", 10, ColdBy::IceBath),
            ],
        },
        courses: vec![Course {
            id: "c".to_owned(),
            name: "c".to_owned(),
            offset: Minutes::ZERO,
        }],
        dropped: Vec::new(),
        dishes: vec![Dish {
            id: "d".to_owned(),
            name: "d".to_owned(),
            note: None,
            course: "c".to_owned(),
            covers: None,
            batches: None,
            spare: 0,
            margin: Minutes::ZERO,
            batch: None,
            ingredients: Vec::new(),
            steps,
            repeats: Vec::new(),
            rescues: Vec::new(),
            fresh: Freshness::default(),
            control: Some(Control::Needed),
            waits_at: Some(30),
        }],
    }
}

fn service() -> ServiceTime {
    let local = Local {
        date: Date::from_ymd_opt(2026, 4, 9).unwrap(),
        time: time_of_day(19, 0).unwrap(),
    };
    ServiceTime::new(local, Zone::UTC)
}

/// One doing a step, one after another without a gap, of so many minutes; the last ends `before` service.
fn checked(menu: &Menu, set: &'static RuleSet, minutes: &[i32], before: i32) -> DishChecked {
    let total: i32 = minutes.iter().sum();
    let mut at = -before - total;
    let mut doings = Vec::new();
    for (step, length) in minutes.iter().enumerate() {
        doings.push(Doing {
            dish: 0,
            step,
            name: menu.dishes[0].steps[step].name.clone(),
            window: Window::new(Minute(at), Minute(at + length)),
            follows: step.checked_sub(1).into_iter().collect(),
            left_out: false,
        });
        at += length;
    }
    check(menu, set, service(), &doings).dishes.remove(0)
}

fn verdict(steps: Vec<Step>, set: &'static RuleSet, minutes: &[i32]) -> Verdict {
    checked(&menu(steps), set, minutes, 0).verdict
}

#[test]
fn time_out_of_the_cold_is_counted_as_each_country_counts_it() {
    use Verdict::{Breaks, Doubtful, Within};
    // Cold, out on the bench for a while, and served from there.
    let bench = |at| vec![step("cold", held(3)), step("bench", held(at))];
    let cases = [
        // FDA Food Code §3-501.19: four hours; six where it never passes 21 °C.
        (&US, 25, 240, Within),
        (&US, 25, 241, Breaks),
        (&US, 21, 360, Within),
        (&US, 21, 361, Breaks),
        // SI 2013/2996 Sch. 4 para 5: less than four hours.
        (&ENGLAND, 25, 239, Within),
        (&ENGLAND, 25, 240, Breaks),
        // FSANZ: up to four hours, then it is thrown away.
        (&AUSTRALIA, 25, 240, Within),
        (&AUSTRALIA, 25, 241, Breaks),
        // 7 °C is cold in England alone.
        (&ENGLAND, 7, 2000, Within),
        (&US, 7, 2000, Breaks),
        (&AUSTRALIA, 7, 2000, Breaks),
    ];
    for (set, at, minutes, wanted) in cases {
        let found = verdict(bench(at), set, &[60, minutes]);
        assert_eq!(found, wanted, "{} at {at} °C for {minutes}", set.key);
    }
    // Twice, with an hour in the cold between: no stretch is too long, and all of it together is.
    let twice = |at| {
        vec![
            step("cold", held(3)),
            step("bench", held(at)),
            step("again", held(7)),
            step("out", held(at)),
        ]
    };
    assert_eq!(verdict(twice(10), &ENGLAND, &[60, 120, 60, 120]), Doubtful);
    assert_eq!(verdict(twice(10), &ENGLAND, &[60, 119, 60, 120]), Within);
    assert_eq!(verdict(twice(25), &US, &[60, 90, 60, 91]), Breaks);
    // Back into the cold: before two hours it may, after that it may not (FSANZ).
    let back = || {
        vec![
            step("cold", held(3)),
            step("bench", held(5 + 3)),
            step("chill", held(5)),
        ]
    };
    let findings = |minutes| checked(&menu(back()), &AUSTRALIA, &[60, minutes, 60], 0).findings;
    let is_back = |findings: &[Finding]| {
        findings
            .iter()
            .any(|it| it.what.contains("goes back into the cold"))
    };
    assert!(!is_back(&findings(119)));
    assert!(is_back(&findings(120)));
}

#[test]
fn hot_food_has_two_hours_in_england() {
    // SI 2013/2996 Sch. 4 para 7(2).
    let hot = || {
        vec![
            step("cook", cooked(85)),
            step("hold", held(65)),
            step("pass", held(62)),
        ]
    };
    let mut menu = menu(hot());
    menu.dishes[0].waits_at = Some(650);
    assert_eq!(
        checked(&menu, &ENGLAND, &[30, 60, 119], 0).verdict,
        Verdict::Within
    );
    assert_eq!(
        checked(&menu, &ENGLAND, &[30, 60, 120], 0).verdict,
        Verdict::Breaks
    );
    // 62 °C is hot in the US, and in Australia.
    assert_eq!(
        checked(&menu, &US, &[30, 60, 600], 0).verdict,
        Verdict::Within
    );
    assert_eq!(
        checked(&menu, &AUSTRALIA, &[30, 60, 600], 0).verdict,
        Verdict::Within
    );
}

#[test]
fn the_days_are_those_of_the_calendar() {
    // Served on 9 April: made on the 3rd it is the seventh day, made on the 2nd the eighth, whatever the hour
    // (FDA Food Code §3-501.17).
    let cold = || vec![step("mix", held(3)), step("keep", held(3))];
    let day = 24 * 60;
    // From 19:00 on the 3rd, and from 23:00 on the 2nd.
    assert_eq!(verdict(cold(), &US, &[60, 6 * day - 60]), Verdict::Within);
    assert_eq!(
        verdict(cold(), &US, &[60, 6 * day + 20 * 60 - 60]),
        Verdict::Breaks
    );
    // Frozen for three of its days, it has three more.
    let frozen = || {
        vec![
            step("mix", held(3)),
            step("freeze", held(-18)),
            step("thaw", held(3)),
        ]
    };
    assert_eq!(
        verdict(frozen(), &US, &[60, 3 * day, 6 * day]),
        Verdict::Within
    );
    assert_eq!(
        verdict(frozen(), &US, &[60, 3 * day, 7 * day]),
        Verdict::Breaks
    );
    // England and Australia set no number of days.
    assert_eq!(verdict(cold(), &ENGLAND, &[60, 9 * day]), Verdict::Within);
    assert_eq!(verdict(cold(), &AUSTRALIA, &[60, 9 * day]), Verdict::Within);
}

#[test]
fn reheating_is_hot_enough_for_long_enough_and_quick() {
    use Verdict::{Breaks, Doubtful, NotKnown, Within};
    let dish = |to: i32, lasting| {
        let reheated = Some(Temperature::Reheated {
            to: to * 10,
            lasting,
        });
        let mut menu = menu(vec![step("cold", held(3)), step("reheat", reheated)]);
        menu.dishes[0].waits_at = Some(650);
        menu
    };
    let of =
        |to, lasting, set, minutes| checked(&dish(to, lasting), set, &[60, minutes], 0).verdict;
    assert_eq!(of(74, Some(15), &US, 120), Within);
    assert_eq!(of(74, Some(15), &US, 121), Breaks);
    assert_eq!(of(73, Some(15), &US, 60), Breaks);
    assert_eq!(of(74, None, &US, 60), NotKnown);
    assert_eq!(of(70, Some(120), &ENGLAND, 60), Within);
    assert_eq!(of(70, Some(60), &ENGLAND, 60), Doubtful);
    assert_eq!(of(75, Some(30), &SCOTLAND, 60), Breaks);
    assert_eq!(of(82, None, &SCOTLAND, 60), Within);
}

fn custard(depth: Option<u32>, kit: &str) -> Menu {
    let mut cool = step("cool", Some(Temperature::Cooled { from: 820, to: 50 }));
    cool.cooling = Some(Cooling {
        kit: Some(kit.to_owned()),
        depth,
        across: Some(Across::Sides(3200, 2600)),
        covered: Some(false),
        stirred: false,
        food: Some(Conducts::Custard),
    });
    let mut menu = menu(vec![step("cook", cooked(82)), cool]);
    menu.dishes[0].batch = Some(crate::menu::Batch {
        portions: 10,
        vessel: None,
        vessels: 1,
        volume: Some(6000.0),
        also: None,
        last: crate::menu::Last::default(),
    });
    menu
}

#[test]
fn a_deep_pan_is_against_the_rule_and_a_depth_that_does_is_told() {
    let deep = checked(&custard(Some(1200), "fridge"), &US, &[30, 360], 0);
    assert_eq!(deep.verdict, Verdict::Breaks);
    let finding = &deep.findings[0];
    assert!(
        finding.what.contains("from 57 °C to 21 °C within 2h"),
        "{finding:?}"
    );
    let remedy = finding.remedy.as_ref().unwrap();
    // The depth that is told keeps the rule, half a millimetre more than what was looked for does not.
    let told: u32 = remedy
        .split("at most ")
        .find_map(|part| part.split_once(" mm deep")?.0.parse().ok())
        .unwrap();
    let place = if remedy.contains("deep in the ice bath") && !remedy.contains("in the fridge") {
        "ice bath"
    } else {
        "fridge"
    };
    let found = |depth| checked(&custard(Some(depth), place), &US, &[30, 900], 0).verdict;
    assert_eq!(found(told * 10), Verdict::Within, "{remedy}");
    assert_eq!(found(told * 10 + 16), Verdict::Doubtful, "{remedy}");
    // Six litres in pans of 32 by 26 cm at that depth.
    let pans = (6e-3_f64 / (0.32 * 0.26 * f64::from(told) / 1000.0)).ceil();
    assert!(
        remedy.contains(&format!("6 litres in {pans} pan")),
        "{remedy}"
    );
}

#[test]
fn a_step_that_is_planned_too_short_for_what_it_does_is_told() {
    let menu = custard(Some(200), "ice bath");
    let enough = checked(&menu, &US, &[30, 180], 0);
    assert_eq!(enough.verdict, Verdict::Within, "{enough:?}");
    let short = checked(&menu, &US, &[30, 5], 0);
    assert_eq!(short.verdict, Verdict::Doubtful);
    assert!(
        short.findings[0].what.contains("planned for 5 min"),
        "{short:?}"
    );
    assert!(
        short.findings[0]
            .remedy
            .as_ref()
            .unwrap()
            .starts_with("time: ")
    );
}

#[test]
fn what_nobody_has_said_is_not_known() {
    let not_known = |menu: &Menu, minutes: &[i32]| {
        let found = checked(menu, &US, minutes, 0);
        assert_eq!(found.verdict, Verdict::NotKnown, "{found:?}");
    };
    let good = || {
        menu(vec![
            step("cook", cooked(82)),
            step("cold", held(75)),
            step("x", held(70)),
        ])
    };
    assert_eq!(
        checked(&good(), &US, &[30, 60, 60], 0).verdict,
        Verdict::Within
    );
    // No temperature, no control, no depth, no kit that is cold, no food.
    let mut one = good();
    one.dishes[0].steps[1].temperature = None;
    not_known(&one, &[30, 60, 60]);
    let mut one = good();
    one.dishes[0].control = None;
    not_known(&one, &[30, 60, 60]);
    not_known(&custard(None, "ice bath"), &[30, 180]);
    not_known(&custard(Some(200), "bucket"), &[30, 180]);
    let mut one = custard(Some(200), "ice bath");
    one.dishes[0].steps[1].cooling.as_mut().unwrap().food = None;
    not_known(&one, &[30, 180]);
    // Hot food put on a shelf: how fast it cools there is not said.
    not_known(
        &menu(vec![step("cook", cooked(82)), step("shelf", held(3))]),
        &[30, 180],
    );
    // It waits for its course, and nobody has said at what temperature.
    let mut one = good();
    one.dishes[0].waits_at = None;
    assert_eq!(
        checked(&one, &US, &[30, 60, 60], 20).verdict,
        Verdict::NotKnown
    );
    // No plan gives its times.
    let none = check(&good(), &US, service(), &[]);
    assert_eq!(none.dishes[0].verdict, Verdict::NotKnown);
    // Sugar needs no control, whatever else is left unsaid.
    let mut one = menu(vec![step("boil", None)]);
    one.dishes[0].control = Some(Control::NotNeeded);
    assert_eq!(checked(&one, &US, &[30], 0).verdict, Verdict::Within);
}

#[test]
fn a_fridge_that_is_too_warm_is_told() {
    let mut menu = menu(vec![step("mix", held(3))]);
    menu.kitchen.kit[0].cold = Some(Cold {
        at: 75,
        by: ColdBy::Still,
    });
    let told = |set| check(&menu, set, service(), &[]).kit.len();
    assert_eq!((told(&US), told(&ENGLAND), told(&AUSTRALIA)), (1, 0, 1));
}

#[test]
fn a_clock_does_not_begin_anew_for_what_is_only_warmed() {
    // Three hours on the bench, warmed through and below every hot limit, and two more: five hours out.
    let warmed = |to| {
        vec![
            step("cold", held(3)),
            step("bench", held(20)),
            step("warm", cooked(to)),
            step("pass", held(20)),
        ]
    };
    for set in [&US, &ENGLAND, &AUSTRALIA] {
        let found = verdict(warmed(40), set, &[60, 180, 10, 120]);
        assert_eq!(found, Verdict::Breaks, "{}", set.key);
        // Cooked, it is another food: how it comes down to the bench is then what nobody has said.
        let mut hot = menu(warmed(82));
        hot.dishes[0].waits_at = Some(200);
        let found = checked(&hot, set, &[60, 180, 10, 60], 0);
        assert_ne!(found.verdict, Verdict::Breaks, "{}: {found:?}", set.key);
    }
}

#[test]
fn what_nobody_knows_how_it_came_has_the_shorter_time() {
    // FDA Food Code §3-501.19(C): six hours are for what was at 5 °C or below when it first came out.
    let bench = || vec![step("mix", held(20))];
    assert_eq!(verdict(bench(), &US, &[240]), Verdict::Within);
    assert_eq!(verdict(bench(), &US, &[241]), Verdict::Breaks);
}

#[test]
fn what_goes_from_the_cold_into_the_hot_cupboard_is_not_known() {
    let mut cupboard = menu(vec![step("cold", held(3)), step("hot", held(65))]);
    cupboard.dishes[0].waits_at = Some(650);
    for set in [&US, &ENGLAND, &AUSTRALIA] {
        let found = checked(&cupboard, set, &[60, 60], 0);
        assert_eq!(found.verdict, Verdict::NotKnown, "{}: {found:?}", set.key);
    }
}

#[test]
fn food_that_is_taken_before_it_is_made_is_not_known() {
    let menu = menu(vec![step("bench", held(20)), step("keep", held(3))]);
    let doing = |step, start, end, follows| Doing {
        dish: 0,
        step,
        name: String::new(),
        window: Window::new(Minute(start), Minute(end)),
        follows,
        left_out: false,
    };
    let of = |doings: &[Doing]| check(&menu, &US, service(), doings).dishes[0].verdict;
    let late = [doing(0, -300, -100, Vec::new()), doing(1, -400, 0, vec![0])];
    assert_eq!(of(&late), Verdict::NotKnown);
    // What takes no time is before what starts as it ends, wherever it stands in the list.
    let none = [doing(1, -300, 0, vec![1]), doing(1, -300, -300, Vec::new())];
    assert_eq!(of(&none), Verdict::Within);
}

#[test]
fn a_bath_is_no_fridge_once_the_step_is_over() {
    let doings = |gap: i32, menu: &Menu| {
        let doing = |step: usize, start, end| Doing {
            dish: 0,
            step,
            name: menu.dishes[0].steps[step].name.clone(),
            window: Window::new(Minute(start), Minute(end)),
            follows: step.checked_sub(1).into_iter().collect(),
            left_out: false,
        };
        vec![
            doing(0, -1000, -970),
            doing(1, -970, -200),
            doing(2, -200 + gap, 0),
        ]
    };
    let of = |kit: &str, gap| {
        let mut menu = custard(Some(100), kit);
        menu.dishes[0].steps.push(step("fill", held(3)));
        let doings = doings(gap, &menu);
        check(&menu, &US, service(), &doings).dishes[0].verdict
    };
    assert_eq!(of("ice bath", 0), Verdict::Within);
    assert_eq!(of("ice bath", 60), Verdict::NotKnown);
    assert_eq!(of("fridge", 60), of("fridge", 0));
}

#[test]
fn what_was_left_out_has_done_nothing() {
    let mut menu = menu(vec![
        step("cold", held(3)),
        step("cook", cooked(82)),
        step("hold", held(70)),
    ]);
    menu.dishes[0].waits_at = Some(700);
    let doing = |step: usize, start, end, left_out| Doing {
        dish: 0,
        step,
        name: menu.dishes[0].steps[step].name.clone(),
        window: Window::new(Minute(start), Minute(end)),
        follows: step.checked_sub(1).into_iter().collect(),
        left_out,
    };
    let of = |left_out, at: (i32, i32)| {
        let doings = [
            doing(0, -300, -200, false),
            doing(1, at.0, at.1, left_out),
            doing(2, -100, 0, false),
        ];
        check(&menu, &US, service(), &doings).dishes.remove(0)
    };
    assert_eq!(of(false, (-200, -100)).verdict, Verdict::Within);
    // Left out when its turn came, or long before.
    for at in [-200, -1000] {
        let found = of(true, (at, at));
        assert_eq!(found.verdict, Verdict::NotKnown, "{found:?}");
    }
}

#[test]
fn the_oldest_part_is_the_one_that_was_made_first() {
    // A cream made on one day and a custard cooked the next are put together on the third.
    let menu = menu(vec![
        step("cream", held(3)),
        step("cook", cooked(82)),
        step("fill", held(3)),
    ]);
    let doing = |step, start, follows| Doing {
        dish: 0,
        step,
        name: String::new(),
        window: Window::new(Minute(start), Minute(start + 60)),
        follows,
        left_out: false,
    };
    let doings = [
        doing(0, -4000, vec![]),
        doing(1, -2500, vec![]),
        doing(2, -1000, vec![0, 1]),
    ];
    assert_eq!(
        oldest(&menu, &US, service(), &doings),
        [-4000, -2440, -4000].map(|at| Some(Minute(at)))
    );
}

#[test]
fn what_is_taken_from_a_dish_of_which_nothing_is_said_is_not_known_here_either() {
    let mut menu = menu(vec![step("boil", held(3)), step("keep", held(3))]);
    let mut other = menu.dishes[0].clone();
    other.id = "other".to_owned();
    menu.dishes.push(other);
    let doing = |dish, step, start: i32, follows| Doing {
        dish,
        step,
        name: String::new(),
        window: Window::new(Minute(start), Minute(start + 100)),
        follows,
        left_out: false,
    };
    let doings = [
        doing(0, 0, -300, vec![]),
        doing(1, 0, -200, vec![0]),
        doing(0, 1, -200, vec![0]),
        doing(1, 1, -100, vec![1]),
    ];
    let of = |menu: &Menu| check(menu, &US, service(), &doings).dishes[1].verdict;
    assert_eq!(of(&menu), Verdict::Within);
    menu.dishes[0].steps[0].temperature = None;
    assert_eq!(of(&menu), Verdict::NotKnown);
}
