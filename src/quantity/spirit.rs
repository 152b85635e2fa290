//! What ethanol and water weigh together, by the formula that the law of the European Union measures spirits by.
//!
//! Directive 76/766/EEC, annex (the same as OIML R 22): the density in kg/m³ of a mixture of `p` by mass at `t` °C, a
//! polynomial in `p` and in `t − 20`, for −20 to +40 °C. The coefficients are from memory; they are held by the density of
//! water and of ethanol, by a table of strengths, and by a handbook's densities at other temperatures. Strength by volume
//! is at 20 °C, as on every bottle.
//!
//! Left out on purpose: sugar. What a liqueur weighs is not said by its strength.

/// Of the powers of `p`, at 20 °C.
const A: [f64; 12] = [
    9.982_012_300e2,
    -1.929_769_495e2,
    3.891_238_958e2,
    -1.668_103_923e3,
    1.352_215_441e4,
    -8.829_278_388e4,
    3.062_874_042e5,
    -6.138_381_234e5,
    7.470_172_998e5,
    -5.478_461_354e5,
    2.234_460_334e5,
    -3.903_285_426e4,
];

/// Of the powers of `t − 20`, from the first on: what water alone changes by.
const B: [f64; 6] = [
    -2.061_851_3e-1,
    -5.268_254_2e-3,
    3.613_001_3e-5,
    -3.895_770_2e-7,
    7.169_354_0e-9,
    -9.973_923_1e-11,
];

/// Of the powers of `t − 20`, from the first on, and in each of those of `p`, from the first on.
const C: [&[f64]; 5] = [
    &[
        1.693_443_461_530_087e-1,
        -1.046_914_743_455_169e1,
        7.196_353_469_546_523e1,
        -7.047_478_054_272_792e2,
        3.924_090_430_035_045e3,
        -1.210_164_659_068_747e4,
        2.248_646_550_400_788e4,
        -2.605_562_982_188_164e4,
        1.852_373_922_069_467e4,
        -7.420_201_433_430_137e3,
        1.285_617_841_998_974e3,
    ],
    &[
        -1.193_013_005_057_01e-2,
        2.517_399_633_803_461e-1,
        -2.170_575_700_536_993,
        1.353_034_988_843_029e1,
        -5.029_988_758_547_014e1,
        1.096_355_666_577_57e2,
        -1.422_753_946_421_155e2,
        1.080_435_942_856_23e2,
        -4.414_153_236_817_392e1,
        7.442_971_530_188_783,
    ],
    &[
        -6.802_995_733_503_803e-4,
        1.876_837_790_289_664e-2,
        -2.002_561_813_734_156e-1,
        1.022_992_966_719_22,
        -2.895_696_483_903_638,
        4.810_060_584_300_675,
        -4.672_147_440_794_683,
        2.458_043_105_903_461,
        -5.411_227_621_436_812e-1,
    ],
    &[
        4.075_376_675_622_027e-6,
        -8.763_058_573_471_11e-6,
        6.515_031_360_099_368e-6,
        -1.515_784_836_987_21e-6,
    ],
    &[-2.788_074_354_782_409e-8, 1.345_612_883_493_354e-8],
];

/// Returns the sum of the powers of a number, each times its coefficient, from the power of nothing on.
fn powers(of: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, it| sum * of + it)
}

/// Returns what ethanol and water of so many percent by mass weigh, in g/ml; nothing outside what the formula is for.
pub fn density(percent_by_mass: f64, celsius: f64) -> Option<f64> {
    if !(0.0..=100.0).contains(&percent_by_mass) || !(-20.0..=40.0).contains(&celsius) {
        return None;
    }
    let (p, t) = (percent_by_mass / 100.0, celsius - 20.0);
    let both: Vec<f64> = C.iter().map(|row| p * powers(p, row)).collect();
    let in_all = powers(p, &A) + t * powers(t, &B) + t * powers(t, &both);
    Some(in_all / 1000.0)
}

/// Returns the strength in percent by volume, at 20 °C, of so many percent by mass; nothing outside 0 to 100.
pub fn percent_by_volume(percent_by_mass: f64) -> Option<f64> {
    Some(percent_by_mass * density(percent_by_mass, 20.0)? / density(100.0, 20.0)?)
}

/// Returns the percent by mass of a strength by volume at 20 °C, as it stands on a bottle; nothing outside 0 to 100.
pub fn percent_by_mass(by_volume: f64) -> Option<f64> {
    if !(0.0..=100.0).contains(&by_volume) {
        return None;
    }
    // It rises all the way.
    let (mut low, mut high) = (0.0, 100.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if percent_by_volume(middle)? < by_volume {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn assert_close(one: f64, other: f64, within: f64) {
        assert!((one - other).abs() <= within, "{one}, not {other}");
    }

    /// Water and ethanol at 20 °C as the directive itself has them: 998.201 23 and 789.239 kg/m³.
    #[test]
    fn the_ends_are_water_and_ethanol() {
        assert_close(density(0.0, 20.0).unwrap(), 0.998_201_23, 1e-9);
        assert_close(density(100.0, 20.0).unwrap(), 0.789_24, 1e-5);
    }

    /// *Handbook of Chemistry*, ethanol in water at 20 °C, as transcribed, with three places cut off; volumes at 15.6 °C.
    #[test]
    fn a_handbook_table_comes_out() {
        for (mass, volume, weighs) in [
            (10.0, 12.4, 0.981),
            (20.0, 24.5, 0.968),
            (40.0, 47.3, 0.935),
            (100.0, 100.0, 0.790),
        ] {
            assert_close(density(mass, 20.0).unwrap(), weighs, 0.001);
            assert_close(percent_by_volume(mass).unwrap(), volume, 0.1);
        }
    }

    /// *Perry's Chemical Engineers' Handbook*, densities of aqueous ethanol, 40 % and 100 % by mass at 10, 20, 30, 40 °C;
    /// from memory.
    #[test]
    fn other_temperatures_are_as_a_handbook_has_them() {
        for (mass, celsius, weighs) in [
            (40.0, 10.0, 0.942_38),
            (40.0, 20.0, 0.935_18),
            (40.0, 30.0, 0.927_70),
            (40.0, 40.0, 0.919_92),
            (100.0, 10.0, 0.797_84),
            (100.0, 20.0, 0.789_34),
            (100.0, 30.0, 0.780_75),
            (0.0, 30.0, 0.995_67),
        ] {
            assert_close(density(mass, celsius).unwrap(), weighs, 2e-4);
        }
    }

    #[test]
    fn a_strength_by_volume_is_found_back() {
        for volume in [0.0, 5.0, 12.5, 40.0, 60.0, 96.0, 100.0] {
            let mass = percent_by_mass(volume).unwrap();
            assert_close(percent_by_volume(mass).unwrap(), volume, 1e-9);
        }
        // A spirit of 40 % by volume is a third alcohol by mass: common knowledge of the trade, no source.
        assert_close(percent_by_mass(40.0).unwrap(), 33.3, 0.1);
    }

    #[test]
    fn outside_of_what_it_is_for_it_says_nothing() {
        for (mass, celsius) in [(-1.0, 20.0), (101.0, 20.0), (40.0, -21.0), (40.0, 41.0)] {
            assert_eq!(density(mass, celsius), None);
        }
        assert_eq!(density(f64::NAN, 20.0), None);
        assert_eq!(percent_by_mass(100.5), None);
    }
}
