//! The series against published tables, worked examples, other people's fits, and finite differences written here.

#![allow(
    clippy::unwrap_used,
    clippy::approx_constant,
    reason = "a test that cannot go on should stop, and tables are printed to four places"
)]

use std::f64::consts::PI;

use proptest::prelude::*;

use super::series::{Series, Solid, constant, eigenvalue};
use super::*;

fn near(one: f64, other: f64, by: f64) -> bool {
    (one - other).abs() <= by
}

#[test]
fn first_roots_and_constants_are_those_of_the_table() {
    // Çengel, Heat Transfer, Table 4-2; three entries of the print are one off in the last digit, so one digit is
    // allowed. The row of 100 is recomputed.
    let table = [
        (0.01, [0.0998, 1.0017, 0.1412, 1.0025, 0.1730, 1.0030]),
        (0.1, [0.3111, 1.0161, 0.4417, 1.0246, 0.5423, 1.0298]),
        (0.2, [0.4328, 1.0311, 0.6170, 1.0483, 0.7593, 1.0592]),
        (0.5, [0.6533, 1.0701, 0.9408, 1.1143, 1.1656, 1.1441]),
        (1.0, [0.8603, 1.1191, 1.2558, 1.2071, 1.5708, 1.2732]),
        (2.0, [1.0769, 1.1785, 1.5995, 1.3384, 2.0288, 1.4793]),
        (5.0, [1.3138, 1.2403, 1.9898, 1.5029, 2.5704, 1.7870]),
        (10.0, [1.4289, 1.2620, 2.1795, 1.5677, 2.8363, 1.9249]),
        (100.0, [1.5552, 1.2731, 2.3809, 1.6015, 3.1102, 1.9990]),
        (1e9, [PI / 2.0, 4.0 / PI, 2.4048, 1.6020, PI, 2.0]),
    ];
    for (biot, row) in table {
        let solids = [Solid::Slab, Solid::Cylinder, Solid::Sphere];
        for (solid, pair) in solids.into_iter().zip(row.chunks(2)) {
            let root = eigenvalue(solid, biot, 1);
            assert!(near(root, pair[0], 1.5e-4), "{solid:?} {biot}: {root}");
            let constant = constant(solid, root);
            assert!(
                near(constant, pair[1], 1.5e-4),
                "{solid:?} {biot}: {constant}"
            );
        }
    }
}

#[test]
fn further_roots_are_the_published_ones() {
    // Slab, Bi = 1: Carslaw and Jaeger, Appendix IV, Table I (recomputed).
    for (place, wanted) in [0.8603, 3.4256, 6.4373, 9.5293, 12.6453, 15.7713]
        .iter()
        .enumerate()
    {
        let root = eigenvalue(Solid::Slab, 1.0, place + 1);
        assert!(near(root, *wanted, 6e-5), "{place}: {root}");
    }
    // A surface held at the temperature of the place: the zeros of J0 (Abramowitz and Stegun, Table 9.5).
    for (place, wanted) in [2.404_825_6, 5.520_078_1, 8.653_727_9, 11.791_534_4]
        .iter()
        .enumerate()
    {
        let root = eigenvalue(Solid::Cylinder, 1e9, place + 1);
        assert!(near(root, *wanted, 1e-6), "{place}: {root}");
    }
}

#[test]
fn every_root_solves_its_equation_and_none_is_missed() {
    for solid in [Solid::Slab, Solid::Cylinder, Solid::Sphere] {
        for biot in [1e-6, 0.003, 0.7, 1.0, 1.3, 40.0, 1e6] {
            let mut before = 0.0;
            for place in 1..=30 {
                let zeta = eigenvalue(solid, biot, place);
                let (left, scale) = match solid {
                    Solid::Slab => (zeta * zeta.sin() - biot * zeta.cos(), zeta + biot),
                    Solid::Cylinder => (zeta * libm::j1(zeta) - biot * libm::j0(zeta), zeta + biot),
                    Solid::Sphere => (zeta * zeta.cos() + (biot - 1.0) * zeta.sin(), zeta + biot),
                };
                assert!(
                    left.abs() < 1e-12 * scale + 1e-13,
                    "{solid:?} {biot} {place}: {left}"
                );
                assert!(zeta > before);
                // Roots lie about π apart, never as much as two.
                assert!(
                    place == 1 || zeta - before < 1.6 * PI,
                    "{solid:?} {biot} {place}"
                );
                before = zeta;
            }
        }
    }
}

