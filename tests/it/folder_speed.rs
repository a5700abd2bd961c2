//! How fast a fleet folder is read. Run by `cargo test --release --test it folder_speed -- --ignored --nocapture`.

use pigtail::exchange::read_folder;
use std::fmt::Write as _;
use std::io::Write as _;
use std::time::Instant;

const PARTS: usize = 800_000;
const LEAST_ROWS_PER_SECOND: f64 = 400_000.0;

fn parts_csv() -> String {
    let kinds = ["cylinder", "regulator", "hose", "lp-detector", "co-detector", "smoke-alarm", "extinguisher", "tank"];
    let mut csv = "part,unit,kind,position,spec,serial,made,fitted_on,replace_by,note\r\n".to_owned();
    for part in 0..PARTS {
        let (kind, unit, serial) = (kinds[part % 8], part / 8, part.wrapping_mul(2_654_435_761) % 100_000_000);
        let (year, month, day) = (2008 + part % 17, 1 + part % 12, 1 + part % 28);
        write!(
            csv,
            "P-{part:07},R-{unit:06},{kind},front left,DOT-4BA240,{serial:08},{year}-{month:02},\
             2025-{month:02}-{day:02},,checked\r\n"
        )
        .unwrap();
    }
    csv
}

/// Seconds this thread has been running on a processor, where the system says; a busy machine does not count.
fn processor_seconds() -> Option<f64> {
    let counts = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds: f64 = counts.split_whitespace().next()?.parse().ok()?;
    Some(nanoseconds / 1e9)
}

#[test]
#[ignore = "takes a release build to mean anything"]
fn reads_four_hundred_thousand_rows_a_second() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("parts.csv");
    std::fs::write(&path, parts_csv()).unwrap();
    let mut best = 0.0_f64;
    for _ in 0..5 {
        let (begun, processor) = (Instant::now(), processor_seconds());
        let import = read_folder(&path, "2026-03-02".parse().unwrap(), &|_| false, &mut |_| {}).unwrap();
        let seconds = begun.elapsed().as_secs_f64();
        let used = processor.zip(processor_seconds()).map_or(seconds, |(before, after)| after - before);
        assert_eq!(import.facts.len(), PARTS);
        best = best.max(PARTS as f64 / used);
        let (by_clock, by_processor) = (PARTS as f64 / seconds, PARTS as f64 / used);
        writeln!(
            std::io::stderr(),
            "{PARTS} rows: {seconds:.3} s by the clock ({by_clock:.0} rows/s), {used:.3} s of processor ({by_processor:.0} rows/s)"
        )
        .unwrap();
    }
    assert!(best >= LEAST_ROWS_PER_SECOND, "{best:.0} rows/s");
}
