//! Every `calc` command's whole answer but `judge`'s: status, data and talk.

use crate::calculator::told;

#[test]
fn conversions() {
    insta::assert_snapshot!(told(&["convert", "11inwc", "psi"]), @r##"
    status 0
    psi  0.3974
    source: SI definitions; in. w.c. is 249.08891 Pa; inches of water at 39.2 °F and 60 °F are NIST SP 811's, from memory
    "##);
    insta::assert_snapshot!(told(&["convert", "11"]), @r##"
    status 0
    in. w.c.  11
    Pa        2739.98
    mbar      27.3998
    kPa       2.73998
    psi       0.3974
    oz/in²    6.3584
    mmH2O     279.4
    inHg      0.80912
    source: SI definitions; in. w.c. is 249.08891 Pa; inches of water at 39.2 °F and 60 °F are NIST SP 811's, from memory
    "##);
    insta::assert_snapshot!(told(&["convert", "11", "inH2O", "psi", "--format", "json"]), @r##"
    status 0
    {"value":0.39740021200092057,"unit":"psi","inwc":11.0,"pa":2739.97801,"mbar":27.399780099999997,"kpa":2.7399780099999997,"psi":0.39740021200092057,"oz_in2":6.358403392014729,"mmh2o":279.4,"inhg":0.8091150488043485}
    "##);
    insta::assert_snapshot!(told(&["convert", "11", "--from", "inH2O", "--to", "psi"]), @r##"
    status 0
    psi  0.3974
    source: SI definitions; in. w.c. is 249.08891 Pa; inches of water at 39.2 °F and 60 °F are NIST SP 811's, from memory
    "##);
    insta::assert_snapshot!(told(&["convert", "11 in. w.c.", "to", "mbar"]), @r##"
    status 0
    mbar  27.39978
    source: SI definitions; in. w.c. is 249.08891 Pa; inches of water at 39.2 °F and 60 °F are NIST SP 811's, from memory
    "##);
    insta::assert_snapshot!(told(&["convert", "6.1+6.1", "--to", "kPa"]), @r##"
    status 0
    kPa  3.038885
    source: SI definitions; in. w.c. is 249.08891 Pa; inches of water at 39.2 °F and 60 °F are NIST SP 811's, from memory
    "##);
    insta::assert_snapshot!(told(&["convert", "11inH2O_39.2F", "Pa"]), @r##"
    status 0
    Pa  2739.902
    source: SI definitions; in. w.c. is 249.08891 Pa; inches of water at 39.2 °F and 60 °F are NIST SP 811's, from memory
    "##);
    insta::assert_snapshot!(told(&["convert", "-5", "psi"]), @r##"
    status 2
    -- error: `-5` is negative
    hint: type `pigtail calc convert 11inwc psi`; units are inwc, mbar, kPa, Pa, psi, oz/in2, mmH2O, inHg, bar
    "##);
    insta::assert_snapshot!(told(&["convert", "11inwc", "psii"]), @r##"
    status 2
    -- error: `psii` is not a unit of pressure; known are inwc, mbar, kPa, Pa, psi, oz/in2, mmH2O, inHg, hPa, bar, inH2O_39.2F, inH2O_60F
    hint: type `pigtail calc convert 11inwc psi`; units are inwc, mbar, kPa, Pa, psi, oz/in2, mmH2O, inHg, bar
    "##);
    insta::assert_snapshot!(told(&["convert", "11", "inwc", "psi", "bar"]), @r##"
    status 2
    -- error: `11 inwc psi bar` is one unit too many
    hint: type `pigtail calc convert 11inwc psi`; units are inwc, mbar, kPa, Pa, psi, oz/in2, mmH2O, inHg, bar
    "##);
    insta::assert_snapshot!(told(&["convert", "1e999"]), @r##"
    status 2
    -- error: `1e999` is beyond any number that can be held
    hint: type `pigtail calc convert 11inwc psi`; units are inwc, mbar, kPa, Pa, psi, oz/in2, mmH2O, inHg, bar
    "##);
    insta::assert_snapshot!(told(&["convert", "11inwc", "psi", "--format", "csv"]), @r##"
    status 2
    -- error: this command cannot answer as csv
    hint: choose one of: --format table, --format json
    "##);
}

#[test]
fn readings() {
    insta::assert_snapshot!(told(&["reading", "6.1+6.1"]), @r##"
    status 0
    reading   6.1+6.1
    in. w.c.  12.2
    Pa        3038.88
    mbar      30.3888
    kPa       3.03888
    psi       0.440753
    oz/in²    7.05205
    mmH2O     309.88
    inHg      0.89738
    source: a U-tube shows the difference of its levels
    caution: add the two legs of a zero-centred scale; never double one of them
    "##);
    insta::assert_snapshot!(told(&["reading", "--left", "17", "--right", "28.75", "--format", "json"]), @r##"
    status 0
    {"reading":"levels 17 and 28.75","value":11.75,"inwc":11.75,"pa":2926.7946925,"mbar":29.267946925,"kpa":2.9267946925,"psi":0.4244956810009834,"oz_in2":6.791930896015734,"mmh2o":298.45000000000005,"inhg":0.8642819839500997}
    "##);
    insta::assert_snapshot!(told(&["reading"]), @r##"
    status 2
    -- error: no reading is given
    hint: type `pigtail calc reading 6.1+6.1` for both legs of a zero-centred scale, or `--left 17 --right 28.75` for two levels on one ruler
    "##);
}

#[test]
fn orifices() {
    insta::assert_snapshot!(told(&["orifice", "--drill", "#75", "--pressure", "11inwc", "--sg", "1.5", "--k", "0.9"]), @r##"
    status 0
    drill     #75
    diameter  0.021 in
    pressure  11 in. w.c.
    flow      1.4 ft³/h
              3522 Btu/h
    source: low-pressure orifice formula, checked against a published table to 0.1 %
    caution: makers' orifices spread by some 15 % about this; a nameplate wins
    "##);
    insta::assert_snapshot!(told(&["orifice", "75", "--format", "json"]), @r##"
    status 0
    {"drill":"#75","diameter_in":0.021,"pressure_inwc":11.0,"sg":1.5,"k":0.9,"cfh":1.4000294432409581,"btu_h":3522.474079194251,"load_percent":null}
    "##);
    insta::assert_snapshot!(told(&["orifice", "--diameter", "0.021"]), @r##"
    status 0
    diameter  0.021 in
    pressure  11 in. w.c.
    flow      1.4 ft³/h
              3522 Btu/h
    source: low-pressure orifice formula, checked against a published table to 0.1 %
    caution: makers' orifices spread by some 15 % about this; a nameplate wins
    "##);
    insta::assert_snapshot!(told(&["orifice", "--connected", "42000"]), @r##"
    status 0
    drill     #55
    diameter  0.052 in
    pressure  11 in. w.c.
    flow      8.584 ft³/h
              21598 Btu/h
    load      51.4 % of the connected input
    source: low-pressure orifice formula, checked against a published table to 0.1 %
    caution: makers' orifices spread by some 15 % about this; a nameplate wins
    "##);
    insta::assert_snapshot!(told(&["orifice", "--load", "18000"]), @r##"
    status 0
    drill     #56
    diameter  0.0465 in
    pressure  11 in. w.c.
    flow      6.864 ft³/h
              17271 Btu/h
    source: low-pressure orifice formula, checked against a published table to 0.1 %
    caution: makers' orifices spread by some 15 % about this; a nameplate wins
    "##);
    insta::assert_snapshot!(told(&["orifice"]), @r##"
    status 2
    -- error: neither a drill, a diameter nor a load is given
    hint: type `pigtail calc orifice --drill '#75'`, or `--connected 42000` for a test orifice of half that load
    "##);
    insta::assert_snapshot!(told(&["orifice", "--drill", "#81"]), @r##"
    status 2
    -- error: invalid value '#81' for '--drill <DRILL>': `#81` is not a number drill; write #40 to #80, or give the diameter

    For more information, try '--help'.
    "##);
    insta::assert_snapshot!(told(&["orifice", "--diameter", "2"]), @r##"
    status 2
    -- error: orifice diameter is 2 in; the formula holds from 0.004 to 0.25 in
    hint: type `pigtail calc orifice --drill '#75'`, or `--connected 42000` for a test orifice of half that load
    "##);
}

#[test]
fn leak_rates() {
    insta::assert_snapshot!(told(&["leak-rate", "--drop", "9:8", "--minutes", "3", "--volume", "50in3", "--resolution", "0.1"]), @r##"
    status 0
    fall                 1 in. w.c. in 3 min
    volume               50 in³
    leak                 0.001423 ft³/h
                         3.58 Btu/h
                         0.0403 L/h
    smallest leak shown  0.36 Btu/h
    source: ideal gas at steady temperature, 14.696 psi; propane 2516 Btu/ft³
    caution: no leak is small enough to leave; 1 °F alone moves a line by 0.8 in. w.c.
    "##);
    insta::assert_snapshot!(told(&["leak-rate", "--drop", "10mbar", "--minutes", "5", "--volume", "700cm3", "--format", "json"]), @r##"
    status 0
    {"scfh":0.002927640489060107,"cfh":0.002927640489060107,"btu_h":7.365943470475229,"l_h":0.08290155440414504,"drop_inwc":4.014630759755623,"minutes":5.0,"volume_ft3":0.02472026670504201,"smallest_scfh":null,"smallest_btu_h":null}
    "##);
    insta::assert_snapshot!(told(&["leak-rate", "--drop", "8:9", "--minutes", "3", "--volume", "50in3"]), @r##"
    status 2
    -- error: the pressure rose from 8 to 9; that is no leak rate
    hint: a rise may mean that the container valve passes; see `pigtail calc judge`
    "##);
    insta::assert_snapshot!(told(&["leak-rate", "--drop", "1", "--minutes", "0", "--volume-ft3", "0.05"]), @r##"
    status 2
    -- error: time is 0 min; the formula holds from 0.001 to 10080 min
    hint: type `pigtail calc leak-rate --drop 9:8 --minutes 3 --volume 50in3`
    "##);
    insta::assert_snapshot!(told(&["leak-rate", "--drop", "1", "--minutes", "3"]), @r##"
    status 2
    -- error: the volume is missing
    hint: type `pigtail calc leak-rate --drop 9:8 --minutes 3 --volume 50in3`
    "##);
    insta::assert_snapshot!(told(&["leak-rate", "--drop", "1", "--minutes", "3", "--volume", "50"]), @r##"
    status 2
    -- error: invalid value '50' for '--volume <VOLUME>': `50` has no unit; write one of in3, ft3, cm3, L

    For more information, try '--help'.
    "##);
}

#[test]
fn temperatures() {
    insta::assert_snapshot!(told(&["temperature", "--start", "8", "--from", "60F", "--to", "59F", "--elevation", "0ft"]), @r##"
    status 0
    start       8 in. w.c.
    change      60 °F to 59 °F at 0 ft
    end         7.2018 in. w.c.
    difference  -0.7982 in. w.c.
    source: ideal gas law at fixed volume, US Standard Atmosphere 1976
    caution: real propane moves some 4 % more; a change this size can explain a fall or hide a leak
    "##);
    insta::assert_snapshot!(told(&["temperature", "8", "60F", "61F", "--format", "json"]), @r##"
    status 0
    {"start_inwc":8.0,"end_inwc":8.798165108111391,"change_inwc":0.798165108111391}
    "##);
    insta::assert_snapshot!(told(&["temperature", "--start", "8", "--barometer", "-0.01inHg"]), @r##"
    status 0
    start       8 in. w.c.
    change      barometer changed by -0.01inHg
    end         8.136 in. w.c.
    difference  0.136 in. w.c.
    source: gauge pressure is absolute less air pressure
    caution: a falling barometer can hide a leak
    "##);
    insta::assert_snapshot!(told(&["temperature", "8", "--from", "60F", "--to", "-4F"]), @r##"
    status 0
    start       8 in. w.c.
    change      60 °F to -4 °F at 0 ft
    end         -43.0826 in. w.c.
    difference  -51.0826 in. w.c.
    source: ideal gas law at fixed volume, US Standard Atmosphere 1976
    caution: real propane moves some 4 % more; a change this size can explain a fall or hide a leak
    "##);
    insta::assert_snapshot!(told(&["temperature", "--start", "8", "--from", "60F"]), @r##"
    status 2
    -- error: the temperature at the end is missing
    hint: type `pigtail calc temperature --start 8 --from 60F --to 59F --elevation 0ft`, or `--barometer 1mbar` for weather
    "##);
    insta::assert_snapshot!(told(&["temperature", "--start", "8", "--from", "60F", "--to", "200F"]), @r##"
    status 2
    -- error: temperature is 200 °F; the formula holds from -40 to 150 °F
    hint: type `pigtail calc temperature --start 8 --from 60F --to 59F --elevation 0ft`, or `--barometer 1mbar` for weather
    "##);
}

#[test]
fn surroundings() {
    insta::assert_snapshot!(told(&["atmosphere", "5000ft"]), @r##"
    status 0
    elevation     5000 ft
    air pressure  12.228 psi
                  84.307 kPa
                  338.46 in. w.c.
                  24.9 inHg
    source: US Standard Atmosphere 1976
    caution: weather moves real air pressure by some 30 mbar about this
    "##);
    insta::assert_snapshot!(told(&["atmosphere", "--elevation", "5000ft", "--format", "json"]), @r##"
    status 0
    {"elevation_ft":5000.0,"kpa":84.30727578544474,"psi":12.227736554117753,"inh2o":338.46258263944685,"inwc":338.46258263944685,"mbar":843.0727578544474,"inhg":24.895924460978357}
    "##);
    insta::assert_snapshot!(told(&["atmosphere", "40000ft"]), @r##"
    status 2
    -- error: elevation is 12192 m; the formula holds from -1000 to 11000 m
    hint: type `pigtail calc atmosphere 5000ft`; elevations from -1000 m to 11000 m
    "##);
    insta::assert_snapshot!(told(&["atmosphere"]), @r##"
    status 2
    -- error: the elevation is missing
    hint: type `pigtail calc atmosphere 5000ft`; elevations from -1000 m to 11000 m
    "##);
    insta::assert_snapshot!(told(&["vapour", "70F"]), @r##"
    status 0
    liquid    70 °F
    gauge     110.2 psi at 0 ft
    absolute  124.9 psi
    source: saturation equation of pure propane, Lemmon, McLinden and Wagner 2009
    caution: pure propane; charts for commercial propane differ by up to 15 %
    "##);
    insta::assert_snapshot!(told(&["vapour", "--temp", "20C", "--elevation", "5000ft", "--format", "json"]), @r##"
    status 0
    {"temperature_f":68.0,"psig":109.0885179502196,"psia":121.31625450433735,"kpa_absolute":836.4461305236489}
    "##);
    insta::assert_snapshot!(told(&["vapour", "-60F"]), @r##"
    status 2
    -- error: liquid temperature is -60 °F; the formula holds from -40 to 130 °F
    hint: type `pigtail calc vapour 70F`; temperatures from -40 to 130 °F
    "##);
    insta::assert_snapshot!(told(&["derate", "5000ft", "--input", "25000"]), @r##"
    status 0
    elevation       5000 ft
    convention      from-sea-level
    derating        20 %
    input left      20000 Btu/h
    without change  91.5 % of sea-level flow
    source: appliance maker's manual; NFPA 54 table as described in a trade paper
    caution: conventions disagree; the appliance's own manual decides
    "##);
    insta::assert_snapshot!(told(&["derate", "5000ft", "--input", "25000", "--convention", "from-2000-ft", "--format", "json"]), @r##"
    status 0
    {"elevation_ft":5000.0,"convention":"from-2000-ft","derating_percent":12.0,"input_btu_h":25000.0,"btu_h":22000.0,"natural_fraction":0.9145874523201306}
    "##);
    insta::assert_snapshot!(told(&["derate", "20000ft"]), @r##"
    status 2
    -- error: elevation is 20000 ft; the formula holds from -1500 to 15000 ft
    hint: type `pigtail calc derate 5000ft --input 25000`, with `--convention from-2000-ft` for the other way of counting
    "##);
}

#[test]
fn lines() {
    insta::assert_snapshot!(told(&["piping", "b280-3/8=12ft", "sch40-1/2=3ft", "--add", "5in3"]), @r##"
    status 0
    volume  26.878 in³
            0.015554 ft³
            440.4 cm³
    source: inside diameters of ASTM B280 and B88 tube and schedule 40 pipe, published tables
    caution: add hoses, the regulator's outlet side and fittings with --add
    "##);
    insta::assert_snapshot!(told(&["piping", "--id", "0.555in", "--length", "1ft", "--format", "json"]), @r##"
    status 0
    {"in3":2.9030672313659887,"ft3":0.0016800157588923545,"cm3":47.57274851669726,"in3_per_ft":2.9030672313659887,"ft3_per_ft":0.0016800157588923545}
    "##);
    insta::assert_snapshot!(told(&["piping", "b280-3/8"]), @r##"
    status 2
    -- error: invalid value 'b280-3/8' for '[RUNS]...': `b280-3/8` is not a tube and its length; write it as in b280-3/8=12ft

    For more information, try '--help'.
    "##);
    insta::assert_snapshot!(told(&["piping", "pex-1/2=3ft"]), @r##"
    status 2
    -- error: invalid value 'pex-1/2=3ft' for '[RUNS]...': `pex-1/2` is not a tube size; known are b280-3/8, b280-1/2, b280-5/8, b88l-1/2, sch40-1/2, sch40-3/4

    For more information, try '--help'.
    "##);
    insta::assert_snapshot!(told(&["piping"]), @r##"
    status 2
    -- error: no tube is given
    hint: type `pigtail calc piping b280-3/8=12ft sch40-1/2=3ft --add 5in3`, or `--id 0.555in --length 1ft`
    "##);
    insta::assert_snapshot!(told(&["utube", "--volume", "50in3", "--bore", "0.25in", "--pressure", "8"]), @r##"
    status 0
    shown  0.831 of a change in the closed line
    source: ideal gas law; the column makes room as it falls
    caution: a small line with a wide tube shows less of a leak than there is
    "##);
    insta::assert_snapshot!(told(&["utube", "--volume", "50in3", "--bore", "0.25in", "--pressure", "8", "--format", "json"]), @r##"
    status 0
    {"fraction":0.8308367624809495}
    "##);
}

#[test]
fn stamps() {
    insta::assert_snapshot!(told(&["stamp", "11 A123 21 E"]), @r##"
    status 0
    month   2021-11
    method  external-visual
    rin     A123
    source: 49 CFR 180.213, letters read in secondary pages
    "##);
    insta::assert_snapshot!(told(&["stamp", "11", "A123", "21", "E", "--format", "json"]), @r##"
    status 0
    {"month":"2021-11","method":"external-visual","rin":"A123"}
    "##);
    insta::assert_snapshot!(told(&["stamp", "11-21", "--format", "json"]), @r##"
    status 0
    {"month":"2021-11","method":"none","rin":null}
    "##);
    insta::assert_snapshot!(told(&["stamp", "11-21 E", "--made", "2022-01"]), @r##"
    status 2
    -- error: stamp `11-21 E` is before the make date 2022-01
    hint: type month, identification number if any, year and letter: `11 A123 21 E`
    "##);
    insta::assert_snapshot!(told(&["stamp", "13-21 E"]), @r##"
    status 2
    -- error: stamp `13-21 E` has month 13
    hint: type month, identification number if any, year and letter: `11 A123 21 E`
    "##);
    insta::assert_snapshot!(told(&["stamp", "11-26"]), @r##"
    status 2
    -- error: stamp `11-26` is in the future
    hint: type month, identification number if any, year and letter: `11 A123 21 E`
    "##);
    insta::assert_snapshot!(told(&["stamp", "11", "-", "21", "S", "--made", "2014-02"]), @r##"
    status 0
    month   2021-11
    method  proof-pressure
    rin     none
    source: 49 CFR 180.213, letters read in secondary pages
    "##);
}