#[test]
fn at_the_first_moment_all_of_it_is_left() {
    // Σ Cₙ f(ζₙ x) = 1 inside the body.
    for solid in [Solid::Slab, Solid::Cylinder, Solid::Sphere] {
        for x in [0.2, 0.5, 0.8] {
            let series = Series::new(solid, 3.0, x, 4000);
            assert!(
                near(series.left(1e-7), 1.0, 2e-3),
                "{solid:?} {x}: {}",
                series.left(1e-7)
            );
        }
    }
}

/// Seconds until `left` is left, one solid, one film, at `x`.
fn seconds(solid: Solid, biot: f64, size: f64, alpha: f64, x: f64, left: f64) -> f64 {
    let series = Series::new(solid, biot, x, 60);
    let fourier = root(|fourier| series.left(fourier) - left, 1e-3, 100.0);
    fourier * size * size / alpha
}

#[test]
fn a_steak_in_a_chill_room() {
    // Çengel, problem 11-44: Bi 0.200, 93.1 min to a surface of 2 °C; the exact series gives 5586 s.
    let biot = 9.0 * 0.01 / 0.45;
    let took = seconds(Solid::Slab, biot, 0.01, 0.91e-7, 1.0, 13.0 / 36.0);
    assert!((took / 5586.0 - 1.0).abs() < 1e-3, "{took}");
}

#[test]
fn an_apple_in_cold_water() {
    // Singh and Heldman, Introduction to Food Engineering, example 4.26: 15 → 3 °C in the middle in water of 2 °C.
    let alpha = 0.355 / (820.0 * 3600.0);
    let took = seconds(
        Solid::Sphere,
        50.0 * 0.03 / 0.355,
        0.03,
        alpha,
        0.0,
        1.0 / 13.0,
    );
    assert!((took / 3778.0 - 1.0).abs() < 1e-3, "{took}");
}

#[test]
fn eggs_in_boiling_water() {
    // Çengel, problem 4-70 and its sibling: at so short a time one term is nearly a percent off, the series is not.
    let biot = 800.0 * 0.0275 / 0.607;
    for (from, to, wanted) in [(8.0, 60.0, 839.0), (4.3, 74.0, 1104.5)] {
        let left = (100.0 - to) / (100.0 - from);
        let took = seconds(Solid::Sphere, biot, 0.0275, 0.146e-6, 0.0, left);
        assert!((took / wanted - 1.0).abs() < 1e-3, "{from}: {took}");
    }
    // Çengel, example 4-4 (5 → 70 °C at 95 °C, h 1200): 862.6 s by the series, "about 865 s" in print from one term.
    let took = seconds(
        Solid::Sphere,
        1200.0 * 0.025 / 0.627,
        0.025,
        0.151e-6,
        0.0,
        25.0 / 90.0,
    );
    assert!((took / 862.6 - 1.0).abs() < 2e-3, "{took}");
}

/// Lacroix and Castaigne's fit of the first root of a slab and a cylinder, 0.1 < Bi ≤ 100, as the ASHRAE Handbook
/// (Refrigeration, "Cooling and Freezing Times of Foods") prints it.
fn fitted(coefficients: [f64; 6], biot: f64) -> f64 {
    let x = biot.ln();
    coefficients
        .iter()
        .rev()
        .fold(0.0, |sum, one| sum * x + one)
}

const SLAB: [f64; 6] = [
    0.860_972, 0.312_133, 0.007_986, -0.016_192, -0.001_190, 0.000_581,
];
const CYLINDER: [f64; 6] = [
    1.257_493, 0.487_941, 0.025_322, -0.026_568, -0.002_888, 0.001_078,
];

