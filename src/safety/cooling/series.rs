//! The exact series of conduction: how a slab, a long cylinder and a sphere cool from an even temperature in a
//! place whose own temperature does not change.
//!
//! `θ(x, Fo) = Σ Cₙ · e^(−ζₙ² Fo) · f(ζₙ x)`, where θ is the share of the first difference that is left, x runs
//! from the middle (0) to the surface (1), Fo = αt/L² and Bi = hL/k with L the half thickness or the radius.
//! The eigenvalues are the roots of `ζ tan ζ = Bi`, `ζ J₁(ζ)/J₀(ζ) = Bi` and `1 − ζ cot ζ = Bi` (Carslaw and
//! Jaeger, *Conduction of Heat in Solids*; Incropera and others, *Fundamentals of Heat and Mass Transfer*, §5.5 and
//! 5.6; Çengel, *Heat Transfer*, Table 4-2). Each lies in a bracket of its own, so it is found by halving and
//! secants and can never be missed (Brent, *Algorithms for Minimization Without Derivatives*, 1973, chapter 4).
//!
//! Block and pot are products of these (Newman's rule, 1936). Left out on purpose: freezing, which is not
//! conduction alone, and what moves inside a thin liquid, which only makes it cool faster.

use std::f64::consts::{FRAC_PI_2, PI};

/// The three bodies that conduct in one direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Solid {
    /// Between two faces; L is half the thickness.
    Slab,
    /// Long and round; L is the radius.
    Cylinder,
    /// Round all over; L is the radius.
    Sphere,
}

/// The terms of one series at one place in a body.
#[derive(Clone, Debug)]
pub struct Series {
    /// ζₙ² and Cₙ·f(ζₙ x), the slowest first.
    terms: Vec<(f64, f64)>,
    middle: bool,
}

/// Below this Fourier number the middle has not felt the surface: what is missing of 1 is less than erfc(5), 2e−12.
const UNFELT: f64 = 0.01;

impl Series {
    /// Returns the first `terms` terms for a Biot number above zero, at `x` from the middle (0) to the surface (1).
    ///
    /// At the middle twelve are exact to ten places for every time; at the surface the error is that of the first
    /// term left out.
    pub fn new(solid: Solid, biot: f64, x: f64, terms: usize) -> Self {
        let biot = biot.clamp(1e-9, 1e9);
        let terms = (1..=terms)
            .map(|place| {
                let root = eigenvalue(solid, biot, place);
                (root * root, constant(solid, root) * shape(solid, root * x))
            })
            .collect();
        Self {
            terms,
            middle: x == 0.0,
        }
    }

    /// Returns the share of the first difference in temperature that is left at a Fourier number.
    pub fn left(&self, fourier: f64) -> f64 {
        if self.middle && fourier < UNFELT {
            return 1.0;
        }
        let mut sum = 0.0;
        for &(square, weight) in &self.terms {
            let power = square * fourier;
            // Nothing after this is seen in sixteen figures.
            if power > 42.0 {
                break;
            }
            sum += weight * (-power).exp();
        }
        sum.clamp(0.0, 1.0)
    }
}

/// Returns the `place`-th root, from 1, of the equation of a body.
pub fn eigenvalue(solid: Solid, biot: f64, place: usize) -> f64 {
    let place = place.max(1) as f64;
    let (low, high) = match solid {
        Solid::Slab => ((place - 1.0) * PI, (place - 1.0) * PI + FRAC_PI_2),
        // Between a zero of J1, where the left side of the equation is 0, and the next of J0, where it has no bound.
        Solid::Cylinder => {
            let j0 = root(libm::j0, (place - 0.5) * PI, place * PI);
            let j1 = if place > 1.0 {
                root(libm::j1, (place - 1.0) * PI, (place - 0.5) * PI)
            } else {
                0.0
            };
            (j1, j0)
        }
        Solid::Sphere => ((place - 1.0) * PI, place * PI),
    };
    let low = low.max(1e-9);
    let equation = |zeta: f64| match solid {
        Solid::Slab => zeta * zeta.sin() - biot * zeta.cos(),
        Solid::Cylinder => zeta * libm::j1(zeta) - biot * libm::j0(zeta),
        Solid::Sphere => zeta * zeta.cos() + (biot - 1.0) * zeta.sin(),
    };
    root(equation, low, high)
}

