//! The loop with its real threads, on a terminal of memory.

use std::sync::mpsc::{Receiver, Sender};

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::backend::TestBackend;

use super::*;
use crate::book::{EntryId, Note};
use crate::menu::{Course, Kitchen, Service, ServiceDay, Style};
use crate::plan::PlanOutcome;
use crate::time::{Date, Local, Minutes, Timestamp, Zone, time_of_day};

/// Answers when told to, with what it is told.
struct ToldPlanner {
    begun: Sender<()>,
    answer: Receiver<PlanOutcome>,
}

impl Planner for ToldPlanner {
    fn plan(&mut self, _: &Situation) -> PlanOutcome {
        let _ = self.begun.send(());
        self.answer
            .recv()
            .unwrap_or(PlanOutcome::Impossible(Vec::new()))
    }
}

struct FullDisk;

impl Pen for FullDisk {
    fn write(&mut self, _: &Note) -> Result<Entry, String> {
        Err("the disk is full".to_owned())
    }
}

struct Desk {
    app: App,
    outside: Outside,
    woken: Receiver<Event>,
    events: Sender<Event>,
    terminal: Terminal<TestBackend>,
    begun: Receiver<()>,
    answer: Sender<PlanOutcome>,
}

fn opening() -> Opening {
    let time = time_of_day(19, 30).expect("a time");
    let date = Date::from_ymd_opt(2026, 11, 28).expect("a date");
    Opening {
        menu: Menu {
            id: "supper".into(),
            name: "Supper".into(),
            service: Service {
                day: ServiceDay::On(date),
                time,
            },
            covers: 12,
            prep_from: None,
            style: Style::Late,
            rules: None,
            guests: Vec::new(),
            larder: crate::menu::Larder::default(),
            gelling: crate::menu::Gelling::default(),
            kitchen: Kitchen {
                name: "Kitchen".into(),
                zone: Some(Zone::UTC),
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
            dishes: Vec::new(),
            dropped: Vec::new(),
        },
        service: ServiceTime::new(Local { date, time }, Zone::UTC),
        event: "supper@2026-11-28".into(),
        entries: Vec::new(),
        who: String::new(),
        place: String::new(),
        notices: Vec::new(),
        colour: Colour::None,
        cards: crate::tui::Cards {
            fetch: |name| Err(format!("no file {name} here")),
            read: |_| Err("no cards here".to_owned()),
        },
        wall: false,
    }
}

fn desk() -> Desk {
    let (events, woken) = mpsc::channel();
    let (begun, has_begun) = mpsc::channel();
    let (answer, answers) = mpsc::channel();
    let planner = Box::new(ToldPlanner {
        begun,
        answer: answers,
    });
    let outside = Outside::start(planner, Box::new(FullDisk), opening().cards, None, &events)
        .expect("threads start");
    let (app, wanted) = App::new(opening(), Timestamp(1_795_800_000));
    for effect in wanted {
        outside.run(effect);
    }
    let terminal = Terminal::new(TestBackend::new(80, 24)).expect("memory does not fail");
    Desk {
        app,
        outside,
        woken,
        events,
        terminal,
        begun: has_begun,
        answer,
    }
}

impl Desk {
    fn turn(&mut self) -> Next {
        let clock = Clock::Fixed(Timestamp(1_795_800_000));
        let mut keeper = Timekeeper::new(clock, false);
        draw(&mut self.terminal, &mut self.app).expect("memory does not fail");
        turn(&mut self.app, &self.outside, &self.woken, &mut keeper)
    }

    fn press(&self, key: char) {
        let key = KeyEvent::new(KeyCode::Char(key), KeyModifiers::NONE);
        self.events.send(Event::Key(key)).expect("the loop listens");
    }

    fn shows(&self, text: &str) -> bool {
        self.terminal.backend().to_string().contains(text)
    }
}

#[test]
fn keys_are_answered_while_the_planner_works() {
    let mut desk = desk();
    desk.begun.recv().expect("the planner begins");
    desk.press('?');
    assert_eq!(desk.turn(), Next::GoOn);
    assert!(
        desk.shows("counting back…"),
        "the first frame does not wait for the plan"
    );
    desk.press('?');
    assert_eq!(desk.turn(), Next::GoOn);
    assert!(desk.shows("Ticking off the selected step"));
    let because = vec!["the jelly keeps too short".to_owned()];
    desk.answer
        .send(PlanOutcome::Impossible(because))
        .expect("the planner waits");
    while desk.app.sheet.outcome.is_none() {
        assert_eq!(desk.turn(), Next::GoOn);
    }
    desk.press('q');
    desk.turn();
    assert!(desk.shows("the jelly keeps too short"));
}

#[test]
fn the_sheet_can_be_left_while_the_planner_works() {
    let mut desk = desk();
    desk.begun.recv().expect("the planner begins");
    desk.press('q');
    assert_eq!(desk.turn(), Next::Quit);
    desk.outside.close();
}

#[test]
fn many_keys_are_taken_in_before_one_frame() {
    let mut desk = desk();
    for _ in 0..50 {
        desk.press('j');
    }
    desk.press('q');
    assert_eq!(desk.turn(), Next::Quit, "all of them in one turn");
}

#[test]
fn a_planner_that_fails_ends_the_sheet_with_words() {
    let (events, woken) = mpsc::channel();
    let mut desk = Desk {
        woken,
        events,
        ..desk()
    };
    desk.events
        .send(Event::Broken("the planner has failed".to_owned()))
        .expect("the loop listens");
    assert_eq!(desk.turn(), Next::Quit);
    assert_eq!(desk.app.broken.as_deref(), Some("the planner has failed"));
    let said = SheetError::Broken("the planner has failed".to_owned()).to_string();
    assert!(said.contains("every tick shown is in the book"));
}

#[test]
fn a_tick_refused_while_the_sheet_closes_is_told_afterwards() {
    let mut desk = desk();
    let note = Note {
        event: "supper@2026-11-28".into(),
        at: Timestamp(0),
        written: Timestamp(0),
        who: String::new(),
        place: String::new(),
        what: crate::book::Happening::Undone { entry: EntryId(1) },
    };
    let ticket = effect::Ticket(7);
    desk.app.sheet.writing.push(sheet::Writing {
        ticket,
        key: Some(crate::plan::StepKey::first("a", "b")),
        errand: None,
        done: String::new(),
        second: false,
    });
    desk.outside.run(Effect::Append { ticket, note });
    desk.app.ending();
    desk.outside.close();
    for event in desk.woken.try_iter() {
        desk.app.update(event);
    }
    assert!(
        desk.app
            .unwritten
            .is_some_and(|said| said.contains("the disk is full"))
    );
}

#[test]
fn what_went_wrong_is_said_with_what_to_do() {
    assert!(
        SheetError::NotATerminal
            .to_string()
            .contains("countback plan MENU")
    );
}
