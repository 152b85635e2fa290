//! Plans as text and as JSON, on a plan made by hand.

use countback::book::{Entry, EntryId, Happening};
use countback::menu::{
    Amount, Caution, Course, Ingredient, Kitchen, Menu, Per, Service, ServiceDay, Style,
};
use countback::plan::{
    Course as CourseTime, DishPlan, Done, HandsSpan, KitSpan, Late, Plan, PlanOutcome, PlannedStep,
    Quality, StepKey,
};
use countback::prep::PrepState;
use countback::sheets::{json, text};
use countback::text::columns;
use countback::time::{
    Date, Local, Minute, Minutes, ServiceTime, Timestamp, Window, Zone, time_of_day,
};

use crate::support::banquet::bare_dish;

fn service() -> ServiceTime {
    let local = Local {
        date: Date::from_ymd_opt(2026, 11, 28).unwrap(),
        time: time_of_day(19, 30).unwrap(),
    };
    ServiceTime::new(local, Zone::Europe__Rome)
}

fn menu() -> Menu {
    let mut pears = bare_dish("pears", "Smoked-tea pears");
    pears.ingredients.push(Ingredient {
        name: "boiling syrup".into(),
        amount: Amount::ToTaste,
        per: Per::Batch,
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
        cautions: vec![Caution::HotSugar],
    });
    Menu {
        id: "hill-supper".into(),
        name: "Hill Supper".into(),
        service: Service {
            day: ServiceDay::On(Date::from_ymd_opt(2026, 11, 28).unwrap()),
            time: time_of_day(19, 30).unwrap(),
        },
        covers: 40,
        prep_from: None,
        style: Style::Late,
        rules: None,
        guests: Vec::new(),
        larder: countback::menu::Larder::default(),
        gelling: countback::menu::Gelling::default(),
        dropped: Vec::new(),
        kitchen: Kitchen {
            name: "Hill".into(),
            zone: Some(Zone::Europe__Rome),
            altitude: None,
            open: Vec::new(),
            watched: Vec::new(),
            cooks: Vec::new(),
            stations: Vec::new(),
            kit: Vec::new(),
        },
        courses: vec![Course {
            id: "sweet".into(),
            name: "Sweet".into(),
            offset: Minutes(0),
        }],
        dishes: vec![pears, bare_dish("yuzu", "柚子 jelly\u{1b}[2J")],
    }
}

fn window(start: i32, end: i32) -> Window {
    Window::new(Minute(start), Minute(end))
}

fn hands(start: i32, end: i32, hands: u32, cooks: &[&str]) -> HandsSpan {
    HandsSpan {
        window: window(start, end),
        hands,
        cooks: cooks.iter().map(|&cook| cook.to_owned()).collect(),
    }
}

fn step(
    dish: usize,
    key: (&str, &str),
    name: &str,
    window: Window,
    slip: i32,
    hands: Vec<HandsSpan>,
) -> PlannedStep {
    PlannedStep {
        key: StepKey::first(key.0, key.1),
        dish,
        step: 0,
        name: name.into(),
        way: None,
        window,
        can_slip_until: window.start + Minutes(slip),
        open_from: window.start - Minutes::days(30),
        hands,
        kit: Vec::new(),
        someone_about: false,
        station: None,
        reason: "the next step needs it".into(),
        follows: Vec::new(),
        followed_by: Vec::new(),
        happened: None,
        is_presumed: false,
        due: None,
        told: None,
        needed_by: None,
    }
}

