//! `cool`: will it be cold in time, asked before anything is cooked.

use std::io::Write;

use serde_json::json;

use super::args::{Cool, Where};
use super::report::{Ending, Failure};
use super::safety::named;
use crate::load::spoken;
use crate::menu::Across;
use crate::safety::DEFERENCE;
use crate::safety::cooling::{
    Asked, Body, FOODS, LegForecast, Material, Medium, Passes, Place, Shape, setting_minutes,
};
use crate::safety::rules::{RuleSet, unnamed};
use crate::time::Minutes;

/// Everything that was asked, understood.
struct Understood {
    asked: Asked,
    /// Cubic metres.
    volume: Option<f64>,
    to: f64,
}

/// Answers, and ends faulty where a rule that is asked for cannot be kept.
pub(super) fn cool(given: &Cool, out: &mut impl Write) -> Result<Ending, Failure> {
    let understood = understand(given)?;
    let sets: Vec<&RuleSet> = match given.rules.as_deref() {
        Some(name) => vec![named(name)?],
        None => unnamed().to_vec(),
    };
    let asked = &understood.asked;
    let set_time = match (&given.sets_at, &given.then) {
        (Some(at), then) => {
            let at = degrees("--sets-at", at)?;
            let own = match then {
                Some(own) => minutes("--then", own)?,
                None => 0.0,
            };
            let body = Body {
                covered: !asked.open,
                ..asked.body
            };
            Some((at, own, setting_minutes(&body, asked.medium, at, own)))
        }
        (None, Some(_)) => {
            return Err(Failure::WrongUse(
                "--then needs --sets-at: the temperature from which it counts".into(),
            ));
        }
        (None, None) => None,
    };
    let worst = sets
        .iter()
        .map(|set| asked.passes(&set.cooling))
        .max()
        .unwrap_or(Passes::Yes);
    if given.json {
        write_json(&understood, &sets, set_time, out)?;
    } else {
        write(&understood, &sets, set_time, out)?;
    }
    Ok(if worst == Passes::No {
        Ending::Faulty
    } else {
        Ending::Fine
    })
}

fn wrong(option: &str, said: &str) -> Failure {
    Failure::WrongUse(format!("{option}: {said}"))
}

/// Degrees, with or without their scale: "85", "85 C", "185 F".
fn degrees(option: &str, text: &str) -> Result<f64, Failure> {
    let bare = text.trim().parse::<f64>().is_ok();
    let text = if bare {
        format!("{text} C")
    } else {
        text.to_owned()
    };
    spoken::degrees(&text).map_err(|said| wrong(option, &said))
}

fn minutes(option: &str, text: &str) -> Result<f64, Failure> {
    let length = spoken::duration(text).map_err(|said| wrong(option, &said))?;
    Ok(f64::from(length.0))
}

fn material(given: &Cool) -> Result<Material, Failure> {
    if let Some(share) = &given.water {
        let share = share.trim().trim_end_matches('%').trim().parse::<f64>();
        let share = share.ok().filter(|share| (0.0..=100.0).contains(share));
        return share
            .map(|share| Material::of_water(share / 100.0))
            .ok_or_else(|| wrong("--water", "how much of it is water, of a hundred: 70"));
    }
    Material::named(&given.food).ok_or_else(|| {
        let known: Vec<_> = FOODS.iter().map(|(name, _)| *name).collect();
        wrong(
            "--food",
            &format!("one of {}, or --water 70", known.join(", ")),
        )
    })
}

fn understand(given: &Cool) -> Result<Understood, Failure> {
    let metres = |tenths: u32| f64::from(tenths) / 10_000.0;
    let depth = match &given.depth {
        Some(depth) => Some(spoken::breadth(depth).map_err(|said| wrong("--depth", &said))?),
        None => None,
    };
    let across = match &given.across {
        Some(across) => Some(spoken::across(across).map_err(|said| wrong("--across", &said))?),
        None => None,
    };
    let volume = match &given.volume {
        Some(volume) => {
            let millilitres = spoken::volume(volume).map_err(|said| wrong("--volume", &said))?;
            Some(millilitres / 1e6)
        }
        None => None,
    };
    // Volume and width make a depth.
    let area = match across {
        Some(Across::Sides(one, other)) => Some(metres(one) * metres(other)),
        Some(Across::Round(round)) => Some(std::f64::consts::PI * metres(round).powi(2) / 4.0),
        Some(Across::Ball(_)) | None => None,
    };
    let deep = depth.map(metres);
    let deep = deep.or_else(|| Some(volume? / area?));
    let shape = match (across, deep) {
        (Some(Across::Ball(ball)), _) => Shape::Ball {
            diameter: metres(ball),
        },
        (_, None) => {
            return Err(Failure::WrongUse(
                "how deep does it stand? --depth 50mm, or --volume 5L with --across \"300 x 200 mm\"".into(),
            ));
        }
        (Some(Across::Sides(one, other)), Some(depth)) => Shape::Pan {
            length: metres(one),
            width: metres(other),
            depth,
        },
        (Some(Across::Round(round)), Some(depth)) => Shape::Pot {
            diameter: metres(round),
            depth,
        },
        (None, Some(depth)) => Shape::Layer { depth },
    };
    if !shape.is_real() {
        return Err(Failure::WrongUse(
            "no pan of a kitchen is so thin or so deep".into(),
        ));
    }
    let place = match given.place {
        Where::Fridge => Place::Still,
        Where::Fan => Place::Fan,
        Where::Blast => Place::Blast,
        Where::Ice => Place::IceBath,
    };
    let at = match &given.at {
        Some(at) => degrees("--at", at)?,
        None => place.usual(),
    };
    let from = degrees("--from", &given.from)?;
    let to = degrees("--to", &given.to)?;
    if from <= to {
        return Err(Failure::WrongUse("--from must be warmer than --to".into()));
    }
    Ok(Understood {
        asked: Asked {
            body: Body {
                shape,
                material: material(given)?,
                from,
                covered: given.covered,
                stirred: given.stirred,
            },
            medium: Medium { place, at },
            open: !given.covered,
        },
        volume,
        to,
    })
}

