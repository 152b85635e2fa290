//! The answer, for a cook and for programs.

use std::io::Write;

use serde_json::json;

use super::SetTime;
use super::understood::Understood;
use crate::cli::report::Failure;
use crate::safety::DEFERENCE;
use crate::safety::cooling::{Asked, LegForecast, Passes, Shape};
use crate::safety::rules::{Legs, RuleSet};
use crate::text::one_line;
use crate::time::Minutes;

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

/// How it stands, as a cook says it.
fn stands(shape: Shape) -> String {
    let mm = |metres: f64| (metres * 1000.0).round();
    match shape {
        Shape::Layer { depth } => format!("a wide layer {} deep", millimetres(depth)),
        Shape::Pan {
            length,
            width,
            depth,
        } => format!(
            "{} deep in {} x {} mm",
            millimetres(depth),
            mm(length),
            mm(width)
        ),
        Shape::Pot { diameter, depth } => {
            format!("{} deep in {} mm round", millimetres(depth), mm(diameter))
        }
        Shape::Ball { diameter } => format!("a ball of {} mm", mm(diameter)),
    }
}

fn covered(asked: &Asked) -> &'static str {
    match (asked.open, asked.body.covered, asked.body.stirred) {
        (true, _, true) => ", uncovered, stirred all the time",
        (true, _, false) => ", uncovered",
        (false, true, _) => ", covered",
        (false, false, _) => ", perhaps covered (--covered, --uncovered)",
    }
}

fn word(passes: Passes) -> &'static str {
    match passes {
        Passes::Yes => "passes",
        Passes::Perhaps => "may not pass",
        Passes::No => "fails",
    }
}

/// Writes the answer for a cook.
pub(super) fn write(
    understood: &Understood,
    sets: &[&RuleSet],
    set_time: Option<&SetTime>,
    out: &mut impl Write,
) -> Result<(), Failure> {
    let asked = &understood.asked.one;
    let (early, late) = understood.asked.minutes(understood.to);
    if let Some(of) = &understood.of {
        writeln!(out, "{}", one_line(&format!("{}/{}", of.dish, of.step)))?;
    }
    writeln!(
        out,
        "{} °C, {}, {}, in {} at {} °C{}",
        asked.body.from,
        understood.food,
        stands(asked.body.shape),
        understood.place,
        asked.medium.at,
        covered(asked)
    )?;
    writeln!(
        out,
        "{} °C in the middle after {}",
        understood.to,
        between(early, late)
    )?;
    for set in sets {
        let rule = understood.legs(set);
        for LegForecast {
            leg,
            early,
            late,
            passes,
        } in understood.asked.legs(&rule)
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
        if understood.asked.passes(&rule) != Passes::Yes {
            writeln!(out, "  {}", remedy(understood, &rule))?;
        }
        writeln!(out, "  ({})", rule.source)?;
    }
    if let Some(set) = set_time {
        match set.length() {
            Some(whole) => {
                writeln!(
                    out,
                    "set: {} °C in the middle, then {}: time: \"{whole}\"",
                    set.at,
                    about(set.own)
                )?;
                if understood.of.is_some() {
                    writeln!(out, "  --accept writes that time into the card")?;
                }
            }
            None => writeln!(out, "set: it never gets to {} °C there", set.at)?,
        }
    }
    writeln!(
        out,
        "A forecast from conduction alone, and no reading: measure it; {DEFERENCE}."
    )?;
    Ok(())
}

/// What would keep the rule for sure.
fn remedy(understood: &Understood, rule: &Legs) -> String {
    let Some(depth) = understood.asked.deepest(rule) else {
        return "no depth would do in this place: colder, moving air, or an ice bath".to_owned();
    };
    let pans = understood
        .volume
        .and_then(|volume| understood.asked.one.pans(volume, depth))
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

/// Writes it for programs.
pub(super) fn write_json(
    understood: &Understood,
    sets: &[&RuleSet],
    set_time: Option<&SetTime>,
    out: &mut impl Write,
) -> Result<(), Failure> {
    let asked = &understood.asked.one;
    let (early, late) = understood.asked.minutes(understood.to);
    let rules = sets.iter().map(|set| {
        let rule = understood.legs(set);
        let legs = understood.asked.legs(&rule).into_iter().map(|leg| {
            json!({
                "from": leg.leg.from,
                "to": leg.leg.to,
                "within_minutes": leg.leg.within,
                "early_minutes": leg.early,
                "late_minutes": leg.late,
                "passes": word(leg.passes),
            })
        });
        let deepest = understood.asked.deepest(&rule);
        let pans = deepest
            .zip(understood.volume)
            .and_then(|(depth, volume)| asked.pans(volume, depth));
        json!({
            "key": set.key,
            "name": set.name,
            "source": rule.source,
            "passes": word(understood.asked.passes(&rule)),
            "legs": legs.collect::<Vec<_>>(),
            "deepest_mm": deepest.map(|depth| (depth * 1000.0 + 1e-9).floor()),
            "pans": pans,
        })
    });
    let whole = json!({
        "format": "countback-cool-1",
        "deference": DEFERENCE,
        "step": understood.of.as_ref().map(|of| format!("{}/{}", of.dish, of.step)),
        "food": understood.food,
        "place": understood.place,
        "covered": if asked.open { Some(false) } else { asked.body.covered.then_some(true) },
        "stirred": asked.body.stirred,
        "from": asked.body.from,
        "to": understood.to,
        "in": asked.medium.at,
        "depth_mm": asked.body.shape.depth() * 1000.0,
        "early_minutes": early,
        "late_minutes": late,
        "set_minutes": set_time.and_then(|set| set.whole),
        "rules": rules.collect::<Vec<_>>(),
    });
    serde_json::to_writer_pretty(&mut *out, &whole)
        .map_err(|error| Failure::from(std::io::Error::from(error)))?;
    writeln!(out)?;
    Ok(())
}
