//! The sheet where a cook changes their mind: readings, ends, notes, decisions, and any entry taken back.

use countback::book::{Decision, Entry, EntryId, Happening, Reading};
use countback::tui::Event;

use crate::support::banquet::lantern_supper;
use crate::support::screen::Screen;

fn open(width: u16, height: u16) -> Screen {
    Screen::open(&lantern_supper(), width, height)
}

fn last(screen: &Screen) -> &Happening {
    &screen.written.last().expect("something was written").what
}

#[test]
fn a_reading_is_written_with_its_goal_and_stands_on_the_card() {
    let mut screen = open(120, 40);
    screen.keys("sr62.5 C to 5 C in 3 C<Enter>");
    let Happening::Read { reading, goal, .. } = last(&screen) else {
        panic!("no reading: {:?}", last(&screen));
    };
    assert_eq!(*reading, Reading::Temperature(625));
    assert_eq!(goal.expect("a goal").around, Some(30));
    assert!(screen.shows("62.5 °C at"), "{}", screen.text());
    assert!(screen.shows("2 readings at"), "{}", screen.text());
}

#[test]
fn what_is_typed_wrongly_leaves_the_line_open_and_writes_nothing() {
    let mut screen = open(80, 24);
    for (keys, said) in [
        ("rwarm<Enter>", "is no reading"),
        ("e20 min<Enter>", "it is not running; start it first"),
        ("i <Enter>", "a note says something"),
    ] {
        screen.keys(keys);
        assert!(screen.shows(said), "{keys}: {}", screen.text());
        screen.keys("<Esc>");
    }
    assert!(screen.written.is_empty());
}

#[test]
fn an_end_that_a_cook_foretells_is_an_entry() {
    let mut screen = open(120, 40);
    screen.keys("se25 min<Enter>");
    let Happening::Expected { end, .. } = last(&screen) else {
        panic!("no end: {:?}", last(&screen));
    };
    assert_eq!(end.0 - screen.app.sheet.now.0, 25 * 60);
    assert!(screen.shows("over at Thu 14:30"), "{}", screen.text());
}

/// `u` takes back what was said of a step last, be it a note or a reading, and says what that was.
#[test]
fn what_is_taken_back_of_a_step_is_said() {
    let mut screen = open(120, 40);
    screen.keys("sithe ring is weak<Enter>u");
    assert!(matches!(last(&screen), Happening::Undone { entry } if entry.0 == 2));
    let said = "the ring is weak; R brings it back";
    assert!(screen.shows("taken back: note on "), "{}", screen.text());
    assert!(screen.shows(said), "{}", screen.text());
    screen.keys("u");
    assert!(
        screen.shows("started; R brings it back"),
        "{}",
        screen.text()
    );
    screen.keys("Ru");
    assert!(screen.shows("taken back: "), "{}", screen.text());
}

#[test]
fn the_last_entries_are_taken_back_one_by_one_and_brought_back() {
    let mut screen = open(120, 40);
    screen.keys("sithe ring is weak<Enter>");
    assert_eq!(screen.written.len(), 2);
    screen.keys("U");
    assert!(matches!(last(&screen), Happening::Undone { entry } if entry.0 == 2));
    screen.keys("U");
    assert!(matches!(last(&screen), Happening::Undone { entry } if entry.0 == 1));
    screen.keys("U");
    assert!(screen.shows("nothing there to take back"));
    screen.keys("R");
    assert!(
        matches!(last(&screen), Happening::Undone { entry } if entry.0 == 4),
        "the newest undo first"
    );
    assert!(screen.shows("brought back"), "{}", screen.text());
    screen.keys("RR");
    assert!(screen.shows("nothing there to bring back"));
    assert_eq!(screen.written.len(), 6);
}

#[test]
fn the_book_is_read_on_the_sheet_and_any_entry_taken_back_there() {
    let mut screen = open(80, 24);
    screen.keys("sdiweak ring<Enter>E");
    insta::assert_snapshot!("book_80x24", screen.text());
    // The newest is selected; the tick that was done first is two lines down.
    screen.keys("jju");
    assert!(matches!(last(&screen), Happening::Undone { entry } if entry.0 == 1));
    assert!(screen.shows("taken back"), "{}", screen.text());
}

#[test]
fn a_decision_is_shown_before_it_is_taken_and_one_undo_takes_it_back() {
    let mut screen = open(80, 24);
    screen.keys("C");
    insta::assert_snapshot!("change_80x24", screen.text());
    screen.keys("<Enter>90<Enter>");
    insta::assert_snapshot!("trial_80x24", screen.text());
    assert!(screen.written.is_empty(), "nothing is decided yet");
    screen.keys("<Esc>");
    assert!(screen.written.is_empty(), "nor by leaving it");
    screen.keys("C<Enter>90<Enter><Enter>");
    let Happening::Decided { decision, steps } = last(&screen) else {
        panic!("not decided: {:?}", last(&screen));
    };
    assert_eq!(
        *decision,
        Decision::Covers {
            dish: None,
            covers: 90
        }
    );
    assert!(
        !steps.is_empty(),
        "the times of the plan taken are told with it"
    );
    assert!(screen.shows("90 covers"), "{}", screen.text());
    screen.keys("U");
    assert!(!screen.shows("90 covers  "), "{}", screen.text());
    assert_eq!(
        screen.app.sheet.menu.covers,
        screen.app.sheet.written.0.covers
    );
}

