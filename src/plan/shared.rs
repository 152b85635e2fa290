//! What steps share → resources and states of the instance.
//!
//! # Skills
//! Who can do a step is settled by counting. By Hall's theorem (*On representatives of subsets*, 1935; the
//! condition from memory) every hand that is needed at a minute finds a cook of its own if and only if, for each
//! set of skills, no more hands are needed for them than there are cooks on shift who have any of them. Each set
//! that can bind is a resource of its own; [`assign`](super::assign) then names the cooks. Sets that bring the
//! same cooks together are one, sets that fall apart into sets of different cooks follow from those, and a set
//! that all cooks belong to follows from the hands. At most [`MOST_UNIONS`] are counted, the small ones first:
//! more would take more than half a dozen overlapping skills, and then a stretch of hands might be left unnamed.
//!
//! # Ovens
//! Where any step of the menu names a heat, each oven of the kind is a resource of its own, its shelves, and a
//! state of its own, its heat; which of them a step uses is a choice of mode ([`ways`](super::ways)). Where no
//! step does, they are counted like anything else. What others take they take from the last of them, and hand
//! it back as it is wanted.

use std::collections::BTreeSet;

use super::from_menu::{Bridge, HANDS};
use super::hours::{self, Dates};
use crate::menu::{Kit, Menu};
use crate::schedule::{Resource, ResourceId, StateId, StateResource, Time};
use crate::time::{Minute, Window};

/// How many sets of skills are counted at most.
const MOST_UNIONS: usize = 64;

/// What a resource stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Shared {
    /// Pairs of hands.
    Hands,
    /// Pairs of hands that can do any of these.
    Able(Vec<String>),
    /// Somebody in the building.
    Somebody,
    /// Kit that is only counted, by its place in the kitchen.
    Kit(usize),
    /// The shelves of one oven: its kind's place in the kitchen, and which of them, from 0.
    Oven {
        /// The kind.
        kit: usize,
        /// Which.
        unit: usize,
    },
}

/// How the instance has a kind of kit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Stock {
    /// Counted, all of it in one.
    Counted(ResourceId),
    /// Each by itself, with its heat.
    Ovens {
        /// How many shelves one has.
        shelves: u32,
        /// Each one.
        units: Vec<(ResourceId, StateId)>,
    },
}

/// Kit taken by others.
#[derive(Clone, Debug)]
pub(super) struct TakenAway {
    /// When.
    pub(super) window: Window,
    /// By whom, where the kitchen says.
    pub(super) by: Option<String>,
}

