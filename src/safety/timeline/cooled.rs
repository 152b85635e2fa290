//! A step that cools: forecast from how it stands and where, held against the legs of the rule, and what would do.

use super::super::Level;
use super::super::cooling::{
    Body, Material, Medium, Place, Shape, deepest, minutes_at, minutes_to,
};
use super::super::rules::{Leg, Legs};
use super::{State, Walk, degrees, of_weight, said};
use crate::menu::{Across, ColdBy, Conducts, Cooling, Menu, Multiple, Step};
use crate::time::Minutes;

/// What is known of how a step cools.
struct Known {
    body: Body,
    medium: Medium,
    /// Whether it is known that nothing lies on it.
    open: bool,
    kit: String,
}

impl Known {
    /// Returns the minutes to a temperature: as late as it can be, or as early; `None` is never.
    fn minutes(&self, goal: f64, late: bool) -> Option<f64> {
        let body = Body {
            covered: if late { !self.open } else { self.body.covered },
            ..self.body
        };
        let span = minutes_to(&body, self.medium, goal)?;
        Some(if late { span.late } else { span.early })
    }
}

fn place(by: ColdBy) -> Place {
    match by {
        ColdBy::Still => Place::Still,
        ColdBy::Fan => Place::Fan,
        ColdBy::Blast => Place::Blast,
        ColdBy::IceBath => Place::IceBath,
    }
}

fn metres(tenths: u32) -> f64 {
    f64::from(tenths) / 10_000.0
}

/// Returns the share of water by which a food conducts.
fn material(food: Conducts) -> Option<Material> {
    Material::named(match food {
        Conducts::Water => "water",
        Conducts::Stock => "stock",
        Conducts::Milk => "milk",
        Conducts::Fruit => "fruit",
        Conducts::Jelly => "jelly",
        Conducts::Puree => "puree",
        Conducts::Custard => "custard",
        Conducts::Cream => "cream",
        Conducts::Syrup => "syrup",
        Conducts::Paste => "paste",
    })
}

fn shape(cooling: &Cooling) -> Option<Shape> {
    Some(match (cooling.depth, cooling.across) {
        // A ball says so itself: a pot of which the depth has been forgotten must not become one.
        (_, Some(Across::Ball(across))) => Shape::Ball {
            diameter: metres(across),
        },
        (None, _) => return None,

        (Some(depth), None) => Shape::Layer {
            depth: metres(depth),
        },
        (Some(depth), Some(Across::Round(across))) => Shape::Pot {
            diameter: metres(across),
            depth: metres(depth),
        },
        (Some(depth), Some(Across::Sides(one, other))) => Shape::Pan {
            length: metres(one),
            width: metres(other),
            depth: metres(depth),
        },
    })
}

/// Returns what is known of how a step cools, or what nobody has said.
fn known(menu: &Menu, cooling: Option<&Cooling>, from: f64) -> Result<Known, Vec<&'static str>> {
    let none = Cooling::default();
    let cooling = cooling.unwrap_or(&none);
    let kit = cooling.kit.as_ref().and_then(|id| menu.kitchen.kit(id));
    let cold = kit.and_then(|(_, kit)| kit.cold.map(|cold| (kit, cold)));
    let (shape, material) = (shape(cooling), cooling.food.and_then(material));
    let mut unsaid = Vec::new();
    if shape.is_none() {
        unsaid.push("how deep it stands");
    }
    if cold.is_none() {
        unsaid.push("in which place, and how cold that is");
    }
    if material.is_none() {
        unsaid.push("what it is to heat (water, custard, puree …)");
    }
    let (Some(shape), Some((kit, cold)), Some(material)) = (shape, cold, material) else {
        return Err(unsaid);
    };
    if !shape.is_real() {
        return Err(vec!["a depth that a kitchen has"]);
    }
    Ok(Known {
        body: Body {
            shape,
            material,
            from,
            covered: cooling.covered == Some(true),
            stirred: cooling.stirred,
        },
        medium: Medium {
            place: place(cold.by),
            at: degrees(cold.at),
        },
        open: cooling.covered == Some(false),
        kit: kit.name.clone(),
    })
}

