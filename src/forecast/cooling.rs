//! Newton's law of cooling, fitted to readings.
//!
//! `T(t) = level + excess · e^(−rate·t)`. The level is the air or the water around where that is known, and is
//! fitted too where it is not. The excess is fitted and not taken from the first reading: the middle of a deep pan
//! stands still at first and then falls as if it had been hotter (the lag factor *j* of food refrigeration: ASHRAE
//! Handbook, *Refrigeration*, "Cooling and Freezing Times of Foods", `Y = j · e^(−2.303 t/f)`).
//!
//! The method is variable projection (Golub and Pereyra, SIAM J. Numer. Anal. 10, 1973): for a given rate the rest
//! is ordinary linear least squares, so only the rate is searched for, over all the rates that readings so far
//! apart can tell, by golden section (Kiefer, Proc. AMS 4, 1953) from the best of a coarse walk. The span is that of
//! the curve, linearised at the fit (Bates and Watts, *Nonlinear Regression Analysis*, 1988, from memory).
//!
//! With the level known and two readings this is the two-point cooling rate of Hedeen, Schaffner and Brown (J.
//! Env. Health, 2022).

use super::band::{Curve, Eta, NoEta, meets, spread};

/// The spread of a probe thermometer, in degrees: good to 1 °C (FDA Food Code §4-203.11) on 95 of 100 readings.
pub const THERMOMETER: f64 = 0.5;

/// Newton's law as it fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooling {
    /// What it levels off at, in °C.
    pub level: f64,
    /// How far above the level it stood at the first reading by the fit; negative where it warms.
    pub excess: f64,
    /// The share of the excess that goes each minute, at any moment: per minute, always positive.
    pub rate: f64,
    /// The spread of one reading around the fit, in degrees.
    pub spread: f64,
    /// The minute of the first reading: counted from it, no power over- or underflows wherever the scale begins.
    first: f64,
    student: f64,
    /// Of excess, rate and level.
    covariance: [[f64; 3]; 3],
}

impl Cooling {
    /// Returns the temperature at a minute, in °C.
    pub fn at(&self, minute: f64) -> f64 {
        self.level + self.excess * (-self.rate * (minute - self.first)).exp()
    }

    /// Returns how far to each side of the curve it may truly lie, on 95 of 100 evenings, in degrees.
    pub fn within(&self, minute: f64) -> f64 {
        let since = minute - self.first;
        let left = (-self.rate * since).exp();
        let gradient = [left, -self.excess * since * left, 1.0];
        let mut variance = 0.0;
        for (row, one) in self.covariance.iter().zip(gradient) {
            for (entry, other) in row.iter().zip(gradient) {
                variance += one * entry * other;
            }
        }
        self.student * self.spread * variance.max(0.0).sqrt()
    }
}

/// The fit with the sign turned so that it falls.
struct Falling<'f>(&'f Cooling, f64);

impl Curve for Falling<'_> {
    fn value(&self, minute: f64) -> f64 {
        self.1 * self.0.at(minute)
    }

    fn half_span(&self, minute: f64) -> f64 {
        self.0.within(minute)
    }
}

/// Returns when food that has been read at these `(minute, °C)` is at `goal`, in air or water of `ambient` °C where
/// that is known. It may be cooling or warming.
///
/// With the surroundings known two readings at different times are needed, else three; readings need not be in
/// order. Says why where there is no answer.
///
/// ```
/// # use countback::forecast::cooling;
/// let eta = cooling(&[(0.0, 57.2), (60.0, 34.4)], Some(2.8), 21.0).expect("it falls");
/// assert!((eta.at - 121.0).abs() < 1.0);
/// ```
pub fn cooling(readings: &[(f64, f64)], ambient: Option<f64>, goal: f64) -> Result<Eta, NoEta> {
    if !goal.is_finite() {
        return Err(NoEta::NotANumber);
    }
    let fit = fit_cooling(readings, ambient)?;
    let mut sorted = readings.to_vec();
    sorted.sort_by(|one, other| one.0.total_cmp(&other.0));
    let ((_, begun), (last, now)) = match sorted.as_slice() {
        [first, .., last] => (*first, *last),
        _ => return Err(NoEta::TooFew(2)),
    };
    // Towards the goal from where it began is down, whatever the thermometer says.
    let sign = if begun >= goal { 1.0 } else { -1.0 };
    if sign * now <= sign * goal {
        return Err(NoEta::Reached);
    }
    if sign * fit.excess <= 0.0 {
        return Err(NoEta::NotMoving);
    }
    let left = (goal - fit.level) / fit.excess;
    if left <= 0.0 {
        return Err(NoEta::LevelsOff(fit.level));
    }
    // By the fit it may have been there a moment ago, though the last reading was not.
    let at = (fit.first - left.ln() / fit.rate).max(last);
    Ok(meets(&Falling(&fit, sign), last, at, sign * goal))
}

