//! Covers → portions → batches → vessels: what is made, how many times, and in what.
//!
//! Whole batches are made until there are enough. Where the card allows the last to be a part of one
//! ([`Last::Part`]), it makes what is still wanted, in whole moulds: a mould half full sets flatter and another
//! day's cook takes it for a whole one. Where a batch may be divided among moulds of two sizes, [`mix`] says how
//! many of each.
//!
//! The planner, the amounts and the order list all read what is made from here, so that they cannot differ.
//!
//! Left out on purpose: more sizes than two. Nobody in front of a shelf of moulds mixes three.

use super::{Batch, Dish, Keep, KitUse, Kitchen, Last, Menu, Multiple, Step};

/// The batches of a dish, alike ones together. There are two kinds at most, and at least one batch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Batches {
    /// How many of each kind, in the order they are made.
    pub runs: Vec<(u32, Made)>,
}

/// One batch as it is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// Portions it makes.
    pub portions: u32,
    /// What it fills: the kit's place in [`Kitchen::kit`], and how many. Empty where the card names no vessel.
    pub vessels: Vec<(usize, u32)>,
}

/// What one doing of a step makes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Makes {
    /// Portions.
    pub portions: u32,
    /// Batches it serves.
    pub batches: u32,
    /// Millilitres; nought where the card does not say what a batch measures.
    pub millilitres: f64,
    /// How much of a whole batch of the card it is: 1 for one, 0.5 for half of one, 3 for all of three.
    pub of_card: f64,
}

impl Batches {
    /// Returns how many there are.
    pub fn count(&self) -> u32 {
        let counts = self.runs.iter().map(|(count, _)| *count);
        counts.fold(0, u32::saturating_add)
    }

    /// Returns a batch by its number, from 1; the last for a number past it.
    ///
    /// # Panics
    /// Never: there is always a batch.
    pub fn batch(&self, number: u32) -> &Made {
        let mut before = 0_u32;
        let found = self.runs.iter().find(|(count, _)| {
            before = before.saturating_add(*count);
            number <= before
        });
        let last = self.runs.last();
        &found.or(last).expect("there is always a batch").1
    }

    /// Returns the portions they make together.
    pub fn portions(&self) -> u64 {
        let runs = self.runs.iter();
        runs.map(|(count, made)| u64::from(*count) * u64::from(made.portions))
            .sum()
    }

    /// Returns how often moulds have to be filled again, where all batches want them and none gives them back before
    /// the last is made: 1 where there are enough of them, 2 where they must be turned out once.
    pub fn rounds(&self, kitchen: &Kitchen) -> u32 {
        let mut wanted: Vec<(usize, u64)> = Vec::new();
        for (count, made) in &self.runs {
            for &(kit, vessels) in &made.vessels {
                let more = u64::from(*count) * u64::from(vessels);
                match wanted.iter_mut().find(|(known, _)| *known == kit) {
                    Some((_, all)) => *all += more,
                    None => wanted.push((kit, more)),
                }
            }
        }
        let rounds = wanted.into_iter().filter_map(|(kit, vessels)| {
            let there_are = u64::from(kitchen.kit.get(kit)?.places().max(1));
            u32::try_from(vessels.div_ceil(there_are)).ok()
        });
        rounds.max().unwrap_or(1).max(1)
    }
}

/// Returns how many moulds of each of two sizes take so many portions: `(holds, there_are)` of each size. Of all
/// mixes that do, it is one with the least room left over, of those one with the fewest moulds, and of those the one
/// with more of the larger. `None` where all of them together do not take that many.
pub fn mix(portions: u32, one: (u32, u32), other: (u32, u32)) -> Option<(u32, u32)> {
    let turned = other.0 > one.0;
    let ((large, of_large), (small, of_small)) = if turned { (other, one) } else { (one, other) };
    if large == 0 {
        return (portions == 0).then_some((0, 0));
    }
    let portions = u64::from(portions);
    let (large, small) = (u64::from(large), u64::from(small));
    let most = portions.div_ceil(large).min(u64::from(of_large));
    // From the most large ones down. The room left over comes round again after as many steps as a small one
    // holds, with more moulds each time; so what is not found by then is no better.
    let mut best: Option<(u64, u64, u64, u64)> = None;
    for step in 0..=small.min(most) {
        let larges = most - step;
        let rest = portions.saturating_sub(larges * large);
        let smalls = match (rest, small) {
            (0, _) => 0,
            (_, 0) => break,
            (rest, small) => rest.div_ceil(small),
        };
        if smalls > u64::from(of_small) {
            break;
        }
        let over = larges * large + smalls * small - portions;
        let found = (over, larges + smalls, larges, smalls);
        if best.is_none_or(|best| (found.0, found.1) < (best.0, best.1)) {
            best = Some(found);
        }
        if over == 0 {
            break;
        }
    }
    let (_, _, larges, smalls) = best?;
    let (larges, smalls) = (u32::try_from(larges).ok()?, u32::try_from(smalls).ok()?);
    Some(if turned {
        (smalls, larges)
    } else {
        (larges, smalls)
    })
}

