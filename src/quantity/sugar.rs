//! Syrups: what is left of one that is boiled down, at what heat it boils, and the stages.
//!
//! What a syrup weighs at two concentrations follows from the sugar staying where it is. At what temperature it boils
//! is measured: sucrose in water at 760 mm by C. A. Browne, *A Handbook of Sugar Analysis*, 1912, interpolated between
//! his points. The law of dilute solutions must not stand in for it: it gives 6.0 K of elevation at 80 %, where 12.0 are
//! measured. On high ground everything boils lower by as much as water does.
//!
//! Stages are those of Harold McGee, *On Food and Cooking*, 2004 (the lower bound of *hard ball* is printed as 240 °F
//! there, a slip for 250: its Celsius is 121). Their concentrations differ from table to table and are not used.
//!
//! Left out on purpose: invert sugar, glucose and acids, which change all of this; a thermometer and a cold plate decide.

use super::between;
use crate::menu::{Stage, Sugar, SugarMark};

/// Degrees Brix and what such a syrup boils at, °C at 760 mm: Browne.
const BOILS: [(f64, f64); 15] = [
    (0.0, 100.0),
    (20.0, 100.6),
    (30.0, 101.0),
    (40.0, 101.5),
    (50.0, 102.0),
    (60.0, 103.0),
    (64.0, 104.0),
    (66.0, 104.8),
    (70.0, 106.5),
    (74.0, 108.4),
    (80.0, 112.0),
    (84.0, 116.3),
    (86.0, 119.3),
    (88.0, 123.1),
    (90.0, 127.8),
];

/// Feet above the sea and what water boils at, °F: National Oceanic and Atmospheric Administration, by way of
/// "High-altitude cooking", Wikipedia.
const WATER: [(f64, f64); 8] = [
    (0.0, 212.0),
    (500.0, 211.1),
    (1000.0, 210.2),
    (2000.0, 208.4),
    (5000.0, 203.0),
    (6000.0, 201.1),
    (8000.0, 197.4),
    (10_000.0, 193.6),
];

const FOOT_M: f64 = 0.3048;

/// Degrees Brix and Baumé of the same syrup at 20 °C: Ferenc Mohos, *Confectionery and Chocolate Engineering*, table A2.1,
/// which calls straight lines between its points fair.
const BAUME: [(f64, f64); 9] = [
    (0.0, 0.0),
    (10.0, 5.57),
    (30.0, 16.6),
    (50.0, 27.5),
    (60.0, 32.49),
    (65.0, 35.04),
    (70.0, 37.6),
    (80.0, 42.47),
    (85.0, 44.86),
];

/// Degrees Brix and grams in a millilitre at 20 °C, past 40: National Bureau of Standards, Circular 440 (from memory); the
/// first point is the fit below it times the density of water.
const THICK: [(f64, f64); 5] = [
    (40.0, 1.17662),
    (50.0, 1.2296),
    (60.0, 1.2865),
    (65.0, 1.3163),
    (70.0, 1.3472),
];

/// Degrees Celsius and grams of sucrose that 100 g of water hold at most: Mohos, tables A2.2 and A2.3. (Of 30 °C two copies
/// print two figures, so that row is not here.)
const SATURATED: [(f64, f64); 4] = [(0.0, 179.2), (20.0, 203.9), (50.0, 260.4), (100.0, 487.2)];

/// What water weighs at 20 °C, in g/ml.
const WATER_20: f64 = 0.998_203;

/// Returns the degrees Brix of a syrup by its weight against that of water, both at 20 °C, up to 40: the fit to the table
/// of the National Bureau of Standards.
pub fn brix_of_gravity(gravity: f64) -> f64 {
    ((182.4601 * gravity - 775.6821) * gravity + 1262.7794) * gravity - 669.5622
}

