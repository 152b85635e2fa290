//! The sheet: whole screens, and what keys, mouse, clock, book and planner make of them.

use std::cell::Cell;
use std::rc::Rc;

use countback::book::{Entry, Happening, Note};
use countback::menu::{Ahead, Amount, Density, Ingredient, Kit, Unit};
use countback::plan::{
    Better, Chance, Gives, Happened, InTime, Late, Lateness, PlanOutcome, Quality, Way, WayOut,
};
use countback::time::{Clock, Minutes, Window};
use countback::tui::event::Signal;
use countback::tui::{self, Colour, Event, Pen, Planner, Session, Situation};
use crossterm::event::{MouseButton, MouseEventKind};
use proptest::prelude::*;
use ratatui::buffer::CellWidth;
use ratatui::style::{Color, Modifier};

use crate::support::banquet::{Banquet, Needs, at, lantern_supper, large, moment, service};
use crate::support::screen::{Book, Screen, lines};

fn open(width: u16, height: u16) -> Screen {
    Screen::open(&lantern_supper(), width, height)
}

/// A plan that cannot be kept: two steps should have started this morning.
fn too_late(width: u16, height: u16) -> Screen {
    let banquet = lantern_supper();
    let needed = {
        let mut plan = banquet.plan.clone();
        for step in [0, 11] {
            let window = &mut plan.steps[step].window;
            window.start = at(26, 9, 0) + Minutes(step as i32 * 4);
            window.end = window.start + Minutes(40);
            plan.steps[step].can_slip_until = window.start;
        }
        plan.order
            .sort_by_key(|step| plan.steps[*step].window.start);
        plan
    };
    let late = [0, 11]
        .map(|step| Late {
            step,
            latest: needed.steps[step].window.start,
        })
        .to_vec();
    let outcome = PlanOutcome::TooLate {
        needed,
        forecast: None,
        late,
        because: vec![
            "2 steps should have started before now; the first, \"Brew the tea syrup\", by \
             Thu 2026-11-26 09:00, 5h05 ago"
                .to_owned(),
            "why by then: \"Poach the pears\" at Thu 15:40 waits for it".to_owned(),
        ],
    };
    let planner = Box::new(move |_: &_, _| outcome.clone());
    Screen::open_planned(&banquet, width, height, Vec::new(), Vec::new(), planner)
}

/// A Friday at noon, with part of the work done.
fn friday_noon(width: u16, height: u16) -> Screen {
    let mut screen = open(width, height);
    screen.keys("<Home>");
    for (tick, minutes) in [("press", 15), ("brew", 55), ("settle", 60)] {
        screen.clock(moment(26, 14, 5 + minutes / 30));
        screen.keys(&format!("/{tick}<Enter><Esc>D-1<Enter>"));
    }
    screen
        .keys("/drain<Enter><Esc>x")
        .keys("the pears go out whole<Enter>");
    screen.clock(moment(27, 12, 0));
    screen
        .keys("/reduce<Enter><Esc>SThu 16:05<Enter>")
        .keys("/freeze<Enter><Esc>s<Esc>");
    screen
}

// Whole screens.

#[test]
fn the_sheet_at_80x24() {
    insta::assert_snapshot!("sheet_80x24", open(80, 24).text());
}

#[test]
fn the_sheet_at_120x40() {
    insta::assert_snapshot!("sheet_120x40", open(120, 40).text());
}

#[test]
fn the_sheet_at_200x60() {
    insta::assert_snapshot!("sheet_200x60", open(200, 60).text());
}

#[test]
fn the_sheet_in_the_middle_of_the_work() {
    insta::assert_snapshot!("friday_noon_80x24", friday_noon(80, 24).text());
    insta::assert_snapshot!("friday_noon_200x60", friday_noon(200, 60).text());
}

#[test]
fn tonight() {
    insta::assert_snapshot!("tonight_80x24", open(80, 24).keys("t").text());
    insta::assert_snapshot!("tonight_120x40", open(120, 40).keys("t]]").text());
}

#[test]
fn the_card_over_the_sheet_and_beside_it() {
    insta::assert_snapshot!("card_80x24", open(80, 24).keys("jjj<Enter>").text());
    insta::assert_snapshot!("card_120x40", open(120, 40).keys("jjj").text());
}

#[test]
fn the_help() {
    insta::assert_snapshot!("help_80x24", open(80, 24).keys("?").text());
    insta::assert_snapshot!("help_200x60", open(200, 60).keys("?<End>").text());
}

#[test]
fn the_filters() {
    insta::assert_snapshot!("filter_80x24", open(80, 24).keys("f<Tab><Tab>jj ").text());
    insta::assert_snapshot!(
        "filtered_80x24",
        open(80, 24).keys("f<Tab><Tab>jj <Esc>").text()
    );
}

#[test]
fn the_search() {
    insta::assert_snapshot!("search_80x24", open(80, 24).keys("/batter").text());
}

#[test]
fn the_time_brought_closer() {
    insta::assert_snapshot!("zoomed_80x24", open(80, 24).keys("jj+++").text());
    insta::assert_snapshot!("zoomed_200x60", open(200, 60).keys("+").text());
}

#[test]
fn a_plan_that_comes_too_late() {
    insta::assert_snapshot!("too_late_80x24", too_late(80, 24).text());
    insta::assert_snapshot!("why_80x24", too_late(80, 24).keys("w").text());
}

/// Ways out of the plan that comes too late.
fn ways_out() -> Vec<WayOut> {
    let banquet = lantern_supper();
    let way = |way: Way, says: &str| WayOut {
        way,
        says: says.to_owned(),
        gives: Gives {
            begins: Some(at(26, 14, 40)),
            moved: Some(3),
            in_time: None,
        },
        menu: banquet.menu.clone(),
        outcome: PlanOutcome::Planned(banquet.plan.clone()),
    };
    let shift = Window::new(at(26, 14, 5), at(26, 22, 0));
    vec![
        way(
            Way::Kit(0),
            "one more Hob: the first step then starts Thu 14:40",
        ),
        way(
            Way::Hands(shift),
            "one more pair of hands from Thu 14:05 to Thu 22:00: the first step then starts Thu 14:20",
        ),
        way(
            Way::Later(Minutes(40)),
            "service 40 min later, at Sat 20:10: the first step then starts Thu 14:10",
        ),
    ]
}

#[test]
fn ways_out_are_listed_once_they_have_been_tried() {
    for (width, height) in [(80, 24), (120, 40)] {
        let mut screen = too_late(width, height);
        screen.event(Event::WaysOut {
            generation: 1,
            ways: ways_out(),
        });
        let name = format!("ways_out_{width}x{height}");
        insta::assert_snapshot!(name, screen.keys("w").text());
    }
}

