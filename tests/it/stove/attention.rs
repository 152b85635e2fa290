//! Calls for attention: shown, rung once, answered, put off; and the cook's own command.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use countback::book::{Entry, EntryId, Happening};
use countback::tui::Event;

use crate::support::banquet::{lantern_supper, moment};
use crate::support::screen::Screen;
use crate::support::terminal::Terminal;

const PRESS: &str = "start ice/press";

/// Ten past two: the berries are to be pressed in five minutes.
fn called(width: u16, height: u16) -> Screen {
    let mut screen = Screen::open(&lantern_supper(), width, height);
    assert!(!screen.app.take_bell(), "nothing calls at five past");
    screen.clock(moment(26, 14, 10));
    screen
}

fn heeded(screen: &Screen) -> Vec<&Happening> {
    let all = screen.written.iter().map(|entry| &entry.what);
    all.filter(|what| matches!(what, Happening::Heeded { .. }))
        .collect()
}

#[test]
fn a_call_rings_once_and_stands_until_it_is_answered() {
    let mut screen = called(80, 24);
    assert!(screen.app.take_bell());
    assert!(
        screen.shows("start Press the berries (Sea-buckthorn") && screen.shows("by Thu 15:05"),
        "{}",
        screen.text()
    );
    assert!(screen.shows("A heeds, P puts off"));
    for minute in 11..20 {
        screen.clock(moment(26, 14, minute)).keys("j");
        assert!(!screen.app.take_bell(), "not again at 14:{minute}");
        assert!(screen.shows("Press the berries (Sea-buckthorn ice)"));
    }
    screen.keys("v");
    assert!(
        screen.shows("start Press the berries"),
        "on the large page too\n{}",
        screen.text()
    );
    screen.keys("A");
    assert!(
        screen.shows("heeded: start Press the berries"),
        "{}",
        screen.text()
    );
    let answer = Happening::Heeded {
        call: PRESS.into(),
        again: None,
    };
    assert_eq!(heeded(&screen), [&answer]);
    screen.clock(moment(26, 14, 50)).keys("<Tab>");
    assert!(
        !screen.shows("start Press the berries (Sea-buckthorn ice)"),
        "{}",
        screen.text()
    );
    screen.clock(moment(26, 14, 52)).keys("<Esc>A");
    assert!(screen.shows("nothing calls"), "{}", screen.text());
}

#[test]
fn what_is_put_off_rings_again_when_its_time_is_up() {
    let mut screen = called(80, 24);
    assert!(screen.app.take_bell());
    screen.keys("P");
    let again = Some(moment(26, 14, 20));
    assert_eq!(
        heeded(&screen),
        [&Happening::Heeded {
            call: PRESS.into(),
            again
        }]
    );
    screen.keys("<Esc>");
    for minute in 11..20 {
        screen.clock(moment(26, 14, minute));
        assert!(
            !screen.app.take_bell() && !screen.shows("start Press"),
            "at 14:{minute}"
        );
    }
    screen.clock(moment(26, 14, 20));
    assert!(screen.app.take_bell() && screen.shows("Press the berries (Sea-buckthorn ice)"));
    screen.clock(moment(26, 14, 21));
    assert!(!screen.app.take_bell());
    // Begun, it calls no more; taken back, it is due again.
    screen.keys("<Home>s<Esc>");
    assert!(screen.app.sheet.calls.iter().all(|call| call.name != PRESS));
    screen.keys("u");
    assert!(screen.app.take_bell());
}

#[test]
fn what_another_terminal_answers_is_quiet_here() {
    let mut screen = called(120, 40);
    assert!(screen.app.take_bell());
    let elsewhere = |id: i64, again| Entry {
        id: EntryId(id),
        event: "lantern-supper@2026-11-28".into(),
        at: moment(26, 14, 11),
        written: moment(26, 14, 11),
        who: "bo".into(),
        place: "bench".into(),
        what: Happening::Heeded {
            call: PRESS.into(),
            again,
        },
    };
    screen.event(Event::News(Ok(vec![elsewhere(
        50,
        Some(moment(26, 14, 21)),
    )])));
    assert!(
        !screen.shows("start Press the berries (Sea-buckthorn ice)"),
        "{}",
        screen.text()
    );
    screen.clock(moment(26, 14, 21));
    assert!(screen.app.take_bell(), "its time is up here as there");
    screen.event(Event::News(Ok(vec![elsewhere(51, None)])));
    screen.clock(moment(26, 14, 40));
    assert!(!screen.app.take_bell() && !screen.shows("start Press the berries (Sea-buckthorn"));
}

#[test]
fn the_call_of_the_selected_step_is_answered_before_the_most_urgent() {
    let mut screen = Screen::open(&lantern_supper(), 120, 40);
    screen.clock(moment(26, 15, 10));
    assert!(
        screen.app.sheet.calls.len() > 1,
        "{:?}",
        screen.app.sheet.calls
    );
    screen.keys("/brew<Enter><Esc>A");
    let answer = Happening::Heeded {
        call: "start pears/brew".into(),
        again: None,
    };
    assert_eq!(heeded(&screen), [&answer]);
}

