//! The sheet where something is late or has moved: what it says, and that it goes on saying what is so.

use std::cell::Cell;
use std::rc::Rc;

use countback::book::Happening;
use countback::plan::{Late, Lateness, Plan, PlanOutcome};
use countback::time::{Minute, Minutes};

use super::support::banquet::{Banquet, lantern_supper, moment};
use super::support::screen::Screen;

/// A plan on which what is overdue stands at now, and the first dish is late.
fn forecast(banquet: &Banquet, now: Minute) -> Plan {
    let mut plan = banquet.plan.clone();
    let first = plan.order[0];
    let length = plan.steps[first].window.length();
    plan.steps[first].needed_by = Some(now - Minutes(25));
    plan.steps[first].window = countback::time::Window::new(now, now + length);
    plan.dishes[0].ready = plan.dishes[0].at_pass + Minutes(25);
    plan.dishes[0].late = Some(Lateness {
        by: Some(Minutes(25)),
        because: "\"Brew the tea syrup\" should have started by Thu 13:40".to_owned(),
    });
    plan.dishes[1].late = Some(Lateness {
        by: None,
        because: "\"Steep\" should have started by Wed 21:00".to_owned(),
    });
    plan
}

fn too_late(banquet: &Banquet, now: Minute) -> PlanOutcome {
    let plan = forecast(banquet, now);
    PlanOutcome::TooLate {
        late: vec![Late {
            step: plan.order[0],
            latest: now - Minutes(25),
        }],
        needed: banquet.plan.clone(),
        forecast: Some(Box::new(plan)),
        because: vec!["one step should have started before now".to_owned()],
    }
}

fn open_late(width: u16, height: u16) -> (Screen, Rc<Cell<usize>>) {
    let banquet = lantern_supper();
    let theirs = banquet.clone();
    let planned = Rc::new(Cell::new(0));
    let count = Rc::clone(&planned);
    let planner = Box::new(move |_: &_, now: Minute| {
        count.set(count.get() + 1);
        too_late(&theirs, now)
    });
    let screen = Screen::open_planned(&banquet, width, height, Vec::new(), Vec::new(), planner);
    (screen, planned)
}

#[test]
fn what_can_still_be_stands_with_how_late_and_why() {
    for (width, height) in [(80, 24), (120, 40)] {
        let (mut screen, _) = open_late(width, height);
        let text = screen.text();
        assert!(
            text.contains("is left out of what can still be: \"Steep\""),
            "the worst first:\n{text}"
        );
        assert!(text.contains("1 more dish late"), "{text}");
        assert!(text.contains("what can still be"), "{text}");
        assert!(
            screen.line("Smoked-tea pears   ").contains("0h25 late"),
            "{text}"
        );
        assert!(
            screen.line("Rye and honey w…").contains("left out"),
            "{text}"
        );
        assert!(
            screen.line("Sea-buckthorn i…").contains("by 0h05"),
            "{text}"
        );
    }
    let (mut screen, _) = open_late(80, 24);
    assert!(
        screen
            .keys("w")
            .shows("Smoked-tea pears 25 min late at the pass")
    );
}

/// What will be late is named on every page, whatever the page has to say itself, and stands first among the dishes.
#[test]
fn what_is_late_is_named_on_every_page() {
    for (width, height) in [(80, 24), (120, 40), (200, 60)] {
        for keys in ["", ".", "E", "?", "H", "w", "<Enter>"] {
            let (mut screen, _) = open_late(width, height);
            screen.keys(keys);
            let said = if width == 80 {
                "at the pass: 4 of 6 on time; Rye and honey wafers left out and 1 more"
            } else {
                "at the pass: 4 of 6 on time; Rye and honey wafers left out, Smoked-tea pears 25 min late"
            };
            let line = screen.line("at the pass: ");
            assert_eq!(line.trim_end(), said, "{keys}: {}", screen.text());
        }
    }
    // The last of the menu, which would stand below what is in view.
    let banquet = lantern_supper();
    let theirs = banquet.clone();
    let planner = Box::new(move |_: &_, now: Minute| {
        let mut outcome = too_late(&theirs, now);
        if let PlanOutcome::TooLate {
            forecast: Some(plan),
            ..
        } = &mut outcome
        {
            let late = plan.dishes[0].late.take();
            plan.dishes[1].late = None;
            plan.dishes[5].late = late;
        }
        outcome
    });
    let mut screen = Screen::open_planned(&banquet, 80, 24, Vec::new(), Vec::new(), planner);
    let said = "at the pass: 5 of 6 on time; 柚子 and bay jelly 25 min late";
    assert!(
        screen.line("at the pass: ").starts_with(said),
        "{}",
        screen.text()
    );
    let first = |screen: &mut Screen| {
        let text = screen.text();
        let mut under = text.lines().skip_while(|line| !line.contains("done ready"));
        under.nth(1).unwrap_or_default().to_owned()
    };
    // By the keys the dishes are gone through as they stand, and the selected one is in view.
    screen.keys("<Tab><Home>kkkkkkk");
    assert!(first(&mut screen).starts_with("▸"), "{}", screen.text());
    assert!(first(&mut screen).contains("柚子"), "{}", screen.text());
    screen.keys("j");
    assert!(
        screen.line("Smoked-tea pears   ").starts_with("▸"),
        "{}",
        screen.text()
    );
}

#[test]
fn what_is_late_is_planned_anew_with_every_minute() {
    let (mut screen, planned) = open_late(80, 24);
    let before = planned.get();
    for minute in 6..12 {
        screen.clock(moment(26, 14, minute));
    }
    assert_eq!(planned.get() - before, 6);
    // Where nothing is late a minute changes nothing.
    let banquet = lantern_supper();
    let theirs = banquet.clone();
    let planned = Rc::new(Cell::new(0));
    let count = Rc::clone(&planned);
    let planner = Box::new(move |_: &_, _: Minute| {
        count.set(count.get() + 1);
        PlanOutcome::Planned(theirs.plan.clone())
    });
    let mut screen = Screen::open_planned(&banquet, 80, 24, Vec::new(), Vec::new(), planner);
    for minute in 6..12 {
        screen.clock(moment(26, 14, minute));
    }
    assert_eq!(planned.get(), 1);
}

#[test]
fn what_has_moved_says_so_until_it_is_seen() {
    let banquet = lantern_supper();
    let theirs = banquet.clone();
    let seen = Rc::new(Cell::new(false));
    let is_seen = Rc::clone(&seen);
    let planner = Box::new(move |_: &_, _: Minute| {
        let mut plan = theirs.plan.clone();
        if !is_seen.get() {
            for &step in plan.order.iter().skip(2).take(3) {
                let start = plan.steps[step].window.start;
                plan.steps[step].told = Some(start - Minutes(40));
            }
        }
        PlanOutcome::Planned(plan)
    });
    let mut screen = Screen::open_planned(&banquet, 80, 24, Vec::new(), Vec::new(), planner);
    assert!(
        screen.shows("3 steps have moved; m once seen"),
        "{}",
        screen.text()
    );
    assert_eq!(
        screen.text().matches(" was ").count(),
        3,
        "{}",
        screen.text()
    );
    seen.set(true);
    screen.keys("m");
    let entry = screen.written.last().expect("it is written");
    assert!(matches!(&entry.what, Happening::Announced { steps } if !steps.is_empty()));
    assert!(!screen.shows("have moved"));
    assert_eq!(screen.text().matches(" was ").count(), 0);
    screen.keys("m");
    assert!(screen.shows("no step has moved since its time was told"));
}