#[test]
fn ways_out_that_nobody_waits_for_are_put_aside() {
    let mut screen = too_late(80, 24);
    screen.event(Event::WaysOut {
        generation: 0,
        ways: ways_out(),
    });
    screen.keys("w");
    assert!(screen.shows("being tried"));
    screen.event(Event::WaysOut {
        generation: 1,
        ways: Vec::new(),
    });
    assert!(screen.shows("no single change that was tried"));
    // A plan that can be done needs none.
    let mut screen = open(80, 24);
    screen.event(Event::WaysOut {
        generation: 1,
        ways: ways_out(),
    });
    assert!(!screen.keys("w").shows("Ways out"));
}

#[test]
fn a_menu_that_cannot_be_done_or_not_yet() {
    let banquet = lantern_supper();
    let screen = |outcome: PlanOutcome| {
        let planner = Box::new(move |_: &_, _| outcome.clone());
        Screen::open_planned(&banquet, 80, 24, Vec::new(), Vec::new(), planner).text()
    };
    let because = vec![
        "\"Set till next day\" must wait 24h but keeps at most 12h".to_owned(),
        "the oven is taken by the bakery when \"Bake the wafers\" would have to use it".to_owned(),
    ];
    insta::assert_snapshot!("impossible_80x24", screen(PlanOutcome::Impossible(because)));
}

fn in_time(in_time: u32, late_because: Vec<(usize, u32)>, margin: Option<i32>) -> InTime {
    InTime {
        in_time,
        samples: 10_000,
        late_because,
        margin: margin.map(Minutes),
        late_by: (in_time < 9_500).then_some(Minutes(40)),
    }
}

/// The supper with its chances reckoned: the pears often late, the jelly past help.
fn likely(width: u16, height: u16) -> Screen {
    let mut banquet = lantern_supper();
    banquet.plan.quality = Quality {
        cost: 10_130,
        bound: 10_000,
    };
    let mut screen = Screen::open(&banquet, width, height);
    let mut dishes = vec![in_time(9_990, Vec::new(), None); banquet.plan.dishes.len()];
    dishes[0] = in_time(8_310, vec![(0, 1_200), (1, 400)], Some(25));
    dishes[5] = in_time(20, vec![(20, 9_000)], None);
    let whole = in_time(18, vec![(20, 9_000)], None);
    screen.event(Event::Reckoned {
        generation: 1,
        chance: Some(Chance {
            samples: 10_000,
            dishes,
            courses: vec![whole.clone()],
            whole,
            broken: vec![(2, 700), (3, 80)],
        }),
    });
    screen
}

#[test]
fn the_chance_of_each_dish() {
    insta::assert_snapshot!("likely_80x24", likely(80, 24).text());
    insta::assert_snapshot!("likely_120x40", likely(120, 40).text());
    insta::assert_snapshot!("likely_200x60", likely(200, 60).text());
    insta::assert_snapshot!("chance_80x24", likely(80, 24).keys("c").text());
    insta::assert_snapshot!("chance_120x40", likely(120, 40).keys("c").text());
}

#[test]
fn chances_of_a_plan_no_longer_asked_for_are_not_shown() {
    let mut screen = likely(80, 24);
    assert!(screen.shows("all in time: <1 %") && screen.shows("83 %"));
    // A tick asks for another plan; its chances come later, and the column waits for them.
    screen.keys("s");
    assert!(!screen.shows("all in time") && !screen.shows("83 %"));
    assert!(screen.line("Smoked-tea pears   ").contains('…'));
    assert!(screen.keys("c").shows("it is being reckoned"));
    screen.event(Event::Reckoned {
        generation: 1,
        chance: None,
    });
    assert!(
        screen.shows("it is being reckoned"),
        "that was of the plan before"
    );
    screen.event(Event::Reckoned {
        generation: 2,
        chance: None,
    });
    assert!(screen.shows("as one length"));
}

/// The supper with a better plan ready: the wafers an hour later, the cake an hour and a half.
fn offered(width: u16, height: u16) -> Screen {
    let mut banquet = lantern_supper();
    let mut better = banquet.plan.clone();
    for (key, later) in [("wafers/bake", 60), ("cake/cut", 90)] {
        let (step, _) = better.find(&key.parse().unwrap()).unwrap();
        let window = &mut better.steps[step].window;
        (window.start, window.end) = (window.start + Minutes(later), window.end + Minutes(later));
    }
    better
        .order
        .sort_by_key(|&step| better.steps[step].window.start);
    banquet.plan.quality = Quality {
        cost: 10_130,
        bound: 10_000,
    };
    let mut screen = Screen::open(&banquet, width, height);
    screen.event(Event::Better {
        generation: 1,
        better: Better {
            plan: better,
            gains: vec!["steps start 2h30 later, all together".to_owned()],
            moved: 2,
        },
    });
    screen
}

#[test]
fn a_better_plan_is_offered_and_can_be_looked_at() {
    insta::assert_snapshot!("offered_80x24", offered(80, 24).text());
    insta::assert_snapshot!("offered_120x40", offered(120, 40).text());
    insta::assert_snapshot!("offered_200x60", offered(200, 60).text());
    insta::assert_snapshot!("better_80x24", offered(80, 24).keys("b").text());
}

#[test]
fn a_better_plan_is_never_imposed_and_goes_with_the_plan_it_was_better_than() {
    let mut screen = offered(200, 60);
    let before = screen.line("Bake the wafers");
    assert_eq!(screen.written.len(), 0);
    screen.keys("bjjk<Esc>");
    assert_eq!(screen.line("Bake the wafers"), before);
    assert_eq!(screen.written.len(), 0, "looking writes nothing");
    // A tick asks for another plan, and the offer is gone.
    screen.keys("s<Down>");
    assert!(!screen.shows("better plan ready"));
    assert!(screen.keys("B").shows("no better plan is ready"));
    assert_eq!(screen.written.len(), 1, "the tick alone");
}

