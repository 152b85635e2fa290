//! The span around a fitted curve, and where it meets a goal.

use std::f64::consts::FRAC_2_PI;

/// How many readings the spread that is known beforehand is worth; with none left over for estimating the spread,
/// it stands alone.
pub const PRIOR_WORTH: usize = 4;

/// The share of evenings on which the truth lies in the span.
const SHARE: f64 = 0.95;

/// When a goal is met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eta {
    /// The likeliest time, in minutes on the scale of the readings.
    pub at: f64,
    /// The beginning of the span that holds it on 95 of 100 evenings; never before the last reading.
    pub low: f64,
    /// The end of that span; `None` where the readings cannot say that it will ever be met.
    pub high: Option<f64>,
}

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoEta {
    /// Fewer readings, at different times, than the fit needs: this many are needed.
    TooFew(usize),
    /// The last reading is there already.
    Reached,
    /// The readings do not move towards the goal.
    NotMoving,
    /// They move towards it, and the fit levels off at this value before.
    LevelsOff(f64),
    /// A reading, the goal or the surroundings is not a finite number.
    NotANumber,
}

/// What is fitted: its value, and the half of its span, at any minute.
pub(super) trait Curve {
    /// Returns the fitted value.
    fn value(&self, minute: f64) -> f64;
    /// Returns how far to each side of it the span reaches; infinite where the readings say nothing.
    fn half_span(&self, minute: f64) -> f64;
}

/// Returns when a falling curve and its span meet the goal, from the last reading on; `at` is where the curve does.
pub(super) fn meets(curve: &impl Curve, last: f64, at: f64, goal: f64) -> Eta {
    let under =
        |side: f64| move |minute: f64| curve.value(minute) + side * curve.half_span(minute) <= goal;
    let low = first(last, at, under(-1.0)).unwrap_or(at);
    // Twenty times as long as it should take is no forecast any more.
    let far = last + 20.0 * (at - last).max(1.0);
    let high = first(at, far, under(1.0));
    Eta { at, low, high }
}

/// Returns the first minute in `[from, to]` at which something holds, to a thousandth; `None` where it never does.
///
/// Spans bend: they are narrow amid the readings and wide far from them, so what holds need not go on holding.
/// The stretch is therefore walked, and only the step in which it begins to hold is halved.
fn first(from: f64, to: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    const STEPS: u32 = 400;
    let at = |step: u32| from + (to - from) * f64::from(step) / f64::from(STEPS);
    let step = (0..=STEPS).find(|&step| holds(at(step)))?;
    if step == 0 {
        return Some(from);
    }
    let (mut before, mut after) = (at(step - 1), at(step));
    while after - before > 1e-3 {
        let middle = f64::midpoint(before, after);
        if holds(middle) {
            after = middle;
        } else {
            before = middle;
        }
    }
    Some(after)
}

/// Returns the spread of one reading, from the squares left over by a fit and what was known beforehand, and how
/// many standard deviations of that spread hold 95 of 100.
pub(super) fn spread(left_over: f64, freedom: usize, beforehand: f64) -> (f64, f64) {
    let worth = PRIOR_WORTH + freedom;
    let variance = (PRIOR_WORTH as f64 * beforehand.powi(2) + left_over) / worth as f64;
    (variance.sqrt(), student(worth))
}

/// Returns the two-sided 95 % point of Student's *t*.
pub(super) fn student(freedom: usize) -> f64 {
    // Beyond this it is that of the normal distribution, 1.96, to two places.
    let freedom = freedom.clamp(1, 300);
    let (mut low, mut high) = (0.0, 16.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if within(middle, freedom) < SHARE {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Returns the chance that Student's *t* lies within ±`t`, by the finite sums for whole degrees of freedom
/// (Abramowitz and Stegun, *Handbook of Mathematical Functions*, 26.7.3 and 26.7.4).
fn within(t: f64, freedom: usize) -> f64 {
    let angle = (t / (freedom as f64).sqrt()).atan();
    let (sine, cosine) = angle.sin_cos();
    let odd = freedom % 2 == 1;
    let mut term = if odd { cosine } else { 1.0 };
    let mut sum = 0.0;
    let mut power = usize::from(odd);
    while power + 2 <= freedom {
        sum += term;
        term *= cosine * cosine * (power + 1) as f64 / (power + 2) as f64;
        power += 2;
    }
    if odd {
        FRAC_2_PI * (angle + sine * sum)
    } else {
        sine * sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn students_t_is_that_of_the_tables() {
        // The 0.975 column of any table of Student's t (Fisher and Yates; from memory).
        for (freedom, wanted) in [
            (1, 12.706),
            (2, 4.303),
            (3, 3.182),
            (4, 2.776),
            (5, 2.571),
            (9, 2.262),
            (10, 2.228),
            (30, 2.042),
            (120, 1.980),
        ] {
            assert!(
                (student(freedom) - wanted).abs() < 6e-4,
                "{freedom}: {}",
                student(freedom)
            );
        }
    }

    #[test]
    fn what_was_known_beforehand_stands_alone_where_nothing_is_left_over() {
        assert_eq!(spread(0.0, 0, 0.5), (0.5, student(PRIOR_WORTH)));
        // A hundred readings that scatter by two outweigh a thermometer that should be good to a half.
        let (spread, _) = spread(400.0, 100, 0.5);
        assert!((spread - 1.963).abs() < 0.001, "{spread}");
    }
}