/// Returns Newton's law as it fits readings `(minute, °C)`; see [`cooling()`].
pub fn fit_cooling(readings: &[(f64, f64)], ambient: Option<f64>) -> Result<Cooling, NoEta> {
    let finite = |&(minute, degrees): &(f64, f64)| minute.is_finite() && degrees.is_finite();
    if !readings.iter().all(finite) || ambient.is_some_and(|ambient| !ambient.is_finite()) {
        return Err(NoEta::NotANumber);
    }
    let needed = if ambient.is_some() { 2 } else { 3 };
    let mut times: Vec<f64> = readings.iter().map(|&(minute, _)| minute).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let (Some(&first), Some(&last)) = (times.first(), times.last()) else {
        return Err(NoEta::TooFew(needed));
    };
    if times.len() < needed {
        return Err(NoEta::TooFew(needed));
    }
    let shifted: Vec<_> = readings
        .iter()
        .map(|&(minute, degrees)| (minute - first, degrees))
        .collect();
    let rate = best_rate(&shifted, ambient, last - first);
    let line = project(&shifted, ambient, rate);
    let (spread, student) = spread(line.left_over, readings.len() - needed, THERMOMETER);
    Ok(Cooling {
        level: line.level,
        excess: line.excess,
        rate,
        spread,
        first,
        student,
        covariance: covariance(&shifted, ambient.is_some(), rate, line.excess),
    })
}

/// What is left of the fit once the rate is given.
struct Projected {
    level: f64,
    excess: f64,
    left_over: f64,
}

/// Returns the linear least-squares fit for a given rate.
fn project(readings: &[(f64, f64)], ambient: Option<f64>, rate: f64) -> Projected {
    let left = |minute: f64| (-rate * minute).exp();
    let count = readings.len() as f64;
    let (level, excess) = if let Some(level) = ambient {
        let (mut above, mut below) = (0.0, 0.0);
        for &(minute, degrees) in readings {
            above += left(minute) * (degrees - level);
            below += left(minute).powi(2);
        }
        (level, above / below)
    } else {
        let mean_left = readings.iter().map(|it| left(it.0)).sum::<f64>() / count;
        let mean = readings.iter().map(|it| it.1).sum::<f64>() / count;
        let (mut above, mut below) = (0.0, 0.0);
        for &(minute, degrees) in readings {
            above += (left(minute) - mean_left) * (degrees - mean);
            below += (left(minute) - mean_left).powi(2);
        }
        let excess = above / below;
        (mean - excess * mean_left, excess)
    };
    let left_over = readings
        .iter()
        .map(|&(minute, degrees)| (degrees - level - excess * left(minute)).powi(2))
        .sum();
    Projected {
        level,
        excess,
        left_over,
    }
}

/// Returns the rate, per minute, at which the least is left over.
fn best_rate(readings: &[(f64, f64)], ambient: Option<f64>, span: f64) -> f64 {
    // Slower than this is a straight line over the readings, faster is over before the second of them.
    const SLOWEST: f64 = 1e-3;
    const FASTEST: f64 = 30.0;
    const WALK: u32 = 120;
    let rate = |log: f64| log.exp() / span;
    let left_over = |log: f64| project(readings, ambient, rate(log)).left_over;
    let (low, high) = (SLOWEST.ln(), FASTEST.ln());
    let step = (high - low) / f64::from(WALK);
    let mut best = (f64::INFINITY, low);
    for place in 0..=WALK {
        let log = low + step * f64::from(place);
        let left = left_over(log);
        if left < best.0 {
            best = (left, log);
        }
    }
    let golden = (5_f64.sqrt() - 1.0) / 2.0;
    let (mut low, mut high) = (best.1 - step, best.1 + step);
    for _ in 0..60 {
        let (one, other) = (high - golden * (high - low), low + golden * (high - low));
        if left_over(one) <= left_over(other) {
            high = other;
        } else {
            low = one;
        }
    }
    rate(f64::midpoint(low, high))
}

