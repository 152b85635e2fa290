//! What must be seen to before cooking begins and is no step of a dish: orders, and what is soaked or thawed ahead.
//!
//! By when is the order list's to say ([`OrderList::reminders`]); whether it has been is the book's. An order is seen to
//! goods by goods, and what is done ahead dish by dish, both for as much as was said: where more is wanted, what is missing
//! is to be seen to, and where less is, nothing. What was seen to at a time that cannot be right says so.
//!
//! # Left out
//! Whether what was ordered has come: nobody says when it should. A soak begun late moves no step: how much less will do
//! is the cook's to judge, who is told by how much it is short.

use std::collections::BTreeMap;

use super::PrepState;
use crate::book::{EntryId, Errand, Much};
use crate::menu::{Ahead, Menu, words};
use crate::quantity::bought::Kind;
use crate::quantity::order::{Line, OrderList, Reminder, Sum, Todo};
use crate::time::{Minute, Minutes, ServiceTime, Timestamp};

/// How much sooner than it must be something may be set to soak or thaw before that is asked about.
const MUCH_TOO_EARLY: Minutes = Minutes::days(1);

/// How many days away a weekday alone says which day is meant.
const SAME_WEEK: i64 = 4;

/// Something to be seen to, and by when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ErrandAt {
    /// By when an order must be out, or when what is done ahead begins.
    pub at: Minute,
    /// The dishes it is for, by their place in the menu.
    pub dishes: Vec<usize>,
    /// The step that takes what is done ahead, by its place in its dish.
    pub step: Option<usize>,
    /// What an entry says that it is seen to.
    pub errand: Errand,
    /// What, in one line without a full stop: "order from the dairy: milk, butter", "soak 1 kg dried figs, 12h".
    pub says: String,
    /// The entry that says that it was seen to, and when that was.
    pub seen_to: Option<(EntryId, Timestamp)>,
    /// What is odd about when.
    pub off: Option<Off>,
}

/// What is odd about when something was seen to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Off {
    /// It is ready so long after a step takes it.
    TooLate(Minutes),
    /// It is ready so long before.
    TooEarly(Minutes),
    /// It was ordered so long after the last hour for it.
    AfterLastHour(Minutes),
}

impl Off {
    /// Returns it in as few words as a line of the countdown has room for. An order that was out after its hour is no
    /// matter any more once it is known: another plan may have set that hour earlier since.
    fn brief(self) -> Option<String> {
        match self {
            Self::TooLate(by) => Some(format!("{by} too late")),
            Self::TooEarly(by) => Some(format!("{by} too early")),
            Self::AfterLastHour(_) => None,
        }
    }

    /// Returns it as a phrase: "7h too late for the step that takes it".
    pub fn words(self) -> String {
        match self {
            Self::TooLate(by) => format!("{by} too late for the step that takes it"),
            Self::TooEarly(by) => format!("ready {by} before a step takes it"),
            Self::AfterLastHour(by) => format!("{by} after the last hour to order it"),
        }
    }
}

impl ErrandAt {
    /// Returns whether it should have been seen to by now.
    pub fn is_past(&self, now: Minute) -> bool {
        self.seen_to.is_none() && self.at < now
    }

    /// Returns whether it is an order.
    pub fn is_order(&self) -> bool {
        matches!(self.errand, Errand::Order { .. })
    }

    /// Returns whether it is about the same goods, or about some of them.
    pub fn is_about(&self, errand: &Errand) -> bool {
        match (&self.errand, errand) {
            (Errand::Order { goods }, Errand::Order { goods: others }) => {
                goods.keys().any(|name| others.contains_key(name))
            }
            (
                Errand::Ahead {
                    what, name, dish, ..
                },
                Errand::Ahead {
                    what: done,
                    name: goods,
                    dish: of,
                    ..
                },
            ) => (what, name, dish) == (done, goods, of),
            _ => false,
        }
    }

    /// Returns whether it was begun too late for the step that takes it.
    pub fn is_too_late(&self) -> bool {
        matches!(self.off, Some(Off::TooLate(_)))
    }

    /// Returns what is odd about when it was seen to, as far as that still matters, in few words: "7h too late".
    pub fn oddly(&self) -> Option<String> {
        self.off.and_then(Off::brief)
    }

    /// Returns it with when it was seen to; what is odd about that stands first, where nothing cuts it off.
    pub fn words(&self, service: ServiceTime) -> String {
        let Some((_, at)) = self.seen_to else {
            return self.says.clone();
        };
        let local = at.local(service.zone());
        let days = (local.date - service.local(self.at).date).num_days();
        let at = if days.abs() > SAME_WEEK {
            local.to_string()
        } else {
            local.weekday_clock()
        };
        match self.oddly() {
            Some(off) => format!("{off}: {}, {at}", self.says),
            None => format!("{}: seen to {at}", self.says),
        }
    }

