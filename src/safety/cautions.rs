//! The usual cautions of the trade, in our own words.

use super::flow::{always_meets, taken_from};
use super::treated::{Dairy, egg_cooked, pasteurised};
use crate::menu::{Caution, ClockWait, Dish, Ingredient, Menu, Step, StepTime, Temperature};

/// Returns the usual caution, as one or two sentences without a full stop at the end.
pub fn caution_text(caution: Caution) -> &'static str {
    match caution {
        Caution::RawEgg => {
            "Egg that stays raw or soft can carry salmonella; use pasteurised egg for children, the old, the pregnant and the ill, and say so on the menu"
        }
        Caution::RawMilk => {
            "Unpasteurised milk or cream can carry dangerous germs; where the law lets you use it at all, say so to every guest"
        }
        Caution::HotSugar => {
            "Boiling sugar is far hotter than boiling water, sticks and goes on burning; clear the way, keep cold water beside you, never touch to test"
        }
        Caution::Cooling => {
            "Cool quickly: spread it shallow and stir over ice; a common rule is 57 to 21 °C within 2 h and to 5 °C within 6 h in all, others ask for less"
        }
        Caution::ToxicKernels => {
            "Raw apricot kernels, bitter almonds and the like give off cyanide; a few can poison a child; use only as much as the law and a tested method allow"
        }
        Caution::InedibleGarnish => {
            "Not everything pretty can be eaten, and florists' flowers are sprayed; take it off before serving or tell every guest"
        }
        Caution::OpenFlame => {
            "Never leave a flame or a hot hob alone; somebody stays in the building and looks in"
        }
        Caution::Alcohol => {
            "Alcohol stays in, even after cooking; tell guests, and make a portion without for those who want none"
        }
        Caution::NamedColour => {
            "This colouring must be named to guests; some people react badly to it"
        }
        Caution::Honey => "Honey is not for infants under one year",
        Caution::Cryogen => {
            "Dry ice and liquid nitrogen burn the skin and drive the air out of a room; air the room, wear gloves, and serve nothing until all of it is gone"
        }
        Caution::ChokingSize => {
            "A firm jelly that fits a child's throat can choke; cut it differently or keep it from small children"
        }
    }
}

/// Returns where a caution comes from.
pub fn caution_source(caution: Caution) -> &'static str {
    match caution {
        Caution::RawEgg => {
            "FDA Food Code §3-302.13 and §3-801.11; Food Standards Agency, 2017 and 2021"
        }
        Caution::RawMilk => "FDA Food Code §3-202.14; 21 CFR 1240.61",
        Caution::HotSugar => {
            "burn tables: 60 °C burns deeply in 5 s; sugar at 120 °C and more is taken as at once"
        }
        Caution::Cooling => "FDA Food Code §3-501.14(A)",
        Caution::ToxicKernels => {
            "EFSA Journal 2016;14(4):4424; Regulations (EU) 2017/1237 and 2023/915"
        }
        Caution::InedibleGarnish => {
            "lists of gardens and of the press; no authority's text was read"
        }
        Caution::OpenFlame => "common practice, no source",
        Caution::Alcohol => "USDA Table of Nutrient Retention Factors, release 6, 2007",
        Caution::NamedColour => "for carmine 74 FR 216 and 21 CFR 73.100",
        Caution::Honey => "common advice of health authorities, from memory",
        Caution::Cryogen => "FDA, 30 August and 31 October 2018; Food Standards Agency, 2012",
        Caution::ChokingSize => "Regulation (EC) 1333/2008 Annex II; EFSA, 2004",
    }
}

/// Returns the short name of a caution, for lists.
pub fn caution_name(caution: Caution) -> &'static str {
    match caution {
        Caution::RawEgg => "raw egg",
        Caution::RawMilk => "unpasteurised milk",
        Caution::HotSugar => "hot sugar",
        Caution::Cooling => "cool quickly",
        Caution::ToxicKernels => "poisonous kernels",
        Caution::InedibleGarnish => "garnish not to be eaten",
        Caution::OpenFlame => "flame",
        Caution::Alcohol => "alcohol",
        Caution::NamedColour => "colouring to be named",
        Caution::Honey => "honey",
        Caution::Cryogen => "dry ice or nitrogen",
        Caution::ChokingSize => "choking size",
    }
}

/// A caution of a dish, and where it comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bearing {
    /// Which.
    pub caution: Caution,
    /// The names of the ingredients and steps that have it, those of another dish with its name.
    pub places: Vec<String>,
    /// What can be reckoned of it: how much alcohol is left, whether a step cooks the egg.
    pub more: Option<String>,
}

