//! Which packs to buy where goods come in several sizes.
//!
//! Where every size has a price, what costs least; else what leaves least over. Of equals what leaves less over, and then
//! fewer packs. All mixes are tried, as long as they are not so many that nobody would carry them: past that the best
//! single size is taken, and what a mix would save is less than one pack in hundreds.

/// Mixes that are tried at most.
const MIXES: f64 = 50_000.0;

/// One size of pack.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Size {
    /// What it holds, above nought, in the unit of what is needed.
    pub(super) holds: f64,
    /// What it costs, in the smallest coin.
    pub(super) price: Option<u64>,
}

/// What a choice of packs comes to, in the order in which choices are compared.
type Comes = (u64, f64, u64);

/// Returns how many packs of each size to buy so that they hold so much; none of any where nothing is needed.
pub(super) fn packs(sizes: &[Size], needed: f64) -> Vec<u64> {
    let priced = sizes.iter().all(|size| size.price.is_some());
    let most = |size: &Size| whole(needed, size.holds);
    // The most that each size can take part in, but for the last, which fills up.
    let mixes: f64 = sizes
        .iter()
        .skip(1)
        .map(|size| most(size) as f64 + 1.0)
        .product();
    let mut best: Option<(Comes, Vec<u64>)> = None;
    let mut counts = vec![0; sizes.len()];
    if mixes <= MIXES {
        fill(sizes, needed, priced, &mut counts, sizes.len(), &mut best);
    } else {
        for (place, size) in sizes.iter().enumerate() {
            counts.fill(0);
            counts[place] = most(size);
            better(sizes, needed, priced, &counts, &mut best);
        }
    }
    best.map_or(counts, |(_, counts)| counts)
}

/// Tries every number of the sizes before `left`, the first of them filling up.
fn fill(
    sizes: &[Size],
    needed: f64,
    priced: bool,
    counts: &mut Vec<u64>,
    left: usize,
    best: &mut Option<(Comes, Vec<u64>)>,
) {
    let Some(place) = left.checked_sub(1) else {
        return;
    };
    let held = |counts: &[u64]| -> f64 {
        let of = sizes.iter().zip(counts).skip(left);
        of.map(|(size, &count)| size.holds * count as f64).sum()
    };
    let most = whole(needed - held(counts), sizes[place].holds);
    if place == 0 {
        counts[0] = most;
        better(sizes, needed, priced, counts, best);
        return;
    }
    for count in (0..=most).rev() {
        counts[place] = count;
        fill(sizes, needed, priced, counts, place, best);
    }
}

fn better(
    sizes: &[Size],
    needed: f64,
    priced: bool,
    counts: &[u64],
    best: &mut Option<(Comes, Vec<u64>)>,
) {
    let of = || sizes.iter().zip(counts);
    let cost = if priced {
        of().fold(0_u64, |sum, (size, &count)| {
            sum.saturating_add(size.price.unwrap_or(0).saturating_mul(count))
        })
    } else {
        0
    };
    let held: f64 = of().map(|(size, &count)| size.holds * count as f64).sum();
    let number = counts.iter().fold(0_u64, |sum, &it| sum.saturating_add(it));
    // What adding leaves behind is no difference.
    let over = ((held - needed).max(0.0) / needed.max(1e-9) * 1e6).round();
    let comes = (cost, over, number);
    if best.as_ref().is_none_or(|(known, _)| comes < *known) {
        *best = Some((comes, counts.to_vec()));
    }
}

/// Returns how many whole packs hold so much. What is over by less than a millionth is what adding left behind.
pub(super) fn whole(needed: f64, size: f64) -> u64 {
    let packs = (needed / size - 1e-6).ceil();
    if packs > 0.0 { packs as u64 } else { 0 }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn size(holds: f64, price: u64) -> Size {
        let price = (price > 0).then_some(price);
        Size { holds, price }
    }

    #[test]
    fn by_hand() {
        // Litres of milk at 5.60 for five and 1.30 for one.
        let milk = [size(5.0, 560), size(1.0, 130)];
        assert_eq!(packs(&milk, 11.0), [2, 1]);
        assert_eq!(packs(&milk, 14.0), [2, 4], "16.40 is less than 16.80");
        assert_eq!(packs(&milk, 14.5), [3, 0], "16.80 is less than 17.70");
        assert_eq!(packs(&milk, 0.0), [0, 0]);
        assert_eq!(packs(&milk, -3.0), [0, 0]);
        // The same without a price for one of them: least left over, then fewest.
        let unpriced = [size(5.0, 560), size(1.0, 0)];
        assert_eq!(packs(&unpriced, 14.5), [3, 0]);
        assert_eq!(packs(&unpriced, 13.5), [2, 4]);
        // Ten boxes of 30 and of 12 hold 48 as two of each, or as four of twelve: neither leaves anything.
        assert_eq!(packs(&[size(30.0, 0), size(12.0, 0)], 48.0), [0, 4]);
        assert_eq!(packs(&[size(12.0, 0), size(30.0, 0)], 84.0), [2, 2]);
        // Half a kilogram and two thirds of one, as floats.
        assert_eq!(packs(&[size(0.1, 0), size(0.7, 0)], 0.8), [1, 1]);
    }

    #[test]
    fn very_many_are_of_one_size() {
        let sizes = [size(0.001, 1), size(0.003, 2), size(0.007, 4)];
        assert_eq!(packs(&sizes, 7000.0), [0, 0, 1_000_000]);
    }

    proptest! {
        #[test]
        fn the_best_of_all_mixes(
            sizes in prop::collection::vec((1_u32..12, 0_u64..90), 1..4),
            needed in 1_u32..60,
            priced in any::<bool>(),
        ) {
            let sizes: Vec<Size> = sizes
                .into_iter()
                .map(|(holds, price)| size(f64::from(holds), if priced { price + 1 } else { 0 }))
                .collect();
            let needed = f64::from(needed);
            let found = packs(&sizes, needed);
            let comes = |counts: &[u64]| {
                let of = || sizes.iter().zip(counts);
                let held: f64 = of().map(|(it, &count)| it.holds * count as f64).sum();
                let cost: u64 = of().map(|(it, &count)| it.price.unwrap_or(0) * count).sum();
                (held >= needed).then(|| (cost, (held - needed) as u64, counts.iter().sum::<u64>()))
            };
            // Every mix, counted through like the figures of a number.
            let mut best = None;
            let mut counts = vec![0_u64; sizes.len()];
            'mixes: loop {
                if let Some(it) = comes(&counts)
                    && best.is_none_or(|best| it < best)
                {
                    best = Some(it);
                }
                for place in 0..counts.len() {
                    counts[place] += 1;
                    if counts[place] as f64 * sizes[place].holds < needed + sizes[place].holds {
                        continue 'mixes;
                    }
                    counts[place] = 0;
                }
                break;
            }
            prop_assert_eq!(comes(&found), best);
        }
    }
}