#[test]
fn a_dish_is_left_out_at_once_on_trial() {
    let mut screen = open(120, 40);
    screen.keys("C");
    let dish = screen.app.sheet.menu.dishes[0].name.clone();
    let wanted = format!("leave out {dish}");
    for _ in 0..40 {
        if screen.shows(&format!("▸ {wanted}")) {
            break;
        }
        screen.keys("j");
    }
    screen.keys("<Enter>");
    assert!(screen.shows("before it is decided"), "{}", screen.text());
    screen.keys("<Enter>");
    assert!(matches!(
        last(&screen),
        Happening::Decided {
            decision: Decision::DishDropped { .. },
            ..
        }
    ));
    assert!(
        screen
            .app
            .sheet
            .menu
            .dishes
            .iter()
            .all(|it| it.name != dish)
    );
}

#[test]
fn a_card_that_cannot_be_read_is_said() {
    let mut screen = open(120, 40);
    screen.keys("C");
    for _ in 0..40 {
        if screen.shows("▸ a dish more") {
            break;
        }
        screen.keys("j");
    }
    screen.keys("<Enter>nuts.ron<Enter>");
    assert!(screen.shows("no file nuts.ron here"), "{}", screen.text());
    assert!(screen.written.is_empty());
}

#[test]
fn a_sheet_on_the_wall_writes_nothing() {
    let mut screen = open(80, 24);
    screen.app.sheet.wall = true;
    for key in [
        "s", "d", "u", "x", "S", "D", "r", "e", "i", "U", "R", "B", "m", "C",
    ] {
        screen.keys(key);
        assert!(
            screen.shows("hangs on the wall"),
            "{key}: {}",
            screen.text()
        );
        assert!(screen.app.ui.prompt.is_none(), "{key}");
    }
    assert!(screen.written.is_empty());
}

/// An entry as another terminal has written it.
fn from_elsewhere(screen: &Screen, what: Happening) -> Event {
    let id = screen
        .app
        .sheet
        .entries
        .last()
        .map_or(0, |entry| entry.id.0)
        + 1;
    let now = screen.app.sheet.now;
    Event::News(Ok(vec![Entry {
        id: EntryId(id),
        event: "lantern-supper@2026-11-28".into(),
        at: now,
        written: now,
        who: "ana".into(),
        place: "cold room".into(),
        what,
    }]))
}

#[test]
fn what_is_taken_back_is_the_entry_that_was_looked_at_whatever_came_meanwhile() {
    let mut screen = open(80, 24);
    screen.keys("siweak ring<Enter>Ej");
    assert!(screen.line("▸     1").contains("started"));
    let news = from_elsewhere(
        &screen,
        Happening::Noted {
            step: None,
            text: "the bell is broken".into(),
        },
    );
    screen.event(news);
    assert!(
        screen.line("▸     1").contains("started"),
        "{}",
        screen.text()
    );
    screen.keys("u");
    assert!(matches!(last(&screen), Happening::Undone { entry } if entry.0 == 1));
}

#[test]
fn a_decision_on_trial_does_not_outlive_another_that_was_taken_meanwhile() {
    let mut screen = open(80, 24);
    screen.keys("C<Enter>90<Enter>");
    let news = from_elsewhere(
        &screen,
        Happening::Decided {
            decision: Decision::Covers {
                dish: None,
                covers: 120,
            },
            steps: std::collections::BTreeMap::new(),
        },
    );
    screen.event(news);
    assert!(screen.shows("decided meanwhile"), "{}", screen.text());
    screen.keys("<Enter>");
    assert!(
        screen.written.is_empty(),
        "what no longer holds is not taken"
    );
    assert_eq!(screen.app.sheet.menu.covers, 120);
}

#[test]
fn a_book_of_any_length_is_listed() {
    let mut screen = open(80, 24);
    let entry = |id: i64| Entry {
        id: EntryId(id),
        event: "lantern-supper@2026-11-28".into(),
        at: screen.app.sheet.now,
        written: screen.app.sheet.now,
        who: String::new(),
        place: String::new(),
        what: Happening::Noted {
            step: None,
            text: format!("note {id}"),
        },
    };
    let many: Vec<Entry> = (1..=70_000).map(entry).collect();
    screen.event(Event::News(Ok(many)));
    screen.keys("E");
    assert!(
        screen.shows("70000 entries, the newest first"),
        "{}",
        screen.text()
    );
    assert!(screen.shows("▸ 70000"), "{}", screen.text());
    screen.keys("<End>");
    assert!(screen.shows("▸     1"), "{}", screen.text());
}