/// Returns the volume one doing of a step cools, in cubic metres, where the card says it.
fn volume(menu: &Menu, dish: &crate::menu::Dish, step: &Step) -> Option<f64> {
    let batch = dish.batch.as_ref()?.volume? / 1e6;
    Some(match &step.each {
        Multiple::Batch => batch,
        Multiple::Dish => batch * f64::from(menu.batches_of(dish)),
        Multiple::Parts(parts) => {
            batch * f64::from(menu.batches_of(dish)) / parts.len().max(1) as f64
        }
    })
}

fn about(minutes: f64) -> Minutes {
    Minutes(minutes.ceil().clamp(0.0, 1e8) as i32)
}

impl Walk<'_> {
    /// A step cools food from one temperature to another.
    pub(super) fn cooled(&mut self, at: usize, state: &State, minutes: i32, from: f64, to: f64) {
        let set = self.set;
        let Some((_, step)) = self.dish(at) else {
            return;
        };
        let legs = match set.ambient {
            Some(ambient) if !state.cooked && !set.holds_hot(from) => ambient,
            _ => set.cooling,
        };
        let name = self.doings[at].name.clone();
        if let Some(was) = state.at
            && was > from + 1.0
        {
            let what = format!(
                "{name}: it comes at {} and is said to be cooled from {}",
                said(was),
                said(from)
            );
            self.say(at, "begins", Level::NotKnown, what, "");
        }
        let beyond = legs
            .legs
            .iter()
            .map(|leg| leg.to)
            .fold(f64::INFINITY, f64::min);
        if to > beyond {
            let what = format!(
                "{name}: it is cooled to {}, and the rule goes on to {}",
                said(to),
                said(beyond)
            );
            self.say(at, "short", Level::NotKnown, what, legs.source);
        }
        let known = match known(self.menu, step.cooling.as_ref(), from) {
            Ok(known) => known,
            Err(unsaid) => {
                let what = format!(
                    "{name}: whether it is cold in time is not known; nobody has said {}",
                    unsaid.join(", ")
                );
                self.say(at, "cooling", Level::NotKnown, what, legs.source);
                return;
            }
        };
        let late = legs.failed(from, |goal| known.minutes(goal, true));
        let early = legs.failed(from, |goal| known.minutes(goal, false));
        if let Some((leg, _)) = early.first() {
            let what = format!("{name}: {}", self.too_slow(&known, *leg, "cannot be"));
            let remedy = self.remedy(at, &known, legs);
            self.say_with(
                at,
                "cooling",
                of_weight(legs.weight),
                what,
                remedy,
                legs.source,
            );
        } else if let Some((leg, _)) = late.first() {
            let what = format!("{name}: {}", self.too_slow(&known, *leg, "may not be"));
            let remedy = self.remedy(at, &known, legs);
            self.say_with(at, "cooling", Level::Advice, what, remedy, legs.source);
        } else {
            self.planned_long_enough(at, &known, minutes, to);
        }
    }

    fn too_slow(&self, known: &Known, leg: Leg, may: &str) -> String {
        let took = |late: bool| {
            let began = if known.body.from <= leg.from {
                Some(0.0)
            } else {
                known.minutes(leg.from, late)
            };
            Some(known.minutes(leg.to, late)? - began?)
        };
        let takes = match (took(false), took(true)) {
            (Some(early), Some(late)) => format!("takes {} to {}", about(early), about(late)),
            (Some(early), None) => format!("takes {} or more", about(early)),
            _ => "never gets there".to_owned(),
        };
        format!(
            "it {may} from {} to {} within {} in the {} at {}, {} deep{}: it {takes}",
            said(leg.from.min(known.body.from)),
            said(leg.to),
            about(leg.within),
            known.kit,
            said(known.medium.at),
            millimetres(known.body.shape.depth()),
            if known.open { "" } else { " and covered" }
        )
    }

    /// It keeps the rule; but is the step as long as it takes?
    fn planned_long_enough(&mut self, at: usize, known: &Known, minutes: i32, to: f64) {
        let name = self.doings[at].name.clone();
        let planned = f64::from(minutes);
        match known.minutes(to, true) {
            None => {
                let what = format!(
                    "{name}: {} at {} never brings it to {}",
                    known.kit,
                    said(known.medium.at),
                    said(to)
                );
                self.say(at, "cooling", Level::Advice, what, "");
            }
            Some(late) if late > planned + 1.0 => {
                let early = known.minutes(to, false).unwrap_or(late);
                let what = format!(
                    "{name}: it is planned for {} and takes {} to {} to {}",
                    Minutes(minutes),
                    about(early),
                    about(late),
                    said(to)
                );
                let remedy = Some(format!("time: \"{}\"", about(late)));
                self.say_with(at, "cooling", Level::Advice, what, remedy, "");
            }
            Some(_) => {}
        }
    }

    /// Returns what would keep the rule for sure: shallower in the same place, or in another place of the kitchen.
    fn remedy(&self, at: usize, known: &Known, legs: Legs) -> Option<String> {
        let keeps = |body: Body, medium: Medium| {
            let film = medium.place.film().0;
            let failed = legs.failed(body.from, |goal| {
                let left = (goal - medium.at) / (body.from - medium.at);
                (left > 0.0).then(|| minutes_at(&body, medium.place, film, left))
            });
            failed.is_empty()
        };
        let careful = Body {
            covered: !known.open,
            ..known.body
        };
        let mut ways = Vec::new();
        let depth = known.body.shape.depth();
        let flat = !matches!(known.body.shape, Shape::Ball { .. });
        let shallow = deepest(depth, |depth| {
            keeps(
                Body {
                    shape: careful.shape.at_depth(depth),
                    ..careful
                },
                known.medium,
            )
        });
        if let Some(shallow) = shallow.filter(|&shallow| flat && shallow >= 0.004) {
            ways.push(format!(
                "at most {} deep in the {}{}",
                millimetres(shallow),
                known.kit,
                self.pans(at, known, shallow)
            ));
        }
        // Without its lid, in the same place.
        let open = Body {
            covered: false,
            ..careful
        };
        if careful.covered && known.medium.place != Place::IceBath && keeps(open, known.medium) {
            ways.push("uncovered until it is cold".to_owned());
        }
        for kit in &self.menu.kitchen.kit {
            let Some(cold) = kit.cold.filter(|_| kit.name != known.kit) else {
                continue;
            };
            let medium = Medium {
                place: place(cold.by),
                at: degrees(cold.at),
            };
            // What would freeze at its edge before it is cold within is no answer.
            if medium.at >= -5.0 && keeps(careful, medium) {
                ways.push(format!("as deep as it is in the {}", kit.name));
                break;
            }
            let shallow = deepest(depth, |depth| {
                let shape = careful.shape.at_depth(depth);
                keeps(Body { shape, ..careful }, medium)
            });
            if let Some(shallow) = shallow.filter(|&it| flat && it >= 0.01)
                && medium.at >= -5.0
                && cold.by != ColdBy::Still
            {
                ways.push(format!(
                    "at most {} deep in the {}{}",
                    millimetres(shallow),
                    kit.name,
                    self.pans(at, known, shallow)
                ));
                break;
            }
        }
        (!ways.is_empty()).then(|| ways.join(", or "))
    }

    /// Returns into how many pans of the same size it goes at another depth, where its volume is known.
    fn pans(&self, at: usize, known: &Known, depth: f64) -> String {
        let said = || {
            let (dish, step) = self.dish(at)?;
            let volume = volume(self.menu, dish, step)?;
            let area = known.body.shape.area()?;
            let pans = (volume / (area * depth)).ceil().max(1.0);
            Some(format!(
                ": {} litres in {pans} pans of this size",
                (volume * 1e4).round() / 10.0
            ))
        };
        said().unwrap_or_default()
    }
}

fn millimetres(metres: f64) -> String {
    // Downwards: a depth that is said must do.
    format!("{} mm", (metres * 1000.0 + 1e-9).floor())
}
