//! Degrees Celsius and Fahrenheit.
//!
//! °F = 1.8 °C + 32, exactly (NIST Special Publication 811).

/// Returns degrees Fahrenheit.
pub fn fahrenheit(celsius: f64) -> f64 {
    celsius * 1.8 + 32.0
}

/// Returns degrees Celsius.
pub fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

/// Returns a temperature in both, to a tenth and to a whole degree: `103.9 °C (219 °F)`.
pub fn both(celsius: f64) -> String {
    let tenths = (celsius * 10.0).round() / 10.0;
    // Adding nought takes the sign off a nought that was below it.
    format!(
        "{} °C ({} °F)",
        tenths + 0.0,
        fahrenheit(celsius).round() + 0.0
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fixed points of the scales, and the limits of the US model food code in both of its units.
    #[test]
    fn both_scales_agree_where_they_are_known_to() {
        for (c, f) in [(-40.0, -40.0), (0.0, 32.0), (100.0, 212.0), (5.0, 41.0)] {
            assert!((fahrenheit(c) - f).abs() < 1e-12, "{c}");
            assert!((celsius(f) - c).abs() < 1e-12, "{f}");
        }
        assert!((celsius(135.0) - 57.22).abs() < 0.005);
        assert!((celsius(165.0) - 73.89).abs() < 0.005);
        assert_eq!(both(103.94), "103.9 °C (219 °F)");
        assert_eq!(both(-18.0), "-18 °C (0 °F)");
    }
}
