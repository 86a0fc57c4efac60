//! Numbers as text.

/// Not a number, or infinite: no file can hold it.
#[derive(Debug, thiserror::Error, Clone, Copy, PartialEq, Eq)]
#[error("a number to be written is not finite")]
pub struct NotFinite;

/// The fewest digits that read back as the same double; no exponent, no −0.
///
/// # Errors
/// [`NotFinite`].
pub fn full(v: f64) -> Result<String, NotFinite> {
    if !v.is_finite() {
        return Err(NotFinite);
    }
    Ok(if v == 0.0 { "0".into() } else { v.to_string() })
}

/// As [`full`], but always with a decimal point: some DXF readers use it to distinguish a real from an integer.
///
/// # Errors
/// [`NotFinite`].
pub fn real(v: f64) -> Result<String, NotFinite> {
    full(v).map(|s| if s.contains('.') { s } else { s + ".0" })
}

/// Rounded to this many decimals, without trailing zeros, no −0.
///
/// # Errors
/// [`NotFinite`].
pub fn rounded(v: f64, decimals: usize) -> Result<String, NotFinite> {
    if !v.is_finite() {
        return Err(NotFinite);
    }
    let s = format!("{v:.decimals$}");
    let s = if s.contains('.') { s.trim_end_matches('0').trim_end_matches('.') } else { &s };
    Ok(if s == "-0" { "0".into() } else { s.to_string() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_are_plain() {
        assert_eq!(full(-0.0).unwrap(), "0");
        assert_eq!(full(1e-7).unwrap(), "0.0000001");
        assert_eq!(full(0.1 + 0.2).unwrap(), "0.30000000000000004");
        assert_eq!(real(20.0).unwrap(), "20.0");
        assert_eq!(real(-0.0).unwrap(), "0.0");
        assert_eq!(real(6.35).unwrap(), "6.35");
        assert_eq!(rounded(-0.000_000_4, 6).unwrap(), "0");
        assert_eq!(rounded(120.0, 6).unwrap(), "120");
        assert_eq!(rounded(100.0, 0).unwrap(), "100");
        assert_eq!(rounded(217.602_198_4, 6).unwrap(), "217.602198");
        for v in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(full(v).is_err() && real(v).is_err() && rounded(v, 6).is_err());
        }
    }

    proptest! {
        #[test]
        fn every_double_reads_back(v in -1e7..1e7f64) {
            for s in [full(v).unwrap(), real(v).unwrap()] {
                prop_assert_eq!(s.parse::<f64>().unwrap(), v);
                prop_assert!(!s.contains(['e', 'E']));
            }
        }
    }
}
