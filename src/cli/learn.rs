//! `learn`: what past banquets say of the cards' times, and better times taken into the cards one by one.

use std::io::{BufRead, Write};
use std::path::Path;

use serde::Serialize;

use super::card_time;
use super::command::Opened;
use super::report::{self, Ending, Failure};
use super::step_name;
use crate::book::{Entry, access};
use crate::menu::{StepTime, Work, words};
use crate::plan::Named;
use crate::prep::learn::{self, Doing, FEWEST, FEWEST_BANQUETS, Learnt, Verdict};
use crate::text::one_line;
use crate::time::{Minutes, Zone};

/// What is to be done with what was learnt.
#[derive(Debug)]
pub(super) struct Asked<'a> {
    /// The menu's file; none is the demonstration.
    pub(super) file: Option<&'a Path>,
    /// Print it for programs.
    pub(super) json: bool,
    /// Steps whose better times are taken into their cards.
    pub(super) accept: &'a [String],
    /// Ask for each.
    pub(super) interactive: bool,
}

/// Prints what was learnt, or takes it into the cards.
pub(super) fn learn(
    opened: &Opened,
    asked: &Asked<'_>,
    answers: &mut impl BufRead,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let banquets = banquets(opened)?;
    let learnt = learn::learn(&opened.loaded.menu, &banquets);
    let zone = opened.service.zone();
    if asked.json {
        print_json(&learnt, zone, out)?;
        return Ok(Ending::Fine);
    }
    if !asked.accept.is_empty() {
        return accept(&learnt, asked, out);
    }
    print(opened, &learnt, banquets.len(), zone, out)?;
    if asked.interactive {
        ask_each(&learnt, asked, answers, out)?;
    }
    Ok(Ending::Fine)
}

/// Returns every banquet of the book with its entries.
fn banquets(opened: &Opened) -> Result<Vec<(String, Vec<Entry>)>, Failure> {
    let Some(access) = access::to_look(&opened.book)? else {
        return Ok(Vec::new());
    };
    for remark in &access.remarks {
        report::say(remark, &mut std::io::stderr().lock());
    }
    let mut banquets = Vec::new();
    for banquet in access.book.events()? {
        let entries = access.book.entries(&banquet.event)?;
        banquets.push((banquet.event, entries));
    }
    Ok(banquets)
}

/// Returns a length in words, to the minute.
fn length(seconds: i64) -> String {
    Minutes((seconds as f64 / 60.0).round() as i32).to_string()
}

fn time(work: &Work) -> String {
    words::time(&StepTime::Elapsed(work.clone()))
}

/// Returns how long a plan of this menu books for a step by an offered time, and for how much where that matters.
fn then_books(step: &Learnt, offer: &Work) -> String {
    let booked = step.booked(offer);
    if offer.grows() {
        let portions = times(step.makes.portions as usize, "portion");
        format!("for {portions} a plan then books {booked}")
    } else {
        format!("a plan then books {booked}")
    }
}

/// Returns how long a plan of this menu books for a step by its card.
fn booked(step: &Learnt) -> String {
    match &step.card {
        StepTime::Elapsed(work) => step.booked(work).to_string(),
        card @ StepTime::Clock { .. } => words::time(card),
    }
}

fn times(number: usize, of: &str) -> String {
    match number {
        1 => format!("1 {of}"),
        many => format!("{many} {of}s"),
    }
}

fn date(doing: &Doing, zone: Zone) -> String {
    doing.ended.local(zone).date.to_string()
}

fn print(
    opened: &Opened,
    learnt: &[Learnt],
    banquets: usize,
    zone: Zone,
    out: &mut impl Write,
) -> Result<(), Failure> {
    writeln!(
        out,
        "{}: what {} in {} say of its times",
        one_line(&opened.loaded.menu.name),
        times(banquets, "banquet"),
        one_line(&opened.book.display().to_string())
    )?;
    let (mut fits, mut seldom) = (0, 0);
    for step in learnt {
        match &step.verdict {
            Verdict::Offer(offer) => {
                writeln!(out)?;
                heading(step, out)?;
                evidence(step, zone, out)?;
                writeln!(
                    out,
                    "  offered: {}; {} instead of {}",
                    time(offer),
                    then_books(step, offer),
                    booked(step)
                )?;
                writeln!(
                    out,
                    "  take it with --accept {}",
                    one_line(&step.key().to_string())
                )?;
            }
            Verdict::Fits => fits += 1,
            Verdict::TooFew if step.kept.is_empty() && step.left_out.is_empty() => seldom += 1,
            Verdict::TooFew => {
                writeln!(out)?;
                heading(step, out)?;
                evidence(step, zone, out)?;
                writeln!(
                    out,
                    "  too little to go by: {FEWEST} measured on {FEWEST_BANQUETS} banquets are needed"
                )?;
            }
            Verdict::Untold(_) if step.kept.is_empty() && step.left_out.is_empty() => {}
            Verdict::Untold(why) => {
                writeln!(out)?;
                heading(step, out)?;
                evidence(step, zone, out)?;
                writeln!(out, "  cannot be told: {why}")?;
            }
        }
    }
    writeln!(out)?;
    writeln!(
        out,
        "{} as the card says; {} never measured",
        times(fits, "step"),
        times(seldom, "step")
    )?;
    Ok(())
}

