//! A gas test judged with what the book knows of its unit and gauge.
//!
//! Owns: gathering that knowledge. Refuses: the judgement itself (`gastest`).

use super::rows;
use crate::gastest::{Context, GaugeStanding, InletLimits, Judgement, judge_whole};
use crate::model::{Day, GasTest, Gauge, GaugeCheck, GaugeCode, Text, Verdict};
use crate::rules::Pack;
use rusqlite::{Connection, OptionalExtension, Result, params};

/// Judges `test` under the limits of `pack`, against the gauge and appliances as they are on record.
pub(super) fn judge(conn: &Connection, pack: &Pack, test: &GasTest) -> Result<Judgement> {
    let mut statement = conn.prepare_cached(&format!("{} WHERE unit = ?", rows::APPLIANCE))?;
    let appliances = statement.query_map([test.unit.as_str()], rows::appliance)?.collect::<Result<Vec<_>>>()?;
    let elevation_ft = match test.elevation_ft {
        Some(given) => Some(given),
        None => conn
            .prepare_cached("SELECT elevation_ft FROM units JOIN depots USING (depot) WHERE unit = ?")?
            .query_row([test.unit.as_str()], |row| row.get(0))
            .optional()?
            .flatten(),
    };
    let connected_btu_h: f64 = appliances.iter().map(|appliance| appliance.btu_h).sum();
    let context = Context {
        on: test.on,
        gauge: test.gauge.as_ref().map_or(Ok(None), |gauge| standing(conn, gauge, test.on))?,
        appliances: appliances.iter().map(InletLimits::from).collect(),
        connected_btu_h: (connected_btu_h > 0.0).then_some(connected_btu_h),
        piping_volume_in3: None,
    };
    let test = GasTest { elevation_ft, ..test.clone() };
    Ok(judge_whole(&test, &context, &pack.limits))
}

/// What of a judgement is kept with the test: every finding that is not a plain pass.
pub(super) fn sentences(judgement: &Judgement) -> Vec<Text> {
    let told = judgement.findings.iter().filter(|finding| finding.verdict != Verdict::Pass || finding.caution);
    told.filter_map(|finding| format!("{}: {}", finding.check, finding.says).parse().ok()).collect()
}

/// How far a gauge could be trusted on a day. A check that found it out ends the trust that earlier ones gave.
fn standing(conn: &Connection, code: &GaugeCode, on: Day) -> Result<Option<GaugeStanding>> {
    let mut statement = conn.prepare_cached(&format!("{} WHERE gauge = ?", rows::GAUGE))?;
    let Some(gauge): Option<Gauge> = statement.query_row([code.as_str()], rows::gauge).optional()? else {
        return Ok(None);
    };
    let mut statement = conn.prepare_cached(&format!(
        "{} WHERE gauge = ? AND on_day <= ? ORDER BY on_day DESC, seq DESC LIMIT 1",
        rows::GAUGE_CHECK
    ))?;
    let last: Option<GaugeCheck> =
        statement.query_row(params![code.as_str(), on.to_string()], rows::gauge_check).optional()?;
    Ok(Some(GaugeStanding {
        kind: Some(gauge.kind),
        resolution_inwc: gauge.resolution_inwc,
        last_good_check_on: last.filter(|check| check.agrees(&gauge)).map(|check| check.on),
    }))
}
