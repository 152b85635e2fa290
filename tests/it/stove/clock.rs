//! Clocks that are set, machines that sleep, nights in which the clock is changed, rehearsals.

use countback::book::{Entry, EntryId, Happening};
use countback::plan::StepKey;
use countback::prep::{PrepState, Progress};
use countback::time::Timestamp;
use countback::tui::Event;
use countback::tui::timekeeping::Noticed;
use portable_pty::CommandBuilder;

use crate::support::banquet::{lantern_supper, moment};
use crate::support::screen::Screen;
use crate::support::terminal::Terminal;

#[test]
fn a_machine_that_slept_is_told_of_once() {
    let mut screen = Screen::open(&lantern_supper(), 200, 60);
    let noticed = Noticed::Ahead {
        from: moment(26, 23, 10),
        to: moment(27, 5, 12),
    };
    screen.clock(moment(27, 5, 12));
    screen.event(Event::Clock(noticed));
    let said = "the machine slept, or its clock was set forward: from Thu 23:10 to Fri 05:12 nobody looked";
    assert!(screen.shows(said), "{}", screen.text());
    screen.keys("<Esc>");
    assert!(!screen.shows(said), "put away\n{}", screen.text());
    assert!(
        screen.keys("w").shows("the machine slept"),
        "and kept among the notices"
    );
}

#[test]
fn a_clock_set_back_leaves_what_was_written_and_plans_nothing_before_it() {
    let mut screen = Screen::open(&lantern_supper(), 200, 60);
    screen.clock(moment(26, 15, 0)).keys("/press<Enter><Esc>s");
    let latest = screen.app.sheet.now_minute();
    screen.clock(moment(26, 13, 0));
    screen.event(Event::Clock(Noticed::Back {
        from: moment(26, 15, 1),
        to: moment(26, 13, 0),
    }));
    let said = "the clock was set back from Thu 15:01 to Thu 13:00: times already written stay";
    assert!(screen.shows(said), "{}", screen.text());
    assert_eq!(screen.app.sheet.planned_from(), latest);
    assert_eq!(
        screen
            .app
            .sheet
            .prep
            .progress(&StepKey::first("ice", "press")),
        Progress::Running {
            since: moment(26, 15, 0)
        }
    );
    // The step cannot end before it began; that is said, and nothing is written.
    let before = screen.written.len();
    screen.keys("d");
    assert!(
        screen.shows("cannot end before its start"),
        "{}",
        screen.text()
    );
    assert_eq!(screen.written.len(), before);
    // What is said of it now holds, though by the clock it was said before it began.
    screen.keys("e15:40<Enter>");
    let end = screen
        .app
        .sheet
        .prep
        .expected(&StepKey::first("ice", "press"));
    assert_eq!(end.map(|(_, end)| end), Some(moment(26, 15, 40)));
    // Taken back, everything is planned from now again.
    screen.keys("UU");
    assert_eq!(
        screen.app.sheet.planned_from(),
        screen.app.sheet.now_minute()
    );
    // Started again when it really was, it can be done.
    screen.keys("S12:50<Enter>d");
    assert_eq!(
        screen
            .app
            .sheet
            .prep
            .progress(&StepKey::first("ice", "press")),
        Progress::Finished {
            started: Some(moment(26, 12, 50)),
            at: moment(26, 13, 0)
        }
    );
}

#[test]
fn a_sheet_opened_on_a_clock_set_back_says_so() {
    let entry = Entry {
        id: EntryId(1),
        event: "lantern-supper@2026-11-28".into(),
        at: moment(26, 17, 0),
        written: moment(26, 17, 0),
        who: String::new(),
        place: String::new(),
        what: Happening::Started {
            step: "ice/press".into(),
        },
    };
    let open =
        |entry: Entry| Screen::open_with(&lantern_supper(), 200, 60, Vec::new(), vec![entry]);
    let mut screen = open(entry.clone());
    let said = "the book has ticks that are still to come by this clock, the latest at Thu 17:00";
    assert!(screen.shows(said), "{}", screen.text());
    let notice = &screen.app.sheet.notices[0];
    assert!(
        notice.contains("nothing is planned before the latest of them, Thu 17:00"),
        "{notice}"
    );
    // One that lies months ahead is no clock that was set: it is not planned from.
    let screen = open(Entry {
        at: Timestamp(entry.at.0 + 200 * 86_400),
        ..entry
    });
    let notice = &screen.app.sheet.notices[0];
    assert!(
        notice.contains("lies too far ahead to plan from"),
        "{notice}"
    );
    assert_eq!(
        screen.app.sheet.planned_from(),
        screen.app.sheet.now_minute()
    );
}

