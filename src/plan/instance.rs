//! The instance of a menu by itself, for other programs.

use super::from_menu::{Bound, Bridge, Margin, not_planned};
use super::run_sheet::{Happened, NotPlanned};
use crate::menu::Menu;
use crate::schedule::Instance;
use crate::time::{Minute, ServiceTime};

/// An instance and what its parts are called, in the order of its lists; parts that no word of the menu stands
/// for have no name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MenuInstance {
    /// What is asked of the engine.
    pub instance: Instance,
    /// The names of its resources.
    pub resources: Vec<Option<String>>,
    /// The names of its activities: those of the steps in the book.
    pub activities: Vec<Option<String>>,
}

/// Returns what [`plan()`](super::plan()) asks of the engine first: around what has happened, with nothing left to
/// start before `now` and every margin kept; or what cannot be planned yet.
pub fn instance(
    menu: &Menu,
    service: ServiceTime,
    happened: &Happened,
    now: Minute,
) -> Result<MenuInstance, Vec<NotPlanned>> {
    let refused = not_planned(menu);
    if !refused.is_empty() {
        return Err(refused);
    }
    let bridge = Bridge::new(menu, service, happened, now, Bound::Now(now), Margin::Kept);
    let hands = std::iter::once("hands".to_owned());
    let kit = menu.kitchen.kit.iter().map(|kit| kit.name.clone());
    let mut resources: Vec<_> = hands.chain(kit).map(Some).collect();
    resources.resize(bridge.instance.resources.len(), None);
    let doings = bridge.expanded.doings.iter();
    let mut activities: Vec<_> = doings.map(|it| Some(it.key.to_string())).collect();
    activities.resize(bridge.instance.activities.len(), None);
    Ok(MenuInstance {
        instance: bridge.instance,
        resources,
        activities,
    })
}