fn about(minutes: f64) -> Minutes {
    Minutes(minutes.ceil().clamp(0.0, 1e8) as i32)
}

/// From the one to the other end, as a cook says it.
fn between(early: Option<f64>, late: Option<f64>) -> String {
    match (early, late) {
        (Some(early), Some(late)) if about(early) == about(late) => about(late).to_string(),
        (Some(early), Some(late)) => format!("{} to {}", about(early), about(late)),
        (Some(early), None) => format!("{} or more", about(early)),
        _ => "never".to_owned(),
    }
}

fn word(passes: Passes) -> &'static str {
    match passes {
        Passes::Yes => "passes",
        Passes::Perhaps => "may not pass",
        Passes::No => "fails",
    }
}

type SetTime = Option<(f64, f64, Option<u32>)>;

fn write(
    understood: &Understood,
    sets: &[&RuleSet],
    set_time: SetTime,
    out: &mut impl Write,
) -> Result<(), Failure> {
    let asked = &understood.asked;
    let (early, late) = asked.minutes(understood.to);
    writeln!(
        out,
        "{} °C to {} °C in the middle, {} deep, in {} °C: {}",
        asked.body.from,
        understood.to,
        millimetres(asked.body.shape.depth()),
        asked.medium.at,
        between(early, late)
    )?;
    for set in sets {
        let legs = asked.legs(&set.cooling);
        for LegForecast {
            leg,
            early,
            late,
            passes,
        } in legs
        {
            writeln!(
                out,
                "{}: {} to {} °C within {}: takes {}, {}",
                set.name,
                leg.from.min(asked.body.from),
                leg.to,
                about(leg.within),
                between(early, late),
                word(passes)
            )?;
        }
        if asked.passes(&set.cooling) != Passes::Yes {
            writeln!(out, "  {}", remedy(understood, set))?;
        }
        writeln!(out, "  ({})", set.cooling.source)?;
    }
    if let Some((at, own, whole)) = set_time {
        match whole {
            Some(whole) => writeln!(
                out,
                "set: the middle is at {at} °C, then {}: time: \"{}\"",
                about(own),
                Minutes(i32::try_from(whole).unwrap_or(i32::MAX))
            )?,
            None => writeln!(out, "set: it never gets to {at} °C there")?,
        }
    }
    writeln!(
        out,
        "A forecast from conduction alone, and no reading: measure it. {DEFERENCE}."
    )?;
    Ok(())
}

/// What would keep the rule for sure.
fn remedy(understood: &Understood, set: &RuleSet) -> String {
    let asked = &understood.asked;
    let Some(depth) = asked.deepest(&set.cooling) else {
        return "no depth would do in this place: colder, moving air, or an ice bath".to_owned();
    };
    let pans = understood
        .volume
        .and_then(|volume| asked.pans(volume, depth))
        .map_or_else(String::new, |pans| {
            if pans == 1 {
                ": one pan of this size".to_owned()
            } else {
                format!(": {pans} pans of this size")
            }
        });
    let spread = match (&pans, understood.volume) {
        (empty, Some(volume)) if empty.is_empty() => {
            format!(", spread over {:.2} m²", volume / depth)
        }
        _ => String::new(),
    };
    format!(
        "at most {} deep would pass{pans}{spread}",
        millimetres(depth)
    )
}

fn millimetres(metres: f64) -> String {
    format!("{} mm", (metres * 1000.0 + 1e-9).floor())
}

fn write_json(
    understood: &Understood,
    sets: &[&RuleSet],
    set_time: SetTime,
    out: &mut impl Write,
) -> Result<(), Failure> {
    let asked = &understood.asked;
    let (early, late) = asked.minutes(understood.to);
    let rules = sets.iter().map(|set| {
        let legs = asked.legs(&set.cooling).into_iter().map(|leg| {
            json!({
                "from": leg.leg.from,
                "to": leg.leg.to,
                "within_minutes": leg.leg.within,
                "early_minutes": leg.early,
                "late_minutes": leg.late,
                "passes": word(leg.passes),
            })
        });
        let deepest = asked.deepest(&set.cooling);
        let pans = deepest
            .zip(understood.volume)
            .and_then(|(depth, volume)| asked.pans(volume, depth));
        json!({
            "key": set.key,
            "name": set.name,
            "source": set.cooling.source,
            "passes": word(asked.passes(&set.cooling)),
            "legs": legs.collect::<Vec<_>>(),
            "deepest_mm": deepest.map(|depth| (depth * 1000.0 + 1e-9).floor()),
            "pans": pans,
        })
    });
    let whole = json!({
        "format": "countback-cool-1",
        "deference": DEFERENCE,
        "from": asked.body.from,
        "to": understood.to,
        "in": asked.medium.at,
        "depth_mm": asked.body.shape.depth() * 1000.0,
        "early_minutes": early,
        "late_minutes": late,
        "set_minutes": set_time.and_then(|(_, _, whole)| whole),
        "rules": rules.collect::<Vec<_>>(),
    });
    serde_json::to_writer_pretty(&mut *out, &whole)
        .map_err(|error| Failure::from(std::io::Error::from(error)))?;
    writeln!(out)?;
    Ok(())
}
