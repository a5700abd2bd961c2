//! `calc judge`: a verdict on gas test readings, without any database.
//!
//! Owns: the flags of a gas test. Refuses: judging, which `gastest` does, and limits of its own: they are a shipped
//! rule pack's.

use super::span::ReadingSpan;
use super::{Answer, Complaint, Console, Day, refused, write_json};
use crate::cli::complaint::Status;
use crate::cli::console::Format;
use crate::gastest::{
    Context, Drill, GaugeStanding, InletLimits, OrificeGas, Readings, judge, load_percent, orifice_flow,
};
use crate::model::{
    DropMethod, Elevation, GasLimits, GaugeKind, PackId, Reading, Tap, Temperature, TimedReading, Vent, Verdict, Volume,
};
use crate::rules::RuleBook;
use crate::show::calc::judgement;
use std::str::FromStr;

const HINT: &str = "type for example `pigtail calc judge --lockup 12 --flow 11 --load 60 --drop 8:8 --minutes 3`";

/// Judge gas test readings
#[derive(Debug, Clone, clap::Args)]
#[command(allow_negative_numbers = true)]
pub struct JudgeArgs {
    /// Pressure with nothing burning; again for each later look, as in `--lockup 12.5 --lockup 14.6@5`
    #[arg(long)]
    lockup: Vec<TimedReading>,
    /// Pressure under load
    #[arg(long)]
    flow: Option<Reading>,
    /// Load it was taken at, percent of the unit's connected Btu per hour
    #[arg(long)]
    load: Option<Percent>,
    /// Input of the appliances that burnt, Btu per hour, in place of --load
    #[arg(long, requires = "connected", conflicts_with = "load")]
    running: Option<f64>,
    /// Drill of the test orifice that was open, in place of --load
    #[arg(long, requires = "connected", conflicts_with_all = ["load", "running"])]
    test_orifice: Option<Drill>,
    /// Input of all appliances of the unit, Btu per hour
    #[arg(long)]
    connected: Option<f64>,
    /// Timed drop from start to end, as in `8:8`, with readings between if wanted
    #[arg(long)]
    drop: Option<ReadingSpan>,
    /// How long the drop was watched
    #[arg(long)]
    minutes: Option<Minutes>,
    /// How the drop was made: three-test, air-10-14 or g607
    #[arg(long)]
    method: Option<DropMethod>,
    /// Air temperature at the start, as in `60F`
    #[arg(long, allow_hyphen_values = true)]
    air: Option<Temperature>,
    /// Air temperature at the end
    #[arg(long, allow_hyphen_values = true)]
    air_after: Option<Temperature>,
    /// Height above sea level, as in `200ft`
    #[arg(long, allow_hyphen_values = true)]
    elevation: Option<Elevation>,
    /// What was read with: u-tube, dial or digital
    #[arg(long)]
    gauge_kind: Option<GaugeKind>,
    /// Last day on which the gauge agreed with a water column
    #[arg(long)]
    gauge_checked: Option<Day>,
    /// Smallest step of the gauge
    #[arg(long)]
    resolution: Option<Reading>,
    /// Where the gauge was connected: main or range-outlet
    #[arg(long, default_value_t)]
    tap: Tap,
    /// Lowest inlet pressure on an appliance's nameplate
    #[arg(long)]
    inlet_min: Option<Reading>,
    /// Highest inlet pressure on an appliance's nameplate
    #[arg(long)]
    inlet_max: Option<Reading>,
    /// Volume of the piping, as in `50in3`
    #[arg(long)]
    volume: Option<Volume>,
    /// Regulator vent in degrees from straight down, or `unseen`
    #[arg(long)]
    vent: Option<Vent>,
    /// Rule pack whose limits are used: us, ca or de
    #[arg(long, default_value_t)]
    rules: PackId,
    /// Day of the test; today if left out
    #[arg(long)]
    on: Option<Day>,
}

/// A load in percent, written `60` or `60%`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Percent(f64);

/// A time of zero or more minutes, at most a week.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Minutes(f64);

/// Why a number is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
enum NumberError {
    #[error("`{}` is not a load; write percent of the connected input, 0 to 1000", .text.escape_debug())]
    Percent { text: String },
    #[error("`{}` is not a time; write minutes, 0 to 10080", .text.escape_debug())]
    Minutes { text: String },
}

