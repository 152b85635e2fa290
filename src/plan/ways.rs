//! The ways to do a step, and the ovens to do it in → modes.
//!
//! A step has a mode for each of its ways and each choice of ovens for it. Ovens of a kind are alike, so the
//! choice among them costs nothing; the card's own way is preferred by what the others cost
//! ([`weights`](super::weights)).
//!
//! A step that has begun goes on the way it was announced, or else the way the card gives, in the oven it was
//! announced for, or else in the first that what else has begun leaves: the book does not say, and the sheet
//! had said so.

use std::collections::BTreeMap;

use super::expand::minutes;
use super::from_menu::Bridge;
use super::hours::Dates;
use super::run_sheet::Told;
use super::shared::{Shared, Stock};
use super::weights::{OTHER_WAY, OVEN_CHANGED, WAY_CHANGED};
use crate::menu::{Hands, KitUse, Step, StepTime};
use crate::schedule::{Anchor, Demand, Duration, Mode, ResourceId, StateId, Time, Use};

/// How many choices of ovens one way is given at most: kitchens with more than a few ovens of a kind are rare, and
/// which of many alike it is hardly matters.
const MOST_CHOICES: usize = 12;

/// What a mode stands for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Manner {
    /// Which of the other ways on the card; `None` is its own.
    pub(super) way: Option<usize>,
    /// The ovens it uses.
    pub(super) ovens: Vec<InOven>,
}

/// Shelves of one oven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct InOven {
    /// The kind's place in the kitchen.
    pub(super) kit: usize,
    /// Which of them, from 0.
    pub(super) unit: usize,
    /// How many shelves.
    pub(super) shelves: u32,
    /// At which heat; `None` at any.
    pub(super) heat: Option<i32>,
}

/// A way as the card has it.
pub(super) struct OnCard<'a> {
    pub(super) time: &'a StepTime,
    pub(super) hands: &'a Hands,
    pub(super) uses: &'a [KitUse],
}

/// Returns a step's own way, or one of its others.
pub(super) fn on_card(step: &Step, way: Option<usize>) -> OnCard<'_> {
    match way.and_then(|way| step.ways.get(way)) {
        Some(way) => OnCard {
            time: &way.time,
            hands: &way.hands,
            uses: &way.uses,
        },
        None => OnCard {
            time: &step.time,
            hands: &step.hands,
            uses: &step.uses,
        },
    }
}

/// Returns every way of a step, its own first.
pub(super) fn every_way(step: &Step) -> impl Iterator<Item = (Option<usize>, OnCard<'_>)> {
    let others = (0..step.ways.len()).map(Some);
    std::iter::once(None)
        .chain(others)
        .map(|way| (way, on_card(step, way)))
}