fn heading(step: &Learnt, out: &mut impl Write) -> Result<(), Failure> {
    writeln!(
        out,
        "{}  {}",
        one_line(&step.key().to_string()),
        one_line(&step.name)
    )?;
    Ok(())
}

fn evidence(step: &Learnt, zone: Zone, out: &mut impl Write) -> Result<(), Failure> {
    let card = words::time(&step.card);
    let lengths = step.lengths();
    if let (Some(first), Some(last), Some(median)) =
        (step.kept.first(), step.kept.last(), step.median())
    {
        writeln!(
            out,
            "  card {card}; measured {} on {}, {} to {}: {} to {}, middle {}",
            times(step.kept.len(), "time"),
            times(step.banquets(), "banquet"),
            date(first, zone),
            date(last, zone),
            length(lengths[0]),
            length(lengths[lengths.len() - 1]),
            length(median)
        )?;
        let factors = step.factors();
        if let (Some(least), Some(most), Some(middle)) =
            (factors.first(), factors.last(), step.middle_factor())
        {
            writeln!(
                out,
                "  that is {:.0} to {:.0} % of what the card says for what was made then, middle {:.0} %",
                least * 100.0,
                most * 100.0,
                middle * 100.0
            )?;
        }
    } else {
        writeln!(out, "  card {card}; not measured")?;
    }
    for (doing, why) in &step.left_out {
        let took = doing
            .seconds
            .map_or_else(String::new, |seconds| format!(", {}", length(seconds)));
        writeln!(
            out,
            "  left out: {}{took}: {}",
            date(doing, zone),
            why.words()
        )?;
    }
    Ok(())
}

/// Takes the better times of the named steps into their cards.
fn accept(learnt: &[Learnt], asked: &Asked<'_>, out: &mut impl Write) -> Result<Ending, Failure> {
    let names: Vec<Named> = learnt
        .iter()
        .map(|step| Named {
            key: step.key(),
            name: step.name.clone(),
            dish: 0,
            step: 0,
        })
        .collect();
    let mut wanted = Vec::new();
    // All of them make sense before any is written.
    for text in asked.accept {
        let key = &step_name::find(&names, text)
            .map_err(Failure::WrongUse)?
            .key;
        let step = learnt.iter().find(|step| step.key() == *key);
        let Some(step) = step else { continue };
        let why = match &step.verdict {
            Verdict::Offer(offer) => {
                wanted.push((step, offer));
                continue;
            }
            Verdict::Fits => "what was measured is what the card says".to_owned(),
            Verdict::TooFew => format!(
                "too little was measured; {FEWEST} on {FEWEST_BANQUETS} banquets are needed"
            ),
            Verdict::Untold(why) => (*why).to_owned(),
        };
        return Err(Failure::WrongUse(format!(
            "{key}: nothing is offered: {why}"
        )));
    }
    for (step, offer) in wanted {
        take(step, offer, asked.file, out)?;
    }
    Ok(Ending::Fine)
}

/// Writes one better time into its card.
fn take(
    step: &Learnt,
    offer: &Work,
    file: Option<&Path>,
    out: &mut impl Write,
) -> Result<(), Failure> {
    let time = StepTime::Elapsed(offer.clone());
    card_time::write(file, (&step.dish, &step.step), &time, out)
}

