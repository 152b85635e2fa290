//! Replay: any first part of a book gives the state that the screens had then.
//!
//! Two sheets and a command line work on one book by turns, in any order, and each sheet reads what the others wrote
//! whenever it comes to it. The model beside them knows nothing of how entries are folded: for each step it keeps the
//! list of ticks that stand, and for each entry whether it counts, by the rule in words (an entry counts unless a later
//! undo that itself counts names it; an undo of what does not count any more never counts; of what is said of a step, the
//! first that makes sense stands).

use std::collections::{BTreeMap, BTreeSet};

use countback::book::{
    Announcement, Book, Decision, Entry, EntryId, Errand, Happening, Much, Note, Reading, access,
};
use countback::prep::{Ask, PrepState, Progress};
use countback::time::Timestamp;
use proptest::prelude::*;

const EVENT: &str = "supper@2026-11-28";
const STEPS: [&str; 3] = ["pears/poach", "pears/chill#2", "jelly/boil:rose~2"];

/// What one of the terminals does.
#[derive(Clone, Debug)]
enum Act {
    /// Asks something of a step, as far as its own screen allows it.
    Ask(usize, u8),
    /// Says anything else that goes into the book.
    Say(u8, usize),
    /// Takes back any entry by its number, an undo included.
    Undo(prop::sample::Index),
    /// Reads what the others wrote.
    Look,
}

fn act() -> impl Strategy<Value = (usize, Act)> {
    let act = prop_oneof![
        4 => (0..STEPS.len(), 0_u8..4).prop_map(|(step, ask)| Act::Ask(step, ask)),
        3 => (0_u8..8, 0..STEPS.len()).prop_map(|(what, step)| Act::Say(what, step)),
        2 => any::<prop::sample::Index>().prop_map(Act::Undo),
        2 => Just(Act::Look),
    ];
    (0_usize..2, act)
}

/// What is no tick: notes, readings, ends, decisions, answers to calls, what was ordered, plans taken, times shown.
fn said(what: u8, step: usize, at: Timestamp) -> Happening {
    let step = STEPS[step].to_owned();
    let later = Timestamp(at.0 + 1_800);
    let told = Announcement {
        start: later,
        way: None,
        ovens: Vec::new(),
    };
    let steps = BTreeMap::from([(step.clone(), told)]);
    match what {
        0 => Happening::Noted {
            step: Some(step),
            text: "the ring is weak".into(),
        },
        1 => Happening::Read {
            step,
            reading: Reading::Temperature((at.0 % 900) as i32),
            goal: None,
        },
        2 => Happening::Expected { step, end: later },
        3 => Happening::Decided {
            decision: Decision::Covers {
                dish: None,
                covers: 40,
            },
            steps: BTreeMap::new(),
        },
        4 => Happening::Heeded {
            call: format!("start {step}"),
            again: None,
        },
        5 => Happening::Announced { steps },
        6 => Happening::SeenTo {
            errand: Errand::Order {
                goods: BTreeMap::from([(step, Much::default())]),
            },
        },
        _ => Happening::Moved { steps },
    }
}

/// A terminal: what its screen is drawn from, and the last entry it has seen.
#[derive(Default)]
struct Sheet {
    prep: PrepState,
    seen: usize,
}

impl Sheet {
    fn look(&mut self, entries: &[Entry]) {
        for entry in &entries[self.seen..] {
            self.prep.apply(entry);
        }
        self.seen = entries.len();
    }
}

/// Returns of each entry whether it counts, where those in `idle` never do.
fn counting(entries: &[Entry], idle: &BTreeSet<EntryId>) -> BTreeMap<EntryId, bool> {
    let mut counts: BTreeMap<EntryId, bool> = BTreeMap::new();
    // Only a later entry takes back an earlier one, so whether an undo counts is known from the end.
    for (place, entry) in entries.iter().enumerate().rev() {
        let taken_back = entries[place + 1..].iter().any(|later| {
            counts[&later.id]
                && matches!(later.what, Happening::Undone { entry: named } if named == entry.id)
        });
        counts.insert(entry.id, !taken_back && !idle.contains(&entry.id));
    }
    counts
}

/// Returns the entries that count.
fn standing(entries: &[Entry]) -> Vec<&Entry> {
    let mut idle = BTreeSet::new();
    for (place, entry) in entries.iter().enumerate() {
        if let Happening::Undone { entry: named } = entry.what
            && counting(&entries[..place], &idle).get(&named) == Some(&false)
        {
            idle.insert(entry.id);
        }
    }
    let counts = counting(entries, &idle);
    entries.iter().filter(|entry| counts[&entry.id]).collect()
}

fn of_kind(entries: &[&Entry], is: impl Fn(&Happening) -> bool) -> Vec<EntryId> {
    let of_kind = entries.iter().filter(|entry| is(&entry.what));
    of_kind.map(|entry| entry.id).collect()
}