/// Returns Cₙ.
pub fn constant(solid: Solid, zeta: f64) -> f64 {
    match solid {
        Solid::Slab => 4.0 * zeta.sin() / (2.0 * zeta + (2.0 * zeta).sin()),
        Solid::Cylinder => {
            let (j0, j1) = (libm::j0(zeta), libm::j1(zeta));
            2.0 / zeta * j1 / (j0 * j0 + j1 * j1)
        }
        Solid::Sphere => 4.0 * (zeta.sin() - zeta * zeta.cos()) / (2.0 * zeta - (2.0 * zeta).sin()),
    }
}

/// Returns f(ζx).
fn shape(solid: Solid, at: f64) -> f64 {
    match solid {
        Solid::Slab => at.cos(),
        Solid::Cylinder => libm::j0(at),
        Solid::Sphere if at.abs() < 1e-8 => 1.0,
        Solid::Sphere => at.sin() / at,
    }
}

/// Returns where a continuous function that changes sign between `low` and `high` is zero, to the last few bits:
/// halving, with a secant or an inverse parabola wherever that is the shorter way (Brent 1973). Without a change of
/// sign it returns the end that is nearer to zero.
pub(super) fn root(function: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    // The best so far, the one before it, and the other end of the bracket; each with its value.
    let (mut prior, mut best) = (low, high);
    let (mut at_prior, mut at_best) = (function(prior), function(best));
    if at_prior * at_best > 0.0 {
        return if at_prior.abs() < at_best.abs() {
            prior
        } else {
            best
        };
    }
    let (mut other, mut at_other) = (prior, at_prior);
    let mut prior_is_other = true;
    let (mut step, mut before) = (best - prior, best - prior);
    for _ in 0..100 {
        if at_best * at_other > 0.0 {
            (other, at_other) = (prior, at_prior);
            prior_is_other = true;
            step = best - prior;
            before = step;
        }
        if at_other.abs() < at_best.abs() {
            (prior, best, other) = (best, other, best);
            (at_prior, at_best, at_other) = (at_best, at_other, at_best);
            prior_is_other = true;
        }
        let tolerance = 2.0 * f64::EPSILON * best.abs() + 1e-15;
        let half = 0.5 * (other - best);
        if half.abs() <= tolerance || at_best == 0.0 {
            break;
        }
        if before.abs() < tolerance || at_prior.abs() <= at_best.abs() {
            (step, before) = (half, half);
        } else {
            let ratio = at_best / at_prior;
            let (mut above, mut below) = if prior_is_other {
                (2.0 * half * ratio, 1.0 - ratio)
            } else {
                let (first, second) = (at_prior / at_other, at_best / at_other);
                let bent = 2.0 * half * first * (first - second);
                let straight = (best - prior) * (second - 1.0);
                (
                    ratio * (bent - straight),
                    (first - 1.0) * (second - 1.0) * (ratio - 1.0),
                )
            };
            if above > 0.0 {
                below = -below;
            } else {
                above = -above;
            }
            let inside = 3.0 * half * below - (tolerance * below).abs();
            if 2.0 * above < inside.min((before * below).abs()) {
                before = step;
                step = above / below;
            } else {
                (step, before) = (half, half);
            }
        }
        (prior, at_prior) = (best, at_best);
        prior_is_other = false;
        best += if step.abs() > tolerance {
            step
        } else {
            tolerance.copysign(half)
        };
        at_best = function(best);
    }
    best
}