#[test]
fn the_handbooks_fits_agree_where_they_are_good() {
    for biot in [0.2, 0.5, 1.0, 2.0, 5.0, 10.0] {
        let (slab, exact) = (fitted(SLAB, biot), eigenvalue(Solid::Slab, biot, 1));
        assert!(
            (slab / exact - 1.0).abs() < 0.012,
            "slab {biot}: {slab} {exact}"
        );
        let (round, exact) = (fitted(CYLINDER, biot), eigenvalue(Solid::Cylinder, biot, 1));
        assert!(
            (round / exact - 1.0).abs() < 0.012,
            "cylinder {biot}: {round} {exact}"
        );
        // j is the constant of the first term. The printed sign of the cylinder's is wrong: J0² + J1², not minus.
        let (j0, j1) = (libm::j0(round), libm::j1(round));
        let lag = 2.0 * j1 / (round * (j0 * j0 + j1 * j1));
        assert!(
            near(lag, constant(Solid::Cylinder, exact), 0.02),
            "{biot}: {lag}"
        );
    }
    assert!(near(fitted(SLAB, 1.0), 0.8610, 5e-5) && near(fitted(SLAB, 10.0), 1.4285, 5e-5));
    let (j0, j1) = (libm::j0(1.2575), libm::j1(1.2575));
    let misprinted = 2.0 * j1 / (1.2575 * (j0 * j0 - j1 * j1));
    assert!(misprinted > 5.0);
    // Near the end of its range the slab's fit is 3 % low, so its time is 7 % long: the series stands.
    let (fit, exact) = (fitted(SLAB, 50.0), eigenvalue(Solid::Slab, 50.0, 1));
    assert!(
        near(exact, 1.5400, 5e-5) && near(fit, 1.4885, 5e-5),
        "{fit} {exact}"
    );
    // Beyond Bi 100 the handbook's f·α/L² and j: 0.9332 and 1.273; 0.3982 and 1.6015; 0.2333 and 2.000.
    let rows = [
        (Solid::Slab, 0.9332, 1.273),
        (Solid::Cylinder, 0.3982, 1.6015),
        (Solid::Sphere, 0.2333, 2.0),
    ];
    for (solid, f, j) in rows {
        let root = eigenvalue(solid, 1e9, 1);
        let decimal = std::f64::consts::LN_10 / (root * root);
        assert!(near(decimal, f, 5e-4), "{solid:?} {decimal}");
        assert!(near(constant(solid, root), j, 1e-3));
    }
}

fn pan(shape: Shape, covered: bool, stirred: bool) -> Body {
    Body {
        shape,
        material: Material {
            conductivity: 0.55,
            diffusivity: 1.35e-7,
        },
        from: 57.0,
        covered,
        stirred,
    }
}

#[test]
fn five_centimetres_in_the_fridge_fail_and_over_ice_do_not() {
    // k 0.55, α 1.35e-7, a place of 4 °C: from the top only 10.9 h at h 8 and 5.4 h at h 25 to 21 °C; from both
    // faces in ice water at h 200 0.88 h to 21 °C and 2.7 h to 5 °C. In kind as measured: Roberts and others, Food
    // Protection Trends 33(1), 2013; Olds and Sneed, J. Child Nutrition and Management 29(1), 2005.
    let deep = Shape::Layer { depth: 0.05 };
    let left = |to: f64| (to - 4.0) / 53.0;
    let top = pan(deep, true, false);
    for (film, hours) in [(8.0, 10.9), (25.0, 5.4)] {
        let took = minutes_at(&top, Place::Still, film, left(21.0)) / 60.0;
        assert!(near(took, hours, 0.06), "{film}: {took}");
    }
    let both = pan(deep, false, false);
    for (to, hours) in [(21.0, 0.88), (5.0, 2.7)] {
        let took = minutes_at(&both, Place::Still, 200.0, left(to)) / 60.0;
        assert!(near(took, hours, 0.05), "{to}: {took}");
    }
}

