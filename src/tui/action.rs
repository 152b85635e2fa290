//! Everything a cook can ask of the sheet: one table, from which the keys, the footer and the help are made.

use crossterm::event::{KeyCode, KeyEvent};

use super::key::Key;

/// What can be asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs, reason = "the table beside says what each does")]
pub enum Action {
    Start,
    Finish,
    Undo,
    Skip,
    StartAt,
    FinishAt,
    Read,
    EndsAt,
    Note,
    UndoLast,
    RedoLast,
    Heed,
    PutOff,
    Open,
    Tonight,
    BoundaryEarlier,
    BoundaryLater,
    BoundaryDefault,
    Search,
    SearchNext,
    SearchPrevious,
    Filter,
    Close,
    Why,
    Chance,
    Better,
    TakeBetter,
    Temperatures,
    Allergens,
    WaysOut,
    Change,
    Entries,
    NowView,
    Busy,
    Handover,
    Seen,
    Orders,
    Amounts,
    Up,
    Down,
    PageUp,
    PageDown,
    First,
    Last,
    Now,
    FocusNext,
    FocusPrevious,
    TimeEarlier,
    TimeLater,
    ZoomIn,
    ZoomOut,
    ZoomFit,
    Help,
    Suspend,
    Quit,
}

impl Action {
    /// Returns whether it writes into the book.
    pub fn writes(self) -> bool {
        matches!(
            self,
            Self::Start
                | Self::Finish
                | Self::Undo
                | Self::Skip
                | Self::StartAt
                | Self::FinishAt
                | Self::Read
                | Self::EndsAt
                | Self::Note
                | Self::UndoLast
                | Self::RedoLast
                | Self::Heed
                | Self::PutOff
                | Self::TakeBetter
                | Self::Seen
                | Self::Change
        )
    }

    /// Returns whether it means nothing where no plan gives a time.
    pub fn needs_plan(self) -> bool {
        matches!(
            self,
            Self::Tonight
                | Self::BoundaryEarlier
                | Self::BoundaryLater
                | Self::BoundaryDefault
                | Self::TimeEarlier
                | Self::TimeLater
                | Self::ZoomIn
                | Self::ZoomOut
                | Self::ZoomFit
                | Self::Seen
        )
    }
}

/// Under which heading the help lists an action.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Ticking steps off.
    Ticks,
    /// The plan.
    Plan,
    /// Choosing what is listed.
    Choosing,
    /// Moving about.
    Moving,
    /// The timeline.
    Time,
    /// The program.
    Program,
}

impl Group {
    /// Every group, in the order of the help.
    pub const ALL: [Self; 6] = [
        Self::Ticks,
        Self::Plan,
        Self::Choosing,
        Self::Moving,
        Self::Time,
        Self::Program,
    ];

    /// Returns its heading.
    pub fn heading(self) -> &'static str {
        match self {
            Self::Ticks => "Ticking off the selected step",
            Self::Plan => "The plan",
            Self::Choosing => "Choosing what is listed",
            Self::Moving => "Moving about",
            Self::Time => "The timeline",
            Self::Program => "The program",
        }
    }
}

/// One line of the table.
#[derive(Clone, Copy, Debug)]
pub struct Doing {
    /// What is asked.
    pub action: Action,
    /// One or two words for the footer.
    pub name: &'static str,
    /// What it does, for the help.
    pub help: &'static str,
    /// Its keys, the one to show first.
    pub keys: &'static [Key],
    /// Where the help lists it.
    pub group: Group,
}

const fn doing(
    action: Action,
    group: Group,
    keys: &'static [Key],
    name: &'static str,
    help: &'static str,
) -> Doing {
    Doing {
        action,
        name,
        help,
        keys,
        group,
    }
}

