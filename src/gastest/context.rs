//! What a gas test's readings are judged in the light of.
//!
//! Owns: the readings themselves and the facts about unit, gauge and day beside them. Refuses: finding those facts.

use crate::model::{
    Appliance, Day, DropMethod, Elevation, GasTest, GaugeKind, Reading, Tap, Temperature, TimedReading, Vent,
};

/// What was read. Any of it may be missing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Readings {
    /// Pressure with nothing burning.
    pub lockup: Option<Reading>,
    /// Lock-up read again while it was watched, in order.
    pub lockup_later: Vec<TimedReading>,
    /// Pressure under load.
    pub flow: Option<Reading>,
    /// The load it was taken at, percent of the unit's connected Btu per hour.
    pub load_percent: Option<f64>,
    /// Where the gauge was connected.
    pub tap: Tap,
    /// How the timed drop was made; none for the limits' usual method.
    pub method: Option<DropMethod>,
    /// Pressure at the start of the timed drop.
    pub drop_start: Option<Reading>,
    /// Pressures read between its start and end, in order.
    pub drop_between: Vec<TimedReading>,
    /// Pressure at its end.
    pub drop_end: Option<Reading>,
    /// How long it was watched, minutes.
    pub minutes: Option<f64>,
    /// Air temperature at the start.
    pub air: Option<Temperature>,
    /// Air temperature at the end.
    pub air_after: Option<Temperature>,
    /// Height above sea level; none is taken as sea level, where temperature moves a reading most.
    pub elevation: Option<Elevation>,
    /// How the regulator's vent was found, where anybody looked.
    pub vent: Option<Vent>,
}

impl From<&GasTest> for Readings {
    fn from(test: &GasTest) -> Self {
        Self {
            lockup: test.lockup.clone(),
            lockup_later: test.lockup_later.clone(),
            flow: test.flow.clone(),
            load_percent: test.load_percent,
            tap: test.tap,
            method: test.method,
            drop_start: test.drop_start.clone(),
            drop_between: test.drop_between.clone(),
            drop_end: test.drop_end.clone(),
            minutes: test.minutes,
            air: test.air_f.and_then(Temperature::from_fahrenheit),
            air_after: test.air_after_f.and_then(Temperature::from_fahrenheit),
            elevation: test.elevation_ft.and_then(Elevation::from_feet),
            vent: test.vent,
        }
    }
}

/// How far the gauge can be trusted, as far as anybody knows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct GaugeStanding {
    /// What it is.
    pub kind: Option<GaugeKind>,
    /// Its smallest step, in. w.c.; where unknown, any change that was written down counts as a change.
    pub resolution_inwc: Option<f64>,
    /// The last day on or before the test on which it agreed with a water column, with no disagreement since.
    pub last_good_check_on: Option<Day>,
}

/// An appliance's own limits for the pressure at its inlet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct InletLimits {
    /// What the appliance is called.
    pub appliance: String,
    /// Lowest, in. w.c.
    pub least_inwc: Option<f64>,
    /// Highest, in. w.c.
    pub most_inwc: Option<f64>,
}

impl From<&Appliance> for InletLimits {
    fn from(appliance: &Appliance) -> Self {
        Self {
            appliance: appliance.appliance.as_str().to_owned(),
            least_inwc: appliance.inlet_min_inwc,
            most_inwc: appliance.inlet_max_inwc,
        }
    }
}

/// The facts beside the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Context {
    /// Day of the test.
    pub on: Day,
    /// The gauge; none where nothing is known of it, which a whole test may not pass with.
    pub gauge: Option<GaugeStanding>,
    /// Inlet limits of the appliances fitted, those that state any.
    pub appliances: Vec<InletLimits>,
    /// Input of all appliances fitted, Btu per hour.
    pub connected_btu_h: Option<f64>,
    /// Volume of the piping under test, in³.
    pub piping_volume_in3: Option<f64>,
}

impl Context {
    /// A day and nothing else known.
    #[must_use]
    pub fn on(day: Day) -> Self {
        Self { on: day, gauge: None, appliances: Vec::new(), connected_btu_h: None, piping_volume_in3: None }
    }

    /// The gauge's smallest step, where it is known and makes sense, in. w.c.
    pub(super) fn resolution_inwc(&self) -> Option<f64> {
        self.gauge.as_ref().and_then(|gauge| gauge.resolution_inwc).filter(|step| step.is_finite() && *step > 0.0)
    }
}
