//! Now and next, and the handover, on the screen.

use countback::plan::PlanOutcome;
use countback::time::Minutes;
use countback::tui::{Colour, Event, Signs};

use crate::support::banquet::{Banquet, Needs, at, lantern_supper, large, moment};
use crate::support::screen::Screen;

/// Thursday at a quarter past four: two things run, one of them over its time, and much comes.
fn at_work(width: u16, height: u16) -> Screen {
    let mut screen = Screen::open(&lantern_supper(), width, height);
    screen.keys("/press<Enter><Esc>s");
    screen.clock(moment(26, 15, 0)).keys("/brew<Enter><Esc>s");
    screen
        .clock(moment(26, 15, 42))
        .keys("d/poach<Enter><Esc>s");
    screen.clock(moment(26, 16, 15)).keys("v");
    screen
}

#[test]
fn now_and_next() {
    insta::assert_snapshot!("now_80x24", at_work(80, 24).text());
    insta::assert_snapshot!("now_120x40", at_work(120, 40).text());
    insta::assert_snapshot!("now_200x60", at_work(200, 60).text());
}

#[test]
fn without_colours_now_and_next_says_the_same() {
    let mut coloured = at_work(80, 24);
    let mut plain = at_work(80, 24);
    plain.app.sheet.colour = Colour::None;
    insta::assert_snapshot!("now_no_colour_80x24", plain.text());
    assert_eq!(plain.text(), coloured.text());
    let frame = plain.frame();
    let none = ratatui::style::Color::Reset;
    assert!(
        frame
            .content
            .iter()
            .all(|cell| cell.fg == none && cell.bg == none)
    );
}

#[test]
fn where_there_are_no_blocks_numbers_are_strokes() {
    let mut screen = at_work(80, 24);
    screen.app.ui.signs = Signs::Ascii;
    insta::assert_snapshot!("now_ascii_80x24", screen.text());
    let text = screen.text();
    assert!(!text.contains(['█', '▀', '▄']), "{text}");
}

#[test]
fn the_end_of_what_runs_and_the_next_look_are_counted_from_the_real_start() {
    let mut screen = Screen::open(&lantern_supper(), 120, 40);
    screen.clock(moment(26, 15, 47)).keys("/poach<Enter><Esc>s");
    screen.clock(moment(26, 16, 5)).keys("v");
    // Begun at 15:47, looked at every 25 minutes for 95 in all.
    let text = screen.text();
    assert!(text.contains("POACH THE PEARS"), "{text}");
    assert!(text.contains("until 17:22 · look at 16:12"), "{text}");
    assert!(text.contains("LOOK: POACH THE PEARS"), "{text}");
    // A look lasts three minutes.
    screen.clock(moment(26, 16, 14));
    assert!(screen.shows("look at 16:12"), "{}", screen.text());
    screen.clock(moment(26, 16, 15));
    assert!(screen.shows("look at 16:37"), "{}", screen.text());
}

#[test]
fn a_key_shows_what_each_cook_and_each_station_has_to_do() {
    let mut screen = at_work(120, 40);
    assert!(screen.shows("STRAIN AND FILL"));
    let mut seen = Vec::new();
    for _ in 0..8 {
        let heading = screen.line("wants hands");
        let whose = heading.split("wants hands").nth(1).unwrap_or_default();
        seen.push(
            whose
                .split('─')
                .next()
                .unwrap_or_default()
                .trim()
                .to_owned(),
        );
        screen.keys("<Tab>");
    }
    assert_eq!(seen[..5], ["", ": Bo", ": Ines", ": Mato", ": Stove"]);
    assert_eq!(seen[5], seen[0], "and everybody's again");
    screen.keys("<BackTab>");
    let mut screen = at_work(120, 40);
    screen.keys("<Tab><Tab>");
    assert!(
        !screen.shows("STRAIN AND FILL"),
        "that is Mato's\n{}",
        screen.text()
    );
}

#[test]
fn there_is_a_page_whatever_the_state() {
    // Everything done.
    let mut banquet = Banquet::empty("One step");
    banquet.dish("soup", "Soup", 0);
    banquet.step(
        "boil",
        "Boil it",
        (28, 12, 0),
        30,
        Needs::Hands(1),
        "Ines",
        &[],
    );
    let mut screen = Screen::open(&banquet, 80, 24);
    screen.keys("v");
    assert!(
        screen.shows("START: BOIL IT") && screen.shows("NOTHING RUNS"),
        "{}",
        screen.text()
    );
    screen.clock(moment(28, 12, 0)).keys("<Esc>d").keys("v");
    assert!(screen.shows("EVERYTHING IS DONE"), "{}", screen.text());

    // No plan at all; what runs is shown by its card.
    let banquet = lantern_supper();
    let impossible = |_: &_, _| PlanOutcome::Impossible(vec!["the jelly keeps too short".into()]);
    let impossible = Box::new(impossible);
    let mut screen = Screen::open_planned(&banquet, 80, 24, Vec::new(), Vec::new(), impossible);
    screen.keys("/poach<Enter><Esc>s");
    screen.clock(moment(26, 14, 20)).keys("v");
    let text = screen.text();
    assert!(text.contains("24 steps have no time"), "{text}");
    assert!(
        text.contains("until 15:40 · look at 14:30 · since 14:05"),
        "{text}"
    );

    // Nothing to cook.
    let mut screen = Screen::open(&Banquet::empty("Nothing"), 80, 24);
    screen.keys("v");
    assert!(screen.shows("EVERYTHING IS DONE"), "{}", screen.text());
}

