//! placeholder until the gas module lands
use std::str::FromStr;
/// Pressure in pascals.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Pressure(f64);
/// Not a reading.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("is not a pressure")]
pub struct ReadingError;
impl Pressure {
    /// in. w.c.
    #[must_use]
    pub fn inwc(self) -> f64 {
        self.0 / 249.08891
    }
}
impl FromStr for Pressure {
    type Err = ReadingError;
    fn from_str(s: &str) -> Result<Self, ReadingError> {
        s.trim().parse::<f64>().map(|v| Self(v * 249.08891)).map_err(|_| ReadingError)
    }
}
