//! How long a step takes, the gap before it, and whose hands it needs.

use super::calendar::time;
use super::{LENGTHS, Meant, Trouble, duration, positive, tidy, work_seconds};
use crate::load::syntax::quoted;
use crate::load::units;
use crate::menu::words::ORDINALS;
use crate::menu::{ClockWait, Gap, GapLeast, Hands, Look, StepTime, Touch, Work};
use crate::time::Minutes;

/// Returns how long a step takes.
pub(in crate::load) fn step_time(text: &str) -> Meant<StepTime> {
    let text = tidy(text);
    if let Some(wait) = clock_wait(&text)? {
        return Ok(wait);
    }
    let mut work = Work {
        usual: Some(0),
        ..Work::default()
    };
    let mut fixed = false;
    for part in text.split('+').map(str::trim) {
        if let Some((length, of)) = growth(part) {
            let seconds = work_seconds(length)?;
            let grows = match of {
                'p' => &mut work.per_piece,
                'b' => &mut work.per_batch,
                _ => &mut work.per_litre,
            };
            if *grows != 0 {
                return Err(Trouble::new(
                    format!("{} is said twice", quoted(part)),
                    "add the two up",
                ));
            }
            *grows = seconds;
            continue;
        }
        if fixed {
            return Err(Trouble::new(
                format!("{} is a second length of time", quoted(part)),
                "\"10 min + 40 s a piece\": behind + stands what grows, a piece, a batch or a litre",
            ));
        }
        fixed = true;
        let part = match part.split_once(" for ") {
            Some((part, volume)) => {
                let volume = units::volume(volume)?;
                if volume <= 0.0 {
                    return Err(Trouble::new(
                        "a length of time for no volume at all",
                        "\"40 min for 3 l\"",
                    ));
                }
                work.for_volume = Some(volume);
                part.trim()
            }
            None => part,
        };
        let lengths = part.split("..").map(|length| {
            work_seconds(length).map_err(|trouble| match trouble.instead.as_str() {
                LENGTHS => Trouble::new(
                    trouble.what,
                    "\"90 min\", \"1h30\", \"6h..7h\", \"overnight\" or \"until 06:00\"",
                ),
                _ => trouble,
            })
        });
        let lengths = lengths.collect::<Meant<Vec<_>>>()?;
        if !lengths.is_sorted() {
            return Err(Trouble::new(
                format!(
                    "{} does not rise from the shortest to the longest",
                    quoted(part)
                ),
                "\"20 min..25 min..40 min\": shortest, usual, longest",
            ));
        }
        (work.shortest, work.usual, work.longest) = match lengths[..] {
            [only] => (only, Some(only), only),
            [shortest, longest] => (shortest, None, longest),
            [shortest, usual, longest] => (shortest, Some(usual), longest),
            _ => {
                return Err(Trouble::new(
                    format!("{} has more than three points", quoted(part)),
                    "\"20 min..25 min..40 min\": shortest, usual, longest",
                ));
            }
        };
    }
    Ok(StepTime::Elapsed(work))
}

/// Splits "40 s a piece" into the length and what it grows with.
fn growth(part: &str) -> Option<(&str, char)> {
    const OF: [(&str, char); 9] = [
        ("piece", 'p'),
        ("portion", 'p'),
        ("glass", 'p'),
        ("plate", 'p'),
        ("mould", 'p'),
        ("batch", 'b'),
        ("litre", 'l'),
        ("liter", 'l'),
        ("l", 'l'),
    ];
    let (before, of) = part.rsplit_once(' ')?;
    let &(_, kind) = OF.iter().find(|&&(word, _)| word == of)?;
    let (length, article) = before.rsplit_once(' ')?;
    matches!(article, "a" | "an" | "per" | "each").then_some((length, kind))
}

/// Returns a wait that the clock on the wall ends, when the phrase is one.
fn clock_wait(text: &str) -> Meant<Option<StepTime>> {
    let (head, tail) = match text.split_once(',') {
        Some((head, tail)) => (head.trim(), Some(tail.trim())),
        None => (text, None),
    };
    let until = if matches!(head, "overnight" | "until the kitchen opens") {
        ClockWait::KitchenOpens(1)
    } else if let Some(when) = head.strip_prefix("until ") {
        let ordinal = when
            .strip_prefix("the ")
            .and_then(|when| when.strip_suffix(" morning"));
        let mornings = ordinal.map(|ordinal| ORDINALS.iter().position(|&word| word == ordinal));
        match mornings {
            Some(Some(place)) => ClockWait::KitchenOpens(place as u32 + 1),
            Some(None) => {
                return Err(Trouble::new(
                    format!("{} is not a morning that can be waited for", quoted(when)),
                    "\"until the second morning\", up to the seventh",
                ));
            }
            None => ClockWait::TimeOfDay(time(when)?),
        }
    } else {
        return Ok(None);
    };
    let at_least = match tail {
        None => Minutes::ZERO,
        Some(tail) => match tail.strip_prefix("at least ") {
            Some(length) => duration(length)?,
            None => {
                return Err(Trouble::new(
                    format!("{} cannot stand behind {}", quoted(tail), quoted(head)),
                    format!("\"{head}, at least 8h\""),
                ));
            }
        },
    };
    Ok(Some(StepTime::Clock { until, at_least }))
}