impl FromStr for Percent {
    type Err = NumberError;
    fn from_str(text: &str) -> Result<Self, NumberError> {
        let number = text.trim().trim_end_matches('%').trim_end().parse().ok();
        number
            .filter(|percent| (0.0..=1000.0).contains(percent))
            .map(Self)
            .ok_or_else(|| NumberError::Percent { text: text.to_owned() })
    }
}

impl FromStr for Minutes {
    type Err = NumberError;
    fn from_str(text: &str) -> Result<Self, NumberError> {
        let number = text.trim().trim_end_matches("min").trim_end().parse().ok();
        number
            .filter(|minutes| (0.0..=10_080.0).contains(minutes))
            .map(Self)
            .ok_or_else(|| NumberError::Minutes { text: text.to_owned() })
    }
}

pub(super) fn run(args: &JudgeArgs, today: Day, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let limits = shipped_limits(args.rules)?;
    let answer = judge(&readings(args)?, &context(args, today), &limits);
    if answer.findings.is_empty() {
        return Err(Complaint::refused(
            "there is nothing to judge: no lock-up, flow, drop, gauge or vent is given",
            HINT,
        ));
    }
    if format == Format::Json {
        write_json(console, &answer)?;
    } else {
        write!(console.out, "{}", judgement(&answer))?;
    }
    Ok(if answer.verdict == Verdict::Pass { Status::Done } else { Status::No })
}

fn readings(args: &JudgeArgs) -> Result<Readings, Complaint> {
    let mut lockups = args.lockup.iter().cloned();
    let lockup = lockups.next().map(|timed| timed.reading);
    let untimed = |reading: &Reading| TimedReading { reading: reading.clone(), minutes: None };
    Ok(Readings {
        lockup,
        lockup_later: lockups.collect(),
        flow: args.flow.clone(),
        load_percent: load(args)?,
        tap: args.tap,
        method: args.method,
        drop_start: args.drop.as_ref().map(|span| span.start.clone()),
        drop_between: args.drop.iter().flat_map(|span| span.between.iter().map(untimed)).collect(),
        drop_end: args.drop.as_ref().map(|span| span.end.clone()),
        minutes: args.minutes.map(|Minutes(minutes)| minutes),
        air: args.air,
        air_after: args.air_after,
        elevation: args.elevation,
        vent: args.vent,
    })
}

fn load(args: &JudgeArgs) -> Result<Option<f64>, Complaint> {
    if let Some(Percent(percent)) = args.load {
        return Ok(Some(percent));
    }
    let Some(connected) = args.connected else { return Ok(None) };
    let running = match (args.running, args.test_orifice, &args.flow) {
        (Some(running), _, _) => running,
        (None, Some(drill), Some(flow)) => {
            orifice_flow(drill.diameter_in(), flow.pressure(), OrificeGas::PROPANE).map_err(refused(HINT))?.btu_h
        }
        _ => return Ok(None),
    };
    load_percent(running, connected).map(Some).map_err(refused(HINT))
}

fn context(args: &JudgeArgs, today: Day) -> Context {
    let gauge_given = args.gauge_kind.is_some() || args.gauge_checked.is_some() || args.resolution.is_some();
    let inlet = |reading: &Option<Reading>| reading.as_ref().map(|reading| reading.pressure().inwc());
    let limits =
        InletLimits { appliance: String::new(), least_inwc: inlet(&args.inlet_min), most_inwc: inlet(&args.inlet_max) };
    let any_limit = limits.least_inwc.is_some() || limits.most_inwc.is_some();
    Context {
        on: args.on.unwrap_or(today),
        gauge: gauge_given.then(|| GaugeStanding {
            kind: args.gauge_kind,
            resolution_inwc: args.resolution.as_ref().map(|step| step.pressure().inwc()),
            last_good_check_on: args.gauge_checked,
        }),
        appliances: any_limit.then_some(limits).into_iter().collect(),
        connected_btu_h: args.connected,
        piping_volume_in3: args.volume.map(Volume::in3),
    }
}

/// The limits of a shipped pack; no house has had a say in them.
fn shipped_limits(pack: PackId) -> Result<GasLimits, Complaint> {
    let book =
        RuleBook::new(&[]).map_err(|error| Complaint::fault(format!("the shipped rules are unsound: {error}")))?;
    Ok(book.pack(pack).limits.clone())
}