impl Bridge<'_> {
    /// Returns the modes of a doing with what they stand for; never empty.
    pub(super) fn modes(&mut self, index: usize, dates: Dates) -> (Vec<Mode>, Vec<Manner>) {
        let (doing, dish, step) = self.doing(index);
        let (makes, batch) = (doing.makes, doing.key.batch);
        let made = self.expanded.made[doing.dish].clone();
        let told = self.last_told(&doing.key).cloned();
        // Where some ways want somebody in the building and some do not, who is there is counted.
        let differs = step
            .ways
            .iter()
            .any(|way| way.hands.someone_about != step.hands.someone_about);
        let (mut modes, mut manners) = (Vec::new(), Vec::new());
        for (place, (way, card)) in every_way(step).enumerate() {
            let take_off = card
                .hands
                .take_off
                .map(|touch| touch.time)
                .unwrap_or_default();
            let duration = match card.time {
                // Who takes it off in the morning can only do so once the kitchen is open.
                StepTime::Clock { until, at_least } => {
                    self.wait(*until, *at_least, take_off, dates)
                }
                StepTime::Elapsed(_) => {
                    let minutes = minutes(makes, card.time);
                    Duration::Fixed(minutes.unwrap_or_default().0)
                }
            };
            let mut demands = self.hands_needed(card.hands, step.skill.as_deref());
            if differs
                && card.hands.someone_about
                && let Some(place) = self.shared.iter().position(|it| *it == Shared::Somebody)
            {
                demands.push(throughout(ResourceId(place), 1));
            }
            let uses = self.menu.uses(dish, &made, step, batch, card.uses);
            demands.extend(self.counted(&uses));
            let cost = i32::try_from(place)
                .unwrap_or(i32::MAX)
                .saturating_mul(OTHER_WAY);
            for ovens in self.choices(&uses, index) {
                let mut mode = Mode {
                    duration,
                    demands: demands.clone(),
                    states: Vec::new(),
                    cost,
                };
                for oven in &ovens {
                    self.put_in(&mut mode, *oven);
                }
                let manner = Manner { way, ovens };
                if let Some(told) = &told {
                    mode.cost = mode.cost.saturating_add(self.unlike(step, &manner, told));
                }
                modes.push(mode);
                manners.push(manner);
            }
        }
        (modes, manners)
    }

    /// Returns what it costs to do a step otherwise than announced.
    fn unlike(&self, step: &Step, manner: &Manner, told: &Told) -> i32 {
        let way = manner.way.map(|way| step.ways[way].name.as_str());
        // A way that the card no longer has binds nobody.
        let known = told
            .way
            .as_ref()
            .is_none_or(|name| step.ways.iter().any(|way| way.name == *name));
        if known && way != told.way.as_deref() {
            return WAY_CHANGED;
        }
        let kit = &self.menu.kitchen.kit;
        let same = manner.ovens.iter().all(|oven| {
            let which = oven.unit as u32 + 1;
            let mut of_kind = told
                .ovens
                .iter()
                .filter(|(name, _)| *name == kit[oven.kit].name)
                .peekable();
            of_kind.peek().is_none() || of_kind.any(|&(_, unit)| unit == which)
        });
        if same { 0 } else { OVEN_CHANGED }
    }

    /// Returns the mode in which something that has begun goes on: the cheapest that does not contradict what
    /// else has begun, or else the cheapest.
    pub(super) fn begun(
        &self,
        modes: &[Mode],
        fixed: impl Fn(&Mode) -> (Time, Option<Time>),
    ) -> usize {
        let contradicts = |mode: &Mode| {
            let (start, end) = fixed(mode);
            let end = end.unwrap_or(start);
            let mut contradictions = 0;
            for other in &self.instance.activities {
                let Some((from, to)) = other.fixed else {
                    continue;
                };
                let at_once = from < end && start < to.unwrap_or(from);
                for (state, heat) in mode.states.iter().filter(|_| at_once) {
                    let theirs = other.modes[0].states.iter().find(|(id, _)| id == state);
                    contradictions += usize::from(theirs.is_some_and(|(_, value)| value != heat));
                }
            }
            contradictions
        };
        (0..modes.len())
            .min_by_key(|&place| (contradicts(&modes[place]), modes[place].cost, place))
            .unwrap_or(0)
    }

    fn hands_needed(&self, hands: &Hands, skill: Option<&str>) -> Vec<Demand> {
        let resources = self.hands_for(skill);
        let mut demands = Vec::new();
        let mut need = |hands: u32, when: Use| {
            if hands > 0 {
                let quantity = i32::try_from(hands).unwrap_or(i32::MAX / 4);
                demands.extend(resources.iter().map(|&resource| Demand {
                    resource,
                    quantity,
                    when,
                }));
            }
        };
        need(hands.throughout, Use::Whole);
        if let Some(touch) = hands.put_on {
            let (anchor, from, to) = (Anchor::Start, 0, touch.time.0);
            need(touch.hands, Use::Part { anchor, from, to });
        }
        if let Some(touch) = hands.take_off {
            let (anchor, from, to) = (Anchor::End, -touch.time.0, 0);
            need(touch.hands, Use::Part { anchor, from, to });
        }
        if let Some(look) = hands.look {
            let (every, length) = (look.every.0.max(1), look.time.0);
            need(look.hands, Use::Every { every, length });
        }
        demands
    }

    /// Returns what a way uses of kit that is only counted. Two lines about the same kit add up.
    fn counted(&self, uses: &[KitUse]) -> Vec<Demand> {
        let mut wanted: BTreeMap<usize, u32> = BTreeMap::new();
        for used in uses {
            if let Some((kit, _)) = self.menu.kitchen.kit(&used.kit) {
                let count = wanted.entry(kit).or_default();
                *count = count.saturating_add(used.count);
            }
        }
        let counted = wanted.into_iter().filter(|&(_, count)| count > 0);
        counted
            .filter_map(|(kit, count)| match self.stock[kit] {
                Stock::Counted(resource) => Some(throughout(resource, count)),
                Stock::Ovens { .. } => None,
            })
            .collect()
    }

    /// Returns every choice of ovens for a way; one choice of none where it uses none.
    fn choices(&self, uses: &[KitUse], index: usize) -> Vec<Vec<InOven>> {
        let mut wanted: BTreeMap<(usize, Option<i32>), u32> = BTreeMap::new();
        for used in uses {
            if let Some((kit, _)) = self.menu.kitchen.kit(&used.kit)
                && matches!(self.stock[kit], Stock::Ovens { .. })
            {
                let shelves = wanted.entry((kit, used.heat)).or_default();
                *shelves = shelves.saturating_add(used.count);
            }
        }
        let mut choices: Vec<Vec<InOven>> = vec![Vec::new()];
        for ((kit, heat), count) in wanted.into_iter().filter(|&(_, count)| count > 0) {
            let Stock::Ovens { shelves, units } = &self.stock[kit] else {
                continue;
            };
            let taken = if count <= *shelves { count } else { *shelves };
            let ovens = count.div_ceil(*shelves) as usize;
            let mut more = Vec::new();
            for chosen in &choices {
                for of_these in subsets(units.len(), ovens, index) {
                    let mut next = chosen.clone();
                    next.extend(of_these.into_iter().map(|unit| InOven {
                        kit,
                        unit,
                        shelves: taken,
                        heat,
                    }));
                    if goes(&next, kit, *shelves) && more.len() < MOST_CHOICES {
                        more.push(next);
                    }
                }
            }
            if more.is_empty() {
                // More ovens than there are: said by the menu's own rules, and found impossible here.
                let first = |unit| InOven {
                    kit,
                    unit,
                    shelves: shelves.saturating_add(1),
                    heat,
                };
                more = vec![vec![first(0)]];
            }
            choices = more;
        }
        choices
    }

    /// Adds what an oven is asked for to a mode.
    fn put_in(&self, mode: &mut Mode, oven: InOven) {
        let Stock::Ovens { units, .. } = &self.stock[oven.kit] else {
            return;
        };
        let Some(&(resource, state)) = units.get(oven.unit) else {
            return;
        };
        let asked = throughout(resource, oven.shelves);
        match mode.demands.iter_mut().find(|it| it.resource == resource) {
            Some(demand) => demand.quantity = demand.quantity.saturating_add(asked.quantity),
            None => mode.demands.push(asked),
        }
        if let Some(heat) = oven.heat {
            mode.states.push((state, heat));
        }
    }

    /// Returns the heats of ovens by their states, for what is said of them.
    pub(super) fn oven_of(&self, state: StateId) -> Option<(usize, usize)> {
        self.stock.iter().enumerate().find_map(|(kit, stock)| {
            let Stock::Ovens { units, .. } = stock else {
                return None;
            };
            let unit = units.iter().position(|&(_, id)| id == state)?;
            Some((kit, unit))
        })
    }
}