#[test]
fn taking_a_better_plan_is_an_entry_and_can_be_taken_back() {
    let mut screen = offered(80, 24);
    screen.keys("B");
    assert!(screen.shows("the better plan is announced, 2 steps move"));
    let Happening::Announced { steps } = &screen.written[0].what else {
        panic!("{:?}", screen.written);
    };
    // Service is at 19:30; the wafers were planned for Sat 09:00 and are an hour later.
    assert_eq!(steps["wafers/bake"].start, moment(28, 10, 0));
    assert_eq!(steps.len(), lantern_supper().plan.steps.len());
    // From then on the planner is told.
    let told = screen.app.sheet.prep.announced(service()).unwrap();
    assert_eq!(told[&"cake/cut".parse().unwrap()].start, at(28, 18, 30));
    assert!(!screen.shows("better plan ready"));
    assert!(screen.keys("b").shows("The plan taken last"));
    screen.keys("u");
    assert!(screen.shows("the plan taken last is taken back"));
    assert_eq!(screen.app.sheet.prep.announced(service()), None);
    assert_eq!(screen.written.len(), 2);
    assert!(
        screen
            .keys("bu")
            .shows("no plan was taken that could be taken back")
    );
}

#[test]
fn a_better_plan_that_would_have_begun_by_now_is_not_taken() {
    let mut screen = offered(80, 24);
    screen.clock(moment(26, 14, 20));
    screen.event(Event::Planned {
        generation: 1,
        outcome: PlanOutcome::Planned(lantern_supper().plan),
    });
    screen.keys("B");
    assert!(!screen.shows("announced"), "{}", screen.text());
    assert_eq!(screen.written.len(), 0);
}

#[test]
fn a_terminal_that_is_too_small() {
    insta::assert_snapshot!("too_small_60x10", open(60, 10).text());
    let mut screen = open(79, 24);
    assert!(screen.shows("countback needs 80×24; this terminal is 79×24"));
    assert!(screen.resize(80, 23).shows("this terminal is 80×23"));
    assert!(screen.resize(80, 24).shows("countdown: 0 of 25 done"));
}

#[test]
fn notices_are_said_until_put_away_and_kept() {
    let notices = vec![
        "the book is lantern.book".to_owned(),
        "pears/poach: time was 80 min, now 95 min".to_owned(),
        "cake/cut is new".to_owned(),
        "cake/trim is gone; its ticks stay in the book".to_owned(),
    ];
    let mut screen = Screen::open_with(&lantern_supper(), 80, 24, notices, Vec::new());
    insta::assert_snapshot!("notices_80x24", screen.text());
    assert!(!screen.keys("<Esc>").shows("time was 80 min"));
    assert!(
        screen
            .keys("w")
            .shows("cake/trim is gone; its ticks stay in the book")
    );
}

struct Fixed(PlanOutcome);

impl Planner for Fixed {
    fn plan(&mut self, _: &Situation) -> PlanOutcome {
        self.0.clone()
    }
}

impl Pen for Fixed {
    fn write(&mut self, _: &Note) -> Result<Entry, String> {
        Err("a picture writes nothing".to_owned())
    }
}

#[test]
fn a_picture_is_the_frame_the_sheet_opens_with() {
    let banquet = lantern_supper();
    let outcome = PlanOutcome::Planned(banquet.plan.clone());
    let session = Session {
        menu: banquet.menu.clone(),
        service: service(),
        event: "lantern-supper@2026-11-28".into(),
        entries: Vec::new(),
        book: Box::new(Fixed(outcome.clone())),
        planner: Box::new(Fixed(outcome)),
        clock: Clock::Fixed(moment(26, 14, 5)),
        who: String::new(),
        place: String::new(),
        notices: Vec::new(),
        colour: Colour::Full,
        cards: countback::tui::Cards {
            fetch: |name| Err(format!("no file {name} here")),
            read: |text| countback::load::dish_text("card", text).map_err(|it| it.to_string()),
        },
        wall: false,
        signs: countback::tui::Signs::Blocks,
        attention: countback::tui::Attention::default(),
    };
    let picture = tui::picture(session, 120, 40);
    assert_eq!(lines(&picture), lines(&open(120, 40).frame()));
    let mut svg = Vec::new();
    tui::svg::write(&picture, &mut svg).unwrap();
    let svg = String::from_utf8(svg).unwrap();
    assert!(svg.contains("Lantern\u{a0}supper\u{a0}at\u{a0}the\u{a0}mill"));
    assert_eq!(
        svg.matches("<text ").count(),
        svg.matches("</text>").count()
    );
}

// Keys.

#[test]
fn the_list_opens_at_now_with_what_comes_next_selected() {
    let mut screen = open(80, 24);
    assert_eq!(screen.selected(), "ice/press");
    screen.clock(moment(27, 12, 0)).keys("<End>.");
    assert_eq!(
        screen.selected(),
        "ice/press",
        "what is late comes before what is next"
    );
    assert!(screen.shows("now Fri 12:00"));
}

#[test]
fn a_step_is_started_done_and_taken_back() {
    let mut screen = open(80, 24);
    assert!(
        screen
            .keys("s")
            .line("Press the berries  ")
            .ends_with("running")
    );
    assert!(screen.shows("started: Press the berries, at 14:05"));
    assert!(
        screen
            .keys("d")
            .line("Press the berries  ")
            .ends_with("done")
    );
    assert!(
        screen
            .keys("u")
            .line("Press the berries  ")
            .ends_with("running")
    );
    assert!(
        screen
            .keys("u")
            .line("Press the berries  ")
            .ends_with("due")
    );
    assert!(screen.keys("u").shows("ice/press has nothing to undo"));
    let said: Vec<_> = screen
        .written
        .iter()
        .map(|entry| entry.what.clone())
        .collect();
    let step = || "ice/press".to_owned();
    assert_eq!(said[0], Happening::Started { step: step() });
    assert_eq!(said[1], Happening::Finished { step: step() });
    assert!(matches!(said[2], Happening::Undone { entry } if entry.0 == 2));
    assert!(matches!(said[3], Happening::Undone { entry } if entry.0 == 1));
    assert_eq!(said.len(), 4);
    assert_eq!(screen.written[0].who, "ines");
    assert_eq!(screen.written[0].event, "lantern-supper@2026-11-28");
}

#[test]
fn nonsense_is_refused_in_words_and_not_written() {
    let mut screen = open(80, 24);
    screen.keys("ss");
    assert!(screen.shows("ice/press is running already; undo it first"));
    assert_eq!(screen.written.len(), 1);
}

#[test]
fn a_step_is_skipped_for_a_reason_only() {
    let mut screen = open(80, 24);
    assert!(
        screen
            .keys("x<Enter>")
            .shows("a skipped step needs a reason")
    );
    assert!(
        screen
            .keys("  <Enter>")
            .shows("a skipped step needs a reason")
    );
    assert!(screen.written.is_empty());
    screen.keys("berries did not come<Enter>");
    assert!(screen.line("Press the berries  ").ends_with("skipped"));
    assert!(
        screen
            .keys("<Enter>")
            .shows("skipped: at Thu 14:05: berries did not come")
    );
    let what = screen.written[0].what.clone();
    assert_eq!(
        what,
        Happening::Skipped {
            step: "ice/press".to_owned(),
            reason: "berries did not come".to_owned()
        }
    );
}