/// Returns what a syrup weighs at 20 °C, in g/ml; nothing past 70 degrees Brix, where the table ends.
pub fn weighs(brix: f64) -> Option<f64> {
    if !(0.0..=70.0).contains(&brix) {
        return None;
    }
    if brix > 40.0 {
        return Some(between(&THICK, brix));
    }
    // The fit rises over the whole of its range, so halving finds where it passes.
    let (mut low, mut high) = (0.99, 1.19);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if brix_of_gravity(middle) < brix {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low * WATER_20)
}

/// Returns the degrees Baumé of a syrup at 20 °C; nothing past 85 degrees Brix, where the table ends.
pub fn baume(brix: f64) -> Option<f64> {
    (0.0..=85.0).contains(&brix).then(|| between(&BAUME, brix))
}

/// Returns the degrees Brix of a syrup that holds as much sugar as it can at a temperature, in °C; nothing outside the table,
/// which goes from 0 to 100.
pub fn saturated(celsius: f64) -> Option<f64> {
    (0.0..=100.0).contains(&celsius).then(|| {
        let sugar = between(&SATURATED, celsius);
        100.0 * sugar / (100.0 + sugar)
    })
}

/// Returns what water boils at, in °C, so many metres above the sea.
pub fn water_boils(metres: i32) -> f64 {
    super::temperature::celsius(between(&WATER, f64::from(metres) / FOOT_M))
}

/// Returns by how many degrees everything boils lower than by the sea.
fn lower(metres: i32) -> f64 {
    100.0 - water_boils(metres)
}

/// Returns what a syrup of so many degrees Brix boils at, in °C, so many metres above the sea; nothing past 90, where
/// the table ends.
pub fn boils(brix: f64, metres: i32) -> Option<f64> {
    (0.0..=90.0)
        .contains(&brix)
        .then(|| between(&BOILS, brix) - lower(metres))
}

/// Returns the degrees Brix of a syrup that boils at this many °C, so many metres above the sea; nothing below the
/// boiling of water or past 90.
pub fn brix(boils: f64, metres: i32) -> Option<f64> {
    let at_sea = boils + lower(metres);
    let turned = BOILS.map(|(brix, celsius)| (celsius, brix));
    (100.0..=127.8)
        .contains(&at_sea)
        .then(|| between(&turned, at_sea))
}

/// Returns what is left of a mass of syrup taken from one concentration to another, in the same unit: the sugar stays,
/// the water goes, or is added where the other is thinner.
pub fn left(mass: f64, from_brix: f64, to_brix: f64) -> f64 {
    mass * from_brix / to_brix
}

/// Returns the temperatures of a stage, in °F, by the sea.
pub fn stage(stage: Stage) -> (f64, f64) {
    match stage {
        Stage::Thread => (215.0, 235.0),
        Stage::SoftBall => (235.0, 240.0),
        Stage::FirmBall => (245.0, 250.0),
        Stage::HardBall => (250.0, 265.0),
        Stage::SoftCrack => (270.0, 290.0),
        Stage::HardCrack => (300.0, 310.0),
        Stage::HardCandy => (320.0, 335.0),
        Stage::LightCaramel => (340.0, 340.0),
        Stage::MediumCaramel => (355.0, 360.0),
        Stage::DarkCaramel => (375.0, 380.0),
    }
}

/// Returns whether a stage is one of melted sugar that browns: there is no water left whose boiling would be lower on high
/// ground.
fn browns(stage: Stage) -> bool {
    matches!(
        stage,
        Stage::LightCaramel | Stage::MediumCaramel | Stage::DarkCaramel
    )
}

/// Returns the temperatures, from and to, in °C, at which a syrup has got as far as a mark, so many metres above the
/// sea; nothing where no table goes so far.
pub fn ends_at(mark: &SugarMark, metres: i32) -> Option<(f64, f64)> {
    match mark.to {
        Sugar::Brix(to) => boils(to, metres).map(|at| (at, at)),
        Sugar::Stage(of) => {
            let (from, to) = stage(of);
            let down = if browns(of) { 0.0 } else { lower(metres) };
            let celsius = |fahrenheit| super::temperature::celsius(fahrenheit) - down;
            Some((celsius(from), celsius(to)))
        }
    }
}