impl Batch {
    /// Returns whether how much a batch fills differs from batch to batch, or is not on the card.
    fn varies(&self) -> bool {
        self.also.is_some() || self.last == Last::Part
    }

    /// Returns the vessels that so many portions fill, and the portions there are once they are filled whole.
    fn filled(&self, kitchen: &Kitchen, portions: u32) -> Made {
        let plain = |vessels| Made { portions, vessels };
        let named = |id: &Option<String>| kitchen.kit(id.as_deref()?);
        let Some((kit, vessel)) = named(&self.vessel) else {
            return plain(Vec::new());
        };
        let whole = portions >= self.portions;
        let holds = vessel.holds.filter(|&holds| holds > 0);
        if let Some((other_kit, other)) = named(&self.also)
            && let (Some(holds), Some(other_holds)) = (holds, other.holds.filter(|&it| it > 0))
        {
            let sizes = ((holds, vessel.places()), (other_holds, other.places()));
            // Too few of both is said by the menu's own rules; as many as there are is then as good as any.
            let (of_one, of_other) =
                mix(portions, sizes.0, sizes.1).unwrap_or((sizes.0.1, sizes.1.1));
            let room =
                u64::from(of_one) * u64::from(holds) + u64::from(of_other) * u64::from(other_holds);
            let vessels = [(kit, of_one), (other_kit, of_other)];
            return Made {
                portions: made_whole(portions, room, self.portions),
                vessels: vessels
                    .into_iter()
                    .filter(|&(_, count)| count > 0)
                    .collect(),
            };
        }
        if whole {
            return plain(vec![(kit, self.vessels)]);
        }
        if let Some(holds) = holds {
            let vessels = portions.div_ceil(holds).min(self.vessels);
            let room = u64::from(vessels) * u64::from(holds);
            return Made {
                portions: made_whole(portions, room, self.portions),
                vessels: vec![(kit, vessels)],
            };
        }
        // A vessel whose room is not known is as full as that of a whole batch.
        let share = u64::from(self.vessels) * u64::from(portions);
        let vessels = share.div_ceil(u64::from(self.portions.max(1)));
        plain(vec![(kit, u32::try_from(vessels).unwrap_or(u32::MAX))])
    }
}

/// Returns the portions of a part-batch once its moulds are filled: what they have room for, and no more than a batch.
fn made_whole(portions: u32, room: u64, batch: u32) -> u32 {
    let room = u32::try_from(room).unwrap_or(u32::MAX);
    room.min(batch).max(portions)
}

/// A last batch that makes as much as the others, because its moulds are filled whole, is one of them.
fn alike_together(runs: Vec<(u32, Made)>) -> Vec<(u32, Made)> {
    let mut together: Vec<(u32, Made)> = Vec::new();
    for (count, made) in runs {
        match together.last_mut() {
            Some((known, last)) if *last == made => *known = known.saturating_add(count),
            _ => together.push((count, made)),
        }
    }
    together
}

impl Menu {
    /// Returns the batches of a dish, each with what it makes and what it fills: as many as covers and spare portions
    /// need, or as the cook has decided.
    pub fn made(&self, dish: &Dish) -> Batches {
        let wanted = self.portions_of(dish);
        let Some(batch) = &dish.batch else {
            let only = Made {
                portions: wanted,
                vessels: Vec::new(),
            };
            return Batches {
                runs: vec![(1, only)],
            };
        };
        let each = batch.portions.max(1);
        let fills = |portions| batch.filled(&self.kitchen, portions);
        let runs: Vec<(u32, Made)> = match (batch.last, dish.batches) {
            (Last::Whole, decided) => {
                let count = decided.unwrap_or_else(|| wanted.div_ceil(each));
                vec![(count.max(1), fills(each))]
            }
            (Last::Part, None) => {
                let (whole, part) = (wanted / each, wanted % each);
                let mut runs = Vec::new();
                if whole > 0 {
                    runs.push((whole, fills(each)));
                }
                if part > 0 || whole == 0 {
                    runs.push((1, fills(part.max(1))));
                }
                runs
            }
            (Last::Part, Some(decided)) => {
                let count = decided.clamp(1, wanted.max(1));
                let (share, more) = (wanted / count, wanted % count);
                let of = |count: u32, portions: u32| {
                    (count > 0).then(|| (count, fills(portions.clamp(1, each))))
                };
                of(more, share.saturating_add(1))
                    .into_iter()
                    .chain(of(count - more, share))
                    .collect()
            }
        };
        Batches {
            runs: alike_together(runs),
        }
    }