impl Bridge<'_> {
    /// Adds everything that is shared.
    pub(super) fn resources(&mut self, dates: Dates) {
        self.share_hands();
        for place in 0..self.menu.kitchen.kit.len() {
            self.share_kit(place, dates);
        }
        if self.menu.dishes.iter().flat_map(|it| &it.steps).any(|it| {
            it.ways
                .iter()
                .any(|way| way.hands.someone_about != it.hands.someone_about)
        }) {
            let all = self.expanded.doings.len().max(1) as i32;
            let capacity = self
                .somebody
                .iter()
                .flat_map(|window| [(window.start.0, all), (window.end.0, -all)]);
            let capacity = running_total(self.instance.earliest, capacity);
            self.share(Shared::Somebody, capacity, None);
        }
    }

    fn share(
        &mut self,
        shared: Shared,
        capacity: Vec<(Time, i32)>,
        regular: Option<Vec<(Time, i32)>>,
    ) -> ResourceId {
        self.shared.push(shared);
        self.instance.resources.push(Resource { capacity, regular });
        ResourceId(self.instance.resources.len() - 1)
    }

    /// Hands, and the hands that can do each set of skills that can bind.
    fn share_hands(&mut self) {
        let everybody: BTreeSet<usize> = (0..self.shifts.len()).collect();
        let (capacity, regular) = self.on_shift(&everybody);
        let hands = self.share(Shared::Hands, capacity, regular);
        debug_assert_eq!(hands, HANDS, "hands come first");
        for (skills, cooks) in unions(self.menu) {
            let (capacity, regular) = self.on_shift(&cooks);
            self.share(Shared::Able(skills), capacity, regular);
        }
    }

    /// Returns how many of these cooks can be had over time, and how many of them without overtime where
    /// that differs.
    fn on_shift(&self, cooks: &BTreeSet<usize>) -> (Vec<(Time, i32)>, Option<Vec<(Time, i32)>>) {
        let changes = |all: &[Vec<Window>]| -> Vec<(Time, i32)> {
            let of_these = cooks.iter().flat_map(|&cook| &all[cook]);
            of_these
                .flat_map(|window| [(window.start.0, 1), (window.end.0, -1)])
                .collect()
        };
        let (shifts, more) = (changes(&self.shifts), changes(&self.overtime));
        let first = self.instance.earliest;
        if more.is_empty() {
            return (running_total(first, shifts), None);
        }
        let regular = running_total(first, shifts.iter().copied());
        (
            running_total(first, shifts.into_iter().chain(more)),
            Some(regular),
        )
    }

    fn share_kit(&mut self, place: usize, dates: Dates) {
        let kit = &self.menu.kitchen.kit[place];
        let count = i32::try_from(kit.count).unwrap_or(i32::MAX / 4);
        let mut changes = vec![(self.instance.earliest, count)];
        let mut away = Vec::new();
        for taken in &kit.taken {
            let by_others = taken
                .count
                .map_or(count, |taken| taken.min(kit.count) as i32);
            for window in hours::windows(std::slice::from_ref(&taken.hours), self.service, dates) {
                changes.push((window.start.0, -by_others));
                changes.push((window.end.0, by_others));
                away.push(TakenAway {
                    window,
                    by: taken.by.clone(),
                });
            }
        }
        self.taken.push(away);
        // Two parties may both have taken what only one can have; there is never less than none.
        let free: Vec<(Time, i32)> = running_total(self.instance.earliest, changes)
            .into_iter()
            .map(|(from, free)| (from, free.max(0)))
            .collect();
        let shelves = i32::try_from(kit.shelves()).unwrap_or(i32::MAX / 4);
        if !at_a_heat(self.menu, kit) {
            let capacity = free
                .into_iter()
                .map(|(from, free)| (from, free.saturating_mul(shelves)))
                .collect();
            let resource = self.share(Shared::Kit(place), capacity, None);
            self.stock.push(Stock::Counted(resource));
            return;
        }
        let change = kit.oven.map_or(0, |oven| oven.change.0);
        let mut units = Vec::new();
        for unit in 0..count {
            let mut capacity: Vec<(Time, i32)> = Vec::new();
            for &(from, free) in &free {
                let there = if free > unit { shelves } else { 0 };
                if capacity.last().is_none_or(|&(_, was)| was != there) {
                    capacity.push((from, there));
                }
            }
            let shared = Shared::Oven {
                kit: place,
                unit: unit as usize,
            };
            let resource = self.share(shared, capacity, None);
            self.instance.states.push(StateResource { change });
            units.push((resource, StateId(self.instance.states.len() - 1)));
        }
        self.stock.push(Stock::Ovens {
            shelves: kit.shelves(),
            units,
        });
    }

    /// Returns by whom a kind of kit is taken at a moment, where the kitchen says.
    pub(super) fn taken_by(&self, kit: usize, at: Minute) -> Option<&str> {
        let away = self.taken[kit].iter().find(|it| it.window.contains(at))?;
        away.by.as_deref()
    }

    /// Returns the resources that hands for a step with this skill count in: all hands, and every set of
    /// skills that has it.
    pub(super) fn hands_for(&self, skill: Option<&str>) -> Vec<ResourceId> {
        let counts = |shared: &Shared| match (shared, skill) {
            (Shared::Hands, _) => true,
            (Shared::Able(skills), Some(skill)) => skills.iter().any(|it| it == skill),
            _ => false,
        };
        let places = (0..self.shared.len()).filter(|&at| counts(&self.shared[at]));
        places.map(ResourceId).collect()
    }
}