#[test]
fn a_tick_can_carry_a_typed_time() {
    let mut screen = open(80, 24);
    assert!(screen.keys("S-20").shows("= Thu 26 Nov 13:45"));
    screen.keys("<Enter>");
    assert_eq!(screen.written[0].at, moment(26, 13, 45));
    assert_eq!(screen.written[0].written, moment(26, 14, 5));
    assert!(screen.shows("Thu 13:45"));
    assert!(
        screen
            .keys("D25:00<Enter>")
            .shows("\"25:00\" is not a time")
    );
    assert!(
        screen
            .keys("<C-u>today 23:00<Enter>")
            .shows("is still to come")
    );
    screen.keys("<C-u>14:00<Enter>");
    assert_eq!(screen.written[1].at, moment(26, 14, 0));
    assert!(
        screen
            .keys("D<Esc>")
            .line("Press the berries  ")
            .ends_with("done")
    );
    assert_eq!(screen.written.len(), 2);
}

#[test]
fn a_tick_is_not_shown_before_it_is_in_the_book_and_keys_do_not_wait() {
    let mut screen = open(80, 24);
    screen.book = Book::Waits;
    assert!(
        screen
            .keys("s")
            .line("Press the berries  ")
            .ends_with("writing…")
    );
    assert!(screen.keys("s").shows("writing… Press the berries"));
    screen.keys("j");
    assert_eq!(screen.selected(), "pears/brew");
    assert!(!screen.shows("running"));
    screen.keys("s");
    screen.book_answers();
    assert!(screen.line("Press the berries  ").ends_with("running"));
    assert!(screen.line("Brew the tea syrup ").ends_with("running"));
    assert_eq!(
        screen.written.len(),
        2,
        "the same tick was not written twice"
    );
}

#[test]
fn a_tick_the_book_refuses_changes_nothing() {
    let mut screen = open(80, 24);
    screen.book = Book::Refuses("the disk is full".to_owned());
    screen.keys("s");
    assert!(screen.shows("not written into the book, nothing was ticked: the disk is full"));
    assert!(screen.line("Press the berries  ").ends_with("due"));
    assert!(
        screen.keys("jk").shows("the disk is full"),
        "it stands until it is put away"
    );
    assert!(!screen.keys("<Esc>").shows("the disk is full"));
    screen.book = Book::Writes;
    assert!(
        screen
            .keys("s")
            .line("Press the berries  ")
            .ends_with("running")
    );
}

#[test]
fn what_was_written_before_is_there_on_opening() {
    let mut before = open(80, 24);
    before.keys("sd");
    let mut screen = Screen::open_with(&lantern_supper(), 80, 24, Vec::new(), before.written);
    assert!(screen.line("Press the berries  ").ends_with("done"));
}

#[test]
fn tonight_lists_what_must_start_before_the_boundary_and_what_runs_or_is_late() {
    let mut screen = open(80, 30);
    screen.keys("t");
    assert!(screen.shows("tonight: until Fri 07:00, 8 to start"));
    assert!(!screen.shows("Toast the walnuts"));
    assert!(
        screen
            .keys("]")
            .shows("tonight: until Fri 07:30, 9 to start")
    );
    assert!(screen.shows("Toast the walnuts"));
    assert!(
        screen
            .keys("[[")
            .shows("tonight: until Fri 06:30, 8 to start")
    );
    assert!(screen.keys("\\").shows("tonight: until Fri 07:00"));
    screen.keys("sd");
    assert!(
        !screen.shows("Press the berries  "),
        "what is over is not listed"
    );
    screen.keys("[").keys(&"[".repeat(60));
    assert!(
        screen.shows("tonight: until Thu 14:30"),
        "it never ends before now"
    );
    screen.clock(moment(26, 16, 30));
    assert!(
        screen.shows("tonight: until Fri 07:00"),
        "a boundary that has passed is forgotten"
    );
    assert!(screen.shows("Brew the tea syrup"), "what is late is listed");
    assert!(screen.keys("t").shows("countdown: 1 of 25 done"));
}

#[test]
fn filters_narrow_the_list_and_escape_clears_them() {
    let mut screen = open(80, 24);
    screen.keys("f<Tab><Tab>j <Esc>");
    assert!(screen.shows("only Rye and honey wafers"));
    assert!(screen.shows("Mix the batter") && !screen.shows("Brew the tea"));
    assert_eq!(screen.selected(), "wafers/mix");
    screen.keys("f<BackTab><BackTab> <Esc>");
    assert!(screen.shows("only Rye and honey wafers, Thu 26 Nov"));
    assert!(screen.shows("no step is left by tonight and the filters"));
    screen.keys("s").keys("jk");
    assert!(
        screen.written.is_empty(),
        "nothing is selected, so nothing is ticked"
    );
    screen.keys("<Esc>");
    assert!(screen.shows("countdown: 0 of 25 done ─"));
    let mut screen = open(80, 24);
    screen.keys("f<Tab><Tab><Tab>j <Esc>");
    assert!(
        screen.shows("only Ines")
            && screen.shows("Toast the walnuts")
            && !screen.shows("Press the")
    );
    let mut screen = open(80, 24);
    screen.keys("f<Tab><Tab><Tab><Tab> <Esc>");
    assert!(
        screen.shows("only Stove") && screen.shows("Poach the pears") && !screen.shows("Press the")
    );
    let mut screen = open(80, 24);
    screen.keys("fjjjj <Esc>");
    assert!(
        screen.shows("only ready") && screen.shows("Brew the tea") && !screen.shows("Press the")
    );
}

#[test]
fn the_search_goes_from_find_to_find() {
    let mut screen = open(80, 24);
    screen.keys("/BATTER");
    assert_eq!(screen.selected(), "wafers/mix");
    assert!(screen.keys("<Enter>").shows("\"batter\": 1 of 2"));
    assert_eq!(screen.keys("n").selected(), "wafers/rest");
    assert_eq!(screen.keys("n").selected(), "wafers/mix");
    assert_eq!(screen.keys("N").selected(), "wafers/rest");
    screen.keys("<Esc>/knock together");
    assert_eq!(
        screen.selected(),
        "pears/poach",
        "the method is searched too"
    );
    screen.keys("<Esc>");
    assert_eq!(
        screen.selected(),
        "wafers/rest",
        "a search left goes back to where it began"
    );
    assert!(
        screen
            .keys("/nothing like it")
            .shows("nothing listed has that in it")
    );
    assert_eq!(screen.selected(), "wafers/rest");
    assert!(screen.keys("<Enter>n").shows("nothing is being looked for"));
}

