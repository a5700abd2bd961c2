//! Whole answers of `calc judge`: status, data and talk.

use crate::calculator::told;

#[test]
fn a_sound_test() {
    insta::assert_snapshot!(told(&["judge", "--lockup", "12", "--flow", "11", "--load", "60", "--drop", "8.5:8.5", "--minutes", "3", "--air", "60F", "--air-after", "60F", "--elevation", "200ft", "--gauge-kind", "dial", "--gauge-checked", "2026-02-10", "--resolution", "0.1", "--volume", "50in3", "--vent", "30"]), @r##"
    status 0
    pass

    lock-up: pass  12 in. w.c.
      within the limit
      limit: 11 to 14 in. w.c.
      source: UL 144:2002, second-stage regulator: outlet at most 14 in. w.c., read in extracts; also RV trade exam text

    flow: pass  11 in. w.c. at 60 % load
      within the limit
      limit: 10 to 13 in. w.c.
      source: common practice, no source

    sag: pass  8.3 % from 12 in. w.c. to 11 in. w.c.
      within the limit
      limit: 30 % or less
      source: one heater maker (not for RVs): at most 30 % from static pressure to full load

    drop: pass  three-test: 8.5 in. w.c. to 8.5 in. w.c. in 3 min
      held; the smallest leak this could have shown is about 0.00014 ft³/h, 0.36 Btu/h
      limit: 3 min, no change over the gauge's 0.1 in. w.c.
      source: NFPA 54 (2024) Annex C as reported: at least 3 minutes

    gauge: pass  dial gauge checked 2026-02-10
      its check is good through 2026-03-13
      limit: checked against a water column within 31 days
      source: common practice: a dial gauge is compared with a water column monthly

    vent: pass  30°
      points downward
      limit: within 45° of straight down
      source: common practice, NFPA 1192 from memory: vent within 45° of straight down

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--lockup", "12", "--flow", "11", "--load", "60", "--drop", "8.5:8.5", "--minutes", "3", "--format", "json"]), @r##"
    status 0
    {"verdict":"pass","findings":[{"check":"lock-up","verdict":"pass","reading":"12 in. w.c.","limit":"11 to 14 in. w.c.","says":"within the limit","source":"UL 144:2002, second-stage regulator: outlet at most 14 in. w.c., read in extracts; also RV trade exam text","caution":false},{"check":"flow","verdict":"pass","reading":"11 in. w.c. at 60 % load","limit":"10 to 13 in. w.c.","says":"within the limit","source":"common practice, no source","caution":false},{"check":"sag","verdict":"pass","reading":"8.3 % from 12 in. w.c. to 11 in. w.c.","limit":"30 % or less","says":"within the limit","source":"one heater maker (not for RVs): at most 30 % from static pressure to full load","caution":false},{"check":"drop","verdict":"pass","reading":"three-test: 8.5 in. w.c. to 8.5 in. w.c. in 3 min","limit":"3 min, no change","says":"caution: held, but air temperature was not written down before and after, and 1 °F moves a closed line by about 0.8 in. w.c.","source":"NFPA 54 (2024) Annex C as reported: at least 3 minutes","caution":true}]}
    "##);
}

#[test]
fn tests_that_do_not_pass() {
    insta::assert_snapshot!(told(&["judge", "--lockup", "12.5", "--lockup", "14.6@5"]), @r##"
    status 1
    fail

    lock-up: fail  12.5 in. w.c., then 14.6 in. w.c. after 5 min
      crept past the limit while it was watched; may point to a regulator that does not close tight
      limit: 11 to 14 in. w.c.
      source: UL 144:2002, second-stage regulator: outlet at most 14 in. w.c., read in extracts; also RV trade exam text

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--lockup", "12", "--flow", "2.5", "--load", "50%"]), @r##"
    status 1
    fail

    lock-up: pass  12 in. w.c.
      within the limit
      limit: 11 to 14 in. w.c.
      source: UL 144:2002, second-stage regulator: outlet at most 14 in. w.c., read in extracts; also RV trade exam text

    flow: fail  2.5 in. w.c. at 50 % load
      too low under load though lock-up is normal; may point to a restriction: oil or liquid carried into the line, a kinked or undersized line, a failing stage, a cold or low container
      limit: 10 to 13 in. w.c.
      source: common practice, no source

    sag: fail  79.2 % from 12 in. w.c. to 2.5 in. w.c.
      sags too far under load; may point to a restriction, an undersized line or a failing stage
      limit: 30 % or less
      source: one heater maker (not for RVs): at most 30 % from static pressure to full load

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--flow", "11", "--connected", "42000"]), @r##"
    status 1
    inconclusive

    flow: inconclusive  11 in. w.c.
      the load is unknown, so the reading shows little; take it with 21000 Btu/h or more running, 50 % of this unit's 42000, about a #55 test orifice (21598 Btu/h, ±15 %)
      limit: 50 % load or more
      source: RV trade training, from memory: at least half of the connected Btu/h running

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--flow", "11", "--connected", "42000", "--test-orifice", "#55"]), @r##"
    status 0
    pass

    flow: pass  11 in. w.c. at 51.4 % load
      within the limit
      limit: 10 to 13 in. w.c.
      source: common practice, no source

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--flow", "10", "--load", "60", "--tap", "range-outlet"]), @r##"
    status 1
    inconclusive

    flow: inconclusive  10 in. w.c. at 60 % load
      read behind a range's own regulator, which hides the line's pressure; read it upstream of that regulator
      limit: 10 to 13 in. w.c.
      source: range makers' manuals: their regulators deliver 10 in. w.c. and want 1 in. more at the inlet

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--drop", "8:7.2", "--minutes", "3", "--air", "60F", "--air-after", "59F", "--elevation", "0ft"]), @r##"
    status 1
    inconclusive

    drop: inconclusive  three-test: 8 in. w.c. to 7.2 in. w.c. in 3 min
      the air went from 60 °F to 59 °F, which alone may move a closed line by up to 1 in. w.c. and so explain or hide a change; test again at a steady temperature
      limit: 3 min, no change
      source: ideal gas: 1 °F moves the reading by 0.8 in. w.c.; taken as up to 1 in. w.c., since pipe and air differ

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--drop", "9:11.2", "--minutes", "3"]), @r##"
    status 1
    fail

    drop: fail  three-test: 9 in. w.c. to 11.2 in. w.c. in 3 min
      rose: gas may pass the shut container or service valve
      limit: 3 min, no change
      source: a heater maker's manual: a rise means the container valve is not tight, a fall means a leak

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--drop", "150:139mbar", "--minutes", "5", "--method", "g607"]), @r##"
    status 1
    fail

    drop: fail  g607: 150mbar = 60.22 in. w.c. to 139mbar = 55.8 in. w.c. in 5 min
      fell more than can be explained: a leak; shut the supply and let a licensed technician find it; test again after repair
      limit: 5 min, fall of 10 mbar or less
      source: DVGW G 607 as reported: at most 10 mbar in 5 minutes

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--gauge-kind", "dial", "--gauge-checked", "2026-01-29"]), @r##"
    status 1
    inconclusive

    gauge: inconclusive  dial gauge checked 2026-01-29
      its check was good through 2026-03-01; check it and test again
      limit: checked against a water column within 31 days
      source: common practice: a dial gauge is compared with a water column monthly

    caution: a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide
    "##);
    insta::assert_snapshot!(told(&["judge", "--gauge-kind", "u-tube", "--air", "30F", "--lockup", "12", "--format", "json"]), @r##"
    status 1
    {"verdict":"inconclusive","findings":[{"check":"lock-up","verdict":"pass","reading":"12 in. w.c.","limit":"11 to 14 in. w.c.","says":"within the limit","source":"UL 144:2002, second-stage regulator: outlet at most 14 in. w.c., read in extracts; also RV trade exam text","caution":false},{"check":"gauge","verdict":"inconclusive","reading":"u-tube at 30 °F","limit":"above 32 °F for plain water","says":"plain water may freeze in the tube and hold a false level; use another gauge, or test where it is warmer","source":"plain water freezes at 32 °F","caution":false}]}
    "##);
}

#[test]
fn readings_that_cannot_be_judged() {
    insta::assert_snapshot!(told(&["judge"]), @r##"
    status 2
    -- error: there is nothing to judge: no lock-up, flow, drop, gauge or vent is given
    hint: type for example `pigtail calc judge --lockup 12 --flow 11 --load 60 --drop 8:8 --minutes 3`
    "##);
    insta::assert_snapshot!(told(&["judge", "--minutes", "3"]), @r##"
    status 2
    -- error: there is nothing to judge: no lock-up, flow, drop, gauge or vent is given
    hint: type for example `pigtail calc judge --lockup 12 --flow 11 --load 60 --drop 8:8 --minutes 3`
    "##);
    insta::assert_snapshot!(told(&["judge", "--lockup", "twelve"]), @r##"
    status 2
    -- error: invalid value 'twelve' for '--lockup <LOCKUP>': `twelve` does not begin with a number

    For more information, try '--help'.
    "##);
    insta::assert_snapshot!(told(&["judge", "--drop", "8"]), @r##"
    status 2
    -- error: invalid value '8' for '--drop <DROP>': `8` is not a start and an end; write them as in 9:8 or 150mbar:141mbar

    For more information, try '--help'.
    "##);
    insta::assert_snapshot!(told(&["judge", "--drop", "150mbar:139"]), @r##"
    status 2
    -- error: invalid value '150mbar:139' for '--drop <DROP>': `150mbar:139` has a unit at its start and none at its end; write the unit at the end

    For more information, try '--help'.
    "##);
    insta::assert_snapshot!(told(&["judge", "--flow", "11", "--load", "-5"]), @r##"
    status 2
    -- error: invalid value '-5' for '--load <LOAD>': `-5` is not a load; write percent of the connected input, 0 to 1000

    For more information, try '--help'.
    "##);
    insta::assert_snapshot!(told(&["judge", "--minutes", "NaN", "--drop", "8:8"]), @r##"
    status 2
    -- error: invalid value 'NaN' for '--minutes <MINUTES>': `NaN` is not a time; write minutes, 0 to 10080

    For more information, try '--help'.
    "##);
    insta::assert_snapshot!(told(&["judge", "--gauge-kind", "dail"]), @r##"
    status 2
    -- error: invalid value 'dail' for '--gauge-kind <GAUGE_KIND>': `dail` is not a gauge kind; nearest is `dial`

    For more information, try '--help'.
    "##);
    insta::assert_snapshot!(told(&["judge", "--running", "12000", "--lockup", "12"]), @r##"
    status 2
    -- error: the following required arguments were not provided:
      --connected <CONNECTED>

    Usage: calc judge --connected <CONNECTED> --running <RUNNING> --lockup <LOCKUP>

    For more information, try '--help'.
    "##);
}