#[test]
fn what_should_have_begun_is_on_top_and_said_to_be_late() {
    let mut screen = Screen::open(&lantern_supper(), 80, 24);
    screen.clock(moment(26, 15, 30)).keys("v");
    let text = screen.text();
    let first = text
        .find("START: PRESS THE BERRIES")
        .expect("it stands there");
    assert!(text.contains("1H15 LATE"), "{text}");
    assert!(
        text.find("START: BREW").is_none_or(|at| at > first),
        "{text}"
    );
}

#[test]
fn many_steps_and_long_names_turn_pages_and_are_never_lost() {
    let mut screen = Screen::open(&large(30, 10), 80, 24);
    screen.keys("v");
    let (_, pages) = screen.app.ui.seen.page_lines;
    assert!(pages > 1 && pages <= 12, "{pages}");
    let first = screen.text();
    screen.keys("<PageDown>");
    assert_ne!(screen.text(), first);
    screen.keys("<End>");
    assert_eq!(screen.app.ui.page_top, pages - 1);

    let mut banquet = Banquet::empty("Long names");
    banquet.dish("soup", "A soup", 0);
    let name =
        "Fold the third part of the whipped batter under the chilled custard with a wide spatula";
    banquet.step("fold", name, (26, 14, 10), 30, Needs::Hands(2), "Ines", &[]);
    let mut screen = Screen::open(&banquet, 80, 24);
    screen.keys("v");
    assert!(
        screen.shows("START: FOLD THE THIRD PART OF THE WHIPPED BATTER UNDER THE"),
        "{}",
        screen.text()
    );
    assert!(screen.shows("CHILLED CUSTARD"), "{}", screen.text());
}

#[test]
fn a_sheet_on_the_wall_turns_its_pages_and_writes_nothing() {
    let mut screen = Screen::open(&large(30, 10), 80, 24);
    screen.app.sheet.wall = true;
    screen.keys("v");
    let (_, pages) = screen.app.ui.seen.page_lines;
    for page in 1..=pages {
        screen.event(Event::TurnPage);
        screen.frame();
        assert_eq!(screen.app.ui.page_top, page % pages);
    }
    for key in ["s", "A", "P", "U", "i"] {
        screen.keys(key);
        assert!(
            screen.shows("hangs on the wall"),
            "{key}: {}",
            screen.text()
        );
    }
    assert!(screen.written.is_empty());
}

#[test]
fn the_handover() {
    let mut screen = at_work(80, 24);
    screen.keys("v/poach<Enter><Esc>r62 C to 95 C<Enter>iturn them gently<Enter>");
    screen.keys("H");
    insta::assert_snapshot!("handover_80x24", screen.text());
    // A note of the banquet, typed on the page; one that hands over ends the shift.
    screen.keys("ihanded over to Bo<Enter>");
    let text = screen.keys("<End>").text();
    assert!(
        text.contains("Since the handover of Thu 16:15, ines"),
        "{text}"
    );
    assert!(text.contains("nothing was ticked"), "{text}");
    screen.keys("<Esc>");
    screen
        .clock(moment(26, 16, 40))
        .keys("/press<Enter><Esc>d")
        .keys("H<End>");
    assert!(screen.shows("ice/press done"), "{}", screen.text());
    insta::assert_snapshot!("handover_120x40", screen.resize(120, 40).text());
}

#[test]
fn steps_that_moved_are_handed_over() {
    let banquet = lantern_supper();
    let mut moved = banquet.clone();
    let step = &mut moved.plan.steps[3];
    step.told = Some(step.window.start);
    step.window.start += Minutes(25);
    step.window.end += Minutes(25);
    assert_eq!(step.window.start, at(27, 8, 25));
    let mut screen = Screen::open(&moved, 80, 24);
    screen.keys("H");
    assert!(
        screen.shows("Drain and trim (Smoked-tea pears): Fri 08:25 instead of Fri 08:00"),
        "{}",
        screen.text()
    );
}