/// Returns where a dish itself has a caution: the names of ingredients, of steps and of rescues.
pub(super) fn bears(dish: &Dish, caution: Caution) -> Vec<&str> {
    let of = |cautions: &[Caution]| cautions.contains(&caution);
    let ingredients = dish.ingredients.iter().filter(|it| of(&it.cautions));
    let steps = dish.steps.iter().chain(&dish.rescues);
    ingredients
        .map(|it| it.name.as_str())
        .chain(
            steps
                .filter(|it| of(&it.cautions))
                .map(|it| it.name.as_str()),
        )
        .collect()
}

/// Whether a caution goes with the food into what is made of it; the others are about the work.
fn is_eaten(caution: Caution) -> bool {
    !matches!(
        caution,
        Caution::HotSugar | Caution::Cooling | Caution::OpenFlame
    )
}

/// Returns every caution of a dish, by ingredient and by step, with those of what it takes from other dishes.
pub fn of_dish(menu: &Menu, dish: &Dish) -> Vec<Bearing> {
    let taken = taken_from(menu, dish);
    let of_card = |dish: &Dish| -> Vec<Caution> {
        let steps = dish.steps.iter().chain(&dish.rescues);
        let steps = steps.flat_map(|step| step.cautions.iter().copied());
        let ingredients = dish.ingredients.iter();
        ingredients
            .flat_map(|it| it.cautions.iter().copied())
            .chain(steps)
            .collect()
    };
    let mut cautions = of_card(dish);
    let others = taken.iter().flat_map(|taken| of_card(taken.dish));
    cautions.extend(others.filter(|&caution| is_eaten(caution)));
    cautions.sort();
    cautions.dedup();
    cautions
        .into_iter()
        .map(|caution| {
            let mut places: Vec<String> = bears(dish, caution)
                .into_iter()
                .map(str::to_owned)
                .collect();
            for taken in taken.iter().filter(|_| is_eaten(caution)) {
                let there = bears(taken.dish, caution).into_iter();
                places.extend(there.map(|place| format!("{place} in {}", taken.name())));
            }
            Bearing {
                caution,
                places,
                more: match caution {
                    Caution::Alcohol => alcohol_of(dish),
                    Caution::RawEgg | Caution::RawMilk => treated(dish, caution),
                    _ => None,
                },
            }
        })
        .collect()
}

/// What is done to something with alcohol in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AlcoholIs {
    /// Stirred in and baked or simmered for so many minutes.
    Simmered(u32),
    /// Set alight.
    Flamed,
    /// Not heated, left overnight.
    Overnight,
    /// Not heated, served at once.
    ServedAtOnce,
}

/// Returns how much of the alcohol is left, of a hundred parts: USDA Table of Nutrient Retention Factors, release 6
/// (2007). Between its rows the longer-lasting one counts; beyond two and a half hours its last figure, and never none.
/// Its row of what is baked without being stirred in (45) is left out: no card says so.
pub fn alcohol_left(is: AlcoholIs) -> u32 {
    match is {
        AlcoholIs::Simmered(minutes) => match minutes {
            150.. => 5,
            120.. => 10,
            90.. => 20,
            60.. => 25,
            30.. => 35,
            15.. => 40,
            // Less than a quarter of an hour has no row of its own: that of what is stirred into boiling liquid.
            _ => 85,
        },
        AlcoholIs::Flamed => 75,
        AlcoholIs::Overnight => 70,
        AlcoholIs::ServedAtOnce => 100,
    }
}

/// From here on food simmers, and so hot at the least is an oven that bakes, in tenths of a degree: common practice, no
/// source.
const SIMMERS: i32 = 950;

/// Returns what a step does to alcohol that is in it, where it heats it enough to count.
fn drives_off(step: &Step) -> Option<AlcoholIs> {
    let simmers = matches!(step.temperature, Some(Temperature::Cooked { to, .. }) if to >= SIMMERS);
    let mut heats = step.uses.iter().filter_map(|used| used.heat);
    let bakes = heats.any(|heat| heat >= SIMMERS);
    match &step.time {
        // The shortest it may take: less time leaves more.
        StepTime::Elapsed(work) if simmers || bakes => Some(AlcoholIs::Simmered(
            u32::try_from(work.shortest / 60).unwrap_or(0),
        )),
        _ => None,
    }
}

/// Returns what is done to the alcohol of an ingredient; of several things the one that leaves the most.
fn is_done_to(dish: &Dish, ingredient: &Ingredient) -> AlcoholIs {
    let flamed = ingredient.cautions.contains(&Caution::OpenFlame);
    let drives_off = |step: &Step| {
        if flamed && step.cautions.contains(&Caution::OpenFlame) {
            Some(AlcoholIs::Flamed)
        } else {
            drives_off(step)
        }
    };
    let into = ingredient.into.as_deref();
    let heated = always_meets(dish, into, |step| drives_off(step).is_some()).into_iter();
    let heated = heated.flatten().filter_map(drives_off);
    let overnight = || {
        let (_, step) = dish.step(into?)?;
        let waits = matches!(
            step.time,
            StepTime::Clock {
                until: ClockWait::KitchenOpens(1..),
                ..
            }
        );
        waits.then_some(AlcoholIs::Overnight)
    };
    heated
        .max_by_key(|&is| alcohol_left(is))
        .or_else(overnight)
        .unwrap_or(AlcoholIs::ServedAtOnce)
}

