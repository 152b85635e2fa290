//! A straight line through readings of what is left in the pan.
//!
//! At a steady boil a pan loses the same every minute (the heat goes into steam; Fourier and Stefan aside, common
//! practice, no source), so what is left falls along a straight line until little but sugar is left. The line is that
//! of ordinary least squares, and the span is its prediction interval, the one in which a further reading would lie
//! (Draper and Smith, *Applied Regression Analysis*, "inverse regression", from memory).

use super::band::{Curve, Eta, NoEta, meets, spread};

/// The spread of a reading off a stick or a jug, as a share of the first: common practice, no source.
pub const MARK: f64 = 0.02;

/// A straight line as it fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reduction {
    /// What was left at minute 0 by the fit.
    pub begun: f64,
    /// What goes each minute; negative where it grows.
    pub per_minute: f64,
    /// The spread of one reading around the line.
    pub spread: f64,
    student: f64,
    count: f64,
    mean: f64,
    /// The sum of squares of the times around their mean.
    about_mean: f64,
}

impl Reduction {
    /// Returns what is left at a minute, by the line.
    pub fn at(&self, minute: f64) -> f64 {
        self.begun - self.per_minute * minute
    }

    /// Returns how far to each side of the line a further reading may lie, on 95 of 100 evenings.
    pub fn within(&self, minute: f64) -> f64 {
        let apart = (minute - self.mean).powi(2) / self.about_mean;
        self.student * self.spread * (1.0 + 1.0 / self.count + apart).sqrt()
    }
}

impl Curve for Reduction {
    fn value(&self, minute: f64) -> f64 {
        self.at(minute)
    }

    fn half_span(&self, minute: f64) -> f64 {
        self.within(minute)
    }
}

/// Returns when what is left in the pan is down to `goal`, from readings `(minute, millilitres or grams)`.
///
/// Two readings at different times are needed; they need not be in order. Says why where there is no answer.
pub fn reduction(readings: &[(f64, f64)], goal: f64) -> Result<Eta, NoEta> {
    if !goal.is_finite() {
        return Err(NoEta::NotANumber);
    }
    let fit = fit_reduction(readings)?;
    let last = readings
        .iter()
        .copied()
        .max_by(|one, other| one.0.total_cmp(&other.0));
    let (last, now) = last.ok_or(NoEta::TooFew(2))?;
    if now <= goal {
        return Err(NoEta::Reached);
    }
    if fit.per_minute <= 0.0 {
        return Err(NoEta::NotMoving);
    }
    let at = ((fit.begun - goal) / fit.per_minute).max(last);
    Ok(meets(&fit, last, at, goal))
}

/// Returns the line through readings `(minute, millilitres or grams)`; see [`reduction()`].
pub fn fit_reduction(readings: &[(f64, f64)]) -> Result<Reduction, NoEta> {
    let finite = |&(minute, left): &(f64, f64)| minute.is_finite() && left.is_finite();
    if !readings.iter().all(finite) {
        return Err(NoEta::NotANumber);
    }
    let count = readings.len() as f64;
    let mean = readings.iter().map(|it| it.0).sum::<f64>() / count;
    let mean_left = readings.iter().map(|it| it.1).sum::<f64>() / count;
    let about_mean: f64 = readings.iter().map(|it| (it.0 - mean).powi(2)).sum();
    if readings.len() < 2 || about_mean <= 0.0 {
        return Err(NoEta::TooFew(2));
    }
    let together: f64 = readings
        .iter()
        .map(|it| (it.0 - mean) * (it.1 - mean_left))
        .sum();
    let per_minute = -together / about_mean;
    let begun = mean_left + per_minute * mean;
    let left_over = readings
        .iter()
        .map(|&(minute, left)| (left - begun + per_minute * minute).powi(2))
        .sum();
    let first = readings
        .iter()
        .min_by(|one, other| one.0.total_cmp(&other.0))
        .map_or(0.0, |it| it.1.abs());
    let (spread, student) = spread(left_over, readings.len() - 2, MARK * first);
    Ok(Reduction {
        begun,
        per_minute,
        spread,
        student,
        count,
        mean,
        about_mean,
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

    use super::*;

    #[test]
    fn the_line_is_that_of_a_published_set() {
        // Anscombe, "Graphs in Statistical Analysis", American Statistician 27 (1973), first set: intercept 3.00,
        // slope 0.50, residual sum of squares 13.75 on 9 degrees of freedom.
        let readings = [
            (10.0, 8.04),
            (8.0, 6.95),
            (13.0, 7.58),
            (9.0, 8.81),
            (11.0, 8.33),
            (14.0, 9.96),
            (6.0, 7.24),
            (4.0, 4.26),
            (12.0, 10.84),
            (7.0, 4.82),
            (5.0, 5.68),
        ];
        let fit = fit_reduction(&readings).unwrap();
        assert!((fit.begun - 3.0).abs() < 0.005, "{fit:?}");
        assert!((fit.per_minute + 0.5).abs() < 0.0005, "{fit:?}");
        let beforehand: f64 = 4.0 * (MARK * 4.26_f64).powi(2);
        let left_over = fit.spread.powi(2) * 13.0 - beforehand;
        assert!((left_over - 13.75).abs() < 0.02, "{left_over}");
        // It grows.
        assert_eq!(reduction(&readings, 1.0), Err(NoEta::NotMoving));
    }

    #[test]
    fn a_pan_that_loses_ten_a_minute_is_down_to_a_fifth_after_eighty() {
        let readings = [(0.0, 1000.0), (20.0, 800.0), (40.0, 600.0)];
        let eta = reduction(&readings, 200.0).unwrap();
        assert!((eta.at - 80.0).abs() < 1e-9, "{eta:?}");
        // By hand: s² = (4·20² + 0)/5, t(5) = 2.571; the span at t is 2.571·s·√(1 + 1/3 + (t − 20)²/800).
        let spread = (4.0 * 400.0_f64 / 5.0).sqrt();
        let half =
            |at: f64| 2.571 * spread * (1.0 + 1.0 / 3.0 + (at - 20.0).powi(2) / 800.0).sqrt();
        let low = 1000.0 - 10.0 * eta.low - half(eta.low);
        let high = eta.high.unwrap();
        let high = 1000.0 - 10.0 * high + half(high);
        assert!(
            (low - 200.0).abs() < 0.1 && (high - 200.0).abs() < 0.1,
            "{low} {high}"
        );
    }

    #[test]
    fn it_says_why_there_is_no_answer() {
        assert_eq!(reduction(&[(0.0, 1000.0)], 200.0), Err(NoEta::TooFew(2)));
        assert_eq!(reduction(&[], 200.0), Err(NoEta::TooFew(2)));
        let readings = [(0.0, 1000.0), (20.0, 150.0)];
        assert_eq!(reduction(&readings, 200.0), Err(NoEta::Reached));
        let infinite = [(0.0, 1000.0), (f64::INFINITY, 150.0)];
        assert_eq!(reduction(&infinite, 200.0), Err(NoEta::NotANumber));
    }
}
