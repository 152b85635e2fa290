//! What to buy of one thing: what is lost put on top, what is in stock taken off, the rest in whole packs.

use super::sum::{Sum, how_turned};
use crate::menu::{Amount, Density, Goods, words};
use crate::quantity::bought::{Kind, turned};

/// What to buy of one thing.
pub(super) struct Bought {
    /// How many packs, and what each holds; `None` where nobody says what a pack holds.
    pub(super) packs: Option<(u64, Amount)>,
    /// What to buy beside them.
    pub(super) loose: Vec<Amount>,
}

/// Returns what to buy where so much is wanted; says in `remarks` what is to be known of it.
pub(super) fn buy(
    goods: &Goods,
    density: Option<&Density>,
    each: Option<&Amount>,
    mut rest: Sum,
    remarks: &mut Vec<String>,
) -> Bought {
    let kept_for_use = f64::from(1000 - goods.loss.min(999)) / 1000.0;
    if goods.loss > 0 {
        remarks.push(format!("{} is lost in trimming", words::share(goods.loss)));
    }
    let mut stock = goods.stock.as_ref().and_then(Kind::of);
    let mut packs = None;
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
        packs = Some((whole_packs(needed, size), pack.clone()));
    }
    // Without packs to count in, what can be added is.
    if packs.is_none()
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
                remarks.push(how_turned((&kind, &to), density, each));
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
            loose.add_of(kind, needed, &word);
        }
    }
    if stock.is_some() && (!loose.of.is_empty() || packs.as_ref().is_some_and(|it| it.0 > 0)) {
        remarks.push(
            "what is in stock is not taken off: nothing says what it is of what is wanted"
                .to_owned(),
        );
    }
    if packs.is_some() && !loose.of.is_empty() {
        remarks
            .push("not all of it can be counted in packs: nothing says what it weighs".to_owned());
    } else if loose.of.len() > 1 {
        remarks.push("its amounts cannot be added, so each stands".to_owned());
    }
    let mut loose = loose.amounts();
    // Of what is also wanted to taste a whole pack leaves enough.
    if packs.as_ref().is_some_and(|(count, _)| *count > 0) {
        loose.retain(|amount| *amount != Amount::ToTaste);
    }
    Bought { packs, loose }
}

/// Returns how many whole packs hold so much. What is over by less than a millionth is what adding left behind.
fn whole_packs(needed: f64, size: f64) -> u64 {
    let packs = (needed / size - 1e-6).ceil();
    if packs > 0.0 { packs as u64 } else { 0 }
}