/// Returns how much alcohol is left of each ingredient that has some, by the steps that it goes through.
fn alcohol_of(dish: &Dish) -> Option<String> {
    let with_some = dish.ingredients.iter();
    let with_some = with_some.filter(|it| it.cautions.contains(&Caution::Alcohol));
    let said: Vec<_> = with_some
        .map(|ingredient| match is_done_to(dish, ingredient) {
            AlcoholIs::ServedAtOnce => format!(
                "all the alcohol of {} counts as left: no step is said to simmer or bake it",
                ingredient.name
            ),
            is => format!(
                "about {} of 100 parts of the alcohol of {} are left (USDA retention factors, 2007)",
                alcohol_left(is),
                ingredient.name
            ),
        })
        .collect();
    (!said.is_empty()).then(|| said.join("; "))
}

/// Returns which steps of the card cook the egg or pasteurise the milk that has been declared raw, and what of it no step
/// does.
fn treated(dish: &Dish, caution: Caution) -> Option<String> {
    let enough = |step: &Step| {
        let Some(Temperature::Cooked {
            to,
            lasting: Some(seconds),
        }) = step.temperature
        else {
            return false;
        };
        let (degrees, seconds) = (f64::from(to) / 10.0, f64::from(seconds));
        if caution == Caution::RawEgg {
            egg_cooked(degrees, seconds)
        } else {
            // Cream, or milk with sugar: the stricter line.
            pasteurised(Dairy::Rich, degrees, seconds)
        }
    };
    let (mut said, mut raw) = (Vec::new(), Vec::new());
    for ingredient in &dish.ingredients {
        if !ingredient.cautions.contains(&caution) {
            continue;
        }
        let name = ingredient.name.as_str();
        match always_meets(dish, ingredient.into.as_deref(), enough) {
            Some(steps) => {
                let steps: Vec<_> = steps.iter().map(|step| step.name.as_str()).collect();
                said.push(format!(
                    "as planned, {} heats {name} through",
                    steps.join(" or ")
                ));
            }
            None => raw.push(name),
        }
    }
    if !raw.is_empty() {
        said.push(format!(
            "no step is said to heat {} through: a temperature and how long it lasts",
            raw.join(", ")
        ));
    }
    (!said.is_empty()).then(|| said.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_caution_says_where_it_comes_from() {
        use Caution::{
            Alcohol, ChokingSize, Cooling, Cryogen, Honey, HotSugar, InedibleGarnish, NamedColour,
            OpenFlame, RawEgg, RawMilk, ToxicKernels,
        };
        let all = [
            Alcohol,
            ChokingSize,
            Cooling,
            Cryogen,
            Honey,
            HotSugar,
            InedibleGarnish,
            NamedColour,
            OpenFlame,
            RawEgg,
            RawMilk,
            ToxicKernels,
        ];
        let sources = all.map(caution_source);
        let dated = |source: &str| {
            source.contains(|c: char| c.is_ascii_digit())
                || ["no source", "from memory", "no authority"]
                    .iter()
                    .any(|said| source.contains(said))
        };
        assert!(sources.iter().all(|source| dated(source)), "{sources:?}");
        let apart: std::collections::BTreeSet<_> = sources.iter().collect();
        assert_eq!(apart.len(), all.len(), "each has its own");
    }

    #[test]
    fn alcohol_is_never_all_gone() {
        // USDA Table of Nutrient Retention Factors, release 6 (2007), p. 12, nutrient 221.
        let rows = [(15, 40), (30, 35), (60, 25), (90, 20), (120, 10), (150, 5)];
        for (minutes, left) in rows {
            assert_eq!(alcohol_left(AlcoholIs::Simmered(minutes)), left);
        }
        assert_eq!(alcohol_left(AlcoholIs::Flamed), 75);
        assert_eq!(alcohol_left(AlcoholIs::Overnight), 70);
        assert_eq!(alcohol_left(AlcoholIs::Simmered(14)), 85);
        assert_eq!(alcohol_left(AlcoholIs::ServedAtOnce), 100);
        let mut before = 100;
        for minutes in 0..3000 {
            let left = alcohol_left(AlcoholIs::Simmered(minutes));
            assert!(left > 0 && left <= before, "{minutes}");
            before = left;
        }
    }
}
