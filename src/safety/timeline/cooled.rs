//! A step that cools: forecast from how it stands and where, held against the legs of the rule, and what would do.

use super::walk::{State, Walk};
use super::{degrees, of_weight, said};
use crate::safety::Level;
use crate::safety::cooling::card::{Said, place, volume};
use crate::safety::cooling::{Asked, Body, LegForecast, Medium, Passes, Place};
use crate::safety::rules::Legs;
use crate::time::Minutes;

/// What is known of how a step cools.
struct Known {
    asked: Asked,
    kit: String,
}

impl Known {
    fn depth(&self) -> f64 {
        self.asked.body.shape.depth()
    }
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
        let legs = set.cooling_of(if state.cooked { set.hot.degrees } else { from });
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
        // Batches of a step cool alike; the forecast of the first stands for all.
        if self.has_said(at, "cooling") {
            return;
        }
        let said = Said::on_card(self.menu, step.cooling.as_ref());
        let known = match said.asked(from) {
            Ok(asked) => Known {
                asked,
                kit: said.kit.unwrap_or_default(),
            },
            Err(unsaid) => {
                let what = format!(
                    "{name}: whether it is cold in time is not known; nobody has said {}",
                    unsaid.join(", ")
                );
                self.say(at, "cooling", Level::NotKnown, what, legs.source);
                return;
            }
        };
        let forecast = known.asked.legs(&legs);
        // Of several the first: what is missed early is missed before it can be mended.
        let worst = forecast.iter().rev().max_by_key(|leg| leg.passes);
        let (level, may) = match worst.map(|leg| leg.passes) {
            Some(Passes::No) => (of_weight(legs.weight), "cannot be"),
            Some(Passes::Perhaps) => (Level::Advice, "may not be"),
            Some(Passes::Yes) | None => {
                self.planned_long_enough(at, &known, minutes, to);
                return;
            }
        };
        let slow = worst.map_or_else(String::new, |leg| too_slow(&known, leg, may));
        let remedy = self.remedy(at, &known, legs);
        self.say_with(
            at,
            "cooling",
            level,
            format!("{name}: {slow}"),
            remedy,
            legs.source,
        );
    }

    /// It keeps the rule; but is the step as long as it takes?
    fn planned_long_enough(&mut self, at: usize, known: &Known, minutes: i32, to: f64) {
        let name = self.doings[at].name.clone();
        let Some(span) = known.asked.span(to) else {
            let what = format!(
                "{name}: {} at {} never brings it to {}",
                known.kit,
                said(known.asked.medium.at),
                said(to)
            );
            self.say(at, "cooling", Level::Advice, what, "");
            return;
        };
        if span.late > f64::from(minutes) + 1.0 {
            let what = format!(
                "{name}: it is planned for {} and takes {} to {} to be at {}",
                Minutes(minutes),
                about(span.early),
                about(span.late),
                said(to)
            );
            let remedy = Some(format!("time: \"{}\"", about(span.late)));
            self.say_with(at, "cooling", Level::Advice, what, remedy, "");
        }
    }

    /// Returns what would keep the rule for sure: shallower in the same place, without its lid, or in another place
    /// of the kitchen.
    fn remedy(&self, at: usize, known: &Known, legs: Legs) -> Option<String> {
        let asked = known.asked;
        let shallower = |asked: &Asked, kit: &str| {
            let depth = asked.deepest(&legs)?;
            let pans = self.pans(at, asked, depth);
            Some(format!(
                "at most {} deep in the {kit}{pans}",
                millimetres(depth)
            ))
        };
        let mut ways: Vec<String> = shallower(&asked, &known.kit).into_iter().collect();
        let open = Asked {
            body: Body {
                covered: false,
                ..asked.body
            },
            open: true,
            ..asked
        };
        let can_be_open = !asked.open && asked.medium.place != Place::IceBath;
        if can_be_open && open.surely_passes(&legs) {
            ways.push("uncovered until it is cold".to_owned());
        }
        let others = self
            .menu
            .kitchen
            .kit
            .iter()
            .filter(|kit| kit.name != known.kit);
        let best = others
            .filter_map(|kit| {
                let cold = kit.cold?;
                let medium = Medium {
                    place: place(cold.by),
                    at: degrees(cold.at),
                };
                // What freezes at its edge before it is cold within is no answer.
                let other = Asked { medium, ..asked };
                (medium.at >= -5.0 && place(cold.by) != asked.medium.place)
                    .then(|| other.deepest(&legs))?
                    .map(|depth| (depth, kit, other))
            })
            .max_by(|one, other| one.0.total_cmp(&other.0));
        if let Some((depth, kit, other)) = best {
            if depth >= known.depth() {
                ways.push(format!("as deep as it is in the {}", kit.name));
            } else if ways.is_empty() || depth > 0.01 {
                ways.extend(shallower(&other, &kit.name));
            }
        }
        (!ways.is_empty()).then(|| ways.join("; or "))
    }

    /// Returns into how many pans of the same size it goes at another depth, where its volume is known.
    fn pans(&self, at: usize, asked: &Asked, depth: f64) -> String {
        let pans = || {
            let (dish, step) = self.dish(at)?;
            let volume = volume(self.menu, dish, step)?;
            let pans = asked.pans(volume, depth)?;
            let litres = (volume * 1e4).round() / 10.0;
            let sort = if pans == 1 { "pan" } else { "pans" };
            Some(format!(", {litres} litres in {pans} {sort} of this size"))
        };
        pans().unwrap_or_default()
    }
}

fn too_slow(known: &Known, leg: &LegForecast, may: &str) -> String {
    let takes = match (leg.early, leg.late) {
        (Some(early), Some(late)) => format!("takes {} to {}", about(early), about(late)),
        (Some(early), None) => format!("takes {} or more", about(early)),
        _ => "never gets there".to_owned(),
    };
    let asked = &known.asked;
    let lid = if asked.open {
        ""
    } else if asked.body.covered {
        " and covered"
    } else {
        ", perhaps covered"
    };
    format!(
        "it {may} from {} to {} within {} in the {} at {}, {} deep{lid}: it {takes}",
        said(leg.leg.from.min(asked.body.from)),
        said(leg.leg.to),
        about(leg.leg.within),
        known.kit,
        said(asked.medium.at),
        millimetres(known.depth()),
    )
}

fn millimetres(metres: f64) -> String {
    // Downwards: a depth that is said must do.
    format!("{} mm", (metres * 1000.0 + 1e-9).floor())
}