/// Whether any step of the menu uses a kind of kit at a heat.
fn at_a_heat(menu: &Menu, kit: &Kit) -> bool {
    let steps = menu.dishes.iter().flat_map(|dish| &dish.steps);
    let mut uses = steps.flat_map(|step| {
        let ways = step.ways.iter().flat_map(|way| &way.uses);
        step.uses.iter().chain(ways)
    });
    kit.oven.is_some() && uses.any(|used| used.kit == kit.id && used.heat.is_some())
}

/// Returns the sets of skills that can bind, each with the cooks who have any of them, the fewest cooks first.
fn unions(menu: &Menu) -> Vec<(Vec<String>, BTreeSet<usize>)> {
    let steps = menu.dishes.iter().flat_map(|dish| &dish.steps);
    let wanted: BTreeSet<&String> = steps.filter_map(|step| step.skill.as_ref()).collect();
    let cooks = &menu.kitchen.cooks;
    let able: Vec<(&String, BTreeSet<usize>)> = wanted
        .into_iter()
        .map(|skill| {
            let has = |&cook: &usize| cooks[cook].skills.contains(skill);
            (skill, (0..cooks.len()).filter(has).collect())
        })
        .collect();
    let mut found: Vec<BTreeSet<usize>> = Vec::new();
    for (_, own) in &able {
        let joined = found.iter().map(|set| set | own).collect::<Vec<_>>();
        for set in std::iter::once(own.clone()).chain(joined) {
            if !found.contains(&set) && found.len() < 8 * MOST_UNIONS {
                found.push(set);
            }
        }
    }
    found.sort_by_key(|set| (set.len(), set.iter().copied().collect::<Vec<_>>()));
    let mut unions: Vec<(Vec<String>, BTreeSet<usize>)> = Vec::new();
    for set in found {
        // What nobody can do stands by itself.
        let belongs =
            |own: &BTreeSet<usize>| own.is_subset(&set) && own.is_empty() == set.is_empty();
        let members: Vec<&(&String, BTreeSet<usize>)> =
            able.iter().filter(|(_, own)| belongs(own)).collect();
        let binds = set.len() < cooks.len() || cooks.is_empty();
        if binds && hang_together(&members) && unions.len() < MOST_UNIONS {
            let skills = members.iter().map(|(skill, _)| (*skill).clone());
            unions.push((skills.collect(), set));
        }
    }
    unions
}

/// Whether skills cannot be split in two that no cook has skills of both of.
fn hang_together(members: &[&(&String, BTreeSet<usize>)]) -> bool {
    let Some((_, first)) = members.first() else {
        return false;
    };
    let mut reached = first.clone();
    let mut left: Vec<&BTreeSet<usize>> = members[1..].iter().map(|(_, own)| own).collect();
    loop {
        let before = left.len();
        left.retain(|own| {
            let apart = reached.is_disjoint(own);
            if !apart {
                reached.extend(own.iter());
            }
            apart
        });
        if left.is_empty() || left.len() == before {
            return left.is_empty();
        }
    }
}

/// Returns capacity steps from changes `(when, by how much)`, with none before the first of them.
pub(super) fn running_total(
    earliest: Time,
    changes: impl IntoIterator<Item = (Time, i32)>,
) -> Vec<(Time, i32)> {
    let mut changes: Vec<(Time, i32)> = std::iter::once((earliest, 0)).chain(changes).collect();
    changes.sort_unstable();
    let mut steps: Vec<(Time, i32)> = Vec::with_capacity(changes.len());
    let mut total = 0_i32;
    for (at, change) in changes {
        total = total.saturating_add(change);
        match steps.last_mut() {
            Some(last) if last.0 == at => last.1 = total,
            _ => steps.push((at, total)),
        }
    }
    steps
}