#[test]
fn twice_as_deep_takes_four_times_as_long_where_the_surface_is_cold() {
    // Time goes with the square of the shortest dimension (Dickerson and Read, J. Milk Food Technol., 1973).
    let body = |depth| pan(Shape::Layer { depth }, false, false);
    let one = minutes_at(&body(0.03), Place::Still, 1e6, 0.1);
    let two = minutes_at(&body(0.06), Place::Still, 1e6, 0.1);
    assert!((two / one - 4.0).abs() < 1e-3, "{one} {two}");
}

/// A body cut into cells, each losing heat to its neighbours and at the wall through a film: explicit finite
/// volumes, the reference for the shapes that the series only reaches by multiplying.
struct Cells {
    /// Cells from the middle outwards, each direction; a round one has rings.
    across: usize,
    up: usize,
    round: bool,
}

impl Cells {
    /// Returns what is left at the middle after `seconds`, for half sizes in metres.
    fn left(&self, half: (f64, f64), film: f64, material: Material, seconds: f64) -> f64 {
        let (wide, high) = (half.0 / self.across as f64, half.1 / self.up as f64);
        let heat = material.heat();
        let mut now = vec![vec![1.0; self.up]; self.across];
        // A quarter of what is stable for the finer direction.
        let tick = 0.2 / material.diffusivity / (1.0 / (wide * wide) + 1.0 / (high * high)) / 2.0;
        let ticks = (seconds / tick).ceil() as usize;
        let tick = seconds / ticks as f64;
        let edge = |place: usize| if self.round { place as f64 * wide } else { 1.0 };
        let bulk = |place: usize| {
            let (inner, outer) = (place as f64 * wide, (place + 1) as f64 * wide);
            if self.round {
                (outer * outer - inner * inner) / 2.0
            } else {
                wide
            }
        };
        // From the middle of the outermost cell through half a cell and the film.
        let through = |step: f64| 1.0 / (step / 2.0 / material.conductivity + 1.0 / film);
        for _ in 0..ticks {
            let old = now.clone();
            for i in 0..self.across {
                for j in 0..self.up {
                    let here = old[i][j];
                    let mut gain = 0.0;
                    if i > 0 {
                        gain += edge(i) * material.conductivity / wide * (old[i - 1][j] - here);
                    }
                    gain += if i + 1 < self.across {
                        edge(i + 1) * material.conductivity / wide * (old[i + 1][j] - here)
                    } else {
                        edge(i + 1) * through(wide) * -here
                    };
                    let mut flow = gain / bulk(i);
                    if j > 0 {
                        flow += material.conductivity / high * (old[i][j - 1] - here) / high;
                    }
                    flow += if j + 1 < self.up {
                        material.conductivity / high * (old[i][j + 1] - here) / high
                    } else {
                        through(high) * -here / high
                    };
                    now[i][j] = here + tick * flow / heat;
                }
            }
        }
        // The value at the very middle, from the two cells beside it in each direction (even in the distance).
        let inward = |near: f64, far: f64| near + (near - far) / 8.0;
        let column = |j: usize| inward(now[0][j], now[1][j]);
        inward(column(0), column(1))
    }
}

#[test]
fn pot_and_pan_are_what_finite_differences_make_of_them() {
    let material = Material::of_water(0.8);
    for (film, minutes) in [(8.0, 240.0), (40.0, 90.0), (300.0, 60.0)] {
        let pot = Body {
            shape: Shape::Pot {
                diameter: 0.18,
                depth: 0.09,
            },
            material,
            from: 60.0,
            covered: false,
            stirred: false,
        };
        let cells = Cells {
            across: 24,
            up: 24,
            round: true,
        };
        let left = cells.left((0.09, 0.045), film, material, minutes * 60.0);
        let took = minutes_at(&pot, Place::Still, film, left);
        assert!(
            (took / minutes - 1.0).abs() < 4e-3,
            "pot {film}: {took} {left}"
        );
        // So long that only two directions count, as the cells have two.
        let pan = Body {
            shape: Shape::Pan {
                length: 9.0,
                width: 0.12,
                depth: 0.06,
            },
            ..pot
        };
        let cells = Cells {
            across: 24,
            up: 24,
            round: false,
        };
        let left = cells.left((0.06, 0.03), film, material, minutes * 60.0);
        let took = minutes_at(&pan, Place::Still, film, left);
        assert!(
            (took / minutes - 1.0).abs() < 4e-3,
            "pan {film}: {took} {left}"
        );
    }
}