    /// Returns how many batches of a dish must be made.
    pub fn batches_of(&self, dish: &Dish) -> u32 {
        self.made(dish).count()
    }

    /// Returns what one doing of a step makes: of a step done per batch, that batch; of one done per part, its share;
    /// of any other, all of it.
    pub fn makes(&self, dish: &Dish, made: &Batches, each: &Multiple, batch: u32) -> Makes {
        let card = dish.batch.as_ref();
        let volume = card.and_then(|batch| batch.volume).unwrap_or(0.0);
        let of_card =
            |portions: f64| card.map_or(1.0, |batch| portions / f64::from(batch.portions.max(1)));
        let whole = of_card(made.portions() as f64);
        let (portions, batches, of_card) = match each {
            Multiple::Batch => {
                let portions = made.batch(batch).portions;
                (portions, 1, of_card(f64::from(portions)))
            }
            Multiple::Dish => (self.portions_of(dish), made.count(), whole),
            Multiple::Parts(parts) => {
                let share = u32::try_from(parts.len()).unwrap_or(u32::MAX).max(1);
                let portions = self.portions_of(dish).div_ceil(share);
                (portions, made.count(), whole / f64::from(share))
            }
        };
        Makes {
            portions,
            batches,
            millilitres: volume * of_card,
            of_card,
        }
    }

    /// Returns what a doing uses of kit. A step done per batch that uses as many of the batch's vessel as a whole
    /// batch fills uses what this batch fills: fewer for a part of one, and some of the other size where they are
    /// mixed. Anything else is used as it is written.
    pub fn uses(
        &self,
        dish: &Dish,
        made: &Batches,
        step: &Step,
        batch: u32,
        uses: &[KitUse],
    ) -> Vec<KitUse> {
        let used = uses.iter().flat_map(|used| {
            let vessels = self.vessels(dish, made, step, batch, (&used.kit, used.count));
            vessels.into_iter().map(|(kit, count)| KitUse {
                kit,
                count,
                heat: used.heat,
            })
        });
        used.collect()
    }

    /// Returns what a doing keeps of kit, by the same rule as [`Menu::uses`].
    pub fn keeps(
        &self,
        dish: &Dish,
        made: &Batches,
        step: &Step,
        batch: u32,
        keep: &Keep,
    ) -> Vec<(String, u32)> {
        self.vessels(dish, made, step, batch, (&keep.kit, keep.count))
    }

    fn vessels(
        &self,
        dish: &Dish,
        made: &Batches,
        step: &Step,
        batch: u32,
        (kit, count): (&str, u32),
    ) -> Vec<(String, u32)> {
        let stands_for = dish.batch.as_ref().is_some_and(|card| {
            step.each == Multiple::Batch
                && card.varies()
                && card.vessel.as_deref() == Some(kit)
                && card.vessels == count
        });
        if !stands_for {
            return vec![(kit.to_owned(), count)];
        }
        let vessels = made.batch(batch).vessels.iter();
        let named = vessels
            .filter_map(|&(kit, count)| Some((self.kitchen.kit.get(kit)?.id.clone(), count)));
        named.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every mix of two sizes, tried one by one.
    fn tried(portions: u32, one: (u32, u32), other: (u32, u32)) -> Option<(u32, u32)> {
        type Ranked = ((u32, u32, u32), (u32, u32));
        let mut best: Option<Ranked> = None;
        for of_one in 0..=one.1 {
            for of_other in 0..=other.1 {
                let room = of_one * one.0 + of_other * other.0;
                if room < portions {
                    continue;
                }
                let larges = if other.0 > one.0 { of_other } else { of_one };
                let rank = (room - portions, of_one + of_other, u32::MAX - larges);
                if best.is_none_or(|(known, _)| rank < known) {
                    best = Some((rank, (of_one, of_other)));
                }
            }
        }
        best.map(|(_, mix)| mix)
    }

    #[test]
    fn the_mix_of_two_sizes_is_the_best_of_all_there_are() {
        for portions in 1..70 {
            for one in [(10, 3), (7, 9), (4, 20), (1, 8), (12, 0)] {
                for other in [(4, 6), (3, 11), (10, 2), (6, 0), (1, 40)] {
                    assert_eq!(
                        mix(portions, one, other),
                        tried(portions, one, other),
                        "{portions} into {one:?} and {other:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn ninety_six_go_into_eight_of_ten_and_four_of_four_rather_than_leave_room() {
        assert_eq!(mix(96, (10, 8), (4, 12)), Some((8, 4)));
        // The other size named first: the same moulds.
        assert_eq!(mix(96, (4, 12), (10, 8)), Some((4, 8)));
        assert_eq!(mix(129, (10, 8), (4, 12)), None);
        assert_eq!(mix(128, (10, 8), (4, 12)), Some((8, 12)));
    }
}
