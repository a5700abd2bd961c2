//! The figures gas tests are judged by, each with where it stands.
//!
//! Owns: their names, units, order among each other, and which of them a house may set for itself. Refuses: the figures
//! themselves, which stand in the rule packs, and judging, which `gastest` does.

use super::day::Span;
use super::gauge::GaugeKind;
use super::names::nearest;
use super::test::DropMethod;
use serde::{Deserialize, Serialize};

/// One figure and where it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// The figure, in the unit that its field's name ends in.
    pub value: f64,
    /// Where it stands.
    pub cite: String,
    /// True where it stands on practice or one maker's word alone, so that a house may set its own.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub practice: bool,
}

/// One span of time and where it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpanLimit {
    /// The span.
    pub span: Span,
    /// Where it stands.
    pub cite: String,
}

/// Why a set of limits, or a change to one, is refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LimitError {
    /// No figure of that name.
    #[error("`{}` is not a gas test limit{}", .name.escape_debug(), near(.name))]
    Unknown {
        /// What was written.
        name: String,
    },
    /// Not a finite number of zero or more.
    #[error("{name} is {value}; it must be zero or more")]
    NotANumber {
        /// The figure.
        name: &'static str,
        /// Its value.
        value: f64,
    },
    /// Two figures the wrong way round.
    #[error("{lower} is above {upper}")]
    Order {
        /// The figure that should be the lower one.
        lower: &'static str,
        /// The figure that should be the upper one.
        upper: &'static str,
    },
    /// A figure that does not stand on practice alone.
    #[error("{name} is not the house's to set: {cite}")]
    Fixed {
        /// The figure.
        name: &'static str,
        /// Where it stands.
        cite: String,
    },
    /// A figure changed without a reason.
    #[error("{name} is changed without a reason")]
    NoReason {
        /// The figure.
        name: &'static str,
    },
}

fn near(name: &str) -> String {
    nearest(name, GasLimits::NAMES.iter().copied()).map(|near| format!("; nearest is `{near}`")).unwrap_or_default()
}

