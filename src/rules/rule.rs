//! One rule: what falls due, on whose authority, counted from which fact.
//!
//! Owns: the vocabulary of rules. Refuses: dates, which `due` computes.

use super::spec::{CanonicalSpec, SpecPattern};
use crate::model::{EventKind, GaugeKind, Method, PartKind, RuleId, Service, Skill, Span};
use crate::named;
use std::collections::BTreeMap;

/// What a due item is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ItemKind {
    /// A whole unit, as in its gas system.
    Unit,
    /// LP-gas cylinder.
    Cylinder,
    /// ASME container.
    Tank,
    /// Regulator.
    Regulator,
    /// Hose.
    Hose,
    /// LP-gas detector.
    LpDetector,
    /// Carbon monoxide detector.
    CoDetector,
    /// Smoke alarm.
    SmokeAlarm,
    /// Fire extinguisher.
    Extinguisher,
    /// A gauge.
    Gauge,
    /// Somebody's credential.
    Person,
}

named!(ItemKind, "a kind", {
    Unit = "unit",
    Cylinder = "cylinder",
    Tank = "tank",
    Regulator = "regulator",
    Hose = "hose",
    LpDetector = "lp-detector",
    CoDetector = "co-detector",
    SmokeAlarm = "smoke-alarm",
    Extinguisher = "extinguisher",
    Gauge = "gauge",
    Person = "person",
});

impl From<PartKind> for ItemKind {
    fn from(kind: PartKind) -> Self {
        match kind {
            PartKind::Cylinder => Self::Cylinder,
            PartKind::Tank => Self::Tank,
            PartKind::Regulator => Self::Regulator,
            PartKind::Hose => Self::Hose,
            PartKind::LpDetector => Self::LpDetector,
            PartKind::CoDetector => Self::CoDetector,
            PartKind::SmokeAlarm => Self::SmokeAlarm,
            PartKind::Extinguisher => Self::Extinguisher,
        }
    }
}

/// On whose word a rule stands, strongest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Authority {
    /// Statute or regulation.
    Law,
    /// A published standard.
    Standard,
    /// The maker of the part.
    Maker,
    /// What careful people do, without a source to show.
    Practice,
    /// This fleet's own decision.
    House,
}

named!(Authority, "an authority", {
    Law = "law", Standard = "standard", Maker = "maker", Practice = "practice", House = "house",
});

impl Authority {
    /// True where a house may set a longer interval: only `maker`, `practice` and its own.
    #[must_use]
    pub fn may_be_loosened(self) -> bool {
        matches!(self, Self::Maker | Self::Practice | Self::House)
    }
}

/// What being late means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Late {
    /// The unit stays off rent.
    OffRent,
    /// The container is not to be refilled.
    NotToBeRefilled,
    /// Somebody is to be told.
    Advise,
}

named!(Late, "a meaning of late", {
    OffRent = "off-rent", NotToBeRefilled = "not-to-be-refilled", Advise = "advise",
});

/// Whether a date is kept to the month or to the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Precision {
    /// A day is reduced to its month, which is good to its end.
    Month,
    /// A date keeps the precision it came with.
    Day,
}

named!(Precision, "a precision", { Month = "month", Day = "day" });

/// The fact a first interval runs from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Anchor {
    /// Make date.
    Made,
    /// Day fitted.
    Fitted,
    /// First day on rent.
    InService,
    /// Last day of a credential.
    CredentialUntil,
}

named!(Anchor, "a fact to count from", {
    Made = "made", Fitted = "fitted", InService = "in-service", CredentialUntil = "credential-until",
});

impl Anchor {
    /// True if things of this kind have the fact at all.
    #[must_use]
    pub fn exists_on(self, kind: ItemKind) -> bool {
        match kind {
            ItemKind::Unit => self == Self::InService,
            ItemKind::Person => self == Self::CredentialUntil,
            ItemKind::Gauge => false,
            _ => matches!(self, Self::Made | Self::Fitted),
        }
    }
}

/// A kind of fact that starts a new interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FactKind {
    /// A passing gas test, check or gauge check under this rule.
    Pass,
    /// A mark by external visual inspection.
    ExternalVisual,
    /// A mark by proof pressure test.
    ProofPressure,
    /// A mark by volumetric expansion test.
    Volumetric,
    /// A mark by ultrasonic examination.
    Ultrasonic,
}

named!(FactKind, "a kind of fact", {
    Pass = "pass",
    ExternalVisual = "external-visual",
    ProofPressure = "proof-pressure",
    Volumetric = "volumetric",
    Ultrasonic = "ultrasonic",
});