/// Returns what is to be known of a step that boils a syrup to a mark: at what it is there, here and by the sea, and
/// what is left of what went in.
pub fn sentences(mark: &SugarMark, altitude: Option<i32>) -> Vec<String> {
    let metres = altitude.unwrap_or(0);
    let mut said = Vec::new();
    let range = |(from, to): (f64, f64)| {
        if (to - from).abs() < 0.05 {
            super::temperature::both(from)
        } else {
            format!("{from:.0} to {to:.0} °C")
        }
    };
    let of = crate::menu::words::sugar(&SugarMark {
        from: None,
        to: mark.to,
    });
    let source = match mark.to {
        Sugar::Brix(_) => "Browne 1912",
        Sugar::Stage(_) => "McGee 2004",
    };
    match ends_at(mark, metres) {
        Some(here) if matches!(mark.to, Sugar::Stage(stage) if browns(stage)) => {
            said.push(format!("{of} is at {} ({source})", range(here)));
        }
        Some(here) if metres == 0 => {
            said.push(format!("{of} boils at {} ({source})", range(here)));
        }
        Some(here) => {
            let at_sea = ends_at(mark, 0).map(range).unwrap_or_default();
            said.push(format!(
                "{of} boils at {} here, at {metres} m; by the sea at {at_sea} ({source})",
                range(here)
            ));
        }
        None => said.push(format!("{of}: past 90 Brix no table says what it boils at")),
    }
    if let Sugar::Brix(to) = mark.to
        && let (Some(baume), Some(weighs)) = (baume(to), weighs(to))
    {
        said.push(format!(
            "cold, at 20 °C, it is {baume:.0} °Baumé (Mohos) and weighs {weighs:.3} g/ml (NBS)"
        ));
    }
    if let (Sugar::Brix(to), Some(most)) = (mark.to, saturated(20.0))
        && to > most
    {
        said.push(format!(
            "at 20 °C water holds no more than {most:.1} Brix of plain sugar (Mohos): cold, it may turn to crystals"
        ));
    }
    if let (Some(from), Sugar::Brix(to)) = (mark.from, mark.to) {
        said.push(format!(
            "of 1000 g at {from} Brix {:.0} g are left, {:.0} g have boiled off",
            left(1000.0, from, to),
            1000.0 - left(1000.0, from, to)
        ));
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(one: f64, other: f64, within: f64) -> bool {
        (one - other).abs() <= within
    }

    /// Browne 1912, point by point; 60 and 70 % also in Belle Lowe, *Experimental Cookery*.
    #[test]
    fn a_syrup_boils_where_browne_measured_it() {
        let printed = [
            (20.0, 100.6),
            (30.0, 101.0),
            (40.0, 101.5),
            (50.0, 102.0),
            (60.0, 103.0),
            (64.0, 104.0),
            (66.0, 104.8),
            (70.0, 106.5),
            (74.0, 108.4),
            (80.0, 112.0),
            (84.0, 116.3),
            (86.0, 119.3),
            (88.0, 123.1),
            (90.0, 127.8),
        ];
        for (brix, celsius) in printed {
            assert!(close(boils(brix, 0).unwrap(), celsius, 1e-9), "{brix}");
        }
        assert_eq!(boils(90.5, 0), None);
        // The law of dilute solutions, 0.512 K kg/mol: 80 % are 11.7 mol/kg, hence +6.0 K. Half of what is measured.
        let ideal = 0.512 * (80.0 / 20.0 * 1000.0 / 342.3);
        assert!(close(ideal, 6.0, 0.05) && close(boils(80.0, 0).unwrap(), 112.0, 1e-9));
    }

    /// Cruess and McNair, by way of Lowe: a jelly of 65 % is done 3.9 K above the boiling of water there. The table of
    /// pure sucrose comes to 104.4 °C; both agree within half a degree.
    #[test]
    fn the_jelly_point() {
        let at = boils(65.0, 0).unwrap();
        assert!(close(at, 104.4, 0.05), "{at}");
        assert!(close(at, 103.9, 0.5));
    }

    /// NOAA, by way of "High-altitude cooking": in both units as printed.
    #[test]
    fn water_boils_lower_on_high_ground() {
        let printed = [
            (0, 212.0, 100.0),
            (500, 211.1, 99.5),
            (1000, 210.2, 99.0),
            (2000, 208.4, 98.0),
            (5000, 203.0, 95.0),
            (6000, 201.1, 94.0),
            (8000, 197.4, 91.9),
            (10_000, 193.6, 89.8),
        ];
        for (feet, fahrenheit, celsius) in printed {
            // A whole metre is up to half of one off, which is a thousandth of a degree.
            let found = water_boils((f64::from(feet) * 0.3048).round() as i32);
            assert!(close(found, celsius, 0.06), "{feet} ft: {found}");
            let found = super::super::temperature::fahrenheit(found);
            assert!(close(found, fahrenheit, 0.005), "{feet} ft: {found}");
        }
        // McGee: two degrees Fahrenheit, one Celsius, for each thousand feet, at every stage.
        let mark = SugarMark {
            from: None,
            to: Sugar::Stage(Stage::SoftBall),
        };
        let (from, to) = ends_at(&mark, (3000.0 * FOOT_M) as i32).unwrap();
        assert!(close(from, 113.0 - 3.0, 0.3) && close(to, 116.0 - 3.0, 0.6));
        // A cook book prints 226 °F for the soft ball at 3000 ft: four degrees lower than the rule.
        assert!(super::super::temperature::fahrenheit(from) > 229.0);
    }

    /// McGee's stages in both of his units: the Fahrenheit to the digit, the Celsius as he rounds it, which is to 0.6. Of two
    /// his scales disagree by more (340 °F and 170 °C, 375 to 380 °F and 188 to 190 °C): by 1.2 and by 3.4. The lower bound of
    /// the hard ball is printed as 240 °F.
    #[test]
    fn the_stages_of_sugar() {
        let printed = [
            (Stage::Thread, (215.0, 235.0), (102.0, 113.0), 0.6),
            (Stage::SoftBall, (235.0, 240.0), (113.0, 116.0), 0.6),
            (Stage::FirmBall, (245.0, 250.0), (118.0, 121.0), 0.6),
            (Stage::HardBall, (250.0, 265.0), (121.0, 130.0), 0.6),
            (Stage::SoftCrack, (270.0, 290.0), (132.0, 143.0), 0.6),
            (Stage::HardCrack, (300.0, 310.0), (149.0, 154.0), 0.6),
            (Stage::HardCandy, (320.0, 335.0), (160.0, 168.0), 0.6),
            (Stage::LightCaramel, (340.0, 340.0), (170.0, 170.0), 1.2),
            (Stage::MediumCaramel, (355.0, 360.0), (180.0, 182.0), 0.6),
            (Stage::DarkCaramel, (375.0, 380.0), (188.0, 190.0), 3.4),
        ];
        for (of, fahrenheit, (from, to), within) in printed {
            assert_eq!(stage(of), fahrenheit, "{of:?}");
            let mark = SugarMark {
                from: None,
                to: Sugar::Stage(of),
            };
            let found = ends_at(&mark, 0).unwrap();
            assert!(
                close(found.0, from, within) && close(found.1, to, within),
                "{of:?}: {found:?}"
            );
        }
    }

    /// Mohos, tables A2.2 and A2.3: 20 °C is 203.9 g in 100 g of water, which is 67.09 °Bx.
    #[test]
    fn water_holds_so_much_sugar_and_no_more() {
        assert!(close(saturated(20.0).unwrap(), 67.09, 0.005));
        let of = |grams: f64| 100.0 * grams / (100.0 + grams);
        for (celsius, grams) in [(0.0, 179.2), (50.0, 260.4), (100.0, 487.2)] {
            assert!(
                close(saturated(celsius).unwrap(), of(grams), 1e-9),
                "{celsius}"
            );
        }
        // It weighs, by the same book, 1.3327 g/ml. The table of the NBS has 1.3292 for as much sugar, straight between its
        // points of 65 and 70, and the two books disagree by the rest: 1.3327 is in it at 67.7 Brix.
        let weight = weighs(67.09).unwrap();
        assert!(close(weight, 1.3292, 0.000_05) && close(weight, 1.3327, 0.003_6));
        assert_eq!((saturated(-1.0), saturated(101.0)), (None, None));
        let mark = |to| SugarMark {
            from: None,
            to: Sugar::Brix(to),
        };
        let warned = |to| {
            sentences(&mark(to), None)
                .iter()
                .any(|it| it.contains("crystals"))
        };
        assert!(!warned(67.0) && warned(67.2));
    }

    #[test]
    fn caramel_browns_as_hot_on_a_mountain() {
        let mark = |to| SugarMark {
            from: None,
            to: Sugar::Stage(to),
        };
        let dark = mark(Stage::DarkCaramel);
        assert_eq!(ends_at(&dark, 2500), ends_at(&dark, 0));
        assert_ne!(
            ends_at(&mark(Stage::HardCrack), 2500),
            ends_at(&mark(Stage::HardCrack), 0)
        );
    }

    /// 1000 g at 20 °Bx boiled to 65: 307.7 g, computed by hand. Published mixing check: 100 g at 62 °Bx and 540 g of
    /// water are 9.7 °Bx.
    #[test]
    fn the_sugar_stays() {
        assert!(close(left(1000.0, 20.0, 65.0), 307.7, 0.05));
        assert!(close(left(100.0, 62.0, 9.7), 640.0, 1.0));
        assert!(close(left(left(5.0, 20.0, 65.0), 65.0, 20.0), 5.0, 1e-12));
    }

    /// The same fit as printed: 10, 20, 30 and 40 °Bx from their gravities; beside it the quick form, good to 0.1 below 30.
    #[test]
    fn what_a_syrup_weighs() {
        for (gravity, brix) in [
            (1.04003, 10.0),
            (1.08297, 20.0),
            (1.12913, 30.0),
            (1.17874, 40.0),
        ] {
            assert!(close(brix_of_gravity(gravity), brix, 0.005), "{gravity}");
            assert!(close(weighs(brix).unwrap(), gravity * WATER_20, 0.000_02));
        }
        assert!(close(231.61 * (1.08297 - 0.9977), 20.0, 0.3));
        // NBS Circular 440.
        for (brix, density) in [
            (50.0, 1.2296),
            (60.0, 1.2865),
            (65.0, 1.3163),
            (70.0, 1.3472),
        ] {
            assert!(close(weighs(brix).unwrap(), density, 1e-12));
        }
        let all: Vec<f64> = (0..=140)
            .map(|half| weighs(f64::from(half) / 2.0).unwrap())
            .collect();
        assert!(all.is_sorted(), "thicker is heavier");
        assert_eq!(weighs(71.0), None);
    }

    /// Mohos, table A2.1, at 20 °C.
    #[test]
    fn degrees_baume() {
        let printed = [
            (10.0, 5.57),
            (30.0, 16.6),
            (50.0, 27.5),
            (60.0, 32.49),
            (65.0, 35.04),
            (70.0, 37.6),
            (80.0, 42.47),
            (85.0, 44.86),
        ];
        for (brix, wanted) in printed {
            assert!(close(baume(brix).unwrap(), wanted, 1e-12), "{brix}");
        }
        assert_eq!(baume(90.0), None);
    }

    #[test]
    fn from_the_boiling_point_back_to_the_concentration() {
        for tenth in 0..900 {
            let of = f64::from(tenth) / 10.0;
            for metres in [0, 350, 2500] {
                let back = brix(boils(of, metres).unwrap(), metres).unwrap();
                assert!(close(back, of, 1e-6), "{of} at {metres}: {back}");
            }
        }
        assert_eq!(brix(99.0, 0), None);
        assert!(brix(99.0, 1000).is_some());
    }
}