/// Returns how far each step has come after these entries, by the rule in words.
fn model(entries: &[Entry]) -> Vec<Progress> {
    let stand = standing(entries);
    STEPS
        .iter()
        .map(|&of| {
            let mut began = None;
            for entry in &stand {
                match &entry.what {
                    Happening::Started { step } if step == of && began.is_none() => {
                        began = Some(entry.at);
                    }
                    Happening::Finished { step } if step == of => {
                        return Progress::Finished {
                            started: began,
                            at: entry.at,
                        };
                    }
                    Happening::Skipped { step, reason } if step == of => {
                        return Progress::Skipped {
                            at: entry.at,
                            reason: reason.clone(),
                        };
                    }
                    _ => {}
                }
            }
            began.map_or(Progress::Waiting, |since| Progress::Running { since })
        })
        .collect()
}

fn shown(prep: &PrepState) -> Vec<Progress> {
    STEPS
        .iter()
        .map(|step| prep.progress(&step.parse().unwrap()))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn any_first_part_of_a_book_is_what_the_screens_showed(acts in prop::collection::vec(act(), 1..60)) {
        let mut book = Book::in_memory().unwrap();
        let mut entries: Vec<Entry> = Vec::new();
        let mut sheets = [Sheet::default(), Sheet::default()];
        // What a screen showed when it had seen so many entries.
        let mut screens: BTreeMap<usize, PrepState> = BTreeMap::new();
        for (minute, (terminal, act)) in acts.into_iter().enumerate() {
            let at = Timestamp(1_795_780_000 + 60 * minute as i64);
            let sheet = &mut sheets[terminal];
            let what = match act {
                Act::Look => None,
                Act::Say(what, step) => Some(said(what, step, at)),
                Act::Undo(which) if entries.is_empty() => {
                    let _ = which;
                    None
                }
                Act::Undo(which) => Some(Happening::Undone { entry: which.get(&entries).id }),
                Act::Ask(step, ask) => {
                    let ask = match ask {
                        0 => Ask::Start,
                        1 => Ask::Finish,
                        2 => Ask::Skip("burnt".into()),
                        _ => Ask::Undo,
                    };
                    sheet.prep.ask(&STEPS[step].parse().unwrap(), ask, at).ok()
                }
            };
            if let Some(what) = what {
                let note = Note {
                    event: EVENT.into(),
                    at,
                    written: at,
                    who: format!("cook {terminal}"),
                    place: String::new(),
                    what,
                };
                let entry = book.append(&note).unwrap();
                // Whatever came before it is seen before it.
                sheet.look(&entries);
                let moves = sheet.prep.is_moved_by(&entry);
                let was = shown(&sheet.prep);
                entries.push(entry.clone());
                sheet.look(&entries);
                let is_tick = matches!(
                    entry.what,
                    Happening::Started { .. } | Happening::Finished { .. } | Happening::Skipped { .. }
                );
                if is_tick {
                    prop_assert_eq!(moves, shown(&sheet.prep) != was, "the second of two is told");
                }
            }
            sheet.look(&entries);
            let before = screens.insert(sheet.seen, sheet.prep.clone());
            prop_assert!(before.is_none_or(|before| before == sheet.prep), "two screens differ");
        }
        let kept = book.entries(EVENT).unwrap();
        prop_assert_eq!(&kept, &entries);
        for part in 0..=kept.len() {
            let state = PrepState::fold(&kept[..part]);
            prop_assert_eq!(shown(&state), model(&kept[..part]));
            let stand = standing(&kept[..part]);
            let notes: Vec<EntryId> = state.notes().map(|note| note.id).collect();
            prop_assert_eq!(notes, of_kind(&stand, |what| matches!(what, Happening::Noted { .. })));
            let decided = of_kind(&stand, |what| matches!(what, Happening::Decided { .. }));
            prop_assert_eq!(state.decisions().count(), decided.len());
            // All that a screen is drawn from: readings, ends, answers and told times as well.
            if let Some(screen) = screens.get(&part) {
                prop_assert_eq!(&state, screen);
            }
        }
    }
}

/// Every book that an older version of the program left opens, to look and to write, and is found sound.
#[test]
fn books_of_every_version_open() {
    let mut opened = 0;
    for file in std::fs::read_dir("tests/data/books").unwrap() {
        let file = file.unwrap().path();
        if file.extension().is_none_or(|ending| ending != "sqlite") {
            continue;
        }
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("book.sqlite");
        std::fs::copy(&file, &path).unwrap();
        let looked = access::to_look(&path).unwrap().unwrap();
        assert!(looked.remarks.is_empty(), "{:?}", looked.remarks);
        let count = |book: &Book| -> u64 {
            let events = book.events().unwrap();
            events.iter().map(|banquet| banquet.entries).sum()
        };
        let before = count(&looked.book);
        assert_eq!(
            std::fs::read(&path).unwrap(),
            std::fs::read(&file).unwrap(),
            "looking changes nothing"
        );
        drop(looked);
        let written = access::to_write(&path, Timestamp(0)).unwrap();
        assert!(
            written.remarks.is_empty() && !written.is_new,
            "{:?}",
            written.remarks
        );
        assert_eq!(count(&written.book), before);
        assert!(0 < before);
        opened += 1;
    }
    assert!(0 < opened);
}