#[test]
fn the_timeline_goes_from_all_days_to_a_quarter_of_an_hour_and_follows_the_selection() {
    let mut screen = open(80, 24);
    screen.keys(&"+".repeat(12));
    let axis = screen.app.ui.seen.axis.unwrap();
    assert_eq!(axis.per_column, 15);
    screen.keys("<End>");
    let axis = screen.app.ui.seen.axis.unwrap();
    let selected = screen.app.sheet.view.rows[screen.app.ui.selected.unwrap()]
        .window()
        .unwrap();
    assert!(
        axis.window().contains(selected.start),
        "the timeline follows"
    );
    let before = axis.from;
    screen.keys("<Left>");
    assert!(screen.app.ui.seen.axis.unwrap().from < before);
    screen.keys(&"-".repeat(12));
    assert_eq!(screen.app.ui.zoom, None);
    screen.keys("++0");
    assert_eq!(screen.app.ui.zoom, None);
    assert!(screen.keys("<Left>").shows("all days are in view"));
}

#[test]
fn the_keys_go_from_pane_to_pane() {
    let mut screen = open(120, 40);
    screen.keys("<Tab>j");
    assert_eq!(screen.selected(), "cups/reduce");
    screen.keys("<Home>");
    assert_eq!(screen.selected(), "pears/brew");
    screen.keys("<Tab>").resize(120, 24).keys("j");
    assert_eq!(screen.selected(), "pears/brew", "the card scrolls");
    screen.keys("<Tab>j");
    assert_ne!(screen.selected(), "pears/brew");
    screen.keys("<BackTab><BackTab>j").resize(80, 24);
    assert_eq!(
        screen.keys("<Home>").selected(),
        "pears/brew",
        "without a card beside, no pane is lost"
    );
}

#[test]
fn whoever_leaves_the_card_is_back_in_the_list() {
    let mut screen = open(120, 40);
    screen.keys("<Home>/reduce<Enter><Enter>j<Esc>");
    assert!(screen.shows("\"reduce\""), "the search stands");
    screen.keys("<Home>");
    assert_eq!(screen.selected(), "ice/press");
    screen.keys("<Esc>");
    assert!(!screen.shows("\"reduce\""));
}

#[test]
fn help_closes_with_the_keys_it_names() {
    let mut screen = open(80, 24);
    assert!(screen.keys("?").shows("Ticking off the selected step"));
    assert!(!screen.keys("q").shows("Ticking off"));
    assert!(!screen.quit);
    assert!(!screen.keys("?<Esc>").shows("Ticking off"));
    assert!(screen.keys("<F1>").shows("Ticking off"));
    screen.keys("s");
    assert!(
        screen.written.is_empty(),
        "no step is ticked behind the help"
    );
    assert!(
        screen
            .keys("<End>")
            .shows("The selected step is underlined.")
    );
}

#[test]
fn leaving() {
    assert!(open(80, 24).keys("q").quit);
    assert!(open(80, 24).keys("<C-c>").quit);
    assert!(open(80, 24).keys("/pe<C-c>").quit);
    assert!(
        open(40, 5).keys("q").quit,
        "a small terminal can be left too"
    );
    let mut screen = open(80, 24);
    screen.keys("<C-z>");
    screen.event(Event::Signal(Signal::StandAside));
    assert_eq!(screen.stood_aside, 2);
    screen.event(Event::Signal(Signal::End));
    assert!(screen.quit);
}

#[test]
fn letters_are_letters_while_a_line_is_typed() {
    let mut screen = open(80, 24);
    screen
        .keys("xqst?é<Backspace>")
        .event(Event::Paste("stirred\nit\u{1b}[31m".to_owned()));
    assert!(screen.shows("because: qst?stirred it\u{FFFD}[31m"));
    assert!(!screen.quit && screen.written.is_empty());
    assert!(screen.keys("<C-w>").shows("because: qst?stirred"));
    screen.keys("<Esc>").event(Event::Paste("qqq".to_owned()));
    assert!(!screen.quit, "pasted text is no key");
}

// Clock and planner.

#[test]
fn the_plan_is_made_anew_when_time_makes_it_untrue_and_not_otherwise() {
    let banquet = lantern_supper();
    let asked = Rc::new(Cell::new(0));
    let count = Rc::clone(&asked);
    let theirs = banquet.clone();
    let planner = Box::new(move |happened: &_, _| {
        count.set(count.get() + 1);
        PlanOutcome::Planned(theirs.plan_after(happened))
    });
    let mut screen = Screen::open_planned(&banquet, 80, 24, Vec::new(), Vec::new(), planner);
    assert_eq!(asked.get(), 1);
    screen.clock(moment(26, 14, 10)).clock(moment(26, 14, 15));
    assert_eq!(asked.get(), 1, "nothing should have started yet");
    screen.app.take_changed();
    screen.event(Event::Time(moment(26, 14, 15)));
    assert!(!screen.app.take_changed(), "the same minute draws nothing");
    screen.clock(moment(26, 14, 16));
    assert_eq!(asked.get(), 2);
    screen.clock(moment(26, 14, 16));
    assert_eq!(asked.get(), 2, "once a minute at most");
    screen.keys("s");
    assert_eq!(asked.get(), 3, "a tick makes a plan");
}

#[test]
fn an_answer_that_comes_too_late_is_put_aside() {
    let mut screen = open(80, 24);
    screen.keys("s");
    screen.event(Event::Planned {
        generation: 1,
        outcome: PlanOutcome::Impossible(vec!["a stale answer".to_owned()]),
    });
    assert!(!screen.shows("a stale answer"));
    assert!(screen.shows("countdown: 0 of 25 done"));
}

/// A menu that cannot be done.
fn no_plan(width: u16, height: u16) -> Screen {
    let planner =
        Box::new(move |_: &_, _| PlanOutcome::Impossible(vec!["it keeps too short".to_owned()]));
    Screen::open_planned(
        &lantern_supper(),
        width,
        height,
        Vec::new(),
        Vec::new(),
        planner,
    )
}