/// Returns a gap between two steps.
pub(in crate::load) fn gap(text: &str) -> Meant<Gap> {
    let text = tidy(text);
    let (head, most) = match text.split_once(',') {
        Some((head, tail)) => match tail.trim().strip_prefix("at most ") {
            Some(length) => (head.trim(), Some(duration(length)?)),
            None => {
                return Err(Trouble::new(
                    format!("{} cannot stand behind a gap", quoted(tail.trim())),
                    format!("\"{}, at most 2 days\"", head.trim()),
                ));
            }
        },
        None => (text.as_str(), None),
    };
    let elapsed = |least, most| Gap {
        least: GapLeast::Elapsed(least),
        most,
    };
    let nights = |nights| Gap {
        least: GapLeast::Nights(nights),
        most,
    };
    if head == "overnight" {
        return Ok(nights(1));
    }
    if let Some(least) = head.strip_prefix("at least ") {
        if matches!(least, "a night" | "1 night" | "one night") {
            return Ok(nights(1));
        }
        if let Some(count) = least.strip_suffix(" nights") {
            let words = ["two", "three", "four", "five", "six", "seven"];
            let spelt = words.iter().position(|&word| word == count);
            let count = spelt
                .map(|place| place as u32 + 2)
                .or_else(|| count.parse().ok());
            return match count {
                Some(count @ 1..=60) => Ok(nights(count)),
                _ => Err(Trouble::new(
                    format!("{} is no number of nights", quoted(least)),
                    "\"at least 2 nights\"",
                )),
            };
        }
        return Ok(elapsed(duration(least)?, most));
    }
    if most.is_some() {
        return Err(Trouble::new(
            format!("\"at most\" cannot stand behind {}", quoted(head)),
            "\"8h..24h\", or \"at least 8h, at most 24h\"",
        ));
    }
    if let Some(longest) = head.strip_prefix("within ") {
        return Ok(elapsed(Minutes::ZERO, Some(duration(longest)?)));
    }
    if head == "straight on" {
        return Ok(elapsed(Minutes::ZERO, Some(Minutes::ZERO)));
    }
    if let Some((least, longest)) = head.split_once("..") {
        let (least, longest) = (duration(least)?, duration(longest)?);
        if longest < least {
            return Err(Trouble::new(
                format!("{} ends before it begins", quoted(head)),
                format!("\"{longest}..{least}\""),
            ));
        }
        return Ok(elapsed(least, Some(longest)));
    }
    Err(Trouble::new(
        format!("{} is not a gap", quoted(&text)),
        "\"straight on\", \"within 20 min\", \"at least 8h\", \"8h..24h\", \"overnight\" or \"at least 2 nights\"",
    ))
}

/// Returns whose hands a step needs.
pub(in crate::load) fn hands(text: &str) -> Meant<Hands> {
    let text = tidy(text);
    let mut hands = Hands::default();
    if text == "left alone" {
        return Ok(hands);
    }
    for clause in text.split(',').map(str::trim) {
        let (what, by) = match clause.rsplit_once(" by ") {
            Some((what, count)) => match count.parse() {
                Ok(count @ 1..=99_u32) => (what.trim(), count),
                _ => {
                    return Err(Trouble::new(
                        format!("{} is no number of hands", quoted(count)),
                        format!("\"{} by 2\"", what.trim()),
                    ));
                }
            },
            None => (clause, 1),
        };
        let touch = |length| positive(length).map(|time| Some(Touch { time, hands: by }));
        let twice = if what == "throughout" {
            std::mem::replace(&mut hands.throughout, by) != 0
        } else if what == "someone about" && by == 1 {
            std::mem::replace(&mut hands.someone_about, true)
        } else if let Some(length) = what.strip_prefix("put on ") {
            std::mem::replace(&mut hands.put_on, touch(length)?).is_some()
        } else if let Some(length) = what.strip_prefix("take off ") {
            std::mem::replace(&mut hands.take_off, touch(length)?).is_some()
        } else if let Some(length) = what.strip_prefix("each end ") {
            let on = std::mem::replace(&mut hands.put_on, touch(length)?);
            let off = std::mem::replace(&mut hands.take_off, touch(length)?);
            on.or(off).is_some()
        } else if let Some(how) = what.strip_prefix("look ") {
            hands.look.replace(look(how, by)?).is_some()
        } else if what == "left alone" {
            return Err(Trouble::new(
                "\"left alone\" stands alone",
                "\"left alone\", or what hands are needed without it",
            ));
        } else {
            return Err(Trouble::new(
                format!("{} says nothing about hands", quoted(clause)),
                "\"throughout\", \"put on 5 min\", \"take off 10 min\", \"each end 5 min\", \"look 2 min every 30 min\", \"someone about\" or \"left alone\"",
            ));
        };
        if twice {
            return Err(Trouble::new(
                format!("{} is said twice", quoted(what)),
                "say it once",
            ));
        }
    }
    Ok(hands)
}

fn look(how: &str, hands: u32) -> Meant<Look> {
    if let Some(time) = how.strip_suffix(" once a day") {
        return Ok(Look {
            every: Minutes::days(1),
            time: positive(time)?,
            hands,
        });
    }
    let Some((time, every)) = how.split_once(" every ") else {
        return Err(Trouble::new(
            format!("{} does not say how often", quoted(&format!("look {how}"))),
            "\"look 2 min every 30 min\" or \"look 5 min once a day\"",
        ));
    };
    Ok(Look {
        every: positive(if every == "hour" { "1h" } else { every })?,
        time: positive(time)?,
        hands,
    })
}
