//! Guests with needs, held against the matrix and the cautions.
//!
//! A dish that a guest is said to go without is not theirs. Every other dish is, so a dish that holds what they
//! avoid, or of which that is not known, is told. What is not known is told as loudly as what is: nobody is served
//! a guess. Nor is what only a name gives away passed over ([`super::looks_like`]): honey of which no caution has been
//! declared is not known to be fit for an infant. And a guest of whom no need is said has one all the same, or would
//! not be on the list.

use super::allergens::{Reason, Standing, allergen_name, cell, unlisted};
use super::caution_name;
use super::cautions::bears;
use super::flow::taken_from;
use super::looks_like::{Suggests, suggestions};
use crate::menu::{Allergen, Caution, Guest, GuestKind, Menu};

/// Why a guest should not be served a dish as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// The dish's place in the menu.
    pub dish: usize,
    /// How sure it is.
    pub standing: Standing,
    /// Why, as a sentence without a full stop.
    pub what: String,
}

/// One guest, checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GuestChecked {
    /// The place in [`Menu::guests`].
    pub guest: usize,
    /// Every clash, by dish.
    pub clashes: Vec<Clash>,
    /// The dishes they get, and nothing clashes in.
    pub served: Vec<usize>,
}

/// Returns all of an allergen: spelt and khorasan are wheat.
fn with_kinds(allergen: Allergen) -> Vec<Allergen> {
    match allergen {
        Allergen::Wheat => vec![Allergen::Wheat, Allergen::Spelt, Allergen::Khorasan],
        other => vec![other],
    }
}

/// Returns what else a guest is not to be served, by who they are and what is said of them.
///
/// Raw egg and milk: FDA Food Code §3-801.11, FSA advice; honey before twelve months, and firm jellies and alcohol for
/// infants: common advice of health authorities, from memory.
pub fn not_for(guest: &Guest) -> Vec<Caution> {
    let mut not = match guest.kind {
        GuestKind::Anyone => Vec::new(),
        GuestKind::Vulnerable => vec![Caution::RawEgg, Caution::RawMilk],
        GuestKind::Infant => vec![
            Caution::RawEgg,
            Caution::RawMilk,
            Caution::Honey,
            Caution::ChokingSize,
            Caution::Alcohol,
        ],
    };
    for &caution in &guest.not {
        if !not.contains(&caution) {
            not.push(caution);
        }
    }
    not
}

fn sentences<'r>(reasons: impl Iterator<Item = &'r Reason>) -> String {
    let sentences: Vec<_> = reasons.map(Reason::sentence).collect();
    sentences.join("; ")
}

/// Holds every guest of a menu against its dishes.
pub fn check(menu: &Menu) -> Vec<GuestChecked> {
    menu.guests
        .iter()
        .enumerate()
        .map(|(guest, said)| {
            let mut clashes: Vec<Clash> = Vec::new();
            let mut served = Vec::new();
            for (place, dish) in menu.dishes.iter().enumerate() {
                if said.without.contains(&dish.id) {
                    continue;
                }
                let before = clashes.len();
                let mut push = |standing, what| {
                    clashes.push(Clash {
                        dish: place,
                        standing,
                        what,
                    });
                };
                let not = not_for(said);
                if said.avoids.is_empty() && not.is_empty() && said.without.is_empty() {
                    push(
                        Standing::NotKnown,
                        "nobody has said what they are not to be served".to_owned(),
                    );
                }
                let taken = taken_from(menu, dish);
                let mut guessed = suggestions(dish);
                guessed.extend(taken.iter().flat_map(|taken| suggestions(taken.dish)));
                // What is unknown of a dish is so for all that they avoid, and is said once.
                let mut unknown: Vec<(String, Vec<&str>)> = Vec::new();
                let mut not_known =
                    |why: String, name| match unknown.iter_mut().find(|(known, _)| *known == why) {
                        Some((_, names)) => names.push(name),
                        None => unknown.push((why, vec![name])),
                    };
                for &allergen in &said.avoids {
                    let kinds = with_kinds(allergen);
                    let cell = cell(menu, dish, &kinds, |_| true);
                    let standing = cell.standing();
                    if standing == Standing::Free {
                        let looks = guessed.iter().filter(|it| match it.suggests {
                            Suggests::Allergen(allergen) => kinds.contains(&allergen),
                            Suggests::Caution(_) => false,
                        });
                        for suggestion in looks {
                            push(Standing::NotKnown, suggestion.what.clone());
                        }
                        continue;
                    }
                    let why = sentences(cell.reasons.iter().filter(|it| it.standing == standing));
                    let name = allergen_name(allergen);
                    if standing == Standing::NotKnown {
                        not_known(why, name);
                    } else {
                        push(standing, format!("{name}: {why}"));
                    }
                }
                // Cautions are declared of ingredients: where none are listed, no silence says that there is none.
                let unlisted = unlisted(dish, &taken);
                for &caution in not.iter().filter(|_| !unlisted.is_empty()) {
                    not_known(sentences(unlisted.iter()), caution_name(caution));
                }
                for (why, names) in unknown {
                    push(Standing::NotKnown, format!("{}: {why}", names.join(", ")));
                }
                for &caution in &not {
                    let name = caution_name(caution);
                    let places = bears(dish, caution);
                    if !places.is_empty() {
                        push(Standing::Contains, format!("{name}: {}", places.join(", ")));
                    }
                    // Which part of another dish goes into this one nobody has said.
                    for taken in &taken {
                        let places = bears(taken.dish, caution);
                        if !places.is_empty() {
                            let (places, from) = (places.join(", "), taken.name());
                            let what = format!(
                                "{name}: {places} in {from}, which one of its steps follows"
                            );
                            push(Standing::NotKnown, what);
                        }
                    }
                }
                for suggestion in guessed {
                    if let Suggests::Caution(caution) = suggestion.suggests
                        && not.contains(&caution)
                    {
                        push(Standing::NotKnown, suggestion.what);
                    }
                }
                if clashes.len() == before {
                    served.push(place);
                }
            }
            GuestChecked {
                guest,
                clashes,
                served,
            }
        })
        .collect()
}
