//! How good a plan is, in words: proved best, at most so much better, or not known.
//!
//! The engine says what a plan costs and what no plan can cost less than. What lies between is put into what it
//! could buy at most, each kind of it alone: minutes less overtime, minutes less past its best, steps that start so
//! much later in all. The figures behind are in `weights`.
//!
//! Left out on purpose: the cost as a number. It means nothing to whoever stands at the stove.

use super::run_sheet::Plan;
use super::weights::{BEST, PLAIN, weights};
use crate::menu::{Menu, Style};
use crate::time::Minutes;

/// What is known of how good a plan is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Proved best.
    Best,
    /// At most this much better is possible.
    AtMost(Gain),
    /// Nothing is proved.
    Unproved,
}

/// What a better plan could gain at most: one of these, or a part of each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gain {
    /// Starts later, all steps taken together and none of them earlier.
    pub later: Minutes,
    /// Cooks stay less long beyond their shifts; nothing where nobody stays.
    pub overtime: Minutes,
    /// Food is less long past its best; nothing where none is.
    pub past_best: Minutes,
    /// Whether the work could also be spread more evenly.
    pub even: bool,
}

impl Verdict {
    /// Returns what is known of a plan of this menu.
    pub fn of(menu: &Menu, plan: &Plan) -> Self {
        let gap = i128::from(plan.quality.cost) - i128::from(plan.quality.bound);
        // A bound that says nothing is none; minutes beyond a lifetime are none either.
        if gap < 0 || (gap > 0 && plan.quality.bound <= 0) {
            return Self::Unproved;
        }
        if gap == 0 {
            return Self::Best;
        }
        let weights = weights(menu.style, false);
        let worth = |each: i64| gap.checked_div(i128::from(each)).unwrap_or(0);
        let minutes = |most: i128| i32::try_from(most).ok().map(Minutes);
        // Whoever sees the plan sees that no step can start after its dish is at the pass: a proof of less is none.
        let room: i128 = plan.dishes.iter().fold(0, |sum, dish| {
            let each = dish.steps.iter().map(|&step| plan.steps[step].window.end);
            sum + each
                .map(|end| i128::from(dish.at_pass.0 - end.0).max(0))
                .sum::<i128>()
        });
        let later = worth(weights.early * i64::from(PLAIN));
        let Some(later) = minutes(later).filter(|_| later < room.max(1)) else {
            return Self::Unproved;
        };
        let stayed = plan.overtime.iter().flat_map(|cook| &cook.windows);
        let stayed: i128 = stayed.map(|window| i128::from(window.length().0)).sum();
        let past = plan.dishes.iter().filter_map(|dish| dish.past_best);
        let past: i128 = past.map(|over| i128::from(over.0)).sum();
        Self::AtMost(Gain {
            later,
            overtime: minutes(worth(weights.overtime).min(stayed)).unwrap_or_default(),
            past_best: minutes(worth(weights.wish * i64::from(BEST)).min(past)).unwrap_or_default(),
            even: menu.style == Style::Even,
        })
    }

    /// Returns it as a word for other programs.
    pub fn word(self) -> &'static str {
        match self {
            Self::Best => "proved-best",
            Self::AtMost(_) => "at-most",
            Self::Unproved => "no-proof",
        }
    }

    /// Returns it as a sentence.
    pub fn sentence(self) -> String {
        let gain = match self {
            Self::Best => return "no better plan exists".to_owned(),
            Self::Unproved => return "how much better it could be is not known".to_owned(),
            Self::AtMost(gain) => gain,
        };
        let mut could = vec![format!(
            "steps could start {} later, all taken together and none earlier",
            gain.later
        )];
        if gain.overtime > Minutes::ZERO {
            could.push(format!("cooks could stay {} less", gain.overtime));
        }
        if gain.past_best > Minutes::ZERO {
            could.push(format!(
                "food could be {} less past its best",
                gain.past_best
            ));
        }
        if gain.even {
            could.push("the work could be spread a little better".to_owned());
        }
        format!("at the very best {}", could.join(", or "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn better(later: i32, overtime: i32) -> Verdict {
        Verdict::AtMost(Gain {
            later: Minutes(later),
            overtime: Minutes(overtime),
            past_best: Minutes::ZERO,
            even: false,
        })
    }

    #[test]
    fn each_verdict_is_one_sentence() {
        assert_eq!(Verdict::Best.sentence(), "no better plan exists");
        assert_eq!(
            Verdict::Unproved.sentence(),
            "how much better it could be is not known"
        );
        assert_eq!(
            better(130, 0).sentence(),
            "at the very best steps could start 2h10 later, all taken together and none earlier"
        );
        assert_eq!(
            better(20_000, 2).sentence(),
            "at the very best steps could start 13 days 21h20 later, all taken together and none earlier, or cooks could stay 2 min less"
        );
    }
}