/// Steep overnight from two days before, poach on the day before, fill jelly moulds and let them set.
fn plan() -> Plan {
    let mut steep = step(
        0,
        ("pears", "steep"),
        "Steep the tea",
        window(-3000, -2080),
        90,
        vec![
            hands(-3000, -2990, 1, &["Ana"]),
            hands(-2090, -2080, 1, &["Bo"]),
        ],
    );
    steep.followed_by = vec![1];
    let mut poach = step(
        0,
        ("pears", "poach"),
        "Poach the pears in the tea until a knife meets no resistance",
        window(-2080, -1960),
        0,
        vec![hands(-2080, -1960, 2, &["Ana", "Bo"])],
    );
    poach.follows = vec![0];
    poach.someone_about = true;
    poach.kit = vec![KitSpan {
        name: "hob".into(),
        count: 2,
        window: window(-2080, -1960),
        heat: None,
        which: None,
    }];
    let fill = step(
        1,
        ("yuzu", "fill"),
        "Fill the moulds",
        window(-1500, -1470),
        30,
        vec![hands(-1500, -1470, 1, &["Bo"])],
    );
    let mut set = step(1, ("yuzu", "set"), "Set", window(-1470, -60), 0, vec![]);
    set.follows = vec![2];
    Plan {
        service: service(),
        steps: vec![steep, poach, fill, set],
        order: vec![0, 1, 2, 3],
        dishes: vec![
            DishPlan {
                dish: 0,
                name: "Smoked-tea pears".into(),
                at_pass: Minute(0),
                ready: Minute(-1960),
                batches: 1,
                portions: 44,
                steps: vec![0, 1],
                past_best: Some(Minutes(160)),
                late: None,
            },
            DishPlan {
                dish: 1,
                name: "柚子 jelly\u{1b}[2J".into(),
                at_pass: Minute(0),
                ready: Minute(-60),
                batches: 1,
                portions: 44,
                steps: vec![2, 3],
                past_best: None,
                late: None,
            },
        ],
        courses: vec![CourseTime {
            name: "Sweet".into(),
            at: Minute(0),
        }],
        openings: vec![Minute(-3690), Minute(-2250), Minute(-810)],
        nights: vec![window(-2850, -2250), window(-1410, -810)],
        shifts: Vec::new(),
        span: window(-3000, 0),
        overtime: Vec::new(),
        quality: Quality::default(),
        breaks: false,
        anew: false,
    }
}

fn entry(id: i64, at: Minute, what: Happening) -> Entry {
    let at = service().timestamp(at);
    Entry {
        id: EntryId(id),
        event: "hill-supper@2026-11-28".into(),
        at,
        written: at,
        who: String::new(),
        place: String::new(),
        what,
    }
}

fn steep_started() -> (PlanOutcome, PrepState) {
    let mut plan = plan();
    plan.steps[0].happened = Some(Done::Started(Minute(-3000)));
    let prep = PrepState::fold(&[entry(
        1,
        Minute(-3000),
        Happening::Started {
            step: "pears/steep".into(),
        },
    )]);
    (PlanOutcome::Planned(plan), prep)
}

