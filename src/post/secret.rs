//! A password, kept out of everything that is printed.
//!
//! Owns: showing itself as dots. Refuses: `Display`, serde, comparison.

use std::fmt;

/// A password.
#[derive(Clone)]
pub struct Secret(Box<str>);

impl Secret {
    /// Takes a password as it is, spaces included.
    #[must_use]
    pub fn new(password: &str) -> Self {
        Self(password.into())
    }

    /// The password itself; only for handing it to the server.
    #[must_use]
    pub fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(…)")
    }
}
