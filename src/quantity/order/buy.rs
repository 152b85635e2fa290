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
        bought = Some(in_packs(goods, (pack, &kind), needed, remarks));
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

/// Returns how many packs of each size hold so much, the first size as given.
fn in_packs(
    goods: &Goods,
    (first, kind): (&Amount, &Kind),
    needed: f64,
    remarks: &mut Vec<String>,
) -> Vec<Packs> {
    let none = |holds: &Amount, price| Packs {
        count: 0,
        holds: holds.clone(),
        price,
    };
    let others = goods.other_packs.iter();
    let others = others
        .filter(|pack| Kind::of(&pack.holds).is_some_and(|(of, holds)| of == *kind && holds > 0.0));
    let all: Vec<Packs> = std::iter::once(none(first, goods.price))
        .chain(others.map(|pack| none(&pack.holds, pack.price)))
        .collect();
    let unpriced = all.iter().any(|it| it.price.is_none());
    if all.len() > 1 && needed > 0.0 && unpriced && all.iter().any(|it| it.price.is_some()) {
        remarks.push(
            "not every size has a price, so what leaves least over is bought, and not what costs least"
                .to_owned(),
        );
    }
    counted(all, needed)
}

/// Returns how many packs of these sizes hold so much, whatever their counts were.
pub(super) fn counted(mut sizes: Vec<Packs>, needed: f64) -> Vec<Packs> {
    let size = |of: &Packs| Size {
        holds: Kind::of(&of.holds).map_or(0.0, |(_, holds)| holds),
        price: of.price,
    };
    let counts = packs(&sizes.iter().map(size).collect::<Vec<_>>(), needed);
    for (size, count) in sizes.iter_mut().zip(counts) {
        size.count = count;
    }
    sizes
}