/// Asks for each offer whether it is to be taken.
fn ask_each(
    learnt: &[Learnt],
    asked: &Asked<'_>,
    answers: &mut impl BufRead,
    out: &mut impl Write,
) -> Result<(), Failure> {
    for step in learnt {
        let Verdict::Offer(offer) = &step.verdict else {
            continue;
        };
        write!(
            out,
            "\n{}: {} instead of {}? y takes it, q leaves, anything else goes on: ",
            one_line(&step.key().to_string()),
            time(offer),
            words::time(&step.card)
        )?;
        out.flush()?;
        let mut answer = String::new();
        if answers.read_line(&mut answer)? == 0 {
            writeln!(out)?;
            return Ok(());
        }
        match answer.trim().to_lowercase().as_str() {
            "y" | "yes" => take(step, offer, asked.file, out)?,
            "q" => return Ok(()),
            _ => {}
        }
    }
    Ok(())
}

#[derive(Serialize)]
struct Document {
    format: &'static str,
    fewest: usize,
    fewest_banquets: usize,
    steps: Vec<OfStep>,
}

#[derive(Serialize)]
struct OfStep {
    step: String,
    name: String,
    card: String,
    measured: Vec<OfDoing>,
    left_out: Vec<OfDoing>,
    banquets: usize,
    /// Seconds.
    shortest: Option<i64>,
    median: Option<i64>,
    longest: Option<i64>,
    /// Of steps whose time grows with what is made: how many times as long as the card says.
    #[serde(skip_serializing_if = "Option::is_none")]
    factor: Option<OfFactor>,
    verdict: &'static str,
    why: Option<&'static str>,
    offer: Option<OfOffer>,
}

#[derive(Serialize)]
struct OfDoing {
    banquet: String,
    step: String,
    ended: String,
    seconds: Option<i64>,
    /// What it made, of steps whose time grows with that.
    #[serde(skip_serializing_if = "Option::is_none")]
    portions: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    batches: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    millilitres: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<&'static str>,
}

#[derive(Serialize)]
struct OfFactor {
    least: f64,
    median: f64,
    most: f64,
}

#[derive(Serialize)]
struct OfOffer {
    time: String,
    /// Seconds.
    shortest: i64,
    usual: Option<i64>,
    longest: i64,
    per_piece: i64,
    per_batch: i64,
    per_litre: i64,
    /// The millilitres that shortest, usual and longest are for, where they grow with the volume.
    for_volume: Option<f64>,
}

fn factor(step: &Learnt) -> Option<OfFactor> {
    let factors = step.factors();
    let rounded = |factor: f64| (factor * 1000.0).round() / 1000.0;
    Some(OfFactor {
        least: rounded(*factors.first()?),
        median: rounded(step.middle_factor()?),
        most: rounded(*factors.last()?),
    })
}

fn print_json(learnt: &[Learnt], zone: Zone, out: &mut impl Write) -> Result<(), Failure> {
    let doing = |doing: &Doing, why| OfDoing {
        banquet: doing.event.clone(),
        step: doing.key.clone(),
        ended: doing.ended.local(zone).to_string(),
        seconds: doing.seconds,
        portions: doing.makes.map(|makes| makes.portions),
        batches: doing.makes.map(|makes| makes.batches),
        millilitres: doing.makes.map(|makes| makes.millilitres),
        why,
    };
    let steps = learnt.iter().map(|step| {
        let lengths = step.lengths();
        let (verdict, why, offer) = match &step.verdict {
            Verdict::Offer(offer) => ("offer", None, Some(offer)),
            Verdict::Fits => ("fits", None, None),
            Verdict::TooFew => ("too-few", None, None),
            Verdict::Untold(why) => ("untold", Some(*why), None),
        };
        OfStep {
            step: step.key().to_string(),
            name: step.name.clone(),
            card: words::time(&step.card),
            measured: step.kept.iter().map(|kept| doing(kept, None)).collect(),
            left_out: step
                .left_out
                .iter()
                .map(|(gone, why)| doing(gone, Some(why.words())))
                .collect(),
            banquets: step.banquets(),
            shortest: lengths.first().copied(),
            median: step.median(),
            longest: lengths.last().copied(),
            factor: factor(step),
            verdict,
            why,
            offer: offer.map(|offer| OfOffer {
                time: time(offer),
                shortest: offer.shortest,
                usual: offer.usual,
                longest: offer.longest,
                per_piece: offer.per_piece,
                per_batch: offer.per_batch,
                per_litre: offer.per_litre,
                for_volume: offer.for_volume,
            }),
        }
    });
    let document = Document {
        format: "countback-learn-1",
        fewest: FEWEST,
        fewest_banquets: FEWEST_BANQUETS,
        steps: steps.collect(),
    };
    serde_json::to_writer_pretty(&mut *out, &document).map_err(std::io::Error::from)?;
    writeln!(out)?;
    Ok(())
}
