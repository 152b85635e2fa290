//! What stands on a box: name, when it was made, use by, allergens, batch, who.
//!
//! "Use by" is the earliest of what the rule allows and what the card says it keeps; where neither says, the label has
//! a line to fill in, never a date that nobody has set. A rule allows its days to what is kept as it says: food of which
//! not all is said, or that does not keep the rule as planned, has no days by it. What is against the law as planned or as
//! measured has no date at all, whatever its card says.

use std::fmt::Write as _;

use super::allergens::{Matrix, Standing, allergen_name};
use super::rules::{RuleSet, last_day};
use super::timeline::Verdict;
use crate::menu::{Control, Menu};
use crate::time::{Date, Minute, ServiceTime};

/// A label of one batch of a dish.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The dish.
    pub name: String,
    /// Which batch of how many.
    pub batch: (u32, u32),
    /// The day it is made.
    pub made: Date,
    /// Use by, and by whose reckoning; else why there is no day.
    pub use_by: Result<(String, &'static str), &'static str>,
    /// What it contains, by the list.
    pub contains: Vec<&'static str>,
    /// What it may contain.
    pub may_contain: Vec<&'static str>,
    /// What nobody has declared.
    pub not_known: bool,
    /// Who makes it.
    pub who: Vec<String>,
}

/// When and by whom a batch is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// The dish's place in the menu.
    pub dish: usize,
    /// Which batch, from 1.
    pub batch: u32,
    /// When its oldest part is made or cooked.
    pub begun: Minute,
    /// When it is ready.
    pub ready: Minute,
    /// Who.
    pub who: Vec<String>,
    /// What its dish comes to by the set of rules whose days are counted.
    pub verdict: Verdict,
}

/// Returns the label of a batch; `None` for a dish the menu does not have.
pub fn label(
    menu: &Menu,
    set: &RuleSet,
    matrix: &Matrix,
    service: ServiceTime,
    made: &Made,
) -> Option<Label> {
    let dish = menu.dishes.get(made.dish)?;
    let row = matrix.rows.get(made.dish)?;
    let day = service.local(made.begun).date;
    let by_rule = set
        .keeping
        .filter(|_| dish.control != Some(Control::NotNeeded) && made.verdict == Verdict::Within)
        .and_then(|keeping| last_day(keeping, day, 0))
        .map(|last| (last.to_string(), set.name));
    let is_kept = made.verdict != Verdict::Breaks;
    let keeps = dish.fresh.keeps.filter(|_| is_kept).map(|keeps| {
        let local = service.local(made.ready + keeps);
        (local.date, local.to_string())
    });
    let use_by = match (by_rule, keeps) {
        // The day of the rule ends at midnight; a moment on an earlier or the same day comes first.
        (Some((last, by)), Some((date, _))) if last < date.to_string() => Some((last, by)),
        (_, Some((_, moment))) => Some((moment, "the card")),
        (rule, None) => rule,
    };
    let use_by = use_by.ok_or(match made.verdict {
        Verdict::Within => "nobody has said; your food-safety plan does",
        Verdict::NotKnown => "not all of its temperatures is said; your food-safety plan decides",
        Verdict::Doubtful | Verdict::Breaks => {
            "as planned or measured it does not keep the rule; your food-safety plan decides"
        }
    });
    let with = |standing| -> Vec<&'static str> {
        let mut names = Vec::new();
        for cell in row {
            for reason in &cell.reasons {
                if let Some(allergen) = reason.allergen
                    && reason.standing == standing
                    && !names.contains(&allergen_name(allergen))
                {
                    names.push(allergen_name(allergen));
                }
            }
        }
        names
    };
    let contains = with(Standing::Contains);
    let may_contain = with(Standing::May)
        .into_iter()
        .filter(|name| !contains.contains(name))
        .collect();
    Some(Label {
        name: dish.name.clone(),
        batch: (made.batch, menu.batches_of(dish)),
        made: day,
        use_by,
        contains,
        may_contain,
        not_known: row
            .iter()
            .flat_map(|cell| &cell.reasons)
            .any(|reason| reason.standing == Standing::NotKnown),
        who: made.who.clone(),
    })
}

impl Label {
    /// Returns the label as lines of text.
    pub fn text(&self) -> String {
        let mut text = String::new();
        let list = |names: &[&str]| {
            if names.is_empty() {
                "none declared".to_owned()
            } else {
                names.join(", ")
            }
        };
        let (batch, of) = self.batch;
        let _ = writeln!(text, "{}", self.name);
        let _ = writeln!(text, "batch       {batch} of {of}");
        let _ = writeln!(text, "made on     {}", self.made);
        let _ = match &self.use_by {
            Ok((by, whose)) => writeln!(text, "use by      {by} ({whose})"),
            Err(why) => writeln!(text, "use by      ____________ ({why})"),
        };
        let _ = writeln!(text, "contains    {}", list(&self.contains));
        if !self.may_contain.is_empty() {
            let _ = writeln!(text, "may contain {}", self.may_contain.join(", "));
        }
        if self.not_known {
            let _ = writeln!(
                text,
                "NOT ALL IS DECLARED: ask before serving it to anyone with an allergy"
            );
        }
        let who = if self.who.is_empty() {
            "____________".to_owned()
        } else {
            self.who.join(", ")
        };
        let _ = writeln!(text, "made by     {who}");
        text
    }
}