/// However a clock was set about, the fold of what was written is one step's story told in the order it was written.
#[test]
fn entries_written_on_a_clock_that_runs_backward_fold_to_something_sane() {
    let key = StepKey::first("ice", "press");
    let mut state = PrepState::default();
    let step = || "ice/press".to_owned();
    let said = [
        (100, Happening::Started { step: step() }),
        (40, Happening::Finished { step: step() }),
        (20, Happening::Started { step: step() }),
        (10, Happening::Undone { entry: EntryId(2) }),
        (5, Happening::Finished { step: step() }),
    ];
    let mut stood = Vec::new();
    for (id, (at, what)) in (1..).zip(said) {
        state.apply(&Entry {
            id: EntryId(id),
            event: String::new(),
            at: Timestamp(at),
            written: Timestamp(at),
            who: String::new(),
            place: String::new(),
            what,
        });
        stood.push(state.progress(&key));
    }
    let running = Progress::Running {
        since: Timestamp(100),
    };
    let done = |at| Progress::Finished {
        started: Some(Timestamp(100)),
        at: Timestamp(at),
    };
    assert_eq!(
        stood,
        [running.clone(), done(40), done(40), running, done(5)]
    );
}

/// A menu served on the day the clocks go back in Rome (tz database, 2026-10-25 03:00).
const AUTUMN: &str = r#"Menu(
    id: "autumn", name: "Autumn", service: "2026-10-25 19:00", covers: 10,
    kitchen: Kitchen(
        name: "K", zone: "Europe/Rome", open: [Open(days: "every day", at: "07:00..23:00")],
        cooks: [Cook(name: "cook")],
    ),
    dishes: [Serve(dish: Dish(id: "jelly", name: "Jelly", steps: [
        Step(id: "cook", name: "Cook it", time: "30 min"),
        Step(id: "set", name: "Let it set", time: "20h", hands: "left alone"),
        Step(id: "turn", name: "Turn it out", time: "20 min"),
    ]))],
)"#;

#[test]
fn a_night_in_which_the_clock_is_changed_is_told_of() {
    let home = tempfile::tempdir().unwrap();
    let menu = home.path().join("autumn.ron");
    std::fs::write(&menu, AUTUMN).unwrap();
    let open = |now: &str| {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_countback"));
        command.arg(&menu);
        command.args(["--now", now, "--book"]);
        command.arg(home.path().join("book.sqlite"));
        Terminal::run(command, 120, 40)
    };
    let mut terminal = open("2026-10-24 12:00");
    terminal.wait_for("clocks go back 1h on Sun 25 Oct at 03:00, to 02:00; waits are elapsed time");
    terminal.press("q");
    terminal.wait_for_end();
    let mut terminal = open("2026-10-25 12:00");
    let screen = terminal.wait_for("Turn it out");
    assert!(!screen.contains("clocks go back"), "that is over\n{screen}");
    terminal.press("q");
    terminal.wait_for_end();
}

#[test]
fn a_rehearsal_runs_through_hours_while_one_looks() {
    let home = tempfile::tempdir().unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_countback"));
    command.args([
        "demo",
        "--now",
        "2026-11-26 22:50",
        "--speed",
        "3000",
        "--quiet",
        "--book",
    ]);
    command.arg(home.path().join("book.sqlite"));
    let mut terminal = Terminal::run(command, 80, 24);
    terminal.wait("an hour passes", |screen| {
        let first = screen.contents();
        first
            .lines()
            .next()
            .is_some_and(|line| line.contains("now Fri 00:") || line.contains("now Fri 01:"))
    });
    terminal.press("q");
    terminal.wait_for_end();
}
