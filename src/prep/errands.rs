//! What must be seen to before cooking begins and is no step of a dish: orders, and what is soaked or thawed ahead.
//!
//! By when is the order list's to say ([`OrderList::reminders`]); whether it has been is the book's. An order is seen to
//! goods by goods and for as much as was ordered: where more covers want more of it, what is missing is to be ordered
//! again, and said so. What is done ahead is seen to dish by dish, and where it was begun too late for the step that takes
//! it, that is said.
//!
//! # Left out
//! Whether what was ordered has come: nobody says when it should. A soak begun late moves no step: how much less will do
//! is the cook's to judge, who is told by how much it is short.

use std::collections::{BTreeMap, BTreeSet};

use super::PrepState;
use crate::book::{EntryId, Errand};
use crate::menu::{Ahead, Menu};
use crate::quantity::order::{Line, OrderList, Reminder, Todo};
use crate::time::{Minute, Minutes, ServiceTime, Timestamp};

/// Something to be seen to, and by when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ErrandAt {
    /// By when an order must be out, or when what is done ahead begins.
    pub at: Minute,
    /// The dishes it is for, by their place in the menu.
    pub dishes: Vec<usize>,
    /// What an entry says that it is seen to.
    pub errand: Errand,
    /// What, in one line without a full stop: "order from the dairy: milk, butter", "soak dried figs, 12h".
    pub says: String,
    /// When it was seen to.
    pub seen_to: Option<Timestamp>,
    /// The entry that says so.
    pub entry: Option<EntryId>,
    /// By how much too late it was for the step that takes it, where it was.
    pub short: Option<Minutes>,
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

    /// Returns it with when it was seen to, and what is wrong with that.
    pub fn words(&self, service: ServiceTime) -> String {
        let Some(at) = self.seen_to else {
            return self.says.clone();
        };
        let at = at.local(service.zone()).weekday_clock();
        match self.short {
            Some(short) => format!("{}: begun {at}, {short} too late for the step", self.says),
            None => format!("{}: seen to {at}", self.says),
        }
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
                orders(list, prep, reminder, (supplier.as_deref(), names))
            }
            Todo::Ahead(ahead, name) => aheads(menu, prep, service, reminder, (ahead, name)),
        })
        .collect()
}

/// Returns when all of a line that is to be bought was ordered.
pub fn ordered(line: &Line, prep: &PrepState) -> Option<Timestamp> {
    let (_, at, much) = prep.ordered(&line.name)?;
    (line.is_to_buy() && much == line.buy()).then_some(at)
}

/// Returns how much of a line was ordered, in words, where that is not what is to be bought now.
pub fn ordered_otherwise<'p>(line: &Line, prep: &'p PrepState) -> Option<&'p str> {
    let (_, _, much) = prep.ordered(&line.name)?;
    (much != line.buy()).then_some(much)
}

/// Which entry saw to something, and when; what nobody has seen to comes first.
type By = Option<(EntryId, Timestamp)>;

fn orders(
    list: &OrderList,
    prep: &PrepState,
    reminder: &Reminder,
    (supplier, names): (Option<&str>, &[String]),
) -> Vec<ErrandAt> {
    let mut parts: BTreeMap<By, (BTreeMap<String, String>, Vec<String>)> = BTreeMap::new();
    for name in names {
        let line = list.lines.iter().find(|line| line.name == *name);
        let much = line.map_or_else(String::new, Line::buy);
        let (by, said) = match prep.ordered(name) {
            Some((id, at, known)) if known == much => (Some((id, at)), name.clone()),
            Some((_, _, known)) => (None, format!("{name} (now {much}; ordered: {known})")),
            None => (None, name.clone()),
        };
        let (goods, said_of) = parts.entry(by).or_default();
        goods.insert(name.clone(), much);
        said_of.push(said);
    }
    let parts = parts.into_iter();
    parts
        .map(|(by, (goods, said))| ErrandAt {
            at: reminder.at,
            dishes: reminder.dishes.clone(),
            errand: Errand::Order { goods },
            says: Todo::Order(supplier.map(str::to_owned), said).said(),
            seen_to: by.map(|(_, at)| at),
            entry: by.map(|(entry, _)| entry),
            short: None,
        })
        .collect()
}

fn aheads(
    menu: &Menu,
    prep: &PrepState,
    service: ServiceTime,
    reminder: &Reminder,
    (ahead, name): (&Ahead, &str),
) -> Vec<ErrandAt> {
    let mut parts: BTreeMap<By, (BTreeSet<String>, Vec<usize>)> = BTreeMap::new();
    for &place in &reminder.dishes {
        let Some(dish) = menu.dishes.get(place) else {
            continue;
        };
        let by = prep.done_ahead(&ahead.what, name, &dish.id);
        let (ids, places) = parts.entry(by).or_default();
        ids.insert(dish.id.clone());
        places.push(place);
    }
    let parts = parts.into_iter();
    parts
        .map(|(by, (dishes, places))| {
            let seen_to = by.map(|(_, at)| at);
            let ready = seen_to.map(|at| service.minute(at) + ahead.time);
            ErrandAt {
                at: reminder.at,
                dishes: places,
                errand: Errand::Ahead {
                    what: ahead.what.clone(),
                    name: name.to_owned(),
                    dishes,
                },
                says: reminder.what.said(),
                seen_to,
                entry: by.map(|(entry, _)| entry),
                short: ready
                    .zip(reminder.taken)
                    .map(|(ready, taken)| ready - taken)
                    .filter(|short| *short > Minutes::ZERO),
            }
        })
        .collect()
}