fn throughout(resource: ResourceId, count: u32) -> Demand {
    Demand {
        resource,
        quantity: i32::try_from(count).unwrap_or(i32::MAX / 4),
        when: Use::Whole,
    }
}

/// Whether no oven of a kind is asked for two heats, or for more shelves than it has.
fn goes(ovens: &[InOven], kit: usize, shelves: u32) -> bool {
    let of_kind: Vec<&InOven> = ovens.iter().filter(|it| it.kit == kit).collect();
    of_kind.iter().all(|one| {
        let in_it = || of_kind.iter().filter(|it| it.unit == one.unit);
        let asked = in_it().fold(0, |sum: u32, it| sum.saturating_add(it.shelves));
        let mut heats = in_it().filter_map(|it| it.heat);
        let heat = heats.next();
        asked <= shelves && heats.all(|other| Some(other) == heat)
    })
}

/// Returns the sets of `count` of `all`, in order. Where there are more than [`MOST_CHOICES`], they are sets that stand
/// side by side: half of them the first, and half from a place that goes on with `turn`, so that one step after
/// another comes to all there are.
fn subsets(all: usize, count: usize, turn: usize) -> Vec<Vec<usize>> {
    if count == 0 || count > all {
        return Vec::new();
    }
    let mut found: Vec<Vec<usize>> = vec![Vec::new()];
    for _ in 0..count {
        let mut longer = Vec::new();
        for set in &found {
            let from = set.last().map_or(0, |last| last + 1);
            longer.extend((from..all).map(|next| [set.as_slice(), &[next]].concat()));
        }
        if longer.len() > 64 * MOST_CHOICES {
            found.clear();
            break;
        }
        found = longer;
    }
    if !found.is_empty() && found.len() <= MOST_CHOICES {
        return found;
    }
    let places = all - count + 1;
    let half = MOST_CHOICES / 2;
    let turned = (0..places).map(|at| (at + turn * count) % places);
    let mut from: Vec<usize> = (0..places).take(half).collect();
    for place in turned {
        if from.len() < MOST_CHOICES && !from.contains(&place) {
            from.push(place);
        }
    }
    from.into_iter()
        .map(|from| (from..from + count).collect())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_of_three_and_no_more_of_many_than_can_be_looked_at() {
        assert_eq!(subsets(3, 2, 7), [[0, 1], [0, 2], [1, 2]]);
        assert_eq!(subsets(2, 2, 0), [[0, 1]]);
        assert!(subsets(2, 3, 0).is_empty());
        let many = subsets(40, 20, 3);
        assert_eq!(many.len(), MOST_CHOICES);
        assert!(many.iter().all(|set| set.len() == 20));
        // One step after another comes to each of many.
        for unit in 0..60 {
            let comes_to_it = |turn| subsets(60, 1, turn).contains(&vec![unit]);
            assert!((0..60).any(comes_to_it), "{unit}");
        }
    }
}