/// Returns the inverse of the normal matrix at the fit; a level that is known has no row of its own. All infinite where the
/// readings cannot tell the parameters apart.
fn covariance(readings: &[(f64, f64)], level_known: bool, rate: f64, excess: f64) -> [[f64; 3]; 3] {
    let size = if level_known { 2 } else { 3 };
    let mut normal = [[0.0; 3]; 3];
    for &(minute, _) in readings {
        let left = (-rate * minute).exp();
        let row = [left, -excess * minute * left, 1.0];
        for i in 0..size {
            for j in 0..size {
                normal[i][j] += row[i] * row[j];
            }
        }
    }
    inverse(normal, size).unwrap_or([[f64::INFINITY; 3]; 3])
}

/// Returns the inverse of the leading block of a symmetric positive matrix, by Gauss and Jordan with pivots taken
/// from the diagonal after scaling; the rest is zero. `None` where it has none.
fn inverse(matrix: [[f64; 3]; 3], size: usize) -> Option<[[f64; 3]; 3]> {
    // Scaled to a unit diagonal: excess, rate and level are of very different size.
    let mut scale = [1.0; 3];
    for i in 0..size {
        if !(matrix[i][i] > 0.0 && matrix[i][i].is_finite()) {
            return None;
        }
        scale[i] = matrix[i][i].sqrt();
    }
    let mut left = [[0.0; 3]; 3];
    let mut right = [[0.0; 3]; 3];
    for i in 0..size {
        right[i][i] = 1.0;
        for j in 0..size {
            left[i][j] = matrix[i][j] / (scale[i] * scale[j]);
        }
    }
    for pivot in 0..size {
        let by = left[pivot][pivot];
        // What is lost below this is all rounding.
        if by < 1e-13 {
            return None;
        }
        for column in 0..size {
            left[pivot][column] /= by;
            right[pivot][column] /= by;
        }
        for row in (0..size).filter(|&row| row != pivot) {
            let by = left[row][pivot];
            for column in 0..size {
                left[row][column] -= by * left[pivot][column];
                right[row][column] -= by * right[pivot][column];
            }
        }
    }
    for i in 0..size {
        for j in 0..size {
            right[i][j] /= scale[i] * scale[j];
        }
    }
    Some(right)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

    use super::*;

    fn celsius(fahrenheit: f64) -> f64 {
        (fahrenheit - 32.0) / 1.8
    }

    #[test]
    fn two_readings_give_the_published_two_point_rate() {
        // [log10(T1 − Tdf) − log10(T2 − Tdf)] / Δt: Hedeen, Schaffner and Brown, J. Env. Health, 2022; with a
        // fridge of 37 °F the rates that just meet the model code's limits are these, per hour.
        let fridge = Some(celsius(37.0));
        for (from, to, hours, rate) in [
            (135.0, 70.0, 2.0, 0.2364),
            (70.0, 41.0, 4.0, 0.2291),
            (135.0, 41.0, 6.0, 0.2315),
        ] {
            let readings = [(0.0, celsius(from)), (hours * 60.0, celsius(to))];
            let fit = fit_cooling(&readings, fridge).unwrap();
            let decimal = fit.rate * 60.0 / std::f64::consts::LN_10;
            assert!((decimal - rate).abs() < 5e-5, "{decimal} for {rate}");
        }
        // The first of them goes on to 41 °F at log10(98/4)/0.2364 h.
        let readings = [(0.0, celsius(135.0)), (120.0, celsius(70.0))];
        let eta = cooling(&readings, fridge, celsius(41.0)).unwrap();
        assert!((eta.at / 60.0 - 5.876).abs() < 0.003, "{eta:?}");
        assert!(eta.low < eta.at && eta.high.is_some_and(|high| high > eta.at));
    }

    #[test]
    fn the_fit_and_its_span_are_those_of_another_program() {
        // SciPy 1.17.1, `curve_fit` (Levenberg and Marquardt) with tolerances of 1e-14 on the same readings; the
        // spans are √(gᵀ(JᵀJ)⁻¹g) at 200 minutes.
        let readings = [
            (0.0, 71.0),
            (15.0, 58.6),
            (30.0, 48.3),
            (50.0, 38.1),
            (75.0, 28.2),
            (100.0, 21.4),
            (140.0, 14.2),
        ];
        let near = |one: f64, other: f64| (one / other - 1.0).abs() < 2e-5;
        let free = fit_cooling(&readings, None).unwrap();
        assert!(near(free.level, 4.580_939_66), "{free:?}");
        assert!(near(free.excess, 66.379_117_70), "{free:?}");
        assert!(near(free.rate, 0.013_762_593_06), "{free:?}");
        let beforehand = 4.0 * THERMOMETER.powi(2);
        assert!(near(free.spread.powi(2) * 8.0, beforehand + 0.077_428_96));
        let span = free.within(200.0) / free.student / free.spread;
        assert!(near(span, 1.507_681_52), "{span}");
        let known = fit_cooling(&readings, Some(4.0)).unwrap();
        assert!(near(known.excess, 66.876_992_79), "{known:?}");
        assert!(near(known.rate, 0.013_519_817_73), "{known:?}");
        let span = known.within(200.0) / known.student / known.spread;
        assert!(near(span, 0.281_424_503), "{span}");
    }

    #[test]
    fn where_the_readings_begin_does_not_matter() {
        let readings = [(0.0, 60.0), (30.0, 44.0), (60.0, 33.5), (90.0, 25.0)];
        let later: Vec<_> = readings.iter().map(|&(at, it)| (at + 5e7, it)).collect();
        for ambient in [None, Some(4.0)] {
            let one = cooling(&readings, ambient, 21.0).unwrap();
            let other = cooling(&later, ambient, 21.0).unwrap();
            assert!((one.at + 5e7 - other.at).abs() < 1e-3, "{one:?} {other:?}");
            assert!((one.low + 5e7 - other.low).abs() < 0.01);
            let apart = one.high.unwrap() + 5e7 - other.high.unwrap();
            assert!(apart.abs() < 0.05, "{apart}");
        }
    }

    #[test]
    fn it_says_why_there_is_no_answer() {
        let say = |readings: &[(f64, f64)], ambient, goal| cooling(readings, ambient, goal).err();
        assert_eq!(say(&[], Some(4.0), 5.0), Some(NoEta::TooFew(2)));
        assert_eq!(
            say(&[(9.0, 60.0), (9.0, 61.0)], Some(4.0), 5.0),
            Some(NoEta::TooFew(2))
        );
        assert_eq!(
            say(&[(0.0, 60.0), (9.0, 50.0)], None, 5.0),
            Some(NoEta::TooFew(3))
        );
        assert_eq!(
            say(&[(0.0, 60.0), (60.0, 4.5)], Some(4.0), 5.0),
            Some(NoEta::Reached)
        );
        assert_eq!(
            say(&[(0.0, 60.0), (60.0, 40.0)], Some(7.0), 5.0),
            Some(NoEta::LevelsOff(7.0))
        );
        assert_eq!(
            say(&[(0.0, 60.0), (60.0, f64::NAN)], Some(7.0), 5.0),
            Some(NoEta::NotANumber)
        );
        assert_eq!(
            say(&[(0.0, 20.0), (60.0, 30.0)], Some(40.0), 5.0),
            Some(NoEta::NotMoving)
        );
    }

    #[test]
    fn more_readings_say_more() {
        let exact = |at: f64| 4.0 + 56.0 * (-0.01 * at).exp();
        let mut widths = Vec::new();
        for count in [2, 3, 5, 9] {
            let readings: Vec<_> = (0..count)
                .map(|place| 60.0 * f64::from(place) / f64::from(count - 1))
                .map(|at| (at, exact(at)))
                .collect();
            let eta = cooling(&readings, Some(4.0), 21.0).unwrap();
            assert!((eta.at - 100.0 * (56.0_f64 / 17.0).ln()).abs() < 1e-3);
            widths.push(eta.high.unwrap() - eta.low);
        }
        assert!(widths.is_sorted_by(|one, next| one > next), "{widths:?}");
    }

    #[test]
    fn what_warms_is_forecast_too() {
        let exact = |at: f64| 20.0 - 38.0 * (-0.005 * at).exp();
        let readings = [(0.0, exact(0.0)), (60.0, exact(60.0))];
        let eta = cooling(&readings, Some(20.0), -5.0).unwrap();
        assert!(
            (eta.at - 200.0 * (38.0_f64 / 25.0).ln()).abs() < 1e-3,
            "{eta:?}"
        );
    }
}