    /// Returns why a step, by the places of its dish and of itself, may not begin yet for want of this: "nobody has ticked:
    /// soak 1 kg dried figs, 12h".
    pub fn unready(&self, dish: usize, step: usize) -> Option<String> {
        let is_taken = self.dishes.contains(&dish) && self.step == Some(step);
        match self.off.filter(|_| self.is_too_late()) {
            _ if !is_taken => None,
            Some(off) => Some(format!("{}, {}", self.says, off.words())),
            None if self.seen_to.is_none() => Some(format!("nobody has ticked: {}", self.says)),
            None => None,
        }
    }

    /// Returns what of it is meant by words in small letters, or `None` where they do not fit it. What is `beside` it, its
    /// dishes and its time, may be meant too. Words that are in the name of one of its goods mean that one alone.
    pub fn meant_by(&self, wanted: &[String], beside: &str) -> Option<Self> {
        let has = |text: &str, word: &String| text.to_lowercase().contains(word.as_str());
        let Errand::Order { goods } = &self.errand else {
            let fits = |word: &String| has(&self.says, word) || has(beside, word);
            return wanted.iter().all(fits).then(|| self.clone());
        };
        let (from, _) = self.says.split_once(": ")?;
        let in_goods = |word: &&String| goods.keys().any(|name| has(name, word));
        let (of_goods, others): (Vec<&String>, Vec<&String>) = wanted.iter().partition(in_goods);
        if !others
            .into_iter()
            .all(|word| has(from, word) || has(beside, word))
        {
            return None;
        }
        let meant: BTreeMap<String, Much> = goods
            .iter()
            .filter(|(name, _)| of_goods.iter().all(|word| has(name, word)))
            .map(|(name, much)| (name.clone(), much.clone()))
            .collect();
        if meant.len() == goods.len() {
            return Some(self.clone());
        }
        let names: Vec<&str> = meant.keys().map(String::as_str).collect();
        (!meant.is_empty()).then(|| Self {
            says: format!("{from}: {}", names.join(", ")),
            errand: Errand::Order {
                goods: meant.clone(),
            },
            ..self.clone()
        })
    }

    /// Returns an order of the one of its goods that has this name, where one has.
    pub fn of_goods(&self, name: &str) -> Option<Self> {
        let Errand::Order { goods } = &self.errand else {
            return None;
        };
        let mut goods = goods.iter();
        let (name, much) = goods.find(|(known, _)| known.to_lowercase() == name)?;
        let (from, _) = self.says.split_once(": ")?;
        Some(Self {
            says: format!("{from}: {name}"),
            errand: Errand::Order {
                goods: BTreeMap::from([(name.clone(), much.clone())]),
            },
            ..self.clone()
        })
    }
}

/// Returns everything to be seen to for what has not begun, in the order of time, what is seen to among it.
pub fn errands(
    list: &OrderList,
    menu: &Menu,
    prep: &PrepState,
    service: ServiceTime,
) -> Vec<ErrandAt> {
    let reminders = list.reminders.iter();
    reminders
        .flat_map(|reminder| match &reminder.what {
            Todo::Order(supplier, names) => {
                orders(list, prep, service, reminder, (supplier.as_deref(), names))
            }
            Todo::Ahead(ahead, name, much) => {
                let found = aheads(menu, prep, service, reminder, (ahead, name, much));
                found.into_iter().collect()
            }
        })
        .collect()
}

/// Returns when all of a line that is to be bought was ordered.
pub fn ordered(line: &Line, prep: &PrepState) -> Option<Timestamp> {
    let (_, at, much) = prep.ordered(&line.name)?;
    let enough = !line.beyond(&numbers(much)).is_to_buy();
    (line.is_to_buy() && enough).then_some(at)
}

/// Returns what is still to be bought of a line of which some was ordered, and how much that was, in words.
pub fn short_of(line: &Line, prep: &PrepState) -> Option<(Line, String)> {
    let (_, _, much) = prep.ordered(&line.name)?;
    let rest = line.beyond(&numbers(much));
    rest.is_to_buy().then(|| (rest, in_all(much, &line.net)))
}

/// Which entry saw to something, and when; what nobody has seen to comes first.
type By = Option<(EntryId, Timestamp)>;

