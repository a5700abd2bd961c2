//! A pack of rules, and the book of all packs in force.
//!
//! Owns: look-up by name and kind. Refuses: reading files; the shipped packs are part of the program.

use super::house::HouseRules;
use super::parse::parse_pack;
use super::rule::{ItemKind, Rule};
use super::source::RuleError;
use crate::model::{GasLimits, Named, PackId, RuleId};
use sha2::{Digest, Sha256};
use std::sync::OnceLock;

/// The rules of one jurisdiction.
#[derive(Debug, Clone)]
pub struct Pack {
    /// Its name.
    pub id: PackId,
    /// What it is called.
    pub title: String,
    /// What it does not cover, said once at its head.
    pub scope: String,
    /// Its rules, in the order written.
    pub rules: Vec<Rule>,
    /// What gas tests are judged by.
    pub limits: GasLimits,
}

impl Pack {
    /// The rule of that name.
    #[must_use]
    pub fn rule(&self, id: &RuleId) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.id == *id)
    }

    /// The rules about one kind of thing.
    pub fn rules_for(&self, kind: ItemKind) -> impl Iterator<Item = &Rule> {
        self.rules.iter().filter(move |rule| rule.covers(kind))
    }
}

/// Every pack in force, house rules applied.
#[derive(Debug, Clone)]
pub struct RuleBook {
    packs: Vec<Pack>,
    fingerprint: String,
}

const SHIPPED: [(PackId, &str, &str); 3] = [
    (PackId::Us, "schema/rules/us.toml", include_str!("../../schema/rules/us.toml")),
    (PackId::Ca, "schema/rules/ca.toml", include_str!("../../schema/rules/ca.toml")),
    (PackId::De, "schema/rules/de.toml", include_str!("../../schema/rules/de.toml")),
];

/// The shipped packs, read once a process: every recording asks for them.
fn shipped() -> Result<&'static [Pack], RuleError> {
    static PACKS: OnceLock<Vec<Pack>> = OnceLock::new();
    if let Some(packs) = PACKS.get() {
        return Ok(packs);
    }
    let packs = SHIPPED.iter().map(|(_, origin, text)| parse_pack(origin, text)).collect::<Result<Vec<_>, _>>()?;
    Ok(PACKS.get_or_init(|| packs))
}

impl RuleBook {
    /// The shipped packs with these house rules laid over them.
    ///
    /// # Errors
    /// [`RuleError`] if a pack cannot be read or a house rule loosens what it may not.
    pub fn new(house: &[HouseRules]) -> Result<Self, RuleError> {
        let mut hasher = Sha256::new();
        let mut packs = Vec::with_capacity(SHIPPED.len());
        for ((id, _, text), pack) in SHIPPED.iter().zip(shipped()?) {
            hasher.update(text);
            let mut pack = pack.clone();
            for overlay in house.iter().filter(|overlay| overlay.pack == *id) {
                hasher.update(&overlay.text);
                overlay.apply(&mut pack)?;
            }
            packs.push(pack);
        }
        let fingerprint = hasher.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
        Ok(Self { packs, fingerprint })
    }

    /// One pack.
    #[must_use]
    pub fn pack(&self, id: PackId) -> &Pack {
        let position = PackId::ALL.iter().position(|known| *known == id).unwrap_or(0);
        &self.packs[position]
    }

    /// All packs.
    #[must_use]
    pub fn packs(&self) -> &[Pack] {
        &self.packs
    }

    /// SHA-256 over everything the rules were read from: due dates kept under another fingerprint are stale.
    #[must_use]
    pub fn fingerprint(&self) -> &str {
        &self.fingerprint
    }
}