#[test]
fn where_there_is_no_plan_every_step_can_be_ticked() {
    let menu = lantern_supper().menu;
    let names = countback::plan::named(&menu);
    for (width, height) in [(80, 24), (200, 60)] {
        let mut screen = no_plan(width, height);
        for (at, named) in names.iter().enumerate() {
            let key = named.key.to_string();
            screen.keys("<Home>").keys(&"j".repeat(at));
            assert_eq!(screen.selected(), key, "the order is the menu's");
            for (keys, state) in [
                ("s", "running"),
                ("u", "to do"),
                ("xbought in<Enter>", "skipped"),
                ("uD-5<Enter>", "done"),
            ] {
                let line = screen.keys(keys).line("▸");
                // On a wide screen the card stands beside the list.
                let list = line.split('│').next().unwrap().trim_end();
                assert!(list.ends_with(state), "{key}: {line}");
            }
        }
        assert_eq!(screen.written.len(), names.len() * 5);
        assert!(screen.shows(&format!("{0} of {0} done", names.len())));
    }
}

#[test]
fn where_there_is_no_plan_nothing_looks_like_one() {
    for (width, height) in [(80, 24), (120, 40), (200, 60)] {
        let mut screen = no_plan(width, height);
        assert!(screen.shows("· it keeps too short"));
        assert!(screen.shows("no plan: the steps as the menu lists them"));
        for keys in [
            "", "t", "]", "[", "\\", "+", "-", "0", "<Left>", "<Right>", ".", "w", "<Esc>",
        ] {
            let shown = screen.keys(keys).text();
            let body: Vec<&str> = shown.lines().skip(1).collect();
            for word in [
                "T−",
                "countdown",
                "waiting",
                "ready",
                " due",
                "service",
                "tonight:",
            ] {
                let found = body.iter().find(|line| line.contains(word));
                assert_eq!(found, None, "{word:?} after {keys:?} at {width}");
            }
        }
        screen.keys("<Home><Enter>");
        let card = screen.text();
        assert!(
            card.contains("no plan says when") && card.contains("hands"),
            "{card}"
        );
        assert!(
            !card.contains("why then") && !card.contains("can slip"),
            "{card}"
        );
    }
}

#[test]
fn a_filter_on_what_only_a_plan_knows_hides_nothing_when_the_plan_is_gone() {
    let banquet = lantern_supper();
    let theirs = banquet.clone();
    let planner = Box::new(move |happened: &Happened, _| {
        if happened.is_empty() {
            PlanOutcome::Planned(theirs.plan.clone())
        } else {
            PlanOutcome::Impossible(vec!["it keeps too short".to_owned()])
        }
    });
    let mut screen = Screen::open_planned(&banquet, 80, 24, Vec::new(), Vec::new(), planner);
    // A day and a state; tonight as well.
    screen.keys("f <Tab> <Esc>t").keys("f<Tab><Tab><Esc>");
    let of = countback::plan::named(&banquet.menu).len();
    screen.keys("<Esc>s");
    assert!(screen.shows("it keeps too short"), "{}", screen.text());
    let listed = screen.app.ui.listed().count();
    assert_eq!(listed, of, "{}", screen.text());
}

#[test]
fn times_that_are_no_plan_do_not_look_like_one() {
    let mut screen = too_late(80, 24);
    let text = screen.text();
    assert!(text.contains("cannot be done as it stands: 2 steps should have started before now"));
    assert!(
        text.contains("needed by")
            && text.contains("no plan: when each step would have had to start")
    );
    assert!(!text.contains("ready") && !text.contains(" due"));
    assert!(screen.line("Brew the tea syrup  ").ends_with("late"));
    assert!(screen.line("Press the berries  ").ends_with("needed"));
}

#[test]
fn a_banner_without_late_steps_says_the_first_reason() {
    let banquet = lantern_supper();
    let outcome = PlanOutcome::TooLate {
        needed: banquet.plan.clone(),
        forecast: None,
        late: Vec::new(),
        because: vec!["the cream was opened a day too early".to_owned()],
    };
    let planner = Box::new(move |_: &_, _| outcome.clone());
    let mut screen = Screen::open_planned(&banquet, 80, 24, Vec::new(), Vec::new(), planner);
    assert!(screen.shows("! cannot be done as it stands: the cream was opened a day too early"));
    assert!(screen.keys("t").shows("no plan · tonight: until Fri 07:00"));
}

/// What is foretold of every dish is on the screen, though only some have a row.
#[test]
fn dishes_without_a_row_are_named_with_what_is_foretold_of_them() {
    let notices = ["the book is lantern.book", "cake/cut is new"].map(str::to_owned);
    let mut screen = Screen::open_with(&lantern_supper(), 80, 24, notices.to_vec(), Vec::new());
    assert_eq!(
        screen.line("   also ").trim_end(),
        "   also 柚子 and bay jelly by 1h45 · Walnut snow cake by 3h00"
    );
    screen.click_on("Walnut snow cake by");
    assert_eq!(screen.selected(), "cake/toast");
    assert_eq!(
        screen.line("   also ").trim_end(),
        "   also Smoked-tea pears by 0h00 · 柚子 and bay jelly by 1h45"
    );
}

#[test]
fn of_too_many_dishes_the_nearest_are_named_and_the_least_in_hand_of_all_others_is_said() {
    let mut banquet = large(20, 2);
    for (dish, planned) in banquet.plan.dishes.iter_mut().enumerate() {
        planned.name = format!("Tart {dish}");
        planned.ready = planned.at_pass - Minutes(20 + (dish as i32 * 7) % 20);
    }
    let mut screen = Screen::open(&banquet, 80, 24);
    assert_eq!(
        screen.line("   also "),
        "   also ! Tart 6 by 0h22 · ! Tart 9 by 0h23 · 14 more by 0h24 at least"
    );
    // What is over is neither near nor has it anything in hand.
    let mut over = Screen::open(&banquet, 80, 24);
    for dish in [6, 9] {
        for step in 0..2 {
            over.keys(&format!("/Step number {step} of dish {dish}<Enter><Esc>d"));
        }
    }
    assert_eq!(
        over.line("   also "),
        "   also ! Tart 0 by 0h20 · ! Tart 3 by 0h21 · 14 more by 0h25 at least"
    );
    let mut others_with_late = |late: std::ops::Range<usize>| {
        for dish in late {
            let planned = &mut banquet.plan.dishes[dish];
            planned.ready = planned.at_pass + Minutes(5);
            planned.late = Some(Lateness {
                by: Some(Minutes(5)),
                because: "its last step runs".to_owned(),
            });
        }
        Screen::open(&banquet, 80, 24).line("   also ")
    };
    assert_eq!(
        others_with_late(0..5),
        "   also ! Tart 4 0h05 late · ! Tart 6 by 0h22 · 14 more by 0h23 at least"
    );
    assert_eq!(
        others_with_late(5..12),
        "   also ! Tart 4 0h05 late · ! Tart 5 0h05 late · 14 more, 6 of them not in time"
    );
    assert_eq!(
        others_with_late(12..20),
        "   also ! Tart 4 0h05 late · ! Tart 5 0h05 late · 14 more, not in time"
    );
}

