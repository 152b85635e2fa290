use super::*;

fn key() -> StepKey {
    StepKey::first("pears", "poach")
}

struct Cook {
    state: PrepState,
    next: i64,
}

impl Cook {
    fn new() -> Self {
        Self {
            state: PrepState::default(),
            next: 1,
        }
    }

    fn asks(&mut self, ask: Ask, at: i64) -> Result<(), Refusal> {
        let what = self.state.ask(&key(), ask, Timestamp(at))?;
        self.writes(what, at);
        Ok(())
    }

    fn writes(&mut self, what: Happening, at: i64) -> EntryId {
        let id = EntryId(self.next);
        let entry = Entry {
            id,
            event: "e".into(),
            at: Timestamp(at),
            written: Timestamp(at),
            who: String::new(),
            place: String::new(),
            what,
        };
        self.next += 1;
        self.state.apply(&entry);
        id
    }

    fn progress(&self) -> Progress {
        self.state.progress(&key())
    }
}

#[test]
fn a_step_is_started_and_done_and_each_can_be_taken_back() {
    let mut cook = Cook::new();
    cook.asks(Ask::Start, 100).expect("starts");
    cook.asks(Ask::Finish, 200).expect("ends");
    assert_eq!(
        cook.progress(),
        Progress::Finished {
            started: Some(Timestamp(100)),
            at: Timestamp(200)
        }
    );
    cook.asks(Ask::Undo, 210).expect("undoes the end");
    assert_eq!(
        cook.progress(),
        Progress::Running {
            since: Timestamp(100)
        }
    );
    cook.asks(Ask::Undo, 220).expect("undoes the start");
    assert_eq!(cook.progress(), Progress::Waiting);
    assert!(cook.asks(Ask::Undo, 230).is_err());
    assert_eq!(cook.state.ticked().count(), 0);
}

#[test]
fn an_undo_can_be_undone() {
    let mut cook = Cook::new();
    cook.asks(Ask::Start, 100).expect("starts");
    cook.asks(Ask::Undo, 110).expect("undoes");
    cook.writes(Happening::Undone { entry: EntryId(2) }, 120);
    assert_eq!(
        cook.progress(),
        Progress::Running {
            since: Timestamp(100)
        }
    );
}

#[test]
fn what_is_gone_is_what_looking_at_every_undo_says() {
    let mut cook = Cook::new();
    let mut drawn = 7_i64;
    for at in 1..400 {
        drawn = (drawn * 1_103 + 12_345) % 65_536;
        if drawn % 3 == 0 {
            cook.writes(
                Happening::Started {
                    step: key().to_string(),
                },
                at,
            );
        } else {
            // Of anything, itself and what is still to come included.
            cook.writes(
                Happening::Undone {
                    entry: EntryId(drawn % (at + 3)),
                },
                at,
            );
        }
        assert_eq!(cook.state.gone, cook.state.undone(), "after entry {at}");
    }
}

#[test]
fn the_plan_taken_last_is_what_the_cooks_are_told() {
    let date = crate::time::Date::from_ymd_opt(2026, 11, 28).expect("a date");
    let time = crate::time::time_of_day(19, 30).expect("a time");
    let local = crate::time::Local { date, time };
    let service = ServiceTime::new(local, crate::time::Zone::UTC);
    let told = |minute: i32, way: Option<&str>| {
        let told = Told {
            start: crate::time::Minute(minute),
            way: way.map(str::to_owned),
            ovens: vec![("Oven".to_owned(), 2)],
        };
        Announced::from([(key(), told)])
    };
    let mut cook = Cook::new();
    assert_eq!(cook.state.announced(service), None);
    assert_eq!(cook.state.take_back_announcement(), None);
    let (first, second) = (told(-300, None), told(-200, Some("in a falling oven")));
    cook.writes(PrepState::announce(&first, service), 100);
    cook.writes(PrepState::announce(&second, service), 110);
    assert_eq!(cook.state.announced(service), Some(second));
    let back = cook.state.take_back_announcement().expect("one was taken");
    cook.writes(back, 120);
    assert_eq!(cook.state.announced(service), Some(first));
    assert_eq!(
        cook.progress(),
        Progress::Waiting,
        "no step has begun by it"
    );
}

fn shown_at(minute: i32) -> Announced {
    let told = Told {
        start: crate::time::Minute(minute),
        way: None,
        ovens: Vec::new(),
    };
    Announced::from([(key(), told)])
}

fn evening() -> ServiceTime {
    let date = crate::time::Date::from_ymd_opt(2026, 11, 28).expect("a date");
    let time = crate::time::time_of_day(19, 30).expect("a time");
    ServiceTime::new(crate::time::Local { date, time }, crate::time::Zone::UTC)
}