#[test]
fn places_take_heat_away_as_kitchens_report() {
    // Common practice: still fridge air 5–10, a fan 15–40, a stirred ice bath 200–500 W/(m²·K); each inside what Çengel's
    // notes on convection give: free gas 2–25, forced gas 25–250, forced liquid 50–20,000.
    assert_eq!(Place::Still.film(), (5.0, 10.0));
    assert_eq!(Place::Fan.film(), (15.0, 40.0));
    assert_eq!(Place::IceBath.film(), (200.0, 500.0));
    let (least, most) = Place::Blast.film();
    assert!(least > Place::Fan.film().0 && most <= 250.0);
}

#[test]
fn a_block_is_the_product_of_its_three_directions() {
    // Newman's rule, with each direction reckoned alone.
    let material = Material::of_water(0.7);
    let body = Body {
        shape: Shape::Pan {
            length: 0.3,
            width: 0.2,
            depth: 0.08,
        },
        material,
        from: 80.0,
        covered: false,
        stirred: false,
    };
    let took = minutes_at(&body, Place::Fan, 25.0, 0.2) * 60.0;
    let alone = |half: f64| {
        let biot = 25.0 * half / material.conductivity;
        Series::new(Solid::Slab, biot, 0.0, 60).left(material.diffusivity * took / (half * half))
    };
    let product = alone(0.15) * alone(0.1) * alone(0.04);
    assert!(near(product, 0.2, 1e-9), "{product}");
}

#[test]
fn a_lid_a_greater_depth_and_a_milder_place_never_help() {
    let minutes = |shape, covered, place, at| {
        let body = pan(shape, covered, false);
        minutes_to(&body, Medium { place, at }, 21.0).unwrap()
    };
    let mut before = 0.0;
    for depth in [0.01, 0.02, 0.04, 0.08, 0.16] {
        let open = minutes(Shape::Layer { depth }, false, Place::Fan, 3.0);
        let lid = minutes(Shape::Layer { depth }, true, Place::Fan, 3.0);
        let still = minutes(Shape::Layer { depth }, false, Place::Still, 3.0);
        let warm = minutes(Shape::Layer { depth }, false, Place::Fan, 6.0);
        assert!(open.early < open.late && open.late > before);
        assert!(lid.late > open.late && still.late > open.late && warm.late > open.late);
        // A wall on every side takes heat too.
        let walled = Shape::Pan {
            length: 0.3,
            width: 0.2,
            depth,
        };
        assert!(minutes(walled, false, Place::Fan, 3.0).late <= open.late);
        before = open.late;
    }
}

#[test]
fn a_thin_layer_and_a_stirred_pot_follow_newtons_law() {
    // At a Biot number of a hundredth the middle and the surface are one: the series and the stirred law agree.
    let shape = Shape::Layer { depth: 0.002 };
    let still = minutes_at(&pan(shape, false, false), Place::Still, 5.0, 0.3);
    let stirred = minutes_at(&pan(shape, false, true), Place::Still, 5.0, 0.3);
    assert!((still / stirred - 1.0).abs() < 0.01, "{still} {stirred}");
}

#[test]
fn what_cannot_be_cooled_is_not_forecast() {
    let body = pan(Shape::Layer { depth: 0.05 }, false, false);
    let fridge = |at| Medium {
        place: Place::Still,
        at,
    };
    assert_eq!(minutes_to(&body, fridge(7.0), 5.0), None);
    assert_eq!(minutes_to(&body, fridge(5.0), 5.0), None);
    assert_eq!(minutes_to(&body, fridge(f64::NAN), 5.0), None);
    let flat = pan(Shape::Layer { depth: 0.0 }, false, false);
    assert_eq!(minutes_to(&flat, fridge(3.0), 5.0), None);
    assert!(minutes_to(&body, fridge(3.0), 60.0).unwrap().late.abs() < f64::EPSILON);
}