// Mouse.

fn click() -> MouseEventKind {
    MouseEventKind::Down(MouseButton::Left)
}

#[test]
fn a_click_selects_and_another_opens_the_card() {
    let mut screen = open(80, 24);
    screen.click_on("Reduce the milk");
    assert_eq!(screen.selected(), "cups/reduce");
    assert!(screen.click_on("Reduce the milk").shows("── card ─"));
    screen.keys("<Esc>").click_on("Walnut snow cake ");
    assert_eq!(screen.selected(), "cake/toast");
}

#[test]
fn a_click_on_a_bar_selects_the_step_drawn_there() {
    let mut screen = open(80, 24);
    let (x, y) = screen.find("柚子").unwrap();
    let line = lines(&screen.frame())[usize::from(y)].clone();
    assert!(line.contains("─────"), "{line}");
    screen.mouse(click(), 68, y);
    assert_eq!(screen.selected(), "jelly/set");
    screen.mouse(click(), x, y);
    assert_eq!(screen.selected(), "jelly/set", "the same dish");
    assert!(screen.shows("── card ─"));
}

#[test]
fn hints_and_choices_can_be_clicked() {
    let mut screen = open(80, 24);
    assert!(
        screen
            .click_on("t tonight")
            .shows("tonight: until Fri 07:00")
    );
    screen
        .keys("f")
        .click_on("[ ] Burnt-milk cups")
        .keys("<Esc>");
    assert!(screen.shows("only Burnt-milk cups"));
    assert!(screen.keys("x").click_on("Esc leaves it").shows("? help"));
    assert!(screen.click_on("q quit").quit);
}

#[test]
fn the_wheel_scrolls_and_the_selection_stays_on_the_screen() {
    let mut screen = open(80, 24);
    for _ in 0..20 {
        screen.mouse(MouseEventKind::ScrollDown, 10, 15);
        assert!(screen.shows("▸ ") || screen.shows("▸○") || screen.shows("▸●"));
    }
    assert_eq!(screen.selected(), "jelly/cook", "it was pushed along");
    screen.mouse(MouseEventKind::Moved, 3, 3);
    assert_eq!(screen.selected(), "jelly/cook");
    let mut screen = Screen::open(&large(24, 12), 80, 24);
    for _ in 0..20 {
        screen.mouse(MouseEventKind::ScrollDown, 10, 5);
    }
    assert!(screen.shows("Dish number 23"));
}

// What holds whatever is asked.

/// The line of the selected row is on the screen, reversed and marked.
fn assert_selection_is_seen(screen: &mut Screen) {
    let frame = screen.frame();
    if frame.area.width < 80 || frame.area.height < 24 || screen.app.ui.open.is_some() {
        return;
    }
    let Some(row) = screen.app.ui.selected else {
        return;
    };
    let seen = lines(&frame).iter().enumerate().any(|(y, line)| {
        let reversed = frame[(3, y as u16)].modifier.contains(Modifier::REVERSED);
        reversed
            && line.starts_with('▸')
            && line.contains(&screen.app.sheet.view.rows[row].times.as_ref().unwrap().when)
    });
    assert!(seen, "the selected row is not seen:\n{}", screen.text());
}

#[test]
fn without_colour_no_cell_has_any() {
    for keys in ["", "s", "t", "?", "w", "f", "x", "/pear"] {
        let mut screen = too_late(120, 40);
        screen.app.sheet.colour = Colour::None;
        screen.keys(keys);
        for cell in screen.frame().content() {
            assert_eq!(
                (cell.fg, cell.bg),
                (Color::Reset, Color::Reset),
                "{keys}: {:?}",
                cell.symbol()
            );
        }
    }
}

const HOSTILE: [&str; 12] = [
    "",
    " ",
    "plain",
    "\u{1b}[2J\u{1b}]0;owned\u{7}",
    "two\nlines\r\tand a tab",
    "蜜柑ゼリー寄せ合わせ盛り込み",
    "cre\u{300}me bru\u{302}le\u{301}e",
    "\u{202e}desserts\u{202c}\u{2066}",
    "חלבה وردة בקלאווה",
    "zero\u{200b}width\u{feff}\u{200d}join",
    "👩‍🍳🏳️‍🌈🍮",
    "a very long name that goes on and on and on, as if the cook had been paid by the word for writing it down",
];

fn hostile_banquet(picks: &[(usize, usize)]) -> Banquet {
    let mut banquet = Banquet::empty(HOSTILE[picks.len() % HOSTILE.len()]);
    for (index, &(dish, step)) in picks.iter().enumerate() {
        banquet.dish(
            &format!("d{index}"),
            HOSTILE[dish % HOSTILE.len()],
            index % 2,
        );
        for round in 0..3 {
            let name = HOSTILE[(step + round) % HOSTILE.len()];
            banquet
                .step(
                    &format!("s{round}"),
                    name,
                    (26 + round as u32 % 3, (index as u32 * 5) % 24, 0),
                    30 + round as i32 * 300,
                    [Needs::Hands(2), Needs::Looks(20), Needs::About][round % 3],
                    HOSTILE[(dish + round) % HOSTILE.len()],
                    &[(name, 3)],
                )
                .with(|step, planned| {
                    step.method = Some(HOSTILE.join("\n"));
                    step.until = Some(name.to_owned());
                    planned.reason = HOSTILE.concat();
                    planned.station = Some(name.to_owned());
                });
        }
    }
    for (place, dish) in banquet.menu.dishes.iter_mut().enumerate() {
        let word = |at: usize| HOSTILE[(place + at) % HOSTILE.len()].to_owned();
        dish.ingredients.push(Ingredient {
            name: word(0),
            amount: Amount::Measured {
                number: 7.3,
                unit: Unit::Count(word(1)),
            },
            order_ahead: Some(Minutes::days(1)),
            supplier: Some(word(2)),
            ahead: Some(Ahead {
                what: word(3),
                time: Minutes(90),
            }),
            density: Some(Density {
                grams_per_millilitre: 1.1,
                source: word(4),
            }),
            ..Ingredient::default()
        });
    }
    banquet
}