fn whole(outcome: &PlanOutcome, prep: &PrepState, now: i32, width: usize) -> String {
    let mut out = Vec::new();
    text::write(outcome, None, &menu(), prep, Minute(now), width, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn a_day_a_page_with_aligned_columns() {
    let (outcome, prep) = steep_started();
    insta::assert_snapshot!(whole(&outcome, &prep, -2950, 136), @r#"
    Hill Supper
    40 covers, service Sat 2026-11-28 19:30 (Europe/Rome)
    as of Thu 2026-11-26 18:20, T−49h10
    no better plan exists

    Thu 2026-11-26, T−2 days
    ────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────
    time   T−       dish              step                                                          length  hands  kit    cook     state
    17:30  T−50h00  Smoked-tea pears  Steep the tea                                                 15h20   1 ×2          Ana, Bo  running
                    hands 17:30

    Fri 2026-11-27, T−1 day
    ────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────
    going on: Smoked-tea pears – Steep the tea, until Fri 08:50; hands 08:40
    time   T−       dish              step                                                          length  hands  kit    cook     state
    08:50  T−34h40  Smoked-tea pears  Poach the pears in the tea until a knife meets no resistance  2h      2      2 hob  Ana, Bo  waiting
                    somebody must be in the building; mind: hot sugar
    18:30  T−25h00  柚子 jelly�[2J    Fill the moulds                                               30 min  1             Bo       ready
                    can slip until Fri 19:00
    19:00  T−24h30  柚子 jelly�[2J    Set                                                           23h30   –                      waiting

    Sat 2026-11-28, day of service
    ────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────
    going on: 柚子 jelly�[2J – Set, until Sat 18:30

    at the pass
    ────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────
    Sat 19:30  Sweet
               Smoked-tea pears, 44 portions, ready Fri 10:50; past its best by 2h40
               柚子 jelly�[2J, 44 portions, ready Sat 18:30

    mind
    ────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────
    hot sugar: Boiling sugar is far hotter than boiling water, sticks and goes on burning; clear the way, keep cold water beside you,
      never touch to test
    your local food-safety law, your food-safety plan and the person responsible decide

    hands: 2 = two throughout; 1 ×3 = one, three times; – = left alone. T− = hours and minutes before service.
    "#);
}

#[test]
fn a_narrow_page_puts_kit_and_cook_below() {
    let (outcome, prep) = steep_started();
    insta::assert_snapshot!(whole(&outcome, &prep, -2950, 72), @r#"
    Hill Supper
    40 covers, service Sat 2026-11-28 19:30 (Europe/Rome)
    as of Thu 2026-11-26 18:20, T−49h10
    no better plan exists

    Thu 2026-11-26, T−2 days
    ────────────────────────────────────────────────────────────────────────
    time   T−       dish             step             length  hands  state
    17:30  T−50h00  Smoked-tea       Steep the tea    15h20   1 ×2   running
                    pears
                    cook: Ana, Bo; hands 17:30

    Fri 2026-11-27, T−1 day
    ────────────────────────────────────────────────────────────────────────
    going on: Smoked-tea pears – Steep the tea, until Fri 08:50; hands
      08:40
    time   T−       dish             step             length  hands  state
    08:50  T−34h40  Smoked-tea       Poach the pears  2h      2      waiting
                    pears            in the tea
                                     until a knife
                                     meets no
                                     resistance
                    kit: 2 hob; cook: Ana, Bo; somebody must be in the
                      building; mind: hot sugar
    18:30  T−25h00  柚子 jelly�[2J   Fill the moulds  30 min  1      ready
                    cook: Bo; can slip until Fri 19:00
    19:00  T−24h30  柚子 jelly�[2J   Set              23h30   –      waiting

    Sat 2026-11-28, day of service
    ────────────────────────────────────────────────────────────────────────
    going on: 柚子 jelly�[2J – Set, until Sat 18:30

    at the pass
    ────────────────────────────────────────────────────────────────────────
    Sat 19:30  Sweet
               Smoked-tea pears, 44 portions, ready Fri 10:50; past its
                 best by 2h40
               柚子 jelly�[2J, 44 portions, ready Sat 18:30

    mind
    ────────────────────────────────────────────────────────────────────────
    hot sugar: Boiling sugar is far hotter than boiling water, sticks and
      goes on burning; clear the way, keep cold water beside you, never
      touch to test
    your local food-safety law, your food-safety plan and the person
      responsible decide

    hands: 2 = two throughout; 1 ×3 = one, three times; – = left alone. T−
      = hours and minutes before service.
    "#);
}

#[test]
fn tonight_is_what_must_start_before_the_boundary() {
    let (outcome, prep) = steep_started();
    let tonight = |now: i32, until: i32| {
        let mut out = Vec::new();
        text::write_tonight(
            &outcome,
            &menu(),
            &prep,
            Minute(now),
            Minute(until),
            100,
            &mut out,
        )
        .unwrap();
        String::from_utf8(out).unwrap()
    };
    insta::assert_snapshot!(tonight(-2200, -1480), @r#"
    Hill Supper
    40 covers, service Sat 2026-11-28 19:30 (Europe/Rome)
    as of Fri 2026-11-27 06:50, T−36h40

    to start until Fri 2026-11-27 18:50
    running: Smoked-tea pears – Steep the tea, until Fri 08:50; hands 08:40

    Fri 2026-11-27, T−1 day
    ────────────────────────────────────────────────────────────────────────────────────────────────────
    time   T−       dish              step                                        length  hands  state
    08:50  T−34h40  Smoked-tea pears  Poach the pears in the tea until a knife    2h      2      waiting
                                      meets no resistance
                    kit: 2 hob; cook: Ana, Bo; somebody must be in the building; mind: hot sugar
    18:30  T−25h00  柚子 jelly�[2J    Fill the moulds                             30 min  1      ready
                    cook: Bo; can slip until Fri 19:00

    mind
    ────────────────────────────────────────────────────────────────────────────────────────────────────
    hot sugar: Boiling sugar is far hotter than boiling water, sticks and goes on burning; clear the
      way, keep cold water beside you, never touch to test
    your local food-safety law, your food-safety plan and the person responsible decide

    hands: 2 = two throughout; 1 ×3 = one, three times; – = left alone. T− = hours and minutes before
      service.
    "#);
    insta::assert_snapshot!(tonight(-2950, -2250), @r#"
    Hill Supper
    40 covers, service Sat 2026-11-28 19:30 (Europe/Rome)
    as of Thu 2026-11-26 18:20, T−49h10

    to start until Fri 2026-11-27 06:00
    running: Smoked-tea pears – Steep the tea, until Fri 08:50
    nothing; the next is Smoked-tea pears – Poach the pears in the tea until a knife meets no resistance, Fri 2026-11-27 08:50
    "#);
}

#[test]
fn what_cannot_be_done_is_said_and_not_shown() {
    let late = PlanOutcome::TooLate {
        needed: plan(),
        forecast: None,
        late: vec![Late {
            step: 0,
            latest: Minute(-2910),
        }],
        because: vec!["the tea needs its night".into()],
    };
    let prep = PrepState::default();
    insta::assert_snapshot!(whole(&late, &prep, -2280, 80), @r#"
    Hill Supper
    40 covers, service Sat 2026-11-28 19:30 (Europe/Rome)
    as of Fri 2026-11-27 05:30, T−38h00

    too late: this cannot all be ready in time any more
      the tea needs its night

    what should have started:
      Smoked-tea pears – Steep the tea (pears/steep): by Thu 2026-11-26 19:00,
        10h30 ago
    "#);
    let impossible =
        PlanOutcome::Impossible(vec!["two ovens\u{7} are needed, there is one".into()]);
    insta::assert_snapshot!(whole(&impossible, &prep, -2280, 80), @r#"
    Hill Supper

    this cannot be done, however early it starts
      two ovens� are needed, there is one
    "#);
}

/// Whatever the width: no control character but line ends, no line wider than the page, nothing lost.
#[test]
fn any_width_is_harmless_and_holds_its_lines() {
    let (outcome, prep) = steep_started();
    for width in [0, 1, 40, 60, 72, 80, 100, 129, 130, 240] {
        let page = whole(&outcome, &prep, -2950, width);
        assert!(
            !page.chars().any(|c| c.is_control() && c != '\n'),
            "{width}: {page}"
        );
        if width >= 72 {
            for line in page.lines() {
                assert!(columns(line) <= width, "{width}: {line:?}");
            }
        }
        for word in ["Steep", "Poach", "knife", "moulds", "柚子", "Ana"] {
            assert!(page.contains(word), "{width}: {word}");
        }
    }
}

fn document(outcome: &PlanOutcome, prep: &PrepState, until: Option<i32>) -> serde_json::Value {
    let mut out = Vec::new();
    let asked = json::Asked {
        service: service(),
        now: Minute(-2950),
        until: until.map(Minute),
        chance: None,
        ways_out: &[],
    };
    json::write(outcome, &menu(), prep, asked, &mut out).unwrap();
    assert_eq!(out.last(), Some(&b'\n'));
    serde_json::from_slice(&out).unwrap()
}

#[test]
fn json_says_everything_of_a_step() {
    let (outcome, prep) = steep_started();
    let document = document(&outcome, &prep, None);
    assert_eq!(document["format"], "countback-plan-1");
    assert_eq!(document["outcome"], "planned");
    assert_eq!(
        document["service"],
        serde_json::json!({"at": "2026-11-28T19:30:00+01:00", "minute": 0, "zone": "Europe/Rome"})
    );
    assert_eq!(
        document["courses"][0]["dishes"],
        serde_json::json!(["pears", "yuzu"])
    );
    assert_eq!(document["dishes"][0]["past_best_minutes"], 160);
    assert_eq!(document["dishes"][1]["name"], "柚子 jelly\u{1b}[2J");
    assert_eq!(
        document["steps"][0],
        serde_json::json!({
            "key": "pears/steep",
            "dish": "pears",
            "step": "steep",
            "name": "Steep the tea",
            "start": {"at": "2026-11-26T17:30:00+01:00", "minute": -3000},
            "end": {"at": "2026-11-27T08:50:00+01:00", "minute": -2080},
            "can_slip_until": {"at": "2026-11-26T19:00:00+01:00", "minute": -2910},
            "hands": [
                {"start": {"at": "2026-11-26T17:30:00+01:00", "minute": -3000},
                 "end": {"at": "2026-11-26T17:40:00+01:00", "minute": -2990},
                 "hands": 1, "cooks": ["Ana"]},
                {"start": {"at": "2026-11-27T08:40:00+01:00", "minute": -2090},
                 "end": {"at": "2026-11-27T08:50:00+01:00", "minute": -2080},
                 "hands": 1, "cooks": ["Bo"]}
            ],
            "someone_about": false,
            "kit": [],
            "station": null,
            "cautions": [],
            "reason": "the next step needs it",
            "follows": [],
            "followed_by": ["pears/poach"],
            "told": null,
            "needed_by": null,
            "state": "running",
            "happened": {"what": "started", "expected": null,
                         "start": {"at": "2026-11-26T17:30:00+01:00", "minute": -3000}}
        })
    );
}

#[test]
fn json_lists_only_what_must_start_before_a_boundary() {
    let (outcome, prep) = steep_started();
    let document = document(&outcome, &prep, Some(-1480));
    let keys: Vec<_> = document["steps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| step["key"].as_str().unwrap())
        .collect();
    assert_eq!(keys, ["pears/poach", "yuzu/fill"]);
    assert_eq!(document["until"]["minute"], -1480);
}

#[test]
fn json_shows_no_plan_where_there_is_none() {
    let late = PlanOutcome::TooLate {
        needed: plan(),
        forecast: None,
        late: vec![Late {
            step: 0,
            latest: Minute(-2960),
        }],
        because: vec!["the tea needs its night".into()],
    };
    let document = document(&late, &PrepState::default(), None);
    assert_eq!(document["outcome"], "too-late");
    assert_eq!(document["because"][0], "the tea needs its night");
    assert_eq!(document["late"][0]["key"], "pears/steep");
    assert_eq!(document["late"][0]["minutes_ago"], 10);
    assert_eq!(document["steps"], serde_json::json!([]));
    assert_eq!(document["dishes"], serde_json::json!([]));
}

#[test]
fn json_tells_what_happened_and_why() {
    let mut plan = plan();
    plan.steps[0].happened = Some(Done::Finished(None, Minute(-2990)));
    plan.steps[1].happened = Some(Done::Skipped(Minute(-2960)));
    let prep = PrepState::fold(&[
        entry(
            1,
            Minute(-2990),
            Happening::Finished {
                step: "pears/steep".into(),
            },
        ),
        entry(
            2,
            Minute(-2960),
            Happening::Skipped {
                step: "pears/poach".into(),
                reason: "no \"pears\"".into(),
            },
        ),
    ]);
    let document = document(&PlanOutcome::Planned(plan), &prep, None);
    assert_eq!(document["steps"][0]["state"], "done");
    assert_eq!(
        document["steps"][0]["happened"]["start"],
        serde_json::Value::Null
    );
    assert_eq!(document["steps"][0]["happened"]["end"]["minute"], -2990);
    assert_eq!(document["steps"][1]["state"], "skipped");
    assert_eq!(document["steps"][1]["cautions"][0], "hot sugar");
    assert_eq!(document["steps"][1]["happened"]["reason"], "no \"pears\"");
    assert_eq!(
        Timestamp::from_rfc3339(
            document["steps"][1]["happened"]["at"]["at"]
                .as_str()
                .unwrap()
        ),
        Some(service().timestamp(Minute(-2960)))
    );
}