#[test]
fn what_surely_passes_is_what_passes() {
    use crate::safety::rules::{AUSTRALIA, ENGLAND, US};
    let mut met = std::collections::BTreeSet::new();
    for depth in [0.005, 0.012, 0.03, 0.08] {
        for place in [Place::Still, Place::Fan, Place::Blast, Place::IceBath] {
            for covered in [Some(true), Some(false), None] {
                let asked = Asked {
                    body: Body {
                        shape: Shape::Layer { depth },
                        material: Material::of_water(0.7),
                        from: 82.0,
                        covered: covered == Some(true),
                        stirred: false,
                    },
                    medium: Medium { place, at: 2.0 },
                    open: covered == Some(false),
                };
                for set in [&US, &ENGLAND, &AUSTRALIA] {
                    let passes = asked.passes(&set.cooling);
                    assert_eq!(asked.surely_passes(&set.cooling), passes == Passes::Yes);
                    met.insert(passes);
                }
            }
        }
    }
    assert_eq!(met.len(), 3, "{met:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(96) })]

    /// The depth that passes is the one found by asking of every depth whether it surely passes.
    #[test]
    fn the_deepest_that_passes_is_the_deepest_of_all_that_do(
        (depth, side, shape) in (0.002_f64..0.3, 0.05_f64..0.8, 0..3),
        (from, at, place) in (8.0_f64..100.0, -3.0_f64..8.0, 0..4_usize),
        (covered, open, stirred) in any::<(bool, bool, bool)>(),
        (water, set) in (0.2_f64..1.0, 0..3_usize),
    ) {
        use crate::safety::rules::{AUSTRALIA, ENGLAND, US};
        let asked = Asked {
            body: Body {
                shape: match shape {
                    0 => Shape::Layer { depth },
                    1 => Shape::Pan { length: side, width: side * 0.6, depth },
                    _ => Shape::Pot { diameter: side, depth },
                },
                material: Material::of_water(water),
                from,
                covered: covered && !open,
                stirred,
            },
            medium: Medium { place: [Place::Still, Place::Fan, Place::Blast, Place::IceBath][place], at },
            open,
        };
        let legs = [&US, &ENGLAND, &AUSTRALIA][set].cooling;
        let one_by_one = deepest(depth, |depth| {
            let shape = asked.body.shape.at_depth(depth);
            Asked { body: Body { shape, ..asked.body }, ..asked }.surely_passes(&legs)
        });
        let one_by_one = one_by_one.filter(|&found| found >= 0.004);
        prop_assert_eq!(asked.deepest(&legs), one_by_one);
    }
}

#[test]
fn a_depth_that_passes_is_found_to_half_a_millimetre() {
    let found = deepest(0.2, |depth| depth <= 0.0337).unwrap();
    assert!((0.0332..=0.0337).contains(&found), "{found}");
    assert_eq!(deepest(0.2, |_| false), None);
    assert_eq!(deepest(0.2, |_| true), Some(0.2));
}

#[test]
fn a_jelly_sets_after_its_middle_is_cold() {
    let body = Body {
        shape: Shape::Ball { diameter: 0.1 },
        material: Material::named("jelly").unwrap(),
        from: 40.0,
        covered: false,
        stirred: false,
    };
    let fridge = Medium {
        place: Place::Still,
        at: 4.0,
    };
    let cold = minutes_to(&body, fridge, 12.0).unwrap().late;
    let set = setting_minutes(&body, fridge, 12.0, 240.0).unwrap();
    assert_eq!(set, (cold + 240.0).ceil() as u32);
    assert_eq!(setting_minutes(&body, fridge, 3.0, 240.0), None);
}