/// The table.
pub const TABLE: &[Doing] = &[
    doing(
        Action::Start,
        Group::Ticks,
        &[Key::letter('s')],
        "start",
        "it starts now",
    ),
    doing(
        Action::Finish,
        Group::Ticks,
        &[Key::letter('d')],
        "done",
        "it is done now",
    ),
    doing(
        Action::StartAt,
        Group::Ticks,
        &[Key::letter('S')],
        "started at",
        "it started at a time you type: 14:30, -20 (minutes ago), Thu 14:30",
    ),
    doing(
        Action::FinishAt,
        Group::Ticks,
        &[Key::letter('D')],
        "done at",
        "it was done at a time you type",
    ),
    doing(
        Action::Undo,
        Group::Ticks,
        &[Key::letter('u')],
        "undo",
        "take back the last entry of this step; the book keeps both",
    ),
    doing(
        Action::Skip,
        Group::Ticks,
        &[Key::letter('x')],
        "skip",
        "it will not be done, for a reason you type",
    ),
    doing(
        Action::Read,
        Group::Ticks,
        &[Key::letter('r')],
        "reading",
        "what it shows: 62 C, 1.8 l to 1.2 l, 640 g at 14:05, passed",
    ),
    doing(
        Action::EndsAt,
        Group::Ticks,
        &[Key::letter('e')],
        "ends at",
        "when the running step will be over: 20 min, 16:40; the plan follows",
    ),
    doing(
        Action::Note,
        Group::Ticks,
        &[Key::letter('i')],
        "note",
        "something the next shift should know of this step",
    ),
    doing(
        Action::UndoLast,
        Group::Ticks,
        &[Key::letter('U')],
        "undo last",
        "take back the last entry of all, whoever made it; again: the one before",
    ),
    doing(
        Action::RedoLast,
        Group::Ticks,
        &[Key::letter('R')],
        "redo",
        "bring back what was taken back last",
    ),
    doing(
        Action::Heed,
        Group::Ticks,
        &[Key::letter('A')],
        "heed",
        "answer what calls: it is seen to; of the selected step, else the most urgent",
    ),
    doing(
        Action::PutOff,
        Group::Ticks,
        &[Key::letter('P')],
        "put off",
        "put what calls off by ten minutes",
    ),
    doing(
        Action::Why,
        Group::Plan,
        &[Key::letter('w')],
        "why",
        "why it cannot be done; what changed in the menu; other notices",
    ),
    doing(
        Action::Chance,
        Group::Plan,
        &[Key::letter('c')],
        "chance",
        "how likely each dish is at the pass in time, and how good the plan is",
    ),
    doing(
        Action::Better,
        Group::Plan,
        &[Key::letter('b')],
        "better",
        "what a better plan would move; u there takes back the plan taken last",
    ),
    doing(
        Action::TakeBetter,
        Group::Plan,
        &[Key::letter('B')],
        "take it",
        "take the better plan: its times are announced from now on",
    ),
    doing(
        Action::Orders,
        Group::Plan,
        &[Key::letter('o')],
        "orders",
        "what to buy, from whom, in packs, and by when; Tab there divides it otherwise",
    ),
    doing(
        Action::Amounts,
        Group::Plan,
        &[Key::letter('a')],
        "amounts",
        "what a dish takes, batch by batch; Tab there is the next dish, + and - other covers",
    ),
    doing(
        Action::WaysOut,
        Group::Plan,
        &[Key::letter('W')],
        "ways out",
        "what would make it possible where it cannot be done; Enter tries one",
    ),
    doing(
        Action::Change,
        Group::Plan,
        &[Key::letter('C')],
        "change",
        "other covers or batches, another hour, a cook away, kit out of use, a dish more or less",
    ),
    doing(
        Action::Entries,
        Group::Plan,
        &[Key::letter('E')],
        "book",
        "every entry, who made it, when and where; u there takes one back, R brings it back",
    ),
    doing(
        Action::NowView,
        Group::Plan,
        &[Key::letter('v')],
        "now",
        "what runs and what wants hands next, to be read from afar; Tab: whose",
    ),
    doing(
        Action::Busy,
        Group::Plan,
        &[Key::letter('K')],
        "hands, kit",
        "who is at work when, and how much of each kind of kit is in use",
    ),
    doing(
        Action::Handover,
        Group::Plan,
        &[Key::letter('H')],
        "handover",
        "what the next shift has to know",
    ),
    doing(
        Action::Seen,
        Group::Plan,
        &[Key::letter('m')],
        "seen",
        "the steps that have moved are seen: their new times are announced from now on",
    ),
    doing(
        Action::Temperatures,
        Group::Plan,
        &[Key::letter('T')],
        "temperatures",
        "cooling, time out of the cold, keeping days and reheating, held against the rules",
    ),
    doing(
        Action::Allergens,
        Group::Plan,
        &[Key::letter('L')],
        "allergens",
        "allergens and cautions of each dish, and what guests with needs cannot be served",
    ),
    doing(
        Action::Open,
        Group::Choosing,
        &[Key::of(KeyCode::Enter), Key::letter(' ')],
        "card",
        "the whole card of the step; in a panel: choose",
    ),
    doing(
        Action::Tonight,
        Group::Choosing,
        &[Key::letter('t')],
        "tonight",
        "only what must start before the kitchen opens next; again: everything",
    ),
    doing(
        Action::BoundaryEarlier,
        Group::Choosing,
        &[Key::letter('[')],
        "earlier",
        "tonight ends half an hour earlier",
    ),
    doing(
        Action::BoundaryLater,
        Group::Choosing,
        &[Key::letter(']')],
        "later",
        "tonight ends half an hour later",
    ),
    doing(
        Action::BoundaryDefault,
        Group::Choosing,
        &[Key::letter('\\')],
        "opening",
        "tonight ends when the kitchen opens next",
    ),
    doing(
        Action::Search,
        Group::Choosing,
        &[Key::letter('/')],
        "search",
        "look for words in dishes, steps and methods",
    ),
    doing(
        Action::SearchNext,
        Group::Choosing,
        &[Key::letter('n')],
        "next",
        "the next one found",
    ),
    doing(
        Action::SearchPrevious,
        Group::Choosing,
        &[Key::letter('N')],
        "previous",
        "the one found before",
    ),
    doing(
        Action::Filter,
        Group::Choosing,
        &[Key::letter('f')],
        "filter",
        "list only some dishes, cooks, stations, days or states",
    ),
    doing(
        Action::Close,
        Group::Choosing,
        &[Key::of(KeyCode::Esc)],
        "close",
        "close what is open; then put away notices, clear the search, clear the filters",
    ),
    doing(
        Action::Up,
        Group::Moving,
        &[Key::of(KeyCode::Up), Key::letter('k')],
        "up",
        "one up",
    ),
    doing(
        Action::Down,
        Group::Moving,
        &[Key::of(KeyCode::Down), Key::letter('j')],
        "down",
        "one down",
    ),
    doing(
        Action::PageUp,
        Group::Moving,
        &[Key::of(KeyCode::PageUp)],
        "page up",
        "a page up",
    ),
    doing(
        Action::PageDown,
        Group::Moving,
        &[Key::of(KeyCode::PageDown)],
        "page down",
        "a page down",
    ),
    doing(
        Action::First,
        Group::Moving,
        &[Key::of(KeyCode::Home), Key::letter('g')],
        "first",
        "to the first",
    ),
    doing(
        Action::Last,
        Group::Moving,
        &[Key::of(KeyCode::End), Key::letter('G')],
        "last",
        "to the last",
    ),
    doing(
        Action::Now,
        Group::Moving,
        &[Key::letter('.')],
        "now",
        "to what comes next, on the list and the timeline",
    ),
    doing(
        Action::FocusNext,
        Group::Moving,
        &[Key::of(KeyCode::Tab)],
        "other pane",
        "give the keys to the next pane: countdown, dishes, card",
    ),
    doing(
        Action::FocusPrevious,
        Group::Moving,
        &[Key::of(KeyCode::BackTab)],
        "pane before",
        "give the keys to the pane before",
    ),
    doing(
        Action::TimeEarlier,
        Group::Time,
        &[Key::of(KeyCode::Left), Key::letter('h')],
        "earlier",
        "show earlier hours",
    ),
    doing(
        Action::TimeLater,
        Group::Time,
        &[Key::of(KeyCode::Right), Key::letter('l')],
        "later",
        "show later hours",
    ),
    doing(
        Action::ZoomIn,
        Group::Time,
        &[Key::letter('+'), Key::letter('=')],
        "closer",
        "fewer hours, wider; down to a quarter of an hour a column",
    ),
    doing(
        Action::ZoomOut,
        Group::Time,
        &[Key::letter('-')],
        "wider",
        "more hours, narrower",
    ),
    doing(
        Action::ZoomFit,
        Group::Time,
        &[Key::letter('0'), Key::letter('z')],
        "all days",
        "all days at once",
    ),
    doing(
        Action::Help,
        Group::Program,
        &[Key::letter('?'), Key::of(KeyCode::F(1))],
        "help",
        "this page",
    ),
    doing(
        Action::Suspend,
        Group::Program,
        &[Key::control('z')],
        "suspend",
        "put the program aside; fg brings it back",
    ),
    doing(
        Action::Quit,
        Group::Program,
        &[Key::letter('q'), Key::control('c')],
        "quit",
        "close what is open, or leave; every tick is in the book already",
    ),
];

