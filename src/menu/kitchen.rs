//! The kitchen: its hours, its people, its kit.

use super::Cold;
use crate::time::{Date, Minutes, Weekday, Zone};

/// A kitchen, shared between menus.
#[derive(Clone, Debug, PartialEq)]
pub struct Kitchen {
    /// The name on the sheet.
    pub name: String,
    /// The zone of the clock on its wall; `None` means the zone of the machine that plans.
    pub zone: Option<Zone>,
    /// Metres above the sea, on which the boiling of water and syrups depends; `None` is at the sea.
    pub altitude: Option<i32>,
    /// When it is open. Hands work only inside these hours; "overnight" ends at the first opening of a day.
    pub open: Vec<Hours>,
    /// When somebody is in the building although the kitchen is shut (a night porter).
    pub watched: Vec<Hours>,
    /// The people, each with shifts.
    pub cooks: Vec<Cook>,
    /// Places a step can be done at, for filtering the sheet: (id, name).
    pub stations: Vec<(String, String)>,
    /// Everything that only one step can use at a time, and how many there are.
    pub kit: Vec<Kit>,
}

/// Clock hours on certain days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hours {
    /// The days on which they begin.
    pub days: Days,
    /// The hours of each such day.
    pub spans: Vec<Span>,
}

/// A stretch of the clock face, in minutes after midnight; an end past 1440 reaches into the next day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// The first minute, 0 to 1439.
    pub from: u32,
    /// The first minute after, always later than `from`, at most `from` + 1440.
    pub to: u32,
}

/// Days on which hours hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Days {
    /// Every day.
    Every,
    /// These weekdays.
    Weekdays(Vec<Weekday>),
    /// These dates.
    Dates(Vec<Date>),
    /// So many days before service; 0 is the day itself. Lets a menu be used again on another date.
    BeforeService(Vec<u32>),
}

/// A cook and the hours they work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cook {
    /// The name; unique in the kitchen.
    pub name: String,
    /// What this cook can do that others may not.
    pub skills: Vec<String>,
    /// When this cook works. None given: whenever the kitchen is open.
    pub shifts: Vec<Shift>,
    /// Hours beyond the shifts that this cook can be asked to stay. The plan asks only where food would
    /// otherwise be late, or past its best, and says so.
    pub overtime: Vec<Shift>,
    /// When this cook is not there after all (leave, illness), whatever the shifts say.
    pub away: Vec<Shift>,
}

/// Hours of a cook; the same shape as opening hours.
pub type Shift = Hours;

/// The name steps refer to a piece of kit by.
pub type KitId = String;

/// Kit of one kind: hobs, an oven, cold shelves, moulds.
#[derive(Clone, Debug, PartialEq)]
pub struct Kit {
    /// The name steps refer to it by.
    pub id: KitId,
    /// The name on the sheet.
    pub name: String,
    /// How many there are; of ovens, each with a heat of its own.
    pub count: u32,
    /// For a vessel or mould: how many portions one holds.
    pub holds: Option<u32>,
    /// For an oven: its shelves, and what changing its temperature takes.
    pub oven: Option<Oven>,
    /// For a fridge, a freezer, an ice bath: how cold, and how it takes heat away.
    pub cold: Option<Cold>,
    /// Hours when it is taken by others, who hand it back as it is wanted. Of several ovens they have the last.
    pub taken: Vec<Taken>,
}

/// What makes kit an oven: steps share one only at the same heat.
///
/// A step that uses so many of an oven takes that many shelves of one of them, where they fit into one, and
/// whole ovens where they do not. What names no heat takes its shelves at whatever heat there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Oven {
    /// Time to go from one temperature to another.
    pub change: Minutes,
    /// How many shelves one oven has; never zero in a menu that has been checked.
    pub shelves: u32,
}

/// Kit taken by others at certain hours ("the bakery has the oven 03:00–08:00").
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    /// When.
    pub hours: Hours,
    /// How many of them; `None` is all.
    pub count: Option<u32>,
    /// By whom, for the reason on the sheet.
    pub by: Option<String>,
}

impl Kit {
    /// Returns how many can be used at once: for ovens, all their shelves.
    pub fn places(&self) -> u32 {
        self.count.saturating_mul(self.shelves())
    }

    /// Returns how many uses one piece has room for: the shelves of an oven, one of anything else.
    pub fn shelves(&self) -> u32 {
        self.oven.map_or(1, |oven| oven.shelves.max(1))
    }
}

impl Kitchen {
    /// Returns the kit with this id and its place in [`Kitchen::kit`].
    pub fn kit(&self, id: &str) -> Option<(usize, &Kit)> {
        self.kit.iter().enumerate().find(|(_, kit)| kit.id == id)
    }
}
