//! What to buy of one thing: what is lost put on top, what is in stock taken off, the rest in whole packs.

use super::Packs;
use super::packs::{Size, packs};
use super::sum::{Sum, how_turned, word_of};
use crate::menu::{Amount, Density, Goods, words};
use crate::quantity::bought::{Kind, turned};
use crate::quantity::pieces::Piece;

/// What to buy of one thing.
pub(super) struct Bought {
    /// How many packs of each size; `None` where nobody says what a pack holds.
    pub(super) packs: Option<Vec<Packs>>,
    /// What to buy beside them.
    pub(super) loose: Vec<Amount>,
    /// All of that before it is rounded up to packs.
    pub(super) net: Sum,
}

/// Returns what to buy where so much is wanted; says in `remarks` what is to be known of it.
pub(super) fn buy(
    goods: &Goods,
    density: Option<&Density>,
    piece: Option<&Piece<'_>>,
    mut rest: Sum,
    remarks: &mut Vec<String>,
) -> Bought {
    let each = piece.map(|it| &*it.holds);
    let kept_for_use = f64::from(1000 - goods.loss.min(999)) / 1000.0;
    if goods.loss > 0 {
        remarks.push(format!("{} is lost in trimming", words::share(goods.loss)));
    }
    let mut stock = goods.stock.as_ref().and_then(Kind::of);
    let mut bought = None;
    let mut net = Sum::default();
    let mut loose = Sum {
        to_taste: rest.to_taste,
        ..Sum::default()
    };
    if let Some(pack) = &goods.pack
        && let Some((kind, size)) = Kind::of(pack)
        && size > 0.0
    {
        let taken = rest.take(&kind, density, each).unwrap_or(0.0);
        let mut needed = taken / kept_for_use;
        if let Some((of, number)) = &stock
            && let Some(there) = turned((of, *number), &kind, density, each)
        {
            needed -= there;
            stock = None;
        }
        if needed > 1e-9 {
            net.add_of(kind.clone(), needed, word_of(pack));
        }
        bought = Some(in_packs(goods, (pack, &kind, size), needed, remarks));
    }
    // Without packs to count in, what can be added is.
    if bought.is_none()
        && rest.of.len() > 1
        && let Some((kind, (_, word))) = rest.of.iter().next()
    {
        let (kind, word) = (kind.clone(), word.clone());
        let before = rest.of.len();
        if let Some(all) = rest.take(&kind, density, each) {
            if rest.of.len() + 1 < before {
                let to = if kind == Kind::Grams {
                    Kind::Millilitres
                } else {
                    Kind::Grams
                };
                remarks.push(how_turned((&kind, &to), density, piece));
            }
            rest.add_of(kind, all, &word);
        }
    }
    // What no pack holds is bought by itself.
    for (kind, (number, word)) in std::mem::take(&mut rest.of) {
        let mut needed = number / kept_for_use;
        if let Some((of, there)) = &stock
            && let Some(there) = turned((of, *there), &kind, density, each)
        {
            needed -= there;
            stock = None;
        }
        if needed > 1e-9 {
            net.add_of(kind.clone(), needed, &word);
            loose.add_of(kind, needed, &word);
        }
    }
    let any = bought
        .as_ref()
        .is_some_and(|it: &Vec<Packs>| it.iter().any(|it| it.count > 0));
    if stock.is_some() && (!loose.of.is_empty() || any) {
        remarks.push(
            "what is in stock is not taken off: nothing says what it is of what is wanted"
                .to_owned(),
        );
    }
    if bought.is_some() && !loose.of.is_empty() {
        remarks
            .push("not all of it can be counted in packs: nothing says what it weighs".to_owned());
    } else if loose.of.len() > 1 {
        remarks.push("its amounts cannot be added, so each stands".to_owned());
    }
    let mut loose = loose.amounts();
    // Of what is also wanted to taste a whole pack leaves enough.
    if any {
        loose.retain(|amount| *amount != Amount::ToTaste);
    }
    Bought {
        packs: bought,
        loose,
        net,
    }
}

/// Returns how many packs of the sizes of these hold so much.
pub(super) fn again_in_packs(packs: &[Packs], needed: f64) -> Vec<Packs> {
    let size = |of: &Packs| Size {
        holds: Kind::of(&of.holds).map_or(0.0, |(_, holds)| holds),
        price: of.price,
    };
    let sizes: Vec<Size> = packs.iter().map(size).collect();
    let counts = super::packs::packs(&sizes, needed);
    let counted = packs.iter().zip(counts);
    counted
        .map(|(packs, count)| Packs {
            count,
            ..packs.clone()
        })
        .collect()
}

/// Returns how many packs of each size hold so much, the first size as given.
fn in_packs(
    goods: &Goods,
    (first, kind, size): (&Amount, &Kind, f64),
    needed: f64,
    remarks: &mut Vec<String>,
) -> Vec<Packs> {
    let others = goods.other_packs.iter().filter_map(|pack| {
        let (of, holds) = Kind::of(&pack.holds)?;
        (of == *kind && holds > 0.0).then_some((&pack.holds, holds, pack.price))
    });
    let all: Vec<_> = std::iter::once((first, size, goods.price))
        .chain(others)
        .collect();
    let sizes: Vec<Size> = all
        .iter()
        .map(|&(_, holds, price)| Size { holds, price })
        .collect();
    let counts = packs(&sizes, needed);
    let unpriced = all.iter().any(|(_, _, price)| price.is_none());
    if all.len() > 1 && needed > 0.0 && unpriced && all.iter().any(|it| it.2.is_some()) {
        remarks.push(
            "not every size has a price, so what leaves least over is bought, and not what costs least"
                .to_owned(),
        );
    }
    let found = all.into_iter().zip(counts);
    found
        .map(|((holds, _, price), count)| Packs {
            count,
            holds: holds.clone(),
            price,
        })
        .collect()
}
