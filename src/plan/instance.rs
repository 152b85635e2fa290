//! The instance of a menu by itself, for other programs.

use super::explain::{oven_name, resource_name};
use super::from_menu::{Asked, Bound, Bridge};
use super::run_sheet::Happened;
use crate::menu::Menu;
use crate::schedule::{Instance, ResourceId, StateId};
use crate::time::{Minute, ServiceTime};

/// An instance and what its parts are called, in the order of its lists; parts that no word of the menu stands
/// for have no name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MenuInstance {
    /// What is asked of the engine.
    pub instance: Instance,
    /// The names of its resources.
    pub resources: Vec<Option<String>>,
    /// The names of its states: ovens.
    pub states: Vec<Option<String>>,
    /// The names of its activities: those of the steps in the book.
    pub activities: Vec<Option<String>>,
}

/// Returns what the planner is asked before anybody has been told any times: to plan a menu around what has
/// happened, with nothing left to start before `now`.
pub fn instance(
    menu: &Menu,
    service: ServiceTime,
    happened: &Happened,
    now: Minute,
) -> MenuInstance {
    let asked = Asked {
        menu,
        service,
        happened,
        now,
        told: None,
        shown: None,
    };
    let bridge = Bridge::new(asked, Bound::Now(now));
    let resources = (0..bridge.instance.resources.len())
        .map(|resource| Some(resource_name(&bridge, ResourceId(resource))))
        .collect();
    let states = (0..bridge.instance.states.len())
        .map(|state| {
            let (kit, unit) = bridge.oven_of(StateId(state))?;
            Some(oven_name(&bridge, kit, unit))
        })
        .collect();
    let doings = bridge.expanded.doings.iter();
    let mut activities: Vec<_> = doings.map(|it| Some(it.key.to_string())).collect();
    activities.resize(bridge.instance.activities.len(), None);
    MenuInstance {
        instance: bridge.instance,
        resources,
        states,
        activities,
    }
}
