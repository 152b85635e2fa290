//! Kit kept from one step until another → holds of the instance.

use super::expand::{Doing, in_one_group};
use super::from_menu::Bridge;
use super::order::edge;
use super::shared::Stock;
use super::ways::every_way;
use crate::menu::{Batches, Dish, Edge, Multiple, Step};
use crate::schedule::{ActivityId, Hold, ResourceId};

impl Bridge<'_> {
    pub(super) fn holds(&mut self) {
        let doings = &self.expanded.doings;
        let mut holds = Vec::new();
        for (index, doing) in doings.iter().enumerate() {
            let dish = &self.menu.dishes[doing.dish];
            for keep in &dish.steps[doing.step].keeps_kit {
                // Until the same batch, part and round of the other step where both are done so; where only
                // the other is, until its last.
                let per_batch = dish.steps[doing.step].each == Multiple::Batch;
                let same_rounds = in_one_group(dish, &doing.key.step, &keep.until);
                let until = (0..doings.len())
                    .filter(|&at| {
                        doings[at].dish == doing.dish && doings[at].key.step == keep.until
                    })
                    .max_by_key(|&at| {
                        let key = &doings[at].key;
                        (
                            per_batch && key.batch == doing.key.batch,
                            doing.key.part.is_some() && key.part == doing.key.part,
                            same_rounds && key.round == doing.key.round,
                            key.round,
                            key.batch,
                        )
                    });
                if let Some(until) = until {
                    let (from, to) = ((index, keep.from), (until, keep.to));
                    let made = &self.expanded.made[doing.dish];
                    let step = &dish.steps[doing.step];
                    let kept = self.menu.keeps(dish, made, step, doing.key.batch, keep);
                    for (kit, count) in kept {
                        if let Some((kit, _)) = self.menu.kitchen.kit(&kit) {
                            holds.push((kit, count, from, to));
                        }
                    }
                }
            }
        }
        for (dish_index, dish) in self.menu.dishes.iter().enumerate() {
            let made = &self.expanded.made[dish_index];
            holds.extend(implied_vessels((dish_index, dish), made, doings));
        }
        for (kit, count, (from, from_edge), (to, to_edge)) in holds {
            // Kit that a skipped step would have taken is not taken; kit it would have given back is back.
            if self.is_skipped(from) || count == 0 {
                continue;
            }
            if self.is_over(from) && self.is_over(to) {
                continue;
            }
            let (from, to) = (
                (ActivityId(from), edge(from_edge)),
                (ActivityId(to), edge(to_edge)),
            );
            for (resource, quantity) in self.kept_in(kit, count) {
                self.instance.holds.push(Hold {
                    resource,
                    quantity,
                    from,
                    to,
                });
            }
        }
    }
}

impl Bridge<'_> {
    /// Returns what is kept where: of ovens the shelves of the last of them, which therefore do not move with
    /// what else is baked.
    fn kept_in(&self, kit: usize, count: u32) -> Vec<(ResourceId, i32)> {
        let quantity = |count: u32| i32::try_from(count).unwrap_or(i32::MAX / 4);
        match &self.stock[kit] {
            Stock::Counted(resource) => vec![(*resource, quantity(count))],
            Stock::Ovens { shelves, units } => {
                let mut left = count;
                let mut kept = Vec::new();
                for &(resource, _) in units.iter().rev() {
                    let here = left.min(*shelves);
                    if here > 0 {
                        kept.push((resource, quantity(here)));
                    }
                    left -= here;
                }
                kept
            }
        }
    }
}

/// Kit, how many, taken at this edge of a doing, given back at that of another.
type Kept = (usize, u32, (usize, Edge), (usize, Edge));

fn implied_vessels(
    (dish_index, dish): (usize, &Dish),
    made: &Batches,
    doings: &[Doing],
) -> Vec<Kept> {
    let Some(vessel) = dish.batch.as_ref().and_then(|batch| batch.vessel.as_ref()) else {
        return Vec::new();
    };
    let mentioned = dish.steps.iter().any(|step| {
        every_way(step).any(|(_, card)| card.uses.iter().any(|used| used.kit == *vessel))
            || step.keeps_kit.iter().any(|keep| keep.kit == *vessel)
    });
    if mentioned {
        return Vec::new();
    }
    let per_batch = |step: &&Step| step.each == Multiple::Batch;
    let first = dish.steps.iter().find(per_batch);
    let last = dish.steps.iter().rev().find(per_batch);
    let (Some(first), Some(last)) = (first, last) else {
        return Vec::new();
    };
    (1..=made.count())
        .flat_map(|batch| {
            let of = |step: &Step| {
                let mut all = (0..doings.len()).filter(|&at| {
                    let doing = &doings[at];
                    doing.dish == dish_index
                        && doing.key.step == step.id
                        && doing.key.batch == batch
                });
                let first = all.next()?;
                Some((first, all.next_back().unwrap_or(first)))
            };
            let ends = of(first).zip(of(last));
            let vessels = made.batch(batch).vessels.iter();
            let kept = vessels.filter_map(move |&(kit, count)| {
                let ((first, _), (_, last)) = ends?;
                Some((kit, count, (first, Edge::Start), (last, Edge::End)))
            });
            kept.collect::<Vec<_>>()
        })
        .collect()
}