#[test]
fn the_command_is_told_of_each_call_once() {
    let mut screen = called(80, 24);
    screen.clock(moment(26, 14, 12)).keys("jj");
    assert_eq!(screen.alerts.len(), 1);
    let told = &screen.alerts[0];
    assert_eq!(told.name, PRESS);
    assert_eq!(
        told.says,
        "countback: start Press the berries (Sea-buckthorn ice) at Thu 14:15, by Thu 15:05 to be sure"
    );
    assert_eq!(told.by, "2026-11-26T15:05:00+01:00");
    screen.event(Event::AlertFailed("no such program".into()));
    assert!(screen.shows("the command of --on-alert failed: no such program"));
    screen.keys("<Esc>");
    screen.event(Event::AlertFailed("again".into()));
    assert!(
        !screen.shows("again"),
        "a failure is told once\n{}",
        screen.text()
    );
}

/// A menu in which everything is due at half past eight, with a name that would do harm in a shell.
fn hostile_menu(folder: &Path) -> String {
    let text = r#"Menu(
    id: "hostile", name: "Hostile", service: "2026-11-27 22:00", covers: 10,
    kitchen: Kitchen(
        name: "K", zone: "Europe/Rome", open: [Open(days: "every day", at: "07:00..23:00")],
        cooks: [Cook(name: "cook")],
    ),
    dishes: [Serve(dish: Dish(id: "d", name: "$(touch pwned); `touch pwned`", steps: [
        Step(id: "s", name: "-rf \"x\" '; touch pwned #", time: "88 min"),
    ]))],
)"#;
    let path = folder.join("hostile.ron");
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

fn wait_until(what: &str, mut is_so: impl FnMut() -> bool) {
    let until = Instant::now() + Duration::from_secs(30);
    while !is_so() {
        assert!(Instant::now() < until, "never came: {what}");
        std::thread::sleep(Duration::from_millis(10));
    }
}

#[cfg(unix)]
#[test]
fn the_bell_rings_once_and_the_command_gets_any_text_as_one_argument() {
    let home = tempfile::tempdir().unwrap();
    let menu = hostile_menu(home.path());
    let said = home.path().join("said");
    // Writes each of its arguments on a line of its own, then says that it is done.
    let script = home.path().join("tell me.sh");
    let text = "#!/bin/sh\nout=$1\nshift\nfor it in \"$@\"; do printf '<%s>\\n' \"$it\" >> \"$out\"; done\nprintf end >> \"$out\"\n";
    std::fs::write(&script, text).unwrap();
    let command = format!("/bin/sh \"{}\" '{}'", script.display(), said.display());
    let words = [menu.as_str(), "--on-alert", &command];
    let mut terminal = Terminal::open(&home.path().join("book.sqlite"), &words, 80, 24);
    terminal.wait_for("A heeds");
    let read = || std::fs::read_to_string(&said).unwrap_or_default();
    wait_until("the command", || read().ends_with("end"));
    let told = read();
    let lines: Vec<&str> = told.lines().collect();
    assert_eq!(lines.len(), 4, "three arguments, and the end: {told}");
    assert!(
        lines[0].starts_with(
            "<countback: start -rf \"x\" '; touch pwned # ($(touch pwned); `touch pwned`)"
        ),
        "{told}"
    );
    assert_eq!(lines[1], "<start d/s>");
    assert!(
        lines[2].starts_with("<2026-11-27T20:3") && lines[2].ends_with("+01:00>"),
        "{told}"
    );
    assert!(!home.path().join("pwned").exists() && !Path::new("pwned").exists());
    // No child is left behind, dead or alive.
    let process = terminal.child.process_id().unwrap();
    wait_until("the child is waited for", || {
        let found = Command::new("ps")
            .args(["--no-headers", "--ppid", &process.to_string()])
            .output();
        found.is_ok_and(|found| found.stdout.is_empty())
    });
    assert_eq!(terminal.shown.0.lock().unwrap().bells, 1);
    terminal.press("q");
    terminal.wait_for_end();
    assert_eq!(terminal.shown.0.lock().unwrap().bells, 1);
}

#[test]
fn a_quiet_sheet_calls_and_does_not_ring() {
    let home = tempfile::tempdir().unwrap();
    let menu = hostile_menu(home.path());
    let words = [menu.as_str(), "--quiet", "--on-alert", "/no/such/program"];
    let mut terminal = Terminal::open(&home.path().join("book.sqlite"), &words, 80, 24);
    terminal.wait_for("A heeds");
    terminal.wait_for("the command of --on-alert failed");
    terminal.press("q");
    terminal.wait_for_end();
    assert_eq!(terminal.shown.0.lock().unwrap().bells, 0);
}