impl FactKind {
    /// True if such a fact is ever recorded of things of this kind: marks are read on containers that take them.
    #[must_use]
    pub fn exists_on(self, kind: ItemKind) -> bool {
        match self {
            Self::Pass => kind != ItemKind::Person,
            Self::ExternalVisual | Self::ProofPressure | Self::Volumetric | Self::Ultrasonic => {
                matches!(kind, ItemKind::Cylinder | ItemKind::Extinguisher)
            }
        }
    }
}

impl From<Method> for FactKind {
    fn from(method: Method) -> Self {
        match method {
            Method::ExternalVisual => Self::ExternalVisual,
            Method::ProofPressure => Self::ProofPressure,
            Method::Volumetric => Self::Volumetric,
            Method::Ultrasonic => Self::Ultrasonic,
        }
    }
}

/// What a replace-by date printed on the part does to the rule's own date.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub enum LabelUse {
    /// Nothing: the rule is not about age.
    #[default]
    Ignored,
    /// Counts where it is earlier.
    Earlier,
    /// Stands in place of the rule's date, earlier or later, as on alarms.
    Governs,
}

named!(LabelUse, "a use of the printed date", { Ignored = "ignored", Earlier = "earlier", Governs = "governs" });

/// The intervals of a case, or the reason there are none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Period {
    /// Counted from facts.
    Intervals {
        /// First interval and the fact it runs from, where there is one.
        first: Option<(Anchor, Span)>,
        /// Interval after each kind of fact.
        after: BTreeMap<FactKind, Span>,
    },
    /// No date can be given, for this reason.
    Undated(String),
    /// The rule does not apply to this case.
    Exempt,
}

/// A rule's intervals for some specifications.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Case {
    /// Specifications it covers; empty covers all that no other case does.
    pub specs: Vec<SpecPattern>,
    /// Where the figures stand.
    pub cite: String,
    /// The figures.
    pub period: Period,
}

/// One rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rule {
    /// Its name.
    pub id: RuleId,
    /// What is to be done, in a few words.
    pub what: String,
    /// What it is about.
    pub kinds: Vec<ItemKind>,
    /// The service a container must be in, where that matters.
    pub service: Option<Service>,
    /// On whose word.
    pub authority: Authority,
    /// Month or day.
    pub precision: Precision,
    /// How long before its last day an item is `due`. Whole months of a month-precision date count the due month
    /// itself: `1 month` is the due month.
    pub notice: Span,
    /// What being late means.
    pub late: Late,
    /// What a printed replace-by date does.
    pub label: LabelUse,
    /// Events that open the work at once.
    pub opened_by: Vec<EventKind>,
    /// Intervals by specification, in the order they are tried.
    pub cases: Vec<Case>,
    /// What is contested and which reading was taken.
    pub note: Option<String>,
    /// What the reader must be told beside a date.
    pub caution: Option<String>,
    /// Minutes the work takes, for planning.
    pub minutes: u32,
    /// Skills one person must hold for it.
    pub skills: Vec<Skill>,
    /// How long before the last day it is sensible to do the work.
    pub earliest: Span,
}

impl Rule {
    /// True where the rule speaks of this kind of thing.
    #[must_use]
    pub fn covers(&self, kind: ItemKind) -> bool {
        self.kinds.contains(&kind) && self.service.is_none_or(|service| service_of(kind) == Some(service))
    }

    /// The case for a specification: the first whose pattern matches, else the one without patterns.
    #[must_use]
    pub fn case_for(&self, spec: &str) -> Option<&Case> {
        let unnamed = self.cases.iter().find(|case| case.specs.is_empty());
        if self.cases.iter().all(|case| case.specs.is_empty()) {
            return unnamed;
        }
        let spec = CanonicalSpec::of(spec);
        let named = self.cases.iter().find(|case| case.specs.iter().any(|pattern| pattern.matches(&spec)));
        named.or(unnamed)
    }

    /// True where every case names its specifications, so that an unknown one has no period.
    #[must_use]
    pub fn needs_spec(&self) -> bool {
        self.cases.iter().all(|case| !case.specs.is_empty())
    }
}

pub(super) fn service_of(kind: ItemKind) -> Option<Service> {
    match kind {
        ItemKind::Cylinder => PartKind::Cylinder.service(),
        ItemKind::Tank => PartKind::Tank.service(),
        ItemKind::Extinguisher => PartKind::Extinguisher.service(),
        _ => None,
    }
}

/// A gauge's kind as the "specification" its rule goes by.
#[must_use]
pub fn gauge_spec(kind: GaugeKind) -> &'static str {
    crate::model::Named::name(kind)
}