/// Returns the line of the table for an action.
///
/// # Panics
///
/// Never: every action has a line, which a test holds.
pub fn line(action: Action) -> &'static Doing {
    TABLE
        .iter()
        .find(|doing| doing.action == action)
        .expect("every action has a line, which a test holds")
}

/// Returns what a key asks for, where it asks for anything.
pub fn action_of(event: KeyEvent) -> Option<Action> {
    TABLE
        .iter()
        .find(|doing| doing.keys.iter().any(|key| key.is(event)))
        .map(|doing| doing.action)
}

#[cfg(test)]
mod tests {
    use crossterm::event::KeyModifiers;

    use super::*;

    #[test]
    fn every_key_asks_for_one_thing_and_every_thing_can_be_asked_for() {
        for doing in TABLE {
            assert!(!doing.keys.is_empty(), "{:?} has no key", doing.action);
            for key in doing.keys {
                assert_eq!(action_of(key.event()), Some(doing.action), "{}", key.name());
                let owners = TABLE
                    .iter()
                    .flat_map(|other| other.keys)
                    .filter(|other| *other == key);
                assert_eq!(owners.count(), 1, "{} is given twice", key.name());
            }
        }
    }

    #[test]
    fn every_action_has_exactly_one_line_with_words() {
        for doing in TABLE {
            let same = TABLE.iter().filter(|other| other.action == doing.action);
            assert_eq!(same.count(), 1, "{:?}", doing.action);
            assert_eq!(line(doing.action).name, doing.name);
            assert!(!doing.name.is_empty() && !doing.help.is_empty());
            assert!(!doing.help.ends_with('.'), "{}", doing.help);
            assert!(Group::ALL.contains(&doing.group));
        }
        // The last variant in the order of declaration: a variant without a line makes the counts differ.
        assert_eq!(TABLE.len(), Action::Quit as usize + 1);
    }

    #[test]
    fn a_key_held_with_alt_asks_for_nothing() {
        assert_eq!(
            action_of(KeyEvent::new(KeyCode::Char('d'), KeyModifiers::ALT)),
            None
        );
        assert_eq!(
            action_of(KeyEvent::new(KeyCode::Char('D'), KeyModifiers::SHIFT)),
            Some(Action::FinishAt)
        );
    }
}