fn hostile_outcome(banquet: &Banquet, kind: usize) -> PlanOutcome {
    let words = || HOSTILE.map(str::to_owned).to_vec();
    let plan = banquet.plan.clone();
    let late = plan.order.first().map(|&step| Late {
        step,
        latest: plan.steps[step].window.start,
    });
    match kind {
        0 => PlanOutcome::Impossible(words()),
        1 => PlanOutcome::TooLate {
            needed: plan,
            forecast: None,
            late: late.into_iter().collect(),
            because: words(),
        },
        _ => PlanOutcome::Planned(plan),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn everything_draws_at_any_size_with_any_names(
        picks in prop::collection::vec((0..12usize, 0..12usize), 0..6),
        sizes in prop::collection::vec((0..250u16, 0..80u16), 1..6),
        keys in prop::collection::vec(0..19usize, 0..10),
        kind in 0..4usize,
    ) {
        const KEYS: [&str; 19] = [
            "j", "<Down><PageDown>", "s", "t", "]", "f", " ", "?", "w", "<Esc>", "+", "<Left>", "/e<Enter>", "<Tab>",
            "x蜜\u{202e}<Enter>", "<End><Enter>", "o", "a+", "/<",
        ];
        let notices = vec![HOSTILE.concat()];
        let banquet = hostile_banquet(&picks);
        let outcome = hostile_outcome(&banquet, kind);
        let planner = Box::new(move |_: &_, _| outcome.clone());
        let mut screen = Screen::open_planned(&banquet, 80, 24, notices, Vec::new(), planner);
        for (index, (width, height)) in sizes.into_iter().enumerate() {
            screen.resize(width, height);
            if let Some(key) = keys.get(index) {
                screen.keys(KEYS[*key]);
            }
            let frame = screen.frame();
            for y in 0..height {
                let mut x = 0;
                while x < width {
                    let symbol = frame[(x, y)].symbol();
                    prop_assert!(!symbol.chars().any(char::is_control), "{symbol:?}");
                    prop_assert!(!symbol.contains(['\u{202e}', '\u{2066}', '\u{feff}', '\u{200b}']), "{symbol:?}");
                    x += symbol.cell_width().max(1);
                    prop_assert!(x <= width, "a wide character hangs over the edge");
                }
            }
        }
    }

    #[test]
    fn the_selected_step_is_never_off_the_screen(
        moves in prop::collection::vec(0..14usize, 1..40),
        size in (80..220u16, 24..60u16),
    ) {
        const MOVES: [&str; 14] = [
            "j", "k", "<PageDown>", "<PageUp>", "<Home>", "<End>", ".", "t", "]", "[", "+", "-", "<Tab>", "/number 7<Enter>",
        ];
        let mut screen = Screen::open(&large(20, 6), size.0, size.1);
        for index in moves {
            screen.keys(MOVES[index]);
            assert_selection_is_seen(&mut screen);
        }
    }
}

#[test]
fn the_extremes_of_size_draw() {
    for (width, height) in [
        (0, 0),
        (1, 1),
        (0, 30),
        (200, 0),
        (80, 24),
        (240, 70),
        (1000, 300),
    ] {
        let mut screen = Screen::open(&large(24, 12), width, height);
        for keys in [
            "",
            "?",
            "<Esc>w",
            "<Esc>o",
            "<Esc>a",
            "<Esc>f",
            "<Esc><Enter>",
            "<Esc>/e",
            "<Esc>x",
        ] {
            screen.keys(keys).frame();
        }
    }
}

#[test]
fn columns_stand_under_each_other_whatever_is_in_them() {
    let mut screen = open(80, 24);
    screen.resize(80, 40);
    let frame = screen.frame();
    let state = lines(&frame)
        .iter()
        .position(|line| line.contains("hands   kit"))
        .unwrap() as u16;
    // The column of a state begins at the same cell in every row, wide characters or not.
    let column = (0..80).find(|x| {
        (0..5).all(|i| frame[(x + i, state)].symbol() == &"state"[i as usize..=i as usize])
    });
    let column = column.unwrap();
    for y in state + 1..frame.area.height - 2 {
        if lines(&frame)[usize::from(y)].contains(" T−") {
            assert_eq!(frame[(column - 1, y)].symbol(), " ");
            assert_ne!(frame[(column, y)].symbol(), " ");
        }
    }
}

#[test]
fn no_key_does_what_a_terminal_too_small_cannot_show() {
    let mut screen = Screen::open(&lantern_supper(), 80, 24);
    screen.resize(60, 15).keys("sd<Down>s");
    screen.book_answers();
    assert!(screen.written.is_empty(), "{:?}", screen.written);
    screen.resize(80, 24).keys("s");
    screen.book_answers();
    assert_eq!(screen.written.len(), 1);
}

/// Every key has a line on the help page, so whoever has only the mouse can do whatever keys do.
#[test]
fn a_click_on_a_line_of_the_help_does_what_its_key_does() {
    let mut screen = open(120, 60);
    screen
        .keys("?")
        .click_on("what would make it possible where");
    assert!(screen.shows("no way out is needed"), "{}", screen.text());
    screen.keys("<Esc>?").click_on("it starts now");
    assert!(screen.shows("u takes it back"), "{}", screen.text());
    assert_eq!(screen.written.len(), 1);
    // What scrolls it scrolls it wherever the mouse is.
    let mut small = open(80, 24);
    small.keys("?");
    let top = small.text();
    let (x, y) = small.find("it starts now").expect("a line");
    small.mouse(MouseEventKind::ScrollDown, x, y);
    assert_ne!(small.text(), top);
}

#[test]
fn hands_and_kit_over_the_days_stand_on_a_small_and_on_a_large_screen() {
    let mut banquet = lantern_supper();
    let kit = [
        ("hob", 3),
        ("oven", 1),
        ("cold shelf", 9),
        ("mould", 12),
        ("churn", 1),
    ];
    banquet.menu.kitchen.kit = kit
        .map(|(name, count)| Kit {
            id: name.into(),
            name: name.into(),
            count,
            holds: None,
            oven: None,
            cold: None,
            taken: Vec::new(),
        })
        .into();
    let page = |width, height| {
        let mut screen = Screen::open(&banquet, width, height);
        screen.keys("K").text()
    };
    insta::assert_snapshot!("busy_80x24", page(80, 24));
    insta::assert_snapshot!("busy_120x40", page(120, 40));
    assert!(!open(80, 24).keys("K<Esc>").shows("hands and kit over"));
}