macro_rules! gas_limits {
    ($($(#[$doc:meta])* $figure:ident,)+) => {
        /// Every figure a gas test is judged by. Complete by construction: there is no default figure anywhere.
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct GasLimits {
            /// The timed drop method taken where a test names none.
            pub method: DropMethod,
            /// How long a dial gauge's check against a water column lasts.
            pub dial_check: SpanLimit,
            /// How long a digital gauge's check against a water column lasts.
            pub digital_check: SpanLimit,
            $($(#[$doc])* pub $figure: Limit,)+
        }

        impl GasLimits {
            /// The names of the figures, in the order they are declared.
            pub const NAMES: &'static [&'static str] = &[$(stringify!($figure)),+];

            /// Every figure with its name.
            #[must_use]
            pub fn figures(&self) -> Vec<(&'static str, &Limit)> {
                vec![$((stringify!($figure), &self.$figure)),+]
            }

            fn figure_mut(&mut self, name: &str) -> Option<(&'static str, &mut Limit)> {
                match name {
                    $(stringify!($figure) => Some((stringify!($figure), &mut self.$figure)),)+
                    _ => None,
                }
            }
        }
    };
}

gas_limits! {
    /// Lowest lock-up pressure.
    lockup_min_inwc,
    /// Lock-up above this passes with a caution.
    lockup_caution_inwc,
    /// Highest lock-up pressure, at once or while it is watched.
    lockup_max_inwc,
    /// Lowest pressure under load.
    flow_min_inwc,
    /// Pressure under load below this passes with a caution.
    flow_caution_min_inwc,
    /// Pressure under load above this passes with a caution.
    flow_caution_max_inwc,
    /// Highest pressure under load.
    flow_max_inwc,
    /// Largest fall from lock-up to pressure under load, in percent of lock-up.
    sag_max_percent,
    /// Smallest load a flow reading counts at, in percent of the unit's connected Btu per hour.
    load_min_percent,
    /// Lowest start of a `three-test` timed drop.
    three_test_start_min_inwc,
    /// Highest start of a `three-test` timed drop.
    three_test_start_max_inwc,
    /// How far below lock-up a `three-test` timed drop starts, at least.
    three_test_below_lockup_inwc,
    /// Shortest hold of a `three-test` timed drop.
    three_test_minutes,
    /// Lowest start of an `air-10-14` timed drop.
    air_start_min_inwc,
    /// Highest start of an `air-10-14` timed drop.
    air_start_max_inwc,
    /// Shortest hold of an `air-10-14` timed drop.
    air_minutes,
    /// Lowest start of a `g607` timed drop.
    g607_start_min_mbar,
    /// Highest start of a `g607` timed drop.
    g607_start_max_mbar,
    /// Largest fall of a `g607` timed drop.
    g607_fall_max_mbar,
    /// Shortest hold of a `g607` timed drop.
    g607_minutes,
    /// Smallest volume under test in a `g607` timed drop.
    g607_volume_min_cm3,
    /// Coarsest gauge a timed drop can be read with.
    resolution_max_inwc,
    /// How much more the pipe may have warmed or cooled than the air did, in percent of the air's change.
    temperature_margin_percent,
    /// At or below this air temperature a column of plain water is not trusted.
    freezing_f,
    /// Largest angle between a regulator's vent and straight down.
    vent_max_degrees,
}

impl GasLimits {
    /// The set, if every figure is a number of zero or more and none stand the wrong way round.
    ///
    /// # Errors
    /// [`LimitError::NotANumber`] or [`LimitError::Order`].
    pub fn checked(self) -> Result<Self, LimitError> {
        for (name, limit) in self.figures() {
            if !(limit.value.is_finite() && limit.value >= 0.0) {
                return Err(LimitError::NotANumber { name, value: limit.value });
            }
        }
        for (lower, upper) in [
            ("lockup_min_inwc", "lockup_caution_inwc"),
            ("lockup_caution_inwc", "lockup_max_inwc"),
            ("flow_min_inwc", "flow_caution_min_inwc"),
            ("flow_caution_min_inwc", "flow_caution_max_inwc"),
            ("flow_caution_max_inwc", "flow_max_inwc"),
            ("three_test_start_min_inwc", "three_test_start_max_inwc"),
            ("air_start_min_inwc", "air_start_max_inwc"),
            ("g607_start_min_mbar", "g607_start_max_mbar"),
        ] {
            let value = |wanted| self.figures().into_iter().find(|(name, _)| *name == wanted).map(|(_, l)| l.value);
            if value(lower) > value(upper) {
                return Err(LimitError::Order { lower, upper });
            }
        }
        Ok(self)
    }

    /// The set with one figure replaced by the house's own.
    ///
    /// # Errors
    /// [`LimitError`] where there is no such figure, it stands on more than practice, no reason is given, or the new
    /// value breaks the set.
    pub fn with(mut self, name: &str, value: f64, reason: &str) -> Result<Self, LimitError> {
        let Some((name, limit)) = self.figure_mut(name) else {
            return Err(LimitError::Unknown { name: name.to_owned() });
        };
        if !limit.practice {
            return Err(LimitError::Fixed { name, cite: limit.cite.clone() });
        }
        if reason.trim().is_empty() {
            return Err(LimitError::NoReason { name });
        }
        *limit = Limit { value, cite: format!("house rule: {}", reason.trim()), practice: true };
        self.checked()
    }

    /// How long a check of this kind of gauge lasts; none for a water column, which is its own reference.
    #[must_use]
    pub fn gauge_check(&self, kind: GaugeKind) -> Option<&SpanLimit> {
        match kind {
            GaugeKind::UTube => None,
            GaugeKind::Dial => Some(&self.dial_check),
            GaugeKind::Digital => Some(&self.digital_check),
        }
    }
}
