//! Heat that makes milk and egg safe: how hot, for how long.
//!
//! The figures are those of the United States, the only ones here that were read in full; other countries' ask for as much
//! or nearly so.

/// Dairy that is to be pasteurised.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dairy {
    /// Milk.
    Milk,
    /// With ten parts of fat in a hundred or more, or with sugar.
    Rich,
    /// With eggs and sugar, drunk.
    Eggnog,
    /// A mix for ices.
    IceMix,
}

/// Returns whether a dairy food kept at `degrees` °C for `seconds` is pasteurised.
///
/// 21 CFR 1240.61(b) and (c); for ices 7 CFR 58.635. Rich milk asks for 3 °C more in every line (note 1 there).
pub fn pasteurised(dairy: Dairy, degrees: f64, seconds: f64) -> bool {
    const MILK: &[(f64, f64)] = &[
        (63.0, 1800.0),
        (72.0, 15.0),
        (89.0, 1.0),
        (90.0, 0.5),
        (94.0, 0.1),
        (96.0, 0.05),
        (100.0, 0.01),
    ];
    const EGGNOG: &[(f64, f64)] = &[(69.0, 1800.0), (80.0, 25.0), (83.0, 15.0)];
    const ICE: &[(f64, f64)] = &[(68.0, 1800.0), (79.0, 25.0)];
    let (table, more) = match dairy {
        Dairy::Milk => (MILK, 0.0),
        Dairy::Rich => (MILK, 3.0),
        Dairy::Eggnog => (EGGNOG, 0.0),
        Dairy::IceMix => (ICE, 0.0),
    };
    table
        .iter()
        .any(|&(at, lasting)| degrees >= at + more && seconds >= lasting)
}

/// Returns whether egg that is mixed and held is cooked: 68 °C for 17 s, or 70 °C for less than one, which is at once (FDA
/// Food Code §3-401.11(A)(2), from memory; 15 s in editions before 2017).
pub fn egg_cooked(degrees: f64, seconds: f64) -> bool {
    degrees >= 70.0 || (degrees >= 68.0 && seconds >= 17.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pasteurised_is_what_the_tables_say() {
        // 21 CFR 1240.61(b), (c); 7 CFR 58.635.
        let cases = [
            (Dairy::Milk, 63.0, 1800.0, true),
            (Dairy::Milk, 63.0, 1799.0, false),
            (Dairy::Milk, 72.0, 15.0, true),
            (Dairy::Milk, 71.9, 15.0, false),
            (Dairy::Milk, 100.0, 0.01, true),
            (Dairy::Rich, 72.0, 15.0, false),
            (Dairy::Rich, 75.0, 15.0, true),
            (Dairy::Rich, 66.0, 1800.0, true),
            (Dairy::Eggnog, 80.0, 25.0, true),
            (Dairy::Eggnog, 80.0, 15.0, false),
            (Dairy::Eggnog, 83.0, 15.0, true),
            (Dairy::IceMix, 79.0, 25.0, true),
            (Dairy::IceMix, 68.0, 600.0, false),
        ];
        for (dairy, degrees, seconds, wanted) in cases {
            assert_eq!(
                pasteurised(dairy, degrees, seconds),
                wanted,
                "{dairy:?} {degrees} {seconds}"
            );
        }
        assert!(egg_cooked(68.0, 17.0) && !egg_cooked(67.9, 60.0) && !egg_cooked(68.0, 16.0));
        assert!(egg_cooked(70.0, 0.0) && !egg_cooked(69.9, 0.0));
    }
}