fn orders(
    list: &OrderList,
    prep: &PrepState,
    service: ServiceTime,
    reminder: &Reminder,
    (supplier, names): (Option<&str>, &[String]),
) -> Vec<ErrandAt> {
    let mut parts: BTreeMap<By, (BTreeMap<String, Much>, Vec<String>)> = BTreeMap::new();
    for name in names {
        let Some(line) = list.lines.iter().find(|line| line.name == *name) else {
            continue;
        };
        let (by, much, said) = match (short_of(line, prep), prep.ordered(name)) {
            (Some((rest, known)), Some((_, _, before))) => {
                let more = rest.buy();
                let said = format!("{name} ({more} more; ordered: {known})");
                (None, added(more, &rest.holds(), before), said)
            }
            (_, Some((id, at, much))) => (Some((id, at)), much.clone(), name.clone()),
            (_, None) => {
                let much = added(line.buy(), &line.holds(), &Much::default());
                (None, much, name.clone())
            }
        };
        let (goods, said_of) = parts.entry(by).or_default();
        goods.insert(name.clone(), much);
        said_of.push(said);
    }
    let parts = parts.into_iter();
    parts
        .map(|(by, (goods, said))| {
            let late = by.map(|(_, at)| service.minute(at) - reminder.at);
            ErrandAt {
                at: reminder.at,
                dishes: reminder.dishes.clone(),
                step: None,
                errand: Errand::Order { goods },
                says: Todo::Order(supplier.map(str::to_owned), said).said(),
                seen_to: by,
                off: late
                    .filter(|by| *by > Minutes::ZERO)
                    .map(Off::AfterLastHour),
            }
        })
        .collect()
}

fn aheads(
    menu: &Menu,
    prep: &PrepState,
    service: ServiceTime,
    reminder: &Reminder,
    (ahead, name, wanted): (&Ahead, &str, &Sum),
) -> Option<ErrandAt> {
    let dish = menu.dishes.get(*reminder.dishes.first()?)?;
    let holds: BTreeMap<Kind, f64> = wanted
        .numbers()
        .map(|(kind, number)| (kind.clone(), number))
        .collect();
    let known = prep.done_ahead(&ahead.what, name, &dish.id);
    let before = known.map_or_else(BTreeMap::new, |(_, _, much)| numbers(much));
    let mut rest = holds.clone();
    for (kind, number) in &mut rest {
        *number -= before.get(kind).copied().unwrap_or(0.0);
    }
    rest.retain(|_, missing| *missing > THOUSANDTHS);
    let (by, much, says) = match known {
        Some((id, at, much)) if rest.is_empty() => {
            (Some((id, at)), much.clone(), reminder.what.said())
        }
        Some((_, _, much)) => {
            let more = said(&rest, wanted);
            let time = words::duration(ahead.time);
            let known = in_all(much, wanted);
            let says = format!("{} {more} more {name}, {time} (beside {known})", ahead.what);
            (None, added(more, &rest, much), says)
        }
        None => {
            let much = added(said(&holds, wanted), &holds, &Much::default());
            (None, much, reminder.what.said())
        }
    };
    let ready = by.map(|(_, at)| service.minute(at) + ahead.time);
    let off = ready.zip(reminder.taken).and_then(|(ready, taken)| {
        if ready > taken {
            Some(Off::TooLate(ready - taken))
        } else {
            // Set when somebody was there for it, however long before the step that is.
            let early = (reminder.at + ahead.time) - ready;
            (early > MUCH_TOO_EARLY).then_some(Off::TooEarly(taken - ready))
        }
    });
    Some(ErrandAt {
        at: reminder.at,
        dishes: reminder.dishes.clone(),
        step: reminder.step,
        errand: Errand::Ahead {
            what: ahead.what.clone(),
            name: name.to_owned(),
            dish: dish.id.clone(),
            much,
        },
        says,
        seen_to: by,
        off,
    })
}

/// What is less than this of a gram, a millilitre or a piece is nothing: entries have whole thousandths.
const THOUSANDTHS: f64 = 2e-3;

/// Returns so much more than was seen to before, as an entry says it.
fn added(says: String, more: &BTreeMap<Kind, f64>, before: &Much) -> Much {
    let mut all = before.all.clone();
    for (kind, number) in more {
        // Past what 64 bits hold nothing is weighed.
        let thousandths = (number * 1000.0).round() as i64;
        let known = all.entry(kind_word(kind).to_owned()).or_insert(0);
        *known = known.saturating_add(thousandths);
    }
    Much { says, all }
}

/// Returns how much an entry says there is in all, of each kind.
fn numbers(much: &Much) -> BTreeMap<Kind, f64> {
    let all = much.all.iter();
    all.map(|(word, thousandths)| (kind_of(word), *thousandths as f64 / 1000.0))
        .collect()
}

fn kind_word(kind: &Kind) -> &str {
    match kind {
        Kind::Grams => "g",
        Kind::Millilitres => "ml",
        Kind::Pieces(word) => word,
    }
}

fn kind_of(word: &str) -> Kind {
    match word {
        "g" => Kind::Grams,
        "ml" => Kind::Millilitres,
        word => Kind::Pieces(word.to_owned()),
    }
}

/// Returns how much an entry says there is in all, in words; where it can be counted in nothing, as it was said.
fn in_all(much: &Much, like: &Sum) -> String {
    if much.all.is_empty() {
        much.says.clone()
    } else {
        said(&numbers(much), like)
    }
}

/// Returns amounts in words, pieces by the word that a sum has for them.
fn said(holds: &BTreeMap<Kind, f64>, like: &Sum) -> String {
    words::amounts(&like.of_these(holds).amounts())
}