/// A slip that moved other steps is taken back: where it had put them is nowhere to come back to.
#[test]
fn what_was_shown_because_of_a_slip_goes_with_it() {
    let service = evening();
    let moved = || Happening::Moved {
        steps: PrepState::announcement_of(&shown_at(-300), service),
    };
    let mut cook = Cook::new();
    let slip = cook.writes(
        Happening::Started {
            step: "d/other".into(),
        },
        100,
    );
    let note = cook.writes(
        Happening::Noted {
            step: None,
            text: "weak ring".into(),
        },
        101,
    );
    cook.writes(moved(), 102);
    cook.writes(Happening::Undone { entry: note }, 103);
    assert_eq!(
        cook.state.shown(service),
        shown_at(-300),
        "no time hangs on a note"
    );
    let undo = cook.writes(Happening::Undone { entry: slip }, 104);
    assert_eq!(cook.state.shown(service), Announced::new());
    // What is found anew counts, until the slip comes back.
    cook.writes(moved(), 105);
    assert_eq!(cook.state.shown(service), shown_at(-300));
    cook.writes(Happening::Undone { entry: undo }, 106);
    assert_eq!(cook.state.shown(service), Announced::new());
}

#[test]
fn what_was_shown_last_counts_until_a_plan_is_taken() {
    let service = evening();
    let at = shown_at;
    let moved = |minute: i32| Happening::Moved {
        steps: PrepState::announcement_of(&at(minute), service),
    };
    let mut cook = Cook::new();
    assert_eq!(cook.state.shown(service), Announced::new());
    cook.writes(moved(-300), 100);
    cook.writes(moved(-290), 105);
    assert_eq!(cook.state.shown(service), at(-290), "the last of them");
    assert_eq!(cook.state.announced(service), None, "nobody was told");
    cook.writes(PrepState::announce(&at(-280), service), 110);
    assert_eq!(cook.state.shown(service), Announced::new());
    let back = cook.state.take_back_announcement().expect("one was taken");
    cook.writes(back, 120);
    assert_eq!(
        cook.state.shown(service),
        at(-290),
        "as before the plan was taken"
    );
    cook.writes(PrepState::announce(&at(-280), service), 130);
    cook.writes(moved(-270), 140);
    assert_eq!(cook.state.shown(service), at(-270));
}

#[test]
fn an_undo_of_something_later_counts_for_nothing() {
    let mut cook = Cook::new();
    cook.writes(Happening::Undone { entry: EntryId(2) }, 1);
    cook.asks(Ask::Start, 100).expect("starts");
    assert_eq!(
        cook.progress(),
        Progress::Running {
            since: Timestamp(100)
        }
    );
}

#[test]
fn nonsense_is_refused_with_a_way_out() {
    let mut cook = Cook::new();
    assert!(cook.asks(Ask::Skip("  ".into()), 1).is_err());
    cook.asks(Ask::Start, 100).expect("starts");
    assert!(cook.asks(Ask::Start, 101).is_err());
    assert!(cook.asks(Ask::Finish, 99).is_err());
    cook.asks(Ask::Skip("burnt".into()), 150).expect("skips");
    let refusal = cook.asks(Ask::Finish, 200).expect_err("was skipped");
    assert_eq!(
        refusal.to_string(),
        "pears/poach was skipped; undo that first"
    );
}

#[test]
fn the_first_of_two_equal_ticks_stands() {
    let mut cook = Cook::new();
    for at in [100, 130] {
        cook.writes(
            Happening::Started {
                step: key().to_string(),
            },
            at,
        );
    }
    assert_eq!(
        cook.progress(),
        Progress::Running {
            since: Timestamp(100)
        }
    );
}

#[test]
fn the_first_of_two_equal_undos_stands() {
    let mut cook = Cook::new();
    cook.asks(Ask::Start, 100).expect("starts");
    // Two cooks take it back before either has seen the other's.
    for at in [110, 111] {
        cook.writes(Happening::Undone { entry: EntryId(1) }, at);
    }
    assert_eq!(cook.progress(), Progress::Waiting);
    let undo = cook.state.last_undo().expect("it was taken back");
    assert_eq!(cook.state.undone_by(EntryId(1)), Some(undo));
    cook.writes(Happening::Undone { entry: undo }, 120);
    let running = Progress::Running {
        since: Timestamp(100),
    };
    assert_eq!(cook.progress(), running, "brought back");
    assert_eq!(
        cook.state.last_undo(),
        None,
        "nothing is left to bring back"
    );
    // The same by two cooks who bring it back: one undo of it more takes it away.
    cook.writes(Happening::Undone { entry: undo }, 121);
    cook.asks(Ask::Undo, 130).expect("undoes");
    assert_eq!(cook.progress(), Progress::Waiting);
    let undo = cook.state.last_undo().expect("it was taken back");
    cook.writes(Happening::Undone { entry: undo }, 140);
    assert_eq!(cook.progress(), running, "brought back again");
}

#[test]
fn a_start_that_a_clock_set_back_left_ahead_can_be_put_right() {
    let mut cook = Cook::new();
    cook.asks(Ask::Start, 7200).expect("starts");
    let refusal = cook.asks(Ask::Finish, 4000).expect_err("ends before it");
    assert_eq!(
        refusal.to_string(),
        "pears/poach cannot end before its start: undo, start at the real time (S), then done"
    );
    cook.asks(Ask::Undo, 4000).expect("undoes");
    cook.asks(Ask::Start, 3600).expect("starts");
    cook.asks(Ask::Finish, 4000).expect("ends");
    assert_eq!(
        cook.progress(),
        Progress::Finished {
            started: Some(Timestamp(3600)),
            at: Timestamp(4000)
        }
    );
}
